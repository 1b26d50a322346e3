"""What moves in one pass of the temperatures: runs in their flow direction, their steps, what mixes where.

No temperatures are found here; `core.thermal.temperatures` does that on top of it.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from core.hydraulics.network import Branch, Network
from core.thermal.heat import HeatTable, heat_table
from core.thermal.roles import Coil, Giving, Role, Roles, Side, Source, Tap

Array = npt.NDArray[np.float64]
Indices = npt.NDArray[np.intp]

STILL = 2e-6  # [kg/s] flows below carry nothing


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
        By element of a load or source: share of its group's fixed loads that the sources can carry
    room : dict
        Temperature of each solved room, by item id, [K]
    loose : dict
        By room or store that a stat holds: whether the water brings too little to hold it
    rounds, moved, settled
        Linear balances made; furthest change of temperature in the last, [K]; whether all came to rest
    """

    t_in: Array
    t_out: Array
    node: dict[int, float] = field(default_factory=dict)
    source: dict[int, str] = field(default_factory=dict)
    given_share: dict[int, float] = field(default_factory=dict)
    by_ua: dict[int, bool] = field(default_factory=dict)
    room: dict[str, float] = field(default_factory=dict)
    loose: dict[str, bool] = field(default_factory=dict)
    rounds: int = 0
    moved: float = 0.0
    settled: bool = False


@dataclass
class Run:
    """A flowing branch in its flow direction: start and end node, steps (element, role), mass flow [kg/s].

    `between` holds the elements before, between and after the steps: they pass water on unchanged.
    """

    start: int
    end: int
    steps: list[tuple[int, Role]]
    between: list[list[int]]
    last: int
    table: HeatTable
    w: float = 0.0


class Waterways:
    """The branches of a network with what acts along them; made once per case.

    Attributes
    ----------
    idle : dict
        Bodies in which nothing heats or cools, and the temperature of what is around them, [K]
    idle_elements, idle_at : ndarray
        Their elements, and that temperature for each, [K]
    tables : list of HeatTable
        By body
    barred : ndarray of bool, shape (n branches,)
        Branches of those bodies
    """

    def __init__(self, net: Network, roles: Roles) -> None:
        self.net = net
        self.roles = roles
        self.indoor = net.plant.site_si.indoor
        self.tables = [heat_table(b.fluid) for b in net.bodies]
        self.idle = self._never_heated()
        self.idle_elements = np.array([i for b in self.idle for i in net.bodies[b].elements], np.intp)
        self.idle_at = np.array([t for b, t in self.idle.items() for _ in net.bodies[b].elements])
        self.barred = np.array([net.body_of[b.start] in self.idle for b in net.branches], bool)

    def _never_heated(self) -> dict[int, float]:
        """Bodies in which nothing heats or cools, and the temperature of what is around them, [K]."""
        net, roles = self.net, self.roles
        acted = {net.body_of[net.elements[i].start] for i in roles.of}
        acted |= {net.body_of[n] for n in (*roles.stores, *roles.main_temperature)}
        around: dict[int, set[float]] = {}
        for pipe in net.plant.pipes.values():
            if pipe.si.around is not None and pipe.id in net.of_item:
                around.setdefault(net.body_of[net.of_item[pipe.id][0].start], set()).add(pipe.si.around)
        return {
            b.number: around[b.number].copy().pop() if len(around.get(b.number, ())) == 1 else self.indoor
            for b in net.bodies
            if b.number not in acted
        }

    def sense(self, branch_flow: Array) -> npt.NDArray[np.int8]:
        """Which way each branch carries heat: 1 as it is drawn, -1 against, 0 not at all."""
        carrying = (np.abs(branch_flow) > STILL) & ~self.barred
        return np.where(carrying, np.sign(branch_flow), 0.0).astype(np.int8)

    def run(self, branch: Branch, forward: bool) -> Run:
        """A branch as it flows."""
        elements = branch.elements if forward else branch.elements[::-1]
        start, end = (branch.start, branch.end) if forward else (branch.end, branch.start)
        of = self.roles.of
        steps: list[tuple[int, Role]] = []
        between: list[list[int]] = [[]]
        for i in elements:
            if i in of:
                steps.append((i, of[i]))
                between.append([])
            else:
                between[-1].append(i)
        return Run(start, end, steps, between, elements[-1], self.tables[self.net.body_of[start]])


