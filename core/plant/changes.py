"""The primitive changes of a plant, each knowing its inverse. Everything the user does is a list of them.

Not for deciding what to change (`core.plant.edits`) nor whether the outcome is valid (`validity`).

Dataclasses, not named tuples: two sorts of change with the same contents must not be equal.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, fields, replace
from typing import Any, TypeVar

from core.errors import Refusal, value_text
from core.plant.model import Item, Pipe, Plant

_Part = TypeVar("_Part", Item, Pipe)


@dataclass(frozen=True)
class AddItem:
    """Add an item; `place` is its rank in the file, the last by default."""

    item: Item
    place: int | None = None

    def applied(self, plant: Plant) -> Plant:
        _refuse_taken(plant, self.item.id)
        return replace(plant, items=_inserted(plant.items, self.item, self.place))

    def inverse(self, before: Plant) -> Change:
        return RemoveItem(self.item.id)


@dataclass(frozen=True)
class RemoveItem:
    """Take an item away. Pipes on it must go by changes of their own."""

    id: str

    def applied(self, plant: Plant) -> Plant:
        _refuse_missing(plant.items, self.id, "item")
        return replace(plant, items={name: one for name, one in plant.items.items() if name != self.id})

    def inverse(self, before: Plant) -> Change:
        _refuse_missing(before.items, self.id, "item")
        return AddItem(before.items[self.id], list(before.items).index(self.id))


@dataclass(frozen=True)
class ReplaceItem:
    """Put an item in the place of the one with its id, or of the one called `was` when it is renamed."""

    item: Item
    was: str = ""

    def applied(self, plant: Plant) -> Plant:
        name = self.was or self.item.id
        _refuse_missing(plant.items, name, "item")
        if self.item.id != name:
            _refuse_taken(plant, self.item.id)
        return replace(plant, items=_replaced(plant.items, self.item, name))

    def inverse(self, before: Plant) -> Change:
        name = self.was or self.item.id
        _refuse_missing(before.items, name, "item")
        return ReplaceItem(before.items[name], self.item.id)


@dataclass(frozen=True)
class AddPipe:
    """Add a pipe; `place` is its rank in the file, the last by default."""

    pipe: Pipe
    place: int | None = None

    def applied(self, plant: Plant) -> Plant:
        _refuse_taken(plant, self.pipe.id)
        return replace(plant, pipes=_inserted(plant.pipes, self.pipe, self.place))

    def inverse(self, before: Plant) -> Change:
        return RemovePipe(self.pipe.id)


@dataclass(frozen=True)
class RemovePipe:
    """Take a pipe away."""

    id: str

    def applied(self, plant: Plant) -> Plant:
        _refuse_missing(plant.pipes, self.id, "pipe")
        return replace(plant, pipes={name: one for name, one in plant.pipes.items() if name != self.id})

    def inverse(self, before: Plant) -> Change:
        _refuse_missing(before.pipes, self.id, "pipe")
        return AddPipe(before.pipes[self.id], list(before.pipes).index(self.id))


@dataclass(frozen=True)
class ReplacePipe:
    """Put a pipe in the place of the one with its id, or of the one called `was` when it is renamed."""

    pipe: Pipe
    was: str = ""

    def applied(self, plant: Plant) -> Plant:
        name = self.was or self.pipe.id
        _refuse_missing(plant.pipes, name, "pipe")
        if self.pipe.id != name:
            _refuse_taken(plant, self.pipe.id)
        return replace(plant, pipes=_replaced(plant.pipes, self.pipe, name))

    def inverse(self, before: Plant) -> Change:
        name = self.was or self.pipe.id
        _refuse_missing(before.pipes, name, "pipe")
        return ReplacePipe(before.pipes[name], self.pipe.id)


_SETTABLE = frozenset(field.name for field in fields(Plant)) - {"items", "pipes", "version"}


@dataclass(frozen=True)
class SetPlant:
    """Set parts of the plant that are neither items nor pipes: title, site, systems, cases, records."""

    values: Mapping[str, Any]

    def applied(self, plant: Plant) -> Plant:
        self._refuse_others()
        return replace(plant, **self.values)

    def inverse(self, before: Plant) -> Change:
        self._refuse_others()
        return SetPlant({name: getattr(before, name) for name in self.values})

    def _refuse_others(self) -> None:
        for name in self.values:
            if name not in _SETTABLE:
                raise Refusal("", value_text(name), f"one of {', '.join(sorted(_SETTABLE))}")


Change = AddItem | RemoveItem | ReplaceItem | AddPipe | RemovePipe | ReplacePipe | SetPlant


def apply(plant: Plant, changes: Iterable[Change]) -> Plant:
    """The plant after some changes, one after the other.

    Raises
    ------
    Refusal
        A change names what is not there, or adds what is; the plant itself is never altered
    """
    for change in changes:
        plant = change.applied(plant)
    return plant


def fitted(plant: Plant, changes: Iterable[Change]) -> Plant:
    """As `apply` to a valid plant, and refused unless the outcome is valid too."""
    from core.plant import validity  # loads the rules of all kinds

    return validity.require(apply(plant, changes), valid=plant)


def inverses(plant: Plant, changes: Iterable[Change]) -> list[Change]:
    """Changes that lead back from the plant after `changes` to `plant`, rank in the file included."""
    backward: list[Change] = []
    for change in changes:
        backward.append(change.inverse(plant))
        plant = change.applied(plant)
    return backward[::-1]


def _refuse_taken(plant: Plant, name: str) -> None:
    if name in plant.items or name in plant.pipes:
        raise Refusal("", value_text(name), "an id used once over items and pipes")


def _refuse_missing(parts: Mapping[str, Item] | Mapping[str, Pipe], name: str, what: str) -> None:
    if name not in parts:
        raise Refusal("", value_text(name), f"the id of {'an' if what == 'item' else 'a'} {what}")


def _inserted(parts: Mapping[str, _Part], part: _Part, place: int | None) -> dict[str, _Part]:
    if place is None or place >= len(parts):
        return {**parts, part.id: part}
    entries = list(parts.items())
    entries.insert(place, (part.id, part))
    return dict(entries)


def _replaced(parts: Mapping[str, _Part], part: _Part, name: str) -> dict[str, _Part]:
    if part.id == name:
        return {**parts, name: part}
    return {(part.id if key == name else key): (part if key == name else one) for key, one in parts.items()}
