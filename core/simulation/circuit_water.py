"""The water of closed circuits: what it stores, and how long it is on its way, in cells along each reach.

A reach is what of a branch lies between two junctions, or between what heats or cools: all its water lies in
its largest pipe, in cells that water passes one after the other (mixed each for itself: a plug that is cut in
few spreads a little on its way). A source's own water lies on its outlet's side, that of an emitter or of a
side of an exchanger half before and half behind it. What is less than a hundredth of its body's water
lies with the rest of its branch, or of its body. Of bodies that taps draw from only what goes round is here;
what comes to a tap is in `pipe_water`.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from typing import ClassVar

import numpy as np
import numpy.typing as npt

from core.hydraulics.elements import Element
from core.hydraulics.network import Body, Branch, Network
from core.simulation.parts import Heats, Part
from core.simulation.rows import Face
from core.solve.sensing import place_at
from core.solve.settle import Settled
from core.solve.setup import CaseSetup
from core.thermal.flowing import STILL
from core.thermal.heat import heat_table
from core.thermal.roles import Giving, Losing, Roles, Side, Source, Standing, find_roles, lasting_roles
from core.vocabulary import Trait
from core.vocabulary.heat_roles import HeatSource
from core.water.numbers import grouped, on_rounds, reached

Array = npt.NDArray[np.float64]

CELLS, MOST_CELLS = 24, 5  # about so many in a body, and no more in a reach
SMALL = 0.01  # share of its body's water under which a reach has no cell
LEAST = 2e-5  # [m^3] under which a body's water is not followed
OVERLOADED = (
    "its loads may want more than its sources give, so they are cut as in a steady case at every moment"
)
WAITED_FOR = (
    "a circulator there holds a difference between places far from what gives heat, and answers at once"
)


@dataclass
class Reach:
    """Water between two places of a branch, in cells from its first node to its last."""

    elements: list[Element]
    nodes: list[int]  # before, between and behind them
    before: float = 0.0  # in what heats or cools before and behind it, [m^3]
    behind: float = 0.0
    first: int = 0  # its first state
    volumes: tuple[float, ...] = ()  # of its cells, [m^3]

    def __post_init__(self) -> None:
        self.holder = max(self.elements, key=_piped)
        self.forward = self.nodes[self.elements.index(self.holder)] == self.holder.start
        self.piped = sum(map(_piped, self.elements))

    @property
    def volume(self) -> float:
        """All its water, [m^3]."""
        return self.before + self.piped + self.behind

    def cut(self, whole: float) -> None:
        """Cut it into cells: one for what is held at an end, where that is worth one of a whole body's."""
        ends = [end if end >= SMALL * whole else 0.0 for end in (self.before, self.behind)]
        tube = self.volume - sum(ends)
        many = max(1, min(MOST_CELLS, round(CELLS * tube / whole))) if tube > 0.0 else 0
        cells = (ends[0], *[tube / many] * many, ends[1]) if many else ends
        self.volumes = tuple(cell for cell in cells if cell > 0.0)

    @property
    def states(self) -> range:
        """Its states, in its holder's own direction."""
        along = range(self.first, self.first + len(self.volumes))
        return along if self.forward else along[::-1]

    def cell_at(self, share: float) -> int:
        """State at a share of its length."""
        passed = itertools.accumulate(self.volumes)
        at = self.before + share * self.piped if 0.0 < share < 1.0 else share * self.volume
        return self.first + next((k for k, v in enumerate(passed) if at < v), len(self.volumes) - 1)

    def shares(self) -> dict[int, float]:
        """How far along it each of its nodes lies."""
        passed = list(itertools.accumulate(map(_piped, self.elements), initial=0.0))
        whole = passed[-1] or 1.0
        return {**{n: p / whole for n, p in zip(self.nodes, passed, strict=True)}, self.nodes[-1]: 1.0}


def _piped(e: Element) -> float:
    """Water in a tube, [m^3]."""
    return math.pi / 4.0 * e.bore**2 * e.length * e.count


