"""The whole plant as a few paths: when a symbol is a few pixels wide, or a crowd moves past. No words.

Thousands of items would each cost a call for a dot of ink. Things are kept in groups, so that what moves
makes only its own group anew, and what is out of sight costs nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QPainter, QPainterPath, QPen

from app.board.graphics import PipeGraphic, SymbolGraphic, rect_of
from app.inking import Palette

GROUP = 100
"""Things that share a path."""


class _Group:
    """Things of one sort in the order in which they came, and their ink."""

    def __init__(self) -> None:
        self.names: list[str] = []
        self.solid, self.dashed = QPainterPath(), QPainterPath()
        self.box = QRectF()


class Overview:
    """Follows the graphics of a scene; draws anew what it was told of when it is painted."""

    def __init__(self, symbols: Mapping[str, SymbolGraphic], pipes: Mapping[str, PipeGraphic]) -> None:
        self._symbols, self._pipes = symbols, pipes
        self._lines: list[_Group] = []
        self._boxes: list[_Group] = []
        self._stale: set[str] | None = None

    def touch(self, names: set[str] | None) -> None:
        """These things look otherwise or lie elsewhere; None: all may."""
        self._stale = None if names is None or self._stale is None else self._stale | names

    def paint(self, painter: QPainter, rect: QRectF, palette: Palette) -> None:
        """All lines in sight, then all symbols as boxes; lines a pixel wide, without smoothing."""
        self._follow(self._lines, self._pipes, self._draw_pipes)
        self._follow(self._boxes, self._symbols, self._draw_boxes)
        self._stale = set()
        painter.save()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, False)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        solid, dashed = QPen(palette.ink, 0), QPen(palette.ink, 0)
        dashed.setDashPattern([4.0, 3.0])
        for group in self._lines:
            if group.box.intersects(rect):
                painter.setPen(solid)
                painter.drawPath(group.solid)
                if not group.dashed.isEmpty():
                    painter.setPen(dashed)
                    painter.drawPath(group.dashed)
        painter.setPen(solid)
        painter.setBrush(palette.board)
        for group in self._boxes:
            if group.box.intersects(rect):
                painter.drawPath(group.solid)
        painter.restore()

    def _follow(
        self, groups: list[_Group], things: Mapping[str, object], draw: Callable[[_Group], None]
    ) -> None:
        names = list(things)
        wanted = (len(names) + GROUP - 1) // GROUP
        del groups[wanted:]
        groups += [_Group() for _ in range(wanted - len(groups))]
        for number, group in enumerate(groups):
            part = names[number * GROUP : (number + 1) * GROUP]
            if part != group.names or self._stale is None or not self._stale.isdisjoint(part):
                group.names = part
                draw(group)
                both = group.solid.controlPointRect() | group.dashed.controlPointRect()
                group.box = both.adjusted(-1, -1, 1, 1)

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
        for name in group.names:
            group.solid.addRect(rect_of(self._symbols[name].box))
