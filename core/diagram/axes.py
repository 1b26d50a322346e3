"""A plot's geometry: round ticks, curves cut to their frame, names placed on their curves. No painting.

Screen and paper paint the same `Plot`. Here y points down, as on the board; a chart's own y points up.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Literal

from core.diagram.curve_labels import Wish, place_names
from core.diagram.geometry import Box, Point, Polyline, Segment
from core.diagram.labels import Placed
from core.diagram.spots import ASCENT, DESCENT, Measure, Row

Line = Literal["solid", "long_dash", "dash_dot", "thin", "dotted"]
Shape = Literal["disc", "square", "triangle", "diamond"]

SPOT = 4.0  # half the size of a point's shape, in units of a text of 10
ROOM_X, ROOM_Y = 50.0, 30.0  # wanted from tick to tick


@dataclass(frozen=True)
class Trace:
    """A curve of a chart: its points in the chart's own numbers, how it is drawn, its name."""

    points: Polyline
    line: Line = "solid"
    name: str = ""


@dataclass(frozen=True)
class Spot:
    """A point of a chart; hollow ones are what could be, filled ones what is."""

    at: Point
    shape: Shape = "disc"
    name: str = ""
    hollow: bool = False


@dataclass(frozen=True)
class Chart:
    """What is to be shown, in numbers as they are read (gpm, ft), without a place.

    Attributes
    ----------
    x, y : str
        What the axes carry, with the unit: "flow, gpm"
    traces, spots : tuple
    x_range, y_range : (float, float) or None
        Ends of the axes; None takes in everything, with 0
    empty : str
        Said in the middle where there is nothing to draw
    x_ticks : tuple of (float, str)
        Ticks of our own, such as hours; empty for round numbers
    """

    x: str
    y: str
    traces: tuple[Trace, ...] = ()
    spots: tuple[Spot, ...] = ()
    x_range: tuple[float, float] | None = None
    y_range: tuple[float, float] | None = None
    empty: str = ""
    x_ticks: tuple[tuple[float, str], ...] = ()


@dataclass(frozen=True)
class Axis:
    """One axis: its ends and its ticks, (value, text)."""

    low: float
    high: float
    ticks: tuple[tuple[float, str], ...]

    def share(self, value: float) -> float:
        """How far along the axis a value lies, 0 to 1 within its ends."""
        return (value - self.low) / (self.high - self.low)

    def at(self, share: float) -> float:
        """The value so far along the axis."""
        return self.low + share * (self.high - self.low)


@dataclass(frozen=True)
class Plot:
    """A chart laid out: everything to paint, at its place. `keyed` holds names that found no room."""

    frame: Box
    x: Axis
    y: Axis
    grid: tuple[Segment, ...]
    words: tuple[Row, ...]
    lines: tuple[tuple[Line, tuple[Polyline, ...]], ...]
    spots: tuple[tuple[Spot, Point], ...]
    names: tuple[Placed, ...]
    keyed: tuple[tuple[Line, Row, Segment], ...] = ()
    size: float = 10.0

    def point(self, x: float, y: float) -> Point:
        """Where a value lies."""
        return to_frame(self.frame, self.x, self.y, (x, y))

    def value(self, point: Point) -> Point:
        """Which value lies at a point."""
        f = self.frame
        return self.x.at((point[0] - f.x0) / f.width), self.y.at((f.y1 - point[1]) / f.height)


def round_step(span: float, most: int) -> float:
    """The least step of 1, 2 or 5 times a power of ten that cuts a span into at most so many parts.

    Examples
    --------
    >>> round_step(16.0, 6), round_step(0.9, 5), round_step(40.0, 4)
    (5.0, 0.2, 10.0)
    """
    if not span > 0.0 or not math.isfinite(span):
        return 1.0
    raw = span / max(most, 1)
    power = 10.0 ** math.floor(math.log10(raw))
    for factor in (1.0, 2.0, 5.0, 10.0):
        if factor * power >= raw * (1.0 - 1e-9):
            return float(f"{factor * power:.12g}")
    return 10.0 * power  # not reached: 10 power always exceeds raw


