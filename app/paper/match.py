"""The marks at a cut that tell on which sheet a cut pipe goes on."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence

from app.paper.marks import Mark, Rule, Text, wrapped
from app.pens import text_width
from core.diagram.geometry import Box, Point, Polyline, hull, segments
from core.diagram.plans import STRIP, Plan, Tile

LEAD = 4.2  # from line to line [mm]
MATCH = 3.43  # font of match marks, capitals 2.5 mm high [mm]


def match_marks(
    plan: Plan,
    i: int,
    j: int,
    lines: Sequence[tuple[str, Polyline]],
    sheet_of: Callable[[int, int], int | None],
    astride: Sequence[tuple[str, Box]] = (),
) -> list[Mark]:
    """At each cut pipe and control line its tag, and on each cut side the sheet that goes on there.

    `astride`: items that lie on a cut, with their boxes. Such an item is drawn whole on the sheet of its
    middle; on the other its tag stands at the cut.
    """
    tile = plan.tile(i, j)
    source, target = tile.source, tile.target
    whole = [tile.on_sheet(box) for _, box in astride if source.has(box.centre)]
    out: list[Mark] = []
    for di, dj in ((-1, 0), (1, 0), (0, -1), (0, 1)):
        u, v = i + di, j + dj
        if not (0 <= u < len(plan.columns) - 1 and 0 <= v < len(plan.rows) - 1):
            continue
        number = sheet_of(u, v)
        if number is None:
            continue
        edge = (source.x1 if di > 0 else source.x0) if di else (source.y1 if dj > 0 else source.y0)
        places = _crossed(lines, edge, bool(di), source)
        there = plan.source(u, v)
        for name, box in astride:
            if there.has(box.centre) and box.overlaps(source):
                places.append((name, box.centre[1] if di else box.centre[0]))
        out += _pointer(f"sheet {number}", target, di, dj)
        for name, place in sorted(places, key=lambda entry: entry[1]):
            x, y = (edge, place) if di else (place, edge)
            at = tile.on_sheet(Box(x, y, x, y))
            texts = _beside(tile, name, place, di, dj)
            taken = [*whole, *(mark.box for mark in out if isinstance(mark, Text))]
            out += _clear(texts, (at.x0, at.y0), taken, (di, dj), plan.room)
    return out


def _clear(texts: list[Text], place: Point, taken: Sequence[Box], way: Point, room: Box) -> list[Mark]:
    """A tag where it lies on nothing: at the cut, else further out, else along it and led to its place."""
    for dx, dy in _shifts(way, room):
        moved = [text.moved(dx, dy) for text in texts]
        areas = [text.box for text in moved]
        if all(room.holds(area) and not any(area.overlaps(box) for box in taken) for area in areas):
            area = hull(areas)
            near = (min(max(place[0], area.x0), area.x1), min(max(place[1], area.y0), area.y1))
            astray = abs(near[1] - place[1]) if way[0] else abs(near[0] - place[0])
            return [*moved, *([Rule(*place, *near)] if astray > 0.5 else [])]
    return list(texts)


def _shifts(way: Point, room: Box) -> Iterator[Point]:
    """Nearest first, as far as the sheet reaches."""
    if way[0]:
        yield 0.0, 0.0
        for k in range(1, int(2 * room.height / LEAD)):
            yield from ((0.0, LEAD * 0.5 * k), (0.0, -LEAD * 0.5 * k))
        return
    outward = [way[1] * LEAD * k for k in range(3)]
    yield from ((0.0, dy) for dy in outward)
    for k in range(1, int(room.width / 2.0)):
        yield from ((dx, dy) for dy in outward for dx in (2.0 * k, -2.0 * k))


def _crossed(
    lines: Iterable[tuple[str, Polyline]], edge: float, upright: bool, source: Box
) -> list[tuple[str, float]]:
    """Pipes that cross an edge of the tile, and where along it."""
    out: list[tuple[str, float]] = []
    for name, line in lines:
        for (ax, ay), (bx, by) in segments(line):
            if upright and ay == by and min(ax, bx) < edge < max(ax, bx) and source.y0 <= ay <= source.y1:
                out.append((name, ay))
            if not upright and ax == bx and min(ay, by) < edge < max(ay, by) and source.x0 <= ax <= source.x1:
                out.append((name, ax))
    return sorted(out, key=lambda entry: entry[1])


def _beside(tile: Tile, name: str, place: float, di: int, dj: int) -> list[Text]:
    """A tag outside a cut; beside an upright one it is broken into lines where it is long."""
    target, scale = tile.target, tile.scale
    if di:
        lines = wrapped(name, STRIP - 2.0, MATCH, 3, True) or [name]
        y = target.y0 + (place - tile.source.y0) * scale + 1.25 - LEAD * (len(lines) - 1) / 2
        return [
            Text(
                line,
                target.x1 + 1.5 if di > 0 else target.x0 - 1.5 - text_width(line, MATCH, True),
                y + LEAD * k,
                MATCH,
                True,
            )
            for k, line in enumerate(lines)
        ]
    x = target.x0 + (place - tile.source.x0) * scale - text_width(name, MATCH, True) / 2
    return [Text(name, x, target.y1 + 3.9 if dj > 0 else target.y0 - 1.6, MATCH, True)]


def _pointer(words: str, target: Box, di: int, dj: int) -> list[Text]:
    """Which sheet goes on beyond an edge, at the edge's beginning, outside the match marks."""
    wide = text_width(words, MATCH)
    if di:
        x = target.x1 + 1.5 if di > 0 else target.x0 - 1.5 - wide
        return [Text(words, x, target.y0 + 3.0, MATCH)]
    return [
        Text(
            words, target.x0, target.y1 + 3.9 + 2.6 * LEAD if dj > 0 else target.y0 - 1.6 - 2.6 * LEAD, MATCH
        )
    ]
