"""One graphics item a symbol, one a pipe, one a note's marker.

They paint what they are given and know no plant.

All of them stay at the scene's origin and paint in board units, so places need no mapping.
"""

from __future__ import annotations

from collections.abc import Mapping

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QPainter, QPen, QRegion
from PySide6.QtWidgets import QGraphicsItem, QStyleOptionGraphicsItem, QWidget

from app.board.look import Look
from app.pens import (
    SYMBOL_PEN,
    PipeInk,
    Written,
    paint_dot,
    paint_marker,
    paint_open_end,
    paint_pipe,
    paint_row,
    pipe_ink,
    pipe_path,
    text_width,
)
from app.symbols import paint_symbol
from core.diagram import symbols
from core.diagram.geometry import Box, Point, Polyline, Segment, box_of, hull, length, level, segments
from core.diagram.labels import Placed
from core.diagram.pipes import PipePicture
from core.diagram.spots import Row
from core.diagram.states import State
from core.plant.model import Item
from core.vocabulary import Trait
from core.vocabulary.port_words import spoken_port

NAMED_PORTS = 3
"""Ports from which on a selected symbol says which is which: in and out need no words."""


def rect_of(box: Box) -> QRectF:
    return QRectF(box.x0, box.y0, box.width, box.height)


def _with(box: Box, *placed: Placed | None) -> Box:
    """A box grown to hold placed texts and their leaders."""
    boxes = [box]
    for text in placed:
        if text is not None:
            boxes.append(text.box.grown(3))
            if text.leader is not None:
                boxes.append(box_of(text.leader).grown(3))
    return hull(boxes)


class BoardGraphic(QGraphicsItem):
    """Base: identity, marks of selection and hover, and no caching."""

    def __init__(self, name: str, look: Look) -> None:
        super().__init__()
        self.name = name
        self.look = look
        self.selected = False
        self.hovered = False
        self.target = False
        self._bounds = QRectF()

    def boundingRect(self) -> QRectF:
        return self._bounds

    def mark(
        self, *, selected: bool | None = None, hovered: bool | None = None, target: bool | None = None
    ) -> None:
        before = (self.selected, self.hovered, self.target)
        self.selected = self.selected if selected is None else selected
        self.hovered = self.hovered if hovered is None else hovered
        self.target = self.target if target is None else target
        if before != (self.selected, self.hovered, self.target):
            self.update()

    def _bound(self, box: Box) -> None:
        fresh = rect_of(box)
        if fresh != self._bounds:
            self.prepareGeometryChange()
            self._bounds = fresh
        self.update()


class SymbolGraphic(BoardGraphic):
    """A symbol with its tag, its open ports and, when selected, its brackets."""

    def __init__(self, item: Item, look: Look) -> None:
        super().__init__(item.id, look)
        self.setZValue(1)
        self.item = item
        self.box = symbols.box(item)
        self._state = State.PLAIN
        self._stubs: Mapping[str, float] = {}
        self._open: tuple[Point, ...] = ()
        self._tag: Written | None = None
        self._proposed = False
        self._known: tuple[object, ...] = ()

    def show_as(
        self,
        item: Item,
        state: State,
        stubs: Mapping[str, float],
        open_ends: tuple[Point, ...],
        tag: Placed | None,
        proposed: bool,
    ) -> None:
        known = (item, state, stubs, open_ends, tag, proposed)
        if known == self._known:
            return
        self._known = known
        self.item, self._state, self._stubs, self._open = item, state, stubs, open_ends
        self._tag, self._proposed = Written(tag) if tag is not None else None, proposed
        self.box = symbols.box(item)
        self._bound(_with(self.box.grown(40 if len(item.ports) >= NAMED_PORTS else 16), tag))

    def paint(
        self, painter: QPainter, option: QStyleOptionGraphicsItem, widget: QWidget | None = None
    ) -> None:
        palette = self.look.palette
        if self.item.has(Trait.JOINS) and not self._proposed:
            paint_dot(painter, self.item.at, palette)
        else:
            painter.save()
            painter.translate(*self.item.at)
            stubs = {port: self.look.line(weight) for port, weight in self._stubs.items()}
            width = self.look.line(SYMBOL_PEN)
            paint_symbol(
                painter, self.item, self._state, palette, stubs, proposed=self._proposed, width=width
            )
            painter.restore()
        for place in self._open:
            paint_open_end(painter, place, palette)
        if self.selected:
            painter.save()
            painter.setClipRegion(self._clear_of_texts(), Qt.ClipOperation.IntersectClip)
            self._paint_brackets(painter)
            painter.restore()
        if self.selected and len(self.item.ports) >= NAMED_PORTS:
            self._paint_port_names(painter)
        if self._tag is not None:
            self._tag.paint(painter, palette)
        if not self.selected and (self.hovered or self.target):
            painter.setPen(self.look.accent_pen(2.2 if self.target else 1.0))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRect(rect_of(self.box.grown(3)))

    def _paint_port_names(self, painter: QPainter) -> None:
        """Beside the ports, inward, as the particulars name them; where there is room for their letters."""
        size = 8.0 * self.look.text_scale
        for port in self.item.ports:
            x, y = symbols.port_place(self.item, port)
            word = spoken_port(port)
            if not word:
                continue
            wide = text_width(word, size)
            dx, dy = symbols.outward(self.item, port)
            left = x + 4.0 if dx > 0 else x - wide - 4.0 if dx < 0 else x + 4.0
            base = y - 4.0 if not dy else y + dy * 3.0 + (size if dy > 0 else 0.0)
            paint_row(painter, Row(word, left, base, size), self.look.palette.accent)

    def _clear_of_texts(self) -> QRegion:
        """All about the symbol but where texts stand."""
        area = self.box.grown(20)
        region = QRegion(rect_of(area).toAlignedRect())
        for text in self.look.texts_in(area):
            region -= QRegion(rect_of(text.grown(1.0)).toAlignedRect())
        return region

    def _paint_brackets(self, painter: QPainter) -> None:
        painter.setPen(self.look.accent_pen(2.2))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        area = rect_of(self.box.grown(3 if not self.item.has(Trait.JOINS) else 5))
        arm = min(9.0, area.width() / 3, area.height() / 3)
        for x, dx in ((area.left(), arm), (area.right(), -arm)):
            for y, dy in ((area.top(), arm), (area.bottom(), -arm)):
                painter.drawLine(QPointF(x, y), QPointF(x + dx, y))
                painter.drawLine(QPointF(x, y), QPointF(x, y + dy))
        if not self.item.has(Trait.JOINS):
            painter.setPen(self.look.accent_pen(1.2))
            painter.setBrush(self.look.palette.board)
            for port in self.item.ports:
                x, y = symbols.port_place(self.item, port)
                painter.drawRect(QRectF(x - 2.6, y - 2.6, 5.2, 5.2))
        if self.look.focused:
            painter.setPen(self.look.accent_pen(1.0))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRect(area.adjusted(-5, -5, 5, 5))


