"""The hand: begins gestures, passes events to the one in progress, and does the plain keys."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from PySide6.QtCore import Qt

from app.board.board_widget import BoardWidget
from app.board.pointer import Hit, Place, Pointer
from app.gestures.along import step
from app.gestures.base import ARROWS, RETURNS, Gesture, Reason
from app.gestures.bend import BendByKeys, MoveBend, MoveRun, corner_at
from app.gestures.insert import Insert
from app.gestures.lay import Lay
from app.gestures.preview import Preview
from app.gestures.pull_pipe import PullPipe, free_ports, starts
from app.gestures.select import Move, RubberBand
from app.gestures.selected import Selected
from app.gestures.wire import PullBack, PullWire, is_control
from app.gestures.writing import LeadText, PutText, rewrite
from core.diagram.geometry import segments
from core.diagram.symbols import outward
from core.plant import texts
from core.plant.changes import Change
from core.plant.excerpt import Excerpt
from core.plant.model import PortRef
from core.vocabulary import KINDS, Trait
from core.vocabulary.port_words import spoken_place

DRAG_PIXELS = 4
CORNER = 5.0
"""Pixels from a corner of a pipe's line within which the corner is taken, not the run."""
BESIDE = 70.0
"""Board units from a port to the middle of a symbol taken by key."""
IDLE = "Ready. I inserts, P pulls a pipe from what is selected, Tab goes through the items"


