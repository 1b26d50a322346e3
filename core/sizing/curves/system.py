"""The head that the rest of a plant asks of a circulator at each flow: the system curve it sees.

Exact: the circulator is held at one flow after another and the rest is solved, controls, valves and
temperatures included. Nothing is fitted.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from itertools import pairwise

from core.errors import WetsideError
from core.figures import PumpFigures
from core.hydraulics.circulators import at_speed, flow_at_head
from core.hydraulics.curves import Curve, head_curve
from core.plant.changes import ReplaceItem, apply
from core.plant.model import Case, Plant
from core.solve import Solver

POINTS = 12
STEEP = 2900.0  # [m] head at no flow of a circulator that holds its flow; a plant file takes no more

KeepOn = Callable[[], bool] | None
Point = tuple[float, float]


@dataclass(frozen=True)
class SystemCurve:
    """Points (flow [m^3/s], head [m]), flows rising; `lost` counts those that did not settle."""

    points: tuple[Point, ...]
    lost: int = 0


def system_curve(
    solver: Solver,
    case: Case,
    name: str,
    flows: Iterable[float],
    keep_on: KeepOn = None,
    highest: float = math.inf,
) -> SystemCurve:
    """Head asked of a circulator at some flows.

    Parameters
    ----------
    solver : Solver
        Of the plant, with the case solved last, to start from
    case : Case
    name : str
        Id of the circulator
    flows : iterable of float
        [m^3/s], rising
    keep_on : callable or None
        Asked often; False ends the run with `core.solve.Dropped`
    highest : float
        No further flows are tried once the head is above this, [m]

    Returns
    -------
    SystemCurve

    Notes
    -----
    The circulator is given a curve so steep that its flow is held; head and flow are then read where it
    settles, so that each point lies on the system curve whatever the slope. Other circulators that drive
    water through it may make the head negative.
    """
    found: list[Point] = []
    lost = 0
    for flow in flows:
        try:
            plant = held_at(solver.plant, name, flow, found[-1][1] if found else 0.0)
            solution = Solver(plant).solve(case, keep_on)
        except WetsideError:
            lost += 1
            continue
        if not solution.converged:
            lost += 1
            continue
        figures = solution.role(name, PumpFigures)
        found.append((figures.flow_m3_s, figures.head_m))
        if found[-1][1] > highest:
            break
    return SystemCurve(tuple(sorted(found)), lost)


def held_at(plant: Plant, name: str, flow: float, head: float = 0.0) -> Plant:
    """The plant with a circulator that gives one flow, all but whatever the head (just so at `head`)."""
    item = plant.items[name]
    end = max(flow, 1e-9) * STEEP / (STEEP - head)
    curve = [["0 m3/s", f"{STEEP!r} m_head"], [f"{end:.12g} m3/s", "0 m_head"]]
    gone = ("control", "target", "senses", "stops_at_min", "min_speed", "speed")
    props = {key: raw for key, raw in item.props.items() if key not in gone} | {"curve": curve}
    return apply(plant, [ReplaceItem(replace(item, props=props))])


def spread(top: float, at: float = 0.0, points: int = POINTS) -> list[float]:
    """Flows from nearly nothing to `top`, closer together near nothing, one of them `at`."""
    flows = [top * max(k / (points - 1), 0.01) ** 1.15 for k in range(points)]
    return sorted({*flows, at} if at > 0.0 else set(flows))


def smooth(points: tuple[Point, ...], between: int = 6) -> tuple[Point, ...]:
    """More points of a monotone curve through some, for drawing it; flows rising."""
    kept = [p for k, p in enumerate(points) if k == 0 or p[0] > points[k - 1][0] * (1.0 + 1e-9)]
    if len(kept) < 3:
        return tuple(kept)
    curve = head_curve(kept)
    out = [(a + (b - a) * k / between) for (a, _), (b, _) in pairwise(kept) for k in range(between)]
    return (*((flow, curve.at(flow)) for flow in out), kept[-1])


def pump_line(curve: Curve, speed: float, points: int = 60) -> tuple[Point, ...]:
    """A circulator's own curve at a speed as a line, ended where its head is gone."""
    line = []
    top = max(speed, 1e-3) * max(flow_at_head(curve, 0.0), curve.x[-1])
    for k in range(points + 1):
        flow = top * k / points
        head = at_speed(curve, speed, flow)[0]
        if head < 0.0:
            break
        line.append((flow, head))
    return tuple(line)


def in_series(one: tuple[Point, ...], other: tuple[Point, ...]) -> tuple[Point, ...]:
    """Heads added at the same flow (identity)."""
    return tuple((flow, head + _head_at(other, flow)) for flow, head in one if flow <= other[-1][0] * 1.0001)


def in_parallel(one: tuple[Point, ...], other: tuple[Point, ...]) -> tuple[Point, ...]:
    """Flows added at the same head (identity); above the lower shut-off only the stronger one gives."""
    top = max(one[0][1], other[0][1])
    low = max(min(one[-1][1], other[-1][1]), 0.0)
    heads = [top + (low - top) * k / 60 for k in range(61)]
    return tuple((_flow_at(one, head) + _flow_at(other, head), head) for head in heads)


def _head_at(line: tuple[Point, ...], flow: float) -> float:
    for (q0, h0), (q1, h1) in pairwise(line):
        if flow <= q1:
            return h0 + (flow - q0) / (q1 - q0) * (h1 - h0) if q1 > q0 else h1
    return line[-1][1]


def _flow_at(line: tuple[Point, ...], head: float) -> float:
    if head >= line[0][1]:
        return 0.0
    for (q0, h0), (q1, h1) in pairwise(line):
        if h1 <= head <= h0:
            return q0 + (h0 - head) / (h0 - h1) * (q1 - q0) if h0 > h1 else q1
    return line[-1][0]
