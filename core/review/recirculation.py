"""Rules of hot water circulation: its check, its balance, its flow, and how long a tap waits."""

from __future__ import annotations

import math
from collections.abc import Iterator

from core.plant.model import Item, Pipe, PortRef
from core.review.finding import Figure, Found, Rule, Severity, registrar
from core.review.study import Study
from core.solve.solution import Solution
from core.vocabulary import Trait
from core.water.connections import shortest
from core.water.no_flow import NO_FLOW
from core.water.numbers import reached
from core.water.stream import Stream
from core.water.ways import Way

RULES: list[Rule] = []
rule = registrar(RULES)
PRACTICE = "common practice, no source"
DROP_K = 10.0 / 1.8  # [K]
WAIT_S = 30.0
HEATS = (Trait.MAKES_HEAT, Trait.TANK, Trait.EXCHANGES_HEAT)


def circulators(study: Study) -> list[Item]:
    """Circulators of drinking water that draw from lines which taps hang on, not past what heats.

    What draws cold water from a main, as a booster does, circulates none.
    """
    pumps = [one for one in study.items(Trait.DRIVES) if PortRef(one.id, "in") not in cold_places(study)]
    return [one for one in pumps if _from_taps(study, one)]


def cold_places(study: Study) -> dict[PortRef, None]:
    """Places that water of the mains gets to before what heats, stores or mixes it."""
    mains = [PortRef(item.id, "at") for item in study.items(Trait.BRINGS_WATER)]
    past = {*(item.id for item in study.items(*HEATS, Trait.TEMPERS)), ""}
    return study.once("cold places", lambda: study.arrows.from_(mains, past))


def _from_taps(study: Study, pump: Item) -> bool:
    if not study.is_potable(study.body_of(pump)):
        return False
    items = study.plant.items

    def onward(place: PortRef) -> list[PortRef]:
        ways = [w for w in study.graph.ways_at[place] if w.is_pipe or not _turns_back(items[w.key], pump)]
        return [w.end if w.start == place else w.start for w in ways if not w.parts and not w.to_air]

    places = reached([PortRef(pump.id, "in")], onward)
    return any(
        items[p.item].has(Trait.DRAWS_WATER) or (items[p.item].has(Trait.TEMPERS) and p.port == "hot")
        for p in places
        if p.item in items
    )


def _turns_back(item: Item, pump: Item) -> bool:
    return item.id == pump.id or item.has(*HEATS, Trait.MIXES, Trait.BRINGS_WATER)


@rule(
    "circulation-without-check",
    "Hot water circulation without a check valve",
    Severity.MEND,
    "When a tap opens, cold water comes to it backward through the return.",
    PRACTICE,
    "Put a check valve behind the circulator.",
    origin="recirc-check",
    insert="check valve",
)
def circulation_without_check(study: Study) -> Iterator[Found]:
    """Circulators of hot water with no check on their run."""
    for pump in circulators(study):
        checked = any(one.has(Trait.CHECKS) for one in study.on_run(pump))
        if pump.id in study.runs.of and not checked and not pump.si.get("integral_check"):
            yield Found(
                (pump.id,), f"No check valve lies between {pump.id} and the cold water that it joins."
            )


@rule(
    "circulation-not-balanced",
    "Return branches that nothing balances",
    Severity.CONSIDER,
    "The nearest branch takes the flow, and the far taps stay cold.",
    PRACTICE,
    "Put a balance valve into each return branch.",
    origin="recirc-balance",
    solved=True,
)
def circulation_not_balanced(study: Study) -> Iterator[Found]:
    """Return branches that meet before a circulator with no balance valve or check in one of them."""
    for pump in circulators(study):
        for solution, stream in study.each():
            found = _bare_returns(study, solution, stream, pump)
            if found:
                names = ", ".join(found)
                yield Found(
                    (pump.id, *found),
                    f"Returns meet before {pump.id}; {names} {'has' if len(found) == 1 else 'have'} no "
                    "balance "
                    "valve.",
                    case=solution.case,
                )
                break


def _bare_returns(study: Study, solution: Solution, stream: Stream, pump: Item) -> list[str]:
    """Last pipes of the returns that meet before a circulator with nothing to balance them."""
    if not solution.running(pump.id):
        return []
    items = study.plant.items
    before = stream.upstream_until(
        PortRef(pump.id, "in"), lambda key: key in items and items[key].has(*HEATS, Trait.MIXES)
    )
    found = []
    for place in before:
        if place.item in items and not items[place.item].has(Trait.JOINS, Trait.DIVIDES):
            continue
        comes = [w for w in study.runs.at.get(place, ()) if _inward(stream, w, place) and not w.to_air]
        if len(comes) < 2:
            continue
        for way in comes:
            run = study.runs.of.get(way.key)
            if run is not None and not any(
                one.has(Trait.BALANCES, Trait.CHECKS) for one in study.runs.items(run)
            ):
                found.append(way.key if way.is_pipe else run.pipes[-1])
    return found


