"""What a circulator gives at a flow, by the straight line of its curve: 10 m less 5000 m per m³/s."""

import math

import pytest

from core.files.read import from_data
from core.hydraulics.curves import Curve, head_curve, pchip_slopes
from core.sizing.context import Context
from core.sizing.curves.operating import Control, at_speed, operating_point
from core.sizing.families.balance import given_head
from tests.support.builders import Board

LINE = [(0.0, 10.0), (1e-3, 5.0), (2e-3, 0.0)]


@pytest.mark.parametrize(
    ("control", "flow", "asked", "head"),
    [
        ({"control": "fixed"}, 1e-3, 3.0, 5.0),
        ({"control": "delta_t", "target": "10 K"}, 1e-3, 3.0, 3.0),  # slows to what its path asks
        ({"control": "delta_t", "target": "10 K"}, 1e-3, 8.0, 5.0),  # and has no more than its curve
        ({"control": "delta_p_constant", "target": "4 m_head"}, 0.5e-3, 9.0, 4.0),
        ({"control": "delta_p_constant", "target": "4 m_head"}, 1.5e-3, 9.0, 2.5),
        # It holds half its target at no flow, all of it where its full curve comes to it, at 1.2e-3 m³/s.
        ({"control": "delta_p_proportional", "target": "4 m_head"}, 0.6e-3, 9.0, 3.0),
        ({"control": "delta_p_proportional", "target": "4 m_head"}, 1.2e-3, 9.0, 4.0),
        ({"control": "delta_p_proportional", "target": "4 m_head"}, 1.8e-3, 9.0, 1.0),
    ],
)
def test_the_head_left_for_a_valve_is_what_the_circulator_holds(control, flow, asked, head):
    board = Board()
    board.item("P-1", "circulator", curve=[[f"{q} m3/s", f"{h} m_head"] for q, h in LINE], **control)
    found, _ = given_head(Context(from_data(board.data())), "P-1", flow, 1000.0, asked)
    assert found == pytest.approx(head, rel=1e-9)


@pytest.mark.parametrize(
    ("control", "flow", "head", "speed"),
    [
        (Control("fixed"), 1e-3, 5.0, 1.0),
        (Control("fixed", speed=0.5), 0.5e-3, 1.25, 0.5),  # power goes by the speed, also where it is fixed
        (Control("delta_t"), 0.8e-3, 3.2, 0.8),
        (Control("delta_t", least_speed=0.9), 0.9e-3, 4.05, 0.9),  # no slower than it can, as similar pumps
        (Control("delta_p_constant", 4.0), math.sqrt(0.8e-6), 4.0, math.sqrt(0.8)),
        # 4 m (0.5 + 0.5 Q / 1.2e-3) meets 5e6 Q², the positive root of a square equation.
        (Control("delta_p_proportional", 4.0), 0.820717e-3, 3.367882, 0.820717),
    ],
)
def test_a_straight_curve_meets_a_loop_of_5e6_q_squared(control, flow, head, speed):
    flows = [k * 2.5e-5 for k in range(81)]
    x, y = tuple(flows), tuple(5e6 * q * q for q in flows)
    system = Curve(x, y, tuple(pchip_slopes(x, y)), "straight")
    found = operating_point(head_curve(LINE), system, control, 0.8e-3)
    assert (found.flow, found.head) == pytest.approx((flow, head), rel=2e-3)
    assert found.speed == pytest.approx(speed, rel=2e-3)


@pytest.mark.parametrize("speed", [1.0, 0.7, 0.4])
def test_head_at_a_speed_follows_the_laws_of_similar_pumps(speed: float):
    """Flow with the speed, head with its square: source as in core.hydraulics.circulators."""
    flow = 0.5e-3
    assert at_speed(head_curve(LINE), speed, flow)[0] == pytest.approx(
        10.0 * speed**2 - 5000.0 * flow * speed
    )
