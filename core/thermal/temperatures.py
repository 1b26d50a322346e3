"""Temperatures everywhere for given flows: one linear balance, repeated while sources and loads change state.

Junctions mix by heat content, elements pass water on as T_out = a T_in + b; exchanger sides are tied to each
other in the same matrix.
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from core.hydraulics.network import Network
from core.thermal.exchanger import effectiveness
from core.thermal.flowing import STILL, Flowing, Run, ThermalState, Waterways
from core.thermal.holding import HoldRows
from core.thermal.limits import review
from core.thermal.roles import Coil, Giving, Losing, Plates, Role, Roles, Side, Source, Tap
from core.thermal.rooms import RoomRows

Array = npt.NDArray[np.float64]
Cells = list[tuple[int, int, float]]

ANCHOR = 1e-6  # [W/K] ties every unknown to the room, so that an endless loop has one answer
MOST_ROUNDS = 60
DENSE_UP_TO = 250  # unknowns; above, scipy's sparse factors are quicker
SETTLED = 1e-6  # [K]

__all__ = ["SETTLED", "STILL", "TemperatureSolver", "ThermalState", "conductance"]


class TemperatureSolver:
    """Temperatures of one network in one case.

    Parameters
    ----------
    net : Network
    roles : Roles
    """

    def __init__(self, net: Network, roles: Roles) -> None:
        self.net = net
        self.roles = roles
        self.ways = Waterways(net, roles)

    def fresh(self) -> ThermalState:
        """A first guess: all at room temperature, sources at their set points."""
        n, indoor = len(self.net.elements), self.ways.indoor
        return ThermalState(np.full(n, indoor), np.full(n, indoor))

    def solve(
        self, w: Array, branch_flow: Array, state: ThermalState, precision: float = SETTLED
    ) -> ThermalState:
        """Temperatures for the given flows.

        Parameters
        ----------
        w : ndarray, shape (n elements,)
            Mass flow of each element, [kg/s]
        branch_flow : ndarray, shape (n branches,)
            Mass flow of each branch, [kg/s]
        state : ThermalState
            To start from; changed in place and returned
        precision : float
            Change of temperature that counts as rest, [K]

        Returns
        -------
        ThermalState
        """
        flowing = Flowing(self.ways, w, branch_flow, state)
        rooms, holds = RoomRows(self.roles, flowing), HoldRows(self.roles, flowing)
        state.settled = False
        for state.rounds in range(1, MOST_ROUNDS + 1):
            values = self._balance(flowing, rooms, holds, state)
            moved = max(rooms.take(values, state), self._walk(flowing, values, state))
            state.moved = moved
            changed = review(flowing, state)
            changed |= rooms.review(state)
            changed |= holds.review(state)
            if not changed and moved < precision:
                state.settled = True
                break
        state.t_in, state.t_out = np.array(flowing.t_in), np.array(flowing.t_out)
        for run in flowing.runs:  # what lies between two steps has the temperature that left the step before
            for passing, t in zip(run.between, run.passed, strict=True):
                state.t_in[passing] = state.t_out[passing] = t
        return state

    def _balance(
        self, flowing: Flowing, rooms: RoomRows, holds: HoldRows, state: ThermalState
    ) -> list[float]:
        """One linear balance of heat at every node, exchanger side and room."""
        right = np.zeros(flowing.unknowns)
        cells: Cells = []
        for run in flowing.runs:
            self._run_rows(flowing, rooms, run, state, cells, right)
        for node, row in flowing.row.items():
            self._node_row(flowing, node, row, state, cells, right)
        for key, plates in self.roles.exchangers.items():
            _exchanger_rows(flowing, key, plates, cells)
        for coil, run in flowing.coils():
            _coil_rows(flowing, coil, run, cells, right)
        rooms.balance(state, cells, right)
        holds.balance(state, cells, right)
        return solve_cells(flowing.unknowns, cells, right) if cells else []

    def _node_row(
        self, flowing: Flowing, node: int, row: int, state: ThermalState, cells: Cells, right: Array
    ) -> None:
        """What leaves a node carries the heat that came in; its heat content is straightened where it was."""
        table = self.ways.tables[self.net.body_of[node]]
        flow = flowing.inflow.get(node, 0.0)
        t0 = state.node.get(node, self.ways.indoor)
        cp = table.capacity(t0)
        cells.append((row, row, -flow * cp - ANCHOR))
        right[row] += flow * (table.content(t0) - cp * t0) - ANCHOR * self.ways.indoor
        if node in flowing.brought:
            right[row] -= flowing.brought[node] * table.content(self.roles.main_temperature[node])
        store = self.roles.stores.get(node)
        if store is not None:
            cells.append((row, row, -store.ua))
            right[row] -= store.element + store.ua * store.around

    def _run_rows(
        self, flowing: Flowing, rooms: RoomRows, run: Run, state: ThermalState, cells: Cells, right: Array
    ) -> None:
        """Carry a run from its start to its end: T = a T_from + b.

        There is a break at every exchanger side, and at every emitter in a room whose temperature is solved.
        """
        source, a, b = flowing.row[run.start], 1.0, 0.0
        for i, role in run.steps:
            if isinstance(role, Side):
                row = flowing.side_row[(role.item, role.side)]
                cells += [(row, row, 1.0), (row, source, -a)]
                right[row] += b
                source, a, b = row + 1, 1.0, 0.0
                continue
            alpha, beta = _pass(flowing, i, role, run, state)
            if i in rooms.out and isinstance(role, Giving):
                source, a, b = rooms.give(i, role, (alpha, beta), (source, a, b), cells, right)
                continue
            a, b = a * alpha, b * alpha + beta
        row = flowing.row[run.end]
        t0 = run.mixed_at
        cp = run.table.capacity(t0)
        cells.append((row, source, run.w * cp * a))
        right[row] -= run.w * (run.table.content(t0) + cp * (b - t0))

    def _walk(self, flowing: Flowing, values: list[float], state: ThermalState) -> float:
        """Put temperatures at every element, and say by how much the most moved one moved, [K]."""
        moved = 0.0
        t_in, t_out = flowing.t_in, flowing.t_out
        for node, row in flowing.row.items():
            t = values[row]
            moved = max(moved, abs(t - state.node.get(node, self.ways.indoor)))
            state.node[node] = t
        for run in flowing.runs:
            t = values[flowing.row[run.start]]
            run.passed = [t]
            for i, role in run.steps:
                before = t
                if isinstance(role, Side):
                    t = values[flowing.side_row[(role.item, role.side)] + 1]
                else:
                    alpha, beta = _pass(flowing, i, role, run, state)
                    t = alpha * before + beta
                change = abs(t - t_out[i])
                if change > moved:
                    moved = change
                t_in[i], t_out[i] = before, t
                run.passed.append(t)
            moved = max(moved, abs(t - run.mixed_at))
            run.mixed_at = t
        return moved


def _pass(flowing: Flowing, i: int, role: Role, run: Run, state: ThermalState) -> tuple[float, float]:
    """What an element makes of its inlet temperature: slope and offset [K]."""
    if isinstance(role, Losing):  # cools so little that its heat capacity is that of its inlet
        kept = math.exp(-role.ua / (run.w * run.table.capacity(flowing.t_in[i])))
        return kept, (1.0 - kept) * role.around
    if isinstance(role, Tap):
        leaves = flowing.w[i] < 0.0  # tap elements run from the tap inward
        return (0.0, role.given) if leaves else (1.0, 0.0)
    rate = run.w * run.table.mean_capacity(flowing.t_in[i], flowing.t_out[i])
    if isinstance(role, Source):
        mode = state.source[i]
        if mode == "set":
            return 0.0, float(role.set_at or 0.0)
        if mode == "limit":
            return _at_limit(role, flowing.t_out[i], rate)
        return 1.0, 0.0
    assert isinstance(role, Giving)
    emitter = role.emitter
    if emitter.ua is None:
        return 1.0, -state.given_share.get(i, 1.0) * (emitter.wanted or 0.0) / rate
    if not state.by_ua.get(i, True):
        return 1.0, -(emitter.wanted or 0.0) / rate
    kept = math.exp(-emitter.conductance(flowing.t_in[i], flowing.t_out[i], role.room) / rate)
    return kept, (1.0 - kept) * role.room


def _at_limit(role: Source, t_out: float, rate: float) -> tuple[float, float]:
    """Slope and offset [K] of a source at its capacity; a heat pump's falls with its outlet, t_out [K].

    Its heat is taken as straight about the last outlet: Newton's step for T_out = T_in + heat(T_out) / rate.
    """
    if role.output is None:
        return 1.0, (role.capacity or 0.0) / rate
    slope = min(0.0, role.output.slope(t_out)) / rate
    alpha = 1.0 / (1.0 - slope)
    return alpha, alpha * (role.output.heat(t_out) / rate - slope * t_out)


def _coil_rows(flowing: Flowing, coil: Coil, run: Run, cells: Cells, right: Array) -> None:
    """Tie a coil's outlet to its inlet and its tank: heat C (1 - exp(-UA/C)) per kelvin between these two."""
    row = flowing.side_row[(coil.item, coil.side)]
    i = next(i for i, role in run.steps if role is coil)
    rate = flowing.rate(i)
    kept = math.exp(-coil.ua / rate)
    cells += [(row + 1, row + 1, 1.0), (row + 1, row, -kept)]
    if coil.given is not None:
        right[row + 1] += (1.0 - kept) * coil.given
        return
    tank, heat = flowing.row[coil.node], rate * (1.0 - kept)
    cells += [(row + 1, tank, kept - 1.0), (tank, row, heat), (tank, tank, -heat)]


