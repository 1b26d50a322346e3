"""Readings: what the gauges said beside what the plant as drawn shows, why, and what to turn next.

Fitting and dialing in solve the plant many times, so they run in the background when they are asked for.
"""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QAbstractItemView,
    QFileDialog,
    QFrame,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPlainTextEdit,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from app.background import Job
from app.panels.port import Pane, PanePort, Sight
from app.widgets.halves import Halves
from app.widgets.picks import Arrowed
from app.widgets.table import Table, TableRow
from core.errors import WetsideError, escaped
from core.plant.changes import SetPlant
from core.plant.model import Plant

if TYPE_CHECKING:
    from core.readings.dial_in import DialIn
    from core.readings.fit import Fit
    from core.readings.measured import Reading

LANE = "readings"
NUMBER = Qt.ItemDataRole.UserRole
HEADS = ("At", "Shows", "Read", "As drawn", "Likeliest", "Good to", "Case", "Date")
WHAT = ("temperature", "pressure", "flow")
EMPTY = (
    "Nothing read yet. Select a gauge, a thermometer, a meter or a pipe, type what it showed with its unit, "
    "and add it; or take the text that the handbook's page wrote."
)


class ReadingsPane(Pane):
    """The table at the left with a line to add to it; at the right what the readings say."""

    TITLE = "Readings"
    HIGH = 360

    def __init__(self, port: PanePort, parent: QWidget | None = None) -> None:
        super().__init__(port, parent)
        self._sight: Sight | None = None
        self._of: tuple[Plant, Any] | None = None  # the plant and readings that the words are about
        self._fit: Fit | None = None
        self._ticket = 0
        self.list = Table("Readings", HEADS, (60, 88, 72, 72, 72, 66, 96, 84), self)
        self.list.setSelectionMode(QAbstractItemView.SelectionMode.ExtendedSelection)
        self.list.itemClicked.connect(lambda row, _c: self.port.frame([row.text(0)]))
        self.words = QPlainTextEdit(self)
        self.words.setAccessibleName("What the readings say")
        self.words.setReadOnly(True)
        self.words.setFrameShape(QFrame.Shape.NoFrame)
        self.words.setMinimumWidth(200)
        self.at, self.value, self.error, self.day = (QLineEdit(self) for _ in range(4))
        self.what, self.case = Arrowed(self), Arrowed(self)
        self.what.addItems(list(WHAT))
        self.add = QPushButton("Add", self)
        self.take = QPushButton("Take from text…", self)
        self.take.setToolTip("Readings that the handbook's page or a spreadsheet wrote, as CSV")
        self.remove = QPushButton("Remove", self)
        self.explain = QPushButton("Explain", self)
        self.turn = QPushButton("Next turn", self)
        self.explain.setToolTip("What, otherwise than drawn, would explain the readings")
        self.turn.setToolTip("Which setting to turn next, and what to read then")
        self._lay_out()
        self.add.clicked.connect(self.add_reading)
        self.value.returnPressed.connect(self.add_reading)
        self.take.clicked.connect(self._choose)
        self.remove.clicked.connect(self.remove_chosen)
        self.explain.clicked.connect(self.ask_fit)
        self.turn.clicked.connect(self.ask_turn)
        port.background.done.connect(self._came)
        port.background.failed.connect(self._failed)

    def _lay_out(self) -> None:
        fields = QGridLayout()
        for k, (words, field, hint) in enumerate(
            (
                ("Day", self.day, "2026-03-01"),
                ("At", self.at, "tag"),
                ("Shows", self.what, ""),
                ("Case", self.case, ""),
                ("Read", self.value, "14 psi"),
                ("Good to", self.error, "1 psi"),
            )
        ):
            label = QLabel(words, self)
            label.setObjectName("soft")
            field.setAccessibleName(words)
            field.setMinimumWidth(40 if isinstance(field, QLineEdit) else 84)
            if isinstance(field, QLineEdit):
                field.setPlaceholderText(hint)
            fields.addWidget(label, k // 3, 2 * (k % 3))
            fields.addWidget(field, k // 3, 2 * (k % 3) + 1)
            fields.setColumnStretch(2 * (k % 3) + 1, 1)
        buttons = QHBoxLayout()
        for button in (self.add, self.take, self.remove):
            buttons.addWidget(button)
        buttons.addStretch(1)
        asking = QHBoxLayout()
        asking.setSpacing(6)
        for button in (self.explain, self.turn):
            asking.addWidget(button)
        asking.addStretch(1)
        right = QWidget(self)
        beside = QVBoxLayout(right)
        beside.setContentsMargins(8, 0, 0, 0)
        beside.addWidget(self.words, 1)
        beside.addLayout(asking)
        left = QWidget(self)
        column = QVBoxLayout(left)
        column.setContentsMargins(0, 0, 8, 0)
        column.addWidget(self.list, 1)
        column.addLayout(fields)
        column.addLayout(buttons)
        split = Halves(left, right, 0.68, self)
        whole = QVBoxLayout(self)
        whole.setContentsMargins(14, 4, 14, 8)
        whole.addWidget(split)

    # ---- following ------------------------------------------------------------------

    def follow(self, sight: Sight) -> None:
        before, self._sight = self._sight, sight
        if before is None or before.plant.cases is not sight.plant.cases:
            self._fill_cases(sight)
        if len(sight.selection) == 1 and (before is None or before.selection != sight.selection):
            self.at.setText(next(iter(sight.selection)))
        if self._of is not None and self._of[0] is not sight.plant:
            self._of, self._fit = None, None
            self._ticket = 0
            self.words.setPlainText(
                "The plant or its readings changed: ask again." if sight.plant.readings else EMPTY
            )
        self._fill()
        count = len(sight.plant.readings)
        self.titled.emit(f"Readings {count}" if count else "Readings")

    def focus_first(self) -> None:
        self.value.setFocus(Qt.FocusReason.TabFocusReason)

    def about(self, topic: Any) -> None:
        """Turn to an item or pipe whose gauge is to be read."""
        if isinstance(topic, str):
            self.at.setText(topic)
            self.focus_first()

    def _fill_cases(self, sight: Sight) -> None:
        chosen = self.case.currentText() or sight.case
        self.case.clear()
        self.case.addItems([case.name for case in sight.plant.solve_cases])
        self.case.setCurrentText(chosen)

    def _fill(self) -> None:
        if self._sight is None:
            return
        plant = self._sight.plant
        for button in (self.remove, self.explain):
            button.setEnabled(bool(plant.readings))
        if not plant.readings and self._of is None:
            self.words.setPlainText(EMPTY)
        by_number = {one.number: one for one in self._readings(plant)}
        rows = []
        for number, raw in enumerate(plant.readings):
            reading = by_number.get(number)
            texts = [str(raw.get("at", "")), str(raw.get("what", "")), str(raw["value"])]
            texts += self._beside(plant, reading)
            texts += [str(raw.get("error", "")), str(raw.get("case", "")), str(raw.get("date", ""))]
            row = TableRow([escaped(text) for text in texts])
            row.setData(0, NUMBER, number)
            rows.append(row)
        self.list.clear()
        self.list.addTopLevelItems(rows)

    def _beside(self, plant: Plant, reading: Reading | None) -> list[str]:
        """What the plant as drawn, and as it likely is, shows in place of a reading."""
        from core.readings.measured import shown
        from core.readings.words import said

        if reading is None or self._sight is None:
            return ["", ""]
        likely = self._fit.likely if self._fit is not None else {}
        out = []
        for solutions in (self._sight.solutions, likely):
            solution = solutions.get(reading.case)
            value = shown(plant, solution, reading.at, reading.what) if solution is not None else None
            out.append("" if value is None else said(plant, reading, value))
        return out

    def _readings(self, plant: Plant) -> Sequence[Reading]:
        from core.readings.measured import readings_of

        try:
            return readings_of(plant)
        except WetsideError:
            return []

    # ---- writing --------------------------------------------------------------------

    def add_reading(self) -> None:
        """One reading more; one step of undo."""
        if self._sight is None:
            return
        given = {
            "date": self.day.text().strip() or datetime.date.today().isoformat(),
            "case": self.case.currentText(),
            "at": self.at.text().strip(),
            "what": self.what.currentText(),
            "value": self.value.text().strip(),
        }
        if self.error.text().strip():
            given["error"] = self.error.text().strip()
        if self._take([given], f"Read {given['at']}"):
            self.value.clear()
            self.value.setFocus(Qt.FocusReason.OtherFocusReason)

    def _take(self, readings: list[dict[str, Any]], words: str) -> bool:
        from core.plant.record_rules import check_reading
        from core.readings.text import taken

        try:
            for one in readings:
                check_reading(one)
            change = taken(self.port.document.plant, readings)
        except WetsideError as error:
            self.port.warn(f"Not taken: {error}")
            return False
        return self.port.commit(words, [change])

    def _choose(self) -> None:
        name, _ = QFileDialog.getOpenFileName(self, "Readings as text", "", "Text (*.csv *.txt)")
        if name:
            self.take_text(Path(name))

    def take_text(self, path: Path) -> None:
        """Readings from a file; one step of undo."""
        from core.readings.text import from_csv

        try:
            found = from_csv(path.read_text(encoding="utf-8", errors="replace"))
        except (OSError, WetsideError) as error:
            self.port.warn(f"{escaped(path.name)}: {error}")
            return
        if self._take(found, "Take readings"):
            self.port.say(f"{len(found)} readings taken from {escaped(path.name)}.")

    def remove_chosen(self) -> None:
        """Take the chosen readings out; one step of undo."""
        gone = {row.data(0, NUMBER) for row in self.list.selectedItems()}
        if gone and self._sight is not None:
            kept = tuple(raw for k, raw in enumerate(self._sight.plant.readings) if k not in gone)
            self.port.commit("Remove readings", [SetPlant({"readings": kept})])

    # ---- asking ---------------------------------------------------------------------

    def ask_fit(self) -> None:
        """Look for what explains the readings, in the background."""
        if self._sight is None:
            return
        plant = self._sight.plant

        def work(job: Job) -> None:
            from core.readings.fit import fit
            from core.readings.measured import readings_of

            job.report(fit(plant, readings_of(plant)))

        self._ask(plant, work, "Looking at everything that could be otherwise than drawn…")

    def ask_turn(self) -> None:
        """Look for the next setting to turn, in the background."""
        if self._sight is None:
            return
        plant = self._sight.plant

        def work(job: Job) -> None:
            from core.readings.dial_in import dial_in
            from core.readings.measured import readings_of

            job.report(dial_in(plant, readings_of(plant)))

        self._ask(plant, work, "Working out the next turn…")

    def _ask(self, plant: Plant, work: Any, words: str) -> None:
        self._of = (plant, plant.readings)
        self.words.setPlainText(words)
        self._ticket = self.port.background.ask(LANE, work)

    def _came(self, lane: str, ticket: int, result: Fit | DialIn) -> None:
        if lane != LANE or ticket != self._ticket or self._of is None:
            return
        from core.readings.dial_in import DialIn
        from core.readings.words import dialed, explained

        if isinstance(result, DialIn):
            lines = dialed(self._of[0], result)
        else:
            self._fit = result
            lines = explained(result)
            self._fill()
        self.words.setPlainText("\n".join(escaped(line) for line in lines))

    def _failed(self, lane: str, ticket: int, error: Exception) -> None:
        if lane == LANE and ticket == self._ticket:
            self.words.setPlainText(
                escaped(str(error)) if isinstance(error, WetsideError) else "This failed."
            )
