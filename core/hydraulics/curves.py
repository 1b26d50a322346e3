"""Curves given by points: pressure drops of equipment and heads of circulators."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]


def pchip_slopes(x: Sequence[float], y: Sequence[float]) -> list[float]:
    """Slopes of the monotone piecewise cubic at its points.

    Parameters
    ----------
    x, y : sequence of float, length n >= 2
        Points, x rising, [any unit]

    Returns
    -------
    list of float, length n
        Slopes dy/dx

    Notes
    -----
    Fritsch and Butland, SIAM J. Sci. Stat. Comput. 5 (1984) 300, with the three-point ends of Moler,
    Numerical Computing with MATLAB (2004), section 3.6. Two points: straight.
    """
    h = [b - a for a, b in pairwise(x)]
    d = [(b - a) / s for a, b, s in zip(y, y[1:], h, strict=False)]
    if len(d) == 1:
        return [d[0], d[0]]
    inner = []
    for k in range(1, len(d)):
        if d[k - 1] * d[k] <= 0.0:
            inner.append(0.0)
            continue
        w1, w2 = 2.0 * h[k] + h[k - 1], h[k] + 2.0 * h[k - 1]
        inner.append((w1 + w2) / (w1 / d[k - 1] + w2 / d[k]))
    return [_end_slope(h[0], h[1], d[0], d[1]), *inner, _end_slope(h[-1], h[-2], d[-1], d[-2])]


def _end_slope(h0: float, h1: float, d0: float, d1: float) -> float:
    slope = ((2.0 * h0 + h1) * d0 - h0 * d1) / (h0 + h1)
    if slope * d0 <= 0.0:
        return 0.0
    if d0 * d1 <= 0.0 and abs(slope) > 3.0 * abs(d0):
        return 3.0 * d0
    return slope


@dataclass(frozen=True)
class Curve:
    """A piecewise cubic through points, with its continuation after the last point.

    `tail` "straight" continues with the end slope (circulators), "square" as the square of x (losses).
    """

    x: tuple[float, ...]
    y: tuple[float, ...]
    slopes: tuple[float, ...]
    tail: str

    @cached_property
    def powers(self) -> Array:
        """Coefficients of 1, t, t^2, t^3 of value and slope on each segment, t from its point on."""
        segments = [_segment(self, k) for k in range(len(self.x))]
        slopes = [(c1, 2.0 * c2, 3.0 * c3, 0.0) for _, c1, c2, c3 in segments]
        return np.array([segments, slopes]).transpose(2, 0, 1)

    def at(self, x: float) -> float:
        """Value of the curve at x >= 0 (before the first point: straight on with its slope)."""
        if x >= self.x[-1]:
            if self.tail == "square":
                return self.y[-1] * (x / self.x[-1]) ** 2
            return self.y[-1] + self.slopes[-1] * (x - self.x[-1])
        if x < self.x[0]:
            return self.y[0] + self.slopes[0] * (x - self.x[0])
        k = bisect_right(self.x, x) - 1
        h = self.x[k + 1] - self.x[k]
        t = (x - self.x[k]) / h
        a, b, da, db = self.y[k], self.y[k + 1], self.slopes[k] * h, self.slopes[k + 1] * h
        return a + t * (da + t * (3.0 * (b - a) - 2.0 * da - db + t * (2.0 * (a - b) + da + db)))


def drop_curve(points: Sequence[tuple[float, float]]) -> Curve:
    """Pressure drop of a piece of equipment from measured points.

    Parameters
    ----------
    points : sequence of (float, float)
        Flow, [m^3/s], and drop, [Pa], flows rising

    Returns
    -------
    Curve
        Drop by flow, through the origin, as the square beyond the last point

    Notes
    -----
    A single point is the square law through it. Monotone cubic of `pchip_slopes` between points.
    """
    kept = [(q, p) for q, p in points if q > 0.0]
    x, y = [0.0, *(q for q, _ in kept)], [0.0, *(p for _, p in kept)]
    if len(kept) == 1:
        # A cubic with slope 0 at the origin and 2 y/x at the point is the square law itself.
        return Curve(tuple(x), tuple(y), (0.0, 2.0 * y[1] / x[1]), "square")
    return Curve(tuple(x), tuple(y), tuple(pchip_slopes(x, y)), "square")


def head_curve(points: Sequence[tuple[float, float]]) -> Curve:
    """Head of a circulator at full speed from the points of its curve.

    Parameters
    ----------
    points : sequence of (float, float)
        Flow, [m^3/s], and head, [m], flows rising and heads not rising

    Returns
    -------
    Curve
        Head by flow, beyond the last point straight on with its end slope
    """
    x, y = [q for q, _ in points], [h for _, h in points]
    if len(x) == 1:
        return Curve((x[0], x[0] + 1e-3), (y[0], y[0]), (0.0, 0.0), "straight")
    return Curve(tuple(x), tuple(y), tuple(pchip_slopes(x, y)), "straight")


class CurveTable:
    """Many drop curves evaluated together, one flow for each.

    All their segments stand in one row: a curve's own are found by its flow as a share of twice its last
    point, counted on from the number of the curve.
    """

    def __init__(self, curves: Sequence[Curve]) -> None:
        self.number = np.arange(len(curves))
        self.share = np.array([0.5 / c.x[-1] for c in curves])
        self.breaks = np.array([x for c in curves for x in c.x])
        self.keys = np.array(
            [k + x * s for k, (c, s) in enumerate(zip(curves, self.share, strict=True)) for x in c.x]
        )
        self.first = np.cumsum([0, *(len(c.x) for c in curves)])[:-1]
        self.powers = np.concatenate([np.zeros((4, 2, 0)), *(c.powers for c in curves)], axis=2)

    def at(self, x: Array) -> tuple[Array, Array]:
        """Values and slopes at x >= 0, one for each curve, [as given]."""
        key = np.minimum(x * self.share, 0.75)
        key += self.number
        place = np.searchsorted(self.keys, key, "right") - 1
        place = np.maximum(place, self.first)
        t = x - self.breaks.take(place)
        powers = self.powers.take(place, axis=2)
        y: Array = powers[3] * t
        y += powers[2]
        y *= t
        y += powers[1]
        y *= t
        y += powers[0]
        return y[0], y[1]


def _segment(c: Curve, k: int) -> tuple[float, float, float, float]:
    """Polynomial in (x - x_k) of one segment, the last being the tail."""
    if k == len(c.x) - 1:
        if c.tail == "square":
            a = c.y[-1] / c.x[-1] ** 2
            return c.y[-1], 2.0 * a * c.x[-1], a, 0.0
        return c.y[-1], c.slopes[-1], 0.0, 0.0
    h = c.x[k + 1] - c.x[k]
    a, b, da, db = c.y[k], c.y[k + 1], c.slopes[k], c.slopes[k + 1]
    return a, da, (3.0 * (b - a) / h - 2.0 * da - db) / h, (2.0 * (a - b) / h + da + db) / h**2
