"""The small table beside a circulator's curves, and the list of places for a second one. No study here."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QRectF, QSize, Qt, Signal
from PySide6.QtGui import QBrush, QFont, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QAbstractItemView, QFrame, QSizePolicy, QTreeWidget, QTreeWidgetItem, QWidget

from app.pens import LIGHT, Palette, pen
from app.widgets.plot import paint_shape
from core import units
from core.sizing.second_circulator.chart import Row, Scale, figure
from core.sizing.second_circulator.found import Found

PLACE = Qt.ItemDataRole.UserRole
ROW = 20
COLUMNS = ("Place", "Gain", "", "W", "Fits")
FITS = {"yes": "yes", "no": "no", "unknown": "?"}


class PairTable(QWidget):
    """One, two in series, two in parallel: flow, head, watts, each with its shape in the plot."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._rows: tuple[Row, ...] = ()
        self._palette: Palette = LIGHT
        self._display = "us"
        self._title = ""
        self.setAccessibleName("One circulator and two")
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def show_rows(self, title: str, rows: Sequence[Row], display: str, palette: Palette, spoken: str) -> None:
        self._title, self._rows, self._display, self._palette = title, tuple(rows), display, palette
        self.setAccessibleDescription(spoken)
        self.updateGeometry()
        self.update()

    def sizeHint(self) -> QSize:
        return QSize(230, ROW * (1 + max(len(self._rows), 1)) + 4)

    minimumSizeHint = sizeHint

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        scale = Scale(self._display)
        bold = QFont(self.font())
        bold.setBold(True)
        heads = (units.sign_of(scale.flow_unit), units.sign_of(scale.head_unit), "W")
        self._line(painter, 0, self._title, heads, bold)
        painter.setPen(pen(self._palette.rule, 1.0))
        painter.drawLine(0, ROW, self.width(), ROW)
        for number, row in enumerate(self._rows, 1):
            flow, head = scale.point((row.flow, row.head))
            cells = (figure(flow), figure(head), "–" if row.power is None else f"{row.power:.0f}")
            self._line(painter, number, row.words, cells, self.font(), indent=20.0)
            painter.setPen(pen(self._palette.ink, 1.4))
            painter.setBrush(QBrush(self._palette.panel if row.hollow else self._palette.ink))
            paint_shape(painter, row.shape, (8.0, number * ROW + ROW / 2 + 1), 4.5)
        if not self._rows:
            self._line(painter, 1, "off in this case" if self._title else "", (), self.font())
        painter.end()

    def _line(
        self,
        painter: QPainter,
        number: int,
        words: str,
        cells: Sequence[str],
        font: QFont,
        indent: float = 0.0,
    ) -> None:
        painter.setFont(font)
        painter.setPen(QPen(self._palette.ink))
        top, wide = number * ROW + 1.0, min(52.0, (self.width() - 90.0) / 3.0)
        level = Qt.AlignmentFlag.AlignVCenter
        room = self.width() - indent - wide * len(cells)
        shown = painter.fontMetrics().elidedText(words, Qt.TextElideMode.ElideRight, int(room))
        painter.drawText(QRectF(indent, top, room, ROW), level | Qt.AlignmentFlag.AlignLeft, shown)
        for k, text in enumerate(cells):
            x = self.width() - wide * (len(cells) - k)
            painter.drawText(QRectF(x, top, wide - 4.0, ROW), level | Qt.AlignmentFlag.AlignRight, text)


class PlaceList(QTreeWidget):
    """Places for a second circulator, best first; other curves at a place lie under it."""

    chosen = Signal(object)
    """The Found under the cursor, or None."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName("Places for a second circulator, best first")
        self.setHeaderLabels(list(COLUMNS))
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.setUniformRowHeights(True)
        self.setIndentation(14)
        header = self.header()
        header.setStretchLastSection(False)
        header.setSectionResizeMode(0, header.ResizeMode.Stretch)
        for column in range(1, len(COLUMNS)):
            header.setSectionResizeMode(column, header.ResizeMode.ResizeToContents)
            if column < 4:
                self.headerItem().setTextAlignment(column, Qt.AlignmentFlag.AlignRight)
        self.currentItemChanged.connect(lambda now, _before: self.chosen.emit(found_of(now)))

    def show_places(self, places: Sequence[Found], display: str) -> None:
        """Fill the list; the place under the cursor stays there if it still is one."""
        before = found_of(self.currentItem())
        open_ones = {self._key(found_of(row)) for row in self._rows() if row.isExpanded()}
        self.blockSignals(True)
        self.clear()
        kept: QTreeWidgetItem | None = None
        for one in places:
            row = self._row(one, one.short, display)
            self.addTopLevelItem(row)
            for other in one.others:
                row.addChild(self._row(other, other.pump.title, display))
            row.setExpanded(self._key(one) in open_ones)
            for line in (row, *(row.child(k) for k in range(row.childCount()))):
                if before is not None and self._key(found_of(line)) == self._key(before):
                    kept = line
        if kept is None and self.topLevelItemCount():
            kept = self.topLevelItem(0)
        self.blockSignals(False)
        if kept is not None:
            self.setCurrentItem(kept)
        self.chosen.emit(found_of(kept))

    def _rows(self) -> list[QTreeWidgetItem]:
        rows = [self.topLevelItem(k) for k in range(self.topLevelItemCount())]
        return [row for row in rows if row is not None]

    @staticmethod
    def _key(one: Found | None) -> tuple[str, str, str]:
        return ("", "", "") if one is None else (one.place.how, one.place.at, one.pump.name)

    @staticmethod
    def _row(one: Found, words: str, display: str) -> QTreeWidgetItem:
        gain = "–" if one.gain is None else units.show(one.gain, "flow", display)
        share = "" if one.gain_share is None else signed(one.gain_share)
        watts = "–" if one.power is None else f"{one.power:.0f}"
        row = QTreeWidgetItem([words, gain, share, watts, FITS[one.fit.fits]])
        row.setData(0, PLACE, one)
        for column in (1, 2, 3):
            row.setTextAlignment(column, Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        row.setToolTip(0, f"{one.title}: {one.verdict}")
        row.setToolTip(4, one.fit.words)
        if one.worth:
            font = QFont()
            font.setBold(True)
            row.setFont(0, font)
        return row


def signed(share: float) -> str:
    """A share with its sign and a real minus; nothing is neither more nor less."""
    return "0%" if abs(share) < 0.005 else f"{share:+.0%}".replace("-", "−")


def found_of(row: QTreeWidgetItem | None) -> Found | None:
    """The place a row stands for."""
    return None if row is None else row.data(0, PLACE)
