"""What is told of a run beside its lines: moments, answers, which lines, what was taken; of which version."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import Qt
from PySide6.QtGui import QFont, QFontMetrics, QResizeEvent
from PySide6.QtWidgets import (
    QButtonGroup,
    QHBoxLayout,
    QPlainTextEdit,
    QSizePolicy,
    QStackedWidget,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from app.panels.call_sheet_table import FigureTable
from app.panels.time_parts import LinePicker, answer_rows, moment_rows
from app.widgets.one_line import OneLine
from app.widgets.picks import Choice

if TYPE_CHECKING:
    from core.plant.model import Plant

PAGES = ("Moments", "Answers", "Lines", "Taken", "Set up")
HURTS = (
    "Hot water scalds, and pressure, gas and electricity can kill. These are sums, not an approval: local "
    "code and licensed trades decide."
)


class ToldPages(QWidget):
    """Pages under tabs, the energy above them, what was taken below; the last is the form of what is run."""

    def __init__(self, form: QWidget, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.moments = FigureTable("Moments of the run", self)
        self.answers = FigureTable("Answers of the run", self)
        self.answers.horizontalHeader().hide()  # each of its tables has headings of its own
        self.picker = LinePicker(self)
        self.taken = QPlainTextEdit(self)
        self.taken.setReadOnly(True)
        self.taken.setAccessibleName("What was taken for the run")
        self.taken.setTabChangesFocus(True)
        self.pages = QStackedWidget(self)
        for page in (self.moments, self.answers, self.picker, self.taken, form):
            self.pages.addWidget(page)
        self.energy, self.assumed = OneLine(self), OneLine(self, soft=True)
        self.tabs = QButtonGroup(self)
        self.chooser = Choice(list(PAGES), list(PAGES), self)  # stands for the tabs where they have no room
        self.chooser.setAccessibleName("Page of the run")
        self.chooser.committed.connect(lambda: self.turn(self.chooser.currentIndex()))
        column = QVBoxLayout(self)
        column.setContentsMargins(10, 0, 0, 0)
        column.setSpacing(2)
        column.addLayout(self._lay_tabs())
        column.addWidget(self.energy)
        column.addWidget(self.pages, 1)
        column.addWidget(self.assumed)
        self.setMinimumWidth(200)

    def _lay_tabs(self) -> QHBoxLayout:
        tabs = QHBoxLayout()
        tabs.setSpacing(2)
        for number, words in enumerate(PAGES):
            button = QToolButton(self)
            button.setText(words)
            button.setCheckable(True)
            button.setChecked(number == 0)
            button.setAccessibleName(f"{words}, page of the run")
            button.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
            button.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
            bold = QFont(button.font())
            bold.setBold(True)  # as the tab in sight is
            button.setMinimumWidth(QFontMetrics(bold).horizontalAdvance(f"{words}    "))
            self.tabs.addButton(button, number)
            tabs.addWidget(button)
        tabs.addWidget(self.chooser)
        tabs.addStretch(1)
        self.tabs.idClicked.connect(self.turn)
        return tabs

    def turn(self, number: int) -> None:
        """Show a page."""
        self.tabs.button(number).setChecked(True)
        self.chooser.setCurrentIndex(number)
        self.pages.setCurrentIndex(number)
        self._say()

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        wanted = sum(button.minimumWidth() + 8 for button in self.tabs.buttons())
        narrow = wanted > self.width() - 10
        for button in self.tabs.buttons():
            button.setVisible(not narrow)
        self.chooser.setVisible(narrow)

    def _say(self) -> None:
        """What was used and taken stands beside the answers, not beside the form of the next run."""
        for words in (self.energy, self.assumed):
            words.setVisible(bool(words.whole) and self.pages.currentIndex() < len(PAGES) - 1)

    def clear(self) -> None:
        """Nothing to tell."""
        for table in (self.moments, self.answers):
            table.show_rows((), [])
        for words in (self.energy, self.assumed):
            words.put("")
        self.taken.setPlainText("")
        self._count(0)
        self._say()

    def _count(self, cautions: int) -> None:
        words = f"{PAGES[3]} {cautions}" if cautions else PAGES[3]
        self.tabs.button(3).setText(words)
        self.chooser.setItemText(3, words)

    def show_run(self, data: dict[str, Any], system: str, starts: float, thinned: int) -> None:
        """A summary; time 0 lies `starts` [s] after Monday 00:00, one moment of `thinned` was kept."""
        from core.simulation.answers import energy_words

        self.energy.put(f"{data['hours']:g} h: {energy_words(data, system)}")
        self.moments.show_rows(*moment_rows(data, system, starts))
        self.answers.show_rows(*answer_rows(data, system))
        cautions = list(data["cautions"])
        if thinned > 1:
            cautions.append(f"of this long run one moment in {thinned} is kept for lines and CSV")
        self.taken.setPlainText("\n".join([*cautions, "", HURTS]))
        self._count(len(cautions))
        first = f"{cautions[0]}. " if cautions else ""
        words = f"Local code and licensed trades decide. Taken: {first}See Taken."
        self.assumed.put(words, self.taken.toPlainText())
        self._say()


def version_words(plant: Plant, data: dict[str, Any]) -> str:
    """With which version of the plant a run was made."""
    version = data["plant"]
    if fresh(plant, data):
        return f"run {data['run']}, plant version {version}"
    return f"run {data['run']}, made with an earlier version of the plant, {version}"


def fresh(plant: Plant, data: dict[str, Any]) -> bool:
    """Whether a summary is of the plant as it is now."""
    from core.plant.as_set import plant_for
    from core.simulation.summary import plant_hash

    plant, name = with_run(plant, data["run"], data["hours"])
    raw = next(run for run in plant.runs if run["name"] == name)
    cases = plant.solve_cases
    case = next((case for case in cases if case.name == raw.get("case")), cases[0])
    return bool(plant_hash(plant_for(plant, case)) == data["plant"])


def with_run(plant: Plant, name: str, hours: float) -> tuple[Plant, str]:
    """The plant with a run of that name: its own, else one of the case of that name, put behind its runs."""
    if any(run["name"] == name for run in plant.runs):
        return plant, name
    case = {"case": name} if any(case.name == name for case in plant.cases) else {}
    return replace(plant, runs=(*plant.runs, {"name": name, **case, "hours": hours})), name
