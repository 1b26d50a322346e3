"""Rows of cells: a value of several parts, such as the points of a curve, each cell a field with its unit.

An empty row stands last, to be typed into; a row whose cells are all emptied goes. Nothing is committed while
a row still lacks a part and the keyboard is in the table.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from itertools import pairwise

from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtGui import QKeyEvent, QKeySequence
from PySide6.QtWidgets import QApplication, QGridLayout, QLabel, QSizePolicy, QToolButton, QWidget
from shiboken6 import isValid

from app.widgets.field import NAME_WIDTH, Line, Spread
from app.widgets.measure import scaled
from app.widgets.picks import Choice, Pick
from core.forms.tables import Column, Table, rows_of, text_of

Reading = Callable[[Column, str, str], str]
"""Column, the unit of a bare number, and a text: the value as it would be read."""
Bare = Callable[[Column, Sequence[str]], str]
"""Column and the texts in it: the unit that a bare number takes."""
Cell = Line | Pick | Choice
_PLACE = re.compile(r".*\[(\d+)\]\[(\d+)\]$")
NARROW = 54


class Cells(Spread):
    """A grid of fields over one text; `read` and `bare` say what is typed into a cell means."""

    def __init__(self, table: Table, read: Reading, bare: Bare, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._table, self._read, self._bare = table, read, bare
        self._kept = ""
        self._name = ""
        self.rows: list[list[Cell]] = []
        """Cells as they stand; the names of fixed rows are labels and no cells."""
        self._removes: list[QToolButton] = []
        self._labels: list[QLabel] = []
        self._said = QLabel(self)
        self._said.setObjectName("soft")
        self._said.hide()
        grid = self._grid = QGridLayout(self)
        grid.setContentsMargins(0, 0, 6, 0)
        grid.setHorizontalSpacing(3)
        grid.setVerticalSpacing(2)
        if not table.names or len(table.columns) > 2:
            for place, column in enumerate(table.columns):
                heading = QLabel(column.name, self)
                heading.setObjectName("soft")
                grid.addWidget(heading, 0, place)
        for place, column in enumerate(table.columns):
            grid.setColumnStretch(place, max(6, len(column.example)))
        if table.names:
            grid.setColumnStretch(0, 0)
            grid.setColumnMinimumWidth(0, scaled(self, NAME_WIDTH))
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        for name in table.names:
            self._add_row(name)
        if not table.names:
            self._add_row()
        self.setFocusProxy(self.rows[0][0])

    # ---- cells ------------------------------------------------------------------------

    def _add_row(self, name: str = "") -> None:
        number = len(self.rows)
        cells: list[Cell] = []
        for place in range(len(self._table.columns)):
            column = self._table.column(place, [name])
            if name and place == 0:
                label = QLabel(name, self)
                self._labels.append(label)
                self._grid.addWidget(label, number + 1, 0)
                continue
            cell = self._cell(column)
            self._grid.addWidget(cell, number + 1, place)
            cells.append(cell)
        self.rows.append(cells)
        if not name:
            remove = QToolButton(self)
            remove.setText("×")
            remove.setAutoRaise(True)
            remove.setFocusPolicy(Qt.FocusPolicy.NoFocus)
            remove.setToolTip(f"Take this {self._table.entry} away (Ctrl+Delete in it)")
            remove.setAccessibleName(f"Take {self._table.entry} {number + 1} away")
            remove.clicked.connect(lambda _=False, cells=cells: self._remove(cells))
            self._grid.addWidget(remove, number + 1, len(self._table.columns))
            self._removes.append(remove)
        self._grid.removeWidget(self._said)
        self._grid.addWidget(self._said, len(self.rows) + 1, 0, 1, len(self._table.columns))
        for each in cells:
            each.show()
        self._name_cells()
        self._dress()

    def _cell(self, column: Column) -> Cell:
        cell: Cell
        if column.closed:
            cell = Choice(["", *column.choices], ["", *column.choices], self)
        elif column.choices:
            cell = Pick(list(column.choices), self)
            cell.put("")
        else:
            cell = _One(self)
            cell.setPlaceholderText(f"e.g. {column.example}" if self._table.names else column.example)
            cell.wanted.connect(self._wanted)
            cell.pasted.connect(self._paste)
            cell.textEdited.connect(self._read_along)
        cell.setMinimumWidth(scaled(self, NARROW))
        cell.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        cell.committed.connect(self._left)
        cell.installEventFilter(self)
        return cell

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Ctrl+Delete in a cell that is picked from a list takes its row away too."""
        if event.type() == QEvent.Type.KeyPress and isinstance(event, QKeyEvent):
            held = event.modifiers() & Qt.KeyboardModifier.ControlModifier
            if held and event.key() == Qt.Key.Key_Delete and isinstance(watched, (Pick, Choice)):
                self._wanted("remove")
                return True
        return False

    def _name_cells(self) -> None:
        for number, row in enumerate(self.rows):
            for place, cell in enumerate(row):
                cell.setAccessibleName(self._called(number, place + self._shift))

    @property
    def _shift(self) -> int:
        """Columns that are labels."""
        return 1 if self._table.names else 0

    def _called(self, number: int, place: int) -> str:
        """`Point 2, head`."""
        names = self._table.names
        who = names[number] if names else f"{self._table.entry.capitalize()} {number + 1}"
        what = self._table.columns[place].name.lower()
        return who if names and len(self._table.columns) == 2 else f"{who}, {what}" if what else who

    def _texts(self, number: int) -> list[str]:
        names = self._table.names[number : number + 1]
        return [*names, *(cell.text_now().strip() for cell in self.rows[number])]

    def _filled(self) -> list[int]:
        """Rows in which something stands."""
        return [n for n, row in enumerate(self.rows) if any(cell.text_now().strip() for cell in row)]

    def _dress(self) -> None:
        """Units behind bare numbers; the sign that takes a row away only where there is one to take."""
        filled = self._filled()
        for place in range(len(self._table.columns) - self._shift):
            for number, row in enumerate(self.rows):
                cell = row[place]
                if isinstance(cell, Line):
                    column = self._table.column(place + self._shift, self._texts(number))
                    others = [] if self._table.names else [r[place].text_now() for r in self.rows]
                    cell.unit = self._bare(column, [cell.text_now(), *others])
        for number, button in enumerate(self._removes):
            button.setVisible(number in filled)

    # ---- an editor ----------------------------------------------------------------------

    def keep(self, text: str) -> None:
        self._kept = text

    def put(self, text: str) -> None:
        """Other rows; cells that have them already are left alone, and so is the keyboard."""
        self._kept = text
        rows = rows_of(self._table, text)
        if self._table.names:
            known = {row[0].casefold(): row for row in rows}
            blank = [""] * len(self._table.columns)
            rows = [known.get(name.casefold(), blank) for name in self._table.names]
            rows = [row[1:] for row in rows]
        else:
            while len(self.rows) <= len(rows):
                self._add_row()
            rows += [[""] * len(self._table.columns) for _ in range(len(self.rows) - len(rows))]
        for cells, texts in zip(self.rows, rows, strict=True):
            for cell, said in zip(cells, texts, strict=True):
                if cell.text_now() != said:
                    cell.put(said)
                else:
                    cell.keep(said)
        self._trim()
        self._dress()

    def _trim(self) -> None:
        """One empty row at the end, no more: rows that have the keyboard stay."""
        if self._table.names:
            return
        last = max(self._filled(), default=-1)
        while len(self.rows) > last + 2:
            cells, remove = self.rows.pop(), self._removes.pop()
            for widget in (*cells, remove):
                if widget.hasFocus():
                    self.rows[-1][0].setFocus(Qt.FocusReason.OtherFocusReason)
                self._grid.removeWidget(widget)
                widget.hide()
                widget.deleteLater()
        if len(self.rows) == last + 1:
            self._add_row()

    def text_now(self) -> str:
        return text_of(self._table, [self._texts(number) for number in self._filled()])

    def typing(self, done: bool) -> bool:
        lines = [cell for row in self.rows for cell in row]
        held = [line.lineEdit() if isinstance(line, Pick) else line for line in lines]
        touched = [one for one in held if isinstance(one, Line) or hasattr(one, "isModified")]
        typing = any(one.isModified() for one in touched)  # type: ignore[union-attr]
        if done:
            for one in touched:
                one.setModified(False)  # type: ignore[union-attr]
        return typing

    def setAccessibleName(self, name: str) -> None:
        super().setAccessibleName(name)
        self._name = name

    def mark(self, path: str, trouble: str) -> str:
        for row in self.rows:
            for cell in row:
                _show_wrong(cell, "")
        place = self._place_of(path)
        if place is None:
            return ""
        number, column = place
        _show_wrong(self.rows[number][max(0, column - self._shift)], trouble)
        return self._called(number, column)

    def mark_called(self, name: str, trouble: str) -> None:
        """Mark the cell of a name again, as `mark` gave it."""
        for number, row in enumerate(self.rows):
            for place, cell in enumerate(row):
                if self._called(number, place + self._shift) == name:
                    _show_wrong(cell, trouble)

    def _place_of(self, path: str) -> tuple[int, int] | None:
        """Row and column that a refusal names: by numbers of the filled rows, or by the name of a part."""
        found, filled = _PLACE.match(path), self._filled()
        if found and int(found[1]) < len(filled):
            return filled[int(found[1])], min(int(found[2]), len(self._table.columns) - 1)
        last = path.rpartition(".")[2].strip("[]")
        name = self._table.keys.get(last, last)
        if name in self._table.names:
            return self._table.names.index(name), len(self._table.columns) - 1
        return None

    # ---- typing -------------------------------------------------------------------------

    def _at(self) -> tuple[int, int] | None:
        """Row and place of the cell that has the keyboard."""
        focus = QApplication.focusWidget()
        found = ((n, row.index(cell)) for n, row in enumerate(self.rows) for cell in row if cell is focus)
        return next(found, None)

    def _read_along(self, text: str) -> None:
        if (at := self._at()) is None:
            return
        number, place = at
        cell = self.rows[number][place]
        assert isinstance(cell, Line), "only a line tells of letters typed"
        column = self._table.column(place + self._shift, self._texts(number))
        said = self._read(column, cell.unit, text)
        self._said.setText(said)
        self._said.setVisible(bool(said))
        if not self._table.names and number == len(self.rows) - 1 and text.strip():
            self._add_row()
            self._hold_order()

    def _hold_order(self) -> None:
        """Tab walks row by row, also through rows that were added."""
        cells = [cell for row in self.rows for cell in row]
        for one, other in pairwise(cells):
            QWidget.setTabOrder(one, other)

    def _left(self) -> None:
        """A cell was left or Return was pressed in it: commit, unless its row waits for the rest."""
        if not isValid(self._said):  # a window that closes takes the keyboard from its fields one by one
            return
        self._said.hide()
        self._dress()
        focus = QApplication.focusWidget()
        inside = focus is not None and self.isAncestorOf(focus)
        if inside and any(self._lacking(number) for number in self._filled()):
            return
        if inside and self._filled() and self._must() - set(self._filled()):
            return
        self.committed.emit()

    def _must(self) -> set[int]:
        """Named rows without which the rest means nothing."""
        return {number for number, name in enumerate(self._table.names) if name in self._table.must}

    def _lacking(self, number: int) -> list[int]:
        """Places of cells that a row must have and has not."""
        texts = self._texts(number)
        return [
            place
            for place, column in enumerate(self._table.columns)
            if column.wanted and not texts[place] and place >= self._shift
        ]

    def _remove(self, cells: list[Cell]) -> None:
        number = self.rows.index(cells)
        texts = [self._texts(n) for n in self._filled() if n != number]
        kept = self._kept
        self.put(text_of(self._table, texts))
        self._kept = kept
        self.rows[min(number, len(self.rows) - 1)][0].setFocus(Qt.FocusReason.OtherFocusReason)
        self.committed.emit()

    def _wanted(self, what: str) -> None:
        """A key in a cell: its row goes, or the keyboard goes on."""
        if (at := self._at()) is None:
            return
        (number, place), last = at, len(self.rows) - 1
        if what == "remove" and not self._table.names and number in self._filled():
            self._remove(self.rows[number])
        elif what == "on":
            lacking = [spot - self._shift for spot in self._lacking(number)] if self._texts(number) else []
            if number in self._filled() and lacking:
                self.rows[number][lacking[0]].setFocus(Qt.FocusReason.TabFocusReason)
            elif number < last:
                below = place if self._table.names else 0
                self.rows[number + 1][below].setFocus(Qt.FocusReason.TabFocusReason)
        elif what in ("up", "down"):
            to = number + (1 if what == "down" else -1)
            if 0 <= to <= last:
                self.rows[to][place].setFocus(Qt.FocusReason.TabFocusReason)
        elif what == "back" and self.text_now() != self._kept:
            self.put(self._kept)
            self.committed.emit()

    def _paste(self, text: str) -> None:
        """A piece of a table from elsewhere, cell by cell from here on."""
        if (at := self._at()) is None:
            return
        number, place = at
        for step, line in enumerate(text.strip("\n").splitlines()):
            while number + step >= len(self.rows) and not self._table.names:
                self._add_row()
            if number + step >= len(self.rows):
                break
            for further, said in enumerate(line.split("\t")):
                row = self.rows[number + step]
                if place + further < len(row):
                    row[place + further].put(said.strip())
        self._trim()
        self._hold_order()
        self._left()


