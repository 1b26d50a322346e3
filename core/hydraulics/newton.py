"""Flows and heads of the active branches: Newton on junction pressures and branch flows together.

The node-and-link method (Todini and Pilati, in Computer Applications in Water Supply, 1988), in mass flow and
pascals, stepping in corrections of pressure so that round-off does not add up. Bounds (check valves, held
flows) are steep barriers in the law itself, so no active sets are kept.

Shut ways are walls of 1e13 Pa/(kg/s) while solving and exactly zero in the answer. A held flow is held in
both directions, as a volume flow at the valve's own temperature.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np
import numpy.typing as npt

from core.hydraulics.laws import BARRIER, FLOOR, Laws
from core.hydraulics.topology import Topology

Array = npt.NDArray[np.float64]

MOST_PASSES = 100
SEARCH_FROM = 8  # full steps until then: 99 of 100 plants are settled by that pass
MOST_HALVINGS = 50
RELATIVE_STEP = 1e-8
LEAST_STEP = 1e-7  # [kg/s], 1e-10 m^3/s
RELATIVE_LOSS = 1e-6
LEAST_LOSS = 0.1  # [Pa]
MOST_LEAK = 1e-5  # [kg/s], of a shut way under 1000 bar
MOST_FLICKERS = 4  # passes at rest after which a branch that flickers at its bound counts as being on it
WILDEST_STEP = 1e6  # [kg/s], lest a circle of reducers runs away before it is given up
CRUMB = 1e-13  # imbalance too small to spread, [kg/s]
NOWHERE: Mapping[int, float] = MappingProxyType({})
MOST_CRUMBS = 1e-7  # share of imbalance that tells of bounds in contradiction


@dataclass
class Flows:
    """Answer of one hydraulic solve.

    Attributes
    ----------
    w : ndarray, shape (m,)
        Mass flow of each active branch, [kg/s]
    pressure : dict
        Piezometric pressure by junction node, relative within its part, [Pa]
    passes, converged, residual
        Newton passes; whether settled; largest mass imbalance at a junction, [kg/s]
    slope : ndarray, shape (m,)
        Of each branch's loss in the last pass, [Pa/(kg/s)]
    """

    w: Array
    pressure: dict[int, float]
    passes: int
    converged: bool
    residual: float
    slope: Array


def solve(laws: Laws, topology: Topology, start: Array, pressure: Mapping[int, float] = NOWHERE) -> Flows:
    """Balance the active branches.

    Parameters
    ----------
    laws : Laws
        Prepared for this pass
    topology : Topology
        Of the same branches
    start : ndarray, shape (m,)
        Mass flows to start from, [kg/s]
    pressure : mapping
        Piezometric pressures of junctions to start from, [Pa]; those near the answer save a pass

    Returns
    -------
    Flows
    """
    if laws.m == 0:
        return Flows(np.zeros(0), {}, 0, True, 0.0, np.zeros(0))
    n, i, j = topology.n, topology.i, topology.j
    w = np.minimum(np.maximum(start, laws.low), laws.high)
    p = np.array([pressure.get(node, 0.0) for node in topology.order])
    p[n:] = topology.held
    force, shift = laws.driving + p[i] - p[j], np.zeros(len(p))
    passes, converged = 0, False
    loss, slope = laws.loss(w)
    # What starts on its bound stays there until pressed, so that a last answer is found again at once.
    bound = (w <= laws.low) | (w >= laws.high)
    slope[bound] = BARRIER
    rest = _Rest(laws, bound)
    while passes < MOST_PASSES and not converged:
        passes += 1
        by_start = by_end = y = 1.0 / slope
        if len(topology.valves):
            force = laws.driving + p[i] - p[j]
            y, by_start, by_end = _reduce(laws, topology, w, p, force, loss, slope)
        step = y * (force - loss)
        if n:
            shift[:n] = topology.correction(by_start, by_end, -topology.outflow(w + step))
            if len(topology.valves):
                step += by_start * shift[i] - by_end * shift[j]
                share = WILDEST_STEP / max(WILDEST_STEP, float(np.abs(step).max()))
                step *= share
                shift *= share
            push = shift[i] - shift[j]
            if not len(topology.valves):
                step += y * push
            p += shift
            force += push
        if passes < SEARCH_FROM:
            w = w + step
            converged = rest.reached(w, step, shift, loss, slope)
            if not converged:
                loss, slope = laws.loss(w)
        else:
            step, new_loss, new_slope = _shorten(laws, w, step, force, loss)
            w = w + step
            converged = rest.reached(w, step, shift, loss, slope)
            loss, slope = new_loss, new_slope
    return _settle(laws, topology, w, p, slope, passes, converged)


def answers(laws: Laws, topology: Topology, w: Array, slope: Array, losses: Array, bounds: Array) -> Array:
    """How the flows of a balance answer to small changes, by the network as straightened there.

    Parameters
    ----------
    laws, topology
        Of the balance
    w : ndarray, shape (m,)
        Its mass flows, [kg/s]
    slope : ndarray, shape (m,)
        As of `Flows`
    losses : ndarray, shape (m, n changes)
        Rise of each branch's loss at the same flow, [Pa]
    bounds : ndarray, shape (m, n changes)
        Rise of the flow a branch is held at, for those that stand at their bound, [kg/s]

    Returns
    -------
    ndarray, shape (m, n changes)
        Change of each branch's flow, [kg/s]
    """
    held = (w <= laws.low) | (w >= laws.high)
    if ((slope >= BARRIER) & ~held).any():  # the last step has opened what was shut
        slope = laws.loss(w)[1]
    y = 1.0 / np.where(held, BARRIER, slope)
    change = np.where(held[:, None], bounds, -y[:, None] * losses)
    if topology.n:
        shift = np.zeros((len(topology.order), change.shape[1]))
        shift[: topology.n] = topology.correction(y, y, -topology.outflow_of(change))
        push = y[:, None] * (shift[topology.i] - shift[topology.j])
        change = change + np.where(held[:, None], 0.0, push)
    return np.asarray(change)


class _Rest:
    """Tells when the passes have come to rest."""

    def __init__(self, laws: Laws, bound: npt.NDArray[np.bool_]) -> None:
        self.laws = laws
        self.last = 0.0
        self.quiet = 0
        self.bound = bound
        self.w: Array | None = None

    def reached(self, w: Array, step: Array, shift: Array, loss: Array, slope: Array) -> bool:
        """Whether the step that led to w, [kg/s], was the last needed.

        `shift` is how far it moved the pressures, [Pa]; loss and slope are those it started from.
        """
        moved, flow = np.abs(step), np.abs(w)
        most, top, laws = float(moved.max()), float(flow.max()), self.laws
        least = RELATIVE_STEP * top + LEAST_STEP
        # Steps shrink ever faster near the answer, so the next is smaller than this one by their ratio again.
        small = most <= least or most * most <= min(least, 0.1 * most) * self.last
        if not small and most <= RELATIVE_STEP * top * laws.m:
            small = float(moved.sum()) <= RELATIVE_STEP * float(flow.sum())
        self.last = most
        if small:  # a narrow tube turns a flow of no account into a loss of account
            bearable = RELATIVE_LOSS * float(np.abs(loss).max()) + LEAST_LOSS
            small = float(np.where(slope < BARRIER, moved * slope, 0.0).max()) <= bearable
        self.quiet = self.quiet + 1 if small else 0
        if not laws.bounded:
            return small
        # A barrier passes so little that its opening looks like rest: no branch may have crossed its bound,
        # nor lie far beyond it, nor what hangs on barriers still be finding its level.
        before, self.w = self.w, w
        if not small or float(np.maximum(laws.low - w, w - laws.high).max()) > MOST_LEAK:
            return False
        if self.quiet > MOST_FLICKERS:
            return True
        was = self.bound if before is None else self._beyond(before)
        return bool((self._beyond(w) == was).all()) and float(np.abs(shift).max()) <= bearable

    def _beyond(self, w: Array) -> npt.NDArray[np.bool_]:
        return np.asarray((w < self.laws.low) | (w > self.laws.high))


def _reduce(
    laws: Laws, topology: Topology, w: Array, p: Array, force: Array, loss: Array, slope: Array
) -> tuple[Array, Array, Array]:
    """Let each reducer hold its outlet where its inlet could bring more, writing into force, loss and slope.

    Returns the conductances of all branches, and how far they count for the pressure at start and end: a
    reducer that holds takes from its inlet what its outlet needs, whatever the pressure there.
    """
    k = topology.valves
    sign = np.where(topology.from_start, 1.0, -1.0)
    inside = (w[k] >= laws.low[k]) & (w[k] <= laws.high[k])
    holds = p[topology.inlets] - np.where(inside, sign * loss[k], 0.0) > topology.set_at
    force[k] = np.where(holds, sign * (topology.set_at - p[topology.outlets]), force[k])
    loss[k] = np.where(holds & inside, FLOOR * w[k], loss[k])
    slope[k] = np.where(holds & inside, FLOOR, slope[k])
    y = 1.0 / slope
    by_start, by_end = y.copy(), y.copy()
    by_start[k[holds & topology.from_start]] = 1.0 / BARRIER
    by_end[k[holds & ~topology.from_start]] = 1.0 / BARRIER
    return y, by_start, by_end


def _shorten(laws: Laws, w: Array, step: Array, force: Array, loss: Array) -> tuple[Array, Array, Array]:
    """Where full steps have begun to circle: the step until its work has about ceased, loss and slope there.

    The content function of the network is convex, so its slope along the step rises from below zero.
    """
    enough = 0.5 * abs(float(step @ (loss - force)))
    low, high, t = 0.0, 1.0, 1.0
    new, slope = laws.loss(w + step)
    if float(step @ (new - force)) > enough:
        for _ in range(MOST_HALVINGS):
            t = 0.5 * (low + high)
            new, slope = laws.loss(w + t * step)
            work = float(step @ (new - force))
            if abs(work) <= enough:
                break
            low, high = (low, t) if work > 0.0 else (t, high)
    return t * step, new, slope


def _settle(
    laws: Laws, topology: Topology, w: Array, p: Array, slope: Array, passes: int, converged: bool
) -> Flows:
    """Put flows exactly on their bounds and spread the last crumbs of imbalance over the free branches."""
    n = topology.n
    residual = 0.0
    leak = 0.0
    if laws.bounded:
        leaking, w = w, np.minimum(np.maximum(w, laws.low), laws.high)
        leak = float(np.abs(leaking - w).sum())
        bound = (w <= laws.low) | (w >= laws.high)
    for last in (False, False, True) if n else ():
        crumbs = topology.outflow(w)
        residual = float(np.abs(crumbs).max())
        if residual <= CRUMB or last:
            break
        if laws.bounded:
            if ((slope >= BARRIER) & ~bound).any():  # the last step has opened what was shut
                slope = laws.loss(w)[1]
            slope = np.where(bound, BARRIER, slope)
        y = 1.0 / slope
        dp = np.concatenate([topology.correction(y, y, crumbs), np.zeros(len(p) - n)])
        new = w - y * (dp[topology.i] - dp[topology.j])
        if laws.bounded:
            new = np.minimum(np.maximum(new, laws.low), laws.high)
            new = np.where(bound, w, new)
        w = new
    if leak > 0.0 and n and not len(topology.valves):
        steepest = float(np.where(slope < BARRIER, slope, 0.0).max())
        if leak * steepest > LEAST_LOSS:
            _relevel(laws, topology, w, p)
    converged = converged and residual <= MOST_CRUMBS * (1.0 + float(np.abs(w).max()))
    pressure = dict(zip(topology.order, p.tolist(), strict=True))
    return Flows(w, pressure, passes, converged, residual, slope)


def _relevel(laws: Laws, topology: Topology, w: Array, p: Array) -> None:
    """Put pressures, written into p, where flows without leaks leave them.

    A shut way's leak of 1e-8 kg/s had 200 m of 2.6 mm tube behind it lose 45 Pa at no flow.
    """
    loss, slope = laws.loss(w)
    bound = (w <= laws.low) | (w >= laws.high)
    y = 1.0 / np.where(bound, BARRIER, slope)
    step = np.where(bound, 0.0, y * (laws.driving + p[topology.i] - p[topology.j] - loss))
    p[: topology.n] += topology.correction(y, y, -topology.outflow(step))
