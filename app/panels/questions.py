"""Questions that only solving the plant again can answer: who robs whom, what would cure it, and so on.

Asked in the background, given up for whatever is wanted sooner, and asked again by itself. A line of the
answer lights its path on the board; a cure is shown there as proposed until it is put in or left.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from typing import TYPE_CHECKING, Any, NamedTuple, cast

from PySide6.QtCore import Qt
from PySide6.QtGui import QHideEvent, QKeyEvent
from PySide6.QtWidgets import (
    QFrame,
    QHBoxLayout,
    QHeaderView,
    QLabel,
    QPlainTextEdit,
    QProgressBar,
    QPushButton,
    QTreeWidgetItem,
    QVBoxLayout,
    QWidget,
)

from app.background import Job
from app.board.beside import NOTHING, Beside
from app.panels.answers import QUESTIONS, Answer, Entry, Line
from app.panels.patient import Patient
from app.panels.port import Pane, PanePort, Sight
from app.widgets.halves import Halves
from app.widgets.picks import Arrowed
from app.widgets.table import Table, TableRow
from core.errors import WetsideError, escaped

if TYPE_CHECKING:
    from core.cures.tried import Cure
    from core.plant.changes import Change
    from core.plant.model import Plant

LANE, FIGURES = "questions", "questions preview"
LINE = Qt.ItemDataRole.UserRole
WIDEST = 340  # [px] of a column
EMPTY = "Select a circuit, tap, pump or pipe, choose a question, and ask."
CHANGED = "The plant changed: ask again."
WORKING = "Solving the plant again…"


class Topic(NamedTuple):
    """What the page shall be about: a question by its key, and the thing it is asked of."""

    question: str
    at: str = ""


class QuestionsPane(Pane):
    """A question, the thing it concerns, and the answer: lines that light their places, and the words."""

    TITLE = "Questions"
    HIGH = 330

    def __init__(self, port: PanePort, parent: QWidget | None = None) -> None:
        super().__init__(port, parent)
        self._sight: Sight | None = None
        self._asked: Plant | None = None
        self._answer: Answer | None = None
        self._figures = 0
        self._soon: Topic | None = None
        self._patient = Patient(port.background, LANE, self)
        self.question = Arrowed(self)
        self.question.setAccessibleName("Question")
        self.question.addItems([one.words for one in QUESTIONS])
        self.at = QLabel("", self)
        self.at.setTextFormat(Qt.TextFormat.PlainText)
        self.ask = QPushButton("Ask", self)
        self.stop = QPushButton("Stop", self)
        self.progress = QProgressBar(self)
        self.progress.setAccessibleName("How far the answer is")
        self.progress.setMaximumWidth(160)
        self.progress.setTextVisible(False)
        self.insert = QPushButton("Insert", self)
        self.insert.setToolTip("Put the chosen cure into the plant: one step of undo")
        self.leave = QPushButton("Leave it", self)
        self.leave.setToolTip("Show the plant as it is again (Esc)")
        self.table = Table("Answer, line by line", (), (), self)
        self.table.hide()
        self.table.header().setStretchLastSection(False)
        self.table.header().setSectionResizeMode(QHeaderView.ResizeMode.Interactive)
        self.words = QPlainTextEdit(EMPTY, self)
        self.words.setAccessibleName("Answer in words")
        self.words.setReadOnly(True)
        self.words.setFrameShape(QFrame.Shape.NoFrame)
        self._lay_out()
        self.ask.clicked.connect(self.ask_now)
        self.stop.clicked.connect(self.stop_now)
        self.insert.clicked.connect(self.insert_chosen)
        self.leave.clicked.connect(self.leave_now)
        self.table.itemClicked.connect(self._read_cell)
        self.table.itemActivated.connect(self._read_cell)
        self.table.currentItemChanged.connect(lambda *_: self._enable())
        self._patient.came.connect(self._came)
        self._patient.failed.connect(self._failed)
        self._patient.progressed.connect(self._progressed)
        port.background.done.connect(self._take_figures)
        self._enable()

    def _lay_out(self) -> None:
        head = QHBoxLayout()
        buttons = (self.question, self.at, self.ask, self.stop, self.progress, self.insert, self.leave)
        for widget in buttons:
            head.addWidget(widget)
        head.addStretch(1)
        split = Halves(self.table, self.words, 0.56, self)
        column = QVBoxLayout(self)
        column.setContentsMargins(14, 4, 14, 8)
        column.addLayout(head)
        column.addWidget(split, 1)

    # ---- following ------------------------------------------------------------------

    def follow(self, sight: Sight) -> None:
        self._sight = sight
        if self._soon is None and len(sight.selection) == 1:
            self.at.setText(next(iter(sight.selection)))
        elif self.at.text() not in (*sight.plant.items, *sight.plant.pipes):
            self.at.setText("")
        if self._asked is not None and self._asked is not sight.plant:
            self._forget(CHANGED)
        if self._soon is not None:
            self._soon = None
            self.ask_now()

    def about(self, topic: Any) -> None:
        """Turn to a question about an item or pipe, and ask it; a bare id asks who robs it."""
        wanted = Topic("why", topic) if isinstance(topic, str) else topic
        if isinstance(wanted, Topic):
            self.at.setText(wanted.at)
            self.question.setCurrentIndex([one.key for one in QUESTIONS].index(wanted.question))
            self._soon = wanted

    def focus_first(self) -> None:
        self.question.setFocus(Qt.FocusReason.TabFocusReason)

    def hideEvent(self, event: QHideEvent) -> None:
        self.port.leave_preview()
        super().hideEvent(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Escape:
            self.leave_now()
        else:
            super().keyPressEvent(event)

    def _forget(self, words: str) -> None:
        self._asked, self._answer = None, None
        self._patient.forget()
        self.port.leave_preview()
        self.table.clear()
        self.table.setColumnCount(0)
        self.table.hide()
        self.words.setPlainText(words)
        self._enable()

    def _enable(self) -> None:
        self.stop.setEnabled(self._patient.working)
        self.progress.setVisible(self._patient.working)
        cure = self._cure() is not None
        for button in (self.insert, self.leave):
            button.setVisible(self._answer is not None and self._answer.cures is not None)
            button.setEnabled(cure)

    # ---- asking ---------------------------------------------------------------------

    def ask_now(self) -> None:
        """Ask the chosen question of the plant as it is."""
        if self._sight is None:
            return
        self._forget(WORKING)
        self.progress.setRange(0, 0)
        plant = self._asked = self._sight.plant
        shown = plant if plant.units == self._sight.display else replace(plant, units=self._sight.display)
        ask, at = QUESTIONS[self.question.currentIndex()].ask, self.at.text()
        self._patient.ask(lambda keep_on, on_progress: ask(shown, at, keep_on, on_progress))
        self._enable()

    def stop_now(self) -> None:
        """Give the question up."""
        self._forget(EMPTY)

    def _progressed(self, number: int, of: int) -> None:
        self.progress.setRange(0, of)
        self.progress.setValue(number)

    def _came(self, answer: object) -> None:
        self._answer = cast("Answer", answer)
        self._fill(self._answer)
        self._enable()

    def _failed(self, error: object) -> None:
        self._forget(escaped(str(error)) if isinstance(error, WetsideError) else "This failed.")

    def _fill(self, answer: Answer) -> None:
        self.table.setColumnCount(len(answer.head))
        self.table.setHeaderLabels([escaped(text) for text in answer.head])
        self.table.setVisible(bool(answer.lines))
        groups: dict[str, QTreeWidgetItem] = {}
        for line in answer.lines:
            row = TableRow([escaped(text) for text in line.cells])
            row.setData(0, LINE, line)
            for column, text in enumerate(line.cells):
                row.setToolTip(column, escaped(text))
            if line.group and line.group not in groups:
                groups[line.group] = TableRow([escaped(line.group)])
                self.table.addTopLevelItem(groups[line.group])
                groups[line.group].setFirstColumnSpanned(True)
            if line.group:
                groups[line.group].addChild(row)
            else:
                self.table.addTopLevelItem(row)
        self.table.expandAll()
        for column in range(len(answer.head)):
            self.table.resizeColumnToContents(column)
            if self.table.columnWidth(column) > WIDEST:
                self.table.setColumnWidth(column, WIDEST)
        self.words.setPlainText(answer.words)

    # ---- the answer -----------------------------------------------------------------

    def _read_cell(self, row: QTreeWidgetItem, column: int) -> None:
        """Show on the board what a cell is about, and say it in full."""
        line = cast("Line | None", row.data(0, LINE))
        if line is None or self._sight is None or self._answer is None:
            return
        entry = line.entries.get(column) or line.entries[0]
        if entry.number:
            self.preview_chosen()
            return
        said = f"{escaped(entry.text)}\n\n" if entry.text else ""
        self.words.setPlainText(said + self._answer.words)
        self.port.frame(list(self._known(entry.ids)))
        lit = frozenset(self._known(entry.lit))
        self.port.show_beside(Beside(lit, frozenset(), dict(entry.words)) if lit else NOTHING)
        if lit:
            self.port.document.select(entry.ids[:1])  # the path is lit: handles on all of it would hide it

    def _known(self, ids: Iterable[str]) -> Iterator[str]:
        if self._sight is not None:
            plant = self._sight.plant
            yield from (key for key in dict.fromkeys(ids) if key in plant.items or key in plant.pipes)

    # ---- cures ----------------------------------------------------------------------

    def _entry(self) -> Entry | None:
        row = self.table.currentItem()
        line = cast("Line | None", row.data(0, LINE)) if row is not None else None
        return None if line is None else line.entries[0]

    def _cure(self) -> Cure | None:
        entry = self._entry()
        if entry is None or not entry.number or self._answer is None or self._answer.cures is None:
            return None
        return self._answer.cures.cures[entry.number - 1]

    def _changes(self, cure: Cure) -> list[Change]:
        """Of a cure, on the plant as it is; [] where it no longer fits."""
        if self._sight is None:
            return []
        try:
            return cure.candidate.make(self._sight.plant)
        except (WetsideError, KeyError, StopIteration) as error:
            self.port.warn(f"This cure does not fit: {error}")
            return []

    def preview_chosen(self) -> None:
        """Show the chosen cure on the board as proposed, with figures before and after beside it."""
        cure, sight = self._cure(), self._sight
        changes = self._changes(cure) if cure is not None else []
        if cure is None or sight is None or not changes:
            return
        self.port.leave_preview()
        self.port.frame(list(self._known((self._answer.cures.at, cure.candidate.at))))  # type: ignore[union-attr]
        if self.port.preview(changes, self.insert_chosen):
            plant = replace(sight.plant, units=sight.display)
            self._figures = self.port.background.ask(
                FIGURES, lambda job: _compare(job, plant, changes, cure.case)
            )

    def _take_figures(self, lane: str, ticket: int, result: object) -> None:
        if lane == FIGURES and ticket == self._figures and isinstance(result, Beside):
            self.port.show_beside(result)

    def leave_now(self) -> None:
        """Show the plant as it is again."""
        self._figures = 0
        self.port.leave_preview()

    def insert_chosen(self) -> None:
        """Put the chosen cure into the plant, with its entry in the logbook: one step of undo."""
        cure = self._cure()
        changes = self._changes(cure) if cure is not None else []
        if cure is None or self._sight is None or self._answer is None or not changes:
            return
        from core.logbook.write import write_down

        at = self._answer.cures.at if self._answer.cures is not None else ""
        because = f"{at}: {cure.effect.shown(self._sight.display)} in {cure.case}"
        entry = write_down(self._sight.plant, [at], cure.candidate.text, because)
        self.leave_now()
        self.port.commit(f"Cure {at}", [*changes, entry])


def _compare(job: Job, plant: Plant, changes: list[Change], case: str) -> None:
    """What changes do in a case, for the board."""
    from core.plant.changes import apply
    from core.questions.compare import compare
    from core.questions.headlines import headlines
    from core.solve import Dropped

    after = apply(plant, changes)
    try:
        found = compare(plant, after, lambda: not job.stale(), case=case)
    except Dropped:
        return
    changed = frozenset(one.at for one in found.changed)
    job.report(Beside(frozenset(), changed, headlines(plant, found.effects)))
