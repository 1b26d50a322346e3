"""What of the board is marked: selected, under the pointer, or where a drop would land."""

from __future__ import annotations

from PySide6.QtCore import QObject

from app.board.graphics import HANDLE, BoardGraphic, handle_spot
from app.board.hit_testing import NO_IDS, HitTestedScene
from app.board.pointer import Place


class MarkedScene(HitTestedScene):
    """A scene whose things carry marks; each mark stands at what it was last given to."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._selected: frozenset[str] = NO_IDS
        self._hovered = ""
        self._target = ""

    def graphic(self, name: str) -> BoardGraphic | None:
        return self.symbols.get(name) or self.pipes.get(name) or self.texts.get(name)

    def select(self, ids: frozenset[str]) -> None:
        for name in self._selected ^ ids:
            graphic = self.graphic(name)
            if graphic is not None:
                graphic.mark(selected=name in ids)
        self._selected = ids

    def handle_at(self, place: Place) -> str:
        """The pipe under the pointer or selected whose handle lies at a place; empty where none does."""
        reach = max(HANDLE + 1.0, 7.0 / self.look.zoom)
        names: tuple[str, ...] = (self._hovered, *(self._selected if len(self._selected) == 1 else ()))
        for name in names:
            spot = handle_spot(self._settled[name]) if name in self._settled else None
            if spot is not None and max(abs(spot[0] - place[0]), abs(spot[1] - place[1])) <= reach:
                return name
        return ""

    def hover(self, name: str) -> None:
        self._hovered = self._pass_mark("hovered", self._hovered, name)

    def aim(self, name: str) -> None:
        """Mark what a drop would land on."""
        self._target = self._pass_mark("target", self._target, name)

    def _pass_mark(self, mark: str, before: str, now: str) -> str:
        """Take a mark off one thing and put it on another."""
        for name, on in ((before, False), (now, True)) if now != before else ():
            graphic = self.graphic(name)
            if graphic is not None:
                graphic.mark(**{mark: on})
        return now
