"""Temperatures and heats of the water at one moment as straight functions of what stores heat.

Between two moments flows and positions stand; then every temperature of the water is a straight function of
the states (tank layers, rooms, masses, ...), taken from the balance of heat that `core.thermal` made of that
moment. A row of numbers times (states, 1, seconds since the moment) gives a figure.
"""

from __future__ import annotations

import weakref
from collections.abc import Iterable, Mapping
from functools import cached_property
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from core.hydraulics.network import Network
from core.solve.settle import Settled
from core.thermal.flowing import STILL
from core.thermal.heat import HeatTable, HeatTables, heat_table

Array = npt.NDArray[np.float64]


class Face(NamedTuple):
    """Where states meet the water: their weights, and by how much outlets warm where they are 1 K warmer.

    `states` by number of the state; `warmed` pairs of an element and [K/K].
    """

    states: Mapping[int, float]
    warmed: tuple[tuple[int, float], ...]


class Rows:
    """Figures of one moment by the states.

    Parameters
    ----------
    s : Settled
        The water, its temperatures found for the states as they are
    x : ndarray, shape (n states,)
        Temperatures of the states, [K]
    faces : iterable of Face
    outdoor : (float, float)
        Outdoor temperature [K], and how it changes, [K/s]
    """

    def __init__(self, s: Settled, x: Array, faces: Iterable[Face], outdoor: tuple[float, float]) -> None:
        self.s, self.x, self.n = s, x, len(x)
        self.w = s.balance.w
        self.outdoor_at = outdoor
        met = [face for face in faces if face.warmed]
        elements = len(s.net.elements)
        self.t_in, self.t_out = np.zeros((2, elements, self.n + 2))
        self.nodes: dict[int, Array] = {}
        solver = s.temperatures
        assert solver is not None
        if met and solver.flowing is not None and solver.flowing.runs:
            weights = np.zeros((len(met), self.n))
            for k, face in enumerate(met):
                for state, weight in face.states.items():
                    weights[k, state] += weight
            still = np.zeros((len(s.net.branches), len(met)))
            answer = solver.response(s.thermal, still, {k: face.warmed for k, face in enumerate(met)})
            self.t_in[:, : self.n] = answer.t_in @ weights
            self.t_out[:, : self.n] = answer.t_out @ weights
            for node, by_state in zip(answer.nodes, answer.node @ weights, strict=True):
                self.nodes[node] = self._row(by_state, s.node[node])
        for rows, t in ((self.t_in, s.thermal.t_in), (self.t_out, s.thermal.t_out)):
            rows[:, self.n] = t - rows[:, : self.n] @ x

    def _row(self, by_state: Array, value: float) -> Array:
        row = np.zeros(self.n + 2)
        row[: self.n] = by_state
        row[self.n] = value - float(by_state @ self.x)
        return row

    def state(self, k: int) -> Array:
        """Temperature of a state, [K]."""
        row = np.zeros(self.n + 2)
        row[k] = 1.0
        return row

    def const(self, value: float) -> Array:
        """A figure that stands."""
        row = np.zeros(self.n + 2)
        row[self.n] = value
        return row

    def outdoor(self) -> Array:
        """Outdoor temperature, [K]."""
        row = self.const(self.outdoor_at[0])
        row[self.n + 1] = self.outdoor_at[1]
        return row

    def node(self, n: int) -> Array:
        """Temperature of a node of the water, [K]."""
        found = self.nodes.get(n)
        return (
            self.const(float(self.s.node.get(n, self.s.net.plant.site_si.indoor))) if found is None else found
        )

    def table(self, i: int) -> HeatTable:
        """Heat table of the water in an element."""
        net = self.s.net
        return heat_table(net.bodies[net.body_of[net.elements[i].start]].fluid)

    def content(self, i: int, temperature: Array) -> Array:
        """Heat content of the water of an element at a temperature, straight about where it is, [J/kg]."""
        t, table = self.value(temperature), self.table(i)
        row = table.capacity(t) * temperature
        row[self.n] += table.content(t) - table.capacity(t) * t
        return np.asarray(row)

    def value(self, row: Array) -> float:
        """A figure at this moment."""
        return float(row[: self.n] @ self.x + row[self.n])

    def flows(self, i: int) -> bool:
        """Whether an element carries heat."""
        return abs(float(self.w[i])) > STILL

    def given(self, i: int) -> Array:
        """Heat that water gives off on its way through an element, [W]."""
        return np.asarray(self._given[i])

    @cached_property
    def _given(self) -> Array:
        """The same of all elements, shape (n elements, n + 2)."""
        total = np.zeros_like(self.t_in)
        tables, thermal = _tables(self.s.net), self.s.thermal
        for rows, t, sign in ((self.t_in, thermal.t_in, 1.0), (self.t_out, thermal.t_out, -1.0)):
            content, capacity = tables.content_and_capacity(t)
            total += sign * capacity[:, None] * rows
            total[:, self.n] += sign * (content - capacity * t)
        return np.where(np.abs(self.w) > STILL, np.abs(self.w), 0.0)[:, None] * total


_TABLES: weakref.WeakKeyDictionary[Network, HeatTables] = weakref.WeakKeyDictionary()


def _tables(net: Network) -> HeatTables:
    """Heat tables of the water in all elements of a network, made once."""
    if net not in _TABLES:
        fluids = (net.bodies[net.body_of[e.start]].fluid for e in net.elements)
        _TABLES[net] = HeatTables([heat_table(fluid) for fluid in fluids])
    return _TABLES[net]