def _inward(stream: Stream, way: Way, place: PortRef) -> bool:
    flow = stream.flow[way]
    return flow > NO_FLOW if way.end == place else flow < -NO_FLOW


@rule(
    "circulation-too-slow",
    "Circulation that cools too far",
    Severity.CONSIDER,
    "Less flow than the pipes lose heat lets the tail of the loop cool below what keeps Legionella down.",
    "US Army Corps of Engineers ETL 1110-3-489 (1998): 5 to 10 °F",
    "Raise the flow, or insulate the pipes.",
    origin="recirc-sizing",
    ask="Temperatures against Legionella and scalding are for local code and a licensed plumber.",
    solved=True,
)
def circulation_too_slow(study: Study) -> Iterator[Found]:
    """Running circulators of hot water with less flow than the loss of their pipes at 10 degF asks."""
    from core.sizing.demand.returns import pipe_loss_heat
    from core.working import given

    for pump in circulators(study):
        fluid = study.fluid(pump)
        for solution, stream in study.each():
            flow = solution.flow(pump.id)
            if not solution.running(pump.id) or flow <= NO_FLOW or fluid is None or _drawing(study, solution):
                continue
            pipes = [study.plant.pipes[key] for key in _on_loop(study, stream, pump)]
            warm = max((solution.pipes[one.id].warmest_c for one in pipes), default=0.0) + 273.15
            water = given("T_m", "water in the loop", warm, "temperature", "solved")
            lost = [pipe_loss_heat(study.sizing, one, water) for one in pipes]
            heat = sum(float(one.value) for one in lost if one is not None)
            needed = heat / (fluid.density(warm) * fluid.heat_capacity(warm) * DROP_K)
            if flow < needed:
                yield Found(
                    (pump.id,),
                    f"{pump.id} moves {study.flow(flow)}; its loop loses {study.heat(heat)}, for which "
                    f"{study.flow(needed)} are wanted at a drop of {study.span(DROP_K)}.",
                    (Figure("flow_m3_s", flow, -1),),
                    solution.case,
                )


def _drawing(study: Study, solution: Solution) -> bool:
    return any(solution.flow(one.id) > NO_FLOW for one in study.items(Trait.DRAWS_WATER))


def _on_loop(study: Study, stream: Stream, pump: Item) -> list[str]:
    """Pipes of the supply and return of a circulator, not past what heats or mixes."""
    items = study.plant.items
    before = stream.upstream_until(
        PortRef(pump.id, "in"), lambda key: key in items and items[key].has(*HEATS, Trait.MIXES)
    )
    at = set(before)
    return [p.id for p in study.plant.pipes.values() if p.start in at and p.end in at]


@rule(
    "long-wait",
    "Long wait for warm water",
    Severity.CONSIDER,
    "What stands in the pipe runs to waste first, cooled into the range where Legionella grows.",
    "published trade guidance; code limits vary by place",
    "Run the circulation nearer, or take a smaller or shorter pipe.",
    origin="wait-time",
    solved=True,
)
def long_wait(study: Study) -> Iterator[Found]:
    """Outlets with more than half a minute of standing water before them."""
    warm = _warm_places(study)
    for item in study.items(Trait.DRAWS_WATER):
        flow = item.si.get("flow")
        line = _standing(study, item, warm)
        if not flow or line is None:
            continue
        volume = sum(math.pi * one.si.bore**2 / 4.0 * one.si.length for one in line)
        seconds = volume / float(flow)
        if seconds > WAIT_S:
            yield Found(
                (item.id, *(one.id for one in line)),
                f"{study.volume(volume)} stand before {item.id}: {seconds:.0f} s at "
                f"{study.flow(float(flow))}.",
                (Figure("wait_s", seconds),),
                guess=any(one.id in study.guessed for one in line),
            )


def _warm_places(study: Study) -> set[PortRef]:
    """Places kept warm: what heats or stores, and what circulation passes."""
    found = {p for one in study.items(*HEATS) for p in study.graph.places_of[one.id]}
    for pump in circulators(study):
        for solution, stream in study.each():
            if solution.running(pump.id):
                keys = set(stream.circuit(pump.id))
                found |= {end for k in keys & set(study.plant.pipes) for end in _ends(study.plant.pipes[k])}
    return found


def _ends(pipe: Pipe) -> tuple[PortRef, PortRef]:
    return pipe.start, pipe.end


def _standing(study: Study, item: Item, warm: set[PortRef]) -> list[Pipe] | None:
    """Pipes from an outlet's hot port to the next warm place; None where no warm water comes to it."""

    def passes(way: Way, place: PortRef) -> bool:
        against = way.one_way and way.start == place
        return not (way.parts or way.to_air or against or way.part == "cold")

    found = shortest(study.graph, PortRef(item.id, "hot"), warm.__contains__, passes)
    pipes = study.plant.pipes
    return None if found is None else [pipes[way.key] for way, _ in found if way.is_pipe]
