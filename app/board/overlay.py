"""What is laid over the drawing for a question: marks of findings, a section shut off, water that stands.

It changes neither the plant nor where its words lie; it follows the drawing when that is composed anew.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import NamedTuple

from PySide6.QtCore import QLineF, QObject, QPointF, QRectF, Qt
from PySide6.QtGui import QBrush, QPainter, QPainterPath, QPen
from PySide6.QtWidgets import QStyleOptionGraphicsItem, QWidget

from app.board.graphics import OverGraphic, rect_of
from app.board.scene import BoardScene
from app.pens import paint_finding, paint_row, pen, pipe_path, text_width
from core.diagram import symbols
from core.diagram.geometry import Box, Point, Polyline, box_of, length, segments
from core.diagram.mark_spots import RADIUS, spots, word_spots
from core.diagram.spots import Row


class Mark(NamedTuple):
    """A finding's or a remark's mark: at which item or pipe, its shape, its number in the list."""

    at: str
    severity: str
    number: str

    @property
    def key(self) -> str:
        """A place holds a finding's mark and one of each remark."""
        return f"{self.at} {self.number}" if self.severity == "remark" else self.at


class Section(NamedTuple):
    """A section shut off: items and pipes in it, and the hand valves that are closed, numbered in order."""

    inside: frozenset[str] = frozenset()
    closed: tuple[str, ...] = ()


NO_SECTION = Section()
LABELED = 50.0  # [u]; shorter pipes say nothing
SEEN = 4.5  # [px], least radius of a mark
WORDS = 9.0  # size of labels, where a unit is a pixel


class Overlay(QObject):
    """Keeps what is shown over one scene."""

    def __init__(self, scene: BoardScene) -> None:
        super().__init__(scene)
        self._scene = scene
        self._marks: tuple[Mark, ...] = ()
        self._section = NO_SECTION
        self._still: Mapping[str, str] = {}
        self._framed: frozenset[str] = frozenset()
        self._laid: tuple[object, ...] = ()
        self.places: dict[str, Point] = {}
        """Where the mark of each item or pipe lies."""
        self.graphic = OverlayGraphic(scene)
        scene.addItem(self.graphic)
        scene.composed.connect(self._lay)
        scene.overview.over = self.graphic.paint_all

    def show_marks(self, marks: Sequence[Mark]) -> None:
        """Marks of findings, one a place."""
        if tuple(marks) != self._marks:
            self._marks = tuple(marks)
            self._lay()

    def frame(self, names: frozenset[str]) -> None:
        """Frame the places of the finding that is read."""
        if names != self._framed:
            self._framed = names
            self._lay()

    def show_section(self, section: Section) -> None:
        """Hatch a section, light the valves that close it."""
        if section != self._section:
            self._section = section
            self._lay()

    def show_still(self, labels: Mapping[str, str]) -> None:
        """Label pipes in which water stands; "" hatches one without words."""
        if dict(labels) != self._still:
            self._still = dict(labels)
            self._lay()

    @property
    def marks(self) -> tuple[Mark, ...]:
        return self._marks

    @property
    def section(self) -> Section:
        return self._section

    @property
    def still(self) -> Mapping[str, str]:
        return self._still

    def _lay(self) -> None:
        scene = self._scene
        picture = scene.picture
        if picture is None or scene.trying:
            return  # something is only being tried: what is laid stays until it is let go
        state = (picture, self._marks, self._section, self._still, self._framed)
        if all(one is other for one, other in zip(state, self._laid, strict=False)) and self._laid:
            return
        self._laid = state
        plant = scene.plant
        boxes: dict[str, Box] = {name: symbols.box(item) for name, item in plant.items.items()}
        lines = {name: pipe.line for name, pipe in picture.pipes.items()}
        runs = {
            name: box_of(max(segments(line), key=length)) for name, line in lines.items() if segments(line)
        }
        busy = [placed.box for placed in (*picture.written, *picture.markers.values())]
        wanted = {
            mark.key: boxes.get(mark.at) or runs[mark.at]
            for mark in self._marks
            if mark.at in boxes or mark.at in runs
        }
        radius = max(RADIUS, SEEN / scene.look.zoom)
        self.places = spots(wanted, [*boxes.values(), *busy], list(lines.values()), radius)
        marked = [Box(x, y, x, y).grown(RADIUS) for x, y in self.places.values()]
        words = self._words(lines, [*boxes.values(), *busy, *marked])
        section = self._section
        self.graphic.show_all(
            [(mark, self.places[mark.key]) for mark in self._marks if mark.key in self.places],
            [boxes[name] for name in section.inside if name in boxes],
            [lines[name] for name in section.inside if name in lines],
            [(boxes[name], str(k)) for k, name in enumerate(section.closed, 1) if name in boxes],
            [lines[name] for name in self._still if name in lines],
            words,
            [boxes.get(name) or runs[name] for name in self._framed if name in boxes or name in runs],
        )

    def _words(self, lines: Mapping[str, Polyline], taken: list[Box]) -> list[tuple[str, Point]]:
        """Labels of pipes that stand, one for pipes in a row that say the same, where there is room."""
        plant, size = self._scene.plant, WORDS * self._scene.look.text_scale
        heads: dict[str, str] = {}
        for name, words in self._still.items():
            pipe = plant.pipes.get(name)
            if pipe is None or name not in lines:
                continue
            ends = [heads.get(f"{end.item} {words}") for end in (pipe.start, pipe.end)]
            head = next((one for one in ends if one), name)
            heads.update({f"{end.item} {words}": head for end in (pipe.start, pipe.end)})
            heads[name] = head
        best: dict[str, str] = {}
        for name in self._still:
            if name in lines and _reach(lines[name]) >= LABELED:
                head = heads.get(name, name)
                known = best.get(head)
                if known is None or _reach(lines[name]) > _reach(lines[known]):
                    best[head] = name
        wanted = {
            name: (lines[name], text_width(self._still[name], size, True))
            for name in best.values()
            if self._still[name]
        }
        found = word_spots(wanted, taken, size)
        return [(self._still[name], at) for name, at in found.items()]


