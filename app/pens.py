"""Fonts, palettes, pens and the painting of lines, marks and texts, on board and paper alike. No layout.

Pens are shared: never change one.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import lru_cache
from math import cos, radians, sin
from pathlib import Path
from typing import NamedTuple

from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import (
    QBrush,
    QColor,
    QFont,
    QFontDatabase,
    QFontMetricsF,
    QGlyphRun,
    QPainter,
    QPainterPath,
    QPen,
    QPolygonF,
    QTextLayout,
)

import icons
from core.diagram.control_lines import PATTERNS, Wire
from core.diagram.geometry import Point, Polyline, segments
from core.diagram.labels import Placed
from core.diagram.marks import Arrow, Letter
from core.diagram.obstacles import OPEN_END
from core.diagram.pipes import PipePicture
from core.diagram.routes import HOP
from core.diagram.spots import Row

SYMBOL_PEN = 1.4
DOT = 3.5  # radius of a join
STROKE = 1.0  # width of the strokes beside a system's letter
WIRE, WIRE_DOT = 0.8, 2.0  # width of a control line, radius of its branches
_NO_BRUSH = QBrush()
PANEL_FONT, BOARD_FONT = "DejaVu Sans", "DejaVu Sans Condensed"


class Palette(NamedTuple):
    """Colours by role (visual language, section 6); `accent` never carries meaning alone."""

    board: QColor
    panel: QColor
    field: QColor
    ink: QColor
    soft: QColor
    edge: QColor
    accent: QColor
    rule: QColor
    faint: QColor


def _palette(*words: str) -> Palette:
    return Palette(*(QColor(word) for word in words))


LIGHT = _palette(
    "#FAF9F5", "#EFEDE6", "#FFFFFF", "#1B1D20", "#5C5F63", "#827E73", "#1D5B8F", "#B9B5AA", "#D8D5CC"
)
DARK = _palette(
    "#17191C", "#202327", "#121416", "#E9E6DE", "#A3A29C", "#7A7E84", "#7FB6E6", "#4A4E53", "#34373B"
)
PRINT = _palette(
    "#FFFFFF", "#FFFFFF", "#FFFFFF", "#000000", "#404040", "#606060", "#000000", "#808080", "#C0C0C0"
)


@lru_cache(maxsize=1)
def register_fonts() -> tuple[str, ...]:
    """Make the bundled fonts known to Qt, once, and return their families; needs an application object."""
    families: list[str] = []
    for file in sorted(Path(icons.__file__).with_name("fonts").glob("*.ttf")):
        number = QFontDatabase.addApplicationFontFromData(file.read_bytes())
        families += QFontDatabase.applicationFontFamilies(number)
    return tuple(dict.fromkeys(families))


@lru_cache(maxsize=200)
def board_font(size: float, bold: bool = False) -> QFont:
    """The font of board and paper at a size in units."""
    register_fonts()
    font = QFont(BOARD_FONT)
    font.setPixelSize(round(size))
    font.setBold(bold)
    # Unhinted and unkerned: widths are the same at every zoom. No ligatures: every word can be searched.
    font.setHintingPreference(QFont.HintingPreference.PreferNoHinting)
    font.setFeature(QFont.Tag("liga"), 0)
    font.setKerning(False)
    return font


@lru_cache(maxsize=20000)
def text_width(text: str, size: float, bold: bool = False) -> float:
    """Width of a text in units: the measure that labels.place asks for."""
    return _metrics(bold).horizontalAdvance(text) * size / 100


@lru_cache(maxsize=2)
def _metrics(bold: bool) -> QFontMetricsF:
    return QFontMetricsF(board_font(100, bold))


def pen(colour: QColor, width: float, dash: Sequence[float] = ()) -> QPen:
    """Round pen of a width in units; the dash is given in units too."""
    out = QPen(colour, width)
    out.setCapStyle(Qt.PenCapStyle.FlatCap if dash else Qt.PenCapStyle.RoundCap)
    out.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
    if dash:
        out.setDashPattern([part / width for part in dash])
    return out


def pipe_path(line: Polyline, hops: Iterable[Point] = (), gaps: Iterable[Letter] = ()) -> QPainterPath:
    """A pipe's line with its half-round hops, left open where letters stand."""
    return _pipe_path(tuple(line), tuple(hops), tuple(gaps))