def _show_wrong(cell: Cell, trouble: str) -> None:
    if cell.property("wrong") is not bool(trouble):
        cell.setProperty("wrong", bool(trouble))
        cell.style().unpolish(cell)
        cell.style().polish(cell)
    cell.setToolTip(trouble)
    cell.setAccessibleDescription(trouble)


class _One(Line):
    """A cell: Return goes on, Up and Down change the row, Ctrl+Delete takes it away."""

    wanted = Signal(str)
    pasted = Signal(str)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        key = event.key()
        held = event.modifiers() & Qt.KeyboardModifier.ControlModifier
        ways = {Qt.Key.Key_Up: "up", Qt.Key.Key_Down: "down"}
        if event.matches(QKeySequence.StandardKey.Paste):
            text = QApplication.clipboard().text()
            if "\t" in text or "\n" in text.strip("\n"):
                self.pasted.emit(text)
                return
            super().keyPressEvent(event)
        elif held and key == Qt.Key.Key_Delete:
            self.wanted.emit("remove")
        elif key in ways:
            self.wanted.emit(ways[Qt.Key(key)])
        elif key in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            super().keyPressEvent(event)
            self.wanted.emit("on")
        elif key == Qt.Key.Key_Escape:
            if self.text() != self._kept:
                self.put(self._kept)
            else:
                event.ignore()
            self.wanted.emit("back")
        else:
            super().keyPressEvent(event)
