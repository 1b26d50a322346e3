"""Selecting with a rubber band, and moving what is selected."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from PySide6.QtCore import Qt

from app.board.hit_testing import REACH, nearest_on
from app.board.pointer import Hit, Place, Pointer, snapped
from app.board.port import BoardPort
from app.gestures.base import Gesture, Reason, under
from app.gestures.insert import against, in_line
from app.gestures.touch import join_touching
from core.diagram import arrange
from core.diagram.geometry import Polyline
from core.diagram.guides import Guides
from core.diagram.symbols import port_place
from core.plant import edits
from core.plant.changes import Change
from core.plant.model import Item, Plant, PortRef
from core.plant.texts import number_of, numbers

NO_IDS: frozenset[str] = frozenset()


class RubberBand(Gesture):
    """Everything that lies wholly in the band; Shift or Ctrl adds to what is selected."""

    hint = "Drag round what is to be selected"

    def __init__(self, board: BoardPort, first: Pointer) -> None:
        super().__init__(board)
        self._first = first
        self._kept = board.document.selection if first.shift or first.control else NO_IDS

    def move(self, pointer: Pointer) -> None:
        self.board.show_band(self._first.place, pointer.place)

    def release(self, pointer: Pointer) -> None:
        self.board.document.select(self._kept | self.board.within(self._first.place, pointer.place))
        self.end()


class Move(Gesture):
    """The selected items and texts follow the pointer by grid steps; their pipes go with them.

    Ports come into line with others near by; with Alt held by the grid alone. A loose valve let go on a pipe
    goes into it.
    """

    hint = "Moving: let go to place, Esc to leave it where it was"

    def __init__(self, board: BoardPort, items: frozenset[str], first: Pointer) -> None:
        super().__init__(board)
        self._items, self._first = items, first
        self._by: Place = (0.0, 0.0)
        self._guides = Guides(board.document.plant, items)
        self._loose = loose(board.document.plant, items)
        self._on: Hit | None = None

    def start(self, pointer: Pointer | None) -> None:
        super().start(pointer)
        self.board.point_with(Qt.CursorShape.SizeAllCursor)

    def move(self, pointer: Pointer) -> None:
        way = (pointer.place[0] - self._first.place[0], pointer.place[1] - self._first.place[1])
        plant = self.board.document.plant
        chosen = [plant.items[name] for name in self._items if name in plant.items]
        by = snapped(way) if pointer.alt else self._guides.pulled(chosen, way)
        on = self._pipe_under(way)
        if on is not None:
            self._by, self._on = by, on
            self.board.tentative(self._changes(plant, on), self._items)
            self.board.show_guides(())
        elif by != self._by or self._on is not None:
            self._by, self._on = by, None
            self.board.tentative(edits.move(plant, self._items, *by))
            x, y = by
            self.board.show_guides(
                self._guides.lines(replace(item, at=(item.at[0] + x, item.at[1] + y)) for item in chosen)
            )

    def _pipe_under(self, way: Place) -> Hit | None:
        """The pipe that a loose item would go into here."""
        if self._loose is None:
            return None
        x, y = self._loose.at
        hit = under(self.board, (x + way[0], y + way[1]), self._items)
        return hit if hit is not None and hit.what == "pipe" else None

    def _changes(self, plant: Plant, on: Hit | None) -> list[Change]:
        if on is None or self._loose is None:
            return edits.move(plant, self._items, *self._by)
        reverse = against(self._loose, on.way)
        return in_line(plant, self._loose, on, self.board.line(on.id), reverse)

    def release(self, pointer: Pointer) -> None:
        if self._by != (0.0, 0.0) or self._on is not None:
            draft = edits.Draft(self.board.document.plant)
            draft.do(*self._changes(draft.plant, self._on))
            said = join_touching(self.board, draft, self._items)
            done = self.board.commit(f"Move {named(self._items)}", draft.changes)
            self.board.finished()
            if done and said:
                self.board.say(". ".join(said))
        else:
            self.end()

    def key(self, key: Qt.Key, shift: bool) -> bool:
        if key == Qt.Key.Key_Escape:
            self.cancel(Reason.ESCAPE)
            return True
        return False


def loose(plant: Plant, ids: frozenset[str]) -> Item | None:
    """The one item among some that could go into a pipe: in line by its kind, and without a pipe yet."""
    name = next(iter(ids), "")
    item = plant.items.get(name) if len(ids) == 1 else None
    if item is None or edits.in_line_ports(item.kind, item.props) is None:
        return None
    return None if any(PortRef(name, port) in plant.pipes_at for port in item.ports) else item


def pipe_beneath(item: Item, lines: Mapping[str, Polyline]) -> tuple[Hit, Polyline] | None:
    """The pipe among some lines that runs through the middle of an item, with its line."""
    near = [
        (foot.away, Hit("pipe", name, foot.at, share=foot.share, way=foot.way), line)
        for name, line in lines.items()
        for foot in (nearest_on(line, item.at),)
        if foot.away <= REACH
    ]
    return min(near, key=lambda found: found[0])[1:] if near else None


def named(ids: frozenset[str]) -> str:
    """How an undo step names what it touched."""
    if len(ids) > 1:
        return f"{len(ids)} items"
    name = next(iter(ids), "nothing")
    return "a text" if number_of(name) is not None else name


def turned(plant: Plant, ids: frozenset[str]) -> list[Change]:
    """One item turned about its middle, several as a group about theirs."""
    if len(ids) > 1:
        return arrange.turned(plant, ids, numbers(plant, ids))
    return edits.rotate(plant, ids)


def mirrored(plant: Plant, items: frozenset[str]) -> list[Change]:
    """Several items mirrored as a group, one about its middle.

    One that lies along its line turns round in it, its pipes staying where they are.
    """
    if len(items) > 1:
        return arrange.mirrored(plant, items, numbers(plant, items))
    draft = edits.Draft(plant)
    draft.do(*edits.mirror(plant, items))
    for name in items & plant.items.keys():
        before, after = plant.items[name], draft.plant.items[name]
        ports = edits.in_line_ports(before.kind, before.props)
        if ports is not None and port_place(before, ports[0]) == port_place(after, ports[1]):
            edits.swap_ports(draft, name, *ports)
    return draft.changes
