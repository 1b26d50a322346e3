"""Puts items that exist only for a question into a plant: in a pipe's end, or side by side with a stretch.

Not for changes a user may take over (`core.cures`): what stands here joins without loss and is never drawn.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any, NamedTuple

from core.hydraulics.elements import port_height
from core.plant.model import Item, Pipe, Plant, PortRef
from core.vocabulary import JOINT
from core.vocabulary.words import Lift

MARK = "q."  # begins the ids of what is put in for a question
FLANGED = "flanged"
STRONG = ((0.0, Lift(200.0, True)), (1.0, Lift(199.0, True)))
"""A curve that drives any flow."""


class Piece(NamedTuple):
    """An item to put in, and its ports in the order met."""

    item: Item
    near: str
    far: str


def fresh(plant: Plant, number: int) -> str:
    """An id that nothing in the plant has."""
    name = f"{MARK}{number}"
    while name in plant.items or name in plant.pipes:
        name += "."
    return name


def made(plant: Plant, number: int, kind: str, at: PortRef, values: Mapping[str, Any]) -> Item:
    """An item of a question with some properties [SI], at the height of a port."""
    beside = plant.items[at.item]
    height = port_height(beside, at.port)
    return Item(fresh(plant, number), kind, beside.at, over={**values, "height": height})


def in_end(plant: Plant, pipe: str, ref: PortRef, pieces: Sequence[Piece]) -> Plant:
    """Pieces put between a port and the end of a pipe on it, the first at the port."""
    items, pipes = dict(plant.items), dict(plant.pipes)
    old = pipes[pipe]
    last = ref
    for piece in pieces:
        items[piece.item.id] = piece.item
        _join(pipes, plant, last, PortRef(piece.item.id, piece.near), old.system)
        last = PortRef(piece.item.id, piece.far)
    if old.start == ref and old.end != ref:
        pipes[pipe] = replace(old, start=last)
    else:
        pipes[pipe] = replace(old, end=last)
    return replace(plant, items=items, pipes=pipes)


def beside(plant: Plant, start: PortRef, end: PortRef, system: str, pieces: Sequence[Piece]) -> Plant:
    """Pieces from one place to another in a way of their own; both places are joints."""
    items, pipes = dict(plant.items), dict(plant.pipes)
    last = start
    for piece in pieces:
        items[piece.item.id] = piece.item
        _join(pipes, plant, last, PortRef(piece.item.id, piece.near), system)
        last = PortRef(piece.item.id, piece.far)
    _join(pipes, plant, last, end, system)
    return replace(plant, items=items, pipes=pipes)


def _join(pipes: dict[str, Pipe], plant: Plant, one: PortRef, other: PortRef, system: str) -> None:
    number = len(pipes)
    name = f"{MARK}l{number}"
    while name in pipes or name in plant.items:
        name += "."
    pipes[name] = Pipe(name, one, other, system, joined=FLANGED)


def tee(plant: Plant, number: int, pipe: str, ref: PortRef) -> tuple[Plant, PortRef]:
    """A joint between a port and the end of a pipe on it; the plant and the joint's place."""
    joint = made(plant, number, JOINT, ref, {})
    return in_end(plant, pipe, ref, [Piece(joint, "at", "at")]), PortRef(joint.id, "at")
