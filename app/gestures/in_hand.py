"""What gestures share: a thing carried in the hand, a line pulled to one of several ends, a dragged line."""

from __future__ import annotations

from abc import abstractmethod

from PySide6.QtCore import Qt

from app.board.pointer import Hit, Place, Pointer
from app.board.port import BoardPort
from app.gestures.base import RETURNS, Gesture, Reason, stepped
from core.plant.changes import Change


class Carried(Gesture):
    """Something that follows the pointer or the arrow keys; a click or Return lays it down."""

    _at: Place
    _seen = False
    """Whether the pointer has led it: a release of the shelf's own click lays nothing down."""

    @abstractmethod
    def _follow(self, place: Place) -> None:
        """Show it at a place."""

    @abstractmethod
    def _place(self, keep: bool) -> None:
        """Lay it down; `keep`: another stays in the hand."""

    def press(self, pointer: Pointer) -> None:
        if pointer.button == "right":
            self.cancel(Reason.BUTTON)
        else:
            self.move(pointer)

    def release(self, pointer: Pointer) -> None:
        if pointer.button == "left" and self._seen:
            self._place(keep=pointer.shift)

    def key(self, key: Qt.Key, shift: bool) -> bool:
        if key == Qt.Key.Key_Escape:
            self.cancel(Reason.ESCAPE)
        elif key in RETURNS:
            self._place(keep=shift)
        else:
            place = stepped(self._at, key, shift)
            if place is None:
                return False
            self._follow(place)
            self.board.reveal(place)
        return True


class Pulled(Gesture):
    """A line pulled to one of several ends, which Tab goes through."""

    def __init__(self, board: BoardPort) -> None:
        super().__init__(board)
        self._targets: list[Hit] = []

    @abstractmethod
    def _reachable(self) -> list[Hit]:
        """Where it could end, nearest first."""

    @abstractmethod
    def _to(self, place: Place, lands: Hit | None) -> None:
        """Lead it to a place, and to what lies there."""

    def tab(self, forward: bool) -> bool:
        """The next place where it could end, nearest first."""
        if not self._targets:
            self._targets = self._reachable()
        if self._targets:
            step = self._targets.pop(0 if forward else -1)
            self._targets.insert(len(self._targets) if forward else 0, step)
            self._to(step.place, step)
            self.board.reveal(step.place)
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
