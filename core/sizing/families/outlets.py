"""Pressure left at each fixture with every branch at its demand, against what its outlet needs.

Followed from the cold main along the way that loses most. Nothing is solved: each pipe and item loses what it
does at the flow its fixtures ask of it at once.
"""

from __future__ import annotations

from dataclasses import replace

from core.hydraulics.elements import Element
from core.plant.model import PortRef
from core.sizing.context import Context, memo, symbol_of
from core.sizing.demand.fixture_units import outlet_of
from core.sizing.demand.fixtures import branch_flow, open_outlets
from core.sizing.demand.losses import GRAVITY_LEAF, Water, water_at
from core.sizing.demand.paths import Step, Ways, loss_of, network
from core.sizing.demand.tracing import Trace
from core.sizing.families.potable import CAUTION
from core.sizing.result import Sized
from core.vocabulary import Trait
from core.vocabulary.waterways import Legs
from core.working import Working, derived, given

ZERO = 273.15  # [K]


def size(context: Context) -> list[Sized]:
    """Every fixture that a main can reach."""
    names = [i.id for i in context.plant.with_trait(Trait.DRAWS_WATER)]
    return context.one_by_one(names, "potable_pressure", lambda name: _of(context, name))


class _Drawn(Ways):
    """The ways of the case with every outlet open, each pipe at the demand of its fixtures."""

    def __init__(self, context: Context, on: bool) -> None:
        solution = open_outlets(context, on)
        super().__init__(context, network(context), solution.case, Trace(context.plant, solution), solution)

    def _water(self, name: str) -> Water:
        pipe = self.context.plant.pipes[name]
        flow = branch_flow(self.context, name)
        if flow is None:
            words = f"flow of {name} with every outlet open"
            flow = Working("Q", words, self.trace.flow.get(name, 0.0), "flow", origin="solved", how="solved")
        figures = self.solution.pipes[name]
        kelvin = 0.5 * (figures.temperature_in_c + figures.temperature_out_c) + ZERO
        how = "solved with every outlet open"
        water = Working("T", f"water in {name}", kelvin, "temperature", how=how, origin="solved")
        return water_at(self.context, pipe.system, water, replace(flow, symbol="Q"))

    def step(self, e: Element) -> Step:
        """A mixing valve's leg takes its share of the mixed demand, at the opening it has in that case."""
        found = super().step(e)
        item = self.context.plant.items.get(e.key)
        leg = self.pipe_of(e)
        if item is None or not isinstance(way := item.kind_info.waterway, Legs) or leg not in self.trace.flow:
            return found
        mixed = self._pipes_at(self.net.node(e.key, way.common))
        if not mixed or mixed[0] not in self.trace.flow:
            return found
        share = self.trace.flow[leg] / self.trace.flow[mixed[0]]
        whole = self.water(mixed[0])
        how = f"{100.0 * share:.1f} % of the mixed demand, as solved with every outlet open"
        flow = Working("Q", f"flow of {leg}", share * whole.q, "flow", inputs=(whole.flow,), how=how)
        return replace(found, water=Water(flow, found.water.density, found.water.viscosity))


@memo
def _ways(context: Context, on: bool) -> _Drawn:
    return _Drawn(context, on)


def left_at(context: Context, name: str) -> Working | None:
    """Pressure left at a fixture, [Pa gauge], by its worse port; None where no main reaches it.

    p = p_main - losses - rho g (rise); behind a reducer, at most its set pressure less what follows.
    """
    found = [
        _pressure(context, ways, main, node, way, f"{name}, {port}")
        for port, (ways, main, node, way) in _found(context, name).items()
    ]
    return min(found, key=lambda working: float(working.value), default=None)


Way = tuple[_Drawn, str, int, list[Element]]
"""Ways, main, its node, and the elements from there to a port."""


@memo
def _found(context: Context, name: str) -> dict[str, Way]:
    """The way to each port of a fixture that a main reaches, that which loses most."""
    found: dict[str, Way] = {}
    for port in context.plant.items[name].ports:
        if PortRef(name, port) in context.plant.pipes_at:
            ways = (_along(_ways(context, on), name, port) for on in (False, True))
            if (way := next((one for one in ways if one), None)) is not None:
                found[port] = way
    return found


def _along(ways: _Drawn, name: str, port: str) -> Way | None:
    goal = ways.net.node(name, port)
    pumps = {e.index for e in ways.net.elements if e.has(Trait.DRIVES)}
    for node, main in ways.net.mains.items():
        way = ways.longest(node, goal, pumps)
        if way:
            return ways, main, node, way
    return None


