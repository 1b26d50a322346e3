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
        One of its cases, or a case made from one: the answer is kept by the identity of `case.set` and
        `case.over.parts`

    Returns
    -------
    Plant
        The same object for the same plant and the same settings
    """
    sets, parts = case.set, case.over.parts or {}
    if not sets and not parts:
        return plant
    key = id(case.set), id(case.over.parts)
    kept = plant.as_set.get(key)
    if kept is not None:  # the mappings are kept too, so their identity cannot have gone to others
        return kept[1]
    items, pipes = dict(plant.items), dict(plant.pipes)
    for name, values in sets.items():
        if name in items:
            items[name] = item_as_set(items[name], values)
        elif name in pipes:
            pipes[name] = pipe_as_set(pipes[name], values)
    for name, figures in parts.items():
        over = {what: value for what, value in figures.items() if what != OUT_OF_SERVICE}
        out = OUT_OF_SERVICE in figures
        if name in items:
            item = items[name].with_si(**over)
            items[name] = replace(item, out_of_service=item.out_of_service or out)
        elif name in pipes:
            pipes[name] = replace(pipes[name], out_of_service=pipes[name].out_of_service or out)
    for reset in plant.with_trait(Trait.RESETS):
        items[reset.id] = _unopposed(items[reset.id], case)
    seen = replace(plant, items=items, pipes=pipes)
    while len(plant.as_set) >= MOST_KEPT:
        plant.as_set.pop(next(iter(plant.as_set)))
    plant.as_set[key] = seen.as_set[key] = ((case.set, case.over.parts), seen)  # seen once, it is seen
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
    raw = reset.props.get("sets") or ()
    names = [raw] if isinstance(raw, str) else list(raw)
    parts = case.over.parts or {}
    sets = {name: {*case.set.get(name, ()), *parts.get(name, ())} for name in names}
    left = [name for name in names if not RESETTABLE.intersection(sets[name])]
    if left == names:
        return reset
    props = {name: raw for name, raw in reset.props.items() if name != "sets"}
    return replace(reset, props={**props, "sets": left} if left else props)
