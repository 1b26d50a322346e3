"""What holds of every plant: mass, pressure, heat, no leaks, and that names and order mean nothing.

The ordinary run takes 60 plants. The long run is `WETSIDE_RANDOM_PLANTS=2000 pytest tests/invariants`.
"""

from __future__ import annotations

import os
from collections import Counter

import pytest

from core.errors import Refusal
from tests.support.balance import Balance
from tests.support.builders import Solved, solve_data
from tests.support.random_plants import random_plant, relabelled
from tests.support.random_stores import store_plant

HOW_MANY = int(os.environ.get("WETSIDE_RANDOM_PLANTS", "60"))
BATCH = 10
# A delta-T and a proportional circulator that hunt: the latter has two stable flows at the former's speed,
# and neither lets the former rest. There is no steady state; the solver says that it did not settle.
NO_REST = {895}
BATCHES = [range(start, min(start + BATCH, HOW_MANY)) for start in range(0, HOW_MANY, BATCH)]


def plant_of(seed: int) -> dict:
    """Three in four are nets of anything, one is built as heating plants are."""
    return store_plant(seed).data() if seed % 4 == 3 else random_plant(seed).data()


def trouble_of(seed: int, refused: Counter[str]) -> list[str]:
    """Everything that is wrong with the solution of one plant, in words."""
    data = plant_of(seed)
    try:
        solved = solve_data(data)
    except Refusal as refusal:
        refused[refusal.expected] += 1
        return [f"{seed}: refused: {refusal}"]
    if not solved.converged and seed in NO_REST:
        return []
    if not solved.converged:
        return [f"{seed}: not converged, residual {solved.raw.residual_kg_s}"]
    return [
        f"{seed}: {text}" for text in [*laws_broken(Balance(data, solved)), *names_matter(data, solved, seed)]
    ]


def laws_broken(balance: Balance) -> list[str]:
    trouble = []
    mass, where = balance.worst_mass()
    if mass > 1e-8:
        trouble.append(f"mass {mass:.3g} kg/s at {where}")
    if (draw := balance.worst_draw()) > 1e-8:
        trouble.append(f"a fixture's flow is off by {draw:.3g} m3/s")
    for name, (worst, where) in (("pipe", balance.worst_pipe()), ("item", balance.worst_item())):
        if worst > 1.0:
            trouble.append(f"{name} {where} is off its law by {worst:.4g} Pa")
    if (spread := balance.worst_joint()) > 1.0:
        trouble.append(f"pressures at one port differ by {spread:.4g} Pa")
    if (loop := balance.worst_loop()[0]) > 1.0:
        trouble.append(f"pressure round a loop sums to {loop:.4g} Pa")
    leak, where = balance.worst_leak()
    if leak > 1e-9:
        trouble.append(f"{where} leaks {leak:.3g} m3/s")
    if (heat := balance.heat_error()) > 1e-4:
        trouble.append(f"heat in and out differ by {heat:.3g} of what moves")
    return trouble


def names_matter(data: dict, solved: Solved, seed: int) -> list[str]:
    """Differences between the plant and itself renamed, reordered and with pipes turned round."""
    other_data, items, pipes = relabelled(data, seed)
    other = solve_data(other_data)
    largest = max((abs(solved.flow(pipe)) for pipe in pipes), default=0.0)
    trouble = []
    for pipe, (name, sign) in pipes.items():
        away = abs(solved.flow(pipe) - sign * other.flow(name))
        if away > 1e-6 * largest + 1e-10:
            trouble.append(f"renamed, {pipe} carries {away:.3g} m3/s otherwise of {largest:.3g}")
        warm = other.warm(name) if sign > 0 else other.warm_end(name)
        if abs(solved.flow(pipe)) > 1e-7 and abs(solved.warm(pipe) - warm) > 1e-3:
            trouble.append(f"renamed, {pipe} is {warm - solved.warm(pipe):.3g} K otherwise")
    for item, name in items.items():
        for key, value in solved.items.get(item, {}).items():
            twin = other.items[name][key]
            if isinstance(value, bool) and value != twin:
                trouble.append(f"renamed, {item} has {key} {twin}")
    return trouble[:3]


@pytest.mark.parametrize("batch", BATCHES, ids=lambda batch: f"{batch.start}-{batch.stop - 1}")
def test_laws_hold_on_random_plants(batch: range) -> None:
    refused: Counter[str] = Counter()
    trouble = [text for seed in batch for text in trouble_of(seed, refused)]
    assert not refused, f"refusals by cause: {dict(refused)}"
    assert not trouble, "\n".join(trouble)


def test_random_plants_are_worth_testing() -> None:
    """The sample holds loops, closed checks, shut valves, pumps off, exchangers, mixing valves and limits."""
    kinds: Counter[str] = Counter()
    loops = moving = 0
    for seed in range(min(HOW_MANY, 30)):
        data = plant_of(seed)
        kinds.update(item["kind"] for item in data["items"])
        balance = Balance(data, solve_data(data))
        loops += balance.worst_loop()[1]
        moving += sum(abs(flow) > 1e-7 for flow in balance.mass.values())
    assert loops > 20
    assert moving > 200
    for kind in (
        "circulator",
        "check_valve",
        "balance_valve",
        "boiler",
        "exchanger",
        "mixing_valve",
        "fixture",
    ):
        assert kinds[kind] >= 3, kind
