"""The critical path of a circulator: the way round from its outlet to its inlet that loses most.

Ways follow the water of a solved case; each pipe and item on them is taken at the flow the circuits behind
it need, whatever flows there today. A circuit's own balance valve counts wide open. Where ways run side by
side, valves make up the difference: the one that loses most decides. Nothing is solved here.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from core.hydraulics.curves import Curve, pchip_slopes
from core.hydraulics.elements import Element
from core.hydraulics.network import Network, build
from core.plant.model import PortRef
from core.sizing.context import Context, G, memo, symbol_of
from core.sizing.demand import flows
from core.sizing.demand.demands import Demand, demands
from core.sizing.demand.losses import (
    GRAVITY_LEAF,
    Water,
    pipe_loss,
    present_tube,
    split_loops,
    water_at,
    water_temperature,
    way_loss,
)
from core.sizing.demand.tracing import Trace
from core.solve import Solution
from core.vocabulary import Trait
from core.water.no_flow import NO_FLOW
from core.water.numbers import costliest_way
from core.working import Working

SCALES = (
    0.0,
    0.25,
    0.5,
    0.75,
    1.0,
    1.25,
    1.6,
    2.0,
    2.6,
    4.0,
    8.0,
)  # of the flow needed, where the path is recomputed
OWN = 0.99  # share of a circuit's water from which a valve is that circuit's own


@dataclass(frozen=True)
class Step:
    """One pipe, or one way through an item, along the path: the water in it and how far a valve is open."""

    element: Element
    water: Water
    opened: float = 1.0
    share: float = 1.0


@dataclass(frozen=True)
class CriticalPath:
    """The way that loses most.

    Attributes
    ----------
    steps : tuple of Step
        From the circulator's outlet round to its inlet
    ids : tuple of str
        Pipes and items passed, in that order, each once
    case : str
        Case whose circuits and directions were taken
    flow, head : Working
        What the circulator must move [m^3/s] against what head [m]
    system : Curve
        Head of this path by the circulator's flow, all flows on it growing alike
    today : Curve or None
        The same with the valves as they stand, where the circulator runs in that case
    """

    steps: tuple[Step, ...]
    ids: tuple[str, ...]
    case: str
    flow: Working
    head: Working
    system: Curve
    today: Curve | None = None


class Ways:
    """The ways of one case as steps between nodes, at the flows needed."""

    def __init__(
        self,
        context: Context,
        net: Network,
        case: str,
        trace: Trace | None = None,
        solution: Solution | None = None,
    ) -> None:
        self.context = context
        self.net = net
        self.case = case
        self.trace = trace or demands(context).trace(case)
        self.solution = solution or demands(context).solution(case)
        self.ports = {n: PortRef(*at) for at, n in net.drawing.nodes.items()}
        self.merged = self._merged()
        self.leaving: dict[int, list[tuple[int, Element]]] = {}
        self._costs: dict[int, float] = {}
        self._waters: dict[str, Water] = {}
        for e in net.elements:
            self._add(e)

    def _merged(self) -> dict[int, int]:
        """Nodes of separators and buffers that count as one: circuits on either side close there."""
        found = {}
        for (item, port), node in self.net.drawing.nodes.items():
            kept = self.context.plant.items.get(item)
            if kept is not None and kept.has(Trait.PARTS_FLOWS) and port in ("upper", "lower"):
                found[node] = self.net.node(item, "upper")
        return found

    def merged_item(self, item: str) -> bool:
        """Whether an item counts as one place, without a way through it."""
        return (item, "upper") in self.net.drawing.nodes

    def place(self, node: int) -> int:
        """The node that stands for this one."""
        return self.merged.get(node, node)

    def _add(self, e: Element) -> None:
        sense = self._sense(e)
        if sense:
            start, end = (e.start, e.end) if sense > 0 else (e.end, e.start)
            self.leaving.setdefault(self.place(start), []).append((self.place(end), e))

    def _sense(self, e: Element) -> int:
        """1 along the element, -1 against it, 0 where no water passes in this case."""
        if e.is_pipe:
            found = self.solution.pipes.get(e.key)
            flow = 0.0 if found is None else found.flow_m3_s
            return 0 if abs(flow) <= NO_FLOW else 1 if flow > 0.0 else -1
        if self.place(e.start) == self.place(e.end):
            return 0
        enters, leaves = self._through(e.start), self._through(e.end)
        if enters and leaves:
            return 0 if enters == leaves else -enters
        return leaves or -enters

    def _pipes_at(self, node: int) -> list[str]:
        at = self.ports.get(node)
        return list(self.context.plant.pipes_at.get(at, ())) if at else []

    def _through(self, node: int) -> int:
        """-1 where pipes bring water to a port, 1 where they take it, 0 inside an item or at rest."""
        for pipe in self._pipes_at(node):
            if pipe in self.trace.flow:
                port = self.ports[node]
                return -1 if self.trace.sink[pipe] == port else 1
        return 0

    # Flows and losses --------------------------------------------------------------------------------------

    def pipe_of(self, e: Element) -> str:
        """The pipe whose water an element carries: its own, or that at its outer port."""
        if e.is_pipe:
            return e.key
        for node in (e.start, e.end):
            for pipe in self._pipes_at(node):
                if pipe in self.trace.flow:
                    return pipe
        siblings = [x for x in self.net.of_item[e.key] if x is not e]
        return next(
            (self.pipe_of(x) for x in siblings if self._pipes_at(x.start) or self._pipes_at(x.end)), ""
        )

    def water(self, name: str) -> Water:
        """Water of a pipe at the flow taken in it."""
        if name not in self._waters:
            self._waters[name] = self._water(name)
        return self._waters[name]

    def _water(self, name: str) -> Water:
        """Water of a pipe at the flow needed in it."""
        pipe = self.context.plant.pipes[name]
        flow, _, _ = flows.together(self.context, name, self.case)
        if flow is None:
            words = f"flow of {name} in {self.case}"
            flow = Working("Q", words, self.trace.flow.get(name, 0.0), "flow", origin="solved")
        temperature = water_temperature(self.context, pipe, self.case)
        return water_at(self.context, pipe.system, temperature, replace(flow, symbol="Q"))

    def step(self, e: Element) -> Step:
        """An element at the flow needed in it."""
        water = self.water(self.pipe_of(e))
        if e.part.startswith("loop"):
            loops = [x for x in self.net.of_item[e.key] if x.part.startswith("loop")]
            shares = split_loops(loops, water.q, water.rho, float(water.viscosity.value))
            return Step(e, water, 1.0, shares[loops.index(e)])
        item = self.context.plant.items.get(e.key)
        if item is not None and item.has(Trait.MIXES):
            return Step(e, water, self._opened(e))
        if item is not None and item.has(Trait.BALANCES) and self.own_valve(e):
            return Step(e, water, 1.0 / (float(item.si.get("setting") or 1.0)))
        return Step(e, water)

    def own_valve(self, e: Element) -> Demand | None:
        """The circuit that a valve serves alone; None where it carries several circuits' water."""
        passing = list(demands(self.context).passing(self.pipe_of(e)))
        return passing[0][0] if len(passing) == 1 and passing[0][1] > OWN else None

    def cost(self, e: Element) -> float:
        """Loss along an element at the flow needed in it, [Pa]."""
        if e.index not in self._costs:
            self._costs[e.index] = float(loss_of(self.context, self.step(e)).value)
        return self._costs[e.index]

    def longest(self, start: int, goal: int, without: set[int]) -> list[Element] | None:
        """Elements of the way between two nodes that loses most; None where no water goes that way.

        `without` holds the numbers of elements not to go through.
        """
        leaving = {
            node: [(end, e.index) for end, e in ways if e.index not in without]
            for node, ways in self.leaving.items()
        }
        elements = self.net.elements
        found = costliest_way(leaving, self.place(start), self.place(goal), lambda k: self.cost(elements[k]))
        return None if found is None else [elements[k] for k in found]

    def _opened(self, e: Element) -> float:
        """Share of its Cv at which a mixing valve's leg stood in the case, from its solved loss."""
        ends = [self._pressure(node) for node in (e.start, e.end)]
        flow = self.trace.flow.get(self.pipe_of(e), 0.0)
        if None in ends or flow <= NO_FLOW or e.square <= 0.0:
            return 1.0
        loss = abs(ends[0] - ends[1])  # type: ignore[operator]
        wide = e.square * self.water(self.pipe_of(e)).rho * flow**2
        return 1.0 if loss <= wide else math.sqrt(wide / loss)

    def _pressure(self, node: int) -> float | None:
        for pipe in self._pipes_at(node):
            figures = self.solution.pipes.get(pipe)
            if figures is not None:
                return figures.pressure_at(self.context.plant.pipes[pipe].start == self.ports[node])
        return None


