"""One hydraulic balance of a network in a given state: which branches can flow, and what they carry."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
import numpy.typing as npt

from core.hydraulics.circulators import G
from core.hydraulics.laws import Laws, Settings
from core.hydraulics.network import Network
from core.hydraulics.newton import NOWHERE, answers, solve
from core.hydraulics.topology import Topology
from core.vocabulary import Trait
from core.water.numbers import on_some_round

Array = npt.NDArray[np.float64]
START_VELOCITY = 0.3  # [m/s]


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
        As of `Flows`
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
    branch_flow: Array
    parts: dict[int, int] = field(default_factory=dict)


@dataclass
class Balancer:
    """Keeps what can be reused between balances of one network: laws and topology for a set of open ways."""

    net: Network
    kept: dict[bytes, tuple[Laws, Topology]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        none = len(self.net.elements)
        leader = np.full(none, none, np.intp)
        for body in self.net.bodies:
            leader[body.elements] = body.elements[0] if body.elements else none
        self.last: tuple[Laws, Topology]
        self.slope: Array
        self.reducer_at = {e.end: e.key for e in self.net.elements if e.has(Trait.HOLDS_OUTLET_PRESSURE)}
        # The element whose density is its body's reference: of each element, and of each body.
        self.leader = leader
        self.leading = np.array([b.elements[0] if b.elements else none for b in self.net.bodies], np.intp)

    @cached_property
    def every_law(self) -> Laws:
        """The laws of all branches, whatever is open."""
        return Laws(self.net, np.arange(len(self.net.branches)))

    def balance(
        self,
        settings: Settings,
        rho: Array,
        mu: Array,
        column: Array,
        start: Array | None = None,
        friction: Array | None = None,
        pressure: Mapping[int, float] = NOWHERE,
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
        friction : ndarray, shape (n elements,) or None
            By how much each tube's friction is scaled; 1 where None
        pressure : mapping
            Piezometric pressures of junctions to start from, [Pa]

        Returns
        -------
        Balance
        """
        net = self.net
        weight = column - self._reference(column)
        made_for = settings.closed.tobytes()
        if made_for not in self.kept:
            self.kept[made_for] = self._compile(settings.closed)
        laws, topology = self.last = self.kept[made_for]
        laws.prepare(settings, rho, mu, weight, friction)
        self._levels(topology)
        flows = solve(laws, topology, first_flows(laws) if start is None else start[laws.active], pressure)
        self.slope = flows.slope
        branch_flow = np.zeros(len(net.branches))
        branch_flow[laws.active] = flows.w
        w = np.where(net.branch_of >= 0, net.sign_of * np.append(branch_flow, 0.0)[net.branch_of], 0.0)
        return Balance(
            w, flows.pressure, flows.passes, flows.converged, flows.residual, branch_flow, topology.part
        )

    def answers(self, balance: Balance, losses: Array, bounds: Array) -> tuple[Array, Array]:
        """How the flows of the last balance answer to small changes.

        Parameters
        ----------
        balance : Balance
            The last one made
        losses : ndarray, shape (n elements, n changes)
            Rise of each element's loss from start to end at the same flow, [Pa]
        bounds : ndarray, shape (n elements, n changes)
            Rise of the most flow it lets pass, [kg/s]

        Returns
        -------
        branches, elements : ndarray, shape (n branches or n elements, n changes)
            Change of mass flow, [kg/s]
        """
        net, (laws, topology) = self.net, self.last
        some = np.flatnonzero((net.branch_of >= 0) & (losses.any(axis=1) | bounds.any(axis=1)))
        by_branch = np.zeros((2, len(net.branches), losses.shape[1]))
        sign = net.sign_of[some][:, None]
        np.add.at(by_branch[0], net.branch_of[some], sign * losses[some])
        np.add.at(by_branch[1], net.branch_of[some], sign * bounds[some])
        active = laws.active
        change = np.zeros_like(by_branch[0])
        if len(active):
            flow = balance.branch_flow[active]
            change[active] = answers(
                laws, topology, flow, self.slope, by_branch[0][active], by_branch[1][active]
            )
        each = net.sign_of[:, None] * np.vstack([change, np.zeros((1, change.shape[1]))])[net.branch_of]
        return change, np.where((net.branch_of >= 0)[:, None], each, 0.0)

    def _reference(self, rho: Array) -> Array:
        """One reference density per body, so that columns of water cancel before they are summed."""
        ref = np.append(rho, 1000.0)[self.leader]
        self.body_reference = dict(enumerate(np.append(ref, 1000.0)[self.leading].tolist()))
        return np.asarray(ref)

    def _compile(self, shut: npt.NDArray[np.bool_]) -> tuple[Laws, Topology]:
        net = self.net
        active = flowing_branches(net, shut)
        laws = Laws(net, np.array(active, np.intp))
        branches = [net.branches[b] for b in active]
        reducers = []
        for k, branch in enumerate(branches):
            e = net.elements[branch.elements[0]]
            if e.has(Trait.HOLDS_OUTLET_PRESSURE):  # always a branch of its own
                reducers.append((k, e.end))
        starts, ends = [b.start for b in branches], [b.end for b in branches]
        return laws, Topology(starts, ends, [*net.mains, *net.airs], reducers)

    def _levels(self, topology: Topology) -> None:
        """Piezometric pressures of the fixed points and of reducers' outlets, which follow the density."""
        net = self.net

        def column(node: int) -> float:
            return float(self.body_reference[net.body_of[node]] * G * net.height(node))

        for k, node in enumerate(topology.order[topology.n :]):
            if node in net.mains:
                stated = float(net.plant.items[net.mains[node]].si.get("pressure") or 0.0)
                topology.held[k] = stated + column(node)
            else:
                topology.held[k] = column(node) if node in net.airs else 0.0
        for k, place in enumerate(topology.outlets):
            node = topology.order[place]
            stated = float(net.plant.items[self.reducer_at[node]].si.get("set_pressure") or 0.0)
            topology.set_at[k] = stated + column(node)


def flowing_branches(net: Network, shut: npt.NDArray[np.bool_]) -> list[int]:
    """Branches that lie on some way round: open, and not a bridge to a dead end.

    Mains and open outlets are joined through the world outside, so a run from the main to a tap counts.
    """
    barred = set(net.branch_of[shut].tolist())
    ways = {k: (b.start, b.end) for k, b in enumerate(net.branches) if k not in barred}
    alive = on_some_round(tuple(ways.values()), (*net.mains, *net.airs))
    numbers = list(ways)
    return [numbers[k] for k in alive]


def first_flows(laws: Laws) -> Array:
    """Flows to start from, [kg/s]: a quiet velocity in the narrowest tube of each branch, as driven."""
    first = START_VELOCITY * 785.0 * laws.bore * laws.bore
    first[[k for _, k, sign, _, _ in laws.drives if sign < 0.0]] *= -1.0
    return first
