"""Which figures rest on what is typed of some thing: all that water joins to it, or that names it.

A coarse answer on purpose: what water or a signal might carry the value to counts, whether it does or not.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from core.plant.model import Plant

SIGN = "*"
"""Behind a figure that rests on a last good value."""


def resting(plant: Plant, things: Iterable[str]) -> frozenset[str]:
    """Ids of items and pipes whose figures may rest on some things.

    Parameters
    ----------
    plant : Plant
    things : iterable of str
        Ids of items and pipes; "" is the sheet, on which every figure rests

    Examples
    --------
    >>> resting(Plant(), ["B-1"])
    frozenset()
    """
    wanted = list(things)
    if "" in wanted:
        return frozenset((*plant.items, *plant.pipes))
    beside = _neighbours(plant)
    found = {name for name in wanted if name in beside}
    queue = deque(found)
    while queue:
        for other in beside[queue.popleft()] - found:
            found.add(other)
            queue.append(other)
    return frozenset(found)


def _neighbours(plant: Plant) -> dict[str, set[str]]:
    beside: dict[str, set[str]] = {name: set() for name in (*plant.items, *plant.pipes)}
    for pipe in plant.pipes.values():
        for end in (pipe.start, pipe.end):
            _join(beside, pipe.id, end.item)
    for item in plant.items.values():
        for name in _names(item.props):
            if name in beside and name != item.id:
                _join(beside, item.id, name)
    return beside


def _join(beside: Mapping[str, set[str]], one: str, other: str) -> None:
    beside[one].add(other)
    beside[other].add(one)


def _names(raw: Any) -> Iterator[str]:
    """Every text in a value: some of them are ids."""
    if isinstance(raw, str):
        yield raw
    elif isinstance(raw, Mapping):
        for each in raw.values():
            yield from _names(each)
    elif isinstance(raw, (list, tuple)):
        for each in raw:
            yield from _names(each)
