"""Rules of service: isolation, purging, draining, flushing, strainers, unions, what start-up must read."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import partial

from core.plant.model import Item, PortRef
from core.review.finding import Found, Rule, Severity, registrar
from core.review.study import Study
from core.vocabulary import Trait
from core.vocabulary.port_words import spoken_port
from core.vocabulary.waterways import Sides
from core.water.connections import driven
from core.water.numbers import grouped, reached
from core.water.ways import Way

RULES: list[Rule] = []
rule = registrar(RULES)
PRACTICE = "common practice, no source"
SERVED = (Trait.DRIVES, Trait.EXCHANGES_HEAT, Trait.TANK, Trait.MAKES_HEAT, Trait.MIXES)
EQUIPMENT = (
    Trait.DRIVES,
    Trait.MAKES_HEAT,
    Trait.GIVES_HEAT,
    Trait.EXCHANGES_HEAT,
    Trait.WATER_STANDS,
    Trait.BRINGS_WATER,
    Trait.DRAWS_WATER,
    Trait.USES_WATER,
)
CLEANING = (Trait.REMOVES_AIR, Trait.MIXES)
UNIONS = ("union", "flange")


@rule(
    "no-isolation",
    "No shut-off for service",
    Severity.CONSIDER,
    "Without a shut-off on each side the circuit must be drained to change it.",
    "published mechanical code text for exchangers and mixing valves; common practice for the rest",
    "Put a shut-off on each side.",
    origin="iso-both-sides",
    insert="shutoffs",
)
def no_isolation(study: Study) -> Iterator[Found]:
    """Parts that want service with a port from which water reaches other equipment past no hand valve."""
    for item in study.items(*SERVED):
        words = str(item.si.get("connection") or "")
        if "isolat" in words or "valve" in words:
            continue
        ports = _open_ports(study, item)
        if ports:
            verb = "has" if len(ports) == 1 else "have"
            yield Found(
                (item.id,),
                f"{_listed(ports)} of {item.id} {verb} no shut-off before the next tee or equipment.",
            )


def _listed(names: list[str]) -> str:
    spoken = [spoken_port(name) for name in names]
    return f"Port {spoken[0]}" if len(spoken) == 1 else f"Ports {', '.join(spoken)}"


def _open_ports(study: Study, item: Item) -> list[str]:
    found = []
    for port in item.ports:
        pipe = study.pipe_at(item, port)
        if pipe is not None and pipe.id in study.runs.of and _meets_equipment(study, item, port):
            found.append(port)
    return found


def _meets_equipment(study: Study, item: Item, port: str) -> bool:
    """Whether water from a port comes to other equipment past no hand valve.

    A mixing valve may share its valves with what lies behind the next tees; all else wants its own.
    """
    items = study.plant.items
    # A source shares its valves with its air separator; before an outlet a mixing valve needs none.
    alike = Trait.DRAWS_WATER if item.has(Trait.MIXES) else Trait.REMOVES_AIR
    source = item.has(Trait.MAKES_HEAT, Trait.EXCHANGES_HEAT, Trait.MIXES)
    equipment = tuple(one for one in EQUIPMENT if not (source and one is alike))
    next_to = (*equipment, *(one for one in CLEANING if not (source and one is alike)))
    line = study.runs.from_port(PortRef(item.id, port))
    for way in line:
        one = items.get(way.key)
        if way.hand_valve and not way.part:
            return False
        shared = item.has(Trait.MAKES_HEAT) and way.drives
        if one is not None and one.has(*next_to) and not shared:
            return True
    if not line or not item.has(Trait.MIXES):
        return bool(line)

    def onward(place: PortRef) -> list[PortRef]:
        if place.item in items and place.item != item.id and items[place.item].has(*equipment):
            return []
        ways = [w for w in study.runs.at.get(place, ()) if w.key != item.id and not w.hand_valve]
        return [w.end if w.start == place else w.start for w in ways]

    last = line[-1]
    at = {way.key for way in line}
    ends = [p for p in (last.start, last.end) if any(w.key not in at for w in study.runs.at.get(p, ()))]
    met = {p.item for p in reached(ends, onward)} - {item.id} - at
    return any(items[key].has(*equipment) for key in met if key in items)


@rule(
    "no-purge-point",
    "Loop without a purge station",
    Severity.CONSIDER,
    "It can be neither filled nor freed of air: that takes a hose tap on each side of a valve that shuts.",
    PRACTICE,
    "Put a purge set into its return.",
    origin="purge-points",
    insert="purge set",
)
def no_purge_point(study: Study) -> Iterator[Found]:
    """Circulators of closed bodies on whose ways round there is no valve with a hose tap on each side."""
    others = {item.id for item in study.items(Trait.DRIVES)}
    stations = {item.id for item in study.items(Trait.HAND_VALVE) if _taps_at(study, item) > 1}
    for item in study.items(Trait.DRIVES):
        if item.id not in study.runs.of or study.is_potable(study.body_of(item)):
            continue
        ahead = study.arrows.from_([PortRef(item.id, "out")], {*others, ""})
        met = stations & {place.item for place in ahead}
        if met:  # some may hang on the return of another circuit
            ways = driven(study.graph, [item.id], partial(_not_through, others - {item.id}))
            met &= {way.key for way in ways}
        if item.id in study.driven and not met:
            run = study.run(item)
            yield Found(
                (item.id, *(key for key in (run.keys if run is not None else ()) if key != item.id)),
                f"No valve with a hose tap on each side lies on the way round of {item.id}.",
            )


def _not_through(names: set[str], way: Way) -> bool:
    return not way.parts and way.key not in names


def _taps_at(study: Study, valve: Item) -> int:
    """Sides of a hand valve with a hose tap near, its own hose counted as one; a purge set has both."""
    if valve.has(Trait.DRAINS):
        return 2
    own = int(len(valve.ports) > 2)
    return own + sum(_tap_beside(study, valve, port) for port in valve.ports[:2])


def _tap_beside(study: Study, valve: Item, port: str) -> bool:
    """Whether a hose tap lies on one side of a valve before the next equipment or valve."""

    def onward(place: PortRef) -> list[PortRef]:
        near = [
            w for w in study.graph.ways_at.get(place, ()) if w.key != valve.id and _short_of(study, w, valve)
        ]
        return [w.end if w.start == place else w.start for w in near]

    items = study.plant.items
    met = {p.item for p in reached([PortRef(valve.id, port)], onward)} - {valve.id}
    return any(
        items[key].has(Trait.DRAINS) or len(items[key].ports) > 2 for key in met if _is_tap(items, key)
    )


def _is_tap(items: Mapping[str, Item], key: str) -> bool:
    return key in items and items[key].has(Trait.DRAINS, Trait.HAND_VALVE)


@rule(
    "no-drain",
    "Section without a drain",
    Severity.CONSIDER,
    "Between its valves it cannot be emptied for service, or before a frost.",
    PRACTICE,
    "Put a drain at its low point.",
    origin="drain-low-point",
    insert="drain",
)
def no_drain(study: Study) -> Iterator[Found]:
    """Sources and stores whose water between hand valves no drain reaches; bodies with a low point below."""
    section = _sections(study)
    drained = {section[place] for item in study.items(Trait.DRAINS) for place in _drains_at(study, item)}
    drained |= {section[w.start] for w in study.graph.ways if w.hand_valve and w.part}
    said: set[PortRef] = set()
    for item in study.items(Trait.MAKES_HEAT, Trait.TANK, Trait.BUFFER):
        places = [p for p in study.graph.places_of[item.id] if not p.port.startswith("coil")]
        own = {section[p] for p in places}
        if own and own.isdisjoint(drained) and own.isdisjoint(said):
            said |= own
            yield Found((item.id,), f"The water of {item.id} between its valves has no drain.")


def _drains_at(study: Study, item: Item) -> list[PortRef]:
    return [place for place in study.graph.places_of[item.id] if item.has(Trait.ENDS_RUN)]


def _sections(study: Study) -> dict[PortRef, PortRef]:
    """What hangs together between hand valves, shut or not."""
    ways = [w for w in study.graph.ways if not w.parts and not w.to_air and not (w.hand_valve and not w.part)]
    return grouped(study.graph.places, [(w.start, w.end) for w in ways])


@rule(
    "low-point-without-drain",
    "Low point without a drain",
    Severity.CONSIDER,
    "Water and dirt stay there, and it freezes first.",
    PRACTICE,
    "Put a drain at the low point.",
    origin="drain-low-point",
)
def low_point_without_drain(study: Study) -> Iterator[Found]:
    """Closed bodies whose lowest water lies well below their lowest drain."""
    for body in study.bodies:
        if study.is_potable(body):
            continue
        places = [p for p in body if p.item in study.plant.items and p in study.plant.pipes_at]
        if not places:
            continue
        lowest = min(places, key=lambda p: (study.height(p), p))
        taps = [p for p in body if p.item in study.plant.items and _taps(study, p)]
        least = min((study.height(p) for p in taps), default=None)
        item = study.plant.items[lowest.item]
        if least is None and study.items_in(body, Trait.DRIVES):
            yield Found((item.id,), f"The water of {item.id} has no drain at all.")
        elif least is not None and study.height(lowest) < least - 0.5:
            yield Found(
                (item.id,),
                f"{item.id} lies {study.length(least - study.height(lowest))} below the lowest drain.",
            )


def _taps(study: Study, place: PortRef) -> bool:
    item = study.plant.items[place.item]
    return item.has(Trait.DRAINS) or (item.has(Trait.HAND_VALVE) and len(item.ports) > 2)


@rule(
    "no-flushing-ports",
    "No ports to flush scale out",
    Severity.CONSIDER,
    "Drinking water leaves scale in narrow ways: 10 to 15 % of the heat or 20 to 30 % more pressure lost "
    "call "
    "for cleaning, through hose ports inside the shut-offs.",
    "published maintenance text",
    "Take service valves with hose ports on both sides.",
    origin="hx-flush",
)
def no_flushing_ports(study: Study) -> Iterator[Found]:
    """Exchanger sides in drinking water, and on-demand heaters, without a hose port on both sides."""
    for item in study.items(Trait.EXCHANGES_HEAT, Trait.STARTS_BY_FLOW):
        for inlet, outlet in _sides(item):
            if not _scales(study, item, inlet):
                continue
            bare = [port for port in (inlet, outlet) if not _hose_near(study, item, port)]
            if bare:
                yield Found(
                    (item.id,),
                    f"{_listed(bare)} of {item.id} {'has' if len(bare) == 1 else 'have'} no hose port.",
                )


def _scales(study: Study, item: Item, port: str) -> bool:
    body = study.body_of(item, port)
    live = (pipe := study.pipe_at(item, port)) is not None and pipe.id in study.runs.of
    return live and study.is_potable(body)


def _sides(item: Item) -> list[tuple[str, str]]:
    way = item.kind_info.waterway
    return [(a, b) for _, a, b, _ in way.ways] if isinstance(way, Sides) else [("in", "out")]


def _hose_near(study: Study, item: Item, port: str) -> bool:
    """Whether a hose tap lies before the first hand valve from a port, or on that valve."""

    def onward(place: PortRef) -> list[PortRef]:
        near = [w for w in study.graph.ways_at[place] if _short_of(study, w, item)]
        return [w.end if w.start == place else w.start for w in near]

    for place in reached([PortRef(item.id, port)], onward):
        one = study.plant.items.get(place.item)
        if one is not None and (one.has(Trait.DRAINS) or (one.has(Trait.HAND_VALVE) and len(one.ports) > 2)):
            return True
    return False


def _short_of(study: Study, way: Way, item: Item) -> bool:
    one = study.plant.items.get(way.key)
    return way.is_pipe or (
        one is not None and one.id != item.id and not one.has(Trait.HAND_VALVE, *EQUIPMENT) and not way.parts
    )


@rule(
    "no-strainer",
    "No strainer ahead",
    Severity.CONSIDER,
    "Dirt lodges in the narrow ways of exchangers and in the seats of mixing valves.",
    "published handbook excerpt; guidance for mixing valves",
    "Put a strainer into the way to its inlet.",
    origin="strainer-hx",
    insert="strainer",
    solved=True,
)
def no_strainer(study: Study) -> Iterator[Found]:
    """Exchanger sides and mixing valves whose water passes no strainer in some solved case."""
    for item in study.items(Trait.EXCHANGES_HEAT, Trait.TEMPERS):
        inlets = [a for a, _ in _sides(item)] if item.has(Trait.EXCHANGES_HEAT) else ["hot"]
        bare = [port for port in inlets if _unstrained(study, item, port)]
        if bare:
            yield Found(
                (item.id,),
                f"Water comes to {', '.join(map(spoken_port, bare))} of {item.id} past no strainer.",
            )
    for body in study.bodies:
        pumps = [one for one in study.items_in(body, Trait.DRIVES) if one.id in study.runs.of]
        narrow = study.items_in(body, Trait.EXCHANGES_HEAT, Trait.TEMPERS, Trait.HOLDS_DIRT)
        if pumps and not narrow and not study.is_potable(body):
            names = ", ".join(one.id for one in pumps)
            yield Found(tuple(one.id for one in pumps), f"Nothing holds back dirt from {names}.")


def _unstrained(study: Study, item: Item, port: str) -> bool:
    pipe = study.pipe_at(item, port)
    if pipe is None or pipe.id not in study.runs.of:
        return False
    seen, mains = False, {one.id for one in study.items(Trait.BRINGS_WATER)}
    for solution, stream in study.each():
        if pipe.id in study.flowing[solution.case]:
            names = {place.item for place in stream.upstream(PortRef(item.id, port))}
            if study.is_potable([PortRef(item.id, port)]) and mains.isdisjoint(names):
                continue  # drinking water going round was strained when it came in
            seen = True
            if not any(one.id in names for one in study.items(Trait.HOLDS_DIRT)):
                return True
    return not seen and not study.items_in(study.body_of(item, port), Trait.HOLDS_DIRT)


@rule(
    "no-dirt-separator",
    "Nothing holds dirt back from the source",
    Severity.CONSIDER,
    "Magnetite from iron parts collects in exchangers, sources and permanent-magnet circulators.",
    PRACTICE,
    "Put a dirt or magnetic separator into the return to the source.",
    origin="dirt-sep-source",
    insert="dirt separator",
    solved=True,
)
def no_dirt_separator(study: Study) -> Iterator[Found]:
    """Sources of closed bodies with iron in them whose return passes neither dirt separator nor strainer."""
    for item in study.items(Trait.MAKES_HEAT):
        body = study.body_of(item)
        if study.is_potable(body) or item.id not in study.runs.of:
            continue
        iron = [one.id for one in study.items_in(body) if _iron(one)]
        iron += [p.id for p in study.graph.pipes_at(body) if "steel" in str((p.tube or {}).get("material"))]
        if iron and _unstrained(study, item, "in"):
            yield Found(
                (item.id,),
                f"Water of a body with iron in it ({', '.join(iron[:3])}) comes to {item.id} with nothing "
                "that "
                "holds dirt back.",
            )


def _iron(item: Item) -> bool:
    return item.si.get("ferrous") is True or item.si.get("body") == "cast_iron"


@rule(
    "no-union-at-circulator",
    "Circulator without unions or flanges",
    Severity.CONSIDER,
    "It can only be cut out.",
    PRACTICE,
    "Put a union or flange on each side.",
)
def no_union_at_circulator(study: Study) -> Iterator[Found]:
    """Circulators that are said to be joined otherwise, with no union on the pipes beside."""
    for item in study.items(Trait.DRIVES):
        words = str(item.si.get("connection") or "").lower()
        pipes = study.pipes_of(item)
        loose = any(word in words for word in (*UNIONS, "isolat", "valve"))
        beside = [pipe for pipe in pipes if pipe.fittings.get("union") or pipe.joined]
        if words and not loose and len(beside) < len(pipes):
            yield Found((item.id,), f"{item.id} is joined by {words}, with no union on each side.")


@rule(
    "no-thermometer-behind-mixing-valve",
    "Mixing valve that start-up cannot set",
    Severity.CONSIDER,
    "It is set by the temperature behind it.",
    PRACTICE,
    "Put a thermometer behind it.",
)
def no_thermometer(study: Study) -> Iterator[Found]:
    """Mixing valves with no thermometer, stat or outlet on the water behind them."""
    sensed = {str(one.si["senses"][0]) for one in study.items(Trait.STAT) if one.si.get("senses")}
    for item in study.items(Trait.MIXES):
        outlet = item.ports[-1]
        pipe = study.pipe_at(item, outlet)
        if pipe is None or pipe.id not in study.runs.of:
            continue

        def onward(place: PortRef, own: str = item.id) -> list[PortRef]:
            ways = [w for w in study.graph.ways_at[place] if w.key != own and not _ends_reading(study, w)]
            return [w.end if w.start == place else w.start for w in ways]

        places = reached([PortRef(item.id, outlet)], onward)
        met = {place.item for place in places} | {w.key for p in places for w in study.graph.ways_at[p]}
        shown = Trait.SHOWS_TEMPERATURE, Trait.DRAWS_WATER
        if met.isdisjoint(sensed) and not any(
            study.plant.items[key].has(*shown) for key in met if key in study.plant.items
        ):
            yield Found((item.id,), f"No thermometer shows what {item.id} mixes.")


def _ends_reading(study: Study, way: Way) -> bool:
    item = study.plant.items.get(way.key)
    return item is not None and item.has(
        Trait.GIVES_HEAT, Trait.WATER_STANDS, Trait.MIXES, Trait.EXCHANGES_HEAT
    )
