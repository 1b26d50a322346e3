"""Puts the names of curves and points beside them, clear of every curve, point and other name."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from core.diagram.geometry import Box, Point, Polyline
from core.diagram.labels import Placed
from core.diagram.spots import ASCENT, DESCENT, Measure, Row

PLACES = 33  # tried along each curve
CLEAR = 2.0  # between a name and any line, in units of a text of 10
FAR = 46.0  # a name may stand so far off, with a leader


@dataclass(frozen=True)
class Wish:
    """A name for a curve (its visible runs), or for a point."""

    name: str
    runs: tuple[Polyline, ...]
    at: Point | None = None


def place_names(
    wishes: Sequence[Wish], frame: Box, measure: Measure, size: float, taken: Sequence[Box]
) -> tuple[list[Placed], list[str]]:
    """Names at their places, and those that found none.

    Parameters
    ----------
    wishes : sequence of Wish
        Every curve, named or not: all of them are kept clear
    frame : Box
        Names stay inside it, [u]
    measure : callable
        Width of a text, [u]
    size : float
        Of the text, [u]
    taken : sequence of Box
        What else must stay clear, such as points

    Returns
    -------
    (list of Placed, list of str)
    """
    boxes = list(taken)
    curves = [wish.runs for wish in wishes]
    placed: list[Placed] = []
    left: list[str] = []
    # A point has few places, a short curve fewer than a long one.
    for number in sorted(range(len(wishes)), key=lambda i: (wishes[i].at is None, _long(wishes[i].runs))):
        wish = wishes[number]
        if not wish.name:
            continue
        others = [runs for i, runs in enumerate(curves) if i != number]
        found = _best(wish, others, frame, measure(wish.name, size, False), size, boxes)
        if found is None:
            left.append(wish.name)
            continue
        box, leader = found
        row = Row(wish.name, box.x0, box.y1 - DESCENT * size, size)
        placed.append(Placed(wish.name, (row,), box, ("curve",), leader))
        boxes.append(Box(box.x0 - size, box.y0 - 0.15 * size, box.x1 + size, box.y1 + 0.15 * size))
    return placed, left


def _long(runs: Sequence[Polyline]) -> float:
    return sum(math.dist(a, b) for run in runs for a, b in pairwise(run))


def _best(
    wish: Wish,
    others: Sequence[tuple[Polyline, ...]],
    frame: Box,
    wide: float,
    size: float,
    boxes: Sequence[Box],
) -> tuple[Box, tuple[Point, Point] | None] | None:
    """The free place nearest to its own curve and furthest from others; far ones get a leader."""
    clear = CLEAR * size / 10.0
    best: tuple[float, Box, tuple[Point, Point] | None] | None = None
    for gap in (0.0, 0.9 * size, 2.0 * size, FAR * size / 10.0):
        for foot, box in _candidates(wish, wide, size, clear, gap):
            if not frame.holds(box) or any(box.overlaps(other) for other in boxes):
                continue
            near = box.grown(clear * 0.9)
            if any(_crosses(near, run) for run in wish.runs):
                continue
            if any(_crosses(near, run) for runs in others for run in runs):
                continue
            leader = _leader(box, foot) if gap > 0.0 else None
            if leader and any(_crosses_line(leader, run) for runs in others for run in runs):
                continue
            apart = min((_apart(box, run) for runs in others for run in runs), default=math.inf)
            alone = min((_between(box, other) for other in boxes), default=math.inf)
            merit = min(apart, 5.0 * size) + 0.5 * min(alone, 4.0 * size) - 0.6 * gap
            merit -= 0.01 * _from_middle(box, frame, size)
            if best is None or merit > best[0] + 1e-9:
                best = (merit, box, leader)
        if best is not None:
            return best[1], best[2]
    return None


def _candidates(
    wish: Wish, wide: float, size: float, clear: float, gap: float
) -> Iterator[tuple[Point, Box]]:
    """Boxes about the curve or point, each with the spot it names."""
    high = (ASCENT + DESCENT) * size
    if wish.at is not None:
        x, y = wish.at
        off = 0.62 * size + clear + gap
        for sx, sy in ((1, -1), (-1, -1), (1, 1), (-1, 1), (1, 0), (-1, 0), (0, -1), (0, 1)):
            x0 = x + off * 0.7 if sx > 0 else x - off * 0.7 - wide if sx < 0 else x - wide / 2
            y0 = y - off - high if sy < 0 else y + off if sy > 0 else y - high / 2
            yield (x, y), Box(x0, y0, x0 + wide, y0 + high)
        return
    for foot in _feet(wish.runs):
        x, y = foot
        for anchor in (0.5, 0.0, 1.0, 0.25, 0.75):
            x0 = x - anchor * wide
            reach = _ordinates(wish.runs, x0 - clear, x0 + wide + clear) or [y]
            top = min(reach) - clear - gap - high
            yield foot, Box(x0, top, x0 + wide, top + high)
            top = max(reach) + clear + gap
            yield foot, Box(x0, top, x0 + wide, top + high)
        for x0 in (x + 2 * clear + gap, x - 2 * clear - gap - wide):  # beside a steep piece
            yield foot, Box(x0, y - high / 2, x0 + wide, y + high / 2)


def _feet(runs: Sequence[Polyline]) -> Iterator[Point]:
    """Spots evenly along the runs."""
    total = _long(runs)
    if total <= 0.0:
        return
    step = total / (PLACES + 1)
    walked, wanted = 0.0, step
    for run in runs:
        for a, b in pairwise(run):
            long = math.dist(a, b)
            while long > 0.0 and wanted <= walked + long:
                t = (wanted - walked) / long
                yield a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])
                wanted += step
            walked += long


def _ordinates(runs: Sequence[Polyline], x0: float, x1: float) -> list[float]:
    """Heights of the curve over a stretch of x, its ends included."""
    out: list[float] = []
    for run in runs:
        for (ax, ay), (bx, by) in pairwise(run):
            low, high = min(ax, bx), max(ax, bx)
            if high < x0 or low > x1:
                continue
            for x in (max(low, x0), min(high, x1)):
                t = 0.0 if bx == ax else (x - ax) / (bx - ax)
                out.append(ay + t * (by - ay))
            if bx == ax:
                out += [ay, by]
    return out


def _crosses(box: Box, run: Polyline) -> bool:
    """Whether any piece of a line meets a box."""
    return any(_meets(box, a, b) for a, b in pairwise(run))


def _meets(box: Box, a: Point, b: Point) -> bool:
    (ax, ay), (bx, by) = a, b
    if max(ax, bx) <= box.x0 or min(ax, bx) >= box.x1 or max(ay, by) <= box.y0 or min(ay, by) >= box.y1:
        return False
    start, end = 0.0, 1.0
    dx, dy = bx - ax, by - ay
    for p, q in ((-dx, ax - box.x0), (dx, box.x1 - ax), (-dy, ay - box.y0), (dy, box.y1 - ay)):
        if p < 0.0:
            start = max(start, q / p)
        elif p > 0.0:
            end = min(end, q / p)
        elif q < 0.0:
            return False
    return start < end


def _crosses_line(leader: tuple[Point, Point], run: Polyline) -> bool:
    (px, py), (qx, qy) = leader

    def side(ax: float, ay: float, bx: float, by: float, cx: float, cy: float) -> float:
        return (bx - ax) * (cy - ay) - (by - ay) * (cx - ax)

    return any(
        side(ax, ay, bx, by, px, py) * side(ax, ay, bx, by, qx, qy) < 0.0
        and side(px, py, qx, qy, ax, ay) * side(px, py, qx, qy, bx, by) < 0.0
        for (ax, ay), (bx, by) in pairwise(run)
    )


def _apart(box: Box, run: Polyline) -> float:
    """Distance of a line from a box, by its bends and middles: near enough to compare places."""
    spots = [*run, *(((a[0] + b[0]) / 2, (a[1] + b[1]) / 2) for a, b in pairwise(run))]
    return min(
        (math.hypot(max(box.x0 - x, 0.0, x - box.x1), max(box.y0 - y, 0.0, y - box.y1)) for x, y in spots),
        default=math.inf,
    )


def _between(box: Box, other: Box) -> float:
    """Gap from box to box."""
    dx = max(box.x0 - other.x1, other.x0 - box.x1, 0.0)
    dy = max(box.y0 - other.y1, other.y0 - box.y1, 0.0)
    return math.hypot(dx, dy)


def _leader(box: Box, foot: Point) -> tuple[Point, Point]:
    x = min(max(foot[0], box.x0), box.x1)
    return (x, box.y1 if foot[1] > box.y1 else box.y0 if foot[1] < box.y0 else box.centre[1]), foot


def _from_middle(box: Box, frame: Box, size: float) -> float:
    """Names near the edge read less well."""
    return abs(box.centre[0] - frame.centre[0]) / size
