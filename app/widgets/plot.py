"""Paints a laid-out plot (`core.diagram.axes`) in ink, on screen and paper alike, and shows one as a widget.

Curves are told apart by dash, points by shape; colour carries nothing.
"""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QLineF, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QBrush, QKeyEvent, QMouseEvent, QPainter, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.pens import LIGHT, Palette, board_font, paint_placed, pen, text_width
from core.diagram.axes import SPOT, Chart, Line, Plot, Shape, Spot, lay_out
from core.diagram.geometry import Box, Point, Polyline
from core.diagram.spots import Row

WEIGHTS: dict[Line, float] = {
    "solid": 2.0, "long_dash": 1.8, "dash_dot": 1.8, "thin": 1.0, "dotted": 1.4,
}  # fmt: skip
DASHES: dict[Line, tuple[float, ...]] = {
    "solid": (), "long_dash": (9.0, 5.0), "dash_dot": (9.0, 4.0, 1.6, 4.0), "thin": (), "dotted": (1.6, 3.2),
}  # fmt: skip


def paint_plot(painter: QPainter, plot: Plot, palette: Palette) -> None:
    """A laid-out plot; the painter's unit is the plot's, scaled for paper by the caller."""
    scale = plot.size / 10.0
    f = plot.frame
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.setPen(pen(palette.faint, 0.8 * scale))
    for a, b in plot.grid:
        painter.drawLine(QLineF(QPointF(*a), QPointF(*b)))
    painter.setPen(pen(palette.ink, 1.2 * scale))
    painter.drawPolyline(QPolygonF([QPointF(f.x0, f.y0), QPointF(f.x0, f.y1), QPointF(f.x1, f.y1)]))
    for line, runs in plot.lines:
        for run in runs:
            paint_line(painter, line, run, palette, scale)
    for placed in plot.names:
        # Grid lines stop beside a name, so that every letter stands on clear ground.
        box = placed.box
        painter.fillRect(QRectF(box.x0 - 1, box.y0, box.width + 2, box.height), palette.field)
    for spot, at in plot.spots:
        paint_spot(painter, spot, at, palette, scale)
    for placed in plot.names:
        paint_placed(painter, placed, palette)
    for words in plot.words:
        paint_words(painter, words, palette)
    for line, row, sample in plot.keyed:
        paint_line(painter, line, sample, palette, scale)
        paint_words(painter, row, palette)


def paint_line(painter: QPainter, line: Line, run: Polyline, palette: Palette, scale: float = 1.0) -> None:
    """A curve, or a piece of one for a key."""
    painter.setBrush(Qt.BrushStyle.NoBrush)
    dash = tuple(part * scale for part in DASHES[line])
    painter.setPen(pen(palette.ink, WEIGHTS[line] * scale, dash))
    painter.drawPolyline(QPolygonF([QPointF(x, y) for x, y in run]))


def paint_spot(painter: QPainter, spot: Spot, at: Point, palette: Palette, scale: float = 1.0) -> None:
    """A point in its shape, filled with ink or hollow."""
    painter.setPen(pen(palette.ink, 1.4 * scale))
    painter.setBrush(QBrush(palette.field if spot.hollow else palette.ink))
    paint_shape(painter, spot.shape, at, SPOT * scale)


def paint_shape(painter: QPainter, shape: Shape, at: Point, half: float) -> None:
    """Disc, square, triangle or diamond about a place, with pen and brush as they are."""
    x, y = at
    if shape == "disc":
        painter.drawEllipse(QPointF(x, y), half, half)
    elif shape == "square":
        painter.drawRect(QRectF(x - 0.9 * half, y - 0.9 * half, 1.8 * half, 1.8 * half))
    elif shape == "triangle":
        corners = [(x, y - 1.2 * half), (x + 1.1 * half, y + 0.75 * half), (x - 1.1 * half, y + 0.75 * half)]
        painter.drawPolygon(QPolygonF([QPointF(*c) for c in corners]))
    else:
        corners = [(x, y - 1.2 * half), (x + 1.2 * half, y), (x, y + 1.2 * half), (x - 1.2 * half, y)]
        painter.drawPolygon(QPolygonF([QPointF(*c) for c in corners]))


