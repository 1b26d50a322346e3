"""Two states of a plant beside each other: power, and what stands too hot."""

from __future__ import annotations

from typing import Any

from core.calls.power import electric_power
from core.figures import PumpFigures
from core.plant.as_set import plant_for
from core.plant.model import Case, Plant, PortRef
from core.solve import Solution

State = tuple[Plant, Solution]
HOT = 0.05  # [K] over a max_temperature


def more_power(one: tuple[Plant, Solution], other: tuple[Plant, Solution], case: Case) -> float | None:
    """Electric power of the circulators of another plant beyond that of one, [W]; None where the power of one
    that is new or otherwise is not known."""
    known, unknown = zip(*(_power(plant, case, solution) for plant, solution in (one, other)), strict=True)
    return float(known[1] - known[0]) if unknown[0] == unknown[1] else None


def _power(plant: Plant, case: Case, solution: Solution) -> tuple[float, list[Any]]:
    """Electric power of running circulators, [W], and those whose watts are not known."""
    seen = plant_for(plant, case)
    total, unknown = 0.0, []
    for key, figures in solution.of(PumpFigures).items():
        if not figures.running:
            continue
        found = electric_power(seen.items[key], figures)
        if found is not None and not isinstance(found.value, str):
            total += float(found.value)
        else:
            unknown.append((key, seen.items[key].props.get("curve"), round(figures.speed, 2)))
    return total, unknown


def warmest(plant: Plant, solution: Solution, key: str) -> float:
    """The warmest water at an item's ports, [degC]."""
    item = plant.items.get(key)
    found = [-273.15]
    for port in item.ports if item is not None else ():
        for name in plant.pipes_at.get(PortRef(key, port), ()):
            if name in solution.pipes:
                start = plant.pipes[name].start == PortRef(key, port)
                found.append(solution.pipes[name].temperature_at(start))
    return max(found)


def hotter(one: State, other: State) -> bool:
    """Whether anything stands above its max_temperature that did not before, or further above it."""
    for item in other[0].items.values():
        limit = item.si.get("max_temperature")
        if not isinstance(limit, float):
            continue
        then, now = (warmest(*state, item.id) for state in (one, other))
        if now + 273.15 > max(limit, then + 273.15) + HOT:
            return True
    return False
