"""Pages beside the lines of a run: which lines, the answers, the moments, what was taken."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from PySide6.QtCore import QSignalBlocker, Qt, Signal
from PySide6.QtWidgets import QFrame, QLineEdit, QTreeWidget, QTreeWidgetItem, QVBoxLayout, QWidget

from app.panels.call_sheet_table import Cell, Head
from app.panels.time_chart import MOST_BANDS, MOST_BARS, MOST_LINES, ORDER, TITLES, Drawable

KEY = Qt.ItemDataRole.UserRole
STATES = "states"
Rows = tuple[list[Head], list[list[Cell]]]


class LinePicker(QWidget):
    """Ticks for lines and bars; typing above narrows the list. `refused` says why a tick did not hold."""

    changed = Signal()
    refused = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.finder = QLineEdit(self)
        self.finder.setPlaceholderText("Find a line, such as T-1")
        self.finder.setAccessibleName("Find a line")
        self.finder.setClearButtonEnabled(True)
        self.finder.textChanged.connect(self._narrow)
        self.tree = QTreeWidget(self)
        self.tree.setAccessibleName("Lines and states that are drawn")
        self.tree.setHeaderHidden(True)
        self.tree.setFrameShape(QFrame.Shape.NoFrame)
        self.tree.setUniformRowHeights(True)
        self.tree.setIndentation(14)
        self.tree.itemChanged.connect(self._ticked)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(4)
        column.addWidget(self.finder)
        column.addWidget(self.tree, 1)
        self.known: dict[str, Drawable] = {}
        self.columns: list[str] = []
        self.switches: list[str] = []

    def offer(
        self, found: Sequence[Drawable], switches: Sequence[str], chosen: tuple[list[str], list[str]]
    ) -> None:
        """Fill the list; what was ticked before stays where it is still there."""
        before = [c for c in self.columns if c in {one.column for one in found}]
        states = [key for key in self.switches if key in switches]
        self.columns, self.switches = (before, states) if before else (list(chosen[0]), list(chosen[1]))
        self.known = {one.column: one for one in found}
        blocker = QSignalBlocker(self.tree)
        self.tree.clear()
        for dimension in ORDER:
            group = [one for one in found if one.dimension == dimension]
            if group:
                rows = [(one.words, one.column, one.column in self.columns) for one in group]
                self._group(TITLES.get(dimension, dimension).capitalize(), rows, dimension)
        self._group("States, as bars", [(k, k, k in self.switches) for k in switches], STATES)
        del blocker
        self._narrow(self.finder.text())

    def _group(self, title: str, rows: Sequence[tuple[str, str, bool]], what: str) -> None:
        top = QTreeWidgetItem([title])
        top.setData(0, KEY, (what, ""))
        top.setFlags(Qt.ItemFlag.ItemIsEnabled | Qt.ItemFlag.ItemIsSelectable)
        self.tree.addTopLevelItem(top)
        # Ticked ones first, so that what is drawn stands at hand.
        for words, key, on in sorted(rows, key=lambda row: not row[2]):
            row = QTreeWidgetItem([words])
            row.setData(0, KEY, (what, key))
            row.setCheckState(0, Qt.CheckState.Checked if on else Qt.CheckState.Unchecked)
            top.addChild(row)
        top.setExpanded(any(on for _, _, on in rows) or what == STATES)

    def row(self, key: str) -> QTreeWidgetItem:
        """The row of a column or switch."""
        tops = [self.tree.topLevelItem(n) for n in range(self.tree.topLevelItemCount())]
        rows = [top.child(n) for top in tops if top is not None for n in range(top.childCount())]
        return next(row for row in rows if row is not None and row.data(0, KEY)[1] == key)

    def _ticked(self, row: QTreeWidgetItem, _column: int) -> None:
        what, key = row.data(0, KEY)
        into = self.switches if what == STATES else self.columns
        if row.checkState(0) != Qt.CheckState.Checked:
            if key in into:
                into.remove(key)
                self.changed.emit()
            return
        said = self._too_many(what)
        if said:
            blocker = QSignalBlocker(self.tree)
            row.setCheckState(0, Qt.CheckState.Unchecked)
            del blocker
            self.refused.emit(said)
        elif key not in into:
            into.append(key)
            self.changed.emit()

    def _too_many(self, what: str) -> str:
        if what == STATES:
            return (
                f"{MOST_BARS} states at most: take one out first." if len(self.switches) >= MOST_BARS else ""
            )
        drawn = [self.known[column].dimension for column in self.columns]
        if drawn.count(what) >= MOST_LINES:
            return f"{MOST_LINES} lines of one sort at most: take one out first."
        if what not in drawn and len(set(drawn)) >= MOST_BANDS:
            return f"{MOST_BANDS} sorts of lines at most: take one out first."
        return ""

    def _narrow(self, text: str) -> None:
        wanted = text.casefold().split()
        for n in range(self.tree.topLevelItemCount()):
            top = self.tree.topLevelItem(n)
            if top is None:
                continue
            fits = 0
            for k in range(top.childCount()):
                row = top.child(k)
                if row is None:
                    continue
                fit = all(word in row.text(0).casefold() for word in wanted)
                row.setHidden(not fit)
                fits += fit
            top.setHidden(bool(wanted) and not fits)
            if wanted and fits:
                top.setExpanded(True)


def answer_rows(data: dict[str, Any], system: str) -> Rows:
    """The answers as one table; a row with a moment leads there, else to its place."""
    from core.simulation.answers import tables_of

    first: dict[str, float] = {}
    for moment in data["moments"]:
        first.setdefault(moment["at"], moment["time_s"])
    return table_rows(tables_of(data, system), first)


def table_rows(tables: Sequence[Sequence[Sequence[str]]], first: Mapping[str, float] | None = None) -> Rows:
    """Tables one under another; a row whose first cell has a moment in `first` [s] leads there."""
    known = first or {}
    wide = max((len(row) for table in tables for row in table), default=1)
    rows: list[list[Cell]] = []
    for table in tables:
        rows.append([Cell(text, heavy=True, right=k > 0) for k, text in _padded(table[0], wide)])
        for line in table[1:]:
            key = ("at", known[line[0]], line[0]) if line[0] in known else ("go", line[0])
            tip = "Click: its first moment on the board" if line[0] in known else "Click: where it is"
            rows.append([Cell(text, right=k > 0, key=key, tip=tip) for k, text in _padded(line, wide)])
    return [Head("") for _ in range(wide)], rows


def _padded(line: Sequence[str], wide: int) -> list[tuple[int, str]]:
    return list(enumerate([*line, *[""] * (wide - len(line))]))


def moment_rows(data: dict[str, Any], system: str, starts: float) -> Rows:
    """What happened when, and because of what."""
    from core.simulation.answers import moment_words
    from core.simulation.clock_words import clock_words

    rows = []
    for moment in data["moments"]:
        when, what = clock_words(starts + moment["time_s"]), moment_words(moment, system)
        tip = f"{when}, {what}: {moment['because']}"
        key = ("at", moment["time_s"], moment["at"], tip)
        texts = (when, what, moment["because"])
        rows.append([Cell(text, key=key, tip=tip) for text in texts])
    return [Head("When"), Head("What"), Head("Because", most=1200)], rows
