"""Mouse and keys between gestures: one table of what may lie under the mouse, and two states of the hand.

The hand is always in one state, an object that mouse and keys are passed to: `Resting`; `Pressed`, from a
button going down to its being let go or drawn away; or the gesture that this begins (`app.gestures.base`).
`USES` says of each thing what is told of it, and what a drag and a drag with Ctrl begin.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from enum import Enum
from types import MappingProxyType
from typing import NamedTuple, Protocol

from PySide6.QtCore import Qt, SignalInstance

from app.board.board_widget import BoardWidget
from app.board.pointer import Hit, Place, Pointer
from app.gestures.along import step
from app.gestures.base import ARROWS, RETURNS, Gesture
from app.gestures.bend import MoveBend, MoveRun, corner_at
from app.gestures.pull_pipe import PullPipe, free_ports, starts
from app.gestures.select import Move, RubberBand
from app.gestures.selected import Selected
from app.gestures.wire import PullWire, is_control
from app.gestures.writing import LeadText, rewrite
from core.diagram.geometry import segments
from core.plant import texts
from core.plant.model import PortRef
from core.vocabulary import Trait
from core.vocabulary.port_words import spoken_place

DRAG_PIXELS = 4
CORNER = 5.0
"""Pixels from a corner of a pipe's line within which the corner is taken, not the run."""


class Thing(Enum):
    """What can lie under the mouse."""

    NOTHING = "nothing"
    PORT = "port"
    OPEN_END = "joint with fewer than two pipes: what one wants of it is the next pipe"
    JOINT = "joint"
    CONTROL = "control"
    ITEM = "item"
    TEXT = "text"
    PIPE = "pipe"


def thing_of(board: BoardWidget, hit: Hit | None) -> Thing:
    """Which row of `USES` a hit stands in."""
    plant = board.document.plant
    if hit is None:
        return Thing.NOTHING
    if hit.what != "item":
        return Thing(hit.what)
    if is_control(board, hit.id):
        return Thing.CONTROL
    if hit.id not in plant.items or not plant.items[hit.id].has(Trait.JOINS):
        return Thing.ITEM
    return Thing.OPEN_END if len(plant.pipes_at.get(PortRef(hit.id, "at"), ())) < 2 else Thing.JOINT


class Drag(NamedTuple):
    """A drag that begins: where the button went down, and on what."""

    board: BoardWidget
    begun: Pointer
    hit: Hit | None

    @property
    def id(self) -> str:
        return self.hit.id if self.hit is not None else ""

    def band(self) -> Gesture:
        return RubberBand(self.board, self.begun)

    def move(self) -> Gesture:
        chosen = Selected(self.board).movable()
        return Move(self.board, chosen if self.id in chosen else frozenset({self.id}), self.begun)

    def pull(self) -> Gesture | None:
        """A pipe; an item without a free port is moved."""
        if self.hit is None or self.hit.what != "item":
            return self.hit and PullPipe(self.board, self.hit)
        free = self.id in self.board.document.plant.items and free_ports(self.board, self.id)
        return PullPipe(self.board, starts(self.board, self.id)[0]) if free else self.move()

    def wire(self) -> Gesture:
        return PullWire(self.board, self.id)

    def lead(self) -> Gesture:
        return LeadText(self.board, texts.number_of(self.id) or 0)

    def bend(self) -> Gesture | None:
        line = self.board.line(self.id)
        if self.hit is None or not segments(line):
            return None
        corner = corner_at(line, self.begun.place, CORNER / self.board.view.zoom)
        return MoveBend(self.board, self.id, corner) if corner else MoveRun(self.board, self.hit, self.begun)


class Use(NamedTuple):
    """What the status line tells of a thing ("": what it says of the selection), and what its drags begin."""

    tells: str
    drag: Callable[[Drag], Gesture | None]
    with_ctrl: Callable[[Drag], Gesture | None]


