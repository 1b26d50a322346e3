"""The scene mirrors the document: graphics for each item and pipe, made from one `Picture`.

Writes nothing back.

`show_plant` may also be given a plant that the document does not hold (yet): so gestures show what a drop
would do.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import NamedTuple

from PySide6.QtCore import QObject, QPointF, QRect, QRectF, QTimer, Signal
from PySide6.QtGui import QPainter, QPainterPath
from PySide6.QtWidgets import QGraphicsScene

from app.board import sheet, trial
from app.board.graphics import (
    BoardGraphic,
    LineGraphic,
    MarkerGraphic,
    PipeGraphic,
    SymbolGraphic,
    TextGraphic,
    rect_of,
)
from app.board.look import Look
from app.board.pointer import Hit, Place
from app.inking import paint_row, paint_wire, pen, text_width
from core.diagram import control_lines, symbols
from core.diagram.control_lines import WireKind
from core.diagram.geometry import Box, Polyline, box_of, hull, length, segments
from core.diagram.labels import Row
from core.diagram.picture import Detail, Picture, compose
from core.diagram.routes import route
from core.diagram.states import Figures, NoteLike
from core.diagram.zones import zones
from core.plant.model import Item, Plant, PortRef

NO_IDS: frozenset[str] = frozenset()
WORDS_AFTER = 150
"""Milliseconds after an edit until its words are placed, where no answer of the solver comes first."""
REST = 700
"""Milliseconds of rest until labels that had no spot are tried again."""
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
        self.texts: dict[str, TextGraphic] = {}
        self.hand = LineGraphic(self.look)
        self.addItem(self.hand)
        self.plant = self._document_plant = self._worded = Plant()
        self.solution: Figures | None = None
        self.picture: Picture | None = None
        self.zones = zones(self.plant, {})
        self._settled: dict[str, Polyline] = {}
        self._quantities: tuple[str, ...] = ()
        self._stages = False
        self._wires: tuple[WireKind, ...] = ("senses",)
        self._fresh: frozenset[str] = NO_IDS
        self._selected: frozenset[str] = NO_IDS
        self._hovered = ""
        self._target = ""
        self._lines_due = False
        self._words_due = QTimer(self)
        self._words_due.setSingleShot(True)
        self._words_due.setInterval(WORDS_AFTER)
        self._words_due.timeout.connect(self.relabel)
        self._rest = QTimer(self)
        self._rest.setSingleShot(True)
        self._rest.setInterval(REST)
        self._rest.timeout.connect(self.relabel)
        self.setSceneRect(QRectF(-20000, -20000, 40000, 40000))

    # ---- mirroring ------------------------------------------------------------------

    def settle(self, plant: Plant, anew: bool = False) -> None:
        """Show a plant of the document, labels and all; `anew`: another plant.

        At once only what the edit touches is drawn anew. All lines and words follow with the solver's answer
        to it, or a little later where none comes; then they follow from the plant alone, whatever was drawn
        before, and are the same on paper and when the file is opened again.
        """
        before, self._fresh = self._document_plant, NO_IDS
        self.plant = self._document_plant = plant
        if anew:
            self._settled = route(plant)
        elif not trial.same_lines(before, plant):
            self._settled = trial.lines(plant, before, self._settled)
            self._lines_due = True
        if anew:
            self.picture, self.solution = None, None
        only_drawing = before.units == plant.units and before.systems == plant.systems
        if anew or self.picture is None or not only_drawing:
            self._compose(self._settled, words=True)
        else:
            self._compose(self._settled, words=False)
            self._words_due.start()

    def show_plant(self, plant: Plant, fresh: frozenset[str] = NO_IDS) -> None:
        """Show a plant that is only being tried: the lines move, the words wait."""
        self.plant, self._fresh = plant, fresh
        self._words_due.stop()
        self._compose(trial.lines(plant, self._document_plant, self._settled), words=False)

    def show_solution(self, solution: Figures | None) -> None:
        """Show other figures; labels without a spot are tried again when the hand has come to rest."""
        before, self.solution = self.solution, solution
        if self.plant is not self._document_plant:
            return
        if not (self._words_due.isActive() or self._lines_due) and same_figures(before, solution):
            return
        self._compose(self._settled, words=True, hurried=True)
        if self.picture is not None and self.picture.hidden:
            self._rest.start()

    def show_quantities(self, quantities: Sequence[str]) -> None:
        self._quantities = tuple(quantities)
        self.relabel()

    def show_controls(self, on: bool) -> None:
        """Lines from signals and outlets besides those of sensing."""
        wires: tuple[WireKind, ...] = control_lines.KINDS if on else ("senses",)
        if wires != self._wires:
            self._wires = wires
            self.relabel()

    def show_stages(self, on: bool) -> None:
        if on != self._stages:
            self._stages = on
            self.relabel()

    def relabel(self) -> None:
        """Choose words and spots again, as after a zoom; not while something is only being tried."""
        if self.plant is self._document_plant:
            self._compose(self._settled, words=True)

    def _detail(self, words: bool, hurried: bool = False) -> Detail:
        zoom = self.look.zoom
        quantities = self._quantities
        if zoom < 0.7:
            quantities = tuple(q for q in quantities if q != "temperature") or quantities
        if zoom < 0.5:
            quantities = quantities[:1]
        units = "si" if self.plant.units == "si" else "us"
        return Detail(
            quantities,
            units,  # type: ignore[arg-type]
            tags=words,
            second_lines=zoom >= 0.5,
            labels=words,
            markers=note_numbers(self.notes()) if words else {},
            text_scale=self.look.text_scale,
            stages=self._stages,
            wires=self._wires,
            hurried=hurried,
        )

    def _compose(self, lines: Mapping[str, Polyline], words: bool, hurried: bool = False) -> None:
        """Make the picture and hand it to the graphics; without `words` those of before stay if they can."""
        if words and self._lines_due:
            self._lines_due = False
            self._settled = lines = route(self.plant)
        if self.plant is self._document_plant:
            self._lay_sheet()
        before = self.picture
        picture = compose(self.plant, self.solution, text_width, self._detail(words, hurried), lines, before)
        self._rest.stop()
        if words:
            self._words_due.stop()
            self._worded = self.plant
        elif before is not None:
            picture = trial.with_words_of(before, picture, self._worded, self.plant, self.look.text_scale)
        self.look.texts = tuple(placed.box for placed in picture.written)
        self._show_symbols(picture)
        self._show_pipes(picture)
        self._show_markers(picture)
        self._show_texts(picture)
        if self.plant is self._document_plant:
            self.picture = picture
        self.composed.emit()

    def _lay_sheet(self) -> None:
        fresh = zones(self.plant, self._settled)
        if fresh != self.zones:
            self.zones = fresh
            self.update()

    def zone_of(self, name: str) -> str:
        """Where a thing lies, as schedules and paper say it."""
        if name in self._document_plant.items or name in self._settled:
            return self.zones.of(self._document_plant, self._settled, name)
        return ""

    def _show_symbols(self, picture: Picture) -> None:
        for gone in self.symbols.keys() - self.plant.items.keys():
            self.removeItem(self.symbols.pop(gone))
        for name, item in self.plant.items.items():
            graphic = self.symbols.get(name)
            if graphic is None:
                graphic = self.symbols[name] = SymbolGraphic(item, self.look)
                graphic.selected = name in self._selected
                self.addItem(graphic)
            graphic.show_as(
                item,
                picture.states[name],
                picture.stubs.get(name, {}),
                picture.open_ends.get(name, ()),
                picture.tags.get(name),
                name in self._fresh,
            )

    def _show_pipes(self, picture: Picture) -> None:
        for gone in self.pipes.keys() - self.plant.pipes.keys():
            self.removeItem(self.pipes.pop(gone))
        for name in self.plant.pipes:
            graphic = self.pipes.get(name)
            if graphic is None:
                graphic = self.pipes[name] = PipeGraphic(name, self.look)
                graphic.selected = name in self._selected
                self.addItem(graphic)
            graphic.show_as(picture.pipes[name], picture.labels.get(name), name in self._fresh)

    # ---- the solver's notes ---------------------------------------------------------

    def notes(self) -> Sequence[NoteLike]:
        return self.solution.notes if self.solution is not None else ()

    def _show_markers(self, picture: Picture) -> None:
        if [marker.placed for marker in self.markers] == list(picture.markers.values()):
            return
        for marker in self.markers:
            self.removeItem(marker)
        self.markers = [MarkerGraphic(name, placed, self.look) for name, placed in picture.markers.items()]
        for marker in self.markers:
            self.addItem(marker)

    def _show_texts(self, picture: Picture) -> None:
        """The user's own texts, called as the document calls them."""
        wanted = {f"text {number}": placed for number, placed in picture.texts.items()}
        for gone in self.texts.keys() - wanted.keys():
            self.removeItem(self.texts.pop(gone))
        for name, placed in wanted.items():
            graphic = self.texts.get(name)
            if graphic is None:
                graphic = self.texts[name] = TextGraphic(name, placed, self.look)
                graphic.selected = name in self._selected
                self.addItem(graphic)
            elif graphic.placed != placed:
                graphic.show_as(placed)

    # ---- marks ----------------------------------------------------------------------

    def graphic(self, name: str) -> BoardGraphic | None:
        return self.symbols.get(name) or self.pipes.get(name) or self.texts.get(name)

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

    # ---- what lies where ------------------------------------------------------------

    def hit(self, place: Place, but: frozenset[str] = NO_IDS) -> Hit | None:
        """A free port before an item before a text before a pipe; joints count as items.

        What a gesture is only trying does not count: a pipe in the hand must not land on itself.
        """
        reach = min(max(REACH / self.look.zoom, 5.0), 30.0)
        items, lines = self._near(Box(*place, *place).grown(reach))
        items = [item for item in items if item.id not in but]
        for item in items:
            port = self._port_hit(item, place, min(reach, 9.0))
            if port is not None:
                return port
        for item in sorted(items, key=lambda i: (i.kind != "joint", symbols.box(i).width)):
            if symbols.box(item).grown(5.0 if item.kind == "joint" else 1.0).has(place):
                return Hit("item", item.id, item.at)
        for name, text in self.texts.items():
            if name not in but and text.placed.box.grown(2.0).has(place):
                return Hit("text", name, place)
        near_pipes = [
            (foot.away, Hit("pipe", name, foot.at, share=foot.share, way=foot.way))
            for name, line in lines
            for foot in (nearest_on(line, place),)
            if name not in but and foot.away <= reach
        ]
        return min(near_pipes, key=lambda found: found[0])[1] if near_pipes else None

    def _near(self, area: Box) -> tuple[list[Item], list[tuple[str, Polyline]]]:
        """Items and lines of the document near a place; one by one while the scene shows a trial."""
        if self.plant is self._document_plant:
            found = self.items(rect_of(area))
            names = {graphic.name for graphic in found if isinstance(graphic, BoardGraphic)}
            items = [self.plant.items[name] for name in names if name in self.plant.items]
            return items, [(name, self._settled[name]) for name in names if name in self._settled]
        plant = self._document_plant
        return (
            [item for item in plant.items.values() if symbols.box(item).overlaps(area)],
            [(name, line) for name, line in self._settled.items() if box_of(line).grown(1).overlaps(area)],
        )

    def _port_hit(self, item: Item, place: Place, reach: float) -> Hit | None:
        if item.kind == "joint":
            return None
        for port in item.ports:
            x, y = symbols.port_place(item, port)
            near = abs(x - place[0]) <= reach and abs(y - place[1]) <= reach
            if near and not self._document_plant.pipes_at.get(PortRef(item.id, port)):
                return Hit("port", item.id, (x, y), port)
        return None

    def within(self, first: Place, second: Place) -> frozenset[str]:
        area = box_of((first, second))
        inside = {name for name, graphic in self.symbols.items() if area.holds(graphic.box)}
        for name, pipe in self.pipes.items():
            if pipe.picture is not None and area.holds(box_of(pipe.picture.line)):
                inside.add(name)
        inside |= {name for name, text in self.texts.items() if area.holds(text.placed.box)}
        return frozenset(inside)

    def box_round(self, name: str) -> Box | None:
        """Where an item or pipe lies."""
        if name in self.symbols:
            return self.symbols[name].box
        if name in self.pipes and self.pipes[name].picture is not None:
            return box_of(self.pipes[name].picture.line)  # type: ignore[union-attr]
        return self.texts[name].placed.box if name in self.texts else None

    @property
    def lines(self) -> Mapping[str, Polyline]:
        """The settled lines of the document's pipes."""
        return self._settled

    def line(self, pipe: str) -> Polyline:
        """The settled line of a pipe of the document."""
        return self._settled[pipe]

    def on_pipe(self, pipe: str, place: Place) -> Hit | None:
        """The point of a pipe of the document nearest to a place, a little clear of its ends."""
        line = self._settled.get(pipe, ())
        runs = [run for run in segments(line) if length(run) >= 20.0]
        if not runs:
            return None
        feet = []
        for (ax, ay), (bx, by) in runs:
            dx, dy = 10.0 * ((bx > ax) - (bx < ax)), 10.0 * ((by > ay) - (by < ay))
            x0, x1 = sorted((ax + dx, bx - dx))
            y0, y1 = sorted((ay + dy, by - dy))
            feet.append((min(max(place[0], x0), x1), min(max(place[1], y0), y1)))
        at = min(feet, key=lambda p: abs(p[0] - place[0]) + abs(p[1] - place[1]))
        foot = nearest_on(line, at)
        return Hit("pipe", pipe, foot.at, share=foot.share, way=foot.way)

    def middle_of(self, pipe: str) -> Hit | None:
        """The middle of a pipe's longest run."""
        picture = self.pipes[pipe].picture
        if picture is None or not segments(picture.line):
            return None
        (ax, ay), (bx, by) = max(segments(picture.line), key=length)
        foot = nearest_on(picture.line, ((ax + bx) / 2, (ay + by) / 2))
        return Hit("pipe", pipe, foot.at, share=foot.share, way=foot.way)

    def drawn(self) -> Box:
        """Everything drawn, texts among it."""
        boxes = [graphic.box for graphic in self.symbols.values()]
        if self.picture is not None and (self.plant.pipes or self.plant.texts):
            boxes.append(self.picture.box)
        return hull(boxes)

    # ---- painting -------------------------------------------------------------------

    def drawBackground(self, painter: QPainter, rect: QRectF | QRect) -> None:
        rect = QRectF(rect)
        painter.fillRect(rect, self.look.palette.board)
        sheet.paint(painter, self.zones, rect, self.look)
        if self.picture is not None:
            for wire in self.picture.wires:
                paint_wire(painter, wire, self.look.palette)

    def paint_overview(self, painter: QPainter, rect: QRectF, zoom: float) -> None:
        """The whole plant as a few paths: for when a symbol is a few pixels wide."""
        palette = self.look.palette
        painter.fillRect(rect, palette.board)
        sheet.paint(painter, self.zones, rect, self.look)
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


