"""What lies where on the board: what the pointer is on, what a band holds, where a thing is."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import NamedTuple

from PySide6.QtCore import QObject, QRectF
from PySide6.QtWidgets import QGraphicsScene

from app.board.graphics import BoardGraphic, PipeGraphic, SymbolGraphic, TextGraphic, rect_of
from app.board.ground import Ground
from app.board.look import Look
from app.board.pointer import Hit, Place
from core.diagram import symbols
from core.diagram.geometry import Box, Polyline, box_of, hull, length, segments
from core.diagram.labels import Placed
from core.diagram.picture import Picture
from core.diagram.routes import route
from core.plant.model import Item, Plant, PortRef
from core.vocabulary import Trait

NO_IDS: frozenset[str] = frozenset()
MANY = 500
"""Fewer things than this are never a crowd."""
LARGE = 400
"""Pipes from which on a hand moves only what it touches, until all is drawn again."""
REACH = 7.0
"""How near to a port or a pipe counts as on it, in pixels."""


class HitTestedScene(QGraphicsScene):
    """A scene's things by their places. What fills it is `BoardScene`."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.look = Look()
        self.symbols: dict[str, SymbolGraphic] = {}
        self.pipes: dict[str, PipeGraphic] = {}
        self.texts: dict[str, TextGraphic] = {}
        self.plant = self._document_plant = Plant()
        self.picture: Picture | None = None
        self._settled: dict[str, Polyline] = {}
        self.ground = Ground(self.plant)

    @property
    def trying(self) -> bool:
        """Whether what is drawn is only being tried in the hand."""
        return self.plant is not self._document_plant

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
        for item in sorted(items, key=lambda i: (not i.has(Trait.JOINS), symbols.box(i).width)):
            if symbols.box(item).grown(5.0 if item.has(Trait.JOINS) else 1.0).has(place):
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
        if item.has(Trait.JOINS):
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

    @property
    def _written(self) -> Mapping[str, Placed]:
        """Tags and labels at their places."""
        return {**self.picture.tags, **self.picture.labels} if self.picture is not None else {}

    def words_at(self, name: str, place: Place) -> str:
        """The row of a thing's written words that is at a place; empty where there is none."""
        placed = self._written.get(name)
        if placed is None or not placed.box.grown(2.0).has(place):
            return ""
        return min(placed.rows, key=lambda row: abs(row.y - row.size / 2 - place[1])).text

    def labelled(self, place: Place) -> str:
        """The item or pipe whose written words are at a place."""
        return next((name for name, one in self._written.items() if one.box.grown(2.0).has(place)), "")

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

    def lines_without(self, item: str) -> Mapping[str, Polyline]:
        """The lines as they would run if an item were not in their way; of a large plant as they run."""
        plant = self._document_plant
        if len(plant.pipes) > LARGE:
            return self._settled
        return route(replace(plant, items={name: one for name, one in plant.items.items() if name != item}))

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

    def crowd(self, rect: QRectF) -> float:
        """About how many things are in sight, taken as spread evenly over what is drawn."""
        count = len(self.symbols) + len(self.pipes)
        if count < MANY or self.picture is None:
            return 0.0
        bounds = rect_of(self.ground.zones.frame())
        seen = bounds & rect
        return count * seen.width() * seen.height() / max(bounds.width() * bounds.height(), 1.0)

    def drawn(self) -> Box:
        """Everything drawn, texts among it."""
        boxes = [graphic.box for graphic in self.symbols.values()]
        if self.picture is not None and (self.plant.pipes or self.plant.texts):
            boxes.append(self.picture.box)
        return hull(boxes)


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