USES: Mapping[Thing, Use] = MappingProxyType(
    {
        Thing.NOTHING: Use("", Drag.band, Drag.band),
        Thing.PORT: Use("{0}: pull a pipe from here", Drag.pull, Drag.pull),
        Thing.OPEN_END: Use("{0}, open end: pull on from here; arrow keys move it", Drag.pull, Drag.pull),
        Thing.JOINT: Use("{0}: drag to move it; with Ctrl pull a pipe out of it", Drag.move, Drag.pull),
        Thing.CONTROL: Use(
            "{0}: drag to move it; with Ctrl pull a line to what it runs or senses", Drag.move, Drag.wire
        ),
        Thing.ITEM: Use("", Drag.move, Drag.pull),
        Thing.TEXT: Use(
            "A text: drag to move it, double click to write it anew, with Ctrl pull its leader",
            Drag.move,
            Drag.lead,
        ),
        Thing.PIPE: Use(
            "{0}: drag its line or a corner aside; with Ctrl pull a branch out of it", Drag.bend, Drag.pull
        ),
    }
)
PULLED = (Thing.PORT, Thing.OPEN_END)
"""A plain drag pulls a pipe out of these: the cursor shows it."""


class HandPort(Protocol):
    """The hand as these states see it."""

    board: BoardWidget
    selected: Selected
    state: Gesture
    resting: Resting
    edit_in_place: Callable[[str, Place], bool]

    @property
    def particulars_asked(self) -> SignalInstance: ...
    @property
    def kind_asked(self) -> SignalInstance: ...
    @property
    def value_begun(self) -> SignalInstance: ...

    def begin(self, gesture: Gesture, pointer: Pointer | None) -> None: ...
    def describe_selection(self) -> None: ...


