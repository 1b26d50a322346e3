"""Rules of sources: flows and rises they are made for, returns that rot them, set points that need more."""

from __future__ import annotations

from collections.abc import Iterator

from core.controls.expressions import runs
from core.figures import SourceFigures
from core.plant.model import Item, PortRef
from core.review.finding import Figure, Found, Rule, Severity, registrar
from core.review.heated import must_not_condense
from core.review.study import Study
from core.vocabulary import Trait
from core.water.no_flow import NO_FLOW
from core.water.numbers import reached

RULES: list[Rule] = []
rule = registrar(RULES)
PRACTICE = "common practice, no source"
CONDENSES_C = 130.0 / 1.8 - 32.0 / 1.8  # [degC] 130 degF
MOST_RISE_K = 40.0
NEAR = 0.01
APPROACH_K = 2.8  # [K] 5 degF


def _pumped(study: Study, item: Item) -> bool:
    """Whether circulators can drive water round through an item."""
    return item.id in study.driven


@rule(
    "source-below-least-flow",
    "Source with too little flow",
    Severity.MEND,
    "Below its least flow it does not fire, trips its limit or boils what stands in it.",
    "published trade text on on-demand heaters",
    "Raise the flow: a larger circulator, less loss, or another balance.",
    origin="source-min-flow",
    solved=True,
)
def source_below_least_flow(study: Study) -> Iterator[Found]:
    """Called sources with some flow, by circulators or by what is drawn, but less than their least."""
    for solution, _ in study.each():
        for item in study.items(Trait.MAKES_HEAT):
            least, flow = float(item.si.get("min_flow") or 0.0), abs(solution.flow(item.id))
            called = runs(item.si, solution.signals)
            moves = _pumped(study, item) or item.has(Trait.STARTS_BY_FLOW)
            if called and NO_FLOW < flow < least * (1.0 - NEAR) and moves:
                yield Found(
                    (item.id,),
                    f"{item.id} gets {study.flow(flow)} of the {study.flow(least)} it needs to fire.",
                    (Figure("flow_m3_s", flow, -1),),
                    solution.case,
                )


@rule(
    "circulation-does-not-fire-heater",
    "On-demand heater that circulation cannot use",
    Severity.MEND,
    "Return water that moves less than the heater's activation flow never fires it, and warm return water "
    "above its inlet limit makes it cycle.",
    "published trade text on on-demand heaters; common practice",
    "Circulate through a small storage tank, or take a heater made for circulation.",
    origin="ondemand-recirc",
    solved=True,
)
def circulation_does_not_fire_heater(study: Study) -> Iterator[Found]:
    """On-demand heaters in drinking water that a circulator feeds too slowly or too warm."""
    for solution, stream in study.each():
        for item in study.items(Trait.STARTS_BY_FLOW):
            flow, inlet = abs(solution.flow(item.id)), study.port_c(solution, item, "in")
            if flow <= NO_FLOW or inlet is None or not study.is_potable(study.body_of(item)):
                continue
            before = {place.item for place in stream.upstream(PortRef(item.id, "in"))}
            pumps = [p.id for p in study.items(Trait.DRIVES) if p.id in before]
            least, most = float(item.si.get("min_flow") or 0.0), item.si.get("max_inlet")
            stores = study.items_in(study.body_of(item), Trait.TANK)
            if pumps and not stores and flow < least * (1.0 - NEAR):
                yield Found(
                    (item.id, *pumps),
                    f"{pumps[0]} moves {study.flow(flow)} through {item.id}, which fires from "
                    f"{study.flow(least)}.",
                    (Figure("flow_m3_s", flow, -1),),
                    solution.case,
                )
            elif most is not None and inlet > float(most) - 273.15 + 0.1:
                yield Found(
                    (item.id, *pumps),
                    f"Water enters {item.id} at {study.celsius(inlet)}; it takes at most "
                    f"{study.warm(float(most))}.",
                    (Figure("inlet_c", inlet),),
                    solution.case,
                )