def axis(low: float, high: float, most: int, tight: bool = False) -> Axis:
    """An axis with round ticks; its ends are moved out to ticks unless `tight`.

    Examples
    --------
    >>> [text for _, text in axis(0.0, 17.3, 5).ticks]
    ['0', '5', '10', '15', '20']
    >>> [text for _, text in axis(0.0, 0.83, 5).ticks]
    ['0', '0.2', '0.4', '0.6', '0.8', '1.0']
    """
    if not (math.isfinite(low) and math.isfinite(high)) or high <= low:
        low, high = (low, low + 1.0) if math.isfinite(low) else (0.0, 1.0)
    step = round_step(high - low, most)
    first, last = math.floor(low / step + 1e-9), math.ceil(high / step - 1e-9)
    if tight:
        first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
    ticks = tuple((n * step, tick_text(n * step, step)) for n in range(first, last + 1))
    return Axis(low, high, ticks) if tight else Axis(first * step, last * step, ticks)


def tick_text(value: float, step: float) -> str:
    """A tick's figure, with as many places as its step wants and a real minus.

    Examples
    --------
    >>> tick_text(12000.0, 2000.0), tick_text(-0.5, 0.5), tick_text(0.0, 0.5)
    ('12,000', '−0.5', '0')
    """
    if abs(value) < step * 1e-6:
        return "0"
    places = max(0, -math.floor(math.log10(step) + 1e-9))
    return f"{value:,.{places}f}".replace("-", "−")


def to_frame(frame: Box, x: Axis, y: Axis, value: Point) -> Point:
    """Where a value lies in a frame."""
    return frame.x0 + x.share(value[0]) * frame.width, frame.y1 - y.share(value[1]) * frame.height


def lay_out(chart: Chart, area: Box, measure: Measure, size: float = 10.0) -> Plot:
    """Lay a chart out in an area, with texts of a size [u]; names lie on no curve, point or other name."""
    x, y = _axes(chart, area, size)
    if chart.empty and not chart.traces and not chart.spots:
        x, y = replace(x, ticks=()), replace(y, ticks=())
    frame = _frame(area, x, y, measure, size)
    lines = tuple((trace.line, _runs(trace.points, frame, x, y)) for trace in chart.traces)
    spots = tuple((spot, to_frame(frame, x, y, spot.at)) for spot in chart.spots)
    spots = tuple((spot, at) for spot, at in spots if frame.grown(0.5).has(at))
    words = _words(chart, area, frame, x, y, measure, size)
    names, left = place_names(_wishes(chart, lines, spots), frame, measure, size, _taken(spots, size))
    keyed = _keyed(chart, left, area, measure, size)
    grid = [((to_frame(frame, x, y, (v, y.low))), to_frame(frame, x, y, (v, y.high))) for v, _ in x.ticks]
    grid += [(to_frame(frame, x, y, (x.low, v)), to_frame(frame, x, y, (x.high, v))) for v, _ in y.ticks]
    return Plot(frame, x, y, tuple(grid), tuple(words), lines, spots, tuple(names), keyed, size)


def _axes(chart: Chart, area: Box, size: float) -> tuple[Axis, Axis]:
    scale = size / 10.0
    points = [p for trace in chart.traces for p in trace.points] + [spot.at for spot in chart.spots]
    points = [p for p in points if math.isfinite(p[0]) and math.isfinite(p[1])]
    most_x = max(2, int(area.width / (ROOM_X * scale)))
    most_y = max(2, int(area.height / (ROOM_Y * scale)))
    xs = chart.x_range or (min([0.0, *(p[0] for p in points)]), max([0.0, *(p[0] for p in points)]))
    ys = chart.y_range or (min([0.0, *(p[1] for p in points)]), max([0.0, *(p[1] for p in points)]))
    # The level axis ends where the curves do: room beyond them would only make them smaller.
    x = axis(*xs, most_x, tight=True)
    if chart.x_ticks:
        x = Axis(x.low, x.high, tuple(t for t in chart.x_ticks if x.low <= t[0] <= x.high))
    return x, axis(*ys, most_y)


def _frame(area: Box, x: Axis, y: Axis, measure: Measure, size: float) -> Box:
    left = max((measure(text, size, False) for _, text in y.ticks), default=0.0) + 0.8 * size
    right = max((measure(x.ticks[-1][1], size, False) / 2 if x.ticks else 0.0), 0.6 * size)
    top, bottom = 1.7 * size, 2.9 * size
    x1, y1 = max(area.x1 - right, area.x0 + left + size), max(area.y1 - bottom, area.y0 + top + size)
    return Box(area.x0 + left, area.y0 + top, x1, y1)


