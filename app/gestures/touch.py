"""What is set down with a port on another port or on a pipe is joined to it: what looks joined is joined.

A port on another port is joined flange to flange, on a pipe it becomes a tee; a loose valve, or a whole
group with two ends on one pipe, goes into it. Arrow keys join nothing, `J` does.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from app.board.pointer import Hit, Place
from app.board.port import BoardPort
from app.gestures.base import under
from core.diagram.symbols import port_place
from core.errors import Refusal
from core.plant import edits
from core.plant.drinking_water import system_for
from core.plant.model import Item, Plant, PortRef
from core.vocabulary import Trait
from core.vocabulary.port_words import spoken_place

FACE_TO_FACE: dict[str, Any] = {"joined": "flanged", "tube": None, "length": None, "insulation": None}


def join_touching(board: BoardPort, draft: edits.Draft, names: Iterable[str]) -> list[str]:
    """Join the named items of the draft to what their free ports touch; says what was joined."""
    own = frozenset(names)
    said = _cut_in(board, draft, own)
    for name in sorted(own & draft.plant.items.keys()):
        for port in _free(draft.plant, draft.plant.items[name]):
            words = _join(board, draft, PortRef(name, port), own)
            if words:
                said.append(words)
    return said


def _join(board: BoardPort, draft: edits.Draft, ref: PortRef, own: frozenset[str]) -> str:
    plant = draft.plant
    place = port_place(plant.items[ref.item], ref.port)
    other = _port_at(plant, place, own)
    try:
        if other is not None:
            fields = {**FACE_TO_FACE, **system_for(plant, ref, other)}
            draft.do(*edits.connect(plant, ref, other, **fields))
            return f"{ref.item} joined to {spoken_place(other.item, other.port)}"
        hit = _pipe_at(board, plant, place, own)
        if hit is None:
            return ""
        if plant.items[ref.item].has(Trait.JOINS):
            draft.do(*edits.join_into(plant, ref.item, hit.id, hit.share))
        else:
            changes, joint = edits.split_pipe(plant, hit.id, place, hit.share)
            draft.do(*changes)
            draft.do(*edits.connect(draft.plant, ref, PortRef(joint, "at"), **FACE_TO_FACE))
    except Refusal:
        return ""
    return f"{ref.item} joined to {hit.id}"


def _cut_in(board: BoardPort, draft: edits.Draft, own: frozenset[str]) -> list[str]:
    """What lies along a pipe with its two ends goes into it: a loose valve, or a group as a whole."""
    ends: dict[str, list[tuple[float, PortRef]]] = {}
    for name in sorted(own & draft.plant.items.keys()):
        item = draft.plant.items[name]
        for port in item.ports if item.has(Trait.JOINS) else _free(draft.plant, item):
            hit = _pipe_at(board, draft.plant, port_place(item, port), own)
            if hit is not None:
                ends.setdefault(hit.id, []).append((hit.share, PortRef(name, port)))
    said: list[str] = []
    for pipe, found in ends.items():
        if len(found) != 2 or found[0][0] == found[1][0]:
            continue
        (near, first), (far, second) = sorted(found)
        try:
            draft.do(*edits.put_between(draft.plant, pipe, first, second, (near + far) / 2))
        except Refusal:
            continue
        names = list(dict.fromkeys((first.item, second.item)))
        said.append(f"{' to '.join(names)} put in line")
    return said


def _free(plant: Plant, item: Item) -> list[str]:
    return [port for port in item.ports if not plant.pipes_at.get(PortRef(item.id, port))]


def _port_at(plant: Plant, place: Place, own: frozenset[str]) -> PortRef | None:
    """A free port, or a joint, of another item at exactly that place."""
    for item in plant.items.values():
        if item.id not in own:
            for port in item.ports if item.has(Trait.JOINS) else _free(plant, item):
                if port_place(item, port) == place:
                    return PortRef(item.id, port)
    return None


def _pipe_at(board: BoardPort, plant: Plant, place: Place, own: frozenset[str]) -> Hit | None:
    """A pipe whose line runs through exactly that place, and that does not belong to the items themselves."""
    theirs = {name for name, pipe in plant.pipes.items() if {pipe.start.item, pipe.end.item} & own}
    hit = under(board, place, own | theirs)
    if hit is None or hit.what != "pipe" or hit.place != place or hit.id not in plant.pipes:
        return None
    return hit