@rule(
    "heater-asked-for-too-much",
    "On-demand heater asked for more than it gives",
    Severity.CONSIDER,
    "Beyond its output the water leaves colder, or the heater throttles it.",
    "heat balance",
    "Draw less at once, take a larger heater, or store.",
    origin="ondemand-flow-restrict",
    solved=True,
)
def heater_asked_for_too_much(study: Study) -> Iterator[Found]:
    """On-demand heaters at capacity whose outlet falls short of the set point."""
    for solution, _ in study.each():
        for item in study.items(Trait.STARTS_BY_FLOW):
            source = solution.at(item.id, SourceFigures)
            if source is not None and source.running and source.short_w > NEAR * max(source.duty_w, 1.0):
                yield Found(
                    (item.id,),
                    f"{item.id} gives all its {study.heat(source.duty_w)} to "
                    f"{study.flow(source.flow_m3_s)}: {study.celsius(source.temperature_c)} instead of "
                    f"{study.warm(float(item.si['set_temperature']))}.",
                    (Figure("short_w", source.short_w),),
                    solution.case,
                )


@rule(
    "source-rise-too-great",
    "Great temperature rise in a source",
    Severity.MEND,
    "Little flow for its heat: thermal shock, boiling in its passages, lock-out.",
    "heat balance; 40 K: common practice, no source (the maker's limit counts)",
    "Raise its flow.",
    origin="source-max-dt",
    solved=True,
)
def source_rise_too_great(study: Study) -> Iterator[Found]:
    """Sources of closed circuits that raise their water by more than 40 K."""
    for solution, _ in study.each():
        for item in study.items(Trait.MAKES_HEAT):
            source, inlet = solution.at(item.id, SourceFigures), study.port_c(solution, item, "in")
            if source is None or inlet is None or not source.running or study.is_potable(study.body_of(item)):
                continue
            rise = source.temperature_c - inlet
            if rise > MOST_RISE_K and source.flow_m3_s > NO_FLOW:
                yield Found(
                    (item.id,),
                    f"{item.id} raises {study.flow(source.flow_m3_s)} by {study.span(rise)}.",
                    (Figure("rise_k", rise),),
                    solution.case,
                )


@rule(
    "source-above-most-flow",
    "More flow than a source is made for",
    Severity.MEND,
    "Beyond it water wears its passages and outlet temperature is not held.",
    "the maker's limit, as typed",
    "Throttle it, or share the flow among more sources.",
    solved=True,
)
def source_above_most_flow(study: Study) -> Iterator[Found]:
    """Sources that pass more than their greatest flow."""
    for solution, _ in study.each():
        for item in study.items(Trait.MAKES_HEAT):
            most, flow = item.si.get("max_flow"), abs(solution.flow(item.id))
            if most is not None and flow > float(most) * (1.0 + NEAR):
                yield Found(
                    (item.id,),
                    f"{item.id} passes {study.flow(flow)}; it is made for {study.flow(float(most))}.",
                    (Figure("flow_m3_s", flow),),
                    solution.case,
                )


@rule(
    "cold-return-to-boiler",
    "Return too cold for a boiler that must not condense",
    Severity.MEND,
    "Below about {55 °C|130 °F} flue gas condenses in it, and acid water eats boiler and chimney. A "
    "mixing valve "
    "before the loads does not keep its return warm.",
    "Minnesota Department of Commerce (published); a published trade report",
    "Mix hot water into its return, or give it a bypass circulator.",
    origin="noncond-return",
    ask="What the boiler and its flue bear is for the maker and a licensed trade.",
    solved=True,
)
def cold_return_to_boiler(study: Study) -> Iterator[Found]:
    """Boilers said not to condense with a steady return under 130 degF while they heat."""
    steady = {case.name for case in study.plant.solve_cases if case.lasts is None}
    for solution, _ in study.each():
        for item in study.items(Trait.MAKES_HEAT):
            source, inlet = solution.at(item.id, SourceFigures), study.port_c(solution, item, "in")
            if source is None or inlet is None or not must_not_condense(item) or solution.case not in steady:
                continue
            if source.duty_w > 0.0 and source.flow_m3_s > NO_FLOW and inlet < CONDENSES_C:
                yield Found(
                    (item.id,),
                    f"Water returns to {item.id} at {study.celsius(inlet)}; it must not fall below "
                    f"{study.celsius(CONDENSES_C)}.",
                    (Figure("return_c", inlet, -1),),
                    solution.case,
                )