class PipeGraphic(BoardGraphic):
    """A pipe's line with arrows, letters and its label."""

    def __init__(self, name: str, look: Look) -> None:
        super().__init__(name, look)
        self.picture: PipePicture | None = None
        self.label: Placed | None = None
        self._words: Written | None = None
        self._ink: PipeInk | None = None
        self._proposed = False

    def show_as(self, picture: PipePicture, label: Placed | None, proposed: bool) -> None:
        if picture == self.picture and label == self.label and proposed == self._proposed:
            return
        if picture != self.picture:
            self._ink = None
        if label != self.label:
            self._words = Written(label) if label is not None else None
        self.picture, self.label, self._proposed = picture, label, proposed
        self._bound(_with(box_of(picture.line).grown(20), label))

    def paint(
        self, painter: QPainter, option: QStyleOptionGraphicsItem, widget: QWidget | None = None
    ) -> None:
        if self.picture is None:
            return
        palette = self.look.palette
        if self.hovered or self.selected or self.target or self._proposed:
            self._paint_beside(painter, self.picture)
        self._ink = self._ink or pipe_ink(self.picture)
        paint_pipe(painter, self.picture, palette, self.look.line(self.picture.weight), self._ink)
        if self._words is not None:
            self._words.paint(painter, palette)
        if self.selected:
            painter.setPen(self.look.accent_pen(1.2))
            painter.setBrush(palette.board)
            for x, y in self.picture.line:
                painter.drawRect(QRectF(x - 3.2, y - 3.2, 6.4, 6.4))
        if (self.selected or self.hovered) and not self._proposed:
            self._paint_handle(painter, self.picture)

    def _paint_handle(self, painter: QPainter, picture: PipePicture) -> None:
        """A plus in a circle beside the middle: a click puts something in, a drag bends."""
        spot = handle_spot(picture.line)
        if spot is None:
            return
        painter.setPen(self.look.accent_pen(1.2))
        painter.setBrush(self.look.palette.board)
        middle = QPointF(*spot)
        painter.drawEllipse(middle, HANDLE, HANDLE)
        for dx, dy in ((HANDLE - 2.0, 0.0), (0.0, HANDLE - 2.0)):
            painter.drawLine(middle - QPointF(dx, dy), middle + QPointF(dx, dy))

    def _paint_beside(self, painter: QPainter, picture: PipePicture) -> None:
        """Two thin lines beside the pipe: a wide accent line with the board's colour laid over its middle."""
        outer = picture.weight + (8.0 if self.selected or self.target else 7.0)
        inner = outer - (4.0 if self.selected or self.target else 2.4)
        path = pipe_path(picture.line, picture.hops)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        for colour, width in ((self.look.palette.accent, outer), (self.look.palette.board, inner)):
            wide = QPen(colour, width)
            wide.setCapStyle(Qt.PenCapStyle.FlatCap)
            wide.setJoinStyle(Qt.PenJoinStyle.MiterJoin)
            painter.setPen(wide)
            painter.drawPath(path)


