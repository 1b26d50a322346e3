"""How a diagram lies on sheets of paper: its scale, its place, and the cuts where one sheet is too small.

Both follow from the plant alone, not from a case: so a zone such as D2 means the same place on the board, in
the schedules and on paper. No texts, no painting.

By the plant alone: from the board's origin, moved by whole zones, then in the middle of its room, at 0.25,
0.225 or 0.20 mm a unit.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import ceil, floor

from core.diagram.geometry import Box, Point, hull
from core.diagram.sheets import ZONE, Sheet

SCALES = (0.25, 0.225, 0.20)  # of a diagram on one sheet, the largest that fits is taken [mm/unit]
LEAST, MOST = SCALES[-1], SCALES[0]
FULL = (0.343,)  # at which capitals of the diagram are 2.5 mm high, the least of ISO 3098 [mm/unit]
LARGE = 400.0  # short side of a sheet on which a diagram that fits is drawn at full size [mm]
MOST_SHEETS = 40  # of one diagram
STRIP = 16.0  # room beside a cut for its match marks [mm]
SIDE = 96.0  # column of legend, key and notes beside the diagram [mm]
BETWEEN = 5.0  # between blocks and columns [mm]
AIR = 25.0  # round the symbols and lines, for their texts [u]


@dataclass(frozen=True)
class Tile:
    """A piece of the diagram: `source` in units, laid to `target` in mm at `scale` [mm/unit]."""

    source: Box
    target: Box
    scale: float

    def on_sheet(self, area: Box) -> Box:
        """A box of the diagram as it lies on the sheet."""
        dx, dy = self.target.x0 - self.source.x0 * self.scale, self.target.y0 - self.source.y0 * self.scale
        s = self.scale
        return Box(area.x0 * s + dx, area.y0 * s + dy, area.x1 * s + dx, area.y1 * s + dy)


@dataclass(frozen=True)
class Plan:
    """How the diagram lies on sheets: cuts across and down in units, tiles row by row.

    `corner` is the place of the board that lies in the upper left corner of the room, where one sheet holds
    all; `beside` says where legend and key have their room then.
    """

    scale: float
    columns: tuple[float, ...]  # x of all edges, first to last [u]
    rows: tuple[float, ...]  # y of all edges [u]
    room: Box  # field of the sheets that hold a tile [mm]
    corner: Point = (0.0, 0.0)
    beside: str = "elsewhere"

    @property
    def single(self) -> bool:
        return len(self.columns) == 2 and len(self.rows) == 2

    @property
    def reach(self) -> Box:
        """All of the board that the one sheet has room for [u]."""
        x, y = self.corner
        return Box(x, y, x + self.room.width / self.scale, y + self.room.height / self.scale)

    def source(self, i: int, j: int) -> Box:
        return Box(self.columns[i], self.rows[j], self.columns[i + 1], self.rows[j + 1])

    def tile(self, i: int, j: int) -> Tile:
        """The tile of column i, row j: at its place on the one sheet, else in the middle of the width."""
        source = self.source(i, j)
        wide, high = source.width * self.scale, source.height * self.scale
        if self.single:
            x = self.room.x0 + (source.x0 - self.corner[0]) * self.scale
            y = self.room.y0 + (source.y0 - self.corner[1]) * self.scale
            return Tile(source, Box(x, y, x + wide, y + high), self.scale)
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

    def numbers(self, things: Iterable[Box]) -> dict[tuple[int, int], int]:
        """The sheet of each tile that holds anything, counted from 0."""
        boxes = list(things)
        out: dict[tuple[int, int], int] = {}
        for j in range(len(self.rows) - 1):
            for i in range(len(self.columns) - 1):
                if self.single or any(self.source(i, j).overlaps(box) for box in boxes):
                    out[i, j] = len(out)
        return out


def planned(
    drawn: Box,
    symbols: Sequence[Box],
    sheet: Sheet,
    legend_entries: int,
    key_lines: int,
    scales: Sequence[float] | None = None,
    control: Sequence[Box] = (),
) -> Plan:
    """How a diagram that fills the box `drawn`, its lines of control those of `control`, lies on such sheets.

    It stands on the one sheet where it stands on the board, whose origin is the upper left corner of the
    room. Only where it would leave the room the sheet is laid elsewhere, by whole zones, and where even that
    would part it from its legend, with the diagram in the middle. `scales` are those it may have, the largest
    first; with one alone it is cut over as many sheets as that takes.
    """
    if scales is None:
        scales = (*FULL, *SCALES) if min(sheet.width, sheet.height) >= LARGE else SCALES
    empty = not drawn.width and not drawn.height
    area = Box(0.0, 0.0, 1.0, 1.0) if empty else hull([drawn.grown(AIR), *control])
    rooms = _rooms(sheet.field, legend_entries, key_lines)
    elsewhere = rooms.pop("elsewhere")
    for beside, room in rooms.items():
        for aligned in (True, False):
            plan = _on_one(area, room, beside, aligned, scales)
            if plan is not None:
                return plan
    plan = _on_one(area, elsewhere, "elsewhere", True, scales)
    if plan is not None:
        return plan
    return _divided(area, sheet.field, symbols, scales)


def _on_one(area: Box, room: Box, beside: str, aligned: bool, scales: Sequence[float]) -> Plan | None:
    """The diagram in a room at the largest scale that fits: by whole zones of the board, or in the middle."""
    for scale in scales if room.height > 20 else ():
        wide, high = room.width / scale, room.height / scale
        if area.width > wide or area.height > high:
            continue
        corner = (area.x0 - (wide - area.width) / 2, area.y0 - (high - area.height) / 2)
        if aligned:
            corner = (_start(area.x0, area.x1, wide, scale), _start(area.y0, area.y1, high, scale))
        if _holds(corner, wide, high, area):
            return Plan(scale, (area.x0, area.x1), (area.y0, area.y1), room, corner, beside)
    return None


def _rooms(field: Box, legend_entries: int, key_lines: int) -> dict[str, Box]:
    """Rooms for the diagram on the one sheet, by where legend and key then lie."""

    def legend(wide: float) -> float:
        return LEGEND_HEAD + LEGEND_ROW * ceil(legend_entries / max(1, int(wide // LEGEND_CELL)))

    key = LEGEND_HEAD + KEY_ROW * key_lines
    under = max(legend(field.width - SIDE - BETWEEN), key) + BETWEEN + 2
    return {
        "beside": Box(field.x0, field.y0, field.x1 - SIDE - BETWEEN, field.y1),
        "both below": Box(field.x0, field.y0, field.x1, field.y1 - under),
        "legend below": Box(field.x0, field.y0, field.x1, field.y1 - legend(field.width) - BETWEEN - 2),
        "elsewhere": field,
    }


LEGEND_HEAD, LEGEND_ROW, LEGEND_CELL = 7.6, 10.0, 46.0  # a symbol and its name [mm]
KEY_ROW = 5.2  # [mm]


def _start(low: float, high: float, reach: float, scale: float) -> float:
    """Where the room begins: at the board's origin, or as few whole zones away as must be."""
    step = ZONE / scale
    if low < 0:
        return floor(low / step) * step
    return ceil(max(high - reach, 0.0) / step) * step


