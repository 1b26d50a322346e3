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
from core.thermal.heat import HeatTables
from core.thermal.holding import HoldRows
from core.thermal.limits import review
from core.thermal.roles import Coil, Plates, Roles, Side
from core.thermal.rooms import RoomRows
from core.thermal.steps import Steps, passed_on

Array = npt.NDArray[np.float64]
Indices = npt.NDArray[np.intp]
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
        self.made_for = b""
        self.kept: _Balance | None = None

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
        balance = self._laid_out(branch_flow)
        flowing, rooms, holds = balance.flowing, balance.rooms, balance.holds
        flowing.take(w, branch_flow, state)
        balance.take(state)
        state.settled = False
        for state.rounds in range(1, MOST_ROUNDS + 1):
            values = balance.solve(state)
            moved = max(rooms.take(values, state), balance.walk(values, state))
            state.moved = moved
            changed = review(flowing, state)
            changed |= rooms.review(state)
            changed |= holds.review(state)
            if not changed and moved < precision:
                state.settled = True
                break
        balance.fill(values, state)
        return state

    def _laid_out(self, branch_flow: Array) -> _Balance:
        """The balance for the ways that flow now; kept while they do."""
        sense = self.ways.sense(branch_flow)
        made_for = sense.tobytes()
        if self.kept is None or made_for != self.made_for:
            self.made_for, self.kept = made_for, _Balance(Flowing(self.ways, sense), self.roles)
        return self.kept


