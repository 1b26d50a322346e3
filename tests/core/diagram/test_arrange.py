"""Aligning, spreading, turning and mirroring a group."""

from __future__ import annotations

import random
from itertools import pairwise
from pathlib import Path

import pytest

from core.diagram import arrange, symbols
from core.files.read import load
from core.plant.changes import Change, apply
from core.plant.model import Item, Plant

SAMPLE = Path(__file__).parents[3] / "sample_plants" / "kennel_clinic.plant.json"


def strewn(seed: int) -> Plant:
    chance = random.Random(seed)
    kinds = ("circulator", "tank", "boiler", "gauge", "exchanger", "joint", "floor_circuit")
    items = [
        Item(f"I{i}", chance.choice(kinds), (10.0 * chance.randint(-50, 50), 10.0 * chance.randint(-50, 50)))
        for i in range(chance.randint(2, 9))
    ]
    return Plant(items={item.id: item for item in items})


def done(plant: Plant, changes: list[Change]) -> Plant:
    return apply(plant, changes)


def on_grid(plant: Plant) -> bool:
    return all(x % 10 == 0 == y % 10 for x, y in (item.at for item in plant.items.values()))


@pytest.mark.parametrize("seed", range(20))
def test_four_quarter_turns_and_two_mirrors_lead_back(seed: int) -> None:
    plant = strewn(seed)
    ids = set(plant.items)
    turned = plant
    for number in range(4):
        turned = done(turned, arrange.turned(turned, ids))
        assert on_grid(turned)
        assert number == 3 or any(turned.items[name] != plant.items[name] for name in ids)
    assert turned == plant
    once = done(plant, arrange.mirrored(plant, ids))
    assert on_grid(once)
    assert done(once, arrange.mirrored(once, ids)) == plant


def test_a_turned_plant_keeps_its_ports_beside_each_other() -> None:
    """What a pipe joined in a straight line is in a straight line again, bends and all."""
    plant = load(SAMPLE)
    for change in (arrange.turned, arrange.mirrored):
        after = done(plant, change(plant, set(plant.items)))
        for pipe in plant.pipes.values():
            far = []
            for each in (plant, after):
                (ax, ay), (bx, by) = (
                    symbols.port_place(each.items[end.item], end.port) for end in (pipe.start, pipe.end)
                )
                far.append({abs(ax - bx), abs(ay - by)})
            assert far[0] == far[1], pipe.id


@pytest.mark.parametrize("side", arrange.SIDES)
def test_aligned_items_stand_on_one_line(side: arrange.Side) -> None:
    for seed in range(20):
        plant = strewn(seed)
        after = done(plant, arrange.align(plant, set(plant.items), side))
        assert on_grid(after)
        boxes = [symbols.body_box(item) for item in after.items.values()]
        edges = {
            "left": [box.x0 for box in boxes],
            "right": [box.x1 for box in boxes],
            "top": [box.y0 for box in boxes],
            "bottom": [box.y1 for box in boxes],
            "centre": [item.at[0] for item in after.items.values()],
            "middle": [item.at[1] for item in after.items.values()],
        }[side]
        assert max(edges) - min(edges) <= (0 if side in ("centre", "middle") else 10)
        assert done(after, arrange.align(after, set(after.items), side)) == after or side not in (
            "centre",
            "middle",
        )


def test_spread_items_stand_at_even_steps_between_the_first_and_last() -> None:
    for seed in range(20):
        plant = strewn(seed)
        for across in (True, False):
            axis = 0 if across else 1
            after = done(plant, arrange.distribute(plant, set(plant.items), across))
            before, places = (
                sorted(item.at[axis] for item in each.items.values()) for each in (plant, after)
            )
            assert (before[0], before[-1]) == (places[0], places[-1])
            steps = [b - a for a, b in pairwise(places)]
            assert max(steps) - min(steps) <= 10 or len(steps) < 2
            assert on_grid(after)


def test_texts_go_with_their_group_and_stay_as_they_are_alone() -> None:
    written = ({"at": [100.0, 0.0], "text": "beside"},)
    plant = Plant(items={"V-1": Item("V-1", "shutoff", (0.0, 0.0))}, texts=written)
    assert done(plant, arrange.turned(plant, {"V-1"}, [0])).texts[0]["at"] == [0.0, 100.0]
    assert done(plant, arrange.mirrored(plant, {"V-1"}, [0])).texts[0]["at"] == [-100.0, 0.0]
    for change in (arrange.turned, arrange.mirrored):
        assert change(plant, set(), [0]) == []
