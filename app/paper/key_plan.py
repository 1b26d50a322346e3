"""The index of a diagram cut over several sheets: a small plan with their numbers, and what is on each."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping

from app.paper.blocks import HEAD, HEADING, SMALL, Block, Strip, Table, heading, table_block
from app.paper.marks import Mark, Rule, Text
from app.pens import text_width
from core.diagram import symbols
from core.diagram.geometry import Box, Point, Polyline, segments
from core.diagram.zones import Zones
from core.papers.plant_words import natural
from core.plant.model import Plant
from core.vocabulary import Schedule

TITLE = "SHEETS OF THE DIAGRAM"
INDEXED = (Schedule.CIRCULATORS, Schedule.SOURCES, Schedule.HEAT_PUMPS, Schedule.CIRCUITS, Schedule.ROOMS)
HIGHEST = 90.0  # of the small plan [mm]
CHAIN = (4.0, 1.0, 0.7, 1.0)  # as the cuts on the sheets [mm]


def index_block(plant: Plant, placed: Zones, lines: Mapping[str, Polyline], wide: float) -> Block:
    """Plan and table, one strip each row."""
    table = table_block(_table(plant, placed), wide)
    plan = _plan(plant, placed, lines, wide)
    # The table brings its own head; it stands below the plan.
    head = Strip(table.head.high, table.head.marks)
    return Block(TITLE, Strip(HEADING, heading(TITLE, wide)), (plan, head, *table.body))


def _table(plant: Plant, placed: Zones) -> Table:
    """The tags of the equipment on each sheet."""
    rows = []
    for number, tile in placed.tiles():
        tags = [
            item.id
            for item in plant.items.values()
            if item.kind_info.schedule in INDEXED and tile.source.has(item.at)
        ]
        rows.append((f"{number + 1}", ", ".join(sorted(tags, key=natural)) or "pipes and valves"))
    return Table("", ("sheet", "on it"), tuple(rows))


def _plan(plant: Plant, placed: Zones, lines: Mapping[str, Polyline], wide: float) -> Strip:
    """The whole diagram small, without words, cut as it is on the sheets."""
    whole = placed.frame()
    scale = min(wide / whole.width, HIGHEST / whole.height)

    def at(x: float, y: float) -> Point:
        return (x - whole.x0) * scale, (y - whole.y0) * scale + 2.0

    marks: list[Mark] = []
    for line in lines.values():
        marks += [Rule(*at(*start), *at(*end), 0.13) for start, end in segments(line)]
    for item in plant.items.values():
        marks += _outline(symbols.body_box(item), at)
    for number, tile in placed.tiles():
        (x0, y0), (x1, y1) = at(tile.source.x0, tile.source.y0), at(tile.source.x1, tile.source.y1)
        marks += [Rule(*side, 0.35, CHAIN) for side in _sides(Box(x0, y0, x1, y1))]
        words = str(number + 1)
        marks.append(Text(words, x1 - text_width(words, HEAD, True) - 1.5, y0 + HEAD, HEAD, True))
    return Strip(whole.height * scale + 4.0 + SMALL, tuple(marks))


def _outline(box: Box, at: Callable[[float, float], Point]) -> Iterator[Mark]:
    (x0, y0), (x1, y1) = at(box.x0, box.y0), at(box.x1, box.y1)
    yield from (Rule(*side, 0.13) for side in _sides(Box(x0, y0, x1, y1)))


def _sides(box: Box) -> tuple[tuple[float, float, float, float], ...]:
    x0, y0, x1, y1 = box
    return (x0, y0, x1, y0), (x1, y0, x1, y1), (x1, y1, x0, y1), (x0, y1, x0, y0)
