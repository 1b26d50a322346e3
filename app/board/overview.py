"""The whole plant as a few paths: when a symbol is a few pixels wide, or a crowd moves past.

Of its words only the tags of what one steers by, at a size that can be read.

Thousands of items would each cost a call for a dot of ink. Things are kept in groups, so that what moves
makes only its own group anew, and what is out of sight costs nothing.

From 500 things on the board a moving view shows outlines where more than 250 are in sight, a zooming one
where more than 100 are.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QPainter, QPainterPath, QPen

from app.board.graphics import PipeGraphic, SymbolGraphic, rect_of
from app.pens import Palette, paint_row, text_width
from core.diagram.spots import Row
from core.vocabulary import Trait

GROUP = 50
"""Things that share a path."""
STEERED_BY = (Trait.MAKES_HEAT, Trait.TANK, Trait.LOOPED, Trait.EXCHANGES_HEAT)
TEXT = 10.0
"""Size of their tags, in pixels."""


class _Group:
    """Things of one sort in the order in which they came, and their ink."""

    def __init__(self, names: list[str]) -> None:
        self.names = names
        self.solid, self.dashed = QPainterPath(), QPainterPath()
        self.box = QRectF()
        self.tagged: list[SymbolGraphic] = []


class _Layer:
    """All things of one sort, in groups."""

    def __init__(self, draw: Callable[[_Group], None]) -> None:
        self._draw = draw
        self._names: list[str] = []
        self._place: dict[str, int] = {}
        self.groups: list[_Group] = []

    def follow(self, things: Iterable[str], stale: set[str] | None) -> None:
        """Draw anew the groups of what is stale (None: all), and all of them where there are other things."""
        names = list(things)
        if names != self._names:
            self._names, stale = names, None
            self._place = {name: place // GROUP for place, name in enumerate(names)}
            self.groups = [_Group(names[at : at + GROUP]) for at in range(0, len(names), GROUP)]
        numbers = range(len(self.groups)) if stale is None else {self._place.get(name, -1) for name in stale}
        for number in numbers:
            if number >= 0:
                group = self.groups[number]
                self._draw(group)
                both = group.solid.controlPointRect() | group.dashed.controlPointRect()
                group.box = both.adjusted(-1, -1, 1, 1)


class Overview:
    """Follows the graphics of a scene; draws anew what it was told of when it is painted."""

    def __init__(self, symbols: Mapping[str, SymbolGraphic], pipes: Mapping[str, PipeGraphic]) -> None:
        self._symbols, self._pipes = symbols, pipes
        self._lines, self._boxes = _Layer(self._draw_pipes), _Layer(self._draw_boxes)
        self.over: Callable[[QPainter], None] = lambda _painter: None
        """What is laid over the drawing."""
        self._stale: set[str] | None = None

    def touch(self, names: set[str] | None) -> None:
        """These things look otherwise or lie elsewhere; None: all may."""
        self._stale = None if names is None or self._stale is None else self._stale | names

    def prepare(self) -> None:
        """Draw anew what is stale."""
        self._lines.follow(self._pipes, self._stale)
        self._boxes.follow(self._symbols, self._stale)
        self._stale = set()

    def paint(self, painter: QPainter, rect: QRectF, palette: Palette, zoom: float) -> None:
        """All lines in sight, then all symbols as boxes; lines a pixel wide, without smoothing. Then tags."""
        self.prepare()
        painter.save()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, False)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        solid, dashed = QPen(palette.ink, 0), QPen(palette.ink, 0)
        dashed.setDashPattern([4.0, 3.0])
        for group in self._lines.groups:
            if group.box.intersects(rect):
                painter.setPen(solid)
                painter.drawPath(group.solid)
                if not group.dashed.isEmpty():
                    painter.setPen(dashed)
                    painter.drawPath(group.dashed)
        painter.setPen(solid)
        painter.setBrush(palette.board)
        for group in self._boxes.groups:
            if group.box.intersects(rect):
                painter.drawPath(group.solid)
        painter.restore()
        for group in self._boxes.groups:
            for graphic in group.tagged:
                _paint_tag(painter, graphic, rect, palette, TEXT / zoom)
        self.over(painter)

    def _draw_pipes(self, group: _Group) -> None:
        group.solid, group.dashed = QPainterPath(), QPainterPath()
        for name in group.names:
            picture = self._pipes[name].picture
            if picture is not None:
                path = group.dashed if picture.still else group.solid
                path.moveTo(QPointF(*picture.line[0]))
                for point in picture.line[1:]:
                    path.lineTo(QPointF(*point))

    def _draw_boxes(self, group: _Group) -> None:
        group.solid = QPainterPath()
        group.tagged = []
        for name in group.names:
            graphic = self._symbols[name]
            group.solid.addRect(rect_of(graphic.box))
            if graphic.item.has(*STEERED_BY):
                group.tagged.append(graphic)


def _paint_tag(
    painter: QPainter, graphic: SymbolGraphic, rect: QRectF, palette: Palette, size: float
) -> None:
    """A tag over its symbol."""
    width = text_width(graphic.name, size, True)
    x, y = graphic.box.centre[0] - width / 2, graphic.box.y0 - 0.3 * size
    if rect.intersects(QRectF(x, y - size, width, 1.3 * size)):
        paint_row(painter, Row(graphic.name, x, y, size, True), palette.ink)
