"""A symbol in the hand: it follows the pointer, a click places it, on a pipe it goes in line."""

from __future__ import annotations

from dataclasses import replace

from app.board.pointer import Hit, Place, Pointer, snapped
from app.board.port import BoardPort
from app.gestures.base import under
from app.gestures.in_hand import Carried
from app.gestures.touch import join_touching
from core.diagram import room
from core.diagram.geometry import Polyline
from core.diagram.guides import Guides
from core.diagram.symbols import port_place
from core.errors import Refusal
from core.plant import edits
from core.plant.changes import AddItem, Change, ReplaceItem
from core.plant.model import Item, Plant
from core.vocabulary import KINDS


class Insert(Carried):
    """Place one item of a kind; with Shift held the hand keeps another."""

    def __init__(self, board: BoardPort, kind: str, at: Place | None = None) -> None:
        super().__init__(board)
        self.kind = kind
        self.hint = f"{KINDS[kind].title}: click to place, on a pipe to put it in line. R turns, M mirrors"
        self._turn, self._flip = 0, False
        self._at = snapped(at if at is not None else board.middle())
        self._on: Hit | None = None
        self._guides = Guides(board.document.plant, ())

    def start(self, pointer: Pointer | None) -> None:
        super().start(pointer)
        if pointer is None:
            title = KINDS[self.kind].title
            self.board.say(f"{title}: Return or a click places it, arrow keys move it, R turns, M mirrors")
        self.board.document.select(())
        if pointer is not None:
            self.move(pointer)
        else:
            self._aim_at(self._at)

    def move(self, pointer: Pointer) -> None:
        self._seen = True
        place = self._in_line(pointer)
        if place != self._at or self._on is None:
            bare = under(self.board, pointer.place) is None
            self._aim_at(place if bare else pointer.place, in_line=bare)

    def _in_line(self, pointer: Pointer) -> Place:
        """A place where its ports stand in line with others near by; with Alt the grid alone counts."""
        if pointer.alt:
            return snapped(pointer.place)
        return self._guides.pulled([self._loose((0.0, 0.0))], pointer.place)

    def _loose(self, at: Place) -> Item:
        """The item as it would lie on bare board."""
        plant = self.board.document.plant
        return edits.new_item(plant, self.kind, at, turn=self._turn, flip=self._flip)

    def turn(self) -> None:
        self._turn = (self._turn + 90) % 360
        self._aim_at(self._at)

    def mirror(self) -> None:
        self._flip = not self._flip
        self._aim_at(self._at)

    def _aim_at(self, place: Place, in_line: bool = False) -> None:
        hit = under(self.board, place)
        self._on = hit if hit is not None and hit.what == "pipe" else None
        self._at = place if in_line else snapped(place)
        changes, name = self._changes()
        if not self.board.tentative(changes, frozenset({name})):
            self._on = None
            changes, name = self._changes()
            self.board.tentative(changes, frozenset({name}))
        if self._on is None:
            self.board.show_guides(self._guides.lines([self._loose(self._at)]))

    def _changes(self) -> tuple[list[Change], str]:
        plant = self.board.document.plant
        if self._on is None or edits.in_line_ports(self.kind, {}) is None:
            item = self._loose(self._at)
            return [AddItem(item)], item.id
        reverse = self._turn in (90, 180) or self._flip
        try:
            item = replace(self._loose(self._on.place), flip=False)
            return in_line(plant, item, self._on, self.board.line(self._on.id), reverse), item.id
        except Refusal as refusal:
            self.board.say(str(refusal))
            item = self._loose(self._at)
            return [AddItem(item)], item.id

    def _place(self, keep: bool) -> None:
        changes, name = self._changes()
        where = f" in {self._on.id}" if self._on is not None else ""
        draft = edits.Draft(self.board.document.plant)
        draft.do(*changes)
        said = join_touching(self.board, draft, [name])
        done = self.board.commit(f"Insert {name}{where}", draft.changes)
        if done and keep:
            self._guides = Guides(self.board.document.plant, ())
            self._aim_at(self._at)
            return
        if done:
            self.board.document.select([name])
        self.board.finished()
        if done and said:
            self.board.say(". ".join(said))


def in_line(plant: Plant, item: Item, on: Hit, line: Polyline, reverse: bool) -> list[Change]:
    """Changes that put an item into a pipe, lying along its line; with `reverse` against its direction.

    The item may be a new one or one of the plant that has no pipe yet. In a line too short for it what lies
    beyond makes room.
    """
    first, second = edits.in_line_ports(item.kind, item.props) or item.ports[:2]
    way = (-on.way[0], -on.way[1]) if reverse else on.way
    (ax, ay), (bx, by) = port_place(item, first), port_place(item, second)
    draft = edits.Draft(plant)
    seat = room.Seat(snapped(on.place), [])
    if (ax + bx, ay + by) == (2 * item.at[0], 2 * item.at[1]):  # not a boiler, whose ports are on one side
        seat = room.seat(plant, on.id, line, on.place, abs(bx - ax) + abs(by - ay))
    draft.do(*seat.moves)
    item = replace(item, at=seat.at, turn=_turn_along(item, way))
    draft.do(ReplaceItem(item) if item.id in plant.items else AddItem(item))
    draft.do(*edits.put_in_line(draft.plant, item.id, on.id, on.share))
    if reverse:
        edits.swap_ports(draft, item.id, first, second)
    return draft.changes


def against(item: Item, way: Place) -> bool:
    """Whether an item looks against a way, from its first port to its second."""
    first, second = edits.in_line_ports(item.kind, item.props) or item.ports[:2]
    (ax, ay), (bx, by) = port_place(item, first), port_place(item, second)
    return (bx - ax) * way[0] + (by - ay) * way[1] < 0


def _turn_along(item: Item, way: Place) -> int:
    """The turn that makes the line from the first port to the second point the given way."""
    first, second = edits.in_line_ports(item.kind, item.props) or item.ports[:2]
    best, found = -1.0, 0
    for turn in (0, 90, 180, 270):
        (ax, ay), (bx, by) = (port_place(replace(item, turn=turn), port) for port in (first, second))
        along = (bx - ax) * way[0] + (by - ay) * way[1]
        if along > best:
            best, found = along, turn
    return found
