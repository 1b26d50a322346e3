"""Lines over time with bars beneath: painted on screen and paper, with a cursor, a moment, and zoom."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import QLineF, QPointF, QRect, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QBrush,
    QImage,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPolygonF,
    QWheelEvent,
)
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.pens import LIGHT, Palette, pen, text_width
from app.widgets.plot import paint_plot, paint_words
from core.diagram.geometry import Box
from core.diagram.timeline import TimeChart, TimePlot, lay_out_time

SHORTEST = 120.0  # [s] that can be looked at
DRAG = 5.0  # [px] from which on a press is a drag
PAPER = (1200, 720)  # of a picture, in units of a text of 11


def paint_time(painter: QPainter, plot: TimePlot, palette: Palette) -> None:
    """A laid-out chart over time."""
    for one in plot.plots:
        paint_plot(painter, one, palette)
    for name, boxes, row in plot.bars:
        paint_words(painter, name, palette)
        painter.setPen(pen(palette.faint, 0.8))
        painter.drawLine(QLineF(row.x0, row.y1, row.x1, row.y1))
        for box in boxes:
            painter.fillRect(QRectF(box.x0, box.y0, box.width, box.height), palette.ink)


class TimeLines(QWidget):
    """A chart over time on screen.

    Pointer and left and right keys move the cursor (`read`: its time, or None); a click, Return and Space
    take its moment (`picked`); dragging over a stretch, the wheel, + and - change the `zoomed` span.
    """

    read = Signal(object)
    picked = Signal(float)
    zoomed = Signal(float, float)

    def __init__(self, words: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._chart = TimeChart()
        self._plot: TimePlot | None = None
        self._palette = LIGHT
        self._whole = self._chart.span
        self.cursor_at: float | None = None
        self.moment_at: float | None = None
        self._pressed: float | None = None
        self.text_size = 11.0
        self.setAccessibleName(words)
        self.setToolTip(
            "Click: that moment on the board. Drag or wheel: look closer. Double-click: all of it."
        )
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setMouseTracking(True)
        self.setMinimumSize(200, 90)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)

    def sizeHint(self) -> QSize:
        return QSize(560, 240)

    def show_chart(
        self, chart: TimeChart, whole: tuple[float, float], palette: Palette, spoken: str = ""
    ) -> None:
        """Show a chart whose span lies within the whole; `spoken` says it for those who do not see it."""
        self._chart, self._whole, self._palette, self._plot = chart, whole, palette, None
        self.setAccessibleDescription(spoken)
        self.update()

    def show_moment(self, t: float | None) -> None:
        """Mark the moment that the board shows."""
        self.moment_at = t
        self.update()

    @property
    def chart(self) -> TimeChart:
        return self._chart

    def plot(self) -> TimePlot:
        """The chart laid out for the widget as it is."""
        if self._plot is None:
            area = Box(4.0, 4.0, self.width() - 6.0, self.height() - 4.0)
            self._plot = lay_out_time(self._chart, area, text_width, self.text_size)
        return self._plot

    def resizeEvent(self, event: object) -> None:
        self._plot = None

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.fillRect(self.rect(), self._palette.field)
        plot = self.plot()
        f = plot.frame
        if self._pressed is not None and self.cursor_at is not None:
            a, b = plot.x_at(self._pressed), plot.x_at(self.cursor_at)
            painter.fillRect(QRectF(min(a, b), f.y0, abs(b - a), f.height), self._palette.faint)
        paint_time(painter, plot, self._palette)
        painter.setBrush(QBrush(self._palette.accent))
        if self.moment_at is not None and self._shows(self.moment_at):
            x = plot.x_at(self.moment_at)
            painter.setPen(pen(self._palette.accent, 1.6))
            painter.drawLine(QLineF(x, f.y0, x, f.y1))
            painter.drawPolygon(
                QPolygonF([QPointF(x - 5, f.y0 - 7), QPointF(x + 5, f.y0 - 7), QPointF(x, f.y0)])
            )
        if self.cursor_at is not None and self._shows(self.cursor_at):
            x = plot.x_at(self.cursor_at)
            painter.setPen(pen(self._palette.accent, 1.0, (3.0, 3.0)))
            painter.drawLine(QLineF(x, f.y0, x, f.y1))
        if self.hasFocus():
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.setPen(pen(self._palette.accent, 2.0))
            painter.drawRect(QRectF(self.rect()).adjusted(1, 1, -1, -1))
        painter.end()

    def _shows(self, t: float) -> bool:
        return self._chart.span[0] <= t <= self._chart.span[1]

    # ---- cursor, moment, zoom -------------------------------------------------------

    def set_cursor(self, t: float | None) -> None:
        """Put the cursor at a time."""
        if t != self.cursor_at:
            self.cursor_at = t
            self.read.emit(t)
            self.update()

    def zoom(self, factor: float, about: float) -> None:
        """Look at so much of the span, a time staying where it is."""
        low, high = self._chart.span
        wide = min(self._whole[1] - self._whole[0], max(SHORTEST, (high - low) * factor))
        share = (about - low) / (high - low)
        self.look_at(about - share * wide, about + (1.0 - share) * wide)

    def look_at(self, low: float, high: float) -> None:
        """Look from one time to another, moved into the whole."""
        wide = min(self._whole[1] - self._whole[0], max(SHORTEST, high - low))
        low = min(max(low, self._whole[0]), self._whole[1] - wide)
        if (low, low + wide) != self._chart.span:
            self.zoomed.emit(low, low + wide)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        if event.button() == Qt.MouseButton.LeftButton and self._chart.bands:
            self._pressed = self.plot().time_at(event.position().x())
            self.set_cursor(self._pressed)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        at, plot = event.position(), self.plot()
        inside = plot.frame.has((at.x(), at.y())) or self._pressed is not None
        self.set_cursor(plot.time_at(at.x()) if inside and self._chart.bands else None)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        pressed, self._pressed = self._pressed, None
        if pressed is None or event.button() != Qt.MouseButton.LeftButton:
            return
        plot, x = self.plot(), event.position().x()
        if abs(plot.x_at(pressed) - x) < DRAG:
            self.picked.emit(pressed)
        else:
            self.look_at(*sorted((pressed, plot.time_at(x))))
        self.update()

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        self.look_at(*self._whole)

    def wheelEvent(self, event: QWheelEvent) -> None:
        turned = event.angleDelta().y()
        if turned and self._chart.bands:
            self.zoom(0.8 if turned > 0 else 1.25, self.plot().time_at(event.position().x()))
        event.accept()

    def leaveEvent(self, event: object) -> None:
        if self._pressed is None:
            self.set_cursor(None)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        low, high = self._chart.span
        step = 0.01 * (high - low)
        at = self.cursor_at if self.cursor_at is not None else (self.moment_at or low)
        key = Qt.Key(event.key())
        if not self._chart.bands:
            super().keyPressEvent(event)
        elif key in (Qt.Key.Key_Left, Qt.Key.Key_Right):
            at += step if key == Qt.Key.Key_Right else -step
            at = min(max(at, self._whole[0]), self._whole[1])
            if not low <= at <= high:
                self.look_at(at - 0.5 * (high - low), at + 0.5 * (high - low))
            self.set_cursor(at)
        elif key in (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Space):
            self.picked.emit(at)
        elif key in (Qt.Key.Key_Plus, Qt.Key.Key_Equal):
            self.zoom(0.5, at)
        elif key == Qt.Key.Key_Minus:
            self.zoom(2.0, at)
        elif key in (Qt.Key.Key_0, Qt.Key.Key_Home):
            self.look_at(*self._whole)
        else:
            super().keyPressEvent(event)

    def focusInEvent(self, event: object) -> None:
        self.update()

    def focusOutEvent(self, event: object) -> None:
        self.update()


def write_picture(chart: TimeChart, file: Path, title: str) -> None:
    """A chart as PNG or SVG, ink on paper.

    Raises
    ------
    OSError
        Where the file cannot be written
    """
    from PySide6.QtCore import QBuffer, QByteArray, QIODevice
    from PySide6.QtSvg import QSvgGenerator

    wide, high = PAPER
    plot = lay_out_time(chart, Box(12.0, 12.0, wide - 12.0, high - 12.0), text_width, 13.0)
    data = QByteArray()
    buffer = QBuffer(data)
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    if file.suffix.lower() == ".svg":
        generator = QSvgGenerator()
        generator.setOutputDevice(buffer)
        generator.setSize(QSize(wide, high))
        generator.setViewBox(QRect(0, 0, wide, high))
        generator.setTitle(title)
        painter = QPainter(generator)
        painter.fillRect(QRect(0, 0, wide, high), LIGHT.field)
        paint_time(painter, plot, LIGHT)
        painter.end()
    else:
        image = QImage(2 * wide, 2 * high, QImage.Format.Format_RGB32)
        image.fill(LIGHT.field)
        painter = QPainter(image)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.scale(2.0, 2.0)
        paint_time(painter, plot, LIGHT)
        painter.end()
        image.save(buffer, "PNG")  # type: ignore[call-overload]
    buffer.close()
    file.write_bytes(bytes(data.data()))