@lru_cache(maxsize=4000)
def _pipe_path(line: Polyline, jumps: tuple[Point, ...], letters: tuple[Letter, ...]) -> QPainterPath:
    path = QPainterPath()
    for i, (a, b) in enumerate(segments(line)):
        if not i:
            path.moveTo(*a)
        stops = [(_along(a, b, hop), hop, None) for hop in jumps if a[0] == b[0] == hop[0] and _on(a, b, hop)]
        breaks = [(_along(a, b, letter.at), letter.at, letter) for letter in letters if _on(a, b, letter.at)]
        events: list[tuple[float, Point, Letter | None]] = sorted(
            [*stops, *breaks], key=lambda event: event[0]
        )
        dx, dy = _unit(a, b)
        for _, (x, y), letter in events:
            if letter is not None:
                half = (letter.gap.width if dx else letter.gap.height) / 2
                path.lineTo(x - dx * half, y - dy * half)
                path.moveTo(x + dx * half, y + dy * half)
            else:
                path.lineTo(x, y - dy * HOP)
                # The bow goes to the right whichever way the line runs.
                start, sweep = (90.0, -180.0) if dy > 0 else (270.0, 180.0)
                path.arcTo(QRectF(x - HOP, y - HOP, 2 * HOP, 2 * HOP), start, sweep)
        path.lineTo(*b)
    return path


class PipeInk(NamedTuple):
    """A pipe's line and all its arrows as paths: the board keeps them while the pipe lies as it does."""

    line: QPainterPath
    arrows: QPainterPath


def pipe_ink(picture: PipePicture) -> PipeInk:
    """The paths of a pipe."""
    arrows = QPainterPath()
    for arrow in picture.arrows:
        arrows.addPolygon(_triangle(arrow))
        arrows.closeSubpath()
    return PipeInk(pipe_path(picture.line, picture.hops, picture.letters), arrows)


def paint_pipe(
    painter: QPainter,
    picture: PipePicture,
    palette: Palette,
    width: float | None = None,
    ink: PipeInk | None = None,
) -> None:
    """A pipe with arrows and letters. `width` overrides the weight, where the screen needs a floor."""
    heavy = picture.weight if width is None else width
    ink = ink or pipe_ink(picture)
    painter.setPen(_line_pen(palette.ink.rgba(), heavy, picture.still))
    painter.setBrush(_NO_BRUSH)
    painter.drawPath(ink.line)
    if picture.arrows:  # wider than their line, so that they need no edge
        painter.fillPath(ink.arrows, palette.ink)
    for letter in picture.letters:
        paint_letter(painter, letter, palette)


@lru_cache(maxsize=1000)
def _line_pen(rgba: int, width: float, still: bool) -> QPen:
    """A pipe's pen. Not to be changed."""
    out = pen(QColor.fromRgba(rgba), width, (6.0, 4.0) if still else ())
    out.setJoinStyle(Qt.PenJoinStyle.MiterJoin)
    out.setCapStyle(Qt.PenCapStyle.FlatCap)
    return out


def _triangle(arrow: Arrow) -> QPolygonF:
    (x, y), (dx, dy) = arrow.at, arrow.way
    long, wide = arrow.half_length, arrow.half_width
    tip = QPointF(x + dx * long, y + dy * long)
    back = [QPointF(x - dx * long - dy * s * wide, y - dy * long + dx * s * wide) for s in (1, -1)]
    return QPolygonF([tip, *back])


def paint_letter(painter: QPainter, letter: Letter, palette: Palette) -> None:
    width = text_width(letter.text, 10.0, True)
    x, y = letter.at
    paint_row(painter, Row(letter.text, x - width / 2, y + 3.6, 10.0, True), palette.ink)
    if letter.strokes:
        painter.setPen(pen(palette.ink, STROKE))
        for a, b in letter.crossing:
            painter.drawLine(QPointF(*a), QPointF(*b))


def paint_dot(painter: QPainter, at: Point, palette: Palette) -> None:
    """A join."""
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(QBrush(palette.ink))
    painter.drawEllipse(QPointF(*at), DOT, DOT)


def paint_open_end(painter: QPainter, at: Point, palette: Palette) -> None:
    """A port without a pipe: a small open circle."""
    painter.setPen(pen(palette.ink, SYMBOL_PEN))
    painter.setBrush(QBrush(palette.board))
    painter.drawEllipse(QPointF(*at), OPEN_END, OPEN_END)


def paint_wire(painter: QPainter, wire: Wire, palette: Palette) -> None:
    """A line of control in the pattern of its kind, with dots where it branches."""
    senses = wire.kind == "senses"
    colour, wide = (palette.ink, 1.0) if senses else (palette.soft, WIRE)
    painter.setPen(pen(colour, wide, PATTERNS[wire.kind]))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    for line in wire.lines:
        painter.drawPath(pipe_path(line))
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(QBrush(colour))
    for at in wire.dots:
        painter.drawEllipse(QPointF(*at), WIRE_DOT, WIRE_DOT)