@dataclass
class CircuitWater(Part):
    """The water of one closed body; `lies`: by element the states whose mean its water has.

    So what it weighs does not depend on which way it flows, and flows are found without its temperatures.
    """

    reaches: list[Reach] = field(default_factory=list)
    losing: dict[int, Losing] = field(default_factory=dict)
    lies: dict[int, tuple[int, int]] = field(default_factory=dict)
    taken: frozenset[int] = frozenset()  # nodes whose temperature a vessel tells
    straight: ClassVar[bool] = True

    def moved_to(self, first: int) -> None:
        """Its states begin there."""
        for reach in self.reaches:
            reach.first += first
        self.lies = {i: (a + first, b + first) for i, (a, b) in self.lies.items()}

    def elements(self) -> list[Element]:
        return [reach.holder for reach in self.reaches]

    def prepare(self, setup: CaseSetup, x: Array) -> None:
        roles, fixed = setup.roles, dict[int, float]()
        for reach in self.reaches:
            states, i = reach.states, reach.holder.index
            start, end = float(x[states[0]]), float(x[states[-1]])
            role = roles.of.get(i)
            if isinstance(role, Standing):
                role.given, role.back = end, start
            else:
                for e in reach.elements:
                    roles.of.pop(e.index, None)
                roles.of[i] = Standing(reach.holder.key, end, 0.0, start)
                roles.uncut |= {reach.holder.start, reach.holder.end}
            for node, k in (
                (reach.nodes[0], reach.first),
                (reach.nodes[-1], reach.first + len(reach.volumes) - 1),
            ):
                if node not in self.taken:
                    fixed[node] = max(float(x[k]), fixed.get(node, 0.0))
        roles.fixed.update(fixed)
        roles.stored |= {i: 0.5 * float(x[a] + x[b]) for i, (a, b) in self.lies.items()}

    def faces(self, s: Settled, x: Array) -> Iterator[Face]:
        for reach in self.reaches:
            i = reach.holder.index
            w = float(s.balance.w[i])
            if abs(w) > STILL:
                yield Face({reach.states[-1 if w > 0.0 else 0]: 1.0}, ((i, 1.0),))

    def heat(self, heats: Heats) -> None:
        rows, into = heats.rows, heats.into
        for reach in self.reaches:
            i, states = reach.holder.index, reach.states
            if rows.flows(i):
                w = float(rows.w[i])
                before = rows.content(i, rows.t_in[i])
                for k in states if w > 0.0 else states[::-1]:
                    here = rows.content(i, rows.state(k))
                    into[k] += abs(w) * (before - here)
                    before = here
            for e in reach.elements:
                loses = self.losing.get(e.index)
                if loses is not None:
                    self._lose(heats, e.key, loses, states)

    def _lose(self, heats: Heats, key: str, loses: Losing, cells: Sequence[int]) -> None:
        each, row = loses.ua / len(cells), heats.rows.const(-loses.ua * loses.around)
        for k in cells:
            row[k] += each
            heats.into[k, k] -= each
            heats.into[k, heats.rows.n] += each * loses.around
        heats.meter("loss", key, row)

    def cells(self, net: Network, nodes: Iterable[int], pipe: Element | None) -> set[int]:
        """States that tell of the water at a place: one at the middle of a pipe, those about nodes.

        None of nodes where water comes together of which some is not followed.
        """
        found: set[int] = set()
        told: set[int] = set()
        for reach in self.reaches:
            at = reach.shares()
            if pipe is not None and pipe in reach.elements:
                return {reach.cell_at(0.5 * (at[pipe.start] + at[pipe.end]))}
            found |= {reach.cell_at(at[node]) for node in nodes if node in at}
            told |= {e.index for e in reach.elements}
        touching = {e.index for node in nodes for e in net.touching[node] if net.branch_of[e.index] >= 0}
        return found if len(found) < 2 or touching <= told else set()