HANDLE, OFF_LINE = 5.0, 13.0
"""Half the size of a pipe's handle, and how far from the line its middle lies."""
LEAST_HANDLED = 40.0
"""Board units: a shorter run has none."""


def handle_spot(line: Polyline) -> Point | None:
    """Where the handle of a pipe lies: beside the middle of its longest run, clear of the line itself."""
    run = max(segments(line), key=length, default=None)
    if run is None or length(run) < LEAST_HANDLED:
        return None
    (ax, ay), (bx, by) = run
    x, y = (ax + bx) / 2, (ay + by) / 2
    return (x, y + OFF_LINE) if level(run) else (x - OFF_LINE, y)


class MarkerGraphic(BoardGraphic):
    """The square of a solver's note; holds its number in the list."""

    def __init__(self, name: str, placed: Placed, look: Look) -> None:
        super().__init__(name, look)
        self.placed = placed
        self.setZValue(2)
        self._bound(_with(placed.box, placed))

    def paint(
        self, painter: QPainter, option: QStyleOptionGraphicsItem, widget: QWidget | None = None
    ) -> None:
        paint_marker(painter, self.placed, self.look.palette)


class TextGraphic(BoardGraphic):
    """A text the user put on the board, with its leader."""

    def __init__(self, name: str, placed: Placed, look: Look) -> None:
        super().__init__(name, look)
        self.setZValue(2)
        self.show_as(placed)

    def show_as(self, placed: Placed) -> None:
        self.placed, self._words = placed, Written(placed)
        self._bound(_with(placed.box.grown(12), placed))

    def paint(
        self, painter: QPainter, option: QStyleOptionGraphicsItem, widget: QWidget | None = None
    ) -> None:
        self._words.paint(painter, self.look.palette)
        if self.selected or self.hovered:
            painter.setPen(self.look.accent_pen(1.8 if self.selected else 1.0))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRect(rect_of(self.placed.box.grown(3)))
            if self.selected and self.look.focused:
                painter.setPen(self.look.accent_pen(1.0))
                painter.drawRect(rect_of(self.placed.box.grown(7)))


class LineGraphic(QGraphicsItem):
    """What is in the hand: a line that meets nothing yet, a rubber band, lines from port to port."""

    def __init__(self, look: Look) -> None:
        super().__init__()
        self.setZValue(3)
        self.look = look
        self._points: tuple[Point, ...] = ()
        self._band: Box | None = None
        self._guides: tuple[Segment, ...] = ()
        self._bounds = QRectF()

    def boundingRect(self) -> QRectF:
        return self._bounds

    def show_line(self, points: tuple[Point, ...]) -> None:
        self._set(points, None)

    def show_band(self, box: Box) -> None:
        self._set((), box)

    def show_guides(self, guides: tuple[Segment, ...]) -> None:
        """Thin lines from port to port, over what is only tried."""
        self._set((), None, guides)

    def clear(self) -> None:
        self._set((), None)

    def _set(self, points: tuple[Point, ...], band: Box | None, guides: tuple[Segment, ...] = ()) -> None:
        if (points, band, guides) == (self._points, self._band, self._guides):
            return
        self.prepareGeometryChange()
        self._points, self._band, self._guides = points, band, guides
        boxes = [box_of(line) for line in (points, *guides) if line] + ([band] if band is not None else [])
        self._bounds = rect_of(hull(boxes).grown(8)) if boxes else QRectF()
        self.update()

    def paint(
        self, painter: QPainter, option: QStyleOptionGraphicsItem, widget: QWidget | None = None
    ) -> None:
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(self.look.accent_pen(0.8))
        for a, b in self._guides:
            painter.drawLine(QPointF(*a), QPointF(*b))
            for x, y in (a, b):
                painter.drawEllipse(QPointF(x, y), 5, 5)
        painter.setPen(self.look.accent_pen(1.4))
        if self._points:
            painter.drawPath(pipe_path(self._points))
            painter.drawEllipse(QPointF(*self._points[-1]), 4, 4)
        elif self._band is not None:
            painter.drawRect(rect_of(self._band))


class OverGraphic(QGraphicsItem):
    """What lies over the whole drawing in one graphic and takes no clicks.

    Parameters
    ----------
    look : Look
    z : float
        Its place among what is laid over
    """

    def __init__(self, look: Look, z: float) -> None:
        super().__init__()
        self.setZValue(z)
        self.setAcceptedMouseButtons(Qt.MouseButton.NoButton)
        self._look = look
        self._bounds = QRectF()

    def cover(self, boxes: list[Box]) -> None:
        """Take the room that what is shown now takes."""
        self.prepareGeometryChange()
        self._bounds = rect_of(hull(boxes)) if boxes else QRectF()
        self.update()

    def boundingRect(self) -> QRectF:
        return self._bounds
