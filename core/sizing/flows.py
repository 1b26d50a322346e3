"""Design flow of circuits, items and pipes from loads and temperature differences.

A pipe's design flow is what the circuits behind it need together; what flows as drawn counts only where none
of them says what it needs.
"""

from __future__ import annotations

from dataclasses import replace

from core.plant.model import PortRef
from core.sizing.context import Context, symbol_of, unsized
from core.sizing.demands import EVERY_CALL, Demand, demands
from core.sizing.potable import branch_flow
from core.sizing.recirculation import charging_pipes, need_in
from core.sizing.result import Option, Sized
from core.vocabulary import Trait
from core.vocabulary.heat_roles import FAHRENHEIT
from core.working import Working, given

ALTERNATIVES = {"us": (10.0 * FAHRENHEIT, 15.0 * FAHRENHEIT, 20.0 * FAHRENHEIT, 30.0 * FAHRENHEIT)}
ALTERNATIVES["si"] = (5.0, 8.0, 10.0, 15.0)
FAIR = 0.15  # share of a circuit's water from which an item is said to serve it
LEAST = 1e-8  # [m^3/s]


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


def design_flow(context: Context, name: str) -> Working | None:
    """Flow that an item or pipe must carry, [m^3/s].

    What the circuits behind it need together, in the case that lets most of them ask at once. What flows in
    the solved cases is said beside it but asks for nothing: else a circulator too large would confirm itself.
    It counts only where no circuit behind says what it needs. `extra["case"]` is the case that decided and
    `extra["decided"]` "design flows" or "solved case".

    Returns
    -------
    Working or None
        None where nothing asks for any flow and none flows in any case
    """
    kept: dict[str, Working | None] = context.once("flows", dict)
    if name not in kept:
        pipe = context.plant.pipes.get(name)
        kept[name] = _of_item(context, name) if pipe is None else _of_pipe(context, name)
    return kept[name]


def _of_item(context: Context, name: str) -> Working | None:
    """The item's own demand, else the greatest design flow among the pipes at it."""
    needs = [need_in(context, pipe) for pipe in _pipes(context, name)]
    if needs and needs[0] is not None and None not in needs:
        return _kept_warm(name, needs[0])
    if (demand := demands(context).of(name)) is not None:
        return _decided(context, name, demand.flow, _case_of(demand), demand.flow.how)
    if context.plant.items[name].has(Trait.DRIVES):  # a draw is driven by the main, not by a circulator
        for pipe in context.plant.pipes_at.get(PortRef(name, "out"), ()):
            needed, case, how = together(context, pipe)
            if needed is not None:
                return _decided(context, name, needed, case, how)
    flows = [design_flow(context, pipe) for pipe in _pipes(context, name)]
    return max((flow for flow in flows if flow is not None), key=lambda f: float(f.value), default=None)


def _case_of(demand: Demand) -> str:
    return max(demand.by_case, key=lambda case: float(demand.by_case[case].value), default=demand.way.traced)


def _of_pipe(context: Context, name: str) -> Working | None:
    if (kept_warm := need_in(context, name)) is not None:
        return _kept_warm(name, kept_warm)
    needed, case, how = together(context, name)
    drawn = branch_flow(context, name)
    if drawn is not None and needed is not None and name in charging_pipes(context):
        # What is drawn passes the charging circulator's way instead of the water it would bring round.
        needed, drawn = (needed, None) if float(needed.value) >= float(drawn.value) else (None, drawn)
    if drawn is not None:
        drawn = replace(drawn, symbol="Q_fixtures")
        how = f"{drawn.how}, at once" + (f", and {how}" if needed else "")
        parts = (drawn,) if needed is None else (replace(needed, symbol="Q_circuits"), drawn)
        value = sum(float(part.value) for part in parts)
        words = f"design flows together in {name}"
        formula = " + ".join(part.symbol for part in parts)
        needed = Working("Q_sum", words, value, "flow", formula, parts)
        case = case or "at once"
    return _decided(context, name, needed, case, how)


def _kept_warm(name: str, need: Working) -> Working:
    """What a hot water return must carry."""
    case = str(need.extra.get("case", ""))
    how = f"what keeps the loop warm in {case}; what the pump drawn moves besides is no need"
    extra = {"case": case, "decided": "design flows"}
    return Working("Q", f"design flow of {name}", need.value, "flow", need.symbol, (need,), how, extra=extra)


