"""A pipe in the hand: pulled from a port, it lands on a port, tees into a pipe, or ends open.

A pipe dropped on an item without a free port is refused in words.
"""

from __future__ import annotations

from PySide6.QtCore import Qt

from app.board.pointer import GRID, Hit, Place, Pointer, snapped
from app.board.port import BoardPort
from app.gestures.along import nearest
from app.gestures.base import Reason, under
from app.gestures.in_hand import Pulled
from core.diagram.symbols import port_place
from core.errors import Refusal
from core.plant import edits
from core.plant.changes import AddItem, AddPipe, Change, apply
from core.plant.drinking_water import recognized, system_for
from core.plant.model import PortRef
from core.plant.ports import by_flow
from core.plant.ports import free_ports as free_names
from core.plant.similar import neighbour
from core.vocabulary import JOINT, Trait
from core.vocabulary.port_flow import Flow, flow_at
from core.vocabulary.port_words import spoken_place

DRAG = 6.0
"""Board units: less than this between press and release is a click, and the pipe stays in the hand."""


STRAIGHT = 14.0
"""Board units within which a tee comes to lie straight before the port: no jog for a slip of the hand."""

ONE_WATER = (
    "{} are one water now: heating water can come out where one drinks. Undo it or part them by an exchanger"
    " or a backflow preventer; local code and a licensed plumber say which."
)


