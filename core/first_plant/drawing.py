"""What steps draw with: an item laid down, a pipe by port or joint, an item or a tee put into a pipe."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from core.plant import edits
from core.plant.changes import AddItem, ReplaceItem
from core.plant.edits import Draft, Point
from core.plant.model import Item, Plant, PortRef
from core.vocabulary import JOINT, Trait
from core.vocabulary.guesses import Guess

GRID = 20.0
SHORT = Guess("1 ft", 0.5)


def lay(
    draft: Draft,
    kind: str,
    at: Point,
    label: str = "",
    props: Mapping[str, Any] | None = None,
    *,
    turn: int = 0,
    flip: bool = False,
) -> str:
    """An item with a fresh tag; its tag."""
    item = edits.new_item(draft.plant, kind, at, turn=turn, flip=flip, props=props)
    draft.do(AddItem(replace(item, label=label)))
    return item.id


def joint(draft: Draft, at: Point) -> str:
    """A joint with a fresh tag; its tag."""
    return lay(draft, JOINT, at)


def pipe(draft: Draft, start: tuple[str, str], end: tuple[str, str], **fields: Any) -> str:
    """A pipe from port to port; its tag."""
    before = set(draft.plant.pipes)
    draft.do(*edits.connect(draft.plant, PortRef(*start), PortRef(*end), **fields))
    return next(name for name in draft.plant.pipes if name not in before)


def put_in(
    draft: Draft,
    kind: str,
    name: str,
    at: Point,
    label: str = "",
    props: Mapping[str, Any] | None = None,
    *,
    ports: tuple[str, str] = ("", ""),
    turn: int = 0,
    flip: bool = False,
) -> str:
    """An item put into a pipe, its first port towards the pipe's start; its tag. The pipe keeps its start."""
    item = lay(draft, kind, at, label, props, turn=turn, flip=flip)
    if ports[0]:
        first, second = (PortRef(item, port) for port in ports)
        draft.do(*edits.put_between(draft.plant, name, first, second, 0.5))
    else:
        draft.do(*edits.put_in_line(draft.plant, item, name, 0.5))
    return item


def tee(draft: Draft, name: str, at: Point) -> str:
    """A joint put into a pipe; its tag."""
    changes, made = edits.split_pipe(draft.plant, name, at, 0.5)
    draft.do(*changes)
    return made


def at_port(plant: Plant, item: str, port: str) -> str:
    """The pipe at a port; empty where there is none."""
    return next(iter(plant.pipes_at.get(PortRef(item, port), ())), "")


def free(plant: Plant, item: str, port: str) -> bool:
    """Whether no pipe is at a port."""
    return not at_port(plant, item, port)


def change(draft: Draft, item: str, **props: Any) -> None:
    """Other properties of an item."""
    there = draft.plant.items[item]
    draft.do(ReplaceItem(replace(there, props={**there.props, **props})))


def sources(plant: Plant) -> list[Item]:
    """What heats a closed circuit."""
    return [one for one in plant.with_trait(Trait.MAKES_HEAT) if one.has(Trait.CLOSED_CIRCUIT)]


def circuits(plant: Plant) -> list[Item]:
    """What heats rooms, from top to bottom."""
    return sorted(plant.with_trait(Trait.HEATS_ROOM), key=lambda item: (item.at[1], item.at[0]))


def system_of(plant: Plant, use: str) -> str:
    """The first system of a use; empty where there is none."""
    return next((name for name, one in plant.systems.items() if one.use == use), "")


def below(plant: Plant, gap: float = 100.0) -> float:
    """A level under all that is drawn, on the grid."""
    lowest = max((item.at[1] for item in plant.items.values()), default=200.0)
    return GRID * round((lowest + gap) / GRID)