def together(context: Context, pipe: str, case: str = "") -> tuple[Working | None, str, str]:
    """What the circuits behind a pipe need of it together.

    Parameters
    ----------
    context : Context
    pipe : str
    case : str
        The case that says who asks; by default the one that lets most be asked of the pipe

    Returns
    -------
    flow : Working or None
        [m^3/s]; None where no circuit's water comes by
    case : str
        That case, or "every call at once" where none lets any of them flow
    how : str
        In words
    """
    carried = list(demands(context).passing(pipe))
    sums: dict[str, float] = {}
    for demand, share in carried:
        for name, flow in demand.by_case.items():
            sums[name] = sums.get(name, 0.0) + share * float(flow.value)
    if not sums:  # circuits that no case lets flow: as if all asked at once
        found = _sum(pipe, [(demand.at, share, demand.flow) for demand, share in carried])
        return found, EVERY_CALL if found else "", ""
    case = case or max(sums, key=sums.__getitem__)
    asking = [(d.at, share, d.by_case[case]) for d, share in carried if case in d.by_case]
    all_at_once = sum(share * float(demand.flow.value) for demand, share in carried)
    how = f"what the circuits behind it need together in {case}"
    if all_at_once > 1.02 * sums.get(case, 0.0):
        how += f"; all of them at once would make {context.shown(all_at_once, 'flow')}"
    return _sum(pipe, asking), case, how


def _sum(name: str, parts: list[tuple[str, float, Working]]) -> Working | None:
    """Sum of design flows, each with the share of it that passes here."""
    if not parts:
        return None
    inputs: list[Working] = []
    terms = []
    for at, share, flow in parts:
        inputs.append(replace(flow, symbol=symbol_of("Q", at)))
        terms.append(inputs[-1].symbol)
        if share < 1.0 - 1e-6:
            how = "as the water parts in the solved case"
            letter = symbol_of("s", at)
            words = f"share of {at}'s water that passes {name}"
            inputs.append(Working(letter, words, share, how=how, origin="solved"))
            terms[-1] = f"{letter} * {terms[-1]}"
    value = sum(share * float(flow.value) for _, share, flow in parts)
    return Working(
        "Q_sum", f"design flows together in {name}", value, "flow", " + ".join(terms), tuple(inputs)
    )


def _decided(context: Context, name: str, together: Working | None, case: str, how: str) -> Working | None:
    """The design flows; without any, the greatest solved flow."""
    key = _flow_key(context, name)
    worst = context.worst(name, key)
    flows_now = worst is not None and abs(worst.value) > LEAST
    if together is not None:
        found = replace(together, symbol="Q_sum", how=together.how or how)
        words = found.how or "what its circuit needs"
        extra = {"case": case, "decided": "design flows"}
    elif worst is not None and flows_now:
        words = f"flow of {name} in {worst.case}, the solved case that sends most through it"
        value, how = abs(worst.value), f"solved: {name} {key}"
        found = Working("Q_case", words, value, "flow", how=how, origin="solved")
        words = f"what flows in {worst.case}, for no circuit behind it says what it needs"
        extra = {"case": worst.case, "decided": "solved case"}
    else:
        return None
    if together is not None and worst is not None and flows_now:
        words += f"; at most {context.shown(abs(worst.value), 'flow')} flows as drawn, in {worst.case}"
    return Working(
        "Q", f"design flow of {name}", found.value, "flow", found.symbol, (found,), words, extra=extra
    )


def _flow_key(context: Context, name: str) -> str:
    item = context.plant.items.get(name)
    if item is None or not item.has(Trait.EXCHANGES_HEAT, Trait.PARTS_FLOWS):
        return "flow_m3_s"
    if item.has(Trait.EXCHANGES_HEAT) and (demand := demands(context).of(name)) is not None:
        return f"{demand.way.place.side}_flow_m3_s"
    return ""


def _of_demand(context: Context, name: str) -> Sized | None:
    demand = demands(context).of(name)
    assert demand is not None
    flow = context.design_flow(name)
    if flow is None or demand.difference is None:
        return None
    needed = demand.flow
    side = f" on side {demand.way.place.side}" if demand.way.place.side else ""
    words = (
        f"{name} needs {context.shown(needed.value, 'flow')}{side}: "
        f"{context.shown(demand.heat, 'power')} at a difference of "
        f"{demand.difference.shown(context.display)} ({_why(demand.difference)})"
    )
    got = context.worst(name, _flow_key(context, name))
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
        _case_of(demand),
        options,
        working=needed,
        cautions=cautions,
    )


def _why(difference: Working) -> str:
    if difference.origin == "typed":
        return f"typed: {difference.words}"
    if difference.origin == "practice":
        return "common practice, no source"
    return "of its rated point"


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
    flow = context.design_flow(name)
    if flow is None:
        return None
    case = str(flow.extra.get("case", ""))
    served = serves(context, name)
    words = f"{name} must carry {context.shown(flow.value, 'flow')}: {flow.how}"
    if served:
        words += f"; it serves {', '.join(served)}"
    return Sized(name, "design_flow", words + ".", float(flow.value), "m3_s", "flow", case, working=flow)


def serves(context: Context, name: str) -> tuple[str, ...]:
    """Ids of the circuits of whose water an item carries a fair share, in the order of the file."""
    passing = (pair for pipe in _pipes(context, name) for pair in demands(context).passing(pipe))
    found = {demand.at for demand, share in passing if share > FAIR and demand.at != name}
    return tuple(item for item in context.plant.items if item in found)


def _pipes(context: Context, name: str) -> list[str]:
    ports = context.plant.items[name].ports
    return [pipe for port in ports for pipe in context.plant.pipes_at.get(PortRef(name, port), ())]
