"""Lines over time: frames one under another, bars where things are on, spikes kept when points are many."""

from __future__ import annotations

import math

import pytest

from core.diagram.geometry import Box
from core.diagram.timeline import Band, Bar, Course, TimeChart, lay_out_time, thinned, time_ticks

AREA = Box(0.0, 0.0, 600.0, 300.0)


def measure(text: str, size: float, bold: bool) -> float:
    return 0.6 * size * len(text)


def test_frames_of_all_bands_and_bars_stand_one_under_another() -> None:
    day = (0.0, 43200.0, 86400.0)
    chart = TimeChart(
        (Band("temperature", (Course("T-1", day, (20.0, 60.0, 30.0)),)),
         Band("heat", (Course("B-1", day, (0.0, 1234567.0, 0.0)),))),
        (Bar("SW-1", ((21600.0, 43200.0),)),),
    )  # fmt: skip
    plot = lay_out_time(chart, AREA, measure)
    first, second = plot.plots
    assert (first.frame.x0, first.frame.x1) == pytest.approx((second.frame.x0, second.frame.x1))
    assert first.frame.y1 < second.frame.y0
    (_, (box,), row) = plot.bars[0]
    assert (row.x0, row.x1) == pytest.approx((first.frame.x0, first.frame.x1))
    assert second.frame.y1 < row.y0 < row.y1 <= AREA.y1
    # A quarter of the day on the level axis, by hand.
    wide = first.frame.width
    assert (box.x0, box.x1) == pytest.approx((row.x0 + 0.25 * wide, row.x0 + 0.5 * wide))
    assert plot.time_at(plot.x_at(30000.0)) == pytest.approx(30000.0)


def test_a_spike_among_many_points_is_kept_and_gaps_stay_out() -> None:
    times = tuple(float(t) for t in range(20000))
    values = [math.sin(t / 3000.0) for t in times]
    values[7777] = 9.0
    values[7778] = math.nan
    points = thinned(Course("", times, tuple(values)), (0.0, 20000.0))
    assert len(points) < 600
    assert (7777.0, 9.0) in points
    assert all(math.isfinite(v) for _, v in points)
    assert list(points) == sorted(points)


def test_ticks_stand_at_round_times_of_day_wherever_the_run_starts() -> None:
    ticks = time_ticks(0.0, 7200.0, 6.0 * 86400.0 + 22.5 * 3600.0, 6)
    assert [words for _, words in ticks] == ["22:30", "23:00", "23:30", "Mon", "00:30"]
    assert ticks[0][0] == 0.0
