"""Paints the sheet the plant lies on: frame, zones and the grid of dots. The zones are the same on paper."""

from __future__ import annotations

from functools import lru_cache
from itertools import pairwise
from math import ceil, floor

from PySide6.QtCore import QLineF, QPointF, QRectF
from PySide6.QtGui import QPainter, QPen, QPolygonF

from app.board.look import Look
from app.pens import paint_row, pen, text_width
from core.diagram.geometry import Box
from core.diagram.sheets import letters
from core.diagram.spots import Row
from core.diagram.zones import Zones

STRIP = 16.0
"""Width of the band that holds the zone letters, where a unit is a pixel."""
DOTS = 20.0


def whole(zones: Zones) -> Box:
    """Frame and the strip of zone letters."""
    return zones.frame().grown(STRIP)


def paint(painter: QPainter, zones: Zones, rect: QRectF, look: Look) -> None:
    """Dots, frame and zones, as far as they are in sight."""
    frame, palette = zones.frame(), look.palette
    box = QRectF(frame.x0, frame.y0, frame.width, frame.height)
    if look.zoom >= 0.5:
        painter.setPen(QPen(palette.faint, max(1.2, 1.0 / look.zoom)))
        painter.drawPoints(_dots(frame) if rect.contains(box) else _dots(_part_of(frame, rect)))
    painter.setPen(pen(palette.rule, max(1.2, 1.0 / look.zoom)))
    painter.drawRect(box)
    if not zones.plan.single:
        _paint_cuts(painter, zones, rect, look)
        return
    block = zones.board(zones.sheet.title_block)
    painter.setPen(pen(palette.faint, max(1.0, 1.0 / look.zoom)))
    painter.drawRect(QRectF(block.x0, block.y0, block.width, block.height))
    size = min(max(10.0, 9.0 / look.zoom), 26.0)
    strip = STRIP * size / 10.0
    if box.contains(rect):
        return  # ticks and names lie outside the frame
    for across in (True, False):
        _paint_zones(painter, zones, across, strip, size, look)


def _paint_zones(
    painter: QPainter, zones: Zones, across: bool, strip: float, size: float, look: Look
) -> None:
    """Ticks and names of the zones along two sides of the frame."""
    frame = zones.frame()
    near, far = (frame.y0, frame.y1) if across else (frame.x0, frame.x1)
    for number, (start, end) in enumerate(pairwise(zones.lines(across))):
        if number:
            painter.setPen(pen(look.palette.rule, max(1.0, 1.0 / look.zoom)))
            for a, b in ((near - strip, near), (far, far + strip)):
                painter.drawLine(QLineF(start, a, start, b) if across else QLineF(a, start, b, start))
        middle = (start + end) / 2
        text = str(number + 1) if across else letters(number)
        for beside in (near - strip / 2, far + strip / 2):
            x, y = (middle, beside) if across else (beside, middle)
            _paint_letter(painter, text, x, y, size, look)


def _paint_cuts(painter: QPainter, zones: Zones, rect: QRectF, look: Look) -> None:
    """Where the drawing is cut over several sheets, and the number of each."""
    size = min(max(10.0, 9.0 / look.zoom), 26.0)
    for number, tile in zones.tiles():
        source = tile.source
        if not rect.intersects(QRectF(source.x0 - 2, source.y0 - 2, source.width + 4, source.height + 4)):
            continue
        painter.setPen(pen(look.palette.rule, max(1.2, 1.0 / look.zoom), (12.0, 4.0, 2.0, 4.0)))
        painter.drawRect(QRectF(source.x0, source.y0, source.width, source.height))
        row = Row(f"sheet {number + 1}", source.x0 + 4, source.y0 + 1.2 * size, size)
        paint_row(painter, row, look.palette.soft)


def _paint_letter(painter: QPainter, text: str, x: float, y: float, size: float, look: Look) -> None:
    at = x - text_width(text, size) / 2
    paint_row(painter, Row(text, at, y + 0.36 * size, size), look.palette.soft)


def _part_of(frame: Box, rect: QRectF) -> Box:
    """The part of the frame in sight, a little larger, so that its dots are made but once while one edits."""
    tile = 40 * DOTS
    left, top = floor(rect.left() / tile) * tile, floor(rect.top() / tile) * tile
    right, bottom = ceil(rect.right() / tile) * tile, ceil(rect.bottom() / tile) * tile
    return Box(max(frame.x0, left), max(frame.y0, top), min(frame.x1, right), min(frame.y1, bottom))


@lru_cache(maxsize=64)
def _dots(area: Box) -> QPolygonF:
    columns = range(ceil(area.x0 / DOTS), floor(area.x1 / DOTS) + 1)
    rows = range(ceil(area.y0 / DOTS), floor(area.y1 / DOTS) + 1)
    return QPolygonF([QPointF(x * DOTS, y * DOTS) for y in rows for x in columns])
