"""Paints the symbols of icons/ for board, shelf and paper: one painter, so that they never differ."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from functools import lru_cache
from typing import NamedTuple

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import (
    QBrush,
    QColor,
    QGuiApplication,
    QIcon,
    QPainter,
    QPainterPath,
    QPen,
    QPixmap,
    QTransform,
)

from app.pens import SYMBOL_PEN, Palette, pen
from core.diagram.drawing import Part, fitted, of_heat, of_size
from core.diagram.geometry import Box, box_of, hull
from core.diagram.states import State
from core.diagram.symbols import shape
from core.plant.model import Item
from core.vocabulary import KINDS, FreePorts, Trait, ports_of

_DASH = (3.6, 3.4)


class Stroke(NamedTuple):
    """One stroke of a symbol, ready to paint."""

    path: QPainterPath
    part: Part


def paint_symbol(
    painter: QPainter,
    item: Item,
    state: State,
    palette: Palette,
    weights: Mapping[str, float] | None = None,
    *,
    proposed: bool = False,
    width: float = SYMBOL_PEN,
) -> None:
    """An item's symbol about the painter's origin, mirrored and turned as the item is.

    `weights` gives the line weight of the pipe at each port, so that the stub goes on as the pipe does.
    `proposed` draws it dashed and hollow; `width` is the symbol's pen, for a screen that needs a floor.
    """
    _paint(painter, _strokes(*_look(item)), state, palette, weights or {}, proposed, width)


def paint_kind(
    painter: QPainter,
    kind: str,
    target: QRectF,
    palette: Palette,
    *,
    stubs: bool = False,
    electric: bool = False,
    state: State | None = None,
    least_pen: float = 1.1,
) -> None:
    """A kind's symbol fitted into a rectangle, as on shelf and in legend; stubs clipped unless wanted.

    `electric` draws what is heated by electricity, without a flame.
    `least_pen` is the thinnest stroke in the painter's own unit; small pictures have strokes of their own.
    """
    drawn = of_heat(fitted(kind, _usual_ports(kind), ()).parts, electric)
    parts = [part for part in of_size(drawn, small=False) if stubs or not part.port]
    area, scale = _fitting(parts, target)
    if scale < 0.75 and least_pen > 0:
        parts = [part for part in of_size(drawn, small=True) if stubs or not part.port]
        area, scale = _fitting(parts, target)
    painter.save()
    painter.translate(target.center())
    painter.scale(scale, scale)
    painter.translate(-QPointF(*area.centre))
    strokes = [Stroke(_to_path(part), part) for part in parts]
    shown = state or (State.RUNS if kind in KINDS and KINDS[kind].has(Trait.DRIVES) else State.OPEN)
    _paint(painter, strokes, shown, palette, {}, False, max(SYMBOL_PEN, least_pen / scale))
    painter.restore()


def _fitting(parts: list[Part], target: QRectF) -> tuple[Box, float]:
    """The box of some strokes, and the scale that fits it into a rectangle."""
    area = hull([box_of(part.points) for part in parts])
    return area, min(target.width() / max(area.width, 1), target.height() / max(area.height, 1), 1.3)


def kind_box(kind: str) -> Box:
    """The box of a kind's symbol as it lies in icons/, stubs within."""
    parts = of_size(of_heat(fitted(kind, _usual_ports(kind), ()).parts, False), small=False)
    return hull([box_of(part.points) for part in parts])


def icon(kind: str, palette: Palette, size: int = 22) -> QIcon:
    """A kind's symbol as an icon, sharp on every screen there is."""
    return _icon_of(lambda painter, area: paint_kind(painter, kind, area, palette), size)


def group_icon(palette: Palette, size: int = 22) -> QIcon:
    """Two sheets, one over the other: several things that are taken as one."""

    def paint(painter: QPainter, area: QRectF) -> None:
        painter.setPen(pen(palette.ink, 1.2))
        painter.setBrush(QBrush(palette.panel))
        side = 0.55 * area.width()
        for shift in (0.35 * area.width(), 0.1 * area.width()):
            painter.drawRect(QRectF(area.left() + shift, area.top() + shift, side, side))

    return _icon_of(paint, size)