def _holds(corner: Point, wide: float, high: float, area: Box) -> bool:
    return Box(corner[0], corner[1], corner[0] + wide, corner[1] + high).holds(area)


def _divided(area: Box, room: Box, symbols: Sequence[Box], scales: Sequence[float]) -> Plan:
    """Cut the area into as few tiles as the least scale allows, through gaps between symbols."""
    most, least = scales[0], scales[-1]
    scale = min(most, room.width / max(area.width, 1.0), room.height / max(area.height, 1.0))
    if scale >= least or area.width * area.height * least**2 > MOST_SHEETS * room.width * room.height:
        # It fits, though not by whole zones; or it is strewn over a mile: one sheet to find things on.
        corner = (
            area.x0 - (room.width / scale - area.width) / 2,
            area.y0 - (room.height / scale - area.height) / 2,
        )
        return Plan(scale, (area.x0, area.x1), (area.y0, area.y1), room, corner)
    inner = Box(room.x0 + STRIP, room.y0 + STRIP, room.x1 - STRIP, room.y1 - STRIP)
    xs, wide = _cut(area.x0, area.x1, (room.width, inner.width), least, [(b.x0, b.x1) for b in symbols])
    ys, high = _cut(area.y0, area.y1, (room.height, inner.height), least, [(b.y0, b.y1) for b in symbols])
    return Plan(min(most, wide, high), xs, ys, room)


def _cut(
    low: float, high: float, rooms: tuple[float, float], least: float, spans: Sequence[tuple[float, float]]
) -> tuple[tuple[float, ...], float]:
    """Edges of as few tiles as keep the least scale, and the scale that they then may have.

    `rooms`: what a sheet holds of a drawing that is not cut this way, and of one that is [mm]. One tile more
    is taken where that cuts fewer symbols.
    """
    whole, part = rooms
    if (high - low) * least <= whole:
        return (low, high), whole / max(high - low, 1.0)
    count = max(2, ceil((high - low) * least / part))
    choices = (_edges(low, high, many, part / least, spans) for many in (count, count + 1, count + 2))
    found = [choice for choice in choices if choice is not None]
    _, edges = min(found, key=lambda choice: (choice[0], len(choice[1])))
    return edges, part / max(b - a for a, b in pairwise(edges))


def _edges(
    low: float, high: float, count: int, most: float, spans: Sequence[tuple[float, float]]
) -> tuple[int, tuple[float, ...]] | None:
    """Edges of so many tiles, none over `most` wide, through the fewest symbols, then the most even.

    Cuts lie between grid lines, so that no pipe runs along one. None where the tiles do not reach.
    """
    even = (high - low) / count
    first = floor(low / 10) * 10 + 15.0
    places = [first + 10 * k for k in range(max(0, ceil((high - first) / 10)))]
    cuts = {x: sum(1 for a, b in spans if a - 3 < x < b + 3) for x in places}
    # The best way to each place with one cut after the other: symbols cut, unevenness, the cuts.
    ways: dict[float, tuple[int, float, tuple[float, ...]]] = {low: (0, 0.0, (low,))}
    for number in range(1, count):
        further: dict[float, tuple[int, float, tuple[float, ...]]] = {}
        for x in places:
            if abs(x - low - even * number) > even or x >= high:
                continue
            reach = [way for at, way in ways.items() if 0.0 < x - at <= most]
            if reach:
                cost, uneven, edges = min(reach)
                further[x] = (cost + cuts[x], uneven + (x - low - even * number) ** 2, (*edges, x))
        ways = further
    ends = [way for at, way in ways.items() if 0.0 < high - at <= most]
    if not ends:
        return None
    cost, _, edges = min(ends)
    return cost, (*edges, high)
