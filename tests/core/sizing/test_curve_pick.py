"""Curves picked off pictures: straight, turned and skewed axes, shaky hands, and what is refused."""

import math

import pytest

from core.errors import Refusal
from core.sizing.curves.pick import Axes, picked_curve
from core.units import parse

GPM, FOOT = parse("1 gpm", "flow"), parse("1 ft_head", "head")


def photographed(turn, skew, scale=1.7, shift=(40.0, 900.0)):
    """Flow [gpm] and head [ft] to pixels: scaled, skewed, turned."""

    def place(flow, head):
        x, y = 30.0 * flow + skew * 12.0 * head, -12.0 * head
        c, s = math.cos(turn), math.sin(turn)
        return (shift[0] + scale * (c * x - s * y), shift[1] + scale * (s * x + c * y))

    return place


@pytest.mark.parametrize(("turn", "skew"), [(0.0, 0.0), (0.2, 0.0), (-0.6, 0.3), (1.4, -0.5)])
def test_values_and_spots_are_inverse_of_each_other_on_any_axes(turn, skew):
    place = photographed(turn, skew)
    # The flow axis was marked along the line of 3 ft, the head axis along that of 2 gpm.
    axes = Axes(
        (place(1, 3), 1 * GPM), (place(14, 3), 14 * GPM), (place(2, 0), 0.0), (place(2, 25), 25 * FOOT)
    )
    for flow, head in ((0, 0), (5, 20), (16, 1.5)):
        assert axes.values(place(flow, head)) == pytest.approx((flow * GPM, head * FOOT), abs=1e-12)
        assert axes.spot(flow * GPM, head * FOOT) == pytest.approx(place(flow, head))


def test_picking_points_gives_the_curve_in_three_figures():
    place = photographed(0.05, 0.1)
    axes = Axes((place(0, 0), 0.0), (place(16, 0), 16 * GPM), (place(0, 0), 0.0), (place(0, 20), 20 * FOOT))
    spots = [place(12, 5.02), place(0.05, 19), place(4, 19.1), place(8, 15)]
    assert picked_curve(axes, spots, "gpm", "ft_head") == [
        ["0 gpm", "19 ft_head"],
        ["4 gpm", "19 ft_head"],  # a shaking hand: level, not rising
        ["8 gpm", "15 ft_head"],
        ["12 gpm", "5.02 ft_head"],
    ]


def test_what_is_no_curve_is_refused():
    place = photographed(0.0, 0.0)
    axes = Axes((place(0, 0), 0.0), (place(9, 0), 9 * GPM), (place(0, 0), 0.0), (place(0, 9), 9 * FOOT))
    for spots, found in (
        ([place(1, 1)], "1"),
        ([place(1, 1), place(4, 5)], "a head above that of the point before"),
        ([place(-3, 1), place(4, 0.5)], "a flow or a head below 0"),
        ([place(4, 5), place(4, 3)], "all of one flow"),
    ):
        with pytest.raises(Refusal) as refused:
            picked_curve(axes, spots, "gpm", "ft_head")
        assert refused.value.found == found


def test_axes_that_fix_nothing_are_refused():
    zero = ((0.0, 0.0), 0.0)
    with pytest.raises(Refusal, match="on top of each other"):
        Axes(zero, ((1.0, 1.0), 2.0), zero, ((0.0, 90.0), 3.0))
    with pytest.raises(Refusal, match="two different flows"):
        Axes(zero, ((90.0, 0.0), 0.0), zero, ((0.0, 90.0), 3.0))
    with pytest.raises(Refusal, match="alongside"):
        Axes(zero, ((90.0, 0.0), 1.0), zero, ((90.0, 4.0), 3.0))
