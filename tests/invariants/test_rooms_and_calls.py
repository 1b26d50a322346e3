"""Rooms and stats on random plants, and heat summed up in every combination of calls of every sample.

The ordinary run takes 60 plants. The long run is `WETSIDE_RANDOM_PLANTS=2000 pytest tests/invariants`.
"""

from __future__ import annotations

import itertools
import math
import os
from collections import Counter
from typing import Any

import pytest

from core.calls.combinations import all_calls, calls_of, solve_calls
from core.files.read import from_data, load
from core.solve import Solver
from tests.invariants.test_random_plants import names_matter
from tests.invariants.test_samples import FOLDER, SAMPLES, Sums
from tests.support.balance import Balance
from tests.support.builders import Solved, solve_data
from tests.support.random_rooms import room_plant, rooms_broken

HOW_MANY = int(os.environ.get("WETSIDE_RANDOM_PLANTS", "60"))
LONG = "WETSIDE_RANDOM_PLANTS" in os.environ
MANY = 40  # combinations, of which the ordinary run takes every third
BATCH = 20
BATCHES = [range(start, min(start + BATCH, HOW_MANY)) for start in range(0, HOW_MANY, BATCH)]


@pytest.mark.parametrize("batch", BATCHES, ids=lambda batch: f"{batch.start}-{batch.stop - 1}")
def test_rooms_balance_and_stats_agree_with_what_they_feel(batch: range) -> None:
    trouble = []
    for seed in batch:
        data = room_plant(seed).data()
        solved = solve_data(data)
        found = rooms_broken(data, solved) if solved.converged else ["not converged"]
        if (heat := Balance(data, solved).heat_error()) > 1e-4:
            found.append(f"heat in and out differ by {heat:.3g} of what moves")
        found += names_matter(data, solved, seed)
        trouble += [f"{seed}: {text}" for text in found]
    assert not trouble, "\n".join(trouble)


def test_random_rooms_are_worth_testing() -> None:
    seen: Counter[str] = Counter()
    for seed in range(50):
        data = room_plant(seed).data()
        solved = solve_data(data)
        for item in data["items"]:
            if item["kind"] == "thermostat":
                share = solved.items[item["props"]["senses"][0]]["duty_share"]
                seen["off" if share == 0.0 else "starved" if share == 1.0 else "held"] += 1
    assert min(seen["off"], seen["starved"], seen["held"]) >= 5, seen


def plants_with_calls(how_many: int) -> list[dict[str, Any]]:
    found = (room_plant(seed).data() for seed in itertools.count(1000))
    return list(itertools.islice((data for data in found if len(calls_of(from_data(data))) > 1), how_many))


def test_heat_adds_up_in_every_combination_of_random_calls() -> None:
    for data in plants_with_calls(4):
        plant = from_data(data)
        for case, solution in zip(all_calls(plant), solve_calls(plant), strict=True):
            solved = Solved(solution)
            assert solved.converged, case.name
            assert Balance(data, solved).heat_error() < 1e-4, case.name
            for key in calls_of(plant):
                assert solution.signals[key] is case.signals[key]


@pytest.mark.parametrize("name", SAMPLES)
def test_heat_adds_up_in_every_combination_of_calls(name: str) -> None:
    """Sources, mains and elements against users, stores, outlets and tubes: within 0.01 % of what moves."""
    plant = load(FOLDER / name)
    cases = all_calls(plant)
    solver = Solver(plant)
    for case in cases[:: 1 if LONG or len(cases) < MANY else 3]:
        solution = solver.solve(case)
        one = Sums(name, Solved(solution))
        terms: list[float] = []
        for ident, item in plant.items.items():
            found = solution.items.get(ident)
            figures = {} if found is None else found.as_data()
            if item.kind in ("heater", "boiler", "heat_pump"):
                terms.append(figures["duty_w"])
            elif item.kind in ("tank", "coil_tank", "buffer") and "duty_w" in figures:
                terms += [-figures["duty_w"], float(item.si.get("element") or 0.0)]
            elif "delivered_w" in figures:
                terms.append(-figures["delivered_w"])
        for key, pipe in one.pipes.items():
            entering = one.content(pipe, one.got.warm(key))
            leaving = one.content(pipe, one.got.warm_end(key))
            terms.append(-one.mass[key] * (entering - leaving))
            for ref, sign, heat in ((pipe.start, 1, entering), (pipe.end, -1, leaving)):
                if plant.items[ref.item].kind in ("cold_main", "fixture", "humidifier"):
                    terms.append(sign * one.mass[key] * heat)
        moved = sum(abs(term) for term in terms) / 2
        assert abs(math.fsum(terms)) < 1e-4 * max(moved, 50.0), (solution.case, math.fsum(terms), moved)
