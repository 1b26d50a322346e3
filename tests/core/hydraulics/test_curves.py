"""Curves by points against scipy's monotone cubic, and the table of many against each alone."""

import numpy as np
import pytest
from scipy.interpolate import PchipInterpolator

from core.hydraulics.circulators import value_and_slope
from core.hydraulics.curves import CurveTable, drop_curve, head_curve


def some_points(seed: int, falling: bool) -> list[tuple[float, float]]:
    rng = np.random.default_rng(seed)
    n = int(rng.integers(2, 8))
    x = np.cumsum(rng.uniform(0.05, 1.0, n))
    y = np.cumsum(rng.choice([0.0, 0.1, 1.0, 5.0], n))
    if falling:
        return list(zip((x - x[0]).tolist(), (y[-1] - y + 1.0).tolist(), strict=True))
    return list(zip(x.tolist(), (y + 0.5).tolist(), strict=True))


@pytest.mark.parametrize("seed", range(12))
def test_head_curve_is_scipys_cubic_within_its_points(seed):
    points = some_points(seed, falling=True)
    curve = head_curve(points)
    x = np.linspace(0.0, points[-1][0], 57)
    expected = PchipInterpolator(*zip(*points, strict=True))
    assert [curve.at(v) for v in x] == pytest.approx(expected(x), abs=1e-12)
    assert [value_and_slope(curve, v)[1] for v in x[1:-1]] == pytest.approx(
        expected.derivative()(x[1:-1]), abs=1e-9
    )


def test_head_curve_goes_on_straight_with_its_end_slope():
    points = [(0.0, 6.0), (1.0, 5.0), (2.0, 2.0)]
    slope = float(PchipInterpolator(*zip(*points, strict=True)).derivative()(2.0))
    assert head_curve(points).at(3.5) == pytest.approx(2.0 + 1.5 * slope)


@pytest.mark.parametrize("seed", range(12))
def test_drop_curve_starts_at_the_origin_and_goes_on_as_the_square(seed):
    points = some_points(seed, falling=False)
    curve = drop_curve(points)
    x, y = zip((0.0, 0.0), *points, strict=True)
    inside = np.linspace(0.0, x[-1], 41)
    assert [curve.at(v) for v in inside] == pytest.approx(PchipInterpolator(x, y)(inside), abs=1e-12)
    assert curve.at(2.5 * x[-1]) == pytest.approx(6.25 * y[-1])


def test_one_point_is_the_square_law_through_it():
    curve = drop_curve([(2.0, 8.0)])
    assert [curve.at(v) for v in (0.0, 0.5, 1.0, 2.0, 3.0)] == pytest.approx([0.0, 0.5, 2.0, 8.0, 18.0])


def test_table_gives_each_curve_at_its_own_flow():
    curves = [drop_curve(some_points(seed, falling=False)) for seed in range(20)]
    curves.append(drop_curve([(0.3, 4.0)]))
    table = CurveTable(curves)
    for x in np.linspace(0.0, 9.0, 23):
        values, slopes = table.at(np.full(len(curves), x))
        assert values == pytest.approx([c.at(x) for c in curves])
        beside, _ = table.at(np.full(len(curves), x + 1e-7))
        assert (beside - values) / 1e-7 == pytest.approx(slopes, rel=1e-3, abs=1e-4)