def _reach(line: Polyline) -> float:
    return max(map(length, segments(line)), default=0.0)


class OverlayGraphic(OverGraphic):
    """One graphic that paints all of it."""

    def __init__(self, scene: BoardScene) -> None:
        super().__init__(scene.look, 2.5)
        self._marks: list[tuple[Mark, Point]] = []
        self._inside: list[Box] = []
        self._lines: list[Polyline] = []
        self._closed: list[tuple[Box, str]] = []
        self._still: list[Polyline] = []
        self._words: list[tuple[str, Point]] = []
        self._framed: list[Box] = []

    def show_all(
        self,
        marks: list[tuple[Mark, Point]],
        inside: list[Box],
        lines: list[Polyline],
        closed: list[tuple[Box, str]],
        still: list[Polyline],
        words: list[tuple[str, Point]],
        framed: list[Box],
    ) -> None:
        self._marks, self._inside, self._lines = marks, inside, lines
        self._closed, self._framed = closed, framed
        self._still, self._words = still, words
        boxes = [Box(x, y, x, y).grown(2 * RADIUS) for _, (x, y) in marks]
        boxes += [box.grown(30) for box in (*inside, *framed, *(box for box, _ in closed))]
        boxes += [box_of(line).grown(60) for line in (*lines, *still)]
        self.cover(boxes)

    def paint(
        self, painter: QPainter, option: QStyleOptionGraphicsItem, widget: QWidget | None = None
    ) -> None:
        self.paint_all(painter)

    def paint_all(self, painter: QPainter) -> None:
        """All of it; far out the marks keep a size that can be seen, and only stops and mends have one."""
        palette, zoom = self._look.palette, self._look.zoom
        radius = max(RADIUS, SEEN / zoom)
        if self._inside or self._lines:
            self._paint_section(painter)
        self._paint_still(painter)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        for box in self._framed:
            painter.setPen(pen(palette.accent, max(2.2, 1.6 / self._look.zoom)))
            painter.drawRoundedRect(rect_of(box.grown(7)), 6, 6)
        for mark, at in self._marks:
            if radius == RADIUS or mark.severity != "consider":
                paint_finding(painter, at, mark.severity, mark.number, palette, radius)

    def _paint_section(self, painter: QPainter) -> None:
        """Slanting lines over what is drained; a heavy frame and a number at each valve to close."""
        palette = self._look.palette
        area = QPainterPath()
        area.setFillRule(Qt.FillRule.WindingFill)
        for box in self._inside:
            area.addRect(rect_of(box.grown(3)))
        for line in self._lines:
            area = area.united(_stroked(line, 12.0))
        painter.save()
        painter.setClipPath(area, Qt.ClipOperation.IntersectClip)
        painter.setPen(QPen(palette.soft, 1.0))
        whole, step = area.boundingRect(), 7.0
        starts = [whole.left() + k * step for k in range(int((whole.width() + whole.height()) / step) + 1)]
        fall = whole.height()
        for x in starts:
            painter.drawLine(QLineF(x, whole.top(), x - fall, whole.bottom()))
        painter.restore()
        painter.setBrush(Qt.BrushStyle.NoBrush)
        for shut, number in self._closed:
            painter.setPen(pen(palette.accent, 3.0))
            frame = shut.grown(5)
            painter.drawRect(rect_of(frame))
            self._paint_tab(painter, (frame.x1, frame.y0), number)

    def _paint_tab(self, painter: QPainter, corner: Point, words: str) -> None:
        palette = self._look.palette
        wide = text_width(words, 10.0, True) + 8
        tab = QRectF(corner[0] - wide, corner[1] - 14, wide, 14)
        painter.fillRect(tab, QBrush(palette.accent))
        paint_row(painter, Row(words, tab.left() + 4, tab.bottom() - 3.6, 10.0, True), palette.board)

    def _paint_still(self, painter: QPainter) -> None:
        """Heavy dashes over pipes in which water stands, and how it stands, where there is room to say it."""
        palette, zoom = self._look.palette, self._look.zoom
        painter.setBrush(Qt.BrushStyle.NoBrush)
        for line in self._still:
            painter.setPen(pen(palette.board, max(4.4, 3.0 / zoom)))
            painter.drawPath(pipe_path(line))
            painter.setPen(pen(palette.ink, max(3.2, 2.0 / zoom), (6.0, 4.0)))
            painter.drawPath(pipe_path(line))
        size = WORDS * self._look.text_scale
        for words, (x, y) in self._words:
            paint_row(painter, Row(words, x, y, size, True), palette.ink)


def _stroked(line: Polyline, wide: float) -> QPainterPath:
    path = QPainterPath()
    path.setFillRule(Qt.FillRule.WindingFill)
    for (ax, ay), (bx, by) in segments(line):
        half = wide / 2
        corner = QPointF(min(ax, bx) - half, min(ay, by) - half)
        path.addRect(QRectF(corner, QPointF(max(ax, bx) + half, max(ay, by) + half)))
    return path
