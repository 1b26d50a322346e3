"""What is laid beside the drawing for a question: a lit path, what is changed, figures before and after.

It follows the drawing, and what is only being tried on it too.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

from PySide6.QtCore import QObject, Qt
from PySide6.QtGui import QColor, QPainter, QPainterPath, QPainterPathStroker
from PySide6.QtWidgets import QStyleOptionGraphicsItem, QWidget

from app.board.graphics import OverGraphic, rect_of
from app.board.scene import BoardScene
from app.pens import paint_row, pen, pipe_path, text_width
from core.diagram import symbols
from core.diagram.geometry import Box, Polyline, box_of
from core.diagram.spots import Row

WORDS = 9.0  # size of figures, where a unit is a pixel
WIDE = 13.0  # [u] of a lit path
SHADE = 46  # of 255, how dense a lit path is
GAP = 4.0  # [u] between a thing and its figures


class Beside(NamedTuple):
    """Ids of pipes and items whose path is lit, ids of what is otherwise, and words by id."""

    lit: frozenset[str] = frozenset()
    changed: frozenset[str] = frozenset()
    words: Mapping[str, str] = {}


NOTHING = Beside()


class Tab(NamedTuple):
    """Words, and the box they stand in."""

    words: str
    box: Box


class BesideLayer(QObject):
    """Keeps what is shown over one scene."""

    def __init__(self, scene: BoardScene) -> None:
        super().__init__(scene)
        self._scene = scene
        self.shown = NOTHING
        self.graphic = BesideGraphic(scene)
        scene.addItem(self.graphic)
        scene.composed.connect(self._lay)

    def show(self, beside: Beside) -> None:
        """Show this and nothing else."""
        if beside != self.shown:
            self.shown = beside
            self._lay()

    def _lay(self) -> None:
        if self.shown == NOTHING and self.graphic.empty:
            return
        lit, changed = self.shown.lit, self.shown.changed
        self.graphic.show_all(
            self._lines(lit), self._boxes(lit), self._lines(changed), self._boxes(changed), self._tabs()
        )

    def _lines(self, names: frozenset[str]) -> list[Polyline]:
        graphics = (self._scene.pipes.get(name) for name in sorted(names))
        return [one.picture.line for one in graphics if one is not None and one.picture is not None]

    def _boxes(self, names: frozenset[str]) -> list[Box]:
        items = self._scene.plant.items
        return [symbols.box(items[name]) for name in sorted(names) if name in items]

    def _tabs(self) -> list[Tab]:
        """Figures above, below or beside their things, where they hide least."""
        size = WORDS * self._scene.look.text_scale
        high = size + 5.0
        busy = [symbols.box(item) for item in self._scene.plant.items.values()]
        if self._scene.picture is not None:
            busy += [placed.box for placed in self._scene.picture.written]
        found: list[Tab] = []
        for name, words in self.shown.words.items():
            box = self._scene.box_round(name)
            if box is None:
                continue
            wide = text_width(words, size, True) + 8.0
            x, y = box.centre[0] - wide / 2, box.centre[1] - high / 2
            corners = (
                (x, box.y0 - GAP - high),
                (x, box.y1 + GAP),
                (box.x1 + GAP, y),
                (box.x0 - GAP - wide, y),
                (x, box.y0 - 2 * GAP - 2 * high),
                (x, box.y1 + 2 * GAP + high),
            )
            spots = [Box(x0, y0, x0 + wide, y0 + high) for x0, y0 in corners]
            best = min(spots, key=lambda spot: sum(_overlap(spot, other) for other in busy))
            found.append(Tab(words, best))
            busy.append(best)
        return found


def _overlap(one: Box, other: Box) -> float:
    wide = min(one.x1, other.x1) - max(one.x0, other.x0)
    high = min(one.y1, other.y1) - max(one.y0, other.y0)
    return wide * high if wide > 0.0 and high > 0.0 else 0.0


class BesideGraphic(OverGraphic):
    """One graphic that paints all of it."""

    def __init__(self, scene: BoardScene) -> None:
        super().__init__(scene.look, 2.6)
        self._lit: list[Polyline] = []
        self._lit_boxes: list[Box] = []
        self._changed: list[Polyline] = []
        self._changed_boxes: list[Box] = []
        self.tabs: list[Tab] = []

    @property
    def empty(self) -> bool:
        """Whether it shows nothing."""
        return not (self._lit or self._lit_boxes or self._changed or self._changed_boxes or self.tabs)

    def show_all(
        self,
        lit: list[Polyline],
        lit_boxes: list[Box],
        changed: list[Polyline],
        changed_boxes: list[Box],
        tabs: list[Tab],
    ) -> None:
        self._lit, self._lit_boxes = lit, lit_boxes
        self._changed, self._changed_boxes, self.tabs = changed, changed_boxes, tabs
        boxes = [box_of(line).grown(WIDE) for line in (*lit, *changed) if line]
        boxes += [box.grown(WIDE) for box in (*lit_boxes, *changed_boxes, *(tab.box for tab in tabs))]
        self.cover(boxes)

    def paint(
        self, painter: QPainter, option: QStyleOptionGraphicsItem, widget: QWidget | None = None
    ) -> None:
        palette, zoom = self._look.palette, self._look.zoom
        self._paint_lit(painter)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(pen(palette.accent, max(2.4, 1.6 / zoom), (5.0, 4.0)))
        for line in self._changed:
            painter.drawPath(pipe_path(line))
        for box in self._changed_boxes:
            painter.drawRoundedRect(rect_of(box.grown(5)), 5, 5)
        size = WORDS * self._look.text_scale
        for words, box in self.tabs:
            painter.setPen(pen(palette.accent, max(1.0, 0.8 / zoom)))
            painter.setBrush(palette.board)
            painter.drawRect(rect_of(box))
            paint_row(painter, Row(words, box.x0 + 4.0, box.y1 - 0.3 * size - 1.0, size, True), palette.ink)

    def _paint_lit(self, painter: QPainter) -> None:
        """A band along the path, seen through."""
        if not (self._lit or self._lit_boxes):
            return
        area = QPainterPath()
        area.setFillRule(Qt.FillRule.WindingFill)
        stroker = QPainterPathStroker()
        stroker.setWidth(WIDE)
        stroker.setCapStyle(Qt.PenCapStyle.RoundCap)
        stroker.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
        for line in self._lit:
            area = area.united(stroker.createStroke(pipe_path(line)))
        for box in self._lit_boxes:
            around = QPainterPath()
            around.addRoundedRect(rect_of(box.grown(4)), 5, 5)
            area = area.united(around)
        shade = QColor(self._look.palette.accent)
        shade.setAlpha(SHADE)
        painter.setBrush(shade)
        painter.setPen(pen(self._look.palette.accent, max(1.2, 1.0 / self._look.zoom)))
        painter.drawPath(area)
