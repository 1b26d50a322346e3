"""The one table of the pages under the board: first column in place, sorted, narrowed, copied.

A click on a head sorts by it, numbers by their value; a third one gives the first order back. Letters typed
narrow the rows, Escape shows all. Ctrl+C copies the rows that are selected, as tabs and as CSV at once.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator, Sequence

from PySide6.QtCore import QMimeData, QModelIndex, QPersistentModelIndex, QPoint, QRect, Qt, QTimer, Signal
from PySide6.QtGui import (
    QContextMenuEvent,
    QGuiApplication,
    QKeyEvent,
    QKeySequence,
    QPainter,
    QPaintEvent,
    QResizeEvent,
)
from PySide6.QtWidgets import (
    QAbstractItemView,
    QFrame,
    QHeaderView,
    QLabel,
    QLineEdit,
    QMenu,
    QStyleOptionViewItem,
    QTreeWidget,
    QTreeWidgetItem,
    QWidget,
)

from app.widgets.measure import scaled

PLACE = Qt.ItemDataRole.UserRole + 90
KEPT_OUT = Qt.ItemDataRole.UserRole + 91
"""Where a row stood before it was sorted; whether the letters typed keep it out of sight."""
_NUMBER = re.compile(r"[-+−~≈]?\s*\d[\d,]*\.?\d*")
CSV_MIME, TSV_MIME = "text/csv", "text/tab-separated-values"


def order_of(text: str) -> tuple[int, float, str]:
    """What a cell is sorted by: the number it begins with, else its letters; empty ones last.

    Examples
    --------
    >>> sorted(["P-10", "P-2", "9.5 gpm", "~12 gpm", ""], key=order_of)
    ['9.5 gpm', '~12 gpm', 'P-2', 'P-10', '']
    """
    plain = text.strip()
    if not plain:
        return 2, 0.0, ""
    if found := _NUMBER.match(plain):
        digits = re.sub(r"[^\d.]", "", found[0])
        value = float(digits) if digits not in ("", ".") else 0.0
        return 0, -value if found[0][0] in "-−" else value, plain.lower()
    return 1, 0.0, re.sub(r"\d+", lambda digits: digits[0].zfill(9), plain.lower())


class _Letters(QLineEdit):
    """Letters that narrow a table. `left`: Return and Down go to the rows, Escape shows all of them again."""

    left = Signal(bool)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() in (Qt.Key.Key_Escape, Qt.Key.Key_Down, Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.left.emit(event.key() == Qt.Key.Key_Escape)
        else:
            super().keyPressEvent(event)


class TableRow(QTreeWidgetItem):
    """A row that sorts by the column its table is sorted by."""

    def __lt__(self, other: QTreeWidgetItem) -> bool:
        table = self.treeWidget()
        column = table.sorted_by if isinstance(table, Table) else -1
        if column < 0:
            return int(self.data(0, PLACE) or 0) < int(other.data(0, PLACE) or 0)
        return order_of(self.text(column)) < order_of(other.text(column))


class Table(QTreeWidget):
    """Rows are `TableRow`s; a pane fills it as it fills any tree."""

    def __init__(self, name: str, heads: Sequence[str], widths: Sequence[int], parent: QWidget) -> None:
        super().__init__(parent)
        self.setAccessibleName(name)
        self.sorted_by, self._down = -1, False
        self.setColumnCount(len(heads))
        self.setHeaderLabels(list(heads))
        self.setRootIsDecorated(False)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setTextElideMode(Qt.TextElideMode.ElideRight)
        self.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.setHorizontalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        for column, wide in enumerate(widths):
            self.setColumnWidth(column, scaled(self, wide))
        head = self.header()
        head.setSectionsClickable(True)
        head.setSortIndicatorShown(True)
        head.setSortIndicator(-1, Qt.SortOrder.AscendingOrder)
        head.sectionClicked.connect(self.sort_by)
        head.setToolTip("Click: sort by this. Type letters in the table: only rows that have them")
        head.sectionResized.connect(lambda *_: self._place_corner())
        head.setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        self._corner = QLabel(self)
        self._corner.setAutoFillBackground(True)
        self._corner.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        self._corner.hide()
        self.narrow = _Letters(self)
        self.narrow.setAccessibleName(f"Only rows of {name} with these letters")
        self.narrow.setPlaceholderText("Only rows with")
        self.narrow.setClearButtonEnabled(True)
        self.narrow.textChanged.connect(lambda _text: self._narrow())
        self.narrow.left.connect(self._leave_narrow)
        self.narrow.hide()
        self.horizontalScrollBar().valueChanged.connect(lambda _x: self._scrolled())
        self._again = QTimer(self)
        self._again.setSingleShot(True)
        self._again.timeout.connect(self._arrange)
        self.model().rowsInserted.connect(lambda *_: self._again.start(0))

    # ---- rows ---------------------------------------------------------------------------

    def every(self) -> Iterator[QTreeWidgetItem]:
        """The rows of the first level, as they stand."""
        for place in range(self.topLevelItemCount()):
            if (row := self.topLevelItem(place)) is not None:
                yield row

    def _arrange(self) -> None:
        """What was filled in anew is numbered, sorted and narrowed as before."""
        blocked = self.blockSignals(True)  # a place is nothing that a pane should hear of
        for place, row in enumerate(self.every()):
            if self.sorted_by < 0 or row.data(0, PLACE) is None:
                row.setData(0, PLACE, place)
        self.blockSignals(blocked)
        self.sort_again()
        if self.narrow.text():
            self._narrow()

    def sort_by(self, column: int) -> None:
        """Up, then down, then as it was."""
        self._arrange()
        if column != self.sorted_by:
            self.sorted_by, self._down = column, False
        elif not self._down:
            self._down = True
        else:
            self.sorted_by, self._down = -1, False
        order = Qt.SortOrder.DescendingOrder if self._down else Qt.SortOrder.AscendingOrder
        self.header().setSortIndicator(self.sorted_by, order)
        self._sort()

    def sort_again(self) -> None:
        """Sort what was filled in since, where a column was chosen."""
        if self.sorted_by >= 0:
            self._sort()

    def _sort(self) -> None:
        order = Qt.SortOrder.DescendingOrder if self._down else Qt.SortOrder.AscendingOrder
        blocked = self.blockSignals(True)  # the row in sight stays the same one
        self.invisibleRootItem().sortChildren(max(self.sorted_by, 0), order)
        self.blockSignals(blocked)
        if (row := self.currentItem()) is not None:
            self.scrollToItem(row)

    # ---- narrowing ----------------------------------------------------------------------

    def keyboardSearch(self, search: str) -> None:
        """Letters begin to narrow the table."""
        if search.strip():
            self.narrow.setText(self.narrow.text() + search)
            self._show_narrow()

    def _show_narrow(self) -> None:
        self.narrow.show()
        self._place_narrow()
        self.narrow.raise_()
        self.narrow.setFocus(Qt.FocusReason.OtherFocusReason)
        self.narrow.end(False)

    def _leave_narrow(self, all_again: bool) -> None:
        if all_again:
            self.narrow.clear()
            self.narrow.hide()
        self.setFocus(Qt.FocusReason.OtherFocusReason)

    def _narrow(self) -> None:
        """Hide what lacks the letters; what a pane has hidden itself stays so."""
        wanted = self.narrow.text().lower().split()
        blocked = self.blockSignals(True)
        for row in self.every():
            said = " ".join(_texts(row)).lower()
            fits = all(word in said for word in wanted)
            if fits and row.data(0, KEPT_OUT):
                row.setHidden(False)
                row.setData(0, KEPT_OUT, None)
            elif not fits and not row.isHidden():
                row.setHidden(True)
                row.setData(0, KEPT_OUT, True)
        self.blockSignals(blocked)

    # ---- copying ------------------------------------------------------------------------

    def rows_as_text(self, selected: bool = False) -> list[list[str]]:
        """Heads and cells in sight; of the selected rows only, where that is asked and there are some."""
        columns = [column for column in range(self.columnCount()) if not self.isColumnHidden(column)]
        head = self.headerItem()
        some = selected and bool(self.selectedItems())
        rows = (row for row in self.every() if not row.isHidden() and (row.isSelected() or not some))
        return [
            [head.text(column) for column in columns],
            *([row.text(column) for column in columns] for row in rows),
        ]

    def copy(self, selected: bool = False) -> None:
        """Onto the clipboard, as tabs and as CSV: a spreadsheet takes either."""
        rows = self.rows_as_text(selected)
        out = io.StringIO()
        csv.writer(out, lineterminator="\r\n").writerows(rows)
        tabs = "\n".join("\t".join(" ".join(cell.split()) for cell in row) for row in rows) + "\n"
        data = QMimeData()
        data.setText(tabs)
        data.setData(TSV_MIME, tabs.encode())
        data.setData(CSV_MIME, out.getvalue().encode())
        QGuiApplication.clipboard().setMimeData(data)

    def copy_csv(self) -> None:
        """All rows in sight as CSV alone, for what takes plain text."""
        out = io.StringIO()
        csv.writer(out, lineterminator="\n").writerows(self.rows_as_text())
        QGuiApplication.clipboard().setText(out.getvalue())

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.matches(QKeySequence.StandardKey.Copy):
            self.copy(selected=True)
        elif event.key() == Qt.Key.Key_Escape and self.narrow.text():
            self._leave_narrow(True)
        else:
            super().keyPressEvent(event)

    def contextMenuEvent(self, event: QContextMenuEvent) -> None:
        menu = QMenu(self)
        menu.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        menu.addAction("Copy the row", lambda: self.copy(selected=True))
        menu.addAction("Copy the table", self.copy)
        menu.addAction("Copy the table as CSV", self.copy_csv)
        menu.addSeparator()
        menu.addAction("Only rows with…", self._show_narrow)
        menu.addAction("As it was sorted first", self._unsort)
        menu.popup(event.globalPos())

    def _unsort(self) -> None:
        if self.sorted_by >= 0:
            self._down = True
            self.sort_by(self.sorted_by)

    # ---- the first column stays -----------------------------------------------------------

    def _aside(self) -> int:
        """How far the columns are pushed to the left [px]."""
        return self.horizontalScrollBar().value() if self.horizontalScrollBar().maximum() else 0

    def _scrolled(self) -> None:
        self._place_corner()
        self.viewport().update()

    def visualRect(self, index: QModelIndex | QPersistentModelIndex) -> QRect:
        rect = super().visualRect(index)
        return rect.translated(self._aside(), 0) if index.column() == 0 else rect

    def indexAt(self, place: QPoint) -> QModelIndex:
        if self._aside() and place.x() < self.columnWidth(0):
            place = QPoint(place.x() - self._aside(), place.y())
        return super().indexAt(place)

    def paintEvent(self, event: QPaintEvent) -> None:
        super().paintEvent(event)
        if not self._aside():
            return
        painter = QPainter(self.viewport())
        wide = self.columnWidth(0)
        painter.fillRect(QRect(0, 0, wide, self.viewport().height()), self.palette().window())
        index = super().indexAt(QPoint(-self._aside() + 1, 1))
        while index.isValid():
            option = QStyleOptionViewItem()
            self.initViewItemOption(option)
            option.rect = self.visualRect(index.siblingAtColumn(0))
            if option.rect.top() > self.viewport().height():
                break
            if self.selectionModel().isSelected(index):
                option.state |= QStyleOptionViewItem().state.State_Selected
            self.itemDelegate().paint(painter, option, index.siblingAtColumn(0))
            index = self.indexBelow(index)
        painter.setPen(self.palette().mid().color())
        painter.drawLine(wide - 1, 0, wide - 1, self.viewport().height())
        painter.end()

    def _place_corner(self) -> None:
        """The head of the first column, over the heads that went by under it."""
        head: QHeaderView = self.header()
        self._corner.setVisible(bool(self._aside()))
        self._corner.setText(self.headerItem().text(0))
        self._corner.setIndent(4)
        self._corner.setGeometry(head.x(), head.y(), self.columnWidth(0), head.height() - 1)
        self._corner.raise_()

    def _place_narrow(self) -> None:
        size = self.narrow.sizeHint()
        self.narrow.setGeometry(self.width() - size.width() - 12, self.height() - size.height() - 4,
                                size.width(), size.height())  # fmt: skip

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._place_corner()
        self._place_narrow()


def _texts(row: QTreeWidgetItem) -> Iterator[str]:
    """What stands in a row and in those below it."""
    yield from (row.text(column) for column in range(row.columnCount()))
    for place in range(row.childCount()):
        if (below := row.child(place)) is not None:
            yield from _texts(below)
