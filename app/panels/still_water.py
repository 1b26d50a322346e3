"""Where water stands: the map on the board, and the pipes in a table: volume, where to flush, turnover."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, cast

from PySide6.QtCore import Qt
from PySide6.QtGui import QHideEvent
from PySide6.QtWidgets import (
    QHBoxLayout,
    QLabel,
    QVBoxLayout,
    QWidget,
)

from app.background import Job
from app.panels.port import Pane, PanePort, Sight
from app.widgets.table import Table, TableRow

if TYPE_CHECKING:
    from core.plant.model import Plant
    from core.solve import Solution
    from core.stillwater.map import StillPipe
    from core.stillwater.year import YearOfPipe

LANE = "still water"
NAME = Qt.ItemDataRole.UserRole
COLUMNS = ["Pipe", "In this case", "Over the year", "Volume", "Flush at", "To flush", "Turnover", "Standing"]
WIDTHS = (64, 110, 200, 78, 70, 78, 90)


class StillWaterPane(Pane):
    """One row a pipe in the case in sight; the board labels those that stand while the page is in sight."""

    TITLE = "No flow"
    HIGH = 390

    def __init__(self, port: PanePort, parent: QWidget | None = None) -> None:
        super().__init__(port, parent)
        self._sight: Sight | None = None
        self._asked: tuple[object, ...] = ()
        self._rows: list[StillPipe] = []
        self._year: dict[str, YearOfPipe] = {}
        self._shown = ""
        self.list = Table("Pipes in which water stands", COLUMNS, WIDTHS, self)
        self.list.itemClicked.connect(lambda row, _c: self.port.frame([row.data(0, NAME)]))
        self.list.itemActivated.connect(lambda row, _c: self.port.go_to(row.data(0, NAME)))
        self.words = QLabel("", self)
        self.words.setWordWrap(True)
        self.caution = QLabel("", self)
        self.caution.setObjectName("soft")
        self.caution.setWordWrap(True)
        column_ = QVBoxLayout(self)
        column_.setContentsMargins(14, 4, 14, 8)
        head = QHBoxLayout()
        head.addWidget(self.words, 1)
        column_.addLayout(head)
        column_.addWidget(self.list, 1)
        column_.addWidget(self.caution)
        port.background.done.connect(self._came)

    def follow(self, sight: Sight) -> None:
        self._sight = sight
        names = [case.name for case in sight.plant.solve_cases]
        if not sight.plant.pipes:
            self.words.setText("Nothing is drawn yet.")
            self.list.clear()
            self.port.show_still({})
            return
        missing = [name for name in names if name not in sight.solutions]
        if missing:
            self.remarked.emit("waiting for the cases…")
            return
        asked = (sight.plant, *(sight.solutions[name] for name in names))
        if len(asked) != len(self._asked) or any(
            a is not b for a, b in zip(asked, self._asked, strict=False)
        ):
            self._asked = asked
            plant, solved = sight.plant, [sight.solutions[name] for name in names]
            self.port.background.ask(LANE, lambda job: _work_out(job, plant, solved))
        elif sight.case != self._shown:
            self._fill()

    def hideEvent(self, event: QHideEvent) -> None:
        super().hideEvent(event)
        self.port.show_still({})
        self._shown = ""

    def focus_first(self) -> None:
        self.list.setFocus(Qt.FocusReason.TabFocusReason)

    def _came(self, lane: str, _ticket: int, result: object) -> None:
        if lane == LANE:
            self._rows, self._year = cast("tuple[list[StillPipe], dict[str, YearOfPipe]]", result)
            if self.isVisible():
                self._fill()

    def _fill(self) -> None:
        """The pipes that stand in the case in sight, in the order of how still they are."""
        from core.stillwater.words import FLUSHING, ORDER, standing_words, turnover_words, year_words

        sight = self._sight
        if sight is None:
            return
        self._shown = sight.case
        here = [row for row in self._rows if row.case == sight.case]
        rows = sorted(
            (row for row in here if row.stands), key=lambda row: (not row.still, ORDER.index(row.stands))
        )
        self.list.setUpdatesEnabled(False)
        self.list.clear()
        for row in rows:
            self._add(row, standing_words(row), year_words(self._year.get(row.id)), turnover_words(row))
        self.list.setUpdatesEnabled(True)
        still = sum(row.still for row in here)
        self.words.setText(f"{sight.case}: no flow in {still} of {len(here)} pipes.")
        self.remarked.emit("")
        self.caution.setText(FLUSHING)
        self.port.show_still({row.id: standing_words(row) for row in here if row.still})

    def _add(self, row: StillPipe, standing: str, year: str, turnover: str) -> None:
        from core.stillwater.words import volume_words
        from core.units import show

        assert self._sight is not None
        display = self._sight.display
        warm = ""
        if row.range_c is not None:
            low, high = (show(value + 273.15, "temperature", display) for value in row.range_c)
            warm = low if low == high else f"{low} to {high}"
            warm += ", Legionella grows" if row.warm else ""
        cells = [
            row.id,
            standing,
            year,
            volume_words(row.volume, display),
            row.flush_at or "–",
            "–" if row.to_flush is None or not row.still else volume_words(row.to_flush, display),
            turnover,
            warm,
        ]
        line = TableRow(cells)
        line.setData(0, NAME, row.id)
        line.setToolTip(2, year)
        line.setToolTip(7, warm)
        self.list.addTopLevelItem(line)


def _work_out(job: Job, plant: Plant, solved: Sequence[Solution]) -> None:
    from core.stillwater.map import dead_water
    from core.stillwater.year import year_of

    rows = dead_water(plant, solved)
    if not job.stale():
        job.report((rows, {one.id: one for one in year_of(plant, rows)}))
