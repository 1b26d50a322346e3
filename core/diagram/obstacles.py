"""What the words of a picture were laid on, and what of that an edit has changed.

Figures change with every edit, symbols and lines with some; but mostly little of what is drawn. Texts far
from what changed may stay, and looking for spots anew is what costs.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from core.diagram import symbols
from core.diagram.control_lines import Wire, wire_boxes
from core.diagram.geometry import Box, Field, Point, box_of, hull
from core.diagram.labels import APART, Placed
from core.diagram.occupancy import Occupancy, Overlay
from core.diagram.pipes import PipePicture, boxes_of
from core.plant.model import Item

OPEN_END = 4.0  # radius of the circle at a port without a pipe
ROUND = 250.0  # texts lie within this distance of what is drawn, as a rule
FEW = 40  # texts sought, up to which the long way of asking what is taken costs less than preparing the short


@dataclass(frozen=True, eq=False)
class Obstacles:
    """All that texts keep clear of, and how they are set."""

    pipes: Mapping[str, PipePicture]
    items: Mapping[str, Item]
    open_ends: Mapping[str, tuple[Point, ...]]
    wires: tuple[Wire, ...]
    setting: object
    """Size of the texts, their bounds, the user's own: where it is another, all are placed anew."""
    _fields: list[Field] = field(default_factory=list)
    """All that texts keep clear of, once it was asked for: the next may take it over."""

    def taken(self, sought: int, change: Changed | None) -> Field:
        """Everything that a text may not touch, ready for so many texts to be placed.

        `change` is what has changed since the obstacles of last time, where that is known.
        """
        if sought > FEW:
            drawn = [symbols.box(item) for item in self.items.values()]
            drawn += [box_of(picture.line) for picture in self.pipes.values()]
            return self._fill(Occupancy(hull(drawn).grown(ROUND)))
        field = change.lent() if change is not None else None
        self._fields.append(self._fill(Field()) if field is None else field)
        return Overlay(self._fields[-1])

    def _fill(self, busy: Field) -> Field:
        for item in self.items.values():
            busy.add(symbols.box(item).grown(1.0), f"item {item.id}")
        for name, picture in self.pipes.items():
            for area, what in boxes_of(picture):
                busy.add(area, f"{what}{name}")
        for places in self.open_ends.values():
            for area in _circles(places):
                busy.add(area, "open end")
        for wire in self.wires:
            for area in wire_boxes(wire):
                busy.add(area.grown(1.0), f"wire {wire.kind}")
        return busy


class Changed:
    """What looks otherwise than last time: its names, and the room that texts must leave to it."""

    def __init__(self, before: Obstacles, now: Obstacles) -> None:
        self.names: set[str] = set()
        self._room = Field()
        self._before, self._now = before, now
        for name, picture in now.pipes.items():
            old = before.pipes.get(name)
            if picture is not old and picture != old:
                self._add(name, (box for box, _ in boxes_of(picture)))
        self._pipes = set(self.names)
        for name, item in now.items.items():
            if not symbols.same_place(before.items.get(name), item):
                self._add(f"item {name}", [symbols.box(item)])
                self.names.add(f"note {name}")
        for name, places in now.open_ends.items():
            if before.open_ends.get(name) != places:
                self._add(f"open {name}", _circles(places))
        if now.wires is not before.wires:
            for wire in now.wires:
                if wire not in before.wires:
                    self._add("wire", wire_boxes(wire))

    def lent(self) -> Field | None:
        """The field of last time brought up to date, where only pipes look otherwise; else none."""
        before, now = self._before, self._now
        if self.names != self._pipes or before.pipes.keys() != now.pipes.keys():
            return None
        if before.items.keys() != now.items.keys() or before.open_ends != now.open_ends:
            return None
        if before.wires is not now.wires or not before._fields:
            return None
        out = before._fields.pop()
        for name in self._pipes:
            for area, what in boxes_of(before.pipes[name]):
                out.remove(area, f"{what}{name}")
            for area, what in boxes_of(now.pipes[name]):
                out.add(area, f"{what}{name}")
        return out

    def _add(self, name: str, boxes: Iterator[Box] | list[Box]) -> None:
        self.names.add(name)
        for box in boxes:
            self._room.add(box.grown(APART))

    def disturbs(self, key: str, text: Placed) -> bool:
        """Whether a text belongs to what looks otherwise now, or may lie on it."""
        if key in self.names or str(text.spot[0]).partition(" by ")[2] in self.names:
            return True
        if not self._room.free(text.box):
            return True
        return text.leader is not None and not self._room.free(box_of(text.leader))


def changed(before: Obstacles | None, now: Obstacles) -> Changed | None:
    """What has changed; None where there were no obstacles before, or texts were set otherwise."""
    if before is None or before.setting != now.setting:
        return None
    return Changed(before, now)


def _circles(places: tuple[Point, ...]) -> Iterator[Box]:
    """Room of open ends."""
    for x, y in places:
        yield Box(x, y, x, y).grown(OPEN_END + 1)
