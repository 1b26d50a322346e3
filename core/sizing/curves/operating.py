"""Where a circulator's curve and a system curve meet, at the speed its control gives it. Curves in metres."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from core.hydraulics.circulators import Drive, at_speed, flow_at_head, rest_loss
from core.hydraulics.curves import Curve

STEPS = 50  # halvings
FULL = 0.98  # share of the flow needed from which a point counts as giving it


@dataclass(frozen=True)
class Control:
    """How a circulator is run: kind of control as in plant files, its held head [m], speeds as shares."""

    kind: str = "fixed"
    target: float | None = None
    speed: float = 1.0
    least_speed: float = 0.2


@dataclass(frozen=True)
class Point:
    """Flow [m^3/s], head [m] and share of full speed at which a circulator works."""

    flow: float
    head: float
    speed: float


def operating_point(curve: Curve, system: Curve, control: Control, wanted: float) -> Point:
    """The point at which a circulator works on a system curve.

    Parameters
    ----------
    curve, system : Curve
        Head by flow, [m] by [m^3/s]: of the circulator at full speed, and of the system
    control : Control
    wanted : float
        Flow that a delta-T control settles at, [m^3/s]

    Returns
    -------
    Point
        Flow 0 where its head at no flow does not reach what the system asks at none

    Notes
    -----
    Found by halving: a circulator's head falls with flow, a system's rises. Speeds by the affinity laws.
    """
    if control.kind == "delta_t":
        return _held_flow(curve, system, control, wanted)
    full = _meeting(lambda q: at_speed(curve, control.speed, q)[0], system, control.speed)
    if control.target is None or control.kind == "fixed":
        return full
    if control.kind == "delta_p_constant":
        drive = Drive(
            curve, control.speed, control.least_speed, curve.at(0.0), rest_loss(curve), control.target
        )
        found = _meeting(lambda q: drive.head(q)[0], system)
        return Point(found.flow, found.head, drive.speed_at(found.flow))
    return _proportional(curve, system, control, full)


def _proportional(curve: Curve, system: Curve, control: Control, full: Point) -> Point:
    """Half the target at no flow, all of it where the full-speed curve meets it, straight between."""
    assert control.target is not None
    top = flow_at_head(curve, control.target)
    if top <= 0.0:
        return full
    target = control.target

    def head(q: float) -> float:
        line = target * (0.5 + 0.5 * min(q / top, 1.0))
        return min(line, at_speed(curve, control.speed, q)[0])

    found = _meeting(head, system)
    return Point(found.flow, found.head, _speed_for(curve, found.flow, found.head, control))


def _held_flow(curve: Curve, system: Curve, control: Control, wanted: float) -> Point:
    most = Control("fixed", None, min(1.0, control.speed) or 1.0, control.least_speed)
    full = operating_point(curve, system, most, wanted)
    if full.flow <= wanted:
        return full
    head = system.at(wanted)
    speed = _speed_for(curve, wanted, head, most)
    if speed > control.least_speed:
        return Point(wanted, head, speed)
    slow = Control("fixed", None, control.least_speed, control.least_speed)
    return operating_point(curve, system, slow, wanted)


def _speed_for(curve: Curve, flow: float, head: float, control: Control) -> float:
    """Speed at which a curve gives a head at a flow."""
    low, high = control.least_speed, control.speed
    if at_speed(curve, low, flow)[0] >= head:
        return low
    for _ in range(STEPS):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if at_speed(curve, middle, flow)[0] < head else (low, middle)
    return 0.5 * (low + high)


def _meeting(head: Callable[[float], float], system: Curve, speed: float = 1.0) -> Point:
    """Where a falling head, at some speed, meets the system's."""
    if head(0.0) <= system.at(0.0):
        return Point(0.0, head(0.0), speed)
    high = max(system.x[-1], 1e-6)
    for _ in range(STEPS):
        if head(high) <= system.at(high):
            break
        high *= 2.0
    low = 0.0
    for _ in range(STEPS):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if head(middle) > system.at(middle) else (low, middle)
    flow = 0.5 * (low + high)
    return Point(flow, system.at(flow), speed)
