"""Rules of expansion of drinking water: a tank where it cannot swell back, at the right place."""

from __future__ import annotations

from collections.abc import Iterator

from core.plant.model import Item, PortRef
from core.review.branches import can_close, is_kept_open
from core.review.expansion import ASK, tanks_in
from core.review.finding import Found, Rule, Severity, registrar
from core.review.heated import Heated, heated
from core.review.study import Study
from core.vocabulary import Trait
from core.water.branches import along, branch
from core.water.connections import reach
from core.water.ways import Way

RULES: list[Rule] = []
rule = registrar(RULES)


@rule(
    "drinking-water-cannot-swell",
    "Drinking water behind a check without expansion tank",
    Severity.STOP,
    "A check, reducer or backflow preventer keeps heated water from swelling back into the main: pressure "
    "rises at every heating until the relief valve drips or a part bursts.",
    "IPC 607.3 as cited in stored texts; 50 gal from 50 to 140 °F gain 0.84 gal",
    "Join an expansion tank for drinking water on the cold pipe, between the heater and its shut-off.",
    origin="potable-et",
    ask=ASK,
    insert="expansion tank",
)
def drinking_water_cannot_swell(study: Study) -> Iterator[Found]:
    """Heated drinking water that can neither get back to the main nor into a tank."""
    for body in heated(study):
        if not body.potable or body.mixed:
            continue
        vessels = [item for item in study.items_in(body.places, Trait.TANK) if item not in body.by]
        left = [(item, stopped) for item in (*body.by, *vessels) if (stopped := _stops(study, body, item))]
        while left:
            stopped = left[0][1]
            alike = [item for item, by in left if by == stopped]
            left = [(item, by) for item, by in left if by != stopped]
            alike.sort(key=lambda item: not item.has(Trait.TANK))
            names = tuple(item.id for item in alike)
            words = f"Water heated by {names[0]} cannot swell back past {stopped}, and no tank takes it."
            # What heats only what is drawn holds little: there the rule is weighed by local code.
            little = all(item.has(Trait.STARTS_BY_FLOW) for item in alike)
            yield Found(names, words, severity=Severity.MEND if little else None)


def _stops(study: Study, body: Heated, vessel: Item) -> str:
    """What keeps water of a vessel from swelling back into the main; empty where it can, or into a tank."""
    items = study.plant.items

    def passes(way: Way) -> bool:
        if way.is_pipe:
            return True
        return not way.to_air and not items[way.key].has(Trait.HOLDS_OUTLET_PRESSURE, Trait.STOPS_BACKFLOW)

    back = along(study.graph, body.places_of(vessel), passes)
    if any(item.has(Trait.BRINGS_WATER, Trait.EXPANDS) for item in study.graph.items_at(back)):
        return ""
    holds = [
        way.key
        for way in study.graph.ways
        if not way.is_pipe
        and not way.to_air
        and way.end in back
        and way.start not in back
        and items[way.key].has(Trait.HOLDS_OUTLET_PRESSURE, Trait.STOPS_BACKFLOW, Trait.CHECKS)
    ]
    return ", ".join(dict.fromkeys(holds)) or "what closes it off"


@rule(
    "drinking-water-tank-placed-wrong",
    "Expansion tank of drinking water at the wrong place",
    Severity.CONSIDER,
    "It must stay open to the heater: on its cold pipe, after the last valve and check before it.",
    "national standard work specification 7.8104.8, published",
    "Join it between the heater's cold inlet and the shut-off before it.",
    origin="potable-et-location",
    ask=ASK,
)
def drinking_water_tank_placed_wrong(study: Study) -> Iterator[Found]:
    """Tanks of drinking water that a valve or check parts from every source, or on the hot side."""
    for body in heated(study):
        if not body.potable:
            continue
        tanks = tanks_in(study, body)
        stores = study.items_in(body.places, Trait.TANK) or list(body.by)
        near = reach(
            study.graph,
            [place for item in stores for place in body.places_of(item)],
            lambda way: not (way.parts or way.to_air or _shuts(study, way)),
        )
        for tank in tanks:
            end = branch(study.graph, PortRef(tank.id, "at")).end
            if end not in near and PortRef(tank.id, "at") not in near:
                names = tuple(item.id for item in stores)
                words = f"A valve or check can part {tank.id} from {', '.join(names)}."
                yield Found((tank.id, *names), words)
            elif not _on_cold_side(study, body, end):
                names = tuple(item.id for item in stores)
                words = f"{tank.id} stands on hot water of {', '.join(names)}, not on the cold pipe."
                yield Found((tank.id, *names), words)


def _on_cold_side(study: Study, body: Heated, place: PortRef) -> bool:
    """Whether a place is joined to where cold water comes in, past no heater, mixing valve or pump."""
    mains = study.items_in(body.places, Trait.BRINGS_WATER)
    past = (Trait.TANK, Trait.MAKES_HEAT, Trait.MIXES, Trait.TEMPERS, Trait.DRIVES)
    items = study.plant.items

    def passes(way: Way) -> bool:
        return way.is_pipe or not (way.parts or way.to_air or items[way.key].has(*past))

    found = reach(study.graph, [place], passes)
    return not mains or any(PortRef(main.id, port) in found for main in mains for port in main.ports)


def _shuts(study: Study, way: Way) -> bool:
    return can_close(study, way) and not (way.hand_valve and is_kept_open(study.plant.items[way.key]))
