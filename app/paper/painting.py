"""Paints laid-out sheets with a painter whose unit is one millimetre. No layout."""

from __future__ import annotations

from dataclasses import replace

from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QPainter, QPainterPath, QPen

from app import pens, symbols
from app.paper.layout import Papers
from app.paper.marks import Graph, Page, Rule, Sign, Text
from app.paper.pager import Sheets
from app.pens import PRINT
from app.widgets.plot import paint_plot
from core.diagram.geometry import Box
from core.diagram.picture import Picture
from core.diagram.plans import Tile
from core.diagram.symbols import box
from core.plant.model import Plant


def paint_page(painter: QPainter, papers: Papers | Sheets, page: Page) -> None:
    """One sheet; the painter's unit is a millimetre, its origin the sheet's upper left corner."""
    if page.tile is not None and isinstance(papers, Papers):
        paint_tile(painter, papers.plant, papers.picture, page.tile)
    for mark in page.marks:
        if isinstance(mark, Rule):
            _rule(painter, mark)
        elif isinstance(mark, Sign):
            _sign(painter, mark)
        elif isinstance(mark, Graph):
            _graph(painter, mark)
        else:
            paint_text(painter, mark)


def _rule(painter: QPainter, rule: Rule) -> None:
    pen = QPen(PRINT.ink, rule.width)
    pen.setCapStyle(Qt.PenCapStyle.FlatCap if rule.dash else Qt.PenCapStyle.SquareCap)
    if rule.dash:
        pen.setDashPattern([part / rule.width for part in rule.dash])
    painter.setPen(pen)
    painter.drawLine(QLineF(QPointF(rule.x0, rule.y0), QPointF(rule.x1, rule.y1)))


def _graph(painter: QPainter, graph: Graph) -> None:
    painter.save()
    painter.translate(graph.area.x0, graph.area.y0)
    painter.scale(graph.scale, graph.scale)
    paint_plot(painter, graph.plot, PRINT)
    painter.restore()


def _sign(painter: QPainter, sign: Sign) -> None:
    """A symbol in the legend at the diagram's usual scale, smaller where it would not fit."""
    area, drawn = sign.area, symbols.kind_box(sign.kind)
    scale = min(0.25, area.width / max(drawn.width, 1), area.height / max(drawn.height, 1))
    wide, high = drawn.width * scale, drawn.height * scale
    x, y = area.centre
    target = QRectF(x - wide / 2, y - high / 2, wide, high)
    symbols.paint_kind(
        painter, sign.kind, target, PRINT, stubs=True, electric=sign.electric, state=sign.state, least_pen=0.0
    )


def paint_text(painter: QPainter, text: Text) -> None:
    painter.save()
    painter.translate(text.x, text.y)
    painter.scale(text.size / 100, text.size / 100)
    painter.setFont(pens.board_font(100, text.bold))
    painter.setPen(QPen(PRINT.soft if text.soft else PRINT.ink))
    painter.drawText(QPointF(0, 0), text.text)
    painter.restore()


def paint_tile(painter: QPainter, plant: Plant, picture: Picture, tile: Tile) -> None:
    """A piece of the diagram in full detail, clipped to its place; words of other pieces are left out."""
    painter.save()
    target = tile.target
    area = QPainterPath()
    area.addRect(QRectF(target.x0, target.y0, target.width, target.height))
    seen = tile.source
    # What lies on a cut is drawn whole where its middle is, and left out beyond.
    here = [item for item in plant.items.values() if seen.has(box(item).centre)]
    whole = QPainterPath()
    for item in here:
        over = tile.on_sheet(box(item).grown(1.0))
        if not target.holds(over):
            whole.addRect(QRectF(over.x0, over.y0, over.width, over.height))
    painter.setClipPath(area.united(whole) if not whole.isEmpty() else area)
    painter.translate(target.x0, target.y0)
    painter.scale(tile.scale, tile.scale)
    painter.translate(-tile.source.x0, -tile.source.y0)
    for wire in picture.wires:
        pens.paint_wire(painter, wire, PRINT)
    for pipe in picture.pipes.values():
        # Clipped letters would still be found by whoever searches the file.
        letters = tuple(letter for letter in pipe.letters if seen.has(letter.at))
        pens.paint_pipe(painter, replace(pipe, letters=letters), PRINT, _weight(pipe.weight))
    for item in here:
        painter.save()
        painter.translate(*item.at)
        stubs = {port: _weight(weight) for port, weight in picture.stubs.get(item.id, {}).items()}
        symbols.paint_symbol(painter, item, picture.states[item.id], PRINT, stubs)
        painter.restore()
    for ends in picture.open_ends.values():
        for at in ends:
            pens.paint_open_end(painter, at, PRINT)
    for placed in picture.written:
        if _within(placed.box, seen):
            pens.paint_placed(painter, placed, PRINT)
    for placed in picture.markers.values():
        if _within(placed.box, seen):
            pens.paint_marker(painter, placed, PRINT)
    painter.restore()


def _weight(units: float) -> float:
    """A pipe's weight on paper: thin where nothing flows, medium, thick from 4 gpm (0.25 L/s) on [u]."""
    return 1.0 if units <= 1.0 else 2.0 if units < 2.5 else 4.0


def _within(area: Box, seen: Box) -> bool:
    x, y = area.centre
    return seen.has((x, y))
