"""The whole plant as a few paths, for when a symbol is a few pixels wide. No words.

Thousands of items would each cost a call for a dot of ink. Things are kept in groups, so that what moves
makes only its own group anew.
"""

from __future__ import annotations

from collections.abc import Mapping

from PySide6.QtCore import QPointF, Qt
from PySide6.QtGui import QPainter, QPainterPath

from app.board.graphics import PipeGraphic, SymbolGraphic, rect_of
from app.inking import Palette, pen

GROUP = 100
"""Things that share a path."""


class _Group:
    """Things of one sort in the order in which they came, and their ink."""

    def __init__(self) -> None:
        self.names: list[str] = []
        self.known: list[object] = []
        self.solid, self.dashed = QPainterPath(), QPainterPath()


class Overview:
    """Follows the graphics of a scene; looks for what has changed when it is painted."""

    def __init__(self, symbols: Mapping[str, SymbolGraphic], pipes: Mapping[str, PipeGraphic]) -> None:
        self._symbols, self._pipes = symbols, pipes
        self._lines: list[_Group] = []
        self._boxes: list[_Group] = []

    def paint(self, painter: QPainter, palette: Palette, zoom: float) -> None:
        """All lines, then all symbols as boxes."""
        self._follow(self._lines, self._pipes, self._draw_pipes)
        self._follow(self._boxes, self._symbols, self._draw_boxes)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(pen(palette.ink, 1.2 / zoom))
        for group in self._lines:
            painter.drawPath(group.solid)
        painter.setPen(pen(palette.ink, 1.0 / zoom, (4 / zoom, 3 / zoom)))
        for group in self._lines:
            if not group.dashed.isEmpty():
                painter.drawPath(group.dashed)
        painter.setPen(pen(palette.ink, 1.0 / zoom))
        painter.setBrush(palette.board)
        for group in self._boxes:
            painter.drawPath(group.solid)

    def _follow(self, groups: list[_Group], things: Mapping[str, object], draw: object) -> None:
        names = list(things)
        wanted = (len(names) + GROUP - 1) // GROUP
        del groups[wanted:]
        groups += [_Group() for _ in range(wanted - len(groups))]
        for number, group in enumerate(groups):
            part = names[number * GROUP : (number + 1) * GROUP]
            known = [things[name].shown for name in part]  # type: ignore[attr-defined]
            if part != group.names or any(a is not b for a, b in zip(known, group.known, strict=True)):
                group.names, group.known = part, known
                draw(group)  # type: ignore[operator]

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
