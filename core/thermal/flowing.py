"""What moves in one pass of the temperatures: runs in their flow direction, their steps, what mixes where.

No temperatures are found here; `core.thermal.temperatures` does that on top of it. Water
that flows but is nowhere heated stands at the site's indoor temperature, or at the one `around` its pipes
name.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from core.hydraulics.network import Branch, Network
from core.thermal.heat import HeatTable, heat_table
from core.thermal.roles import Coil, Giving, Role, Roles, Side, Source, Tap, acts
from core.water.numbers import grouped

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
    load : dict
        By element of an emitter with a typed load: "full" it takes the load, "surface" what its surface can,
        "least" what cools the water to its least temperature, "none" nothing from water colder than that
    cut : dict
        Groups whose plain loads are cut: by the source that stands just at its set point, the share that they
        get; 0 where even that is too much
    given_share : dict
        By element of a plain load or source: the share of its group's plain loads that is given
    enclosed : dict
        By group whose share goes round in circles: what encloses it, and the share that is tried
    room : dict
        Temperature of each solved room, by item id, [K]
    not_held : dict
        By room or store that a stat holds: whether the water brings too little to hold it
    rounds, moved, settled
        Linear balances made; furthest change of temperature in the last, [K]; whether all came to rest
    """

    t_in: Array
    t_out: Array
    node: dict[int, float] = field(default_factory=dict)
    source: dict[int, str] = field(default_factory=dict)
    load: dict[int, str] = field(default_factory=dict)
    cut: dict[int, float] = field(default_factory=dict)
    given_share: dict[int, float] = field(default_factory=dict)
    enclosed: dict[int, tuple[float, float, float]] = field(default_factory=dict)
    room: dict[str, float] = field(default_factory=dict)
    not_held: dict[str, bool] = field(default_factory=dict)
    rounds: int = 0
    moved: float = 0.0
    settled: bool = False

    def copy(self) -> ThermalState:
        """The same, to be changed without this one."""
        return ThermalState(
            self.t_in.copy(),
            self.t_out.copy(),
            dict(self.node),
            dict(self.source),
            dict(self.load),
            dict(self.cut),
            dict(self.given_share),
            dict(self.enclosed),
            dict(self.room),
            dict(self.not_held),
        )


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
        By node: the group of waters that heat one another, one connected flow, or several joined by
        exchangers and coils with both sides flowing
    fed : set of int
        Nodes of connected flows that a main or a tank of given temperature feeds: what is taken there is
        made up for
    idle : dict
        By node that water passes in which nothing heats or cools: the temperature it stands at, [K]
    governed : dict
        By group with running sources and plain loads that may be cut: those sources, by element
    """

    def __init__(self, ways: Waterways, sense: npt.NDArray[np.int8]) -> None:
        self.ways = ways
        self.branches = np.flatnonzero(sense)
        self.sense = sense[self.branches].astype(float)
        branches = ways.net.branches
        self.runs = [ways.run(branches[k], sense[k] > 0) for k in self.branches.tolist()]
        steps = [(i, role, run) for run in self.runs for i, role in run.steps]
        self.sources = {i: (role, run) for i, role, run in steps if isinstance(role, Source)}
        self.loads = {i: (role, run) for i, role, run in steps if isinstance(role, Giving)}
        self.coils = [(role, run) for _, role, run in steps if isinstance(role, Coil)]
        self.tapped = {run.start for _, role, run in steps if isinstance(role, Tap)}
        self.plain = {i: (role, run) for i, (role, run) in self.loads.items() if role.emitter.ua is None}
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
        self._group()

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
        # A source that stopped for a while, or whose water has no plain load left, decides nothing any more.
        members = {i for group in self.governed.values() for i in group}
        decides = {i for i in members if i in live and (live[i] == "limit" or state.cut.get(i) == 0.0)}
        state.cut = {i: f for i, f in state.cut.items() if i in decides}

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
        regroup = brought.keys() != self.brought.keys()
        self.brought = brought
        if regroup:
            self._group()

    def table_at(self, element: int) -> HeatTable:
        """Heat table of the water in an element."""
        net = self.ways.net
        return self.ways.tables[net.body_of[net.elements[element].start]]

    def rate(self, element: int) -> float:
        """Capacity rate of an element's flow at its mean heat capacity, [W/K]."""
        return abs(self.w[element]) * self.table_at(element).mean_capacity(
            self.t_in[element], self.t_out[element]
        )

    def carried(self, element: int) -> float:
        """By how much warmer water leaves for each kelvin it comes warmer, its heat given or taken alike."""
        table = self.table_at(element)
        return table.capacity(self.t_in[element]) / table.capacity(self.t_out[element])

    def cut_group(self, i: int) -> int | None:
        """Group whose share a plain load gets; None where it takes what it wants."""
        run = self.plain[i][1]
        group = self.group[run.start]
        return group if group in self.governed and run.start not in self.fed else None

    def _find_idle(self, part: dict[int, int], makes_up: set[int]) -> None:
        """Flowing water in which nothing heats or cools.

        It stands where the mixing valve that shut let it go.
        """
        roles = self.ways.roles
        stands = {part[node] for node in roles.stands if node in part}
        acted = makes_up | {
            part[run.start]
            for run in self.runs
            for i, role in run.steps
            if acts(role) and not (i in self.plain and part[run.start] in stands)
        }
        acted |= {part[n] for n in roles.stores if n in part}
        acted |= {part[coil.node] for coil in roles.coils.values() if coil.node in part}
        rest: dict[int, float] = {}
        for node, t in (roles.mixed | roles.stands).items():
            if node in part:
                rest[part[node]] = min(t, rest.get(part[node], t))
        self.idle = {n: rest.get(part[n], self.ways.indoor) for n in self.row if part[n] not in acted}

    def _made_up(self) -> set[int]:
        """Groups in which a state in time makes up for what is taken."""
        uncut, elements = self.ways.roles.uncut, self.ways.net.elements
        found = {self.group[n] for n in uncut if n in self.group}
        for run in self.runs if uncut else ():
            if any(elements[i].start in uncut or elements[i].end in uncut for i, _ in run.steps):
                found.add(self.group[run.start])
        return found

    def _group(self) -> None:
        """Find what flows together, what joins to it, and which of it may have its loads cut."""
        part = grouped(self.row, ((run.start, run.end) for run in self.runs))
        makes_up = {part[n] for n in (*self.brought, *self.tapped)}
        self.fed = {n for n in self.row if part[n] in makes_up}
        self._find_idle(part, makes_up)
        sides = self.sides
        pairs = [
            (sides[(key, "a")], sides[(key, "b")])
            for key, plates in self.ways.roles.exchangers.items()
            if (key, "a") in sides and (key, "b") in sides and plates.ua > 0.0
        ]
        pairs += [(c.node, run.start) for c, run in self.coils if c.given is None and c.ua > 0.0]
        self.group = grouped(self.row, (*part.items(), *pairs))
        wanting = {self.group[run.start] for _, run in self.plain.values() if run.start not in self.fed}
        wanting -= self._made_up()
        throttled = [run.start for role, run in self.sources.values() if role.throttles and role.on]
        wanting -= {self.group[start] for start in throttled}
        self.governed: dict[int, list[int]] = {}
        for i, (role, run) in self.sources.items():
            group = self.group[run.start]
            if role.on and role.set_at is not None and group in wanting:
                self.governed.setdefault(group, []).append(i)
