"""A grid of runs on screen: a map whose acceptable area is outlined, a cell chosen by click or keys.

What is beyond its limits is hatched, what is not made yet is empty: never by colour alone.
"""

from __future__ import annotations

from PySide6.QtCore import QLineF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QBrush, QKeyEvent, QMouseEvent, QPainter, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.pens import LIGHT, Palette, pen, text_width
from app.widgets.plot import paint_words
from core.diagram.geometry import Box
from core.diagram.sweep_map import Place, SweepChart, SweepMap, lay_out_map

STEPS = {
    Qt.Key.Key_Left: (0, -1), Qt.Key.Key_Right: (0, 1), Qt.Key.Key_Up: (-1, 0), Qt.Key.Key_Down: (1, 0),
}  # fmt: skip


def paint_map(painter: QPainter, chart: SweepChart, laid: SweepMap, palette: Palette) -> None:
    """A laid-out map."""
    for place, box in laid.boxes.items():
        rect = QRectF(box.x0, box.y0, box.width, box.height)
        cell = chart.cells.get(place)
        if cell is not None and not cell.ok:
            painter.fillRect(rect, QBrush(palette.faint, Qt.BrushStyle.BDiagPattern))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(pen(palette.rule, 0.8))
        painter.drawRect(rect)
    painter.setPen(pen(palette.ink, 3.0))
    for a, b in laid.outline:
        painter.drawLine(QLineF(*a, *b))
    for row in laid.texts:
        wide = text_width(row.text, row.size, row.bold)
        painter.fillRect(QRectF(row.x - 1, row.y - 0.85 * row.size, wide + 2, 1.1 * row.size), palette.field)
        paint_words(painter, row, palette)


class SweepMapView(QWidget):
    """The map; `chosen` tells of a cell that was clicked, or gone to with the keys."""

    chosen = Signal(int, int)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._chart, self._palette = SweepChart(), LIGHT
        self._laid: SweepMap | None = None
        self.at: Place | None = None
        self.setAccessibleName("Map of the sweep")
        self.setToolTip(
            "A cell a run; the outline holds those that keep all limits. Click one: what it says."
        )
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setMinimumSize(200, 90)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)

    def sizeHint(self) -> QSize:
        return QSize(560, 240)

    def show_chart(self, chart: SweepChart, palette: Palette, spoken: str = "") -> None:
        """Show a map; `spoken` says it for those who do not see it."""
        if (chart.rows, chart.columns) != (self._chart.rows, self._chart.columns):
            self.at = None
        self._chart, self._palette, self._laid = chart, palette, None
        self.setAccessibleDescription(spoken)
        self.update()

    @property
    def chart(self) -> SweepChart:
        return self._chart

    def laid(self) -> SweepMap:
        """The map laid out for the widget as it is."""
        if self._laid is None:
            area = Box(4.0, 2.0, self.width() - 6.0, self.height() - 4.0)
            self._laid = lay_out_map(self._chart, area, text_width, 11.0)
        return self._laid

    def resizeEvent(self, event: object) -> None:
        self._laid = None

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.fillRect(self.rect(), self._palette.field)
        if not self._chart.rows:
            painter.setPen(self._palette.soft)
            inner = self.rect().adjusted(14, 8, -14, -8)
            flags = Qt.AlignmentFlag.AlignCenter | Qt.TextFlag.TextWordWrap
            painter.drawText(inner, int(flags), self._chart.empty)
        else:
            paint_map(painter, self._chart, self.laid(), self._palette)
            if self.at is not None:
                box = self.laid().boxes[self.at].grown(-3.0)
                painter.setBrush(Qt.BrushStyle.NoBrush)
                painter.setPen(pen(self._palette.accent, 2.0))
                painter.drawRect(QRectF(box.x0, box.y0, box.width, box.height))
        if self.hasFocus():
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.setPen(pen(self._palette.accent, 2.0))
            painter.drawRect(QRectF(self.rect()).adjusted(1, 1, -1, -1))
        painter.end()

    def choose(self, place: Place) -> None:
        """Mark a cell and tell of it."""
        if place in self.laid().boxes and self._chart.rows:
            self.at = place
            self.chosen.emit(*place)
            self.update()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        found = self.laid().at(event.position().x(), event.position().y())
        if found is not None and event.button() == Qt.MouseButton.LeftButton:
            self.choose(found)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        step = STEPS.get(Qt.Key(event.key()))
        if step is None or not self._chart.rows:
            super().keyPressEvent(event)
        else:
            at = self.at or (0, 0)
            self.choose((at[0] + step[0], at[1] + step[1]) if self.at is not None else (0, 0))

    def focusInEvent(self, event: object) -> None:
        self.update()

    def focusOutEvent(self, event: object) -> None:
        self.update()
