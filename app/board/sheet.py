"""The sheet the plant lies on: its frame, zone letters and numbers, and the grid of dots.

The same zones as on paper.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, floor

from PySide6.QtCore import QLineF, QPointF, QRectF
from PySide6.QtGui import QPainter, QPen

from app.board.look import Look
from app.inking import paint_row, pen, text_width
from core.diagram.geometry import Box, Point
from core.diagram.labels import Row

ZONE = 200.0
MARGIN = 60.0
STRIP = 16.0
"""Width of the band that holds the zone letters."""
DOTS = 20.0
LEAST = (6, 4)
"""Zones across and down of an empty sheet."""


@dataclass(frozen=True)
class Sheet:
    """A whole number of zones; `corner` is the upper left one's."""

    corner: Point = (0.0, 0.0)
    across: int = LEAST[0]
    down: int = LEAST[1]

    @property
    def box(self) -> Box:
        x, y = self.corner
        return Box(x, y, x + ZONE * self.across, y + ZONE * self.down)

    @property
    def whole(self) -> Box:
        """Frame and the strip of zone letters."""
        return self.box.grown(STRIP)

    def zone(self, place: Point) -> str:
        """`D2`: the letter counts down, the number across; empty off the sheet."""
        column = floor((place[0] - self.corner[0]) / ZONE)
        row = floor((place[1] - self.corner[1]) / ZONE)
        if not (0 <= column < self.across and 0 <= row < self.down):
            return ""
        return f"{letters(row)}{column + 1}"


def letters(row: int) -> str:
    """A to Z, then AA."""
    return (letters(row // 26 - 1) if row >= 26 else "") + chr(ord("A") + row % 26)


def around(drawn: Box, before: Sheet, anew: bool) -> Sheet:
    """A sheet that holds the drawing.

    It grows with it and does not jump about: the corner only moves outward.
    """
    if drawn.width == 0 and drawn.height == 0:
        return Sheet() if anew else before
    area = drawn.grown(MARGIN)
    if not anew and before.box.holds(area):
        return before
    if not anew:
        area = Box(
            min(area.x0, before.box.x0), min(area.y0, before.box.y0),
            max(area.x1, before.box.x1), max(area.y1, before.box.y1),
        )  # fmt: skip
    across = max(LEAST[0] if not anew else 3, ceil(area.width / ZONE))
    down = max(LEAST[1] if not anew else 2, ceil(area.height / ZONE))
    if anew:
        # The drawing lies in the middle of its zones, on the grid.
        x = round((area.x0 - (across * ZONE - area.width) / 2) / 10) * 10.0
        y = round((area.y0 - (down * ZONE - area.height) / 2) / 10) * 10.0
        return Sheet((x, y), across, down)
    x0 = before.corner[0] - ZONE * ceil(max(before.corner[0] - area.x0, 0.0) / ZONE)
    y0 = before.corner[1] - ZONE * ceil(max(before.corner[1] - area.y0, 0.0) / ZONE)
    return Sheet((x0, y0), ceil((area.x1 - x0) / ZONE), ceil((area.y1 - y0) / ZONE))


def paint(painter: QPainter, sheet: Sheet, rect: QRectF, look: Look) -> None:
    """Dots, frame and zones, as far as they are in sight."""
    box, palette = sheet.box, look.palette
    if look.zoom >= 0.5:
        seen = rect.intersected(QRectF(box.x0, box.y0, box.width, box.height))
        _paint_dots(painter, seen, look)
    painter.setPen(pen(palette.rule, max(1.2, 1.0 / look.zoom)))
    painter.drawRect(QRectF(box.x0, box.y0, box.width, box.height))
    size = min(max(10.0, 9.0 / look.zoom), 26.0)
    strip = STRIP * size / 10.0
    painter.setPen(pen(palette.rule, max(1.0, 1.0 / look.zoom)))
    for i in range(sheet.across + 1):
        x = box.x0 + i * ZONE
        painter.drawLine(QLineF(x, box.y0 - strip, x, box.y0))
        painter.drawLine(QLineF(x, box.y1, x, box.y1 + strip))
    for i in range(sheet.down + 1):
        y = box.y0 + i * ZONE
        painter.drawLine(QLineF(box.x0 - strip, y, box.x0, y))
        painter.drawLine(QLineF(box.x1, y, box.x1 + strip, y))
    for i in range(sheet.across):
        text, x = str(i + 1), box.x0 + (i + 0.5) * ZONE
        for y in (box.y0 - strip / 2, box.y1 + strip / 2):
            _paint_letter(painter, text, x, y, size, look)
    for i in range(sheet.down):
        text, y = letters(i), box.y0 + (i + 0.5) * ZONE
        for x in (box.x0 - strip / 2, box.x1 + strip / 2):
            _paint_letter(painter, text, x, y, size, look)


def _paint_letter(painter: QPainter, text: str, x: float, y: float, size: float, look: Look) -> None:
    at = x - text_width(text, size) / 2
    paint_row(painter, Row(text, at, y + 0.36 * size, size), look.palette.soft)


def _paint_dots(painter: QPainter, seen: QRectF, look: Look) -> None:
    if seen.isEmpty():
        return
    dot = QPen(look.palette.faint, max(1.2, 1.0 / look.zoom))
    painter.setPen(dot)
    columns = range(ceil(seen.left() / DOTS), floor(seen.right() / DOTS) + 1)
    rows = range(ceil(seen.top() / DOTS), floor(seen.bottom() / DOTS) + 1)
    painter.drawPoints([QPointF(x * DOTS, y * DOTS) for y in rows for x in columns])