@memo
def ways_of(context: Context, case: str) -> Ways:
    """The ways of one case."""
    return Ways(context, network(context), case)


@memo
def network(context: Context) -> Network:
    """The flow network of a context's plant."""
    return build(context.plant)


def loss_of(context: Context, step: Step, scale: float = 1.0) -> Working:
    """Loss along a step, [Pa], with the flow on it grown by a factor."""
    water = step.water
    if scale != 1.0:
        water = Water(replace(water.flow, value=scale * water.q), water.density, water.viscosity)
    e = step.element
    if e.has(Trait.DRIVES):
        return _lift(context, e, water)
    if not e.is_pipe:
        if step.share < 1.0:
            part = Working("Q", f"part of it in {e.part}", step.share * water.q, "flow", inputs=(water.flow,))
            water = Water(
                replace(part, how="so shared that side by side all lose the same"),
                water.density,
                water.viscosity,
            )
        return way_loss(context, e, water, step.opened)
    pipe = context.plant.pipes[e.key]
    if pipe.joined:
        return Working("Δp", f"loss of {e.key}", 0.0, "pressure", how="bolted flange to flange: no loss")
    return pipe_loss(context, pipe, present_tube(pipe), water)


def _lift(context: Context, e: Element, water: Water) -> Working:
    """Head that another circulator in line adds, as a loss below zero."""
    if e.curve is None:
        return Working("Δp", f"{e.key}, without a curve", 0.0, "pressure")
    scale = water.rho * G if e.is_head else 1.0
    value = -e.curve.at(water.q) * scale
    how = "what this circulator in line adds, by its own curve"
    return Working("Δp", f"head of {e.key}", value, "pressure", inputs=(water.flow,), how=how)


