"""Junctions and fixed points of the flowing branches, and the matrix that joins them; no laws of loss."""

from __future__ import annotations

from typing import cast

import numpy as np
import numpy.typing as npt

from core.water.numbers import connected

Array = npt.NDArray[np.float64]
Indices = npt.NDArray[np.intp]

# Junctions above which scipy's sparse factors are quicker: 163 took 0.43 ms dense and 0.57 sparse, 238 took
# 2.1 and 0.61.
DENSE_UP_TO = 180


class Topology:
    """Places of the branches among the nodes; free junctions come first, points of known pressure last.

    Parameters
    ----------
    starts, ends : list of int
        Nodes of each branch
    fixed : list of int
        Nodes of known pressure; a part without any has its least node held at 0
    reducers : list of (int, int)
        Branches that are a pressure reducer, each with its outlet node

    Attributes
    ----------
    n : int
        Number of free junctions
    order : list of int
        Node numbers, free junctions first
    held : ndarray, shape (len(order) - n,)
        Known piezometric pressures, [Pa], set before each solve
    part : dict
        Connected part of each node; pressures compare only within one
    valves : ndarray of int, shape (r,)
        Branches that are a pressure reducer
    from_start : ndarray of bool, shape (r,)
        Whether a reducer's inlet is the start of its branch
    set_at : ndarray, shape (r,)
        Piezometric pressures that the reducers hold at their outlets, [Pa], set before each solve
    """

    def __init__(
        self, starts: list[int], ends: list[int], fixed: list[int], reducers: list[tuple[int, int]]
    ) -> None:
        self.part: dict[int, int] = {}
        known: set[int] = set()
        for number, members in enumerate(connected(tuple(zip(starts, ends, strict=True)))):
            self.part.update(dict.fromkeys(members, number))
            known |= set(fixed).intersection(members) or {members[0]}
        nodes = sorted(self.part)
        free = [n for n in nodes if n not in known]
        self.n = len(free)
        self.order = free + [n for n in nodes if n in known]
        place = {n: k for k, n in enumerate(self.order)}
        self.held = np.zeros(len(self.order) - self.n)
        self.i = np.array([place[n] for n in starts], np.intp)
        self.j = np.array([place[n] for n in ends], np.intp)
        self.valves = np.array([k for k, _ in reducers], np.intp)
        self.from_start = np.array([ends[k] == outlet for k, outlet in reducers], bool)
        self.outlets = np.array([place[outlet] for _, outlet in reducers], np.intp)
        self.inlets = np.where(self.from_start, self.i[self.valves], self.j[self.valves])
        self.set_at = np.zeros(len(reducers))
        self._places()

    def _places(self) -> None:
        """Where in the matrix each branch counts: rows of its two ends, by columns of its two ends."""
        n, i, j = self.n, self.i, self.j
        a = np.flatnonzero((i < n) & (i != j))
        b = np.flatnonzero((j < n) & (i != j))
        both = np.flatnonzero((i < n) & (j < n) & (i != j))
        rows = np.concatenate([i[a], j[both], j[b], i[both]])
        cols = np.concatenate([i[a], i[both], j[b], j[both]])
        self.by_start, self.by_end = np.concatenate([a, both]), np.concatenate([b, both])
        self.source = np.concatenate([self.by_start, self.by_end])
        own = np.concatenate([np.ones(len(a)), -np.ones(len(both))])
        self.factor = np.concatenate([own, np.ones(len(b)), -np.ones(len(both))])
        if n <= DENSE_UP_TO:
            self.flat = rows * n + cols
            return
        from scipy.sparse import csc_matrix

        shape = csc_matrix((np.ones(len(rows)), (rows, cols)), shape=(n, n))
        shape.sum_duplicates()
        self.indices, self.indptr = shape.indices, shape.indptr
        taken = np.repeat(np.arange(n, dtype=np.int64), np.diff(self.indptr)) * n + self.indices
        self.flat = np.searchsorted(taken, cols.astype(np.int64) * n + rows)

    def correction(self, by_start: Array, by_end: Array, surplus: Array) -> Array:
        """Pressures to add at the free junctions so that a surplus flows off, [Pa].

        Parameters
        ----------
        by_start, by_end : ndarray, shape (m,)
            How much each branch's flow grows with the pressure at its start, and falls with that at its end,
            [(kg/s)/Pa]; they differ only at a reducer that holds its outlet
        surplus : ndarray, shape (n,)
            What comes into each junction less what leaves it, [kg/s]
        """
        if by_end is by_start:
            weights = by_start[self.source] * self.factor
        else:
            weights = np.concatenate([by_start[self.by_start], by_end[self.by_end]]) * self.factor
        inverse = self._dense if self.n <= DENSE_UP_TO else self._sparse
        try:
            return inverse(weights, surplus)
        except (np.linalg.LinAlgError, RuntimeError):
            # What hangs on shut ways alone is lost in round-off. A touch more on the diagonal only makes the
            # correction a little short, and the next pass makes up for it.
            return inverse(np.where(self.factor > 0.0, weights * (1.0 + 1e-12), weights), surplus)

    def _dense(self, weights: Array, right: Array) -> Array:
        n = self.n
        matrix = np.bincount(self.flat, weights, n * n).reshape(n, n)
        return np.asarray(np.linalg.solve(matrix, right), float)

    def _sparse(self, weights: Array, right: Array) -> Array:
        """Without pivoting: no diagonal is below the sum of its column."""
        from scipy.sparse import csc_matrix
        from scipy.sparse.linalg import splu

        data = np.bincount(self.flat, weights, len(self.indices))
        factors = splu(
            csc_matrix((data, self.indices, self.indptr), shape=(self.n, self.n)),
            permc_spec="MMD_AT_PLUS_A",
            diag_pivot_thresh=0.0,
            options={"SymmetricMode": True},
        )
        return np.asarray(factors.solve(right), float)

    def outflow_of(self, along: Array) -> Array:
        """As `outflow`, for several branch quantities at once, shape (m, k)."""
        net = np.zeros((len(self.order), along.shape[1]))
        np.add.at(net, self.i, along)
        np.subtract.at(net, self.j, along)
        return net[: self.n]

    def outflow(self, along: Array) -> Array:
        """Sum of a branch quantity leaving each free junction less what comes in."""
        total = len(self.order)
        net = np.bincount(self.i, along, total) - np.bincount(self.j, along, total)
        return cast(Array, net[: self.n])
