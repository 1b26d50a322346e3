"""A table of figures and marks: a filled disc runs, a dash rests. Paints cells; knows no plants."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from PySide6.QtCore import (
    QAbstractTableModel,
    QModelIndex,
    QPersistentModelIndex,
    QPointF,
    QRectF,
    Qt,
    Signal,
)
from PySide6.QtGui import QFont, QKeyEvent, QPainter, QPalette, QPen
from PySide6.QtWidgets import (
    QAbstractItemView,
    QFrame,
    QStyle,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QTableView,
    QWidget,
)

from app.pens import board_font

Index = QModelIndex | QPersistentModelIndex
ROW, DISC, PAD = 22, 4.5, 6.0
MOST_MEASURED = 300  # rows whose text is measured for a column's width


@dataclass(frozen=True)
class Cell:
    """What stands in one place.

    `mark` is "disc", "dash", "ring" (mentioned, not simply) or nothing; `heavy` the worst or the short one;
    `soft` what is not so any more, or secondary; `key` what a click on it is about.
    """

    text: str = ""
    mark: str = ""
    heavy: bool = False
    soft: bool = False
    right: bool = False
    tip: str = ""
    spoken: str = ""
    key: Any = None


@dataclass(frozen=True)
class Head:
    """Heading of a column; `rule` draws a line at its left, `most` is its greatest width."""

    text: str
    tip: str = ""
    rule: bool = False
    most: int = 460


class _Model(QAbstractTableModel):
    def __init__(self) -> None:
        super().__init__()
        self.heads: tuple[Head, ...] = ()
        self.rows: list[tuple[Cell, ...]] = []

    def rowCount(self, parent: Index | None = None) -> int:
        return 0 if parent is not None and parent.isValid() else len(self.rows)

    def columnCount(self, parent: Index | None = None) -> int:
        return 0 if parent is not None and parent.isValid() else len(self.heads)

    def cell(self, index: Index) -> Cell:
        return self.rows[index.row()][index.column()]

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        if not index.isValid():
            return None
        cell = self.cell(index)
        if role in (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.EditRole):
            return cell.text
        if role == Qt.ItemDataRole.ToolTipRole:
            return cell.tip or None
        if role == Qt.ItemDataRole.AccessibleTextRole:
            return cell.spoken or cell.text or {"disc": "runs", "dash": "off"}.get(cell.mark, "")
        return None

    def headerData(
        self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole
    ) -> Any:
        if orientation != Qt.Orientation.Horizontal or section >= len(self.heads):
            return None
        if role == Qt.ItemDataRole.DisplayRole:
            return self.heads[section].text
        if role == Qt.ItemDataRole.TextAlignmentRole:
            sample = next(
                (row[section] for row in self.rows if row[section].text or row[section].mark), Cell()
            )
            middle = Qt.AlignmentFlag.AlignHCenter if sample.mark else Qt.AlignmentFlag.AlignLeft
            return (Qt.AlignmentFlag.AlignRight if sample.right else middle) | Qt.AlignmentFlag.AlignVCenter
        return self.heads[section].tip or None if role == Qt.ItemDataRole.ToolTipRole else None

    def show_rows(self, heads: Sequence[Head], rows: Sequence[Sequence[Cell]]) -> list[int] | None:
        """Put rows in; the numbers of those that changed, or None where the shape of the table did."""
        fresh = [tuple(row) for row in rows]
        if tuple(heads) != self.heads or len(fresh) != len(self.rows):
            self.beginResetModel()
            self.heads, self.rows = tuple(heads), fresh
            self.endResetModel()
            return None
        changed = [n for n, (old, new) in enumerate(zip(self.rows, fresh, strict=True)) if old != new]
        self.rows = fresh
        for n in changed:
            self.dataChanged.emit(self.index(n, 0), self.index(n, len(self.heads) - 1))
        return changed


class _Painter(QStyledItemDelegate):
    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        model = index.model()
        assert isinstance(model, _Model)
        cell, box, colours = model.cell(index), QRectF(option.rect), option.palette
        painter.save()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        ink = colours.color(QPalette.ColorRole.Text)
        soft = colours.color(QPalette.ColorRole.PlaceholderText)
        if option.state & QStyle.StateFlag.State_Selected:
            painter.fillRect(box, colours.base())
        if model.heads[index.column()].rule:
            painter.setPen(QPen(colours.color(QPalette.ColorRole.Mid), 1))
            painter.drawLine(box.topLeft(), box.bottomLeft())
        self._mark(painter, cell, box, ink, soft)
        if cell.text:
            font = QFont(option.font)
            font.setBold(cell.heavy)
            painter.setFont(font)
            painter.setPen(soft if cell.soft else ink)
            room = box.adjusted(PAD, 0, -PAD, 0)
            text = painter.fontMetrics().elidedText(
                cell.text, Qt.TextElideMode.ElideRight, round(room.width()) + 2
            )
            side = Qt.AlignmentFlag.AlignRight if cell.right else Qt.AlignmentFlag.AlignLeft
            painter.drawText(room, side | Qt.AlignmentFlag.AlignVCenter, text)
        if option.state & QStyle.StateFlag.State_HasFocus:
            painter.setPen(QPen(colours.color(QPalette.ColorRole.Highlight), 2))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRect(box.adjusted(1, 1, -1, -1))
        painter.restore()

    def _mark(self, painter: QPainter, cell: Cell, box: QRectF, ink: Any, soft: Any) -> None:
        centre = QPointF(box.center())
        if cell.mark in ("disc", "ring"):
            painter.setPen(QPen(soft if cell.soft else ink, 1.4))
            fill = cell.mark == "disc"
            painter.setBrush((soft if cell.soft else ink) if fill else Qt.BrushStyle.NoBrush)
            painter.drawEllipse(centre, DISC, DISC)
        elif cell.mark == "dash":
            painter.setPen(QPen(soft, 1.4))
            painter.drawLine(centre - QPointF(3.5, 0), centre + QPointF(3.5, 0))


class FigureTable(QTableView):
    """Emits `picked` with the key of a cell that was clicked or taken with Return or Space."""

    picked = Signal(object)
    moved = Signal(int)
    """The row the cursor stands in now."""

    def __init__(self, words: str, parent: QWidget | None = None, whole_rows: bool = True) -> None:
        super().__init__(parent)
        self.setAccessibleName(words)
        self.table = _Model()
        self.setModel(self.table)
        self.setItemDelegate(_Painter(self))
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setShowGrid(False)
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        behaviour = QAbstractItemView.SelectionBehavior
        self.setSelectionBehavior(behaviour.SelectRows if whole_rows else behaviour.SelectItems)
        self.setTabKeyNavigation(False)
        self.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerItem)
        self.setHorizontalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.setAutoFillBackground(False)
        self.viewport().setAutoFillBackground(False)
        self.verticalHeader().hide()
        self.verticalHeader().setDefaultSectionSize(ROW)
        self.verticalHeader().setMinimumSectionSize(ROW)
        header = self.horizontalHeader()
        header.setMinimumSectionSize(18)
        header.setHighlightSections(False)
        header.setSectionsClickable(False)
        header.setStretchLastSection(True)
        narrow = board_font(12)
        header.setFont(narrow)
        header.setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        self.clicked.connect(self._pick)

    def show_rows(self, heads: Sequence[Head], rows: Sequence[Sequence[Cell]]) -> None:
        """Rows under their headings; cursor and scroll stay where they were."""
        at, top = self.currentIndex(), self.verticalScrollBar().value()
        row, column = at.row(), at.column()
        changed = self.table.show_rows(heads, rows)
        self._fit(changed)
        if changed is None:
            if 0 <= row < len(rows) and 0 <= column < len(heads):
                self.setCurrentIndex(self.table.index(row, column))
            self.verticalScrollBar().setValue(top)

    def _fit(self, changed: list[int] | None) -> None:
        """As wide as the widest text of a column; wider where changed rows need it, never narrower then."""
        fine, narrow = self.fontMetrics(), self.horizontalHeader().fontMetrics()
        rows = self.table.rows if changed is None else [self.table.rows[n] for n in changed]
        for n, head in enumerate(self.table.heads):
            least = narrow.horizontalAdvance(head.text) + 12 if changed is None else self.columnWidth(n)
            wide = float(max(least, 28))
            for row in rows[:MOST_MEASURED]:
                if row[n].text:
                    heavier = 1.08 if row[n].heavy else 1.0
                    wide = max(wide, fine.horizontalAdvance(row[n].text) * heavier + 2 * PAD + 4)
            wide = round(min(wide, head.most))
            if wide != self.columnWidth(n):
                self.setColumnWidth(n, wide)

    def rows_in_sight(self) -> list[int]:
        """Numbers of the rows the viewport shows."""
        high = self.viewport().height()
        first = max(self.rowAt(0), 0)
        last = self.rowAt(high - 1)
        last = last if last >= 0 else min(first + high // ROW, len(self.table.rows) - 1)
        return list(range(first, last + 1))

    def cell_at(self, row: int, column: int) -> Cell:
        return self.table.rows[row][column]

    def texts(self) -> list[list[str]]:
        """Every row as text, marks as "●" and "-"."""
        marks = {"disc": "●", "dash": "-", "ring": "○", "": ""}
        return [[marks[cell.mark] + cell.text for cell in row] for row in self.table.rows]

    def keyPressEvent(self, event: QKeyEvent) -> None:
        at = self.currentIndex()
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Space) and at.isValid():
            self._pick(at)
            return
        super().keyPressEvent(event)

    def currentChanged(self, current: Index, previous: Index) -> None:
        super().currentChanged(current, previous)
        if current.row() != previous.row():
            self.moved.emit(current.row())

    def _pick(self, index: Index) -> None:
        cell = self.table.cell(index)
        if cell.key is not None:
            self.picked.emit(cell.key)
