"""Design flows as answers: of circuits, sources and circulators, and at other temperature differences."""

from __future__ import annotations

from dataclasses import replace

from core.sizing.context import Context, unsized
from core.sizing.demand.demands import Demand, demands
from core.sizing.demand.flows import LEAST, deciding_case, design_flow, flow_key, serves
from core.sizing.result import Option, Sized
from core.vocabulary import Trait
from core.vocabulary.heat_roles import FAHRENHEIT
from core.working import Working, given

ALTERNATIVES = {"us": (10.0 * FAHRENHEIT, 15.0 * FAHRENHEIT, 20.0 * FAHRENHEIT, 30.0 * FAHRENHEIT)}
ALTERNATIVES["si"] = (5.0, 8.0, 10.0, 15.0)


def size(context: Context) -> list[Sized]:
    """Design flow of every item that asks for heat or passes it on, of every source and circulator."""
    known = demands(context)
    found = context.one_by_one(
        [demand.at for demand in known.found.values()], "design_flow", lambda name: _of_demand(context, name)
    )
    carriers = [i.id for i in context.plant.with_trait(Trait.MAKES_HEAT, Trait.DRIVES)]
    found += context.one_by_one(carriers, "design_flow", lambda name: _of_carrier(context, name))
    found += [unsized(name, "design_flow", *sentences) for name, sentences in known.lacking.items()]
    order = {name: place for place, name in enumerate(context.plant.items)}
    return sorted(found, key=lambda sized: order[sized.at])


def _of_demand(context: Context, name: str) -> Sized | None:
    demand = demands(context).of(name)
    assert demand is not None
    flow = design_flow(context, name)
    if flow is None or demand.difference is None:
        return None
    needed = demand.flow
    side = f" on side {demand.way.place.side}" if demand.way.place.side else ""
    words = (
        f"{name} needs {context.shown(needed.value, 'flow')}{side}: "
        f"{context.shown(demand.heat, 'power')} at a difference of "
        f"{demand.difference.shown(context.display)} ({_why(demand.difference)})"
    )
    got = context.worst(name, flow_key(context, name))
    if got is not None and abs(got.value) > LEAST:
        words += f"; at most {context.shown(abs(got.value), 'flow')} flows, in {got.case}"
    options = tuple(
        _at_difference(demand, difference, context) for difference in ALTERNATIVES[context.display]
    )
    cautions: tuple[str, ...] = ()
    if demand.difference.origin == "practice":
        cautions = (
            f"The temperature difference of {name} is common practice, no source: give a rated point, or a "
            "circulator that holds the difference wanted.",
        )
    return Sized(
        name,
        "design_flow",
        words + ".",
        float(needed.value),
        "m3_s",
        "flow",
        deciding_case(demand),
        options,
        working=needed,
        cautions=cautions,
    )


def _why(difference: Working) -> str:
    if difference.origin == "typed":
        return f"typed: {difference.words}"
    if difference.origin == "practice":
        return "common practice, no source"
    return difference.how or "of its rated point"


def _at_difference(demand: Demand, kelvin: float, context: Context) -> Option:
    """The same load at another temperature difference."""
    difference = given("ΔT", "temperature difference", kelvin, "temperature_difference", "practice")
    load, density, capacity, _ = demand.flow.inputs
    value = float(load.value) / (float(density.value) * float(capacity.value) * kelvin)
    working = replace(demand.flow, value=value, inputs=(load, density, capacity, difference))
    name = f"at {difference.shown(context.display)} difference"
    return Option(name, {"flow_m3_s": value, "difference_k": kelvin}, True, "", working=working)


def _of_carrier(context: Context, name: str) -> Sized | None:
    """A source or circulator carries what the circuits behind it need together."""
    flow = design_flow(context, name)
    if flow is None:
        return None
    case = str(flow.extra.get("case", ""))
    served = serves(context, name)
    words = f"{name} must carry {context.shown(flow.value, 'flow')}: {flow.how}"
    if served:
        words += f"; it serves {', '.join(served)}"
    return Sized(name, "design_flow", words + ".", float(flow.value), "m3_s", "flow", case, working=flow)