class _Balance:
    """One linear balance of heat at every node, exchanger side and room, for one layout of flows."""

    def __init__(self, flowing: Flowing, roles: Roles) -> None:
        self.flowing, self.roles = flowing, roles
        self.rooms, self.holds = RoomRows(roles, flowing), HoldRows(roles, flowing)
        self.steps = steps = Steps(flowing, self.rooms.out)
        ways, runs = flowing.ways, flowing.runs
        self.nodes = np.arange(len(flowing.row))
        at_nodes = [ways.tables[ways.net.body_of[node]] for node in flowing.row]
        self.heat = HeatTables([*at_nodes, *(run.table for run in runs)])
        self.last = np.array([run.last for run in runs], np.intp)
        sides = [
            (flowing.side_row[(role.item, role.side)], steps.place[i])
            for run in runs
            for i, role in run.steps
            if isinstance(role, Side)
        ]
        self.sides = np.array([row for row, _ in sides], np.intp)
        self.side_at = np.array([at for _, at in sides], np.intp)
        n = flowing.unknowns
        rows = np.concatenate([flowing.ends, self.nodes, self.sides, self.sides])
        cols = np.concatenate([steps.end_row, self.nodes, self.sides, steps.inlet_row[self.side_at]])
        self.flat = rows * n + cols
        self.ones = np.ones(len(sides))
        self.emitters = [(i, steps.place[i]) for i in self.rooms.out]

    def take(self, state: ThermalState) -> None:
        """Take over the temperatures of the last pass, [K]."""
        indoor = self.flowing.ways.indoor
        self.node = np.array([state.node.get(node, indoor) for node in self.flowing.row])
        self.t_in, self.t_out = state.t_in, state.t_out
        self.mixed = self.t_out[self.last]  # what each run came to its end with

    def solve(self, state: ThermalState) -> Array:
        """All unknown temperatures, from what is known of the last round, [K].

        What leaves a node carries the heat that came in; heat contents are straightened where they were.
        """
        flowing, steps = self.flowing, self.steps
        steps.compose(self.t_in, state)
        many = len(self.nodes)
        contents, slopes = self.heat.content_and_capacity(np.concatenate([self.node, self.mixed]))
        here, capacity, content, cp = contents[:many], slopes[:many], contents[many:], slopes[many:]
        # Written as for the nodes below, so that a loop without beginning or end cancels to the last digit.
        arriving = flowing.flow * (content + cp * (steps.b[steps.end] - self.mixed))
        right = np.zeros(flowing.unknowns)
        right[:many] = flowing.inflow * (here - capacity * self.node) - ANCHOR * flowing.ways.indoor
        right[:many] -= np.bincount(flowing.ends, arriving, many)
        before = steps.before[self.side_at]
        right[self.sides] = steps.b[before]
        laid = np.concatenate(
            [
                flowing.flow * cp * steps.a[steps.end],
                -flowing.inflow * capacity - ANCHOR,
                self.ones,
                -steps.a[before],
            ]
        )
        cells = self._single(state, right)
        return solve_cells(flowing.unknowns, (self.flat, laid), cells, right)

    def _single(self, state: ThermalState, right: Array) -> Cells:
        """Cells of what there are few of: mains, tanks, exchangers, coils, rooms."""
        flowing, roles, steps = self.flowing, self.roles, self.steps
        cells: Cells = []
        for node, flow in flowing.brought.items():
            table = flowing.ways.tables[flowing.ways.net.body_of[node]]
            right[flowing.row[node]] -= flow * table.content(roles.main_temperature[node])
        for node, store in roles.stores.items():
            row = flowing.row.get(node)
            if row is not None:
                cells.append((row, row, -store.ua))
                right[row] -= store.element + store.ua * store.around
        for key, plates in roles.exchangers.items():
            _exchanger_rows(flowing, key, plates, cells)
        for coil, run in flowing.coils:
            _coil_rows(flowing, coil, run, cells, right)
        for i, at in self.emitters:
            role, run = flowing.loads[i]
            before = steps.before[at]
            reached = (int(steps.inlet_row[at]), float(steps.a[before]), float(steps.b[before]))
            self.rooms.give(i, role, passed_on(flowing, i, role, run, state), reached, cells, right)
        self.rooms.balance(state, cells, right)
        self.holds.balance(state, cells, right)
        return cells

    def walk(self, values: Array, state: ThermalState) -> float:
        """Put temperatures at every element, and say by how much the most moved one moved, [K]."""
        elements, many = self.steps.elements, len(self.nodes)
        t_in, t_out = self.steps.walk(values)
        arrived, node = self.steps.arriving(values), values[:many]
        moved = np.concatenate([node - self.node, t_out - self.t_out[elements], arrived - self.mixed])
        self.node, self.mixed = node, arrived
        self.t_in[elements], self.t_out[elements] = t_in, t_out
        self.flowing.t_in, self.flowing.t_out = self.t_in.tolist(), self.t_out.tolist()
        state.node.update(zip(self.flowing.row, node.tolist(), strict=True))
        return float(np.abs(moved).max(initial=0.0))

    def fill(self, values: Array, state: ThermalState) -> None:
        """Give what lies between two steps the temperature that left the step before."""
        steps = self.steps
        known = np.concatenate([self.t_out[steps.elements], values[self.flowing.starts]])
        self.t_in[steps.passing] = self.t_out[steps.passing] = known[steps.passing_from]
        state.t_in, state.t_out = self.t_in, self.t_out


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


def solve_cells(n: int, laid: tuple[Indices, Array], cells: Cells, right: Array) -> Array:
    """Solve a linear system given by its cells (repeated ones add up), dense while small.

    Parameters
    ----------
    n : int
        Unknowns
    laid : (ndarray of int, ndarray)
        Cells by their place in the flattened matrix, and their values
    cells : list of (int, int, float)
        Further cells: row, column, value
    right : ndarray, shape (n,)
        Right side

    Returns
    -------
    ndarray, shape (n,)
    """
    flat, values = laid
    if cells:
        flat = np.concatenate([flat, np.array([row * n + col for row, col, _ in cells], np.intp)])
        values = np.concatenate([values, np.array([value for _, _, value in cells])])
    if n <= DENSE_UP_TO:
        matrix = np.bincount(flat, values, n * n).reshape(n, n)
        return np.asarray(np.linalg.solve(matrix, right))
    from scipy.sparse import csc_matrix
    from scipy.sparse.linalg import splu

    return np.asarray(splu(csc_matrix((values, np.divmod(flat, n)), shape=(n, n))).solve(right))


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
