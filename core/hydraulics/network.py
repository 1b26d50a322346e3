"""From a plant to its flow network: bodies, dead ends, and unbroken runs (branches) between junctions.

Made once per plant; what is open, shut or running belongs to the case and is not here.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Hashable
from dataclasses import dataclass, field
from functools import cached_property
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from core.hydraulics.elements import COIL, USE, Columns, Drawing, Element, collect
from core.media.fluids import Fluid, fluid_of
from core.plant.model import Item, Pipe, Plant
from core.vocabulary import Trait
from core.water.numbers import connected, without_dead_ends

Array = npt.NDArray[np.float64]
Indices = npt.NDArray[np.intp]


@dataclass
class Body:
    """Water that hangs together: one fluid, one pressure level."""

    number: int
    nodes: list[int]
    elements: list[int]
    items: list[str]
    system: str
    use: str
    fluid: Fluid
    mixed: tuple[str, ...] = ()  # further systems that meet here, and should not
    unsolved: tuple[str, ...] = ()  # items of a kind the solver does not know

    @property
    def anchor(self) -> str:
        """An id of this body to hang a note on."""
        return min(self.items, default="")


@dataclass
class Branch:
    """An unbroken run of elements between two junctions; sign -1 where an element points against the run."""

    start: int
    end: int
    elements: list[int]
    signs: list[int]


@dataclass(eq=False)
class Network:
    """The flow network of a plant.

    Attributes
    ----------
    elements : list of Element
        All ways; `loose` marks the dead ends, in which nothing can ever flow
    branches : list of Branch
        The runs that are left, with their junctions
    bodies, body_of : list of Body, list of int
        The bodies and the body of each node
    parted : dict
        Elements of fill valves and backflow preventers that divide two bodies, by item id
    """

    plant: Plant
    drawing: Drawing
    elements: list[Element]
    bodies: list[Body]
    body_of: list[int]
    branches: list[Branch]
    parted: dict[str, Element]
    mains: dict[int, str]
    airs: dict[int, Element]
    piped: set[tuple[str, str]]
    of_item: dict[str, list[Element]] = field(default_factory=dict)
    standing: dict[str, list[Element]] = field(default_factory=dict)  # ways of tanks, separators, buffers
    branch_of: Indices = field(default_factory=lambda: np.zeros(0, np.intp))
    sign_of: Array = field(default_factory=lambda: np.zeros(0))
    fluids: list[Fluid] = field(default_factory=list)
    fluid_groups: list[tuple[Fluid, Indices]] = field(default_factory=list)
    # Branches that may be driven, by what is off and what drives: found once.
    called: dict[Hashable, set[int]] = field(default_factory=dict)

    @cached_property
    def touching(self) -> dict[int, list[Element]]:
        """Elements at each node, without those that divide two bodies."""
        apart = {id(e) for e in self.parted.values()}
        found: dict[int, list[Element]] = {n: [] for n in range(len(self.drawing.heights))}
        for e in self.elements:
            if id(e) not in apart:
                found[e.start].append(e)
                found[e.end].append(e)
        return found

    @cached_property
    def level(self) -> frozenset[int]:
        """Bodies all of whose nodes lie at one height, by number."""
        heights = [{round(self.height(n), 6) for n in b.nodes} for b in self.bodies]
        return frozenset(b.number for b, found in zip(self.bodies, heights, strict=True) if len(found) == 1)

    @cached_property
    def columns(self) -> Columns:
        """Figures of all elements in arrays."""
        return Columns(self.elements)

    def node(self, item: str, port: str) -> int:
        """Number of the node at a port or inner point of an item."""
        return self.drawing.nodes[(item, port)]

    def height(self, node: int) -> float:
        """Height of a node above the datum, [m]."""
        return self.drawing.heights[node]


def build(plant: Plant) -> Network:
    """The flow network of all that is not marked to be removed."""
    items = [i for i in plant.items.values() if i.stage != "to_remove"]
    here = {i.id for i in items}
    pipes = [
        p
        for p in plant.pipes.values()
        if p.stage != "to_remove" and (p.start.item in here or p.end.item in here)
    ]
    drawing = collect(items, pipes)
    system_at = _systems_at_ports(pipes)
    parted = {
        e.key: e
        for e in drawing.elements
        if e.part == "" and _divides(plant, e, system_at, plant.items.get(e.key))
    }
    bodies, body_of = _bodies(plant, drawing, items, pipes, parted)
    mains = {drawing.nodes[(i.id, "at")]: i.id for i in items if i.has(Trait.BRINGS_WATER)}
    fed = {body_of[n] for n in mains}
    airs = {e.end: e for e in drawing.elements if e.to_air and (e.part != USE or body_of[e.start] in fed)}
    piped = {(ref.item, ref.port) for p in pipes for ref in (p.start, p.end)}
    net = Network(plant, drawing, drawing.elements, bodies, body_of, [], parted, mains, airs, piped)
    of_item: dict[str, list[Element]] = defaultdict(list)
    for e in net.elements:
        of_item[e.key].append(e)
    net.of_item = dict(of_item)
    net.standing = {
        i.id: [e for e in net.of_item[i.id] if e.part != COIL] for i in items if i.has(Trait.WATER_STANDS)
    }
    net.branches = _contract(net)
    _index(net)
    return net


def _systems_at_ports(pipes: list[Pipe]) -> dict[tuple[str, str], str]:
    return {(ref.item, ref.port): p.system for p in pipes for ref in (p.start, p.end)}


def _divides(plant: Plant, e: Element, system_at: dict[tuple[str, str], str], item: Item | None) -> bool:
    """Whether an element parts two bodies.

    A fill valve always does. A backflow preventer does unless both its sides are potable or of one
    system: then the water goes on through it.
    """
    if item is None or not item.has(Trait.PARTS_BODIES):
        return False
    if item.has(Trait.FILLS):
        return True
    names = [system_at.get((item.id, port)) for port in ("in", "out")]
    if None in names or names[0] == names[1]:
        return False
    return not all(plant.systems[n].use == "potable" for n in names if n is not None and n in plant.systems)


def _bodies(
    plant: Plant, drawing: Drawing, items: list[Item], pipes: list[Pipe], parted: dict[str, Element]
) -> tuple[list[Body], list[int]]:
    apart = {id(e) for e in parted.values()}
    joined = [(e.start, e.end) for e in drawing.elements if id(e) not in apart]
    for item in items:
        if item.kind_info.waterway is None:  # unknown inside: keep its ports together
            joined += pairwise([drawing.nodes[(item.id, port)] for port in item.ports])
    parts = connected(tuple(joined), len(drawing.heights))
    body_of = [0] * len(drawing.heights)
    for number, nodes in enumerate(parts):
        for n in nodes:
            body_of[n] = number
    elements: list[list[int]] = [[] for _ in parts]
    for e in drawing.elements:
        if id(e) not in apart:
            elements[body_of[e.start]].append(e.index)
    systems: list[list[str]] = [[] for _ in parts]
    ends = {e.key: e for e in drawing.elements if e.is_pipe}
    for p in pipes:
        found = systems[body_of[ends[p.id].start]]
        if p.system not in found:
            found.append(p.system)
    members: list[list[str]] = [[] for _ in parts]
    unsolved: list[list[str]] = [[] for _ in parts]
    for item in items:
        for number in dict.fromkeys(body_of[drawing.nodes[(item.id, port)]] for port in item.ports):
            members[number].append(item.id)
            if item.kind_info.waterway is None:
                unsolved[number].append(item.id)
    bodies = []
    order = {name: k for k, name in enumerate(plant.systems)}
    for number, nodes in enumerate(parts):
        names = sorted(systems[number], key=lambda name: order.get(name, len(order))) or [""]
        system = plant.systems.get(names[0])
        fluid = fluid_of(system.si.fluid) if system else fluid_of({"kind": "water"})
        use = system.use if system else "closed"
        bodies.append(
            Body(
                number,
                list(nodes),
                elements[number],
                members[number],
                names[0],
                use,
                fluid,
                tuple(names[1:]),
                tuple(unsolved[number]),
            )
        )
    return bodies, body_of


def _contract(net: Network) -> list[Branch]:
    """Strip the dead ends, then join what lies in line into branches."""
    apart = {id(e) for e in net.parted.values()}
    touching: dict[int, list[Element]] = defaultdict(list)
    barred = {b.number for b in net.bodies if b.unsolved}
    ways = [e for e in net.elements if id(e) not in apart and net.body_of[e.start] not in barred]
    ends = [(e.start, e.end) for e in ways]
    for k in without_dead_ends(ends, {*net.mains, *net.airs}):
        touching[ways[k].start].append(ways[k])
        touching[ways[k].end].append(ways[k])
    kept = set(net.mains) | set(net.airs)
    for e in net.elements:
        if e.has(Trait.HOLDS_OUTLET_PRESSURE):
            kept |= {e.start, e.end}
        elif e.has(Trait.WATER_STANDS) and e.part != COIL:  # mixed inside: a junction even between two pipes
            kept.add(e.end)
    live = {n: es for n, es in touching.items() if es}
    junctions = {n for n, es in live.items() if len(es) != 2 or n in kept}
    used: set[int] = set()
    branches = []
    for n in (*sorted(junctions), *sorted(live)):  # the second time for rings without any junction
        for e in live[n]:
            if e.index not in used:
                junctions.add(n)
                branches.append(_run(n, e, live, junctions, used))
    return branches


def _run(
    start: int, first: Element, live: dict[int, list[Element]], junctions: set[int], used: set[int]
) -> Branch:
    elements, signs = [], []
    n, e = start, first
    while True:
        used.add(e.index)
        forward = e.start == n
        elements.append(e.index)
        signs.append(1 if forward else -1)
        n = e.end if forward else e.start
        if n in junctions:
            return Branch(start, n, elements, signs)
        a, b = live[n]
        e = b if a is e else a


def _index(net: Network) -> None:
    """Arrays that say for each element its branch (-1 for none), its sign there, and its fluid."""
    net.branch_of = np.full(len(net.elements), -1, np.intp)
    net.sign_of = np.zeros(len(net.elements))
    for k, b in enumerate(net.branches):
        net.branch_of[b.elements] = k
        net.sign_of[b.elements] = b.signs
    fluids: dict[int, tuple[Fluid, list[int]]] = {}
    for body in net.bodies:
        fluids.setdefault(id(body.fluid), (body.fluid, []))[1].extend(body.elements)
    net.fluid_groups = [(f, np.array(sorted(es), np.intp)) for f, es in fluids.values() if es]
    net.fluids = [f for f, _ in net.fluid_groups]
