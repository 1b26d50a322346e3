"""A window in which a curve is picked off a picture of one: two places an axis, then points along the curve.

The picture is only looked at; it is never stored in the plant. Everything goes by mouse and by keyboard.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from PySide6.QtCore import QEvent, QLineF, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QBrush,
    QImage,
    QImageReader,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPainterPath,
    QPaintEvent,
    QPen,
    QPolygonF,
)
from PySide6.QtWidgets import (
    QComboBox,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from app.pens import LIGHT, board_font, pen
from app.widgets.path_bar import PathBar, Question
from app.widgets.picks import Arrowed
from app.widgets.plot import paint_shape
from core import units
from core.errors import WetsideError
from core.sizing.curves.pick import Axes, picked_curve

Spot = tuple[float, float]
STEPS = (
    "Put the cross on a place of known flow on the flow axis, and press Return or click.",
    "Now a second place of known flow, far from the first.",
    "Now a place of known head on the head axis.",
    "Now a second place of known head, far from the first.",
    "Pick points along the curve, from no flow on. Backspace takes the last one back; then Use these points.",
)
AXIS_NAMES = (
    "flow at the first place",
    "flow at the second",
    "head at the first place",
    "head at the second",
)
ENDINGS = (".png", ".jpg", ".jpeg")
LARGEST = 6000  # [px] a larger picture is scaled down: nobody picks finer than that
LOUPE = 5.0


class PictureWindow(QWidget):
    """Picture at the left, what the places mean at the right."""

    picked = Signal(list)
    """Points as a plant file has them."""

    def __init__(self, display: str, parent: QWidget | None = None) -> None:
        super().__init__(parent, Qt.WindowType.Window)
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.setWindowTitle("Pick a curve off a picture")
        self.setAccessibleName("Pick a curve off a picture")
        self.paths = PathBar(self)
        self.sheet = PickSheet(self)
        self.sheet.changed.connect(self._follow)
        self.values = [QLineEdit(self) for _ in AXIS_NAMES]
        self.flow_unit = _combo(("gpm", "L/s", "L/min", "m3/h"), "Unit of flow in the picture", self)
        self.head_unit = _combo(("ft_head", "m_head", "psi", "kPa"), "Unit of head in the picture", self)
        self.flow_unit.setCurrentText(units.sign_of(units.unit_for("flow", display)))
        self.head_unit.setCurrentIndex(self.head_unit.findData("ft_head" if display == "us" else "m_head"))
        self.step = _words(self)
        self.error = _words(self)
        self.use = QPushButton("Use these points", self)
        self.use.clicked.connect(self.use_points)
        self.undo = QPushButton("Take the last one back", self)
        self.undo.clicked.connect(self.sheet.take_back)
        self.load = QPushButton("Other picture…", self)
        self.load.clicked.connect(self.open_file)
        self._lay_out()
        self.resize(1000, 660)
        self._follow()

    def _lay_out(self) -> None:
        side = QVBoxLayout()
        side.addWidget(self.step)
        for name, field in zip(AXIS_NAMES, self.values, strict=True):
            field.setAccessibleName(name)
            label = QLabel(name, self)
            label.setBuddy(field)
            field.textChanged.connect(self._follow)
            side.addWidget(label)
            side.addWidget(field)
        line = QHBoxLayout()
        line.addWidget(self.flow_unit)
        line.addWidget(self.head_unit)
        line.addStretch(1)
        for combo in (self.flow_unit, self.head_unit):
            combo.currentIndexChanged.connect(self._follow)
        side.addLayout(line)
        side.addWidget(self.error)
        side.addStretch(1)
        for button in (self.use, self.undo, self.load):
            side.addWidget(button)
        box = QWidget(self)
        box.setLayout(side)
        box.setFixedWidth(250)
        below = QHBoxLayout()
        below.addWidget(self.sheet, 1)
        below.addWidget(box)
        whole = QVBoxLayout(self)
        whole.addWidget(self.paths)
        whole.addLayout(below, 1)

    def open_file(self) -> None:
        """Ask for a picture."""
        start = str(Path.home()) + os.sep

        def take(file: Path, _asked: bool) -> None:
            self.open_picture(file)

        kinds = f"Pictures ({' '.join(f'*{ending}' for ending in ENDINGS)})"
        self.paths.ask(Question("A picture of a curve", "Open", start, ENDINGS, kinds, take, opens=True))

    def open_picture(self, path: Path) -> None:
        """Show a picture; one that cannot be read is said in words."""
        reader = QImageReader(str(path))
        reader.setAutoTransform(True)
        size = reader.size()
        if size.isValid() and max(size.width(), size.height()) > LARGEST:
            reader.setScaledSize(size.scaled(QSize(LARGEST, LARGEST), Qt.AspectRatioMode.KeepAspectRatio))
        image = reader.read()
        if image.isNull():
            self.error.setText(
                f"⊠ {path.name} is no picture that can be read (PNG or JPEG): {reader.errorString()}"
            )
            return
        self.sheet.show_image(image)
        self.sheet.setFocus(Qt.FocusReason.OtherFocusReason)

    def axes(self) -> Axes | None:
        """The scale so far; None while something is missing. Refusals are raised."""
        spots = self.sheet.spots
        if len(spots) < 4 or any(not field.text().strip() for field in self.values):
            return None
        flow, head = str(self.flow_unit.currentData()), str(self.head_unit.currentData())
        dimension = "pressure" if head in ("psi", "kPa") else "head"
        numbers = [
            units.parse(f"{field.text().strip()} {unit}", what)
            for field, unit, what in zip(
                self.values, (flow, flow, head, head), ("flow", "flow", dimension, dimension), strict=True
            )
        ]
        return Axes(*zip(spots[:4], numbers, strict=True))

    def points(self) -> list[list[str]] | None:
        """The curve as a plant file has it; None while something is missing. Refusals are raised."""
        axes = self.axes()
        if axes is None or len(self.sheet.spots) < 6:
            return None
        units_ = str(self.flow_unit.currentData()), str(self.head_unit.currentData())
        return picked_curve(axes, self.sheet.spots[4:], *units_)

    def _follow(self) -> None:
        count = len(self.sheet.spots)
        self.step.setText("Load a picture of a curve." if not self.sheet.loaded else STEPS[min(count, 4)])
        self.undo.setEnabled(count > 0)
        said, points = "", None
        try:
            points = self.points()
            if count >= 4 and self.axes() is None:
                said = "What flows and heads are these places? Type the four numbers."
        except WetsideError as refusal:
            said = f"⊠ {refusal}"
        self.error.setText(said or (f"{len(points)} points" if points else ""))
        self.use.setEnabled(points is not None)

    def use_points(self) -> None:
        points = self.points()
        if points is not None:
            self.picked.emit(points)
            self.close()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Escape:
            self.close()
        else:
            super().keyPressEvent(event)


class PickSheet(QWidget):
    """The picture with a cross. Arrow keys move it by a pixel, with Shift by ten; Return picks."""

    changed = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._image = QImage()
        self.spots: list[Spot] = []
        self.cross: Spot = (0.0, 0.0)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setMouseTracking(True)
        self.setMinimumSize(320, 240)
        self.setAccessibleName("Picture of the curve")
        self.setAccessibleDescription(
            "Arrow keys move the cross by a pixel, with Shift by ten. Return picks, Backspace takes back."
        )

    @property
    def loaded(self) -> bool:
        return not self._image.isNull()

    def show_image(self, image: QImage) -> None:
        self._image = image
        self.spots = []
        self.cross = (image.width() / 2.0, image.height() / 2.0)
        self.changed.emit()
        self.update()

    def take_back(self) -> None:
        """Forget the last place picked."""
        if self.spots:
            self.spots.pop()
            self.changed.emit()
            self.update()

    def pick(self) -> None:
        """Take the place under the cross."""
        if self.loaded:
            self.spots.append(self.cross)
            self.changed.emit()
            self.update()

    # ---- picture and widget ---------------------------------------------------------

    def _frame(self) -> tuple[float, float, float]:
        """Scale and upper left corner of the picture in the widget."""
        wide, high = max(self._image.width(), 1), max(self._image.height(), 1)
        scale = min(self.width() / wide, self.height() / high)
        return scale, (self.width() - scale * wide) / 2, (self.height() - scale * high) / 2

    def shown(self, spot: Spot) -> Spot:
        """Where a place of the picture lies in the widget."""
        scale, x, y = self._frame()
        return x + spot[0] * scale, y + spot[1] * scale

    def _move_to(self, x: float, y: float) -> None:
        if self.loaded:
            self.cross = (
                min(max(x, 0.0), float(self._image.width())),
                min(max(y, 0.0), float(self._image.height())),
            )
            self.update()

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        scale, x, y = self._frame()
        at = event.position()
        self._move_to((at.x() - x) / scale, (at.y() - y) / scale)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        if event.button() == Qt.MouseButton.LeftButton:
            self.setFocus(Qt.FocusReason.MouseFocusReason)
            self.mouseMoveEvent(event)
            self.pick()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        steps = {
            Qt.Key.Key_Left: (-1, 0), Qt.Key.Key_Right: (1, 0),
            Qt.Key.Key_Up: (0, -1), Qt.Key.Key_Down: (0, 1),
        }  # fmt: skip
        key = Qt.Key(event.key())
        if key in steps:
            by = 10.0 if event.modifiers() & Qt.KeyboardModifier.ShiftModifier else 1.0
            self._move_to(self.cross[0] + by * steps[key][0], self.cross[1] + by * steps[key][1])
        elif key in (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Space):
            self.pick()
        elif key == Qt.Key.Key_Backspace:
            self.take_back()
        else:
            super().keyPressEvent(event)

    def event(self, event: QEvent) -> bool:
        # Arrow keys belong to the cross, not to the walk between fields.
        if isinstance(event, QKeyEvent) and event.type() == QEvent.Type.ShortcutOverride:
            event.accept()
            return True
        return super().event(event)

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
        painter.fillRect(self.rect(), self.palette().base())
        if self.loaded:
            scale, x, y = self._frame()
            target = QRectF(x, y, self._image.width() * scale, self._image.height() * scale)
            painter.drawImage(target, self._image)
            self._paint_spots(painter)
            self._paint_loupe(painter)
        if self.hasFocus():
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.setPen(QPen(self.palette().highlight().color(), 2.0))
            painter.drawRect(QRectF(self.rect()).adjusted(1, 1, -1, -1))
        painter.end()

    def _paint_spots(self, painter: QPainter) -> None:
        """Places of the axes as squares with their number, of the curve as discs, joined by a line."""
        placed = [self.shown(spot) for spot in self.spots]
        _twice(painter, lambda: painter.drawPolyline(QPolygonF([QPointF(*p) for p in sorted(placed[4:])])))
        for number, at in enumerate(placed):
            painter.setPen(pen(LIGHT.field, 3.5))
            painter.setBrush(QBrush(LIGHT.field if number < 4 else LIGHT.ink))
            paint_shape(painter, "square" if number < 4 else "disc", at, 5.0)
            painter.setPen(pen(LIGHT.ink, 1.4))
            paint_shape(painter, "square" if number < 4 else "disc", at, 5.0)
            if number < 4:  # two places may be one, as at the corner of the axes
                _number(painter, f"{number + 1}", at[0] + 8.0 + 9.0 * number, at[1] - 6.0)
        x, y = self.shown(self.cross)
        _cross(painter, x, y, 14.0)

    def _paint_loupe(self, painter: QPainter) -> None:
        """What lies under the cross, five times as large, in the corner away from it."""
        side = min(130.0, self.width() / 4.0)
        left = 8.0 if self.shown(self.cross)[0] > self.width() / 2 else self.width() - side - 8.0
        scale, _, _ = self._frame()
        reach = side / (LOUPE * scale) / 2.0
        source = QRectF(self.cross[0] - reach, self.cross[1] - reach, 2 * reach, 2 * reach)
        target = QRectF(left, 8.0, side, side)
        painter.fillRect(target, LIGHT.field)
        painter.save()
        painter.setClipRect(target)
        painter.drawImage(target, self._image, source)
        painter.restore()
        middle = target.center()
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(pen(LIGHT.ink, 1.0))
        painter.drawRect(target)
        _cross(painter, middle.x(), middle.y(), 11.0)


def _number(painter: QPainter, text: str, x: float, y: float) -> None:
    path = QPainterPath()
    path.addText(QPointF(x, y), board_font(13, True), text)
    painter.setPen(pen(LIGHT.field, 3.0))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.drawPath(path)
    painter.fillPath(path, LIGHT.ink)


def _cross(painter: QPainter, x: float, y: float, reach: float) -> None:
    """A cross that leaves its middle free, so that the line under it can be seen."""
    ends = [(reach, 0.0), (-reach, 0.0), (0.0, reach), (0.0, -reach)]
    lines = [QLineF(x + 0.25 * dx, y + 0.25 * dy, x + dx, y + dy) for dx, dy in ends]
    _twice(painter, lambda: painter.drawLines(lines))


def _twice(painter: QPainter, draw: Any) -> None:
    """In light under ink, so that it shows on any picture."""
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.setPen(pen(LIGHT.field, 3.6))
    draw()
    painter.setPen(pen(LIGHT.ink, 1.4))
    draw()


def _combo(names: Sequence[str], words: str, parent: QWidget) -> QComboBox:
    combo = Arrowed(parent)
    combo.setAccessibleName(words)
    for name in names:
        combo.addItem(units.sign_of(name), name)
    return combo


def _words(parent: QWidget) -> QLabel:
    label = QLabel("", parent)
    label.setWordWrap(True)
    label.setTextFormat(Qt.TextFormat.PlainText)
    return label