class Resting(Gesture):
    """No button is down: the mouse hovers, keys walk, move and edit what is selected."""

    board: BoardWidget

    def __init__(self, hand: HandPort) -> None:
        super().__init__(hand.board)
        self.hand = hand
        self.selected = hand.selected
        self._told: Hit | None = None
        self._walked = ""

    # ---- the mouse ------------------------------------------------------------------

    def press(self, pointer: Pointer) -> None:
        hit, chosen = self.board.hit(pointer.place), self.board.document.selection
        if pointer.button == "right":
            if hit is not None and hit.id not in chosen:
                self.board.document.select([hit.id])
            return
        handle = self.board.scene.handle_at(pointer.place)
        if handle:  # as if its middle had been taken hold of
            hit = self.board.scene.middle_of(handle)
        pressed = Pressed(self.hand, Drag(self.board, pointer, hit), handle)
        self.hand.state = pressed
        if hit is not None and hit.what == "port":
            self.hand.begin(PullPipe(self.board, hit), pointer)
        elif not (pointer.shift or pointer.control) and (hit is None or hit.id not in chosen):
            self.board.document.select([hit.id] if hit is not None else ())

    def move(self, pointer: Pointer) -> None:
        if name := self.board.scene.handle_at(pointer.place):
            self.board.point_with(Qt.CursorShape.PointingHandCursor)
            self.board.say(f"{name}: click to put something in, drag to bend")
            return
        hit = self.board.hit(pointer.place)
        pulls = thing_of(self.board, hit) in PULLED
        self.board.point_with(Qt.CursorShape.CrossCursor if pulls else None)
        self.board.hover(hit)
        self._tell(hit)

    def left(self) -> None:
        """The mouse left the board."""
        self.board.hover(None)
        self._tell(None)

    def _tell(self, hit: Hit | None) -> None:
        """What the mouse can do with the thing under it."""
        if hit == self._told:
            return
        self._told = hit
        tells = USES[thing_of(self.board, hit)].tells
        if hit is None or not tells:
            self.hand.describe_selection()
        else:
            self.board.say(tells.format(spoken_place(hit.id, hit.port) if hit.port else hit.id))

    def double(self, pointer: Pointer) -> None:
        if (hit := self.board.hit(pointer.place)) is not None:
            if hit.what not in ("item", "pipe") or not self.hand.edit_in_place(hit.id, pointer.place):
                self._open()
        elif name := self.board.labelled(pointer.place):
            self.board.document.select([name])
            self.hand.edit_in_place(name, pointer.place)

    def _open(self) -> None:
        """What is selected, to be edited: a text in its place, other things in the particulars."""
        chosen = self.board.document.selection
        number = texts.number_of(next(iter(chosen))) if len(chosen) == 1 else None
        if number is None:
            self.hand.particulars_asked.emit()
        else:
            rewrite(self.board, number)

    # ---- keys -----------------------------------------------------------------------

    def key(self, key: Qt.Key, shift: bool) -> bool:
        if key in ARROWS:
            self.selected.nudge(key, shift)
        elif key == Qt.Key.Key_Escape:
            self.board.document.select(())
        elif key in RETURNS and self.board.document.selection:
            self._open()
        elif Qt.Key.Key_0 <= key <= Qt.Key.Key_9 and len(self.board.document.selection) == 1:
            self.hand.value_begun.emit(chr(key))
        else:
            return False
        return True

    def jump(self, way: Place, add: bool = False) -> bool:
        """Along the drawing to the next pipe or item; with Shift too what was selected stays so."""
        plant = self.board.document.plant
        chosen = sorted(self.board.document.selection & {*plant.items, *plant.pipes})
        if not chosen:
            return self.tab(forward=True)
        here = self._walked if self._walked in chosen else chosen[0]
        found = step(plant, self.board.scene.lines, here, way)
        if found is None:
            self.board.say(f"Nothing lies that way from {here}")
            return True
        self._walked = found
        self._show([*(chosen if add else ()), found], found)
        return True

    def tab(self, forward: bool) -> bool:
        """Through the items in reading order; past the last (or first) one the keyboard leaves the board."""
        items = self.board.document.plant.items.values()
        # Rows of 60 units from the top, each from the left; joints among them.
        order = sorted(items, key=lambda item: (item.at[1] // 60, item.at[0], item.id))
        names = [item.id for item in order]
        if not names:
            return False
        chosen = [number for number, name in enumerate(names) if name in self.board.document.selection]
        place = chosen[-1] if chosen else -1 if forward else len(names)
        place += 1 if forward else -1
        if not 0 <= place < len(names):
            self.board.document.select(())
            return False
        self._show([names[place]], names[place])
        return True

    def _show(self, chosen: list[str], name: str) -> None:
        self.board.document.select(chosen)
        box = self.board.scene.box_round(name)
        if box is not None:
            self.board.reveal(box.centre)

    def turn(self) -> None:
        self.selected.turn()

    def mirror(self) -> None:
        self.selected.mirror()


class Pressed(Resting):
    """A button is down, on something or nothing, and has not been drawn far enough for a drag."""

    def __init__(self, hand: HandPort, drag: Drag, handle: str) -> None:
        super().__init__(hand)
        self.drag, self._handle = drag, handle

    def move(self, pointer: Pointer) -> None:
        (x, y), begun = pointer.place, self.drag.begun
        away = max(abs(x - begun.place[0]), abs(y - begun.place[1]))
        if away * self.board.view.zoom < DRAG_PIXELS:
            return
        use = USES[thing_of(self.board, self.drag.hit)]
        gesture = (use.with_ctrl if begun.control else use.drag)(self.drag)
        if gesture is not None:
            self.hand.begin(gesture, begun)
            gesture.move(pointer)

    def release(self, pointer: Pointer) -> None:
        self.hand.state = self.hand.resting
        if self.drag.hit is None:
            return
        document, begun = self.board.document, self.drag.begun
        if begun.shift or begun.control:
            document.select(document.selection ^ {self.drag.id})
        elif len(document.selection) > 1:
            document.select([self.drag.id])
        if self._handle:
            document.select([self._handle])
            self.hand.kind_asked.emit()
