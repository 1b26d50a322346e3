"""Divides the diagram among sheets: where it is cut, and the marks that tell where a cut pipe goes on."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import ceil

from app.inking import text_width
from app.paper.marks import Text, Tile
from core.diagram.geometry import Box, Polyline, segments

LEAST, MOST = 0.20, 0.30  # scale of the diagram [mm/unit]
MOST_SHEETS = 40  # of one diagram
STRIP = 16.0  # room beside a cut for its match marks [mm]
MATCH = 2.2  # size of match marks [mm]


@dataclass(frozen=True)
class Plan:
    """How the diagram lies on sheets: cuts across and down in units, tiles row by row."""

    scale: float
    columns: tuple[float, ...]  # x of all edges, first to last [u]
    rows: tuple[float, ...]  # y of all edges [u]
    room: Box  # field of the sheets that hold a tile [mm]

    @property
    def single(self) -> bool:
        return len(self.columns) == 2 and len(self.rows) == 2

    def source(self, i: int, j: int) -> Box:
        return Box(self.columns[i], self.rows[j], self.columns[i + 1], self.rows[j + 1])

    def tile(self, i: int, j: int) -> Tile:
        """The tile of column i, row j, laid into the middle of the field's width, at its top."""
        source = self.source(i, j)
        wide, high = source.width * self.scale, source.height * self.scale
        across, down = len(self.columns) > 2, len(self.rows) > 2
        x = self.room.x0 + (self.room.width - wide) / 2
        y = self.room.y0 + (STRIP if down else 0.0)
        x = min(max(x, self.room.x0 + (STRIP if across else 0.0)), self.room.x1 - wide)
        return Tile(source, Box(x, y, x + wide, y + high), self.scale)

    def cuts(self) -> list[Box]:
        """The cuts as thin boxes that no text may lie on [u]."""
        x0, x1, y0, y1 = self.columns[0], self.columns[-1], self.rows[0], self.rows[-1]
        out = [Box(x - 1, y0 - 500, x + 1, y1 + 500) for x in self.columns[1:-1]]
        return out + [Box(x0 - 500, y - 1, x1 + 500, y + 1) for y in self.rows[1:-1]]


def fit(area: Box, room: Box) -> float:
    """Scale at which the area fills the room, at most the largest used [mm/unit]."""
    return min(MOST, room.width / max(area.width, 1.0), room.height / max(area.height, 1.0))


def divided(area: Box, room: Box, symbols: Sequence[Box]) -> Plan:
    """Cut the area into as few tiles as the least scale allows, through gaps between symbols."""
    whole = Plan(fit(area, room), (area.x0, area.x1), (area.y0, area.y1), room)
    if area.width * area.height * LEAST**2 > MOST_SHEETS * room.width * room.height:
        return whole  # strewn over a mile: one sheet to find things on, and the schedules
    inner = Box(room.x0 + STRIP, room.y0 + STRIP, room.x1 - STRIP, room.y1 - STRIP)
    # A cut may move by up to a fifth of a tile to find a gap, so tiles are planned that much smaller.
    columns = _count(area.width * LEAST, room.width, inner.width)
    rows = _count(area.height * LEAST, room.height, inner.height)
    across = inner.width if columns > 1 else room.width
    down = inner.height if rows > 1 else room.height
    xs = _edges(area.x0, area.x1, columns, [(b.x0, b.x1) for b in symbols])
    ys = _edges(area.y0, area.y1, rows, [(b.y0, b.y1) for b in symbols])
    widest = max(b - a for a, b in pairwise(xs))
    highest = max(b - a for a, b in pairwise(ys))
    return Plan(min(0.25, across / widest, down / highest), xs, ys, room)


def _count(wanted: float, whole: float, part: float) -> int:
    return 1 if wanted <= whole else max(2, ceil(wanted / (0.85 * part)))


def _edges(low: float, high: float, count: int, spans: Sequence[tuple[float, float]]) -> tuple[float, ...]:
    """Edges at even distances, each moved to where it runs through the fewest symbols.

    Cuts lie between grid lines, so that no pipe runs along one.
    """
    edges = [low]
    even = (high - low) / count
    for i in range(1, count):
        ideal = round((low + even * i) / 10) * 10 + 5.0
        choices = [ideal + 10 * k for k in range(-int(even * 0.15 / 10), int(even * 0.15 / 10) + 1)]
        edges.append(
            min(choices, key=lambda x: (sum(1 for a, b in spans if a - 3 < x < b + 3), abs(x - ideal)))
        )
    return (*edges, high)


def match_marks(
    plan: Plan, i: int, j: int, lines: Mapping[str, Polyline], sheet_of: Callable[[int, int], int | None]
) -> list[Text]:
    """At each cut pipe its tag, and on each cut side the sheet that goes on there."""
    tile = plan.tile(i, j)
    source, target = tile.source, tile.target
    out: list[Text] = []
    for di, dj in ((-1, 0), (1, 0), (0, -1), (0, 1)):
        u, v = i + di, j + dj
        if not (0 <= u < len(plan.columns) - 1 and 0 <= v < len(plan.rows) - 1):
            continue
        number = sheet_of(u, v)
        if number is None:
            continue
        edge = (source.x1 if di > 0 else source.x0) if di else (source.y1 if dj > 0 else source.y0)
        places = _crossed(lines, edge, bool(di), source)
        texts = [_beside(tile, name, place, di, dj) for name, place in places]
        texts.insert(0, _pointer(f"sheet {number}", target, di, dj))
        for text in texts:
            if not any(text.box.overlaps(other.box) for other in out):
                out.append(text)
    return out


def _crossed(
    lines: Mapping[str, Polyline], edge: float, upright: bool, source: Box
) -> list[tuple[str, float]]:
    """Pipes that cross an edge of the tile, and where along it."""
    out: list[tuple[str, float]] = []
    for name, line in lines.items():
        for (ax, ay), (bx, by) in segments(line):
            if upright and ay == by and min(ax, bx) < edge < max(ax, bx) and source.y0 <= ay <= source.y1:
                out.append((name, ay))
            if not upright and ax == bx and min(ay, by) < edge < max(ay, by) and source.x0 <= ax <= source.x1:
                out.append((name, ax))
    return sorted(out, key=lambda entry: entry[1])


def _beside(tile: Tile, name: str, place: float, di: int, dj: int) -> Text:
    wide = text_width(name, MATCH, True)
    target, scale = tile.target, tile.scale
    if di:
        y = target.y0 + (place - tile.source.y0) * scale + 0.8
        x = target.x1 + 1.5 if di > 0 else target.x0 - 1.5 - wide
        return Text(name, x, y, MATCH, True)
    x = target.x0 + (place - tile.source.x0) * scale - wide / 2
    return Text(name, x, target.y1 + 3.4 if dj > 0 else target.y0 - 1.6, MATCH, True)


def _pointer(words: str, target: Box, di: int, dj: int) -> Text:
    """Which sheet goes on beyond an edge, at the edge's beginning, outside the match marks."""
    wide = text_width(words, MATCH)
    if di:
        return Text(words, target.x1 + 1.5 if di > 0 else target.x0 - 1.5 - wide, target.y0 + 1.8, MATCH)
    return Text(words, target.x0, target.y1 + 7.5 if dj > 0 else target.y0 - 5.5, MATCH)
