"""The shape of a finding's severity as an icon of a list, with its number."""

from __future__ import annotations

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QIcon, QPainter, QPixmap

from app.pens import Palette, paint_finding

SIZE = 24  # [px]


def severity_icon(severity: str, number: str, palette: Palette, ratio: float) -> QIcon:
    """The icon; without a number the shape alone."""
    picture = QPixmap(QSize(SIZE, SIZE) * ratio)
    picture.setDevicePixelRatio(ratio)
    picture.fill(Qt.GlobalColor.transparent)
    painter = QPainter(picture)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    radius = 8.4 if severity == "mend" else 9.0
    paint_finding(painter, (SIZE / 2, SIZE / 2), severity, number, palette, radius)
    painter.end()
    icon = QIcon(picture)
    icon.addPixmap(picture, QIcon.Mode.Selected)  # Qt would tint it
    return icon
