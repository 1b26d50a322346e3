"""The marks at a cut that tell on which sheet a cut pipe goes on."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

from app.paper.marks import Text
from app.pens import text_width
from core.diagram.geometry import Box, Polyline, segments
from core.diagram.plans import Plan, Tile

MATCH = 2.2  # size of match marks [mm]


def match_marks(
    plan: Plan,
    i: int,
    j: int,
    lines: Sequence[tuple[str, Polyline]],
    sheet_of: Callable[[int, int], int | None],
) -> list[Text]:
    """At each cut pipe and control line its tag, and on each cut side the sheet that goes on there."""
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