def same_figures(before: Figures | None, after: Figures | None) -> bool:
    """Whether two answers say the same of everything."""
    if before is None or after is None:
        return before is after
    return all(
        getattr(before, part) == getattr(after, part)
        for part in ("case", "signals", "pipes", "items", "notes")
    )


def note_numbers(notes: Sequence[NoteLike]) -> dict[str, str]:
    """One number for each place that has notes, in their order: the same on board, list and paper."""
    places = dict.fromkeys(note.at for note in notes)
    return {name: str(number) for number, name in enumerate(places, start=1)}


class Foot(NamedTuple):
    """The point of a line nearest to a place."""

    away: float
    at: Place
    share: float
    way: Place


def nearest_on(line: Polyline, place: Place) -> Foot:
    """Where on a line a place is nearest, how far along that is, and which way the line runs there."""
    total = sum(length(run) for run in segments(line)) or 1.0
    best, passed = Foot(float("inf"), line[0], 0.0, (1.0, 0.0)), 0.0
    for (ax, ay), (bx, by) in segments(line):
        x = min(max(place[0], min(ax, bx)), max(ax, bx))
        y = min(max(place[1], min(ay, by)), max(ay, by))
        away = max(abs(x - place[0]), abs(y - place[1]))
        if away < best.away:
            way = (float((bx > ax) - (bx < ax)), float((by > ay) - (by < ay)))
            best = Foot(away, (x, y), (passed + abs(x - ax) + abs(y - ay)) / total, way)
        passed += length(((ax, ay), (bx, by)))
    return best
