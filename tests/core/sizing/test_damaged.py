"""Plants with properties lost, unknown or items gone: each answer is a number or names what it lacks."""

from __future__ import annotations

import importlib
import random
from dataclasses import replace

import pytest

from core.errors import Refusal
from core.plant.model import Plant
from core.plant.validity import require
from core.sizing.context import Context
from core.vocabulary import KINDS
from tests.support.sizes import FAMILIES, recompute, sample


def damaged(name: str, seed: int) -> Plant:
    """A sample with one to fourteen of its properties taken away or unknown, or items to be removed."""
    chance = random.Random(seed)
    plant = sample(name)
    items = dict(plant.items)
    for _ in range(chance.randint(1, 14)):
        item = items[chance.choice(list(items))]
        if chance.random() < 0.15:
            items[item.id] = replace(item, stage="to_remove")
        elif item.props:
            prop = chance.choice(list(item.props))
            props = {key: value for key, value in item.props.items() if key != prop}
            if KINDS[item.kind].properties[prop].safety and chance.random() < 0.5:
                props[prop] = "unknown"
            items[item.id] = replace(item, props=props)
    return replace(plant, items=items)


@pytest.mark.parametrize(
    ("name", "seed"), [*(("potting_shed", seed) for seed in range(6)), ("bakery_loft", 1), ("bakery_loft", 3)]
)
def test_damaged_plants_are_sized_as_far_as_they_go(name: str, seed: int) -> None:
    plant = damaged(name, seed)
    try:
        require(plant)
    except Refusal:
        pytest.skip("no plant any more")
    context = Context(plant)
    found = [
        each
        for family in FAMILIES
        for each in importlib.import_module(f"core.sizing.families.{family}").size(context)
    ]
    recompute(found)
    for each in found:
        assert each.at in plant.items
        assert plant.items[each.at].stage != "to_remove"
        assert "give no answer" not in each.words, each.words