def _icon_of(paint: Callable[[QPainter, QRectF], None], size: int) -> QIcon:
    out = QIcon()
    ratios = {1.0, *(math.ceil(screen.devicePixelRatio()) for screen in QGuiApplication.screens())}
    for factor in sorted(ratios):
        picture = QPixmap(round(size * factor), round(size * factor))
        picture.fill(Qt.GlobalColor.transparent)
        painter = QPainter(picture)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.scale(factor, factor)
        paint(painter, QRectF(1, 1, size - 2, size - 2))
        painter.end()
        picture.setDevicePixelRatio(factor)
        out.addPixmap(picture)
    return out


def _usual_ports(kind: str) -> tuple[str, ...]:
    if kind not in KINDS:
        return ()
    if KINDS[kind].free_ports is FreePorts.TAPS:
        return ("hot", "cold", "supply", "return", "top", "bottom", *KINDS[kind].ports)
    return ports_of(kind, {})


def _look(item: Item) -> tuple[tuple[Part, ...], int, bool]:
    return shape(item).parts, int(item.turn) % 360, bool(item.flip)


@lru_cache(maxsize=1000)
def _strokes(parts: tuple[Part, ...], turn: int, flip: bool) -> tuple[Stroke, ...]:
    """The strokes mirrored and turned; a letter moves with the symbol but stays upright and unmirrored."""
    transform = QTransform()
    transform.rotate(turn)
    transform.scale(-1.0 if flip else 1.0, 1.0)
    centres: dict[str, QPointF] = {}
    for word in {part.letter for part in parts if part.letter}:
        area = hull([box_of(part.points) for part in parts if part.letter == word])
        centres[word] = QPointF(*area.centre)
    out: list[Stroke] = []
    for part in parts:
        path = _to_path(part)
        if part.letter:
            shift = transform.map(centres[part.letter]) - centres[part.letter]
            out.append(Stroke(path.translated(shift), part))
        else:
            out.append(Stroke(transform.map(path), part))
    return tuple(out)


def _to_path(part: Part) -> QPainterPath:
    path = QPainterPath()
    for command in part.path:
        numbers = [float(v) for v in command[1:]]
        if command[0] == "M":
            path.moveTo(*numbers)
        elif command[0] == "L":
            path.lineTo(*numbers)
        elif command[0] == "C":
            path.cubicTo(*numbers)
        else:
            path.closeSubpath()
    return path


def _paint(
    painter: QPainter,
    strokes: tuple[Stroke, ...] | list[Stroke],
    state: State,
    palette: Palette,
    weights: Mapping[str, float],
    proposed: bool,
    width: float = SYMBOL_PEN,
) -> None:
    rgba = palette.ink.rgba()
    plain, dashed = _pen(rgba, width, (4.0, 3.0) if proposed else ()), _pen(rgba, width, _DASH)
    ink, paper, hollow = QBrush(palette.ink), QBrush(palette.board), QBrush()
    for stroke in strokes:
        part = stroke.part
        if part.port in weights:
            painter.setPen(_stub_pen(rgba, weights[part.port]))
        else:
            painter.setPen(dashed if part.dashed else plain)
        if part.state:
            painter.setBrush(ink if state.filled and not proposed else paper)
        elif part.solid and not proposed:
            painter.setBrush(ink)
        else:
            painter.setBrush(paper if part.body else hollow)
        painter.drawPath(stroke.path)


@lru_cache(maxsize=200)
def _pen(rgba: int, width: float, dash: tuple[float, ...]) -> QPen:
    """A symbol's pen. Not to be changed."""
    return pen(QColor.fromRgba(rgba), width, dash)


@lru_cache(maxsize=1000)
def _stub_pen(rgba: int, weight: float) -> QPen:
    """The pen of a stub, that of its pipe. Not to be changed."""
    out = pen(QColor.fromRgba(rgba), weight)
    out.setCapStyle(Qt.PenCapStyle.FlatCap)
    return out