@memo
def critical_path(context: Context, name: str) -> CriticalPath | None:
    """The critical path of a circulator; None where no circuit's water goes through it, or none comes back.

    Notes
    -----
    Method of the index circuit (textbook): the heads of all ways round are summed at design flow, the
    greatest counts.
    """
    pipes = context.plant.pipes_at.get(PortRef(name, "out"), ())
    if not pipes:
        return None
    flow, case, how = flows.together(context, pipes[0])
    if flow is None or not case:
        return None
    ways = ways_of(context, case)
    own = ways.net.of_item[name][0]
    others = {e.index for e in ways.net.elements if e.has(Trait.DRIVES) and e is not own}
    found = ways.longest(own.end, own.start, {own.index} | others) or ways.longest(
        own.end, own.start, {own.index}
    )
    if found is None:
        return None
    steps = tuple(ways.step(e) for e in found)
    words = f"flow that {name} must move"
    needed = replace(flow, symbol="Q", words=words, how=flow.how or how, extra={"case": case})
    head = _head(context, own, steps, needed)
    return CriticalPath(steps, _ids(context, steps), case, needed, head, _system(context, steps, needed))


def _head(context: Context, own: Element, steps: tuple[Step, ...], flow: Working) -> Working:
    """H = sum of losses / (rho g), the losses named by pipe and item; circulators in line share it."""
    name = own.key
    inputs: list[Working] = []
    total = 0.0
    used: set[str] = set()
    for step in steps:
        loss = loss_of(context, step)
        if float(loss.value) == 0.0 or step.element.has(Trait.DRIVES):
            continue
        symbol = symbol_of("Δp", step.element.key)
        while symbol in used:
            symbol += "_"
        used.add(symbol)
        inputs.append(replace(loss, symbol=symbol))
        total += float(loss.value)
    density = steps[0].water.density
    formula = f"({' + '.join(part.symbol for part in inputs) or '0'}) / (ρ * g)"
    value = total / (float(density.value) * G)
    words = f"head of the critical path of {name}"
    source = "index circuit: the way round that loses most decides (textbook)"
    whole = Working("H", words, value, "head", formula, (*inputs, density, GRAVITY_LEAF), source=source)
    share = _share_of_head(context, own, steps, flow)
    if share is None:
        return whole
    whole = replace(whole, symbol="H_all", words=f"head of the way round through {name}")
    return Working("H", words, float(share.value) * value, "head", "s * H_all", (share, whole))


def _share_of_head(context: Context, own: Element, steps: tuple[Step, ...], flow: Working) -> Working | None:
    """A circulator's part of the head where others lie in line; None where none does.

    In proportion to the head each gives at its flow on this way, in equal parts where one has no curve.
    """
    lines = [(own, flow)] + [(s.element, s.water.flow) for s in steps if s.element.has(Trait.DRIVES)]
    if len(lines) == 1:
        return None
    heads = [max(0.0, _gives(context, e, float(q.value), steps[0].water.rho)) for e, q in lines]
    words = f"share of the head that {own.key} gives"
    names = ", ".join(e.key for e, _ in lines)
    if not all(heads):
        how = f"equal parts of {names}, in line, for not every one is known to give head at its flow"
        return Working("s", words, 1.0 / len(lines), how=how, origin="practice")
    how = f"{names} lie in line; each gives its part as its own curve has it at its flow"
    return Working("s", words, heads[0] / sum(heads), how=how, origin="table")


def _gives(context: Context, e: Element, flow: float, density: float) -> float:
    """Head of a circulator at full speed, [m]; 0 without a curve."""
    if e.curve is None:
        return 0.0
    return e.curve.at(flow) / (1.0 if e.is_head else density * G)


def _ids(context: Context, steps: tuple[Step, ...]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(step.element.key for step in steps))


def _system(context: Context, steps: tuple[Step, ...], flow: Working) -> Curve:
    """Head of the path by the circulator's flow."""
    rho = float(steps[0].water.density.value)
    q = float(flow.value)
    x = tuple(scale * q for scale in SCALES)
    y = tuple(
        sum(float(loss_of(context, step, scale or 1e-6).value) for step in steps) / (rho * G)
        for scale in SCALES
    )
    return Curve(x, y, tuple(pchip_slopes(x, y)), "straight")
