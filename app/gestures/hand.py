"""The hand: begins gestures, and passes mouse and keys on to the state it is in (`app.gestures.resting`)."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from PySide6.QtCore import QObject, Qt, Signal

from app.board.board_widget import BoardWidget
from app.board.pointer import Hit, Place, Pointer
from app.gestures.base import ARROWS, Gesture, Reason
from app.gestures.bend import BendByKeys
from app.gestures.insert import Insert
from app.gestures.lay import Lay
from app.gestures.preview import Preview
from app.gestures.pull_pipe import PullPipe, free_ports, starts
from app.gestures.resting import Resting
from app.gestures.selected import Selected
from app.gestures.wire import PullBack, PullWire, is_control
from app.gestures.writing import LeadText, PutText
from core.diagram.geometry import segments
from core.diagram.symbols import outward
from core.plant import texts
from core.plant.changes import Change
from core.plant.excerpt import Excerpt
from core.vocabulary import KINDS
from core.vocabulary.port_words import spoken_place

BESIDE = 70.0
"""Board units from a port to the middle of a symbol taken by key."""
IDLE = "Ready. I inserts, P pulls a pipe from what is selected, Tab goes through the items"


class DrawingHand(QObject):
    """One per board: in one state at a time, between gestures `Resting` or `Pressed`.

    Parameters
    ----------
    board : BoardWidget
    edit_in_place : callable
        Edits what is written at a thing, where it is; False where nothing of it can be
    take_other : callable
        Takes what is on the shelf besides kinds into the hand; whether it was that
    """

    particulars_asked = Signal()
    kind_asked = Signal()
    """By its name a kind is chosen that is to be put in."""
    value_begun = Signal(str)
    """A digit: the value of what is selected is being typed."""

    def __init__(
        self,
        board: BoardWidget,
        edit_in_place: Callable[[str, Place], bool],
        take_other: Callable[[str], bool],
    ) -> None:
        super().__init__(board)
        self.board, self.edit_in_place, self._take_other = board, edit_in_place, take_other
        self.selected = Selected(board)
        self.resting = Resting(self)
        self.state: Gesture = self.resting
        self._pull_from = ""
        board.view.hand = self
        board.gesture_ended.connect(self._ended)
        board.document.changed.connect(self._changed)
        board.document.selection_changed.connect(self._selected)

    @property
    def gesture(self) -> Gesture | None:
        """The gesture in progress."""
        return None if isinstance(self.state, Resting) else self.state

    # ---- starting and stopping ------------------------------------------------------

    def take(self, kind: str, pointer: Pointer | None = None) -> None:
        """A symbol from the shelf into the hand."""
        near = self._beside_selection()
        self.begin(Insert(self.board, kind, near), pointer)
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
        self.begin(Lay(self.board, part, words, at, systems), pointer)
        self.board.view.setFocus(Qt.FocusReason.OtherFocusReason)

    def preview(
        self,
        changes: Sequence[Change],
        fresh: frozenset[str],
        take: Callable[[], object],
        left: Callable[[], object],
    ) -> None:
        """Changes to be looked at; the keyboard stays where it is."""
        self.begin(Preview(self.board, changes, fresh, take, left), None)

    def write(self) -> None:
        """A text of the user's own, led to the selected thing."""
        name = next(iter(self.board.document.selection), "")
        box = self.board.scene.box_round(name)
        if len(self.board.document.selection) != 1 or box is None or texts.number_of(name) is not None:
            self.begin(PutText(self.board, None), None)
            return
        plant = self.board.document.plant
        to = Hit("item", name, plant.items[name].at) if name in plant.items else self._next_start(name)
        self.begin(PutText(self.board, to, (box.x1 + 30.0, box.y0 - 40.0)), None)

    def point(self, name: str, key: str) -> None:
        """Pick on the board what a property of an item names: what it senses, or what runs it."""
        if name in self.board.document.plant.items:
            back = not is_control(self.board, name) or key != "senses"
            gesture = PullBack(self.board, name, key) if back else PullWire(self.board, name)
            self.begin(gesture, None)
            self.board.view.setFocus(Qt.FocusReason.OtherFocusReason)

    def pull(self) -> None:
        """A pipe from the selected item's next free port, out of the selected pipe, or a text's leader."""
        name = next(iter(self.board.document.selection), "")
        if (number := texts.number_of(name)) is not None and self.gesture is None:
            self.begin(LeadText(self.board, number), None)
            return
        if self.gesture is None and is_control(self.board, name):
            self.begin(PullWire(self.board, name), None)
            return
        if isinstance(self.gesture, PullPipe):
            name = self._pull_from.partition(" ")[0]
        start = self._next_start(name)
        if start is None:
            self.board.say(f"{name or 'Nothing selected'}: no free port to pull from")
            return
        self._pull_from = f"{start.id} {start.port}"
        self.begin(PullPipe(self.board, start), None)
        where = spoken_place(start.id, start.port)
        self.board.say(f"Pipe from {where}: Return takes it to the nearest port that fits, Tab goes on")

    def bend(self) -> None:
        """The selected pipe's runs and corners, to be moved by keys."""
        name = next(iter(self.board.document.selection), "")
        if self.gesture is None and segments(self.board.scene.lines.get(name, ())):
            self.begin(BendByKeys(self.board, name), None)
        else:
            self.board.say("Select a pipe to bend it")

    def cancel(self, reason: Reason = Reason.REPLACED) -> None:
        gesture, self.state = self.gesture, self.resting
        if gesture is not None:
            gesture.cancel(reason)

    def begin(self, gesture: Gesture, pointer: Pointer | None) -> None:
        """Take up a gesture; `pointer` is where the mouse began it."""
        self.cancel()
        self.board.hover(None)
        self.state = gesture
        self.board.gesture_began.emit()
        gesture.start(pointer)

    def _ended(self) -> None:
        self.state = self.resting
        self.describe_selection()

    def _changed(self, _changes: object) -> None:
        # A gesture that commits is done with its work; any other change pulls the ground from under it.
        if self.gesture is not None and not self.board.committing:
            self.cancel(Reason.CHANGED)

    def _selected(self) -> None:
        self.selected.break_run()
        if self.gesture is None:
            self.describe_selection()

    def describe_selection(self) -> None:
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

    # ---- what the view tells --------------------------------------------------------

    def press(self, pointer: Pointer) -> None:
        self.state.press(pointer)

    def move(self, pointer: Pointer) -> None:
        self.state.move(pointer)

    def release(self, pointer: Pointer) -> None:
        self.state.release(pointer)

    def double(self, pointer: Pointer) -> None:
        self.state.double(pointer)

    def left(self) -> None:
        if self.gesture is None:
            self.resting.left()

    def drag_in(self, kind: str, pointer: Pointer) -> bool:
        if kind in KINDS:
            self.take(kind, pointer)
            return True
        return self._take_other(kind)

    def drag_out(self) -> None:
        self.cancel(Reason.LEFT)

    def key(self, key: Qt.Key, shift: bool, control: bool) -> bool:
        if control:
            return key in ARROWS and self.state.jump(ARROWS[key], shift)
        return self.state.key(key, shift)

    def tab(self, forward: bool) -> bool:
        return self.state.tab(forward)

    # ---- what commands ask ----------------------------------------------------------

    def turn(self) -> None:
        self.state.turn()

    def mirror(self) -> None:
        self.state.mirror()

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

    # ---- where keys begin -----------------------------------------------------------

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
