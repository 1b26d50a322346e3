"""The plant as one case sees it: what the case's `set` says put in the place of what the file says."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from core.plant.model import Case, Item, Pipe, Plant
from core.vocabulary import Trait

OUT_OF_SERVICE = "out_of_service"
MOST_KEPT = 32
RESETTABLE = frozenset({"set_temperature", "target"})
"""What an outdoor reset may set."""
PIPE_SETTABLE = ("tube", "length", "fittings", "k", "joined", "straight", "insulation", "around")
"""What a case may set of a pipe: all that its water feels, but neither its ends nor its system."""


def plant_for(plant: Plant, case: Case) -> Plant:
    """The plant with what the case sets; the plant itself where the case sets nothing.

    Parts that the case leaves alone are the very same objects, so a network is made from the plant's own
    where only figures differ. `out_of_service` of an item or pipe is true where the case says so; what
    the case sets wins over an outdoor reset, which no longer names that item.

    Parameters
    ----------
    plant : Plant
        Valid
    case : Case
        One of its cases, or a case made from one: the answer is kept by the identity of `case.set`

    Returns
    -------
    Plant
        The same object for the same plant and the same `case.set`
    """
    if not case.set:
        return plant
    kept = plant.as_set.get(id(case.set))
    if kept is not None:  # the mapping is kept too, so its identity cannot have gone to another
        return kept[1]
    items, pipes = dict(plant.items), dict(plant.pipes)
    for name, values in case.set.items():
        if name in items:
            items[name] = item_as_set(items[name], values)
        elif name in pipes:
            pipes[name] = pipe_as_set(pipes[name], values)
    for reset in plant.with_trait(Trait.RESETS):
        items[reset.id] = _unopposed(items[reset.id], case)
    seen = replace(plant, items=items, pipes=pipes)
    while len(plant.as_set) >= MOST_KEPT:
        plant.as_set.pop(next(iter(plant.as_set)))
    plant.as_set[id(case.set)] = seen.as_set[id(case.set)] = (case.set, seen)  # seen once, it is seen
    return seen


def plant_in(plant: Plant, case: str) -> Plant:
    """The plant as the case of that name sees it; itself where it has no such case."""
    return next((plant_for(plant, each) for each in plant.cases if each.name == case), plant)


def item_as_set(item: Item, values: Mapping[str, Any]) -> Item:
    """An item with some properties of a case's `set`."""
    props = {name: raw for name, raw in values.items() if name != OUT_OF_SERVICE}
    return replace(item, props={**item.props, **props}, out_of_service=bool(values.get(OUT_OF_SERVICE)))


def pipe_as_set(pipe: Pipe, values: Mapping[str, Any]) -> Pipe:
    """A pipe with some properties of a case's `set`."""
    known = {name: raw for name, raw in values.items() if name in PIPE_SETTABLE}
    return replace(pipe, **known, out_of_service=bool(values.get(OUT_OF_SERVICE)))


def _unopposed(reset: Item, case: Case) -> Item:
    """An outdoor reset without the items whose temperature the case itself sets."""
    sets = reset.props.get("sets") or ()
    names = [sets] if isinstance(sets, str) else list(sets)
    left = [name for name in names if not RESETTABLE.intersection(case.set.get(name, ()))]
    if left == names:
        return reset
    props = {name: raw for name, raw in reset.props.items() if name != "sets"}
    return replace(reset, props={**props, "sets": left} if left else props)
