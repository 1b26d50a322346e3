"""One hydraulic balance of a network in a given state: which branches can flow, and what they carry."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from core.hydraulics.laws import Laws, Settings
from core.hydraulics.network import Network
from core.hydraulics.newton import Flows, Reducer, Topology, solve

Array = npt.NDArray[np.float64]
G = 9.80665  # [m/s^2]
START_VELOCITY = 0.3  # [m/s]
MOST_REDUCER_ROUNDS = 12


@dataclass
class Balance:
    """Answer for the whole network.

    Attributes
    ----------
    w : ndarray, shape (n elements,)
        Mass flow from start to end of each element, [kg/s]
    pressure : dict
        Piezometric pressure of the junctions in flowing parts, relative within a part, [Pa]
    passes, converged, residual
        As of `Flows`, summed over the rounds
    reducers : dict
        State of each pressure reducer by item id: "holds", "open" or "shut"
    branch_flow : ndarray
        Mass flow of each branch of the network, [kg/s]
    parts : dict
        Flowing part of each junction; pressures compare only within one
    """

    w: Array
    pressure: dict[int, float]
    passes: int
    converged: bool
    residual: float
    reducers: dict[str, str]
    branch_flow: Array
    parts: dict[int, int] = field(default_factory=dict)


@dataclass
class Balancer:
    """Keeps what can be reused between balances of one network: laws and topology for a set of open ways."""

    net: Network
    kept: dict[tuple[bytes, tuple[tuple[str, str], ...]], tuple[Laws, Topology]] = field(default_factory=dict)
    reducer_states: dict[str, str] = field(default_factory=dict)

    def __post_init__(self) -> None:
        none = len(self.net.elements)
        leader = np.full(none, none, np.intp)
        for body in self.net.bodies:
            leader[body.elements] = body.elements[0] if body.elements else none
        # The element whose density is its body's reference: of each element, and of each body.
        self.leader = leader
        self.leading = np.array([b.elements[0] if b.elements else none for b in self.net.bodies], np.intp)

    def balance(
        self, settings: Settings, rho: Array, mu: Array, column: Array, start: Array | None = None
    ) -> Balance:
        """Balance flows and heads.

        Parameters
        ----------
        settings : Settings
        rho, mu : ndarray, shape (n elements,)
            Density [kg/m^3] and viscosity [Pa s] in each element
        column : ndarray, shape (n elements,)
            Density whose weight stands in each element, [kg/m^3]
        start : ndarray, shape (n branches,) or None
            Flows to start from, [kg/s]

        Returns
        -------
        Balance
        """
        net = self.net
        states = {
            e.key: self.reducer_states.get(e.key, "holds")
            for e in net.elements
            if e.kind == "pressure_reducer" and net.branch_of[e.index] >= 0
        }
        passes = 0
        weight = column - self._reference(column)
        for _ in range(MOST_REDUCER_ROUNDS):
            laws, flows = self._once(settings, rho, mu, weight, start, states)
            passes += flows.passes
            changed = self._review(laws, flows, states)
            if not changed:
                break
            states.update(changed)
        self.reducer_states = states
        branch_flow = np.zeros(len(net.branches))
        branch_flow[laws.active] = flows.w
        w = np.where(net.branch_of >= 0, net.sign_of * np.append(branch_flow, 0.0)[net.branch_of], 0.0)
        for key, state in states.items():
            if state == "holds":
                e = net.of_item[key][0]
                w[e.index] = self._through(laws, flows, key)
                branch_flow[net.branch_of[e.index]] = net.sign_of[e.index] * w[e.index]
        return Balance(
            w,
            flows.pressure,
            passes,
            flows.converged,
            flows.residual,
            states,
            branch_flow,
            self.topology.part,
        )

    def _once(
        self,
        settings: Settings,
        rho: Array,
        mu: Array,
        weight: Array,
        start: Array | None,
        states: dict[str, str],
    ) -> tuple[Laws, Flows]:
        net = self.net
        shut = settings.closed.copy()
        for key, state in states.items():
            if state == "shut":
                shut[net.of_item[key][0].index] = True
        made_for = (shut.tobytes(), tuple(sorted(states.items())))
        if made_for not in self.kept:
            self.kept[made_for] = self._compile(shut, states)
        laws, topology = self.kept[made_for]
        self.topology = topology
        laws.prepare(settings, rho, mu, weight)
        self._heights(topology, states)
        if start is None:
            first = _first(laws)
        else:
            first = start[laws.active]
        return laws, solve(laws, topology, first)

    def _reference(self, rho: Array) -> Array:
        """One reference density per body, so that columns of water cancel before they are summed."""
        ref = np.append(rho, 1000.0)[self.leader]
        self.body_reference = dict(enumerate(np.append(ref, 1000.0)[self.leading].tolist()))
        return np.asarray(ref)

    def _compile(self, shut: npt.NDArray[np.bool_], states: dict[str, str]) -> tuple[Laws, Topology]:
        net = self.net
        active = flowing_branches(net, shut)
        holding = {net.of_item[k][0].index: k for k, s in states.items() if s == "holds"}
        taken, reducers = [], []
        for b in active:
            held = [i for i in net.branches[b].elements if i in holding]
            if held:
                e = net.elements[held[0]]
                reducers.append(Reducer(e.start, e.end, 0.0))
            else:
                taken.append(b)
        laws = Laws(net, np.array(taken, np.intp))
        starts = [net.branches[b].start for b in taken]
        ends = [net.branches[b].end for b in taken]
        present = set(starts) | set(ends) | {r.inlet for r in reducers}
        fixed = {n: 0.0 for n in (*net.mains, *net.airs) if n in present}
        return laws, Topology(starts, ends, fixed, reducers)

    def _heights(self, topology: Topology, states: dict[str, str]) -> None:
        """Piezometric pressures of the fixed points, which follow the reference density."""
        net = self.net
        held_nodes = topology.order[topology.n :]
        outlets = {net.of_item[k][0].end: k for k, s in states.items() if s == "holds"}
        for k, node in enumerate(held_nodes):
            column = self.body_reference[net.body_of[node]] * G * net.height(node)
            if node in net.mains:
                topology.held[k] = float(net.plant.items[net.mains[node]].si.get("pressure") or 0.0) + column
            elif node in outlets:
                topology.held[k] = (
                    float(net.plant.items[outlets[node]].si.get("set_pressure") or 0.0) + column
                )
            elif node in net.airs:
                topology.held[k] = column
            else:
                topology.held[k] = 0.0

    def _through(self, laws: Laws, flows: Flows, key: str) -> float:
        """What a holding reducer passes: all that leaves its outlet."""
        node = self.net.of_item[key][0].end
        total = 0.0
        for k, b in enumerate(laws.active):
            branch = self.net.branches[b]
            total += flows.w[k] * ((branch.start == node) - (branch.end == node))
        for e in self.net.elements:  # a further holding reducer that feeds from here
            if e.kind == "pressure_reducer" and e.start == node and self.reducer_states.get(e.key) == "holds":
                total += self._through(laws, flows, e.key)
        return float(total)

    def _review(self, laws: Laws, flows: Flows, states: dict[str, str]) -> dict[str, str]:
        """Reducers whose state does not fit what was found."""
        net, changed = self.net, {}
        for key, state in states.items():
            e = net.of_item[key][0]
            if e.start not in flows.pressure or e.end not in flows.pressure:
                continue
            ref = self.body_reference[net.body_of[e.start]]
            before = flows.pressure[e.start] - ref * G * net.height(e.start)
            after = flows.pressure[e.end] - ref * G * net.height(e.end)
            wanted = float(net.plant.items[key].si.get("set_pressure") or 0.0)
            if state == "holds":
                if self._through(laws, flows, key) < -1e-7:
                    changed[key] = "shut"
                elif before < wanted - 1.0:
                    changed[key] = "open"
            elif (state == "open" and after > wanted + 1.0) or (
                state == "shut" and after < wanted - 1.0 and before > after
            ):
                changed[key] = "holds"
        return changed


def flowing_branches(net: Network, shut: npt.NDArray[np.bool_]) -> list[int]:
    """Branches that lie on some way round: open, and not a bridge to a dead end.

    Mains and open outlets are joined through the world outside, so a run from the main to a tap counts.
    """
    import networkx as nx

    graph: nx.MultiGraph[int] = nx.MultiGraph()
    rings, open_branches = [], []
    for k, b in enumerate(net.branches):
        if shut[b.elements].any():
            continue
        if b.start == b.end:
            rings.append(k)
            continue
        open_branches.append(k)
        graph.add_edge(b.start, b.end)
    outside = -1
    for n in (*net.mains, *net.airs):
        if n in graph:
            graph.add_edge(n, outside)
    dead = {frozenset(edge) for edge in nx.bridges(graph)} if len(graph) else set()
    alive = [k for k in open_branches if frozenset((net.branches[k].start, net.branches[k].end)) not in dead]
    return sorted(alive + rings)


def _first(laws: Laws) -> Array:
    """Flows to start from, [kg/s]: a quiet velocity in the narrowest tube of each branch, as driven."""
    first = START_VELOCITY * 785.0 * laws.bore * laws.bore
    first[[k for _, k, sign, _, _ in laws.drives if sign < 0.0]] *= -1.0
    return first
