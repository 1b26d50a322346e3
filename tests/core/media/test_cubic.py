"""The cubic pieces under the property tables."""

import numpy as np
import pytest

from core.media.cubic import faded, pieces, spline_at, spline_slopes


def test_slopes_agree_with_an_independent_spline() -> None:
    # second method: scipy's not-a-knot cubic spline
    from scipy.interpolate import CubicSpline

    values = np.random.default_rng(3).normal(size=(12, 2)).cumsum(axis=0)
    independent = CubicSpline(np.arange(12.0), values)
    np.testing.assert_allclose(spline_slopes(values), independent(np.arange(12.0), 1), atol=1e-12)
    np.testing.assert_allclose(spline_at(values, 7.3), independent(7.3), atol=1e-12)


def test_a_cubic_is_met_exactly_between_its_nodes() -> None:
    nodes = np.arange(6.0)
    assert spline_at(nodes**3 - 4.0 * nodes, 2.37) == pytest.approx(2.37**3 - 4.0 * 2.37, abs=1e-12)


@pytest.mark.parametrize("slope", [-0.4, 0.0, 0.7])
def test_beyond_the_end_the_slope_dies_away_and_the_value_goes_one_way(slope: float) -> None:
    values, slopes = faded(np.array([1.0, 1.0 + slope]), np.array([slope, slope]), steps=50, fade=8.0)
    assert values[50:52] == pytest.approx([1.0, 1.0 + slope])
    steps = np.diff(values)
    assert (np.sign(steps) == np.sign(slope)).all()
    assert abs(values[-1] - values[51]) <= abs(slope) * 8.0
    assert abs(values[50] - values[0]) <= abs(slope) * 8.0
    assert abs(slopes[[0, -1]]).max() <= 0.01 * abs(slope)


def test_neighbouring_pieces_share_value_and_slope() -> None:
    values = np.sin(np.arange(9.0))
    cubic = pieces(values, spline_slopes(values))
    end_value = cubic.sum(axis=0)
    end_slope = cubic[1] + 2.0 * cubic[2] + 3.0 * cubic[3]
    np.testing.assert_allclose(end_value[:-1], cubic[0, 1:], atol=1e-13)
    np.testing.assert_allclose(end_slope[:-1], cubic[1, 1:], atol=1e-13)