class DrawingHand:
    """One per board. Between gestures it selects, hovers and nudges."""

    def __init__(self, board: BoardWidget) -> None:
        self.board = board
        self.gesture: Gesture | None = None
        self.open_particulars: Callable[[], None] = lambda: None
        self.edit_in_place: Callable[[str, Place], bool] = lambda _name, _at: False
        """Edits what is written at a thing, where it is; False where nothing of it can be."""
        self.ask_kind: Callable[[], None] = lambda: None
        """Asks by name for what is to be put in."""
        self.take_other: Callable[[str], bool] = lambda _word: False
        """Takes what is on the shelf besides kinds into the hand."""
        self._pressed: Pointer | None = None
        self._handle = ""
        """The pipe by whose handle the mouse was pressed."""
        self._pressed_on: Hit | None = None
        self._pull_from = ""
        self.selected = Selected(board)
        self._told: Hit | None = None
        self._walked = ""
        board.view.hand = self
        board.gesture_ended.connect(self._ended)
        board.document.changed.connect(self._changed)
        board.document.selection_changed.connect(self._selected)

    # ---- starting and stopping ------------------------------------------------------

    def take(self, kind: str, pointer: Pointer | None = None) -> None:
        """A symbol from the shelf into the hand."""
        near = self._beside_selection()
        self._begin(Insert(self.board, kind, near), pointer)
        self.board.view.setFocus(Qt.FocusReason.OtherFocusReason)

    def lay(
        self,
        part: Excerpt,
        words: str,
        pointer: Pointer | None = None,
        at: Place | None = None,
        systems: Mapping[str, str] | None = None,
    ) -> None:
        """Several things into the hand: what was copied, or an assembly."""
        self._begin(Lay(self.board, part, words, at, systems), pointer)
        self.board.view.setFocus(Qt.FocusReason.OtherFocusReason)

    def preview(
        self,
        changes: Sequence[Change],
        fresh: frozenset[str],
        take: Callable[[], object],
        left: Callable[[], object],
    ) -> None:
        """Changes to be looked at; the keyboard stays where it is."""
        self._begin(Preview(self.board, changes, fresh, take, left), None)

    def write(self) -> None:
        """A text of the user's own, led to the selected thing."""
        name = next(iter(self.board.document.selection), "")
        box = self.board.scene.box_round(name)
        if len(self.board.document.selection) != 1 or box is None or texts.number_of(name) is not None:
            self._begin(PutText(self.board, None), None)
            return
        plant = self.board.document.plant
        to = Hit("item", name, plant.items[name].at) if name in plant.items else self._next_start(name)
        self._begin(PutText(self.board, to, (box.x1 + 30.0, box.y0 - 40.0)), None)

    def point(self, name: str, key: str) -> None:
        """Pick on the board what a property of an item names: what it senses, or what runs it."""
        if name in self.board.document.plant.items:
            back = not is_control(self.board, name) or key != "senses"
            gesture = PullBack(self.board, name, key) if back else PullWire(self.board, name)
            self._begin(gesture, None)
            self.board.view.setFocus(Qt.FocusReason.OtherFocusReason)

    def pull(self) -> None:
        """A pipe from the selected item's next free port, out of the selected pipe, or a text's leader."""
        name = next(iter(self.board.document.selection), "")
        if (number := texts.number_of(name)) is not None and self.gesture is None:
            self._begin(LeadText(self.board, number), None)
            return
        if self.gesture is None and is_control(self.board, name):
            self._begin(PullWire(self.board, name), None)
            return
        if isinstance(self.gesture, PullPipe):
            name = self._pull_from.partition(" ")[0]
        start = self._next_start(name)
        if start is None:
            self.board.say(f"{name or 'Nothing selected'}: no free port to pull from")
            return
        self._pull_from = f"{start.id} {start.port}"
        self._begin(PullPipe(self.board, start), None)
        where = spoken_place(start.id, start.port)
        self.board.say(f"Pipe from {where}: Return takes it to the nearest port that fits, Tab goes on")

    def bend(self) -> None:
        """The selected pipe's runs and corners, to be moved by keys."""
        name = next(iter(self.board.document.selection), "")
        if self.gesture is None and segments(self.board.scene.lines.get(name, ())):
            self._begin(BendByKeys(self.board, name), None)
        else:
            self.board.say("Select a pipe to bend it")

    def cancel(self, reason: Reason = Reason.REPLACED) -> None:
        if self.gesture is not None:
            gesture, self.gesture = self.gesture, None
            gesture.cancel(reason)

    def _begin(self, gesture: Gesture, pointer: Pointer | None) -> None:
        self.cancel()
        self.board.hover(None)
        self.gesture = gesture
        self.board.gesture_began.emit()
        gesture.start(pointer)

    def _ended(self) -> None:
        self.gesture = None
        self._pressed = None
        self._describe_selection()

    def _changed(self, _changes: object) -> None:
        # A gesture that commits is done with its work; any other change pulls the ground from under it.
        if self.gesture is not None and not self.board.committing:
            self.cancel(Reason.CHANGED)

    def _selected(self) -> None:
        self.selected.break_run()
        if self.gesture is None:
            self._describe_selection()

    def _describe_selection(self) -> None:
        chosen = self.board.document.selection
        plant = self.board.document.plant
        if not chosen:
            self.board.say(IDLE)
        elif len(chosen) > 1:
            self.board.say(
                f"{len(chosen)} selected. Arrow keys move them, with Shift+Alt align them; R turns, M mirrors"
            )
        elif (name := next(iter(chosen))) in plant.items:
            title = KINDS[plant.items[name].kind].title
            pulls = "a line to what it runs or senses" if is_control(self.board, name) else "a pipe"
            self.board.say(
                f"{name}, {title}, selected. Arrow keys move it, R turns, M mirrors, P pulls {pulls}"
            )
        elif texts.number_of(name) is not None:
            self.board.say(
                "A text selected. Arrow keys move it, Return writes it anew, P leads it to a thing"
            )
        else:
            self.board.say(
                f"{name} selected. Drag its line or B bends it, P pulls a branch out of it, Return edits it"
            )

    # ---- the mouse ------------------------------------------------------------------

    def press(self, pointer: Pointer) -> None:
        if self.gesture is not None:
            self.gesture.press(pointer)
            return
        hit = self.board.hit(pointer.place)
        if pointer.button == "right":
            if hit is not None and hit.id not in self.board.document.selection:
                self.board.document.select([hit.id])
            return
        self._handle = self.board.scene.handle_at(pointer.place)
        if self._handle:  # as if its middle had been taken hold of
            hit = self.board.scene.middle_of(self._handle)
        self._pressed, self._pressed_on = pointer, hit
        if hit is None:
            if not (pointer.shift or pointer.control):
                self.board.document.select(())
        elif hit.what == "port":
            self._begin(PullPipe(self.board, hit), pointer)
        elif not (pointer.shift or pointer.control) and hit.id not in self.board.document.selection:
            self.board.document.select([hit.id])

    def move(self, pointer: Pointer) -> None:
        if self.gesture is not None:
            self.gesture.move(pointer)
        elif self._pressed is not None:
            self._maybe_drag(pointer)
        else:
            if name := self.board.scene.handle_at(pointer.place):
                self.board.point_with(Qt.CursorShape.PointingHandCursor)
                self.board.say(f"{name}: click to put something in, drag to bend")
                return
            hit = self.board.hit(pointer.place)
            pulls = hit is not None and (hit.what == "port" or self._is_open_end(hit))
            self.board.point_with(Qt.CursorShape.CrossCursor if pulls else None)
            self.board.hover(hit)
            self._tell(hit)

    def release(self, pointer: Pointer) -> None:
        if self.gesture is not None:
            self.gesture.release(pointer)
        elif self._pressed is not None and self._pressed_on is not None:
            pressed, name = self._pressed, self._pressed_on.id
            if pressed.shift or pressed.control:
                self.board.document.select(self.board.document.selection ^ {name})
            elif len(self.board.document.selection) > 1:
                self.board.document.select([name])
            if self._handle:
                self.board.document.select([self._handle])
                self.ask_kind()
        self._pressed = None

    def double(self, pointer: Pointer) -> None:
        if self.gesture is not None:
            self.gesture.double(pointer)
        elif (hit := self.board.hit(pointer.place)) is not None:
            if hit.what not in ("item", "pipe") or not self.edit_in_place(hit.id, pointer.place):
                self._open()
        elif name := self.board.labelled(pointer.place):
            self.board.document.select([name])
            self.edit_in_place(name, pointer.place)

    def _open(self) -> None:
        """What is selected, to be edited: a text in its place, other things in the particulars."""
        chosen = self.board.document.selection
        number = texts.number_of(next(iter(chosen))) if len(chosen) == 1 else None
        if number is None:
            self.open_particulars()
        else:
            rewrite(self.board, number)

    def left(self) -> None:
        if self.gesture is None:
            self.board.hover(None)
            self._tell(None)

    def drag_in(self, kind: str, pointer: Pointer) -> bool:
        if kind in KINDS:
            self.take(kind, pointer)
            return True
        return self.take_other(kind)

    def drag_out(self) -> None:
        self.cancel(Reason.LEFT)

    def _maybe_drag(self, pointer: Pointer) -> None:
        pressed, hit = self._pressed, self._pressed_on
        if pressed is None:
            return
        away = max(abs(pointer.place[0] - pressed.place[0]), abs(pointer.place[1] - pressed.place[1]))
        if away * self.board.view.zoom < DRAG_PIXELS:
            return
        gesture: Gesture
        if hit is None:
            gesture = RubberBand(self.board, pressed)
        elif hit.what == "text" and pressed.control:
            gesture = LeadText(self.board, texts.number_of(hit.id) or 0)
        elif pressed.control and hit.what == "item" and is_control(self.board, hit.id):
            gesture = PullWire(self.board, hit.id)
        elif (pressed.control or self._is_open_end(hit)) and self._pullable(hit):
            gesture = PullPipe(self.board, self._as_start(hit))
        elif hit.what == "pipe" and segments(self.board.line(hit.id)):
            corner = corner_at(self.board.line(hit.id), pressed.place, CORNER / self.board.view.zoom)
            gesture = MoveBend(self.board, hit.id, corner) if corner else MoveRun(self.board, hit, pressed)
        elif hit.what in ("item", "text"):
            chosen = self.selected.movable()
            gesture = Move(self.board, chosen if hit.id in chosen else frozenset({hit.id}), pressed)
        else:
            return
        self._begin(gesture, pressed)
        gesture.move(pointer)

    def _is_open_end(self, hit: Hit) -> bool:
        """A joint with fewer than two pipes: what one wants of it is the next pipe."""
        plant = self.board.document.plant
        if hit.what != "item" or hit.id not in plant.items or not plant.items[hit.id].has(Trait.JOINS):
            return False
        return len(plant.pipes_at.get(PortRef(hit.id, "at"), ())) < 2

    def _tell(self, hit: Hit | None) -> None:
        """What the mouse can do with the thing under it."""
        if hit == self._told:
            return
        self._told = hit
        if hit is None:
            self._describe_selection()
        elif hit.what == "port":
            self.board.say(f"{spoken_place(hit.id, hit.port)}: pull a pipe from here")
        elif hit.what == "pipe":
            self.board.say(f"{hit.id}: drag its line or a corner aside; with Ctrl pull a branch out of it")
        elif hit.what == "text":
            self.board.say(
                "A text: drag to move it, double click to write it anew, with Ctrl pull its leader"
            )
        elif self._is_open_end(hit):
            self.board.say(f"{hit.id}, open end: pull on from here; arrow keys move it")
        elif is_control(self.board, hit.id):
            self.board.say(f"{hit.id}: drag to move it; with Ctrl pull a line to what it runs or senses")
        elif self.board.document.plant.items[hit.id].has(Trait.JOINS):
            self.board.say(f"{hit.id}: drag to move it; with Ctrl pull a pipe out of it")
        else:
            self._describe_selection()

    def _pullable(self, hit: Hit) -> bool:
        plant = self.board.document.plant
        return hit.what == "pipe" or (hit.id in plant.items and bool(free_ports(self.board, hit.id)))

    def _as_start(self, hit: Hit) -> Hit:
        return starts(self.board, hit.id)[0] if hit.what == "item" else hit

    # ---- keys -----------------------------------------------------------------------

    def key(self, key: Qt.Key, shift: bool, control: bool) -> bool:
        if control:
            return self._jump(key, shift)
        if self.gesture is not None:
            return self.gesture.key(key, shift)
        if key in ARROWS:
            self.selected.nudge(key, shift)
        elif key == Qt.Key.Key_Escape:
            self.board.document.select(())
        elif key in RETURNS and self.board.document.selection:
            self._open()
        else:
            return False
        return True

    def _jump(self, key: Qt.Key, add: bool) -> bool:
        """Ctrl with an arrow: along the drawing to the next pipe or item, or to the next place to land.

        With Shift too what was selected stays so.
        """
        if key not in ARROWS:
            return False
        way = ARROWS[key]
        if self.gesture is not None:
            self.gesture.jump(way)
            return True
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
        self.board.document.select([*(chosen if add else ()), found])
        box = self.board.scene.box_round(found)
        if box is not None:
            self.board.reveal(box.centre)
        return True

    def tab(self, forward: bool) -> bool:
        """Through the items in reading order; past the last (or first) one the keyboard leaves the board."""
        if self.gesture is not None:
            return self.gesture.tab(forward)
        names = self._reading_order()
        if not names:
            return False
        chosen = [name for name in names if name in self.board.document.selection]
        if not chosen:
            place = 0 if forward else len(names) - 1
        else:
            place = names.index(chosen[-1]) + (1 if forward else -1)
        if not 0 <= place < len(names):
            self.board.document.select(())
            return False
        self.board.document.select([names[place]])
        box = self.board.scene.box_round(names[place])
        if box is not None:
            self.board.reveal(box.centre)
        return True

    def turn(self) -> None:
        if self.gesture is not None:
            self.gesture.turn()
        else:
            self.selected.turn()

    def mirror(self) -> None:
        if self.gesture is not None:
            self.gesture.mirror()
        else:
            self.selected.mirror()

    def turn_round(self) -> None:
        if self.gesture is None:
            self.selected.turn_round()

    def unpin(self) -> None:
        self.selected.unpin()

    def delete(self) -> None:
        if self.gesture is not None:
            self.gesture.key(Qt.Key.Key_Delete, False)
        else:
            self.selected.delete()

    def _reading_order(self) -> list[str]:
        """Rows of 60 units from the top, each from the left; joints among them."""
        items = self.board.document.plant.items.values()
        return [item.id for item in sorted(items, key=lambda item: (item.at[1] // 60, item.at[0], item.id))]

    def _next_start(self, name: str) -> Hit | None:
        plant = self.board.document.plant
        if name in plant.pipes:
            return self.board.scene.middle_of(name)
        if name not in plant.items:
            return None
        ports = starts(self.board, name)
        if not ports:
            return None
        last = (
            [port.port for port in ports].index(self._pull_from.partition(" ")[2])
            if self._pulled(name, ports)
            else -1
        )
        return ports[(last + 1) % len(ports)]

    def _pulled(self, name: str, ports: list[Hit]) -> bool:
        """Whether P was pressed for this item just before: then the next port's turn has come."""
        item, _, port = self._pull_from.partition(" ")
        return isinstance(self.gesture, PullPipe) and item == name and any(hit.port == port for hit in ports)

    def _beside_selection(self) -> Place | None:
        """Where a symbol taken by key first stands: before the selected item's port, on the selected pipe."""
        chosen = self.board.document.selection
        if len(chosen) != 1:
            return None
        name = next(iter(chosen))
        start = self._next_start(name) if name in self.board.document.plant.pipes else None
        if start is not None:
            return start.place
        free = free_ports(self.board, name) if name in self.board.document.plant.items else []
        if free:  # in line with what leaves it, so that the pipe between will be straight
            port = next((one for one in free if "out" in one.port), free[0])
            dx, dy = outward(self.board.document.plant.items[name], port.port)
            return port.place[0] + (BESIDE * dx if dx or dy else BESIDE), port.place[1] + BESIDE * dy
        box = self.board.scene.box_round(name)
        return (box.x1 + 60.0, box.centre[1]) if box is not None else None
