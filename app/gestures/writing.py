"""Texts of the user's own: put down with or without a leader, led to another thing, written anew."""

from __future__ import annotations

from PySide6.QtCore import Qt

from app.board.pointer import Hit, Place, Pointer, snapped
from app.board.port import BoardPort
from app.gestures.in_hand import Aimed
from core.plant import texts

DRAG = 8.0
"""Board units: less than this between press and release is a click."""


class PutText(Aimed):
    """A text at the place that is clicked; pulled out of a thing it has a leader to it."""

    def __init__(self, board: BoardPort, to: Hit | None, at: Place | None = None) -> None:
        super().__init__(board)
        self._to = to
        self._at = snapped(at if at is not None else board.middle())
        self._pressed: Place | None = None
        led = f" with a leader to {to.id}" if to is not None else ""
        self.hint = f"A text{led}: click where it shall stand; out of a thing pull it to give it a leader"

    def start(self, pointer: Pointer | None) -> None:
        super().start(pointer)
        self.board.point_with(Qt.CursorShape.IBeamCursor)
        self._show()

    @property
    def _aim(self) -> Place:
        return self._at

    def _aim_at(self, place: Place) -> None:
        self._at = snapped(place)
        self._show()

    def _do(self, shift: bool) -> None:
        self._ask()

    def _begin_press(self, pointer: Pointer) -> None:
        hit = self.board.hit(pointer.place)
        if self._to is None and hit is not None and hit.what != "text":
            self._to = hit
        self._pressed = pointer.place
        self._aim_at(pointer.place)

    def move(self, pointer: Pointer) -> None:
        self._aim_at(pointer.place)

    def release(self, pointer: Pointer) -> None:
        if self._pressed is None:
            return
        self._at = snapped(pointer.place)
        away = max(abs(a - b) for a, b in zip(pointer.place, self._pressed, strict=True))
        if self._to is not None and away < DRAG and self.board.hit(pointer.place) is not None:
            self._pressed = None  # a click on the thing itself: the next one says where the text stands
            return
        self._ask()

    def _show(self) -> None:
        x, y = self._at
        start = self._to.place if self._to is not None else (x, y)
        self.board.show_line([start, (x, y), (x + 60.0, y)])

    def _ask(self) -> None:
        board, at, to = self.board, self._at, self._to
        self.end()

        def take(words: str) -> None:
            if words:
                lead = to.id if to is not None else None
                if board.commit("Write a text", texts.add(board.document.plant, at, words, lead)):
                    number = len(board.document.plant.texts) - 1
                    board.document.select([texts.id_of(number)])

        board.ask("A text on the board. Shift+Return begins another line.", "", take, at)


class LeadText(Aimed):
    """The end of a text's leader in the hand: let go on a thing or a place; on the text itself it goes."""

    hint = "The text's leader: let go on what it tells of, Tab to the next item; on the text itself it goes"

    def __init__(self, board: BoardPort, number: int) -> None:
        super().__init__(board)
        self._number = number
        self._from = texts.place_of(board.document.plant, number)
        self._end, self._hit = self._from, board.hit(self._from)
        self._order: list[str] = []

    @property
    def _aim(self) -> Place:
        return self._end

    def _do(self, shift: bool) -> None:
        self._finish()

    def move(self, pointer: Pointer) -> None:
        self._aim_at(pointer.place)

    def release(self, pointer: Pointer) -> None:
        self._aim_at(pointer.place)
        self._finish()

    def tab(self, forward: bool) -> bool:
        """The next item, nearest first."""
        items = self.board.document.plant.items
        if not self._order:
            x, y = self._from
            self._order = sorted(items, key=lambda n: (abs(items[n].at[0] - x) + abs(items[n].at[1] - y), n))
        if self._order:
            name = self._order.pop(0 if forward else -1)
            self._order.insert(len(self._order) if forward else 0, name)
            self._end, self._hit = items[name].at, Hit("item", name, items[name].at)
            self._show()
            self.board.reveal(self._end)
        return True

    def _aim_at(self, place: Place) -> None:
        self._hit = self.board.hit(place)
        self._end = place
        self._show()

    def _show(self) -> None:
        self.board.show_line([self._from, self._end])
        self.board.show_target(self._hit)
        if self._hit is not None:
            self.board.say(f"Leader to {self._hit.id}: let go or Return, Tab to the next item")

    def _finish(self) -> None:
        own = texts.id_of(self._number)
        lead: texts.Lead = snapped(self._end)
        if self._hit is not None:
            lead = None if self._hit.what == "text" else self._hit.id
        plant = self.board.document.plant
        self.end()
        if self._number < len(plant.texts):
            self.board.commit("Lead a text", texts.lead(plant, self._number, lead))
            self.board.document.select([own])


def rewrite(board: BoardPort, number: int) -> None:
    """Ask for other words of a text, at its place."""
    plant = board.document.plant

    def take(words: str) -> None:
        now = board.document.plant
        if number < len(now.texts) and words != now.texts[number]["text"]:
            board.commit("Write a text anew", texts.write(now, number, words))

    title = "The text. Shift+Return begins another line; empty it to take it away."
    board.ask(title, str(plant.texts[number]["text"]), take, texts.place_of(plant, number))