def paint_words(painter: QPainter, row: Row, palette: Palette) -> None:
    """A line of text at any scale: fonts know whole pixels only, so the painter is scaled instead."""
    painter.save()
    painter.translate(row.x, row.y)
    painter.scale(row.size / 100.0, row.size / 100.0)
    painter.setPen(QPen(palette.ink))
    painter.setFont(board_font(100, row.bold))
    painter.drawText(QPointF(0.0, 0.0), row.text)
    painter.restore()


class PlotView(QWidget):
    """A chart on screen: laid out anew when chart or size change.

    A crosshair follows the pointer, and with the keyboard the left and right keys; what lies there is
    reported by `read` as (x, y) in the chart's numbers, or None.
    """

    read = Signal(object)

    def __init__(self, words: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._chart = Chart("", "")
        self._plot: Plot | None = None
        self._palette = LIGHT
        self._cross: Point | None = None
        self.text_size = 11.0
        self.setAccessibleName(words)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setMouseTracking(True)
        self.setMinimumSize(220, 130)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)

    def sizeHint(self) -> QSize:
        return QSize(420, 230)

    def show_chart(self, chart: Chart, palette: Palette, spoken: str = "") -> None:
        """Show a chart; `spoken` says it in words for those who do not see it."""
        if spoken:
            self.setAccessibleDescription(spoken)
        if chart != self._chart or palette is not self._palette:
            self._chart, self._palette, self._plot = chart, palette, None
            self.update()

    @property
    def chart(self) -> Chart:
        return self._chart

    def plot(self) -> Plot:
        """The chart laid out for the widget as it is."""
        if self._plot is None:
            area = Box(4.0, 4.0, self.width() - 4.0, self.height() - 4.0)
            self._plot = lay_out(self._chart, area, text_width, self.text_size)
        return self._plot

    def resizeEvent(self, event: object) -> None:
        self._plot = None

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.fillRect(self.rect(), self._palette.field)
        plot = self.plot()
        paint_plot(painter, plot, self._palette)
        if self._cross is not None:
            self._paint_cross(painter, plot, self._cross)
        if self.hasFocus():
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.setPen(pen(self._palette.accent, 2.0))
            painter.drawRect(QRectF(self.rect()).adjusted(1, 1, -1, -1))
        painter.end()

    def _paint_cross(self, painter: QPainter, plot: Plot, cross: Point) -> None:
        f = plot.frame
        x, y = plot.point(*cross)
        painter.setPen(pen(self._palette.accent, 1.0, (3.0, 3.0)))
        painter.drawLine(QLineF(x, f.y0, x, f.y1))
        painter.drawLine(QLineF(f.x0, y, f.x1, y))

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        at = event.position()
        inside = self.plot().frame.has((at.x(), at.y()))
        self._set_cross(self.plot().value((at.x(), at.y())) if inside else None)

    def leaveEvent(self, event: object) -> None:
        self._set_cross(None)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        step = {Qt.Key.Key_Left: -0.02, Qt.Key.Key_Right: 0.02}.get(Qt.Key(event.key()))
        points = self._first_curve()
        if step is None or not points:
            super().keyPressEvent(event)
            return
        x = self.plot().x
        share = x.share(self._cross[0]) if self._cross is not None else 0.0
        at = x.at(min(1.0, max(0.0, share + step)))
        self._set_cross((at, _height_at(points, at)))

    def _first_curve(self) -> Polyline:
        return next((t.points for t in self._chart.traces if len(t.points) > 1), ())

    def _set_cross(self, cross: Point | None) -> None:
        if cross != self._cross:
            self._cross = cross
            self.read.emit(cross)
            self.update()

    def focusInEvent(self, event: object) -> None:
        self.update()

    def focusOutEvent(self, event: object) -> None:
        self.update()


def _height_at(points: Sequence[Point], x: float) -> float:
    """Height of a curve over x, level beyond its ends."""
    before = points[0]
    for point in points:
        if point[0] >= x:
            span = point[0] - before[0]
            return point[1] if span <= 0 else before[1] + (x - before[0]) / span * (point[1] - before[1])
        before = point
    return points[-1][1]
