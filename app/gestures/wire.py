"""A line in the hand, pulled from a control: dropped on something it offers to run, feed, set or sense it."""

from __future__ import annotations

from collections.abc import Sequence

from app.board.pointer import GRID, Hit, Place, Pointer
from app.board.port import BoardPort
from app.gestures.along import nearest
from app.gestures.base import Reason, under
from app.gestures.in_hand import Pulled
from core.plant.changes import ReplaceItem
from core.plant.wiring import CONTROLS, Offer, offers

DRAG = 6.0
"""Board units: less than this between press and release is a click, and the line stays in the hand."""


def is_control(board: BoardPort, name: str) -> bool:
    """Whether a line of control can be pulled out of an item."""
    item = board.document.plant.items.get(name)
    return item is not None and item.has(*CONTROLS)


class PullWire(Pulled):
    """From a control to what it shall run, feed, set or sense; what is so already is undone."""

    hint = "Pull to what it shall run or sense; Tab goes to the next, Return takes it"

    def __init__(self, board: BoardPort, control: str) -> None:
        super().__init__(board)
        self._control = control
        self._first: Place = board.document.plant.items[control].at
        self._end: Place = self._first
        self._lands: Hit | None = None
        self._offers: list[Offer] = []

    def start(self, pointer: Pointer | None) -> None:
        super().start(pointer)
        self.board.document.select([self._control])

    def release(self, pointer: Pointer) -> None:
        pressed, self._pressed = self._pressed, None
        if pressed is None:
            return
        self._aim_at(pointer.place)
        if self._lands is not None or _apart(pressed.place, pointer.place) > DRAG:
            self._finish()

    def _landing(self, place: Place) -> Hit | None:
        return under(self.board, place)

    def jump(self, way: Place, add: bool = False) -> bool:
        """The next such thing that way."""
        found = {number: hit.place for number, hit in enumerate(self._reachable())}
        number = nearest(found, self._end, (way[0] / GRID, way[1] / GRID))
        if number is not None:
            hit = self._reachable()[number]
            self._to(hit.place, hit)
            self.board.reveal(hit.place)
        return True

    def _reachable(self) -> list[Hit]:
        plant = self.board.document.plant
        hits = [Hit("item", name, item.at) for name, item in plant.items.items()]
        hits = [hit for hit in hits if self._meant(hit.id)]
        return sorted(hits, key=lambda hit: (_apart(hit.place, self._first), hit.id))

    def _meant(self, name: str, port: str = "") -> list[Offer]:
        """What a line to a thing may mean."""
        return offers(self.board.document.plant, self._control, name, port)

    def _to(self, place: Place, lands: Hit | None) -> None:
        hit = None if lands is not None and lands.id == self._control else lands
        self._offers = self._meant(hit.id, hit.port) if hit is not None else []
        self._lands = hit if self._offers else None
        self._end = self._lands.place if self._lands is not None else place
        self.board.show_target(self._lands)
        corner = (self._end[0], self._first[1])
        self.board.show_line([self._first, corner, self._end])
        if self._offers:
            self.board.say(" · ".join(offer.words for offer in self._offers))
        elif hit is not None:
            self.board.say(f"{self._control} means nothing to {hit.id}")
        else:
            self.board.say(self.hint)

    def _finish(self) -> None:
        found = list(self._offers)
        if not found:
            self.cancel(Reason.ESCAPE)
            return
        board, at = self.board, self._end
        self.end()
        if len(found) == 1:
            take(board, found[0])
        else:
            board.offer([offer.words for offer in found], lambda number: take(board, found[number]), at)


class PullBack(PullWire):
    """From what is run, fed or switched back to the control that shall do it."""

    hint = "Click the control that shall do it; Tab goes to the next, Return takes it"

    def __init__(self, board: BoardPort, item: str, key: str) -> None:
        super().__init__(board, item)
        self._key = key

    def _meant(self, name: str, port: str = "") -> list[Offer]:
        plant = self.board.document.plant
        before = plant.items[self._control].props.get(self._key)
        return [offer for offer in offers(plant, name, self._control, port) if self._sets(offer, before)]

    def _sets(self, offer: Offer, before: object) -> bool:
        changed = [change.item for change in offer.changes if isinstance(change, ReplaceItem)]
        return any(item.props.get(self._key) != before for item in changed if item.id == self._control)


def take(board: BoardPort, offer: Offer) -> None:
    """Do what was offered; what can only be said in words is said so."""
    if offer.changes:
        board.commit(offer.words, offer.changes)
    else:
        board.refuse(f"{offer.words}.")


def _apart(a: Sequence[float], b: Sequence[float]) -> float:
    return abs(a[0] - b[0]) + abs(a[1] - b[1])
