"""Changes that are only looked at: the board shows them until Return takes or Escape leaves them."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from PySide6.QtCore import Qt

from app.board.pointer import Pointer
from app.board.port import BoardPort
from app.gestures.base import RETURNS, Gesture, Reason
from core.plant.changes import Change


class Preview(Gesture):
    """Shows changes as proposed.

    Parameters
    ----------
    board : BoardPort
    changes : sequence of Change
    fresh : frozenset of str
        Ids drawn as proposed
    take, left : callable
        Does them; is told that they were left
    """

    hint = "A preview: Return puts it into the plant, Escape leaves it"

    def __init__(
        self,
        board: BoardPort,
        changes: Sequence[Change],
        fresh: frozenset[str],
        take: Callable[[], object],
        left: Callable[[], object],
    ) -> None:
        super().__init__(board)
        self._changes, self._fresh = list(changes), fresh
        self._take, self._left = take, left

    def start(self, pointer: Pointer | None) -> None:
        super().start(pointer)
        self.board.tentative(self._changes, self._fresh)

    def press(self, pointer: Pointer) -> None:
        if pointer.button == "right":
            self.cancel(Reason.BUTTON)

    def key(self, key: Qt.Key, shift: bool) -> bool:
        if key == Qt.Key.Key_Escape:
            self.cancel(Reason.ESCAPE)
        elif key in RETURNS:
            self._take()
        else:
            return False
        return True

    def cancel(self, reason: Reason) -> None:
        super().cancel(reason)
        self._left()
