"""Temperatures everywhere for given flows: one linear balance, repeated while sources and loads change state.

Junctions mix by heat content, elements pass water on as T_out = a T_in + b; exchanger sides are tied to each
other in the same matrix.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from core.hydraulics.network import Network
from core.thermal.exchanger import effectiveness
from core.thermal.heat import HeatTable, heat_table
from core.thermal.roles import Giving, Losing, Role, Roles, Side, Source, Tap

Array = npt.NDArray[np.float64]
Indices = npt.NDArray[np.intp]

STILL = 2e-6  # [kg/s] flows below carry nothing
ANCHOR = 1e-6  # [W/K] ties every unknown to the room, so that an endless loop has one answer
MOST_ROUNDS = 60
ONE_AT_A_TIME = 15  # rounds after which only one source changes its state in a round
DENSE_UP_TO = 250  # unknowns; above, scipy's sparse factors are quicker
SETTLED = 1e-6  # [K]


@dataclass
class ThermalState:
    """Temperatures and states, kept between solves to start from.

    Attributes
    ----------
    t_in, t_out : ndarray, shape (n elements,)
        Temperature where the water enters and leaves each element as it flows, [K]
    node : dict
        Temperature of nodes that water passes, [K]
    source : dict
        By element: "set" outlet at its set point, "limit" at capacity, "hot" inlet above it, "off"
    given_share : dict
        By body: share of the fixed loads that the sources behind it can carry
    rounds, settled
        Linear balances made; whether states and temperatures came to rest
    """

    t_in: Array
    t_out: Array
    node: dict[int, float] = field(default_factory=dict)
    source: dict[int, str] = field(default_factory=dict)
    given_share: dict[int, float] = field(default_factory=dict)
    by_ua: dict[int, bool] = field(default_factory=dict)
    rounds: int = 0
    settled: bool = False


@dataclass
class _Run:
    """A flowing branch in its flow direction: start and end node, mass flow, steps (element, role).

    `between` holds the elements before, between and after the steps: they pass water on unchanged.
    """

    start: int
    end: int
    w: float
    steps: list[tuple[int, Role]]
    between: list[Indices]
    table: HeatTable
    body: int
    mixed_at: float = 0.0
    passed: list[float] = field(default_factory=list)


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
        self.indoor = net.plant.site_si.indoor
        self.tables = [heat_table(b.fluid) for b in net.bodies]
        self.idle = self._never_heated()
        self.acting = [[(i, roles.of[i]) for i in b.elements if i in roles.of] for b in net.branches]
        self.between = [_between(b.elements, roles) for b in net.branches]

    def _never_heated(self) -> dict[int, float]:
        """Bodies in which nothing heats or cools, and the temperature of what is around them, [K]."""
        net, roles = self.net, self.roles
        acted = {net.body_of[net.elements[i].start] for i in roles.of}
        acted |= {net.body_of[n] for n in (*roles.stores, *roles.main_temperature)}
        around: dict[int, set[float]] = {}
        for pipe in net.plant.pipes.values():
            if pipe.id in net.of_item and pipe.si.around is not None:
                around.setdefault(net.body_of[net.of_item[pipe.id][0].start], set()).add(pipe.si.around)
        return {
            b.number: around[b.number].copy().pop() if len(around.get(b.number, ())) == 1 else self.indoor
            for b in net.bodies
            if b.number not in acted
        }

    def fresh(self) -> ThermalState:
        """A first guess: all at room temperature, sources at their set points."""
        n = len(self.net.elements)
        return ThermalState(np.full(n, self.indoor), np.full(n, self.indoor))

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
        self.w = w.tolist()
        self.t_in, self.t_out = state.t_in.tolist(), state.t_out.tolist()
        for body, t in self.idle.items():
            for i in self.net.bodies[body].elements:
                self.t_in[i] = self.t_out[i] = t
        self._collect(branch_flow)
        self._first_states(state)
        self.group = self._groups()
        state.settled = False
        for state.rounds in range(1, MOST_ROUNDS + 1):
            values = self._balance(state)
            moved = self._walk(values, state)
            if not self._review(state) and moved < precision:
                state.settled = True
                break
        state.t_in, state.t_out = np.array(self.t_in), np.array(self.t_out)
        for run in self.runs:  # what lies between two steps carries the temperature that left the step before
            for passing, t in zip(run.between, run.passed, strict=True):
                state.t_in[passing] = state.t_out[passing] = t
        return state

    # what flows -------------------------------------------------------------------------------------------

    def _collect(self, branch_flow: Array) -> None:
        net = self.net
        self.runs: list[_Run] = []
        inflow: dict[int, float] = {}
        outflow: dict[int, float] = {}
        for k, flow in enumerate(branch_flow.tolist()):
            if abs(flow) <= STILL:
                continue
            b, steps = net.branches[k], self.acting[k]
            body = net.body_of[b.start]
            if body in self.idle:
                continue
            start, end = (b.start, b.end) if flow > 0 else (b.end, b.start)
            between = self.between[k]
            if flow < 0:
                steps, between = steps[::-1], between[::-1]
            run = _Run(start, end, abs(flow), steps, between, self.tables[body], body)
            last = b.elements[-1] if flow > 0 else b.elements[0]
            run.mixed_at = self.t_out[last]
            self.runs.append(run)
            inflow[end] = inflow.get(end, 0.0) + run.w
            outflow[start] = outflow.get(start, 0.0) + run.w
        self.brought: dict[int, float] = {}
        for node in self.roles.main_temperature:
            net_out = outflow.get(node, 0.0) - inflow.get(node, 0.0)
            if net_out > STILL:
                self.brought[node] = net_out
                inflow[node] = inflow.get(node, 0.0) + net_out
        self.inflow = inflow
        self.row = {node: k for k, node in enumerate(sorted(set(inflow) | set(outflow)))}
        self.side_row: dict[tuple[str, str], int] = {}
        n = len(self.row)
        for run in self.runs:
            for _, role in run.steps:
                if isinstance(role, Side):
                    self.side_row[(role.item, role.side)] = n
                    n += 2
        self.n = n

    def _groups(self) -> dict[int, int]:
        """The group of each body: bodies without a source count with those whose exchangers heat them."""
        owner = {b.number: b.number for b in self.net.bodies}

        def root(b: int) -> int:
            while owner[b] != b:
                b = owner[b]
            return b

        sourced = {run.body for _, run in self.sources.values()}
        pairs = []
        for key in self.roles.exchangers:
            if (key, "a") in self.side_row and (key, "b") in self.side_row:
                plates = self.roles.exchangers[key]
                pairs.append(tuple(self.net.body_of[e.start] for e in (plates.a, plates.b)))
        for a, b in pairs:
            if not (a in sourced and b in sourced):
                owner[root(a)] = root(b)
        return {b: root(b) for b in owner}

    def _first_states(self, state: ThermalState) -> None:
        """States of the sources that flow now; those of before are kept."""
        live: dict[int, str] = {}
        self.sources: dict[int, tuple[Source, _Run]] = {}
        self.loads: dict[int, tuple[Giving, _Run]] = {}
        for run in self.runs:
            for i, role in run.steps:
                if isinstance(role, Source):
                    self.sources[i] = (role, run)
                    active = role.on and role.set_at is not None
                    before = state.source.get(i, "set")
                    live[i] = ("set" if before == "off" else before) if active else "off"
                elif isinstance(role, Giving):
                    self.loads[i] = (role, run)
        state.source = live

    # one linear balance -----------------------------------------------------------------------------------

    def _balance(self, state: ThermalState) -> list[float]:
        n = self.n
        right = np.zeros(n)
        cells: list[tuple[int, int, float]] = []
        for run in self.runs:
            self._run_rows(run, state, cells, right)
        node_t = state.node
        for node, row in self.row.items():
            table = self.tables[self.net.body_of[node]]
            flow = self.inflow.get(node, 0.0)
            t0 = node_t.get(node, self.indoor)
            cp = table.capacity(t0)
            cells.append((row, row, -flow * cp - ANCHOR))
            right[row] += flow * (table.content(t0) - cp * t0) - ANCHOR * self.indoor
            if node in self.brought:
                right[row] -= self.brought[node] * table.content(self.roles.main_temperature[node])
            store = self.roles.stores.get(node)
            if store is not None:
                cells.append((row, row, -store.ua))
                right[row] -= store.element + store.ua * store.around
        for key, plates in self.roles.exchangers.items():
            self._exchanger_rows(key, plates.ua, plates.arrangement, state, cells, right)
        return solve_cells(n, cells, right) if cells else []

    def _run_rows(
        self, run: _Run, state: ThermalState, cells: list[tuple[int, int, float]], right: Array
    ) -> None:
        """Carry a run from its start to its end: T = a T_from + b, with a break at every exchanger side."""
        source, a, b = self.row[run.start], 1.0, 0.0
        for i, role in run.steps:
            if isinstance(role, Side):
                row = self.side_row[(role.item, role.side)]
                cells += [(row, row, 1.0), (row, source, -a)]
                right[row] += b
                source, a, b = row + 1, 1.0, 0.0
                continue
            alpha, beta = self._pass(i, role, run, state)
            a, b = a * alpha, b * alpha + beta
        row = self.row[run.end]
        t0 = run.mixed_at
        cp = run.table.capacity(t0)
        cells.append((row, source, run.w * cp * a))
        right[row] -= run.w * (run.table.content(t0) + cp * (b - t0))

    def _pass(self, i: int, role: Role, run: _Run, state: ThermalState) -> tuple[float, float]:
        """What an element makes of its inlet temperature: slope and offset [K]."""
        if isinstance(role, Losing):  # cools so little that its heat capacity is that of its inlet
            kept = math.exp(-role.ua / (run.w * run.table.capacity(self.t_in[i])))
            return kept, (1.0 - kept) * role.around
        rate = run.w * run.table.mean_capacity(self.t_in[i], self.t_out[i])
        if isinstance(role, Source):
            mode = state.source[i]
            if mode == "set":
                return 0.0, float(role.set_at or 0.0)
            return 1.0, ((role.capacity or 0.0) / rate if mode == "limit" else 0.0)
        if isinstance(role, Giving):
            return self._giving(i, role, run, state, rate)
        if isinstance(role, Tap):
            leaves = self.w[i] < 0.0  # tap elements run from the tap inward
            return (0.0, role.given) if leaves else (1.0, 0.0)
        return 1.0, 0.0

    def _giving(
        self, i: int, role: Giving, run: _Run, state: ThermalState, rate: float
    ) -> tuple[float, float]:
        emitter = role.emitter
        if emitter.ua is None:
            share = state.given_share.get(run.body, 1.0)
            return 1.0, -share * (emitter.wanted or 0.0) / rate
        if not state.by_ua.get(i, True):
            return 1.0, -(emitter.wanted or 0.0) / rate
        ua = emitter.conductance(self.t_in[i], self.t_out[i], role.room)
        kept = math.exp(-ua / rate)
        return kept, (1.0 - kept) * role.room

    def _exchanger_rows(
        self,
        key: str,
        ua: float,
        arrangement: str,
        state: ThermalState,
        cells: list[tuple[int, int, float]],
        right: Array,
    ) -> None:
        rows = [self.side_row.get((key, side)) for side in ("a", "b")]
        elements = (self.roles.exchangers[key].a, self.roles.exchangers[key].b)
        if rows[0] is not None and rows[1] is not None:
            rates = [self._rate(e.index, state) for e in elements]
            heat = conductance(ua, rates[0], rates[1], self._arrangement(key, arrangement))
        else:
            heat, rates = 0.0, [1.0, 1.0]
        for mine, other, rate in ((0, 1, rates[0]), (1, 0, rates[1])):
            row = rows[mine]
            if row is None:
                continue
            k = heat / rate
            cells += [(row + 1, row + 1, 1.0), (row + 1, row, k - 1.0)]
            across = rows[other]
            if k > 0.0 and across is not None:
                cells.append((row + 1, across, -k))

    def _rate(self, i: int, state: ThermalState) -> float:
        table = self.tables[self.net.body_of[self.net.elements[i].start]]
        return abs(self.w[i]) * table.mean_capacity(self.t_in[i], self.t_out[i])

    def _arrangement(self, key: str, stated: str) -> str:
        """Counter-flow holds with both sides running as named, or both the other way."""
        plates = self.roles.exchangers[key]
        if (self.w[plates.a.index] > 0.0) == (self.w[plates.b.index] > 0.0):
            return stated
        return "parallel" if stated == "counter" else "counter"

    # reading the answer -----------------------------------------------------------------------------------

    def _walk(self, values: list[float], state: ThermalState) -> float:
        """Put temperatures at every element, and say by how much the most moved one moved, [K]."""
        moved = 0.0
        for node, row in self.row.items():
            t = values[row]
            moved = max(moved, abs(t - state.node.get(node, self.indoor)))
            state.node[node] = t
        for run in self.runs:
            t = values[self.row[run.start]]
            run.passed = [t]
            for i, role in run.steps:
                t_in = t
                if isinstance(role, Side):
                    t = values[self.side_row[(role.item, role.side)] + 1]
                else:
                    alpha, beta = self._pass(i, role, run, state)
                    t = alpha * t_in + beta
                change = abs(t - self.t_out[i])
                if change > moved:
                    moved = change
                self.t_in[i], self.t_out[i] = t_in, t
                run.passed.append(t)
            moved = max(moved, abs(t - run.mixed_at))
            run.mixed_at = t
        return moved

    def _review(self, state: ThermalState) -> bool:
        """States that do not fit the temperatures found; True where any was changed."""
        changed = False
        by_group: dict[int, list[int]] = {}
        for i, (_, run) in self.sources.items():
            if state.source[i] != "off":
                by_group.setdefault(self.group[run.body], []).append(i)
        for group, members in by_group.items():
            changed |= self._review_group(group, members, state)
        changed |= self._without_source(set(by_group), state)
        for i, (role, run) in self.loads.items():
            emitter = role.emitter
            if emitter.ua is None or emitter.wanted is None or emitter.takes_all:
                continue
            rate = self._rate(i, state)
            possible = rate * -math.expm1(-emitter.ua / rate) * (self.t_in[i] - role.room)
            by_ua = possible <= emitter.wanted
            if by_ua != state.by_ua.get(i, True):
                state.by_ua[i] = by_ua
                changed = True
        return changed

    def _without_source(self, sourced: set[int], state: ThermalState) -> bool:
        """Fixed loads in a body that nothing heats get nothing; where an exchanger or tank heats it, all."""
        heated = {self.group[r.body] for r in self.runs for _, role in r.steps if isinstance(role, Tap)}
        heated |= {self.group[self.net.body_of[n]] for n in (*self.brought, *self.roles.stores)}
        changed = False
        for body in {r.body for g, r in self.loads.values() if g.emitter.ua is None}:
            if self.group[body] in sourced:
                continue
            share = 1.0 if self.group[body] in heated else 0.0
            changed |= state.given_share.get(body, 1.0) != share
            state.given_share[body] = share
        return changed

    def _need(self, i: int, state: ThermalState) -> float:
        role, run = self.sources[i]
        return run.w * (run.table.content(float(role.set_at or 0.0)) - run.table.content(self.t_in[i]))

    def _review_group(self, group: int, members: list[int], state: ThermalState) -> bool:
        fixed = sum(
            (g.emitter.wanted or 0.0)
            for g, r in self.loads.values()
            if self.group[r.body] == group and g.emitter.ua is None
        )
        capacity = {i: self.sources[i][0].capacity for i in members}
        wanting = [i for i in members if self._need(i, state) > 0.0]
        limited = [
            i for i in wanting if (c := capacity[i]) is not None and self._need(i, state) > c * (1 + 1e-9)
        ]
        share = state.given_share.get(group, 1.0)
        all_limited = bool(wanting) and len(limited) == len(wanting)
        if fixed > 0.0 and (share < 1.0 or all_limited) and not (share == 0.0 and all_limited):
            return self._curtail(group, wanting, fixed, share, state)
        changed = False
        for i in members:
            mode = self._mode(i, i in limited, state)
            if mode != state.source[i]:
                state.source[i] = mode
                changed = True
                if state.rounds > ONE_AT_A_TIME:
                    break
        return changed

    def _mode(self, i: int, over: bool, state: ThermalState) -> str:
        """Next state of a source. Each change goes by way of "set", or two sources would swing each other."""
        role, _ = self.sources[i]
        set_at = float(role.set_at or 0.0)
        if state.source[i] == "limit":
            return "set" if self.t_out[i] > set_at + 1e-9 else "limit"
        if self.t_in[i] >= set_at - 1e-9:
            return "hot"
        return "limit" if over and state.source[i] == "set" else "set"

    def _curtail(
        self, group: int, wanting: list[int], fixed: float, share: float, state: ThermalState
    ) -> bool:
        """Cut the fixed loads of a group alike, until its sources give just their capacity at set point."""
        changed = False
        for i in wanting:
            if state.source[i] != "set":
                state.source[i] = "set"
                changed = True
        if changed:
            self._share(group, min(share, 0.999999), state)
            return True
        need = sum(self._need(i, state) for i in wanting)
        capacity = sum(self.sources[i][0].capacity or math.inf for i in wanting)
        new = min(1.0, max(0.0, share - (need - capacity) / fixed))
        self._share(group, new, state)
        return abs(new - share) * fixed > 1e-6 * capacity

    def _share(self, group: int, share: float, state: ThermalState) -> None:
        for body, owner in self.group.items():
            if owner == group:
                state.given_share[body] = share


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


def _between(elements: list[int], roles: Roles) -> list[Indices]:
    groups: list[list[int]] = [[]]
    for i in elements:
        if i in roles.of:
            groups.append([])
        else:
            groups[-1].append(i)
    return [np.array(g, np.intp) for g in groups]


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
