"""Samples as contexts for sizing, plants with a few properties changed, and every formula recomputed."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from functools import cache
from typing import Any

import pytest

from core.files.read import load
from core.plant.model import Plant
from core.plant.validity import require
from core.sizing.context import Context
from core.sizing.result import Sized
from core.solve import solve_plant
from core.working import Working, evaluate
from tests.plants.edits import file_of

SAMPLES = ("potting_shed", "kennel_clinic", "school_annex", "bakery_loft", "orchard_packhouse")
FAMILIES = (
    "expansion",
    "relief",
    "exchangers",
    "heaters",
    "storage",
    "buffer",
    "floors",
    "melt",
    "antifreeze",
    "room_loss",
)


@cache
def sample(name: str) -> Plant:
    return load(file_of(name))


@cache
def context_of(name: str) -> Context:
    """A sample with its cases, and whatever sizing solves besides, solved once for all tests."""
    return Context(sample(name), {solution.case: solution for solution in solve_plant(sample(name))})


def changed(plant: Plant, changes: dict[str, dict[str, Any]], **keys: Any) -> Plant:
    """The plant with properties of items set, or taken away where they are None; `keys` of its own."""
    items = dict(plant.items)
    for name, props in changes.items():
        merged = {**items[name].props, **props}
        items[name] = replace(items[name], props={k: v for k, v in merged.items() if v is not None})
    return require(replace(plant, items=items, **keys))


def without(plant: Plant, *names: str) -> Plant:
    """The plant with items marked to be removed, so that they are left out of everything."""
    items = {k: replace(v, stage="to_remove") if k in names else v for k, v in plant.items.items()}
    pipes = {
        k: replace(v, stage="to_remove") if v.start.item in names or v.end.item in names else v
        for k, v in plant.pipes.items()
    }
    return replace(plant, items=items, pipes=pipes)


def recompute(sized: Iterable[Sized]) -> int:
    """Every formula of workings and options gives the number beside it; how many formulas there were."""
    count = 0
    for one in sized:
        for working in (one.working, *(option.working for option in one.options)):
            count += _recompute(working)
        if one.value is None:
            assert one.missing, one
        one.as_data()
    return count


def _recompute(working: Working | None) -> int:
    if working is None:
        return 0
    count = 0
    for _, part in working.walk():
        if part.formula:
            assert evaluate(part) == pytest.approx(part.value, rel=1e-6, abs=1e-12), part.words
            assert part.put_in("us")
            count += 1
        else:
            assert part.path or part.source or part.how or part.origin in ("practice", "memory"), part
    return count


def one(sized: Iterable[Sized], at: str, what: str) -> Sized:
    """The one answer of that kind at that place."""
    (found,) = [each for each in sized if each.at == at and each.what == what]
    return found


def number(symbol: str, value: float, dimension: str = "") -> Working:
    """A bare number as the input of a formula."""
    return Working(symbol, symbol, value, dimension, source="test")
