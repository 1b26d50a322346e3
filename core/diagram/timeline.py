"""Lines over time, one band for each sort of figure, and bars beneath for what is on. No painting."""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, replace

from core.diagram.axes import Axis, Chart, Line, Plot, Trace, lay_out
from core.diagram.geometry import Box, Polyline
from core.diagram.spots import Measure, Row

DAY = 86400.0
MINUTES = (1, 2, 5, 10, 15, 30, 60, 120, 180, 360, 720, 1440, 2880, 10080, 40320)
DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
TICK_ROOM = 62.0  # [u] from tick to tick, at a text of 10
BAR, BAR_GAP = 0.75, 0.6  # of the text's size
BARS_SHARE = 0.4  # of the height that bars take at most; what is left out is counted
POINTS = 240  # pieces that a line is cut into before its least and most are taken


@dataclass(frozen=True)
class Course:
    """One line: times [s] that never fall, a value for each (nan: none), in the numbers shown."""

    name: str
    times: tuple[float, ...]
    values: tuple[float, ...]


@dataclass(frozen=True)
class Band:
    """Lines of one unit above each other: "temperature, °F"."""

    words: str
    courses: tuple[Course, ...]


@dataclass(frozen=True)
class Bar:
    """When something is on, from and to, [s]."""

    name: str
    spans: tuple[tuple[float, float], ...]


@dataclass(frozen=True)
class TimeChart:
    """What is to be shown between two times [s]; time 0 lies `starts` after Monday 00:00."""

    bands: tuple[Band, ...] = ()
    bars: tuple[Bar, ...] = ()
    span: tuple[float, float] = (0.0, DAY)
    starts: float = 0.0
    empty: str = ""


@dataclass(frozen=True)
class TimePlot:
    """A chart over time laid out: `frame` holds bands and bars; `bars`: name, filled boxes, whole row."""

    frame: Box
    x: Axis
    plots: tuple[Plot, ...]
    bars: tuple[tuple[Row, tuple[Box, ...], Box], ...]

    def x_at(self, t: float) -> float:
        """Where a time lies."""
        return self.frame.x0 + self.x.share(t) * self.frame.width

    def time_at(self, x: float) -> float:
        """Which time lies there, within the ends [s]."""
        return self.x.at(min(1.0, max(0.0, (x - self.frame.x0) / self.frame.width)))


def time_ticks(low: float, high: float, starts: float, most: int) -> tuple[tuple[float, str], ...]:
    """Ticks at round times of day; midnight carries the day.

    Examples
    --------
    >>> time_ticks(0.0, 86400.0, 0.0, 5)
    ((0.0, 'Mon'), (21600.0, '06:00'), (43200.0, '12:00'), (64800.0, '18:00'), (86400.0, 'Tue'))
    """
    step = 60.0 * next((m for m in MINUTES if (high - low) / (60.0 * m) < most), MINUTES[-1])
    first = math.ceil((low + starts) / step - 1e-9)
    last = math.floor((high + starts) / step + 1e-9)
    found = []
    for n in range(first, last + 1):
        minutes = round(n * step / 60.0)
        day, rest = divmod(minutes, 1440)
        words = f"{rest // 60:02d}:{rest % 60:02d}" if rest else DAYS[day % 7]
        found.append((n * step - starts, words))
    return tuple(found)


def thinned(course: Course, span: tuple[float, float], pieces: int = POINTS) -> Polyline:
    """A line's points within a span and one beyond each end; of many the least and most of each piece."""
    first = max(0, bisect_left(course.times, span[0]) - 1)
    last = min(len(course.times), bisect_right(course.times, span[1]) + 1)
    points = [
        (t, v)
        for t, v in zip(course.times[first:last], course.values[first:last], strict=True)
        if math.isfinite(v)
    ]
    if len(points) <= 2 * pieces:
        return tuple(points)
    wide = max((span[1] - span[0]) / pieces, 1e-9)
    found: list[tuple[float, float]] = []
    begin = 0
    while begin < len(points):
        number = math.floor((points[begin][0] - span[0]) / wide)
        end = begin
        while end < len(points) and math.floor((points[end][0] - span[0]) / wide) == number:
            end += 1
        piece = points[begin:end]
        found += sorted({min(piece, key=_value), max(piece, key=_value)})
        begin = end
    return tuple(found)


