"""One case looked over: name and weather, calls and fixtures as ticks. Every change is a step of undo."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from PySide6.QtCore import QSignalBlocker, Qt
from PySide6.QtWidgets import (
    QCheckBox,
    QFrame,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from app.panels.port import Pane, PanePort, Sight
from core.errors import Refusal
from core.forms.as_read import quantity_as_read
from core.forms.sheet_rows import replace_case
from core.plant.model import Case, Plant
from core.plant.usual_cases import draw_of
from core.vocabulary import Trait, spellings

ON, OFF, FREE = Qt.CheckState.Checked, Qt.CheckState.Unchecked, Qt.CheckState.PartiallyChecked
COLUMNS = 3
IMPLIED = "This plant has no case of its own yet: add one in the Case menu."
HINT = "Calls: ticked on, empty off, half-ticked as it senses. Fixtures: ticked ones draw; their flow beside."


class CasePage(Pane):
    """The case in sight."""

    TITLE = "Case"
    HIGH = 280

    def __init__(self, port: PanePort, parent: QWidget | None = None) -> None:
        super().__init__(port, parent)
        self._sight: Sight | None = None
        self._made: tuple[object, ...] = ()
        self.calls: dict[str, QCheckBox] = {}
        self.fixtures: dict[str, QCheckBox] = {}
        self.flows: dict[str, QLineEdit] = {}
        self.name = self._line("Name of the case", lambda case, text: replace(case, name=text))
        self.outdoor = self._line(
            "Outdoor temperature",
            lambda case, text: replace(case, outdoor=self._read(text, "temperature", case.outdoor) or None),
        )
        self.lasts = self._line(
            "How long it lasts",
            lambda case, text: replace(case, lasts=self._read(text, "time", case.lasts) or None),
        )
        self.outdoor.setPlaceholderText("the site's design night")
        self.lasts.setPlaceholderText("as it ends up")
        self._hint = QLabel(HINT, self)
        self._hint.setObjectName("soft")
        self._hint.setWordWrap(True)
        head = QHBoxLayout()
        for words, line in (("Name", self.name), ("Outdoors", self.outdoor), ("Lasts", self.lasts)):
            head.addWidget(QLabel(words, self))
            head.addWidget(line, 1)
        self._ticks = QWidget(self)
        scroll = QScrollArea(self)
        scroll.setWidgetResizable(True)
        scroll.setFrameShape(QFrame.Shape.NoFrame)
        scroll.setAccessibleName("Calls and fixtures of the case")
        scroll.setWidget(self._ticks)
        self._scroll = scroll
        column = QVBoxLayout(self)
        column.setContentsMargins(14, 4, 14, 8)
        column.addLayout(head)
        column.addWidget(self._hint)
        column.addWidget(scroll, 1)

    def _line(self, words: str, write: Callable[[Case, str], Case]) -> QLineEdit:
        line = QLineEdit(self)
        line.setAccessibleName(words)
        line.editingFinished.connect(lambda: self._typed(line, write))
        return line

    # ---- following ------------------------------------------------------------------

    def follow(self, sight: Sight) -> None:
        self._sight = sight
        case = self._case()
        plant = sight.plant
        signals = tuple(item.id for item in plant.with_trait(Trait.SIGNALS))
        fixtures = tuple(item.id for item in plant.with_trait(Trait.DRAWS_WATER))
        if (signals, fixtures) != self._made:
            self._made = signals, fixtures
            self._make(signals, fixtures)
        self._hint.setText(HINT if case is not None else IMPLIED)
        for widget in (self.name, self.outdoor, self.lasts, self._ticks):
            widget.setEnabled(case is not None)
        self.remarked.emit(sight.case)
        if case is not None:
            self._put(plant, case)

    def focus_first(self) -> None:
        self.name.setFocus(Qt.FocusReason.TabFocusReason)
        self.name.selectAll()

    def _case(self) -> Case | None:
        sight = self._sight
        return next((c for c in sight.plant.cases if c.name == sight.case), None) if sight else None

    def _make(self, signals: tuple[str, ...], fixtures: tuple[str, ...]) -> None:
        ticks = QWidget(self)
        grid = QGridLayout(ticks)
        grid.setContentsMargins(0, 0, 6, 0)
        self.calls, self.fixtures, self.flows = {}, {}, {}
        for number, name in enumerate(signals):
            box = QCheckBox(name, ticks)
            box.setTristate(True)
            box.setToolTip(f"{name}: on, off, or as it senses")
            box.clicked.connect(lambda _on=False, name=name: self._call(name))
            self.calls[name] = box
            grid.addWidget(box, number // COLUMNS, 2 * (number % COLUMNS))
        first = -(-len(signals) // COLUMNS)
        for number, name in enumerate(fixtures):
            box, line = QCheckBox(name, ticks), QLineEdit(ticks)
            box.setToolTip(f"{name} draws")
            box.clicked.connect(lambda _on=False, name=name: self._draw(name))
            line.setAccessibleName(f"Flow that {name} draws")
            line.setMaximumWidth(110)
            line.editingFinished.connect(lambda name=name: self._flow(name))
            self.fixtures[name], self.flows[name] = box, line
            row, column = first + number // COLUMNS, 2 * (number % COLUMNS)
            grid.addWidget(box, row, column)
            grid.addWidget(line, row, column + 1)
        grid.setRowStretch(grid.rowCount(), 1)
        grid.setColumnStretch(2 * COLUMNS, 1)
        self._ticks = ticks
        self._scroll.setWidget(ticks)

    def _put(self, plant: Plant, case: Case) -> None:
        """Show the case; what is being typed is left alone."""
        lines = [(self.name, case.name), (self.outdoor, case.outdoor or ""), (self.lasts, case.lasts or "")]
        lines += [(line, case.draws.get(name, "")) for name, line in self.flows.items()]
        for line, text in lines:
            shown = spellings.readable(str(text)) if line is not self.name else str(text)
            if line.text() != shown and not (line.hasFocus() and line.isModified()):
                line.setText(shown)
                line.setCursorPosition(0)  # what is cut is the end
        for name, box in self.calls.items():
            state = case.signals.get(name)
            with QSignalBlocker(box):
                box.setCheckState(FREE if state is None else ON if state else OFF)
        for name, box in self.fixtures.items():
            with QSignalBlocker(box):
                box.setChecked(name in case.draws)
            self.flows[name].setEnabled(name in case.draws)

    # ---- changing -------------------------------------------------------------------

    def _change(self, words: str, change: Callable[[Case], Case]) -> bool:
        case = self._case()
        if case is None or self._sight is None:
            return False
        try:
            fresh = change(case)
        except Refusal as refusal:
            self.port.warn(str(refusal))
            return False
        if fresh == case:
            return True
        done = self.port.commit(words, replace_case(self.port.document.plant, case.name, fresh))
        if done and fresh.name != case.name:
            self.port.choose_case(fresh.name)
        return done

    def _read(self, text: str, dimension: str, shown: str | None) -> str:
        return quantity_as_read(text, dimension, self.port.document.plant, spellings.readable(shown or ""))

    def _typed(self, line: QLineEdit, write: Callable[[Case, str], Case]) -> None:
        """What is refused stays in the line, marked by the words in the message bar."""
        if line.isModified() and self._change(f"Case: {line.accessibleName()}", self._writing(line, write)):
            line.setModified(False)

    @staticmethod
    def _writing(line: QLineEdit, write: Callable[[Case, str], Case]) -> Callable[[Case], Case]:
        return lambda case: write(case, line.text().strip())

    def _call(self, name: str) -> None:
        state = self.calls[name].checkState()

        def change(case: Case) -> Case:
            signals = {key: on for key, on in case.signals.items() if key != name}
            return replace(case, signals=signals if state is FREE else {**signals, name: state is ON})

        self._change(f"Case: {name}", change)

    def _draw(self, name: str) -> None:
        plant, on = self.port.document.plant, self.fixtures[name].isChecked()

        def change(case: Case) -> Case:
            draws = {key: flow for key, flow in case.draws.items() if key != name}
            return replace(case, draws={**draws, name: draw_of(plant, name)} if on else draws)

        self._change(f"Case: {name} draws", change)

    def _flow(self, name: str) -> None:
        line = self.flows[name]

        def change(case: Case) -> Case:
            flow = self._read(line.text(), "flow", str(case.draws.get(name, "")))
            return replace(case, draws={**case.draws, name: flow}) if name in case.draws else case

        if line.isModified() and self._change(f"Case: flow of {name}", change):
            line.setModified(False)
