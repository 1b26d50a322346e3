"""The call sheet under the board: every combination of calls, who runs what, outlets, energy of a year.

Solved in a process beside the window; rows in sight come first, older ones stand in soft ink until then.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from PySide6.QtCore import Qt, QTimer
from PySide6.QtWidgets import (
    QButtonGroup,
    QHBoxLayout,
    QLabel,
    QSizePolicy,
    QSplitter,
    QStackedWidget,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from app.panels import call_sheet_cells as cells
from app.panels.call_sheet_part import PartLoadPage
from app.panels.call_sheet_runs import RunsPage
from app.panels.call_sheet_table import Cell, FigureTable
from app.panels.port import Pane, PanePort, Sight
from app.worker_process import WorkerProcess
from core import units
from core.calls.choice import choice
from core.calls.combinations import calls_of
from core.calls.sheet import CallSheet, assembled
from core.calls.worker_process import Answer, Question

if TYPE_CHECKING:
    from core.calls.energy import Energy
    from core.calls.one_unit_out import OneUnitOut
    from core.calls.part_load import PartLoad
    from core.calls.rows import CallRow
    from core.plant.model import Case

MODULE = "core.calls"
PAGES = ("This row", "Who runs what", "Worst", "Outlets", "Year", "Part load")
NO_OUTLETS = "No outlet is drawn. An outlet with a rating feeds what names it under powered by."
FRAME = 15  # [ms] rows that come within it are shown together


class CallSheetPane(Pane):
    """Combinations at the left, pages about them at the right."""

    TITLE = "Call sheet"
    HIGH = 320

    def __init__(self, port: PanePort, parent: QWidget | None = None) -> None:
        super().__init__(port, parent)
        self._sight: Sight | None = None
        self._base = ""
        self._asked: tuple[int, str] | None = None
        self._ticket = 0
        self._names: list[str] = []
        self._calls: tuple[str, ...] = ()
        self._rows: dict[str, CallRow] = {}
        self._cells: dict[str, tuple[CallRow, Any, tuple[Cell, ...]]] = {}
        self._fresh: set[str] = set()
        self._energy: Energy | None = None
        self._fewer: tuple[OneUnitOut, ...] = ()
        self._part: PartLoad | None = None
        self.sheet: CallSheet | None = None
        self.process = WorkerProcess(MODULE, self)
        self.process.answered.connect(self._take)
        self.process.broken.connect(self._lament)
        port.background.stopping.connect(self.process.stop)
        self._due = QTimer(self)
        self._due.setSingleShot(True)
        self._due.setInterval(FRAME)
        self._due.timeout.connect(self._show)
        self._lay_out()

    def _lay_out(self) -> None:
        self.table = FigureTable("Combinations of calls", self)
        self.table.picked.connect(self._show_on_board)
        self.table.moved.connect(lambda _row: self._show_page())
        self.one = FigureTable("What one combination gives", self)
        self.runs = RunsPage(self.port, self)
        self.worst = FigureTable("The worst combinations", self)
        self.outlets = FigureTable("Outlets and their current", self)
        self.year = FigureTable("Energy of a year", self)
        self.part = PartLoadPage(self)
        self.part.chosen.connect(lambda _key: self._ask_again())
        self._caution = QLabel("", self)
        self._caution.setWordWrap(True)
        self._caution.setObjectName("soft")
        outlets = QWidget(self)
        under = QVBoxLayout(outlets)
        under.setContentsMargins(0, 0, 0, 0)
        under.addWidget(self.outlets, 1)
        under.addWidget(self._caution)
        self._pages = QStackedWidget(self)
        for page in (self.one, self.runs, self.worst, outlets, self.year, self.part):
            self._pages.addWidget(page)
        for table in (self.one, self.worst, self.outlets, self.year):
            table.picked.connect(self._follow_key)
        self._none = QLabel("", self)
        self._none.setObjectName("soft")
        self._tabs = QButtonGroup(self)
        tabs = QHBoxLayout()
        tabs.setSpacing(2)
        self._none.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        tabs.addWidget(self._none, 1)
        for number, words in enumerate(PAGES):
            button = QToolButton(self)
            button.setText(words)
            button.setCheckable(True)
            button.setAccessibleName(f"{words}, page of the call sheet")
            button.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
            self._tabs.addButton(button, number)
            button.setObjectName("close")
            button.setMinimumWidth(button.sizeHint().width())  # never cut in its middle
            tabs.addWidget(button)
        self._tabs.button(0).setChecked(True)
        self._tabs.idClicked.connect(self.open_page)
        self._pages.setMinimumWidth(200)
        self._pages.setContentsMargins(10, 0, 0, 0)
        self._split = QSplitter(Qt.Orientation.Horizontal, self)
        self._split.addWidget(self.table)
        self._split.addWidget(self._pages)
        self._split.setChildrenCollapsible(False)
        self._split.setStretchFactor(0, 58)
        self._split.setStretchFactor(1, 42)
        self._split.setSizes([580, 420])
        whole = QVBoxLayout(self)
        whole.setContentsMargins(14, 4, 8, 6)
        whole.setSpacing(2)
        whole.addLayout(tabs)
        whole.addWidget(self._split, 1)

    # ---- following ------------------------------------------------------------------

    def follow(self, sight: Sight) -> None:
        self._sight = sight
        cases = [case.name for case in sight.plant.solve_cases]
        if sight.case in cases:
            self._base = sight.case
        elif self._base not in cases:
            self._base = cases[0]
        if self._asked != (sight.revision, self._base):
            self._ask(sight)
        self._due.start()

    def _ask(self, sight: Sight) -> None:
        if self._asked is None or self._asked[1] != self._base:
            self._rows = {}
        self._calls = calls_of(sight.plant)
        self._names = [case.name for case in choice(sight.plant, self._case(sight)).cases]
        self._rows = {name: row for name, row in self._rows.items() if name in self._names}
        self._fresh = set()
        self._ticket += 1
        self.runs.show_plant(sight.plant)
        self.part.show_plant(sight.plant)
        self._asked = (sight.revision, self._base)
        if sight.plant.pipes and self._calls:
            seen = self.table.rows_in_sight()
            current = self.table.currentIndex().row()
            first = [self._names[n] for n in [current, *seen] if 0 <= n < len(self._names)]
            wants = ("energy", "fewer")
            part = self.part.circulator
            self.process.ask(Question(self._ticket, sight.plant, self._base, tuple(first), wants, part))

    def _ask_again(self) -> None:
        """Another circulator at part load: the rows stand, and come back at once."""
        if self._sight is not None:
            self._ask(self._sight)
            self._due.start()

    def _case(self, sight: Sight) -> Case:
        return next(case for case in sight.plant.solve_cases if case.name == self._base)

    def _take(self, answer: Answer) -> None:
        if answer.ticket != self._ticket or self._sight is None:
            return
        if answer.what == "row":
            self._rows[answer.load.name] = answer.load
            self._fresh.add(answer.load.name)
        elif answer.what == "done":
            rows = [self._rows[name] for name in self._names]
            plant = self._sight.plant
            self.sheet = assembled(plant, self._case(self._sight), self._calls, rows)
            self._rows = {row.name: row for row in self.sheet.rows}
        elif answer.what == "energy":
            self._energy = answer.load
        elif answer.what == "part":
            self._part = answer.load
        elif answer.what == "fewer":
            self._fewer = answer.load
        elif answer.what == "refused":
            self.port.warn(answer.load)
        if not self._due.isActive():
            self._due.start()

    def _lament(self, text: str) -> None:
        self._asked = None
        self.port.warn(text)

    @property
    def waiting(self) -> bool:
        """Whether some rows are not of the plant as it is now."""
        return len(self._fresh) < len(self._names)

    # ---- showing --------------------------------------------------------------------

    def _show(self) -> None:
        sight = self._sight
        if sight is None:
            return
        plant = sight.plant
        said = ""
        if not self._calls:
            said = "Nothing calls yet. A thermostat or switch named by something's run when is a call."
        elif not plant.pipes:
            said = "Nothing is piped yet."
        self.table.setVisible(not said)
        self._show_rows(sight)
        unit = units_word(sight.display)
        state = f"solved {len(self._fresh)} of {len(self._names)}" if self.waiting else f"{len(self._names)}"
        self._none.setText(said or f"{state} combinations, {unit}")
        self.remarked.emit(f"all else as in {self._base}")
        self._show_page()

    def _show_rows(self, sight: Sight) -> None:
        """Cells are made anew only where a row, what it is worst in, or the units changed."""
        sample = next(iter(self._rows.values()), None)
        heads = cells.heads_of(sight.plant, self._calls, list(sample.runs) if sample is not None else [])
        sheet = None if self.waiting else self.sheet
        out = []
        for name in self._names:
            row = self._rows.get(name)
            if row is None:
                out.append(cells.unknown(name, self._calls, len(heads)))
                continue
            worst = sheet.worst_of(name) if sheet is not None else ()
            stamp = (worst, name not in self._fresh, sight.display)
            known = self._cells.get(name)
            if known is None or known[0] is not row or known[1] != stamp or len(known[2]) != len(heads):
                known = (row, stamp, cells.combination(row, self._calls, *stamp))
                self._cells[name] = known
            out.append(known[2])
        self.table.show_rows(heads, out)

    def open_page(self, number: int) -> None:
        """Bring one of the pages at the right in sight."""
        self._tabs.button(number).setChecked(True)
        self._pages.setCurrentIndex(number)
        self._show_page()

    def _show_page(self) -> None:
        sight = self._sight
        if sight is None:
            return
        page = self._pages.currentIndex()
        row = self._rows.get(self.current_name())
        if page == 0:
            heads, rows = cells.one_row(sight.plant, row, sight.display) if row is not None else ((), [])
            self.one.show_rows(heads, rows)
        elif page == 2 and self.sheet is not None:
            self.worst.show_rows(*cells.worst(self.sheet, sight.display))
        elif page == 3 and self.sheet is not None:
            self.outlets.show_rows(*cells.outlets(self.sheet))
            self._caution.setText("\n".join(self.sheet.cautions) or NO_OUTLETS)
        elif page == 4:
            self.year.show_rows(*cells.year(self._energy, self._fewer))
        elif page == 5:
            self.part.show_part(sight.plant, self._part, sight.display, sight.palette)

    def current_name(self) -> str:
        """The combination the cursor stands in; the one with all calls before any was chosen."""
        row = self.table.currentIndex().row()
        if not self._names:
            return ""
        return self._names[row if 0 <= row < len(self._names) else -1]

    # ---- what clicks do -------------------------------------------------------------

    def _show_on_board(self, name: str) -> None:
        row = self._rows.get(name)
        sight = self._sight
        if sight is not None:
            cases = choice(sight.plant, self._case(sight)).cases
            self.port.show_case(row.case if row is not None else next(c for c in cases if c.name == name))

    def _follow_key(self, key: Any) -> None:
        what, load = key
        if what == "go":
            self.port.go_to(load)
        elif what == "working" and load is not None:
            self.port.open_pane("working", load)
        elif what == "row" and load in self._names:
            self.table.setCurrentIndex(self.table.table.index(self._names.index(load), 0))
            self._show_on_board(load)

    def focus_first(self) -> None:
        self.table.setFocus(Qt.FocusReason.TabFocusReason)


def units_word(display: str) -> str:
    """The unit heat is shown in."""
    return units.sign_of(units.unit_for("power", display))
