"""The marks at a cut that tell on which sheet a cut pipe goes on."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

from app.paper.marks import Text, wrapped
from app.pens import text_width
from core.diagram.geometry import Box, Polyline, segments
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
) -> list[Text]:
    """At each cut pipe and control line its tag, and on each cut side the sheet that goes on there.

    `astride`: items that lie on a cut, with their boxes. Such an item is drawn whole on the sheet of its
    middle; on the other its tag stands at the cut.
    """
    tile = plan.tile(i, j)
    source, target = tile.source, tile.target
    whole = [tile.on_sheet(box) for _, box in astride if source.has(box.centre)]
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
        there = plan.source(u, v)
        for name, box in astride:
            if there.has(box.centre) and box.overlaps(source):
                places.append((name, box.centre[1] if di else box.centre[0]))
        out += _pointer(f"sheet {number}", target, di, dj)
        for name, place in sorted(places, key=lambda entry: entry[1]):
            out += _clear(_beside(tile, name, place, di, dj), out, whole, (di, dj))
    return out


def _clear(texts: list[Text], out: list[Text], whole: list[Box], way: tuple[int, int]) -> list[Text]:
    """A tag where it lies on nothing: at the cut, else further out, and along it where there is no room."""
    di, dj = way
    shifts = [(di * 0.0, 0.0)]
    if dj:
        shifts += [(0.0, dj * LEAD * k) for k in (1, 2)]
    else:
        shifts += [(0.0, LEAD * 0.5 * k * sign) for k in range(1, 5) for sign in (1, -1)]
    for dx, dy in shifts:
        moved = [text.moved(dx, dy) for text in texts]
        if not any(text.box.overlaps(box) for text in moved for box in (*whole, *(o.box for o in out))):
            return moved
    return []


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
