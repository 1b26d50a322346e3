"""What every gesture on the board is: an object with a start, an end and a cancel that says why.

A gesture knows the board only as a `BoardPort` and changes the plant only through it.
"""

from __future__ import annotations

from enum import Enum

from PySide6.QtCore import Qt

from app.board.pointer import GRID, Hit, Place, Pointer
from app.board.port import BoardPort
from core.plant import texts

ARROWS = {
    Qt.Key.Key_Left: (-GRID, 0.0),
    Qt.Key.Key_Right: (GRID, 0.0),
    Qt.Key.Key_Up: (0.0, -GRID),
    Qt.Key.Key_Down: (0.0, GRID),
}
RETURNS = (Qt.Key.Key_Return, Qt.Key.Key_Enter)
FAR = 5
"""Grid steps of an arrow key with Shift."""


class Reason(Enum):
    """Why a gesture ended without doing its work."""

    ESCAPE = "the user pressed Escape"
    BUTTON = "another mouse button was pressed"
    CHANGED = "the plant changed under it, by undo or by opening another file"
    REPLACED = "another gesture was started"
    LEFT = "the drag left the board"


class Gesture:
    """Base: does nothing. Subclasses show their preview in `move` and do their work in `end`."""

    hint = ""
    """What the status line says meanwhile."""

    def __init__(self, board: BoardPort) -> None:
        self.board = board

    def start(self, pointer: Pointer | None) -> None:
        """Begin; `pointer` is None when the keyboard began it."""
        self.board.say(self.hint)

    def press(self, pointer: Pointer) -> None: ...

    def move(self, pointer: Pointer) -> None: ...

    def release(self, pointer: Pointer) -> None: ...

    def double(self, pointer: Pointer) -> None: ...

    def key(self, key: Qt.Key, shift: bool) -> bool:
        """Whether the key meant something here."""
        return False

    def jump(self, way: Place, add: bool = False) -> bool:
        """Ctrl with an arrow key, `add` with Shift too: on to the next thing that way; whether used."""
        return True

    def tab(self, forward: bool) -> bool:
        """Whether Tab meant something here."""
        return True

    def turn(self) -> None: ...

    def mirror(self) -> None: ...

    def end(self) -> None:
        """Leave with the work done."""
        self.board.clear_shown()
        self.board.finished()

    def cancel(self, reason: Reason) -> None:
        """Leave as if it had never been started."""
        del reason
        self.board.clear_shown()
        self.board.finished()


def under(board: BoardPort, place: Place, but: frozenset[str] = frozenset()) -> Hit | None:
    """What of the plant lies at a place, those named left out; the user's texts do not hide it."""
    written = (texts.id_of(number) for number in range(len(board.document.plant.texts)))
    return board.hit(place, but.union(written))


def stepped(place: Place, key: Qt.Key, shift: bool) -> Place | None:
    """The place an arrow key leads to, None for any other key."""
    if key not in ARROWS:
        return None
    dx, dy = ARROWS[key]
    times = FAR if shift else 1
    return place[0] + dx * times, place[1] + dy * times
