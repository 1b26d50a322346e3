"""Rules of what makes heat: limits, low water, interlock with its circulator, gauges, condensate."""

from __future__ import annotations

from collections.abc import Iterator

from core.controls.possible import Possible
from core.plant.model import Case, Item, PortRef
from core.review.finding import Figure, Found, Rule, Severity, registrar
from core.review.heated import has_element, heated
from core.review.study import Study
from core.vocabulary import Trait
from core.water.branches import branch
from core.water.connections import between
from core.water.no_flow import NO_FLOW
from core.water.ways import Way

RULES: list[Rule] = []
rule = registrar(RULES)
PRACTICE = "common practice, no source"
ASK = (
    "Limits, low-water cut-offs and interlocks are for the listing of the heater, local code and a licensed "
    "trade: ask what this one must have, and have it tried."
)
CONDENSES_BELOW = 54.4  # [degC] 130 degF return, from which a condensing boiler hardly condenses


@rule(
    "no-high-limit",
    "No high limit of its own",
    Severity.STOP,
    "If the control that holds the temperature fails, nothing else stops the heat before water boils.",
    "ASME CSD-1, from memory; common practice, no source",
    "Fit a high limit that acts by itself and is reset by hand.",
    origin="high-limit",
    ask=ASK,
)
def no_high_limit(study: Study) -> Iterator[Found]:
    """Fired sources and electric elements whose independent high limit is missing or not known."""
    sources = [i for i in study.plant.items.values() if i.stays and (i.has(Trait.FIRED) or has_element(i))]
    for item in sources:
        limit = study.said(item, "high_limit")
        rated = study.said(item, "max_temperature")
        if limit is False:
            yield Found((item.id,), f"{item.id} has no independent high limit.")
        elif limit is None:
            words = f"Whether {item.id} has an independent high limit is not known."
            yield Found((item.id,), words, severity=Severity.MEND)
        elif not isinstance(limit, bool) and isinstance(rated, float) and float(limit) > rated + 0.5:
            yield Found(
                (item.id,),
                f"The high limit of {item.id} acts at {study.warm(float(limit))}; it is rated for "
                f"{study.warm(rated)}.",
                (Figure("high_limit_k", float(limit)),),
                severity=Severity.MEND,
            )
    for item in study.items(Trait.LIFTS_HEAT):
        if study.said(item, "high_limit") is False:
            yield Found((item.id,), f"{item.id} has no independent high limit.", severity=Severity.MEND)


@rule(
    "no-low-water-cut-off",
    "Boiler without low-water cut-off",
    Severity.STOP,
    "Fired without water, a boiler melts or bursts when water comes back.",
    "IMC 1007 (1996), published",
    "Fit a low-water cut-off, or a flow switch where the boiler is listed with one.",
    origin="lwco",
    ask=ASK,
)
def no_low_water_cut_off(study: Study) -> Iterator[Found]:
    """Boilers with neither, or of which nothing is said."""
    for item in study.items(Trait.FIRED):
        if not item.has(Trait.KEEPS_OWN_WATER_HOT):
            continue
        said = [study.said(item, "low_water_cutoff"), study.said(item, "flow_switch")]
        if True in said:
            continue
        if False in said:
            yield Found((item.id,), f"{item.id} has neither low-water cut-off nor flow switch.")
        else:
            words = f"Whether {item.id} has a low-water cut-off or a flow switch is not known."
            yield Found((item.id,), words, severity=Severity.CONSIDER)


@rule(
    "fires-without-flow",
    "Source may fire with its circulator off",
    Severity.STOP,
    "Without flow the water in it boils before the control at its outlet feels it.",
    PRACTICE,
    "Let one call run both, or let a flow switch stop the source.",
    origin="electrical-interlock",
    ask=ASK,
)
def fires_without_flow(study: Study) -> Iterator[Found]:
    """Sources that some combination of signals runs while no circulator drives water through them."""
    logic = Possible(study.plant)
    for item in study.items(Trait.MAKES_HEAT):
        by_flow = item.has(Trait.STARTS_BY_FLOW) and study.said(item, "flow_switch") is not False
        if by_flow or study.said(item, "flow_switch") is True:
            continue
        pumps = own_circulators(study, item)
        if not pumps:
            continue
        state = logic.when(logic.running(item), *(logic.running(pump) for pump in pumps))
        if state is None:
            continue
        names = tuple(pump.id for pump in pumps)
        on = [name for name, is_on in state.items() if is_on]
        off = [name for name, is_on in state.items() if not is_on]
        said = f"{' and '.join(on)} on" if on else ""
        said += (" and " if on and off else "") + (f"{' and '.join(off)} off" if off else "")
        words = f"With {said}, {item.id}" if said else f"{item.id}"
        words += f" may fire while {' and '.join(names)} {'rest' if len(names) > 1 else 'rests'}."
        typed = "run_when" in item.props or "powered_by" in item.props
        yield Found((item.id, *names), words, severity=None if typed else Severity.MEND)