def circuit_waters(net: Network, held: Collection[int]) -> tuple[list[CircuitWater], list[str]]:
    """The water of each closed body, laid out; and what is to be said of water that is left out.

    Parameters
    ----------
    net : Network
    held : collection of int
        Elements whose water has states: of vessels, masses, boilers with a differential
    """
    drawn = {net.body_of[e.start] for e in net.airs.values()}
    said: list[str] = []
    roles = find_roles(net, {})
    acting = {i for i, role in roles.of.items() if not isinstance(role, Losing)} | set(held)
    quick = _overloaded(net, roles, held)
    waits = waited_for(net) - quick
    taken = frozenset(n for ways in net.standing.values() for e in ways for n in (e.start, e.end))
    found = []
    for body in net.bodies:
        if body.number in quick | waits:
            continue
        branches = [branch for branch in net.branches if net.body_of[branch.start] == body.number]
        if body.number in drawn:
            branches = _going_round(net, branches)
        reaches = [reach for branch in branches for reach in _reaches(net, branch, acting, held)]
        reaches = _lumped(net, reaches)
        if reaches:
            found.append(_laid_out(net, body, reaches, taken))
            said += _unsaid(net, body, held)
    left = "the heat that its water and separators store, and its time on its way, are left out"
    for bodies, why in ((quick, OVERLOADED), (waits, WAITED_FOR)):
        if bodies:
            systems = ", ".join(sorted({net.bodies[b].system for b in bodies}))
            said.append(f"{systems}: {why}; {left}")
    return found, said


def _unsaid(net: Network, body: Body, held: Collection[int]) -> Iterator[str]:
    """Which items of a body hold water of which nothing is typed."""
    items = {
        e.key: None
        for i in body.elements
        if (e := net.elements[i]).key in net.plant.items and i not in held and net.branch_of[i] >= 0
    }
    kinds = ((key, net.plant.items[key]) for key in items)
    lacking = [
        key
        for key, item in kinds
        if item.kind_info.content == "water_content" and item.si.get("water_content") is None
    ]
    if lacking:
        yield f"water_content of {', '.join(lacking)} is not set: of the water in them none is taken"


def _going_round(net: Network, branches: Sequence[Branch]) -> list[Branch]:
    """Of branches those that a circulator may drive round: in bodies that taps draw from, the others are for
    taps alone."""
    drives = [k for k, b in enumerate(branches) if any(net.elements[i].has(Trait.DRIVES) for i in b.elements)]
    return [branches[k] for k in sorted(on_rounds([(b.start, b.end) for b in branches], drives))]


def _overloaded(net: Network, roles: Roles, held: Collection[int]) -> set[int]:
    """Bodies whose loads are cut as in `solve`: loads of a fixed size beyond what their sources give, and
    no vessel or mass that makes up for it. Their water stores nothing, for it would cool first."""
    pairs = [(net.body_of[p.a.start], net.body_of[p.b.start]) for p in roles.exchangers.values()]
    group = grouped(range(len(net.bodies)), pairs)
    wanted: dict[int, float] = {}
    given: dict[int, float] = {}
    plain: set[int] = set()
    hottest = max((r.set_at or 0.0 for r in roles.of.values() if isinstance(r, Source)), default=0.0)
    for i, role in roles.of.items():
        g = group[net.body_of[net.elements[i].start]]
        if isinstance(role, Source):
            most = role.capacity
            given[g] = given.get(g, 0.0) + (math.inf if most is None else most)
        elif isinstance(role, Giving) and role.emitter.ua is None:
            wanted[g] = wanted.get(g, 0.0) + (role.wanted or 0.0)
            plain.add(g)
        elif isinstance(role, Giving):
            could = (role.emitter.ua or 0.0) * max(0.0, hottest - role.room)
            wanted[g] = wanted.get(g, 0.0) + (min(could, role.wanted or 0.0) if role.capped else could)
    plain -= {group[net.body_of[net.elements[i].start]] for i in held}
    return {b for b, g in group.items() if g in plain and g in given and wanted[g] > given[g]}


def waited_for(net: Network) -> set[int]:
    """Bodies in which a circulator holds a difference that water has to bring to where it senses.

    Such circulators are slow enough in truth to wait for that; here they answer at once, and would hunt.
    """
    gives = [
        net.elements[i] for i, role in find_roles(net, {}).of.items() if isinstance(role, (Giving, Side))
    ]
    prompt = {node for e in gives for node in (e.start, e.end)}
    found = set()
    for item in net.plant.with_trait(Trait.DRIVES):
        if item.si.get("control") != "delta_t" or item.id not in net.of_item:
            continue
        senses = item.si.get("senses") or ()
        nodes = {node for place in senses for node in place_at(net, place).nodes}
        if not nodes or not nodes <= prompt:
            found.add(net.body_of[net.of_item[item.id][0].start])
    return found


