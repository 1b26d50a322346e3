"""Round ticks, curves cut to the frame, names clear of curves, points and one another."""

from __future__ import annotations

import math
import random
from itertools import pairwise

import pytest

from core.diagram.axes import SPOT, Chart, Plot, Spot, Trace, axis, cut_to, lay_out, round_step
from core.diagram.geometry import Box, Polyline


def measure(text: str, size: float, bold: bool) -> float:
    return 0.55 * size * len(text) * (1.1 if bold else 1.0)


def pump_chart(shutoff: float, end: float, k: float) -> Chart:
    """One pump, two in series, two in parallel and a system, H = shutoff (1 - (q/end)^2)."""

    def head(q: float) -> float:
        return shutoff * (1.0 - (q / end) ** 2)

    flows = [end * n / 60 for n in range(61)]
    one = tuple((q, head(q)) for q in flows)
    traces = (
        Trace(one, "solid", "one pump"),
        Trace(tuple((q, 2 * h) for q, h in one), "long_dash", "two in series"),
        Trace(tuple((2 * q, h) for q, h in one), "dash_dot", "two in parallel"),
        Trace(tuple((2 * q, k * 4 * q * q) for q in flows), "thin", "system"),
    )

    def meets(series: float, parallel: float) -> tuple[float, float]:
        q = math.sqrt(series * shutoff / (k + series * shutoff / (parallel * end) ** 2))
        return q, k * q * q

    spots = (Spot(meets(1, 1)), Spot(meets(2, 1), "square"), Spot(meets(1, 2), "triangle"))
    return Chart("flow, gpm", "head, ft", traces, spots, y_range=(0.0, 2.2 * shutoff))


def crosses(box: Box, run: Polyline) -> bool:
    """A second way to whether a line enters a box: walk along it in small steps."""
    for (ax, ay), (bx, by) in pairwise(run):
        n = max(2, int(math.dist((ax, ay), (bx, by)) / 0.5))
        if any(box.has((ax + (bx - ax) * i / n, ay + (by - ay) * i / n)) for i in range(n + 1)):
            return True
    return False


def check_names(plot: Plot) -> None:
    half = SPOT * plot.size / 10
    for i, name in enumerate(plot.names):
        assert plot.frame.holds(name.box), name.key
        for _, runs in plot.lines:
            assert not any(crosses(name.box, run) for run in runs), name.key
        for spot, (x, y) in plot.spots:
            assert not name.box.overlaps(Box(x - half, y - half, x + half, y + half)), (name.key, spot)
        for other in plot.names[i + 1 :]:
            assert not name.box.overlaps(other.box), (name.key, other.key)


@pytest.mark.parametrize("size", [(240, 150), (420, 240), (800, 500)])
def test_names_of_curves_lie_on_nothing(size: tuple[int, int]):
    rng = random.Random(5)
    unplaced = 0
    for _ in range(8):
        shutoff, end = rng.uniform(5, 60), rng.uniform(3, 80)
        chart = pump_chart(shutoff, end, shutoff / end**2 * 10 ** rng.uniform(-1.5, 1.5))
        plot = lay_out(chart, Box(0, 0, *map(float, size)), measure, 11.0)
        check_names(plot)
        said = {name.key for name in plot.names} | {row.text for _, row, _ in plot.keyed}
        unplaced += 4 - len(said)
        assert all(plot.frame.grown(1e-6).has(p) for _, runs in plot.lines for run in runs for p in run)
    assert unplaced <= (4 if size == (240, 150) else 0)  # of 32 names


def test_name_stands_nearest_its_own_curve():
    plot = lay_out(pump_chart(18.0, 16.0, 0.19), Box(0, 0, 520, 300), measure, 11.0)
    runs = dict(zip(("one pump", "two in series", "two in parallel", "system"), plot.lines, strict=True))
    for name in plot.names:
        apart = {
            key: min(
                math.hypot(max(name.box.x0 - x, 0, x - name.box.x1), max(name.box.y0 - y, 0, y - name.box.y1))
                for run in lines
                for x, y in run
            )
            for key, (_, lines) in runs.items()
        }
        assert min(apart, key=apart.__getitem__) == name.key


@pytest.mark.parametrize("most", [2, 3, 5, 8])
@pytest.mark.parametrize("span", [1e-6, 0.083, 0.3, 1.0, 7.3, 16.0, 999.0, 1e7])
def test_ticks_are_round_and_few(span: float, most: int):
    step = round_step(span, most)
    mantissa = step / 10 ** math.floor(math.log10(step) + 1e-9)
    assert any(math.isclose(mantissa, m) for m in (1, 2, 5))
    assert span / step <= most * (1 + 1e-9)
    a = axis(0.0, span, most)
    assert a.low == 0.0
    assert a.high >= span * (1 - 1e-9)
    values = [value for value, _ in a.ticks]
    assert all(math.isclose(b - a, step, rel_tol=1e-9) for a, b in pairwise(values))
    assert len({text for _, text in a.ticks}) == len(values)  # no two ticks read the same
    assert all(math.isclose(float(text.replace(",", "")), v, abs_tol=1e-9) for v, text in a.ticks)


@pytest.mark.parametrize(
    "ends", [(0.0, 0.0), (3.0, 3.0), (float("nan"), 1.0), (0.0, float("inf")), (5.0, 1.0)]
)
def test_axis_without_a_span_still_stands(ends: tuple[float, float]):
    a = axis(*ends, 5)
    assert a.high > a.low
    assert len(a.ticks) > 1


def test_point_and_value_are_each_others_inverse():
    plot = lay_out(pump_chart(18.0, 16.0, 0.19), Box(10, 20, 400, 260), measure)
    for value in ((0.0, 0.0), (8.4, 13.3), (15.0, 38.0)):
        assert plot.value(plot.point(*value)) == pytest.approx(value, abs=1e-9)


def test_curve_is_cut_at_the_frame():
    frame = Box(0, 0, 10, 10)
    assert cut_to(frame, (-5, 5), (15, 5)) == ((0, 5), (10, 5))
    assert cut_to(frame, (2, 2), (3, 3)) == ((2, 2), (3, 3))
    assert cut_to(frame, (-5, 5), (-1, 5)) is None
    assert cut_to(frame, (-4, 0), (0, -4)) is None


def test_chart_of_nothing_says_so():
    plot = lay_out(Chart("flow, gpm", "head, ft", empty="Pick a circulator."), Box(0, 0, 300, 200), measure)
    assert "Pick a circulator." in {row.text for row in plot.words}
    assert not plot.x.ticks


def test_tiny_place_and_broken_figures_do_not_fail():
    chart = Chart(
        "x",
        "y",
        (Trace(((0.0, float("nan")), (1.0, 2.0), (2.0, float("inf")), (3.0, 1.0))),),
        (Spot((1, 2)),),
    )
    plot = lay_out(chart, Box(0, 0, 12, 9), measure)
    assert plot.frame.x1 > plot.frame.x0
    assert plot.frame.y1 > plot.frame.y0