def paint_placed(painter: QPainter, placed: Placed, palette: Palette) -> None:
    """A tag or label with its leader; one inside its symbol on a ground of its own."""
    paint_leader(painter, placed, palette)
    for row in placed.rows:
        paint_row(painter, row, palette.ink)


def paint_leader(painter: QPainter, placed: Placed, palette: Palette) -> None:
    """What lies under and beside a text: its ground, its leader."""
    if placed.spot == ("inside",):
        area = placed.box.grown(1.0)
        painter.fillRect(QRectF(area.x0, area.y0, area.width, area.height), palette.board)
    if placed.leader is not None:
        start, end = placed.leader
        painter.setPen(pen(palette.ink, 0.8))
        painter.drawLine(QLineF(QPointF(*start), QPointF(*end)))
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(QBrush(palette.ink))
        painter.drawEllipse(QPointF(*end), 1.6, 1.6)


class Written:
    """A placed text for the screen: its glyphs are set once, and painted as often as the view moves."""

    def __init__(self, placed: Placed) -> None:
        self._placed = placed
        self._runs: list[tuple[QPointF, QGlyphRun]] | None = None

    def paint(self, painter: QPainter, palette: Palette) -> None:
        """The same picture as `paint_placed`."""
        if self._runs is None:
            self._runs = [(QPointF(row.x, row.y), run) for row in self._placed.rows for run in _glyphs(row)]
        if self._placed.leader is not None or self._placed.spot == ("inside",):
            paint_leader(painter, self._placed, palette)
        painter.setPen(palette.ink)
        for at, run in self._runs:
            painter.drawGlyphRun(at, run)


def _glyphs(row: Row) -> list[QGlyphRun]:
    """The glyphs of a line of text, from its baseline on."""
    layout = QTextLayout(row.text, board_font(row.size, row.bold))
    layout.beginLayout()
    line = layout.createLine()
    layout.endLayout()
    runs: list[QGlyphRun] = layout.glyphRuns()
    for run in runs:
        run.setPositions([QPointF(at.x(), at.y() - line.ascent()) for at in run.positions()])
    return runs


def paint_marker(painter: QPainter, placed: Placed, palette: Palette) -> None:
    """A note of the solver: its number in a square."""
    painter.setPen(pen(palette.ink, SYMBOL_PEN))
    painter.setBrush(QBrush(palette.board))
    painter.drawRect(QRectF(placed.box.x0, placed.box.y0, placed.box.width, placed.box.height))
    paint_placed(painter, placed, palette)


def paint_finding(
    painter: QPainter, at: Point, severity: str, number: str, palette: Palette, radius: float = 9.0
) -> None:
    """A finding's or remark's number in the shape of its severity, told by shape and weight alone."""
    x, y = at
    weight = {"stop": SYMBOL_PEN, "mend": 2.2}.get(severity, 1.2) * radius / 9.0
    painter.setPen(pen(palette.ink, weight))
    painter.setBrush(QBrush(palette.ink if severity == "stop" else palette.board))
    corners = {"stop": (8, 22.5, 1.0), "mend": (3, -90.0, 1.35), "remark": (5, 90.0, 1.25)}.get(severity)
    if corners is None:
        painter.drawEllipse(QPointF(x, y), radius, radius)
    else:
        many, first, grown = corners
        turns = [radians(first + 360.0 * k / many) for k in range(many)]
        low = 0.22 * radius if many == 3 else 0.0  # a triangle stands on its middle, not on its corners
        reach = radius * grown
        painter.drawPolygon(
            QPolygonF([QPointF(x + reach * cos(turn), y + low + reach * sin(turn)) for turn in turns])
        )
    size = (10.0 if len(number) < 3 else 8.0) * radius / 9.0 * (0.8 if severity == "mend" else 1.0)
    width = text_width(number, size, True)
    ink = palette.board if severity == "stop" else palette.ink
    fall = 0.52 if severity == "mend" else 0.36
    paint_row(painter, Row(number, x - width / 2, y + fall * size, size, True), ink)


def paint_row(painter: QPainter, row: Row, colour: QColor) -> None:
    """One line of text at its baseline."""
    painter.setPen(QPen(colour))
    painter.setFont(board_font(row.size, row.bold))
    painter.drawText(QPointF(row.x, row.y), row.text)


def _on(a: Point, b: Point, at: Point) -> bool:
    return min(a[0], b[0]) <= at[0] <= max(a[0], b[0]) and min(a[1], b[1]) <= at[1] <= max(a[1], b[1])


def _along(a: Point, b: Point, at: Point) -> float:
    return abs(at[0] - a[0]) + abs(at[1] - a[1])


def _unit(a: Point, b: Point) -> Point:
    return float((b[0] > a[0]) - (b[0] < a[0])), float((b[1] > a[1]) - (b[1] < a[1]))
