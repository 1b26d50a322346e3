"""What a circulator adds to the water: its curve at any speed, its controls by pressure, its loss at rest.

Source: affinity laws of similar pumps (flow with the speed, head with its square), an identity of scale.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from core.hydraulics.curves import Curve

G = 9.80665  # [m/s^2]


@dataclass(slots=True)
class Drive:
    """State of one running circulator.

    `target` is None for a circulator held by its curve alone, else the head to be kept, [m].
    `zero` and `last` are the curve's head at no flow, [m], and its last flow, [m^3/s]; `back` the loss
    coefficient against backward flow, [m/(m^3/s)^2].
    """

    curve: Curve
    speed: float
    least_speed: float
    zero: float
    back: float
    target: float | None = None

    def head(self, flow: float) -> tuple[float, float]:
        """Head added, [m], and its slope by flow, [s/m^2], at a flow along the circulator, [m^3/s].

        Affinity law H(Q) = s^2 H1(Q/s) (identity of similar flows); pushed backward, the loss at rest is
        added to the head at no flow.
        """
        if flow < 0.0:
            top, _ = self.head(0.0)
            return top + self.back * flow * flow, 2.0 * self.back * flow
        head, slope = at_speed(self.curve, self.speed, flow)
        if self.target is None or head <= self.target:
            return head, slope
        least, least_slope = at_speed(self.curve, self.least_speed, flow)
        if least >= self.target:
            return least, least_slope
        return self.target, 0.0

    def speed_at(self, flow: float) -> float:
        """Speed that gives the head this circulator gives at a flow, [-]."""
        if self.target is None:
            return self.speed
        head, _ = self.head(max(flow, 0.0))
        low, high = self.least_speed, self.speed
        if at_speed(self.curve, high, max(flow, 0.0))[0] <= head:
            return high
        for _ in range(60):
            middle = 0.5 * (low + high)
            if at_speed(self.curve, middle, max(flow, 0.0))[0] < head:
                low = middle
            else:
                high = middle
        return 0.5 * (low + high)


def at_speed(curve: Curve, speed: float, flow: float) -> tuple[float, float]:
    """Head, [m], and slope, [s/m^2], of a full-speed curve run at a share of its speed."""
    if speed <= 0.0:
        return 0.0, 0.0
    head, slope = value_and_slope(curve, flow / speed)
    return speed * speed * head, speed * slope


def value_and_slope(c: Curve, x: float) -> tuple[float, float]:
    """Head, [m], and slope, [s/m^2], of a head curve at a flow x >= 0, [m^3/s]."""
    xs = c.x
    last = len(xs) - 1
    if x >= xs[last]:
        return c.y[last] + c.slopes[last] * (x - xs[last]), c.slopes[last]
    if x < xs[0]:
        return c.y[0] + c.slopes[0] * (x - xs[0]), c.slopes[0]
    k = 0
    while x >= xs[k + 1]:
        k += 1
    h = xs[k + 1] - xs[k]
    a, b, da, db = c.y[k], c.y[k + 1], c.slopes[k], c.slopes[k + 1]
    t = x - xs[k]
    c2 = (3.0 * (b - a) / h - 2.0 * da - db) / h
    c3 = (2.0 * (a - b) / h + da + db) / (h * h)
    return a + t * (da + t * (c2 + t * c3)), da + t * (2.0 * c2 + t * 3.0 * c3)


def rest_loss(curve: Curve) -> float:
    """Loss coefficient of a stopped circulator without a stated Cv, [m/(m^3/s)^2]: H1(0) Q|Q|/Q0^2."""
    last = curve.x[-1]
    return max(value_and_slope(curve, 0.0)[0], 0.0) / (last * last) if last > 0.0 else 0.0


@lru_cache(maxsize=1024)
def flow_at_head(curve: Curve, head: float) -> float:
    """Flow at which a full-speed curve has fallen to a head, [m^3/s] (0 where it never reaches it)."""
    if value_and_slope(curve, 0.0)[0] <= head:
        return 0.0
    high = curve.x[-1] or 1e-3
    for _ in range(60):
        if value_and_slope(curve, high)[0] <= head:
            break
        high *= 2.0
    else:
        return high
    low = 0.0
    for _ in range(80):
        middle = 0.5 * (low + high)
        if value_and_slope(curve, middle)[0] > head:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)
