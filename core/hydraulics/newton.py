"""Flows and heads of the active branches: Newton on junction pressures and branch flows together.

The node-and-link method (Todini and Pilati, in Computer Applications in Water Supply, 1988), in mass flow and
pascals. Bounds (check valves, held flows) are steep barriers in the law itself, so no active sets are kept.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import cast

import numpy as np
import numpy.typing as npt

from core.hydraulics.laws import BARRIER, Laws

Array = npt.NDArray[np.float64]
Indices = npt.NDArray[np.intp]

MOST_PASSES = 100
SEARCH_FROM = 13  # full steps until then: 99 of 100 plants are settled by pass 12
RELATIVE_STEP = 1e-8
LEAST_STEP = 1e-7  # [kg/s], 1e-10 m^3/s
MOST_FLICKERS = 4  # passes at rest after which a branch that flickers at its bound counts as being on it
CRUMB = 1e-13  # imbalance too small to spread, [kg/s]
DENSE_UP_TO = 220  # junctions; above, scipy's sparse factors are quicker


@dataclass
class Reducer:
    """A pressure reducer at work: its outlet is held, its inlet gives what the outlet takes."""

    inlet: int
    outlet: int
    pressure: float  # piezometric, [Pa]


@dataclass
class Flows:
    """Answer of one hydraulic solve.

    Attributes
    ----------
    w : ndarray, shape (m,)
        Mass flow of each active branch, [kg/s]
    pressure : dict
        Piezometric pressure by junction node, relative within its component, [Pa]
    passes, converged, residual
        Newton passes; whether settled; largest mass imbalance at a junction, [kg/s]
    """

    w: Array
    pressure: dict[int, float]
    passes: int
    converged: bool
    residual: float


class Topology:
    """Junctions and fixed points of the active branches, with the places of each branch in the matrix."""

    def __init__(
        self, starts: list[int], ends: list[int], fixed: dict[int, float], reducers: list[Reducer]
    ) -> None:
        import networkx as nx

        graph: nx.Graph[int] = nx.Graph()
        graph.add_edges_from(zip(starts, ends, strict=True))
        held = dict(fixed)
        for r in reducers:
            held[r.outlet] = r.pressure
            graph.add_node(r.inlet)
        components = list(nx.connected_components(graph))
        self.part = {n: k for k, part in enumerate(components) for n in part}
        pins = [min(part) for part in components if not any(n in held for n in part)]
        held.update(dict.fromkeys(pins, 0.0))
        self.nodes = sorted(graph)
        free = [n for n in self.nodes if n not in held]
        number = {n: k for k, n in enumerate(free)}
        number.update({n: len(free) + k for k, n in enumerate(n for n in self.nodes if n in held)})
        self.n = len(free)
        self.order = free + [n for n in self.nodes if n in held]
        self.held = np.array([held[n] for n in self.order[self.n :]])
        self.i = np.array([number[n] for n in starts], np.intp)
        self.j = np.array([number[n] for n in ends], np.intp)
        self.reducers = [(number[r.inlet], number[r.outlet]) for r in reducers if r.outlet in number]
        self._places()

    def _places(self) -> None:
        n = self.n
        i, j = self.i, self.j
        a, b = i < n, j < n
        both = a & b & (i != j)
        ring = i == j
        a, b = a & ~ring, b & ~ring
        self.on_a, self.on_b, self.on_both = np.flatnonzero(a), np.flatnonzero(b), np.flatnonzero(both)
        rows = np.concatenate([i[a], j[b], i[both], j[both]])
        cols = np.concatenate([i[a], j[b], j[both], i[both]])
        self.source = np.concatenate([self.on_a, self.on_b, self.on_both, self.on_both])
        self.factor = np.concatenate(
            [np.ones(len(self.on_a) + len(self.on_b)), -np.ones(2 * len(self.on_both))]
        )
        if n <= DENSE_UP_TO:
            self.flat = rows * n + cols
            return
        from scipy.sparse import csc_matrix

        shape = csc_matrix((np.arange(1.0, len(rows) + 1.0), (rows, cols)), shape=(n, n))
        shape.sum_duplicates()
        self.indices, self.indptr = shape.indices, shape.indptr
        keys = cols.astype(np.int64) * n + rows
        held = np.repeat(np.arange(n, dtype=np.int64), np.diff(self.indptr)) * n + self.indices
        self.flat = np.searchsorted(held, keys)

    def factor_solver(self, y: Array) -> Callable[[Array], Array]:
        """A function that solves the junction equations for conductances y of the branches, [(kg/s)/Pa]."""
        n = self.n
        weights = y[self.source] * self.factor
        if n <= DENSE_UP_TO:
            matrix = np.bincount(self.flat, weights, n * n).reshape(n, n)
            return lambda b: np.asarray(np.linalg.solve(matrix, b), float)
        from scipy.sparse import csc_matrix
        from scipy.sparse.linalg import splu

        data = np.bincount(self.flat, weights, len(self.indices))
        lu = splu(
            csc_matrix((data, self.indices, self.indptr), shape=(n, n)),
            permc_spec="MMD_AT_PLUS_A",
            diag_pivot_thresh=0.0,
            options={"SymmetricMode": True},
        )
        return lambda b: np.asarray(lu.solve(b))

    def outflow(self, along: Array) -> Array:
        """Sum of a branch quantity leaving each node less what comes in, all nodes in order."""
        total = len(self.order)
        return cast(Array, np.bincount(self.i, along, total) - np.bincount(self.j, along, total))


def solve(laws: Laws, topology: Topology, start: Array) -> Flows:
    """Balance the active branches.

    Parameters
    ----------
    laws : Laws
        Prepared for this pass
    topology : Topology
        Of the same branches
    start : ndarray, shape (m,)
        Mass flows to start from, [kg/s]

    Returns
    -------
    Flows
    """
    if laws.m == 0:
        return Flows(np.zeros(0), {}, 0, True, 0.0)
    n, i, j = topology.n, topology.i, topology.j
    w = np.minimum(np.maximum(start, laws.low), laws.high)
    p = np.concatenate([np.zeros(n), topology.held])
    need = np.zeros(len(p))
    beyond = np.zeros(laws.m, bool)
    passes, converged, quiet = 0, False, 0
    loss, slope = laws.loss(w)
    for passes in range(1, MOST_PASSES + 1):
        y = 1.0 / slope
        head = p[i] - p[j]
        step = y * (laws.driving + head - loss)
        if n:
            shift = np.zeros(len(p))
            shift[:n] = topology.factor_solver(y)(-(topology.outflow(w + step) + need)[:n])
            p += shift
            change = shift[i] - shift[j]
            step += y * change
            head += change
        if passes >= SEARCH_FROM:
            step *= _share(laws, w, step, head + laws.driving, loss)
        w = w + step
        least = RELATIVE_STEP * float(np.abs(w).max()) + LEAST_STEP
        size = np.abs(step)
        most = float(size.max())
        small = most <= least or float(size.sum()) <= RELATIVE_STEP * float(np.abs(w).sum())
        if topology.reducers:
            before, need = need, _demands(topology, w)
            small = small and float(np.abs(need - before).max()) <= least
        # A barrier passes so little that its opening looks like rest: no branch may have crossed its bound.
        if laws.bounded:
            beyond, was_beyond = (w < laws.low) | (w > laws.high), beyond
        quiet = quiet + 1 if small else 0
        if small and (not laws.bounded or quiet > MOST_FLICKERS or bool((beyond == was_beyond).all())):
            converged = True
            break
        loss, slope = laws.loss(w)
    return _settle(laws, topology, w, p, slope, passes, converged)


def _share(laws: Laws, w: Array, step: Array, force: Array, loss: Array) -> float:
    """How much of a step to take where full steps have begun to circle: until its work has about ceased."""

    def lean(values: Array) -> float:
        return float(step @ (values - force))

    enough = 0.5 * abs(lean(loss))
    if lean(laws.loss(w + step)[0]) <= enough:
        return 1.0
    low, high, t = 0.0, 1.0, 1.0
    for _ in range(12):
        t = 0.5 * (low + high)
        value = lean(laws.loss(w + t * step)[0])
        if abs(value) <= enough:
            break
        low, high = (low, t) if value > 0.0 else (t, high)
    return t


def _demands(topology: Topology, w: Array) -> Array:
    """What the working reducers take from their inlets, [kg/s], all nodes in order."""
    need = np.zeros(len(topology.order))
    if topology.reducers:
        leaving = topology.outflow(w)
        for inlet, outlet in reversed(topology.reducers):
            need[inlet] += leaving[outlet] + need[outlet]
    return need


def _settle(
    laws: Laws, topology: Topology, w: Array, p: Array, slope: Array, passes: int, converged: bool
) -> Flows:
    """Put flows exactly on their bounds and spread the last crumbs of imbalance over the free branches."""
    n = topology.n
    residual = 0.0
    if laws.bounded:
        w = np.minimum(np.maximum(w, laws.low), laws.high)
        bound = (w <= laws.low) | (w >= laws.high)
        slope = np.where(bound, BARRIER, slope)
    for round_ in range(4 if n else 0):
        crumbs = (topology.outflow(w) + _demands(topology, w))[:n]
        residual = float(np.abs(crumbs).max())
        if residual <= CRUMB or round_ == 3:
            break
        y = 1.0 / slope
        dp = np.concatenate([topology.factor_solver(y)(crumbs), np.zeros(len(p) - n)])
        new = w - y * (dp[topology.i] - dp[topology.j])
        if laws.bounded:
            new = np.minimum(np.maximum(new, laws.low), laws.high)
            new = np.where(bound, w, new)
        w = new
    pressure = dict(zip(topology.order, p.tolist(), strict=True))
    return Flows(w, pressure, passes, converged, residual)