class PullPipe(Pulled):
    """From a port (`item`, `port`), or from a place on a pipe (`pipe`), where a joint is made first."""

    hint = (
        "Pull to a port, onto a pipe to tee in; click to pin a bend, double click or Return for an open end"
    )

    def __init__(self, board: BoardPort, start: Hit) -> None:
        super().__init__(board)
        self._from = start
        self._first = start.place
        self._end: Place = snapped(start.place)
        self._lands: Hit | None = None
        self._bends: list[Place] = []
        self._changes: list[Change] = []
        self._refused = ""
        self._turned = ""
        """What turns round with the pipe."""

    def start(self, pointer: Pointer | None) -> None:
        super().start(pointer)
        self.board.document.select([self._from.id])

    def release(self, pointer: Pointer) -> None:
        pressed, self._pressed = self._pressed, None
        if pressed is None:
            return
        dragged = _apart(pressed.place, pointer.place) > DRAG
        self._aim_at(pointer.place)
        if self._lands is not None or dragged:
            self._finish()
        elif _apart(self._first, pointer.place) > DRAG:
            self._pin()

    def double(self, pointer: Pointer) -> None:
        self._aim_at(pointer.place)
        if self._bends and self._bends[-1] == self._end:
            self._bends.pop()
        if _apart(self._first, self._end) > DRAG:
            self._finish()

    def key(self, key: Qt.Key, shift: bool) -> bool:
        if key not in (Qt.Key.Key_Backspace, Qt.Key.Key_Delete):
            return super().key(key, shift)
        if self._bends:
            self._bends.pop()
            self._to(self._end, self._lands)
        return True

    def _do(self, shift: bool) -> None:
        if shift:
            self._pin()
        elif _apart(self._first, self._end) > DRAG:
            self._finish()
        elif not self._targets:
            self.tab(forward=True)  # nothing aimed at yet: the nearest port that fits
            if self._changes:
                self._finish()

    def jump(self, way: Place, add: bool = False) -> bool:
        """The next free port or pipe that way."""
        plant = self.board.document.plant
        targets = [*self._reachable(), *self._pipes()]
        spots = {number: hit.place for number, hit in enumerate(targets)}
        number = nearest(spots, self._end, (way[0] / GRID, way[1] / GRID))
        if number is not None and plant.items:
            self._to(targets[number].place, targets[number])
            self.board.reveal(targets[number].place)
        return True

    def _pipes(self) -> list[Hit]:
        """A place to tee in on each pipe: the one nearest to where the hand is."""
        found: list[Hit] = []
        for name in self.board.document.plant.pipes:
            if name != self._from.id:
                hit = self.board.on_pipe(name, self._end)
                if hit is not None:
                    found.append(hit)
        return found

    def _pin(self) -> None:
        if not self._bends or self._bends[-1] != self._end:
            self._bends.append(self._end)
            self.board.say(f"{len(self._bends)} bends pinned. {self.hint}")

    def _step_to(self, place: Place) -> None:
        self._to(place, self._landing(place, straight=False))

    def _landing(self, place: Place, straight: bool = True) -> Hit | None:
        """What a drop here would connect to; an item without a free port is given as the item."""
        hit = under(self.board, place)
        if hit is None or (hit.id == self._from.id and hit.what == "pipe"):
            return None
        if hit.what == "item":
            return self._port_of(hit, place) or hit
        if hit.what == "pipe" and straight:
            return self._straight_onto(hit)
        return hit if hit != self._from else None

    def _straight_onto(self, hit: Hit) -> Hit:
        """The place on the pipe straight before where this one comes from, if that is close by."""
        came = self._bends[-1] if self._bends else self._first
        ahead = (came[0], hit.place[1]) if hit.way[0] else (hit.place[0], came[1])
        if _apart(ahead, hit.place) > STRAIGHT:
            return hit
        there = under(self.board, ahead)
        return there if there is not None and (there.what, there.id) == ("pipe", hit.id) else hit

    def _port_of(self, hit: Hit, place: Place) -> Hit | None:
        """The free port of an item that is nearest to the pointer."""
        free = [port for port in free_ports(self.board, hit.id) if port.id != self._from.id]
        return min(free, key=lambda port: _apart(port.place, place)) if free else None

    def _to(self, place: Place, lands: Hit | None) -> None:
        full = lands if lands is not None and lands.what == "item" else None
        self._refused = self._why_not(full) if full is not None else ""
        self._lands = lands = None if full is not None else lands
        self._end = lands.place if lands is not None else snapped(place)
        self.board.show_target(lands)
        self._changes = []
        if self._refused or _apart(self._first, self._end) <= DRAG:
            self.board.show_line([self._first, self._end])
            if self._refused:
                self.board.say(self._refused)
            return
        try:
            self._changes = self._make()
        except Refusal as refusal:
            self.board.say(str(refusal))
            self.board.show_line([self._first, (self._end[0], self._first[1]), self._end])
            return
        self.board.tentative(self._changes, self._fresh())
        self.board.say(self._words())

    def _words(self) -> str:
        """What letting go here would do."""
        start = spoken_place(self._from.id, self._from.port)
        if self._lands is None:
            return self.hint
        joins = "tees into" if self._lands.what == "pipe" else "to"
        there = spoken_place(self._lands.id, self._lands.port)
        if mixed := self._mixed():
            return (
                f"{' and '.join(mixed)} would be one water: let go connects {start} to {there} all the same"
            )
        if self._turned:
            return f"{self._turned} turns round, to work the way of the other end: let go or Return connects"
        return f"Pipe from {start} {joins} {there}: let go or Return connects, Tab to the next port"

    def _mixed(self) -> tuple[str, ...]:
        """The systems that this pipe would make one, where they are two."""
        plant, lands = self.board.document.plant, self._lands
        systems = []
        for hit in (self._from, lands):
            if hit is not None:
                pipe = (
                    plant.pipes[hit.id] if hit.what == "pipe" else neighbour(plant, PortRef(hit.id, hit.port))
                )
                systems.append(pipe.system if pipe is not None else "")
        return tuple(dict.fromkeys(systems)) if len({*systems} - {""}) == 2 else ()

    def _why_not(self, full: Hit) -> str:
        """What to say of a drop on an item that cannot take the pipe."""
        if full.id == self._from.id:
            return f"{full.id}: pull on to another port, or onto a pipe"
        plant = self.board.document.plant
        taken = [
            f"{port} has {plant.pipes_at[PortRef(full.id, port)][0]}" for port in plant.items[full.id].ports
        ]
        if not taken:
            return f"{full.id} takes no pipe"
        return f"{full.id} has no free port: {', '.join(taken)}. Tee into the pipe instead"

    def _make(self) -> list[Change]:
        """The changes of a drop here: a tee where it starts on a pipe, then the pipe itself."""
        draft = edits.Draft(self.board.document.plant)
        start = PortRef(self._from.id, self._from.port)
        if self._from.what == "pipe":
            changes, joint = edits.split_pipe(
                draft.plant, self._from.id, snapped(self._from.place), self._from.share
            )
            draft.do(*changes)
            start = PortRef(joint, "at")
        fields: dict[str, object] = {"length": self.board.document.new_length}
        if self._bends:
            fields["via"] = tuple(self._bends)
        if self._lands is not None and self._lands.what == "pipe":
            where = snapped(self._lands.place)
            draft.do(*edits.tee(draft.plant, start, self._lands.id, where, self._lands.share, **fields))
            draft.do(*recognized(draft.plant, list(draft.plant.pipes)[-1]))
            return draft.changes
        if self._lands is not None:
            end = PortRef(self._lands.id, self._lands.port)
        else:
            joint_there = edits.new_item(draft.plant, JOINT, self._end)
            draft.do(AddItem(joint_there))
            end = PortRef(joint_there.id, "at")
        self._turned = ""
        if turned := self._against(start, end):
            draft.do(*edits.rotate(draft.plant, [turned], 2))
            start, end = (self._other(ref) if ref.item == turned else ref for ref in (start, end))
            self._turned = turned
        draft.do(*edits.connect(draft.plant, start, end, **fields, **system_for(draft.plant, start, end)))
        draft.do(*recognized(draft.plant, list(draft.plant.pipes)[-1]))
        return draft.changes

    def _against(self, start: PortRef, end: PortRef) -> str:
        """The circulator or check without a pipe that would work against the known port at the other end."""
        plant = self.board.document.plant
        flows = [
            flow_at(plant.items[ref.item].kind, ref.port) if ref.item in plant.items else ""
            for ref in (start, end)
        ]
        if flows[0] != flows[1] or not flows[0]:
            return ""
        for ref in (end, start):
            item = plant.items[ref.item]
            bare = not any(PortRef(item.id, port) in plant.pipes_at for port in item.ports)
            if bare and item.has(Trait.DRIVES, Trait.ONE_WAY) and edits.in_line_ports(item.kind, item.props):
                return item.id
        return ""

    def _other(self, ref: PortRef) -> PortRef:
        """The other end of what sits in a line: it lies where this one lay, once turned round."""
        first, second = self.board.document.plant.items[ref.item].ports[:2]
        return PortRef(ref.item, second if ref.port == first else first)

    def _fresh(self) -> frozenset[str]:
        known = self.board.document.plant
        after = apply(known, self._changes)
        return frozenset(
            (after.items.keys() - known.items.keys()) | (after.pipes.keys() - known.pipes.keys())
        )

    def _finish(self) -> None:
        if not self._changes:
            refused = self._refused
            self.cancel(Reason.ESCAPE)
            if refused:
                self.board.refuse(f"Not connected. {refused}.")
            return
        words = f"Pull a pipe from {self._from.id}"
        mixed, plant = self._mixed(), self.board.document.plant
        if self.board.commit(words, self._changes):
            if len({plant.systems[name].use for name in mixed}) == 2:
                self.board.refuse(ONE_WATER.format(" and ".join(mixed)))
            # The pulled pipe comes last, after the parts of those it tees into.
            if self._turned:
                self.board.say(f"{self._turned} turned round, so that it works the way of the other end")
            pulled = [change.pipe.id for change in self._changes if isinstance(change, AddPipe)]
            self.board.document.select(pulled[-1:])
        self.board.finished()

    def _reachable(self) -> list[Hit]:
        plant = self.board.document.plant
        found = [
            port for name in plant.items if name != self._from.id for port in free_ports(self.board, name)
        ]
        wanted = self._wanted()

        def rank(port: Hit) -> tuple[bool, float, str, str]:
            against = bool(wanted) and flow_at(plant.items[port.id].kind, port.port) not in (wanted, "")
            return against, _apart(port.place, self._first), port.id, port.port

        return sorted(found, key=rank)

    def _wanted(self) -> Flow:
        """Which way water goes at the ports that fit the one it starts from."""
        item = self.board.document.plant.items.get(self._from.id)
        own = flow_at(item.kind, self._from.port) if item is not None else ""
        return "in" if own == "out" else "out" if own == "in" else ""


def free_ports(board: BoardPort, item: str) -> list[Hit]:
    """An item's ports that can still take a pipe; a joint's takes any number."""
    plant = board.document.plant
    thing = plant.items[item]
    return [Hit("port", item, port_place(thing, port), port) for port in free_names(plant, thing)]


def starts(board: BoardPort, item: str) -> list[Hit]:
    """An item's free ports in the order in which a key pulls from them: outlets first."""
    ports = {hit.port: hit for hit in free_ports(board, item)}
    return [ports[name] for name in by_flow(board.document.plant.items[item], list(ports), "out")]


def _apart(a: Place, b: Place) -> float:
    return abs(a[0] - b[0]) + abs(a[1] - b[1])
