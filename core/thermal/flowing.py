"""What moves in one pass of the temperatures: runs in their flow direction, their steps, what mixes where.

No temperatures are found here; `core.thermal.temperatures` does that on top of it.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from core.hydraulics.network import Network
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
    """A flowing branch in its flow direction: start and end node, mass flow, steps (element, role).

    `between` holds the elements before, between and after the steps: they pass water on unchanged, at the
    temperatures `passed`. `mixed_at` is the temperature it reached its end with when last looked at, [K].
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


class Waterways:
    """The branches of a network with what acts along them; made once per case.

    Attributes
    ----------
    idle : dict
        Bodies in which nothing heats or cools, and the temperature of what is around them, [K]
    tables : list of HeatTable
        By body
    """

    def __init__(self, net: Network, roles: Roles) -> None:
        self.net = net
        self.roles = roles
        self.indoor = net.plant.site_si.indoor
        self.tables = [heat_table(b.fluid) for b in net.bodies]
        self.acting = [[(i, roles.of[i]) for i in b.elements if i in roles.of] for b in net.branches]
        self.between = [_between(b.elements, roles) for b in net.branches]
        self.idle = self._never_heated()

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


class Flowing:
    """The flows of one pass, laid out for the balance of heat.

    Attributes
    ----------
    runs : list of Run
    t_in, t_out : list of float
        Temperature where the water enters and leaves each element, [K]; changed as they are found
    inflow, brought : dict
        All that enters a node, and what a main brings of it, [kg/s]
    row, side_row : dict
        Unknowns: one for each node, two (inlet, outlet) for each exchanger side and coil
    sources, loads : dict
        Sources and emitters that flow, by element, with their run
    group : dict
        By node: the group of waters that heat one another, one connected flow, or several where one without a
        source is heated by another through an exchanger or a coil
    """

    def __init__(self, ways: Waterways, w: Array, branch_flow: Array, state: ThermalState) -> None:
        self.ways = ways
        self.w: list[float] = w.tolist()
        self.t_in: list[float] = state.t_in.tolist()
        self.t_out: list[float] = state.t_out.tolist()
        for body, t in ways.idle.items():
            for i in ways.net.bodies[body].elements:
                self.t_in[i] = self.t_out[i] = t
        self.runs: list[Run] = []
        self.inflow: dict[int, float] = {}
        self.brought: dict[int, float] = {}
        self._collect(branch_flow)
        self._number()
        self._states(state)
        self.group = self._groups()

    def table_at(self, element: int) -> HeatTable:
        """Heat table of the water in an element."""
        net = self.ways.net
        return self.ways.tables[net.body_of[net.elements[element].start]]

    def rate(self, element: int) -> float:
        """Capacity rate of an element's flow at its mean heat capacity, [W/K]."""
        return abs(self.w[element]) * self.table_at(element).mean_capacity(
            self.t_in[element], self.t_out[element]
        )

    def _collect(self, branch_flow: Array) -> None:
        ways, net = self.ways, self.ways.net
        outflow: dict[int, float] = {}
        for k, flow in enumerate(branch_flow.tolist()):
            b = net.branches[k]
            body = net.body_of[b.start]
            if abs(flow) <= STILL or body in ways.idle:
                continue
            steps, between = ways.acting[k], ways.between[k]
            start, end, last = b.start, b.end, b.elements[-1]
            if flow < 0:
                start, end, last = end, start, b.elements[0]
                steps, between = steps[::-1], between[::-1]
            run = Run(start, end, abs(flow), steps, between, ways.tables[body], body, self.t_out[last])
            self.runs.append(run)
            self.inflow[end] = self.inflow.get(end, 0.0) + run.w
            outflow[start] = outflow.get(start, 0.0) + run.w
        for node in ways.roles.main_temperature:
            net_out = outflow.get(node, 0.0) - self.inflow.get(node, 0.0)
            if net_out > STILL:
                self.brought[node] = net_out
                self.inflow[node] = self.inflow.get(node, 0.0) + net_out
        nodes = set(self.inflow) | set(outflow)
        nodes |= {coil.node for coil, _ in self.coils() if coil.given is None}
        self.row = {node: k for k, node in enumerate(sorted(nodes))}

    def coils(self) -> list[tuple[Coil, Run]]:
        """Coils whose water flows, with their run."""
        if not self.ways.roles.coils:
            return []
        return [(role, run) for run in self.runs for _, role in run.steps if isinstance(role, Coil)]

    def _number(self) -> None:
        self.side_row: dict[tuple[str, str], int] = {}
        self.unknowns = len(self.row)
        for run in self.runs:
            for _, role in run.steps:
                if isinstance(role, Side):
                    self.side_row[(role.item, role.side)] = self.unknowns
                    self.unknowns += 2

    def _states(self, state: ThermalState) -> None:
        """Sources and emitters that flow now; states of before are kept."""
        live: dict[int, str] = {}
        self.sources: dict[int, tuple[Source, Run]] = {}
        self.loads: dict[int, tuple[Giving, Run]] = {}
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

    def _groups(self) -> dict[int, int]:
        owner = {n: n for n in self.row}

        def root(n: int) -> int:
            while owner[n] != n:
                owner[n] = n = owner[owner[n]]
            return n

        for run in self.runs:
            owner[root(run.start)] = root(run.end)
        sourced = {root(run.start) for _, run in self.sources.values()}
        sides = {
            (role.item, role.side): run.start
            for run in self.runs
            for _, role in run.steps
            if isinstance(role, Side)
        }
        # Water of a main or of a tank of given temperature makes up for its own users, not for those of water
        # that heats it: it stays a group of its own.
        held = {root(n) for n in self.brought}
        held |= {root(run.start) for run in self.runs for _, role in run.steps if isinstance(role, Tap)}
        pairs = [
            (sides[(key, "a")], sides[(key, "b")])
            for key, plates in self.ways.roles.exchangers.items()
            if (key, "a") in sides and (key, "b") in sides and plates.ua > 0.0
        ]
        pairs += [(c.node, run.start) for c, run in self.coils() if c.given is None and c.ua > 0.0]
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


def _between(elements: list[int], roles: Roles) -> list[Indices]:
    groups: list[list[int]] = [[]]
    for i in elements:
        if i in roles.of:
            groups.append([])
        else:
            groups[-1].append(i)
    return [np.array(g, np.intp) for g in groups]