@memo
def permissible(context: Context) -> dict[str, Working]:
    """Loss per metre that each pipe to a fixture may have, [Pa/m], by the worst of the fixtures it feeds.

    Notes
    -----
    What the pipes on a fixture's way lose as drawn, and what is to spare there, shared out over their length:
    the trade's method of permissible friction. Behind the last pressure reducer only.
    """
    found: dict[str, Working] = {}
    for item in context.plant.items.values():
        if not item.has(Trait.DRAWS_WATER) or item.stage == "to_remove":
            continue
        _, needed, source = outlet_of(str(item.si.get("fixture_type") or ""))
        wanted = given("p_n", f"flowing pressure {item.id} needs", needed, "pressure", "table", source)
        for port, (ways, main, node, way) in _found(context, item.id).items():
            reducers = [k for k, e in enumerate(way) if e.has(Trait.HOLDS_OUTLET_PRESSURE)]
            behind = [e for e in way[reducers[-1] + 1 if reducers else 0 :] if e.is_pipe and e.length > 0.0]
            if not behind:
                continue
            left = _pressure(context, ways, main, node, way, f"{item.id}, {port}")
            lost = sum(float(loss_of(context, ways.step(e)).value) for e in behind)
            pipes = Working("Δp", "loss of its pipes as drawn", lost, "pressure", how="summed along the way")
            length = Working(
                "L", "their length", sum(e.length for e in behind), "length", how="summed along the way"
            )
            words = f"loss per metre that the pressure at hand allows to {item.id}"
            most = derived("i", words, "", "(p - p_n + Δp) / L", left, wanted, pipes, length)
            for e in behind:
                if e.key not in found or float(most.value) < float(found[e.key].value):
                    found[e.key] = most
    return found


def _pressure(
    context: Context, ways: _Drawn, main: str, node: int, way: list[Element], words: str
) -> Working:
    """Walk down the way, starting afresh behind each reducer that holds."""
    pressure = context.prop("p_0", f"pressure at {main}", main, "pressure")
    pressure = pressure or given("p_0", f"pressure at {main}", 0.0, "pressure", "default", "none given")
    losses: list[Working] = []
    start = ways.net.height(node)
    for e in way:
        forward = e.start == node or ways.place(e.start) == ways.place(node)
        node = e.end if forward else e.start
        loss = loss_of(context, ways.step(e))
        if float(loss.value) != 0.0:
            losses.append(loss)
        if not e.has(Trait.HOLDS_OUTLET_PRESSURE):
            continue
        before = _sum(
            ways, e, pressure, losses, ways.net.height(node) - start, f"before {e.key} would be left"
        )
        held = context.prop("p_set", f"pressure set at {e.key}", e.key, "set_pressure")
        if held is not None:
            pressure = derived("p_0", f"pressure behind {e.key}", "pressure", "min(p_set, p)", held, before)
            losses, start = [], ways.net.height(node)
    return _sum(ways, way[-1], pressure, losses, ways.net.height(node) - start, f"pressure left at {words}")


def _sum(
    ways: _Drawn, e: Element, pressure: Working, losses: list[Working], rise: float, words: str
) -> Working:
    water = ways.water(ways.pipe_of(e))
    named: list[Working] = []
    for loss in losses:
        symbol = symbol_of("Δp", loss.words.removeprefix("loss of ").split(" in ")[0].split(",")[0])
        while any(part.symbol == symbol for part in named):
            symbol += "_"
        named.append(replace(loss, symbol=symbol))
    height = Working(
        "z", "rise on the way", rise, "length", how="height of the outlet over the start", origin="typed"
    )
    formula = f"p_0 - ({' + '.join(part.symbol for part in named) or '0'}) - ρ * g * z"
    return derived("p", words, "pressure", formula, pressure, *named, water.density, GRAVITY_LEAF, height)


def _of(context: Context, name: str) -> Sized | None:
    left = left_at(context, name)
    if left is None:
        return None
    kind = str(context.plant.items[name].si.get("fixture_type") or "")
    _, needed, source = outlet_of(kind)
    wanted = given(
        "p_n",
        f"flowing pressure {kind.replace('_', ' ') or 'an outlet'} needs",
        needed,
        "pressure",
        "table",
        source,
    )
    spare = derived(
        "p_spare", f"pressure to spare at {name}", "pressure", "p - p_n", replace(left, symbol="p"), wanted
    )
    ample = float(spare.value) >= 0.0
    words = (
        f"{name} has {context.shown(left.value, 'pressure')} left with every branch at its demand; "
        f"{'it' if kind else 'an outlet'} needs {context.shown(needed, 'pressure')} ({source})"
    )
    if ample:
        words += f": {context.shown(spare.value, 'pressure')} more may be lost on the way"
    else:
        words += f": {context.shown(-float(spare.value), 'pressure')} short{_largest(context, left)}"
    return Sized(
        name,
        "potable_pressure",
        f"{words}.",
        float(left.value),
        "pa",
        "pressure",
        working=spare,
        cautions=(CAUTION,),
        fails=not ample,
    )


def _largest(context: Context, left: Working) -> str:
    """The pipe or item that loses most on the way."""
    losses = [part for part in left.inputs if part.symbol.startswith("Δp")]
    if not losses:
        return ""
    most = max(losses, key=lambda part: float(part.value))
    return f"; most goes in the {most.words}, {most.shown(context.display)}"