@rule(
    "slab-on-boiler-without-protection",
    "Slab on a boiler whose return nothing keeps warm",
    Severity.MEND,
    "A cold slab sends cold water back for hours after each start.",
    "published trade report",
    "Put a mixing valve or bypass on the boiler's side that keeps its return above {55 °C|130 °F}.",
    origin="cold-start-mass",
)
def slab_on_boiler(study: Study) -> Iterator[Found]:
    """Boilers said not to condense that heat a slab in their own water with no valve mixing their return."""
    for item in study.items(Trait.MAKES_HEAT):
        if not must_not_condense(item):
            continue
        body = study.body_of(item)
        slabs = [
            one
            for one in study.items_in(body, Trait.LOOPED)
            if one.si.get("construction") == "slab" or one.has(Trait.MELTS_SNOW)
        ]
        if slabs and not _return_mixed(study, item):
            yield Found(
                (item.id, *(one.id for one in slabs)),
                f"{' and '.join(one.id for one in slabs)} can send cold water to {item.id} after each start.",
            )


def _return_mixed(study: Study, boiler: Item) -> bool:
    """Whether the water that enters a boiler comes from the common port of a mixing valve."""
    items = study.plant.items

    def onward(place: PortRef) -> list[PortRef]:
        ways = [w for w in study.runs.at.get(place, ()) if w.key != boiler.id]
        passing = [
            w
            for w in ways
            if w.is_pipe
            or not items[w.key].has(Trait.MIXES, Trait.WATER_STANDS, Trait.GIVES_HEAT, Trait.EXCHANGES_HEAT)
        ]
        return [w.end if w.start == place else w.start for w in passing]

    run = study.run(boiler)
    line = {w.start for w in run.ways} | {w.end for w in run.ways} if run is not None else set()
    near = [place for place in reached([PortRef(boiler.id, "in")], onward) if place in line]
    return any(
        items[p.item].has(Trait.MIXES) and p.port == items[p.item].ports[-1] for p in near if p.item in items
    )


@rule(
    "reset-below-tank",
    "Outdoor reset below what the tank needs",
    Severity.MEND,
    "In mild weather the source is set colder than the tank's stat: hot water is never made.",
    PRACTICE,
    "Let the tank's call lift the set point, or raise the low end of the line.",
    origin="reset-vs-dhw",
)
def reset_below_tank(study: Study) -> Iterator[Found]:
    """Resets whose line sets a source below what the stat of a tank that it heats asks."""
    for reset in study.items(Trait.RESETS):
        lows = [float(supply) for _, supply in reset.si.get("line") or ()]
        for name in reset.si.get("sets") or ():
            source = study.plant.items.get(name)
            if source is None or not source.has(Trait.MAKES_HEAT) or not lows or not source.stays:
                continue
            for stat, tank, held in tank_stats(study):
                if _heats(study, source, tank) and min(lows) < held + APPROACH_K:
                    yield Found(
                        (reset.id, source.id, tank.id, stat.id),
                        f"{reset.id} sets {source.id} down to {study.warm(min(lows))}; {stat.id} holds "
                        f"{tank.id} at {study.warm(held)}.",
                        (Figure("short_k", held + APPROACH_K - min(lows)),),
                    )


def tank_stats(study: Study) -> Iterator[tuple[Item, Item, float]]:
    """Stats that call for heat over a tank, with the tank and their set point, [K]."""
    for stat in study.items(Trait.STAT):
        senses = stat.si.get("senses")
        tank = study.plant.items.get(str(senses[0])) if senses else None
        held = stat.si.get("set_temperature")
        if tank is None or held is None or not tank.stays or stat.si.get("makes_on") == "rise":
            continue
        if tank.has(Trait.STORES_HEAT):
            yield stat, tank, float(held)


def _heats(study: Study, source: Item, tank: Item) -> bool:
    return any(
        study.body_at.get(place) in study.heated_with(source) for place in study.graph.places_of[tank.id]
    )


@rule(
    "store-set-above-source",
    "Store set warmer than its source gives",
    Severity.MEND,
    "The stat is never satisfied: the call never ends and the source never rests.",
    "second law",
    "Lower the stat, or raise the source's set point above it.",
)
def store_set_above_source(study: Study) -> Iterator[Found]:
    """Stats over stores set at or above the warmest set point of what heats them."""
    for stat, tank, held in tank_stats(study):
        sources = [one for one in study.items(Trait.MAKES_HEAT) if _heats(study, one, tank)]
        sets = [one.si.get("set_temperature") for one in sources]
        if not sets or any(one is None for one in sets) or float(tank.si.get("element") or 0.0) > 0.0:
            continue
        most = max(float(one) for one in sets if one is not None)
        if held >= most:
            yield Found(
                (stat.id, tank.id),
                f"{stat.id} wants {tank.id} at {study.warm(held)}; its sources give {study.warm(most)}.",
                (Figure("above_k", held - most),),
            )