def _reaches(net: Network, branch: Branch, acting: Collection[int], held: Collection[int]) -> Iterator[Reach]:
    """The reaches of a branch, with their share of the water of what heats or cools beside them."""
    node, elements, nodes = branch.start, list[Element](), [branch.start]
    before: Element | None = None
    for i in [*branch.elements, None]:
        e = None if i is None else net.elements[i]
        if e is None or e.index in acting:
            if elements:
                ends = _beside(net, before, nodes[0], held), _beside(net, e, node, held)
                yield Reach(elements, nodes, *ends)
            before, elements = e, []
        else:
            elements.append(e)
        if e is not None:
            node = e.end if e.start == node else e.start
            nodes = [*nodes, node] if elements else [node]


def _beside(net: Network, e: Element | None, node: int, held: Collection[int]) -> float:
    """What an element that heats or cools holds on the side of a node, [m^3]."""
    item = None if e is None else net.plant.items.get(e.key)
    if e is None or item is None or e.index in held or item.kind_info.content != "water_content":
        return 0.0
    holds = float(item.si.get("water_content") or 0.0)
    if isinstance(item.kind_info.heat, HeatSource):
        return holds if node == e.end else 0.0
    return 0.5 * holds


def _lumped(net: Network, reaches: list[Reach]) -> list[Reach]:
    """Those worth cells of their own, with what the others hold."""
    whole = sum(reach.volume for reach in reaches)
    if whole < LEAST:
        return []
    kept = [reach for reach in reaches if reach.volume >= SMALL * whole]
    for reach in reaches:
        if reach.volume < SMALL * whole:
            branch = net.branch_of[reach.holder.index]
            beside = [one for one in kept if net.branch_of[one.holder.index] == branch] or kept
            for one in beside:
                one.piped += reach.volume / len(beside)
    for reach in kept:
        reach.cut(whole)
    return kept


def _laid_out(net: Network, body: Body, reaches: list[Reach], taken: frozenset[int]) -> CircuitWater:
    indoor, table = net.plant.site_si.indoor, heat_table(body.fluid)
    losing = lasting_roles(net).losing
    start: list[float] = []
    capacity: list[float] = []
    for reach in reaches:
        reach.first = len(start)
        around = _around(net, reach, indoor)
        start += [around] * len(reach.volumes)
        stores = float(body.fluid.density(around)) * table.capacity(around)
        capacity += [volume * stores for volume in reach.volumes]
    lies = _where(net, body, reaches)
    return CircuitWater(f"water of {body.system}", 0, start, capacity, reaches, losing, lies, taken)


def _where(net: Network, body: Body, reaches: Sequence[Reach]) -> dict[int, tuple[int, int]]:
    """By element the states about its ends: those of its reach, else of one beside it."""
    at = {node: reach.cell_at(share) for reach in reaches for node, share in reach.shares().items()}

    def beside(node: int) -> list[int]:
        others = [e.end if e.start == node else e.start for e in net.touching[node]]
        for other in others:
            at.setdefault(other, at[node])
        return others

    reached(list(at), beside)
    lies = {}
    for i in body.elements:
        e = net.elements[i]
        if e.start in at and e.end in at:
            lies[i] = at[e.start], at[e.end]
    for reach in reaches:
        shares = reach.shares()
        for e in reach.elements:
            k = reach.cell_at(0.5 * (shares[e.start] + shares[e.end]))
            lies[e.index] = k, k
    return lies


def _around(net: Network, reach: Reach, indoor: float) -> float:
    """What is around a reach, by its water, [K]."""
    total = weight = 0.0
    for e in reach.elements:
        pipe = net.plant.pipes.get(e.key) if e.is_pipe else None
        around = None if pipe is None else pipe.si.around
        held = _piped(e) + 1e-12
        total, weight = total + held * (indoor if around is None else around), weight + held
    return total / weight
