"""A circulator's curve picked off a picture of one: from places in the picture to flows and heads, and back.

Two places of known flow and two of known head fix the picture's axes, which may lie turned or skewed (a
photograph taken from aside). Lines that run together in the distance (perspective) and logarithmic axes are
not followed.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from core import units
from core.errors import Refusal

Spot = tuple[float, float]
"""A place in the picture: right and down, in pixels."""

FAR_ENOUGH = 5.0  # [pixels] between the two places of an axis
SKEWED = 0.17  # sine of the least angle between the axes, 10 degrees
SHAKY = 0.02  # share of the greatest head by which a picked point may rise and still count as level
SAME = 1e-3  # share of the greatest flow within which two points are one
FIGURES = 3  # figures kept of what is picked; a picture holds no more


@dataclass(frozen=True)
class Axes:
    """Scale of a picture.

    Parameters
    ----------
    flow_a, flow_b : (Spot, float)
        Two places along the flow axis (or any line alongside it) with their flows, [m^3/s]
    head_a, head_b : (Spot, float)
        Two places along the head axis with their heads, [m] or [Pa]

    Raises
    ------
    Refusal
        Two places of one axis coincide or bear one value, or the axes run alongside each other
    """

    flow_a: tuple[Spot, float]
    flow_b: tuple[Spot, float]
    head_a: tuple[Spot, float]
    head_b: tuple[Spot, float]

    def __post_init__(self) -> None:
        for (one, a), (other, b), what in (
            (self.flow_a, self.flow_b, "flow"),
            (self.head_a, self.head_b, "head"),
        ):
            if math.dist(one, other) < FAR_ENOUGH:
                raise Refusal(f"{what} axis", "two places on top of each other", "places far apart")
            if a == b:
                raise Refusal(f"{what} axis", f"one {what} at both places", f"two different {what}s")
        u, v = self._along
        if abs(_cross(u, v)) < SKEWED * math.hypot(*u) * math.hypot(*v):
            raise Refusal("axes", "axes that run alongside each other", "a flow axis and a head axis")

    @property
    def _along(self) -> tuple[Spot, Spot]:
        """From the first to the second place of each axis, [pixels]."""
        return _from(self.flow_a[0], self.flow_b[0]), _from(self.head_a[0], self.head_b[0])

    def values(self, spot: Spot) -> tuple[float, float]:
        """Flow and head at a place in the picture.

        Examples
        --------
        >>> axes = Axes(((100, 500), 0.0), ((500, 500), 4.0), ((100, 500), 0.0), ((100, 100), 10.0))
        >>> axes.values((300, 300))
        (2.0, 5.0)
        """
        u, v = self._along
        whole = _cross(u, v)
        right = _cross(_from(self.flow_a[0], spot), v) / whole
        up = _cross(u, _from(self.head_a[0], spot)) / whole
        flow = self.flow_a[1] + right * (self.flow_b[1] - self.flow_a[1])
        head = self.head_a[1] + up * (self.head_b[1] - self.head_a[1])
        return flow, head

    def spot(self, flow: float, head: float) -> Spot:
        """Place in the picture of a flow and a head: to lay the curve that was picked over it."""
        u, v = self._along
        # Where the two axes cross, seen along both: the place of flow_a's flow and head_a's head.
        gap = _from(self.flow_a[0], self.head_a[0])
        up = _cross(u, gap) / _cross(u, v)
        corner = (self.head_a[0][0] - up * v[0], self.head_a[0][1] - up * v[1])
        slide = _cross(_from(self.flow_a[0], corner), v) / _cross(u, v)
        right = (flow - self.flow_a[1]) / (self.flow_b[1] - self.flow_a[1]) - slide
        rise = (head - self.head_a[1]) / (self.head_b[1] - self.head_a[1]) + up
        return corner[0] + right * u[0] + rise * v[0], corner[1] + right * u[1] + rise * v[1]


def _from(a: Spot, b: Spot) -> Spot:
    return b[0] - a[0], b[1] - a[1]


def _cross(a: Spot, b: Spot) -> float:
    return a[0] * b[1] - a[1] * b[0]


def picked_curve(axes: Axes, spots: Iterable[Spot], flow_unit: str, head_unit: str) -> list[list[str]]:
    """Points of a curve as a plant file has them, by rising flow.

    A point that rises a little above the one before, as a shaking hand picks it, counts as level; the first
    point is put on flow 0 where it lies close to it.

    Parameters
    ----------
    axes : Axes
        In the SI values of those units
    spots : iterable of Spot
        Places picked along the curve, in any order
    flow_unit, head_unit : str
        Units of the closed list to write in, e.g. gpm and ft_head

    Raises
    ------
    Refusal
        Fewer than two points, a flow or head below nothing, or a curve that rises
    """
    points = sorted(axes.values(spot) for spot in spots)
    if len(points) < 2:
        raise Refusal("picked points", f"{len(points)}", "at least two")
    highest = max(head for _, head in points)
    widest = max(flow for flow, _ in points)
    rows: list[list[str]] = []
    before = math.inf
    last = -math.inf
    for number, (flow, head) in enumerate(points):
        where = f"picked point {number + 1}"
        if flow < -SHAKY * widest or head < -SHAKY * highest:
            raise Refusal(where, "a flow or a head below 0", "points between the axes")
        flow = 0.0 if flow < SHAKY * widest else flow
        if flow <= last + SAME * widest:
            continue
        if head > before + SHAKY * highest:
            raise Refusal(where, "a head above that of the point before", "a curve that falls or stays level")
        head = min(max(head, 0.0), before)
        rows.append([_written(flow, flow_unit), _written(head, head_unit)])
        before, last = head, flow
    if len(rows) < 2:
        raise Refusal("picked points", "all of one flow", "at least two flows")
    return rows


def _written(value: float, unit: str) -> str:
    """A value in a unit, with no more figures than a picture holds."""
    return f"{units.to_unit(value, unit):.{FIGURES}g} {unit}"
