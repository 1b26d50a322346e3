"""Whether each case stands alone: the same figures cold, after other cases, in any order of cases and file.

Tolerance (contract, section 0): 1e-6 of the largest of that quantity, or 1e-9 m3/s, 1e-4 K, 0.1 W, 1 Pa.
"""

from __future__ import annotations

import random
from collections.abc import Mapping
from typing import Any

from core.files.read import from_data
from core.solve import Solver, solve_case

LEAST = {"_m3_s": 1e-9, "_c": 1e-4, "_w": 0.1, "_pa": 1.0}


def figures(solution: Any) -> dict[str, float]:
    """Every figure with a unit that the contract gives a tolerance for, as "ID.key"."""
    found = {}
    for part in (solution.pipes, solution.items):
        for ident, one in part.items():
            for key, value in one.as_data().items():
                if isinstance(value, float) and key.endswith(tuple(LEAST)):
                    found[f"{ident}.{key}"] = value
    return found


def apart(first: Mapping[str, float], second: Mapping[str, float]) -> list[str]:
    """Figures of two answers of one case that differ by more than the contract allows."""
    most: dict[str, float] = {}
    for key, value in first.items():
        unit = next(unit for unit in LEAST if key.endswith(unit))
        most[unit] = max(most.get(unit, 0.0), abs(value))
    found = []
    for key, value in first.items():
        unit = next(unit for unit in LEAST if key.endswith(unit))
        if abs(value - second.get(key, value)) > max(LEAST[unit], 1e-6 * most[unit]):
            found.append(f"{key} is {value:.8g} alone and {second[key]:.8g} otherwise")
    return found


def not_alone(data: dict[str, Any]) -> list[str]:
    """Cases solved by one solver forward, backward and twice, against each alone."""
    plant = from_data(data)
    cases = list(plant.solve_cases)
    alone = {case.name: solve_case(plant, case) for case in cases}
    solver, found = Solver(plant), []
    for case in [*cases, *reversed(cases), *cases]:
        got = solver.solve(case)
        if got.converged != alone[case.name].converged:
            found.append(f"{case.name} settles alone or after others only")
        elif got.converged:
            found += [f"{case.name}, {text}" for text in apart(figures(alone[case.name]), figures(got))[:1]]
    return found


def order_matters(data: dict[str, Any], seed: int) -> list[str]:
    """Figures of the first case that change with the order of items and pipes in the file."""
    rng = random.Random(seed)
    other = {key: rng.sample(data[key], len(data[key])) for key in ("items", "pipes")}
    plants = [from_data(one) for one in (data, {**data, **other})]
    solutions = [solve_case(plant, plant.solve_cases[0]) for plant in plants]
    if solutions[0].converged != solutions[1].converged:
        return ["settles in one order only"]
    return apart(*map(figures, solutions)) if solutions[0].converged else []
