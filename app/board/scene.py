"""The scene mirrors the document: graphics for each item and pipe, made from one `Picture`. Writes nothing back.

`show_plant` may also be given a plant that the document does not hold (yet): so gestures show what a drop would do.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from PySide6.QtCore import QObject, QPointF, QRectF, Signal
from PySide6.QtGui import QPainter, QPainterPath
from PySide6.QtWidgets import QGraphicsScene

from app.board import sheet
from app.board.graphics import BoardGraphic, LineGraphic, MarkerGraphic, PipeGraphic, SymbolGraphic, rect_of
from app.board.look import Look
from app.board.pointer import Hit, Place
from app.inking import paint_row, pen, text_width
from core.diagram import symbols
from core.diagram.geometry import Box, Polyline, box_of, hull, segments
from core.diagram.labels import Row
from core.diagram.picture import Detail, Picture, compose
from core.diagram.routes import route
from core.diagram.states import Figures, NoteLike
from core.plant.model import Plant

NO_IDS: frozenset[str] = frozenset()
REACH = 7.0
"""How near to a port or a pipe counts as on it, in pixels."""


class BoardScene(QGraphicsScene):
    """Graphics of one plant in one case."""

    composed = Signal()
    """The picture changed: what a plan view or a card shows may be old."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.look = Look()
        self.symbols: dict[str, SymbolGraphic] = {}
        self.pipes: dict[str, PipeGraphic] = {}
        self.markers: list[MarkerGraphic] = []
        self.hand = LineGraphic(self.look)
        self.addItem(self.hand)
        self.plant = Plant()
        self.solution: Figures | None = None
        self.picture: Picture | None = None
        self.sheet = sheet.Sheet()
        self._settled: dict[str, Polyline] = {}
        self._quantities: tuple[str, ...] = ()
        self._fresh: frozenset[str] = NO_IDS
        self._selected: frozenset[str] = NO_IDS
        self._hovered = ""
        self._target = ""
        self.setSceneRect(QRectF(-20000, -20000, 40000, 40000))

    # ---- mirroring --------------------------------------------------------------------------------------------

    def settle(self, plant: Plant, anew: bool = False) -> None:
        """Show a plant of the document, labels and all. `anew`: another plant, no line of the last one counts."""
        self.plant, self._fresh = plant, NO_IDS
        self._settled = route(plant, None if anew else self._settled)
        if anew:
            self.picture, self.solution = None, None
        self.sheet = sheet.around(hull([symbols.box(item) for item in plant.items.values()]), self.sheet, anew)
        self._compose(self._settled, labels=True)

    def show_plant(self, plant: Plant, fresh: frozenset[str] = NO_IDS) -> None:
        """Show a plant that is only being tried: the lines move, the labels wait."""
        self.plant, self._fresh = plant, fresh
        self._compose(route(plant, self._settled), labels=False)

    def show_solution(self, solution: Figures | None) -> None:
        self.solution = solution
        self._compose(self._settled, labels=True)

    def show_quantities(self, quantities: Sequence[str]) -> None:
        self._quantities = tuple(quantities)
        self._compose(self._settled, labels=True)

    def relabel(self) -> None:
        """Choose words and spots again, as after a zoom."""
        self._compose(self._settled, labels=True)

    def _detail(self, labels: bool) -> Detail:
        zoom = self.look.zoom
        quantities = self._quantities
        if zoom < 0.7:
            quantities = tuple(q for q in quantities if q != "temperature") or quantities
        if zoom < 0.5:
            quantities = quantities[:1]
        units = "si" if self.plant.units == "si" else "us"
        return Detail(quantities, units, tags=labels, second_lines=zoom >= 0.5, labels=labels)  # type: ignore[arg-type]

    def _compose(self, lines: Mapping[str, Polyline], labels: bool) -> None:
        known = set(self.plant.pipes)
        lines = lines if known <= set(lines) else route(self.plant, lines)
        before = self.picture
        picture = compose(self.plant, self.solution, text_width, self._detail(labels), lines, before)
        self._show_symbols(picture, before, labels)
        self._show_pipes(picture, before, labels)
        if labels:
            self.picture = picture
            self._show_markers()
        self.composed.emit()

    def _show_symbols(self, picture: Picture, before: Picture | None, labels: bool) -> None:
        for gone in self.symbols.keys() - self.plant.items.keys():
            self.removeItem(self.symbols.pop(gone))
        for name, item in self.plant.items.items():
            graphic = self.symbols.get(name)
            if graphic is None:
                graphic = self.symbols[name] = SymbolGraphic(item, self.look)
                graphic.selected = name in self._selected
                self.addItem(graphic)
            tag = picture.tags.get(name)
            if not labels and before is not None and graphic.item == item:
                tag = before.tags.get(name)
            graphic.show_as(
                item,
                picture.states[name],
                picture.stubs.get(name, {}),
                picture.open_ends.get(name, ()),
                tag,
                name in self._fresh,
            )

    def _show_pipes(self, picture: Picture, before: Picture | None, labels: bool) -> None:
        for gone in self.pipes.keys() - self.plant.pipes.keys():
            self.removeItem(self.pipes.pop(gone))
        for name in self.plant.pipes:
            graphic = self.pipes.get(name)
            if graphic is None:
                graphic = self.pipes[name] = PipeGraphic(name, self.look)
                graphic.selected = name in self._selected
                self.addItem(graphic)
            label = picture.labels.get(name)
            if not labels and before is not None and name in before.pipes:
                same = before.pipes[name].line == picture.pipes[name].line
                label = before.labels.get(name) if same else None
            graphic.show_as(picture.pipes[name], label, name in self._fresh)

    # ---- the solver's notes -----------------------------------------------------------------------------------

    def notes(self) -> Sequence[NoteLike]:
        return self.solution.notes if self.solution is not None else ()

    def _show_markers(self) -> None:
        for marker in self.markers:
            self.removeItem(marker)
        self.markers = []
        taken: list[Box] = []
        for number, note in enumerate(self.notes(), start=1):
            for at in self._marker_places(note.at):
                area = Box(*at, *at).grown(11)
                if all(not area.overlaps(other) for other in taken) and self._empty(area):
                    break
            else:
                first = next(iter(self._marker_places(note.at)), None)
                if first is None:
                    continue
                at = (first[0] + 22.0 * sum(1 for box in taken if box.has(first)), first[1])
            taken.append(Box(*at, *at).grown(11))
            marker = MarkerGraphic(note.at, number, at, self.look)
            self.markers.append(marker)
            self.addItem(marker)

    def _marker_places(self, name: str) -> list[Place]:
        """Below first, then the other sides, 17 units off; on a pipe beside its longest run."""
        if name in self.symbols:
            box = self.symbols[name].box
            (cx, cy), off = box.centre, 17.0
            sides = [(cx, box.y1 + off), (cx, box.y0 - off), (box.x1 + off, cy), (box.x0 - off, cy)]
            corners = [(x, y) for y in (box.y1 + off, box.y0 - off) for x in (box.x1 + off, box.x0 - off)]
            further = [(cx + dx, box.y1 + off + dy) for dy in (22.0, 44.0) for dx in (0.0, 22.0, -22.0)]
            return [*sides, *corners, *further]
        if name in self.pipes and self.pipes[name].picture is not None:
            runs = segments(self.pipes[name].picture.line)  # type: ignore[union-attr]
            out: list[Place] = []
            for (ax, ay), (bx, by) in sorted(runs, key=lambda r: -abs(r[1][0] - r[0][0]) - abs(r[1][1] - r[0][1])):
                for share in (0.5, 0.3, 0.7, 0.15, 0.85):
                    x, y = ax + (bx - ax) * share, ay + (by - ay) * share
                    out += [(x, y + 17), (x, y - 17)] if ay == by else [(x + 17, y), (x - 17, y)]
            return out
        return []

    def _empty(self, area: Box) -> bool:
        """Whether no symbol, line or text lies in an area."""
        for graphic in self.items(rect_of(area)):
            if isinstance(graphic, SymbolGraphic):
                if graphic.box.overlaps(area):
                    return False
                if self.picture is not None and graphic.name in self.picture.tags:
                    if self.picture.tags[graphic.name].box.overlaps(area):
                        return False
            elif isinstance(graphic, PipeGraphic) and graphic.picture is not None:
                if any(box_of(run).grown(2).overlaps(area) for run in segments(graphic.picture.line)):
                    return False
                if graphic.label is not None and graphic.label.box.overlaps(area):
                    return False
        return True

    # ---- marks ------------------------------------------------------------------------------------------------

    def graphic(self, name: str) -> BoardGraphic | None:
        return self.symbols.get(name) or self.pipes.get(name)

    def select(self, ids: frozenset[str]) -> None:
        for name in self._selected ^ ids:
            graphic = self.graphic(name)
            if graphic is not None:
                graphic.mark(selected=name in ids)
        self._selected = ids

    def hover(self, name: str) -> None:
        if name != self._hovered:
            for other, on in ((self._hovered, False), (name, True)):
                graphic = self.graphic(other)
                if graphic is not None:
                    graphic.mark(hovered=on)
            self._hovered = name

    def aim(self, name: str) -> None:
        """Mark what a drop would land on."""
        if name != self._target:
            for other, on in ((self._target, False), (name, True)):
                graphic = self.graphic(other)
                if graphic is not None:
                    graphic.mark(target=on)
            self._target = name

    # ---- what lies where --------------------------------------------------------------------------------------

    def hit(self, place: Place, but: frozenset[str] = NO_IDS) -> Hit | None:
        """A free port before an item before a pipe; joints count as items."""
        reach = min(max(REACH / self.look.zoom, 5.0), 30.0)
        near = self.items(QRectF(place[0] - reach, place[1] - reach, 2 * reach, 2 * reach))
        shown = [g for g in near if isinstance(g, BoardGraphic) and g.name not in but]
        found = [g for g in shown if isinstance(g, SymbolGraphic)]
        for graphic in found:
            port = self._port_hit(graphic, place, min(reach, 9.0))
            if port is not None:
                return port
        joints_first = sorted(found, key=lambda g: (g.item.kind != "joint", g.box.width))
        for graphic in joints_first:
            grow = 5.0 if graphic.item.kind == "joint" else 1.0
            if graphic.box.grown(grow).has(place):
                return Hit("item", graphic.name, graphic.item.at)
        best: tuple[float, Hit] | None = None
        for pipe in shown:
            if isinstance(pipe, PipeGraphic) and pipe.picture is not None:
                away, foot = nearest_on(pipe.picture.line, place)
                if away <= reach and (best is None or away < best[0]):
                    best = (away, Hit("pipe", pipe.name, foot))
        return best[1] if best is not None else None

    def _port_hit(self, graphic: SymbolGraphic, place: Place, reach: float) -> Hit | None:
        if graphic.item.kind == "joint":
            return None
        for port in graphic.item.ports:
            x, y = symbols.port_place(graphic.item, port)
            if abs(x - place[0]) <= reach and abs(y - place[1]) <= reach and self.is_free(graphic.name, port):
                return Hit("port", graphic.name, (x, y), port)
        return None

    def is_free(self, item: str, port: str) -> bool:
        return not self.plant.pipes_at.get((item, port))  # type: ignore[call-overload]

    def within(self, first: Place, second: Place) -> frozenset[str]:
        area = box_of((first, second))
        inside = {name for name, graphic in self.symbols.items() if area.holds(graphic.box)}
        for name, pipe in self.pipes.items():
            if pipe.picture is not None and area.holds(box_of(pipe.picture.line)):
                inside.add(name)
        return frozenset(inside)

    def box_round(self, name: str) -> Box | None:
        """Where an item or pipe lies."""
        if name in self.symbols:
            return self.symbols[name].box
        if name in self.pipes and self.pipes[name].picture is not None:
            return box_of(self.pipes[name].picture.line)  # type: ignore[union-attr]
        return None

    def drawn(self) -> Box:
        """Everything drawn, texts among it."""
        boxes = [graphic.box for graphic in self.symbols.values()]
        if self.picture is not None and self.plant.pipes:
            boxes.append(self.picture.box)
        return hull(boxes)

    # ---- painting ---------------------------------------------------------------------------------------------

    def drawBackground(self, painter: QPainter, rect: QRectF) -> None:
        painter.fillRect(rect, self.look.palette.board)
        sheet.paint(painter, self.sheet, rect, self.look)
        if self.picture is not None:
            from app.inking import paint_sensing

            for line in self.picture.sensing:
                paint_sensing(painter, line, self.look.palette)

    def paint_overview(self, painter: QPainter, rect: QRectF, zoom: float) -> None:
        """The whole plant as a few paths: for when a symbol is a few pixels wide."""
        palette = self.look.palette
        painter.fillRect(rect, palette.board)
        sheet.paint(painter, self.sheet, rect, self.look)
        lines, still, boxes = QPainterPath(), QPainterPath(), QPainterPath()
        for pipe in self.pipes.values():
            if pipe.picture is not None:
                path = still if pipe.picture.still else lines
                path.moveTo(QPointF(*pipe.picture.line[0]))
                for point in pipe.picture.line[1:]:
                    path.lineTo(QPointF(*point))
        for graphic in self.symbols.values():
            boxes.addRect(rect_of(graphic.box))
        painter.setPen(pen(palette.ink, 1.2 / zoom))
        painter.drawPath(lines)
        painter.setPen(pen(palette.ink, 1.0 / zoom, (4 / zoom, 3 / zoom)))
        painter.drawPath(still)
        painter.setPen(pen(palette.ink, 1.0 / zoom))
        painter.setBrush(palette.board)
        painter.drawPath(boxes)
        self._overview_words(painter, zoom)

    def _overview_words(self, painter: QPainter, zoom: float) -> None:
        """Tags of sources and circuits, at a size that can be read, and what is selected."""
        size = 10.0 / zoom
        wide_kinds = ("heater", "boiler", "heat_pump", "tank", "floor_circuit", "melt_circuit", "exchanger")
        for name, graphic in self.symbols.items():
            if graphic.item.kind in wide_kinds:
                x = graphic.box.centre[0] - text_width(name, size, True) / 2
                paint_row(painter, Row(name, x, graphic.box.y0 - 3 / zoom, size, True), self.look.palette.ink)
        painter.setPen(pen(self.look.palette.accent, 2.2 / zoom))
        for name in self._selected:
            box = self.box_round(name)
            if box is not None:
                painter.drawRect(rect_of(box.grown(4 / zoom)))


def nearest_on(line: Polyline, place: Place) -> tuple[float, Place]:
    """How far a place is from a line, and its foot there."""
    best: tuple[float, Place] = (float("inf"), line[0])
    for (ax, ay), (bx, by) in segments(line):
        x = min(max(place[0], min(ax, bx)), max(ax, bx))
        y = min(max(place[1], min(ay, by)), max(ay, by))
        away = max(abs(x - place[0]), abs(y - place[1]))
        if away < best[0]:
            best = (away, (x, y))
    return best