class Flowing:
    """What flows, laid out for the balance of heat; made anew where another way flows, or one turns round.

    Parameters
    ----------
    ways : Waterways
    sense : ndarray of int, shape (n branches,)
        As of `Waterways.sense`

    Attributes
    ----------
    runs : list of Run
    w : list of float
        Mass flow by element, [kg/s]
    t_in, t_out : list of float
        Temperature where the water enters and leaves each element, [K]; changed as they are found
    inflow : ndarray, by row of the nodes
        All that enters a node, [kg/s]
    brought : dict
        By node of a main: what it brings, [kg/s]
    row, side_row : dict
        Unknowns: one for each node, two (inlet, outlet) for each exchanger side and coil
    sources, loads : dict
        Sources and emitters that flow, by element, with their run
    group : dict
        By node: the group of waters that heat one another, one connected flow, or several where one without a
        source is heated by another through an exchanger or a coil
    """

    def __init__(self, ways: Waterways, sense: npt.NDArray[np.int8]) -> None:
        self.ways = ways
        self.branches = np.flatnonzero(sense)
        branches = ways.net.branches
        self.runs = [ways.run(branches[k], sense[k] > 0) for k in self.branches.tolist()]
        steps = [(i, role, run) for run in self.runs for i, role in run.steps]
        self.sources = {i: (role, run) for i, role, run in steps if isinstance(role, Source)}
        self.loads = {i: (role, run) for i, role, run in steps if isinstance(role, Giving)}
        self.coils = [(role, run) for _, role, run in steps if isinstance(role, Coil)]
        self.tapped = {run.start for _, role, run in steps if isinstance(role, Tap)}
        self.sides = {(role.item, role.side): run.start for _, role, run in steps if isinstance(role, Side)}
        nodes = {node for run in self.runs for node in (run.start, run.end)}
        nodes |= {coil.node for coil, _ in self.coils if coil.given is None}
        self.row = {node: k for k, node in enumerate(sorted(nodes))}
        first = len(self.row)
        self.side_row = {side: first + 2 * k for k, side in enumerate(self.sides)}
        self.unknowns = first + 2 * len(self.side_row)
        self.starts = np.array([self.row[run.start] for run in self.runs], np.intp)
        self.ends = np.array([self.row[run.end] for run in self.runs], np.intp)
        self.brought: dict[int, float] = {}
        self.group = self._groups()

    def take(self, w: Array, branch_flow: Array, state: ThermalState) -> None:
        """Take over the flows of a pass, [kg/s], and what is known of its temperatures and states."""
        ways = self.ways
        self.w: list[float] = w.tolist()
        self.flow = np.abs(branch_flow[self.branches])
        for run, flow in zip(self.runs, self.flow.tolist(), strict=True):
            run.w = flow
        self.inflow = np.bincount(self.ends, self.flow, len(self.row))
        self._bring()
        state.t_in[ways.idle_elements] = state.t_out[ways.idle_elements] = ways.idle_at
        self.t_in: list[float] = state.t_in.tolist()
        self.t_out: list[float] = state.t_out.tolist()
        live: dict[int, str] = {}
        for i, (role, _) in self.sources.items():
            active = role.on and role.set_at is not None
            before = state.source.get(i, "set")
            live[i] = ("set" if before == "off" else before) if active else "off"
        state.source = live

    def _bring(self) -> None:
        """What mains bring: what leaves them beyond what comes in."""
        brought = {}
        for node in self.ways.roles.main_temperature:
            row = self.row.get(node)
            if row is not None:
                more = float(self.flow[self.starts == row].sum() - self.inflow[row])
                if more > STILL:
                    brought[node] = more
                    self.inflow[row] += more
        if brought.keys() != self.brought.keys():
            self.brought = brought
            self.group = self._groups()
        self.brought = brought

    def table_at(self, element: int) -> HeatTable:
        """Heat table of the water in an element."""
        net = self.ways.net
        return self.ways.tables[net.body_of[net.elements[element].start]]

    def rate(self, element: int) -> float:
        """Capacity rate of an element's flow at its mean heat capacity, [W/K]."""
        return abs(self.w[element]) * self.table_at(element).mean_capacity(
            self.t_in[element], self.t_out[element]
        )

    def _groups(self) -> dict[int, int]:
        owner = {n: n for n in self.row}

        def root(n: int) -> int:
            while owner[n] != n:
                owner[n] = n = owner[owner[n]]
            return n

        for run in self.runs:
            owner[root(run.start)] = root(run.end)
        sourced = {root(run.start) for _, run in self.sources.values()}
        # Water of a main or of a tank of given temperature makes up for its own users, not for those of water
        # that heats it: it stays a group of its own.
        held = {root(n) for n in (*self.brought, *self.tapped)}
        sides = self.sides
        pairs = [
            (sides[(key, "a")], sides[(key, "b")])
            for key, plates in self.ways.roles.exchangers.items()
            if (key, "a") in sides and (key, "b") in sides and plates.ua > 0.0
        ]
        pairs += [(c.node, run.start) for c, run in self.coils if c.given is None and c.ua > 0.0]
        for one, other in pairs:
            a, b = root(one), root(other)
            if a in sourced:
                a, b = b, a  # the sourced one stays the root
            if a in sourced or (b in sourced and a in held):
                continue
            owner[a] = b
            if a in held:
                held.add(b)
        return {n: root(n) for n in owner}
