"""Why a size: the logbook's reason and the sentence of sizing, on a card beside the thing."""

from __future__ import annotations

from typing import TYPE_CHECKING, cast

from PySide6.QtCore import QObject

from app.background import Background, Job
from app.board.board_widget import BoardWidget
from app.document import Document
from app.window.live import LiveSolve

if TYPE_CHECKING:
    from core.plant.model import Plant
    from core.sizing.table import Bar
    from core.solve import Solution
    from core.working import Display

LANE = "why"
NOTHING = "Nothing is written down about {0}, and nothing of it is sized. Write down why: Ctrl+Alt+L."


class Why(QObject):
    """Answers the board's `why_asked`: at once from the logbook, then with what sizing says."""

    def __init__(
        self, document: Document, live: LiveSolve, background: Background, board: BoardWidget
    ) -> None:
        super().__init__(board)
        self._document, self._live, self._board = document, live, board
        self._background = background
        board.why_asked.connect(self.ask)
        background.done.connect(self._came)

    def ask(self, name: str) -> None:
        """Show why for an item or pipe; the sizing follows from the background."""
        plant, solutions = self._document.plant, self._live.solutions()
        self._background.ask(LANE, lambda job: _reasons(job, plant, name, solutions))

    def _came(self, lane: str, _ticket: int, result: object) -> None:
        if lane == LANE:
            name, remark, words, bars, line = cast("tuple[str, str, str, tuple[Bar, ...], str]", result)
            self._board.explain(name, remark, words, bars, line)


def _reasons(job: Job, plant: Plant, name: str, solutions: dict[str, Solution]) -> None:
    from core.logbook import standings
    from core.sizing.everything import size
    from core.sizing.table import bars

    written = []
    for standing in standings(plant, solutions):
        e = standing.entry
        if name in e.at and standing.state != "superseded":
            reason = f" “{e.because}”" if e.because else ""
            state = "" if standing.state == "holds" else f" {standing.words}"
            written.append(f"{e.date} {e.choice}.{reason}{state}")
    job.report((name, "why", "\n".join(written) or "Looking at the sizes…", (), ""))
    if job.stale():
        return
    sized = size(plant, [name], solutions, lambda: not job.stale())
    display: Display = "si" if plant.units == "si" else "us"
    line, shown = next((found for one in sized if (found := bars(one, display))[0]), ("", ()))
    words = "\n".join([*written, *(one.words for one in sized[:3])])
    job.report((name, "why", words or NOTHING.format(name), shown, line.rstrip(".")))
