"""What gestures share: a thing carried in the hand, a line pulled to one of several ends, a dragged line."""

from __future__ import annotations

from abc import abstractmethod

from PySide6.QtCore import Qt

from app.board.pointer import Hit, Place, Pointer
from app.board.port import BoardPort
from app.gestures.base import RETURNS, Gesture, Reason, stepped
from core.plant.changes import Change


class Aimed(Gesture):
    """Led to a place by the pointer or by arrow keys; Return does there what a click would."""

    @property
    @abstractmethod
    def _aim(self) -> Place:
        """Where it is now."""

    @abstractmethod
    def _aim_at(self, place: Place) -> None:
        """Lead it to a place."""

    @abstractmethod
    def _do(self, shift: bool) -> None:
        """What Return does, with Shift held or not."""

    def press(self, pointer: Pointer) -> None:
        if pointer.button == "right":
            self.cancel(Reason.BUTTON)
        else:
            self._begin_press(pointer)

    def _begin_press(self, pointer: Pointer) -> None:
        """The left button went down."""
        self._aim_at(pointer.place)

    def key(self, key: Qt.Key, shift: bool) -> bool:
        if key == Qt.Key.Key_Escape:
            self.cancel(Reason.ESCAPE)
        elif key in RETURNS:
            self._do(shift)
        else:
            place = stepped(self._aim, key, shift)
            if place is None:
                return False
            self._step_to(place)
            self.board.reveal(place)
        return True

    def _step_to(self, place: Place) -> None:
        """An arrow key leads it to a place: exactly there."""
        self._aim_at(place)


class Carried(Aimed):
    """Something that follows the pointer or the arrow keys; a click or Return lays it down."""

    _at: Place
    _seen = False
    """Whether the pointer has led it: a release of the shelf's own click lays nothing down."""

    @abstractmethod
    def _place(self, keep: bool) -> None:
        """Lay it down; `keep`: another stays in the hand."""

    @property
    def _aim(self) -> Place:
        return self._at

    def _do(self, shift: bool) -> None:
        self._place(keep=shift)

    def _begin_press(self, pointer: Pointer) -> None:
        self.move(pointer)

    def release(self, pointer: Pointer) -> None:
        if pointer.button == "left" and self._seen:
            self._place(keep=pointer.shift)


class Pulled(Aimed):
    """A line pulled to one of several ends, which Tab goes through."""

    _end: Place

    def __init__(self, board: BoardPort) -> None:
        super().__init__(board)
        self._targets: list[Hit] = []
        self._pressed: Pointer | None = None

    @abstractmethod
    def _reachable(self) -> list[Hit]:
        """Where it could end, nearest first."""

    @abstractmethod
    def _to(self, place: Place, lands: Hit | None) -> None:
        """Lead it to a place, and to what lies there."""

    @abstractmethod
    def _landing(self, place: Place) -> Hit | None:
        """What it would end at there."""

    @abstractmethod
    def _finish(self) -> None:
        """Let go of it where it is."""

    @property
    def _aim(self) -> Place:
        return self._end

    def _aim_at(self, place: Place) -> None:
        self._to(place, self._landing(place))

    def _do(self, shift: bool) -> None:
        self._finish()

    def start(self, pointer: Pointer | None) -> None:
        super().start(pointer)
        self._pressed = pointer
        self.board.point_with(Qt.CursorShape.CrossCursor)

    def move(self, pointer: Pointer) -> None:
        self._aim_at(pointer.place)

    def _begin_press(self, pointer: Pointer) -> None:
        self._pressed = pointer
        self._aim_at(pointer.place)

    def tab(self, forward: bool) -> bool:
        """The next place where it could end, nearest first."""
        if not self._targets:
            self._targets = self._reachable()
        if self._targets:
            step = self._targets.pop(0 if forward else -1)
            self._targets.insert(len(self._targets) if forward else 0, step)
            self._to(step.place, step)
            self.board.reveal(step.place)
        else:
            self.board.say("Nothing free to go to. Arrow keys lead on, with Ctrl to the next pipe that way")
        return True


class Bending(Gesture):
    """A part of a pipe's line that is dragged and pinned where it is let go."""

    _pipe: str

    @property
    @abstractmethod
    def _unmoved(self) -> bool:
        """Whether it lies where it lay."""

    @abstractmethod
    def _changes(self) -> list[Change]:
        """The pipe with its bend pinned."""

    def press(self, pointer: Pointer) -> None:
        if pointer.button == "right":
            self.cancel(Reason.BUTTON)

    def release(self, pointer: Pointer) -> None:
        if self._unmoved:
            self.end()
            return
        self.board.commit(f"Bend {self._pipe}", self._changes())
        self.board.finished()

    def key(self, key: Qt.Key, shift: bool) -> bool:
        if key == Qt.Key.Key_Escape:
            self.cancel(Reason.ESCAPE)
            return True
        return False