def own_circulators(study: Study, item: Item) -> list[Item]:
    """Circulators that drive water through a source: those in its own run, else those of any way round."""
    items = study.plant.items
    ends = [branch(study.graph, PortRef(item.id, port)).end.item for port in item.ports]
    run = [item.id for item in study.on_run(item)]  # past tees of what hangs on it, without a way round
    own = [
        items[end] for end in dict.fromkeys([*ends, *run]) if end in items and items[end].has(Trait.DRIVES)
    ]
    if own or len(item.ports) != 2:
        return own

    def passes(way: Way) -> bool:
        return not way.parts and way.key != item.id and not way.to_air

    ways = between(study.graph, PortRef(item.id, "out"), PortRef(item.id, "in"), passes)
    return [items[key] for key in dict.fromkeys(way.key for way in ways if way.drives)]


@rule(
    "no-gauge",
    "No gauge for pressure or temperature",
    Severity.CONSIDER,
    "Without them nobody sees at start-up or service whether the loop is filled and how hot it is.",
    "IMC 1010, from memory",
    "Fit a pressure gauge and a thermometer at the source.",
    origin="gauge",
    insert="gauge",
)
def no_gauge(study: Study) -> Iterator[Found]:
    """Heated closed bodies in which no gauge or no thermometer stands."""
    for body in heated(study):
        if body.potable:
            continue
        lacks = []
        if not study.items_in(body.places, Trait.SHOWS_PRESSURE):
            lacks.append("pressure gauge")
        if not study.items_in(body.places, Trait.SHOWS_TEMPERATURE):
            lacks.append("thermometer")
        if lacks:
            words = f"The loop of {body.by[0].id} has no {' and no '.join(lacks)}."
            yield Found(tuple(item.id for item in body.by), words)


@rule(
    "condensate-unsaid",
    "Condensate of a condensing boiler",
    Severity.CONSIDER,
    "It is acid and eats iron drains and concrete; its drain freezes or floods where it is forgotten.",
    PRACTICE,
    "Say how it is drained and neutralized, in the boiler's property condensate.",
    origin="combustion-condensate",
    ask="Ask whether local code wants a neutralizer before the drain.",
)
def condensate_unsaid(study: Study) -> Iterator[Found]:
    """Condensing boilers of whose condensate nothing is said."""
    for item in study.items(Trait.FIRED):
        if item.si.get("condensing") is True and not item.si.get("condensate"):
            yield Found((item.id,), f"How the condensate of {item.id} is drained is not said.")


@rule(
    "cannot-condense",
    "Condensing boiler that cannot condense",
    Severity.CONSIDER,
    "Flue gas condenses below about {55 °C|130 °F}: with warmer water coming back the boiler is paid for "
    "in vain.",
    "state department of commerce, published",
    "Lower the supply by outdoor reset, or take more surface of emitters.",
    origin="cond-return",
    solved=True,
)
def cannot_condense(study: Study) -> Iterator[Found]:
    """Condensing sources whose return stays over that in the coldest case in which they run."""
    outdoor = {case.name: outdoors(study, case) for case in study.plant.solve_cases}
    for item in study.items(Trait.FIRED):
        if item.si.get("condensing") is not True:
            continue
        found = []
        for one in study.solutions:
            back = _inlet(study, item, one.case)
            if back is not None and float(one.value(item.id, "duty_w") or 0.0) > 1.0:
                found.append((outdoor.get(one.case, 0.0), back, one.case))
        if found:
            _, back, case = min(found)
            if back > CONDENSES_BELOW:
                words = f"Water comes back to {item.id} at {study.celsius(back)}."
                yield Found((item.id,), words, (Figure("return_c", back),), case=case)


def outdoors(study: Study, case: Case) -> float:
    """Outdoor temperature of a case, else that of the site, [K]."""
    return study.plant.site_si.outdoor_design if case.si.outdoor is None else case.si.outdoor


def _inlet(study: Study, item: Item, case: str) -> float | None:
    """Solved temperature at an item's inlet, [degC]; None where nothing flows."""
    one = next(s for s in study.solutions if s.case == case)
    place = PortRef(item.id, "in")
    for key in study.plant.pipes_at.get(place, ()):
        figures = one.pipes.get(key)
        if figures is not None and abs(figures.flow_m3_s) > NO_FLOW:
            return figures.temperature_at(study.plant.pipes[key].start == place)
    return None
