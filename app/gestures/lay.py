"""Several things in the hand: what was copied, or an assembly of the shelf, laid down with fresh tags."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping

from app.board.pointer import Place, Pointer, snapped
from app.board.port import BoardPort
from app.gestures.in_hand import Carried
from app.gestures.touch import join_touching
from core.diagram import arrange
from core.diagram.guides import Guides
from core.plant import edits
from core.plant.changes import AddItem, Change, apply
from core.plant.excerpt import Excerpt, Pasted, paste
from core.plant.model import Plant
from core.plant.texts import id_of


class Lay(Carried):
    """Follows the pointer; a click or Return lays it down, with Shift the hand keeps another."""

    def __init__(
        self,
        board: BoardPort,
        part: Excerpt,
        words: str,
        at: Place | None = None,
        systems: Mapping[str, str] | None = None,
    ) -> None:
        super().__init__(board)
        self._part, self._words, self._systems = part, words, systems
        self.hint = f"{words}: a click or Return lays it down, arrow keys move it, R turns, M mirrors"
        self._at = snapped(at if at is not None else board.middle())
        self._guides = Guides(board.document.plant, ())

    def start(self, pointer: Pointer | None) -> None:
        super().start(pointer)
        self.board.document.select(())
        self._aim_at(self._in_line(pointer) if pointer is not None else self._at)

    def move(self, pointer: Pointer) -> None:
        self._seen = True
        place = self._in_line(pointer)
        if place != self._at:
            self._aim_at(place)

    def _in_line(self, pointer: Pointer) -> Place:
        """A place where its ports stand in line with others near by; with Alt the grid alone counts."""
        if pointer.alt:
            return snapped(pointer.place)
        x, y = self._part.middle
        by = self._guides.pulled(
            self._part.plant.items.values(), (pointer.place[0] - x, pointer.place[1] - y)
        )
        return x + by[0], y + by[1]

    def turn(self) -> None:
        self._put(arrange.turned)

    def mirror(self) -> None:
        self._put(arrange.mirrored)

    def _put(self, way: Callable[[Plant, Collection[str], Collection[int]], list[Change]]) -> None:
        plant = self._part.plant
        changes = way(plant, plant.items.keys(), range(len(plant.texts)))
        self._part = Excerpt(apply(plant, changes), self._part.outside, self._part.kinds)
        self._aim_at(self._at)

    def _aim_at(self, place: Place) -> None:
        self._at = place
        pasted = self._pasted(refer=False)
        self.board.tentative(pasted.changes, frozenset(pasted.names.values()))
        fresh = [change.item for change in pasted.changes if isinstance(change, AddItem)]
        self.board.show_guides(self._guides.lines(fresh))

    def _pasted(self, refer: bool = True) -> Pasted:
        middle = self._part.middle
        by = (self._at[0] - middle[0], self._at[1] - middle[1])
        return paste(self.board.document.plant, self._part, by, self._systems, refer)

    def _place(self, keep: bool) -> None:
        pasted = self._pasted()
        before = self.board.document.plant
        draft = edits.Draft(before)
        draft.do(*pasted.changes)
        said = [*pasted.forgotten, *join_touching(self.board, draft, pasted.names.values())]
        done = self.board.commit(self._words, draft.changes)
        if done and keep:
            self._guides = Guides(self.board.document.plant, ())
            self._aim_at(self._at)
            return
        if done:
            self.board.document.select(laid(before, self.board.document.plant))
        self.board.finished()
        if done and said:
            self.board.say(". ".join(said))


def laid(before: Plant, after: Plant) -> set[str]:
    """What is new in a plant."""
    texts = {id_of(number) for number in range(len(before.texts), len(after.texts))}
    return {*(after.items.keys() - before.items.keys()), *(after.pipes.keys() - before.pipes.keys()), *texts}
