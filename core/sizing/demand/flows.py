"""Design flow of circuits, items and pipes from loads and temperature differences.

A pipe's design flow is what the circuits behind it need together; what flows as drawn counts only where none
of them says what it needs.
"""

from __future__ import annotations

from dataclasses import replace

from core.plant.model import PortRef
from core.sizing.context import Context, memo, symbol_of
from core.sizing.demand.demands import EVERY_CALL, Demand, demands
from core.sizing.demand.fixtures import branch_flow
from core.sizing.demand.returns import charging_pipes, need_in
from core.vocabulary import Trait
from core.working import Working

FAIR = 0.15  # share of a circuit's water from which an item is said to serve it
LEAST = 1e-8  # [m^3/s]


@memo
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
    return _of_pipe(context, name) if name in context.plant.pipes else _of_item(context, name)


def _of_item(context: Context, name: str) -> Working | None:
    """The item's own demand, else the greatest design flow among the pipes at it."""
    needs = [need_in(context, pipe) for pipe in _pipes(context, name)]
    if needs and needs[0] is not None and None not in needs:
        return _kept_warm(name, needs[0])
    if (demand := demands(context).of(name)) is not None:
        return _decided(context, name, demand.flow, deciding_case(demand), demand.flow.how)
    if context.plant.items[name].has(Trait.DRIVES):  # a draw is driven by the main, not by a circulator
        for pipe in context.plant.pipes_at.get(PortRef(name, "out"), ()):
            needed, case, how = together(context, pipe)
            if needed is not None:
                return _decided(context, name, needed, case, how)
    flows = [design_flow(context, pipe) for pipe in _pipes(context, name)]
    return max((flow for flow in flows if flow is not None), key=lambda f: float(f.value), default=None)


def deciding_case(demand: Demand) -> str:
    """The case in which a circuit needs most flow."""
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
    key = flow_key(context, name)
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


def flow_key(context: Context, name: str) -> str:
    """Key of the solved figure that is an item's or pipe's flow; empty where it has no single one."""
    item = context.plant.items.get(name)
    if item is None or not item.has(Trait.EXCHANGES_HEAT, Trait.PARTS_FLOWS):
        return "flow_m3_s"
    if item.has(Trait.EXCHANGES_HEAT) and (demand := demands(context).of(name)) is not None:
        return f"{demand.way.place.side}_flow_m3_s"
    return ""


def serves(context: Context, name: str) -> tuple[str, ...]:
    """Ids of the circuits of whose water an item carries a fair share, in the order of the file."""
    passing = (pair for pipe in _pipes(context, name) for pair in demands(context).passing(pipe))
    found = {demand.at for demand, share in passing if share > FAIR and demand.at != name}
    return tuple(item for item in context.plant.items if item in found)


def _pipes(context: Context, name: str) -> list[str]:
    ports = context.plant.items[name].ports
    return [pipe for port in ports for pipe in context.plant.pipes_at.get(PortRef(name, port), ())]
