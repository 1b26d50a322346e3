"""What a circulator adds: affinity, held heads, its loss when pushed back or at rest."""

import pytest

from core.hydraulics.circulators import Drive, at_speed, flow_at_head, rest_loss, value_and_slope
from core.hydraulics.curves import head_curve

CURVE = head_curve([(0.0, 6.0), (1e-3, 5.0), (2e-3, 2.0)])


def drive(speed: float = 1.0, target: float | None = None, back: float = 1e6) -> Drive:
    return Drive(CURVE, speed, 0.2, 6.0, back, target)


@pytest.mark.parametrize("speed", [0.3, 0.7, 1.0])
@pytest.mark.parametrize("flow", [0.0, 4e-4, 1.3e-3, 3e-3])
def test_head_follows_the_square_of_speed_at_flow_over_speed(speed, flow):
    assert at_speed(CURVE, speed, flow)[0] == pytest.approx(speed**2 * CURVE.at(flow / speed))


@pytest.mark.parametrize("flow", [-1e-3, -1e-5, 2e-4, 1.1e-3, 2.5e-3])
@pytest.mark.parametrize("target", [None, 3.0, 0.1])
def test_slope_is_that_of_the_head(flow, target):
    one, step = drive(0.8, target), 1e-9
    difference = (one.head(flow + step)[0] - one.head(flow - step)[0]) / (2 * step)
    assert one.head(flow)[1] == pytest.approx(difference, rel=1e-4, abs=1e-3)


def test_target_holds_between_the_curves_of_least_and_set_speed():
    held = drive(1.0, target=3.0)
    assert held.head(0.0)[0] == held.head(1e-3)[0] == 3.0
    assert held.head(2.1e-3)[0] == pytest.approx(CURVE.at(2.1e-3))
    assert drive(1.0, target=0.1).head(0.0)[0] == pytest.approx(0.04 * 6.0)


@pytest.mark.parametrize("flow", [0.0, 5e-4, 1.2e-3])
def test_speed_found_gives_the_head_held(flow):
    speed = drive(1.0, target=3.0).speed_at(flow)
    assert at_speed(CURVE, speed, flow)[0] == pytest.approx(3.0)


def test_pushed_back_it_adds_its_loss_to_the_head_at_no_flow():
    assert drive(0.5).head(-2e-3)[0] == pytest.approx(0.25 * 6.0 + 1e6 * 4e-6)


def test_loss_at_rest_is_the_head_at_no_flow_at_the_last_flow():
    assert rest_loss(CURVE) * (2e-3) ** 2 == pytest.approx(6.0)


@pytest.mark.parametrize("head", [5.9, 5.0, 3.3, 1.0])
def test_flow_at_a_head_lies_on_the_curve(head):
    assert value_and_slope(CURVE, flow_at_head(CURVE, head))[0] == pytest.approx(head)


def test_no_flow_reaches_more_than_the_head_at_no_flow():
    assert flow_at_head(CURVE, 6.1) == 0.0