def _words(chart: Chart, area: Box, frame: Box, x: Axis, y: Axis, measure: Measure, size: float) -> list[Row]:
    """Figures at the ticks, and what the axes carry: above the upright one, under the level one."""
    rows = []
    for value, text in x.ticks:
        at = to_frame(frame, x, y, (value, y.low))[0] - measure(text, size, False) / 2
        rows.append(Row(text, at, frame.y1 + 1.25 * size, size))
    for value, text in y.ticks:
        at_y = to_frame(frame, x, y, (x.low, value))[1]
        rows.append(Row(text, frame.x0 - 0.5 * size - measure(text, size, False), at_y + 0.36 * size, size))
    rows.append(Row(chart.y, area.x0, area.y0 + ASCENT * size, size))
    wide = measure(chart.x, size, False)
    rows.append(Row(chart.x, max(area.x0, frame.x1 - wide), area.y1 - DESCENT * size, size))
    if chart.empty and not chart.traces and not chart.spots:
        cx, cy = frame.centre
        rows.append(Row(chart.empty, cx - measure(chart.empty, size, False) / 2, cy, size))
    return rows


def _runs(points: Polyline, frame: Box, x: Axis, y: Axis) -> tuple[Polyline, ...]:
    """What of a curve lies in the frame, as one or more lines."""
    runs: list[list[Point]] = []
    placed = [to_frame(frame, x, y, p) for p in points if math.isfinite(p[0]) and math.isfinite(p[1])]
    for a, b in pairwise(placed):
        piece = cut_to(frame, a, b)
        if piece is None:
            continue
        if runs and runs[-1][-1] == piece[0]:
            runs[-1].append(piece[1])
        else:
            runs.append(list(piece))
    return tuple(tuple(run) for run in runs)


def cut_to(frame: Box, a: Point, b: Point) -> Segment | None:
    """The part of a straight piece that lies within a box; None where none does (Liang and Barsky 1984)."""
    (ax, ay), (bx, by) = a, b
    dx, dy = bx - ax, by - ay
    start, end = 0.0, 1.0
    for p, q in ((-dx, ax - frame.x0), (dx, frame.x1 - ax), (-dy, ay - frame.y0), (dy, frame.y1 - ay)):
        if p == 0.0:
            if q < 0.0:
                return None
        elif p < 0.0:
            start = max(start, q / p)
        else:
            end = min(end, q / p)
    if start > end:
        return None
    first = a if start == 0.0 else (ax + start * dx, ay + start * dy)
    last = b if end == 1.0 else (ax + end * dx, ay + end * dy)
    return first, last


def _taken(spots: Iterable[tuple[Spot, Point]], size: float) -> list[Box]:
    half = SPOT * size / 10.0 + 1.5
    return [Box(x - half, y - half, x + half, y + half) for _, (x, y) in spots]


def _wishes(
    chart: Chart,
    lines: Sequence[tuple[Line, tuple[Polyline, ...]]],
    spots: Sequence[tuple[Spot, Point]],
) -> list[Wish]:
    out = [Wish(t.name, runs) for t, (_, runs) in zip(chart.traces, lines, strict=True)]
    return [*out, *(Wish(spot.name, (), at) for spot, at in spots if spot.name)]


def _keyed(
    chart: Chart, left: Sequence[str], area: Box, measure: Measure, size: float
) -> tuple[tuple[Line, Row, Segment], ...]:
    """Names that found no room on their curves, above the frame with a piece of their line."""
    out = []
    start = area.x0 + measure(chart.y, size, False) + 2.0 * size
    baseline = area.y0 + ASCENT * size
    for trace in chart.traces:
        if trace.name not in left or not trace.name:
            continue
        wide = measure(trace.name, size, False)
        if start + 3.0 * size + wide > area.x1:
            break
        mid = baseline - 0.3 * size
        row = Row(trace.name, start + 3.0 * size, baseline, size)
        out.append((trace.line, row, ((start, mid), (start + 2.5 * size, mid))))
        start += 4.5 * size + wide
    return tuple(out)