def _exchanger_rows(flowing: Flowing, key: str, plates: Plates, cells: Cells) -> None:
    """Tie the outlet of each side to both inlets."""
    rows = [flowing.side_row.get((key, side)) for side in ("a", "b")]
    heat, rates = 0.0, [1.0, 1.0]
    if rows[0] is not None and rows[1] is not None:
        rates = [flowing.rate(e.index) for e in (plates.a, plates.b)]
        heat = conductance(plates.ua, rates[0], rates[1], _running(flowing, plates))
    for row, across, rate in ((rows[0], rows[1], rates[0]), (rows[1], rows[0], rates[1])):
        if row is None:
            continue
        k = heat / rate
        cells += [(row + 1, row + 1, 1.0), (row + 1, row, k - 1.0)]
        if k > 0.0 and across is not None:
            cells.append((row + 1, across, -k))


def _running(flowing: Flowing, plates: Plates) -> str:
    """Counter-flow holds with both sides running as named, or both the other way."""
    if (flowing.w[plates.a.index] > 0.0) == (flowing.w[plates.b.index] > 0.0):
        return plates.arrangement
    return "parallel" if plates.arrangement == "counter" else "counter"


def solve_cells(n: int, cells: list[tuple[int, int, float]], right: Array) -> list[float]:
    """Solve a linear system given by its cells (row, column, value; repeated ones add up), dense while small.

    Parameters
    ----------
    n : int
        Unknowns
    cells : list of (int, int, float)
        Matrix
    right : ndarray, shape (n,)
        Right side

    Returns
    -------
    list of float, length n
    """
    rows, cols, values = (np.array(part) for part in zip(*cells, strict=True))
    if n <= DENSE_UP_TO:
        matrix = np.bincount(rows * n + cols, values, n * n).reshape(n, n)
        return [float(x) for x in np.linalg.solve(matrix, right)]
    from scipy.sparse import csc_matrix
    from scipy.sparse.linalg import splu

    return [float(x) for x in splu(csc_matrix((values, (rows, cols)), shape=(n, n))).solve(right)]


def conductance(ua: float, rate_a: float, rate_b: float, arrangement: str) -> float:
    """Heat an exchanger passes per kelvin between its two inlets, effectiveness times C_min, [W/K].

    Parameters
    ----------
    ua, rate_a, rate_b : float
        Conductance and capacity rates, [W/K]
    arrangement : str
        "counter" or "parallel"

    Returns
    -------
    float
        [W/K]

    Notes
    -----
    Source as of `effectiveness`.
    """
    low, high = min(rate_a, rate_b), max(rate_a, rate_b)
    return low * effectiveness(ua / low, low / high, arrangement) if low > 0.0 else 0.0