def _value(point: tuple[float, float]) -> float:
    return point[1]


def lay_out_time(chart: TimeChart, area: Box, measure: Measure, size: float = 10.0) -> TimePlot:
    """Lay bands and bars out in an area, their frames one under another, with texts of a size [u]."""
    step = (BAR + BAR_GAP) * size
    fit = max(1, int(BARS_SHARE * area.height / step))
    if len(chart.bars) > fit:
        others = Bar(f"and {len(chart.bars) - fit + 1} more", ())
        chart = replace(chart, bars=(*chart.bars[: fit - 1], others))
    low = area.y1 - step * len(chart.bars)
    bands = chart.bands or (Band("", ()),)
    high = (low - area.y0) / len(bands)
    areas = []
    for k in range(len(bands)):
        more = 2.4 if k + 1 < len(bands) else 0.9  # margins of a chart overlap where no words stand in them
        top = area.y0 + k * high
        areas.append(Box(area.x0, top, area.x1, top + high + more * size))
    most = max(2, int(area.width / (TICK_ROOM * size / 10.0)))
    ticks = time_ticks(*chart.span, chart.starts, most)
    lines: tuple[Line, ...] = ("solid", "long_dash", "dash_dot", "thin", "dotted")
    charts = [
        _chart(band, chart, lines, tuple((t, w if k + 1 == len(bands) else "") for t, w in ticks))
        for k, band in enumerate(bands)
    ]
    plots = [lay_out(one, room, measure, size) for one, room in zip(charts, areas, strict=True)]
    named = max((measure(bar.name, size, False) + size for bar in chart.bars), default=0.0)
    left = max([area.x0 + named, *(plot.frame.x0 for plot in plots)])
    right = min(plot.frame.x1 for plot in plots)
    plots = [
        lay_out(one, _moved(room, left - plot.frame.x0, right - plot.frame.x1), measure, size)
        for one, room, plot in zip(charts, areas, plots, strict=True)
    ]
    frame = Box(plots[0].frame.x0, plots[0].frame.y0, plots[0].frame.x1, max(area.y1, plots[-1].frame.y1))
    axis = Axis(chart.span[0], chart.span[1], ticks)
    whole = TimePlot(frame, axis, tuple(plots), ())
    return replace(whole, bars=tuple(_bars(chart, whole, low, measure, size)))


def _moved(area: Box, left: float, right: float) -> Box:
    return Box(area.x0 + left, area.y0, area.x1 + right, area.y1)


def _chart(
    band: Band, chart: TimeChart, lines: Sequence[Line], ticks: tuple[tuple[float, str], ...]
) -> Chart:
    traces = tuple(
        Trace(thinned(course, chart.span), lines[k % len(lines)], course.name)
        for k, course in enumerate(band.courses)
    )
    values = [v for trace in traces for t, v in trace.points if chart.span[0] <= t <= chart.span[1]]
    low, high = (min(values), max(values)) if values else (0.0, 1.0)
    pad = max(0.06 * (high - low), 0.01 * abs(high), 1e-3)
    span = (0.0 if 0.0 <= low < 0.15 * high else low - pad, high + pad)
    return Chart("", band.words, traces, (), chart.span, span, chart.empty, ticks)


def _bars(
    chart: TimeChart, plot: TimePlot, low: float, measure: Measure, size: float
) -> list[tuple[Row, tuple[Box, ...], Box]]:
    found = []
    f = plot.frame
    for k, bar in enumerate(chart.bars):
        top = low + (k * (BAR + BAR_GAP) + BAR_GAP) * size
        row = Row(bar.name, f.x0 - 0.5 * size - measure(bar.name, size, False), top + 0.75 * size, size)
        boxes = []
        for begin, end in bar.spans:
            a, b = max(begin, chart.span[0]), min(end, chart.span[1])
            if a < b:
                boxes.append(Box(plot.x_at(a), top, max(plot.x_at(b), plot.x_at(a) + 0.5), top + BAR * size))
        found.append((row, tuple(boxes), Box(f.x0, top, f.x1, top + BAR * size)))
    return found
