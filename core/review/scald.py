"""Rules of scalding: mixing valves between hot stores and taps, their class, checks and circulation."""

from __future__ import annotations

from collections.abc import Iterator

from core.plant.model import Item, PortRef
from core.review.branches import is_drinking, items_of, said_in_words, said_plainly
from core.review.drinking_water import cold_pipes
from core.review.finding import Figure, Found, Rule, Severity, registrar
from core.review.recirculation import circulators
from core.review.sources import tank_stats
from core.review.study import Study
from core.vocabulary import Trait
from core.water.branches import branch
from core.water.protection import water_of

RULES: list[Rule] = []
rule = registrar(RULES)
PRACTICE = "common practice, no source"
ASK = (
    "Water of {60 °C|140 °F} burns in 5 seconds. Mixing valves, their class and set points are for local "
    "code and a "
    "licensed plumber: ask what is wanted at each tap."
)
SCALDS = 54.4  # [degC] 130 °F, from which a store wants a mixing valve before its taps
DROP = 0.6  # [m] about 24 in, by which a mixing valve should hang below the top of the tank
TAP = 49.0  # [degC] most at a tap for bathing, from memory of ASSE 1070: 120 °F
OWN_HEAT = ("dishwasher", "washing_machine")
OWN_HEAT_WORDS = ("dishwasher", "washing machine", "washer")
BATHES = ("shower", "bathtub", "bidet")
GUARDS_WORDS = (
    "anti-scald",
    "antiscald",
    "pressure balanc",
    "pressure-balanc",
    "thermostatic",
    "1016",
    "1070",
)
BATHES_WORDS = ("shower", "bath", "tub")


def valves(study: Study) -> list[Item]:
    """Mixing valves of drinking water."""
    return [item for item in study.items(Trait.TEMPERS) if is_drinking(study, item)]


def fed_from(study: Study, start: PortRef) -> list[Item]:
    """Outlets whose hot port water from a place gets to with no mixing valve between."""
    shut = {*(item.id for item in study.items(Trait.TEMPERS)), *cold_pipes(study), ""}
    places = study.arrows.from_([start], shut)
    return [i for i in study.items(Trait.DRAWS_WATER) if _hot(i) in places and study.pipe_at(i, _hot(i).port)]


def _hot(item: Item) -> PortRef:
    return PortRef(item.id, item.ports[0])


def store_c(study: Study, tank: Item) -> float | None:
    """Hottest water a tank is held at: by its stats, what cases say, or solved, [degC]."""
    found = [held - 273.15 for _, one, held in tank_stats(study) if one.id == tank.id]
    found += [float(t) for s in study.solutions if (t := s.value(tank.id, "temperature_c")) is not None]
    return max(found, default=None)


@rule(
    "hot-store-unmixed",
    "Hot water to taps without a mixing valve",
    Severity.STOP,
    "Water stored hot enough against Legionella burns to the bone in 5 seconds at {60 °C|140 °F}.",
    "published burn times; IMC 1002.2: above 140 °F an ASSE 1017 valve, published",
    "Put a thermostatic mixing valve between the tank and the taps.",
    origin="tmv-after-storage",
    ask=ASK,
    insert="mixing valve",
    solved=True,
)
def hot_store_unmixed(study: Study) -> Iterator[Found]:
    """Outlets that water of 130 °F or more gets to from a tank or heater, or from a valve that is set so."""
    said: set[str] = set()
    for store in _stores(study):
        t = store_c(study, store) if store.has(Trait.TANK) else _set_c(store)
        if t is None or t < SCALDS - 0.1:
            continue
        start = next(iter(water_of(study.graph, store.id)), None)
        start = PortRef(store.id, "out") if store.has(Trait.MAKES_HEAT) else start
        taps = [
            i for i in (fed_from(study, start) if start else []) if not _wants_hot(i) and i.id not in said
        ]
        if taps:
            said |= {item.id for item in taps}
            names = tuple(item.id for item in taps)
            words = f"{store.id} holds {study.celsius(t)}; no mixing valve stands before {', '.join(names)}."
            yield Found((*names, store.id), words, (Figure("store_c", t),))
    for valve in valves(study):
        t = _set_c(valve)
        if t is None or t < SCALDS - 0.1 or study.said(valve, "duty") == "point_of_use":
            continue  # of those for the point of use a rule of its own says it
        taps = [item for item in fed_from(study, PortRef(valve.id, "mixed")) if not _wants_hot(item)]
        if taps:
            names = tuple(item.id for item in taps)
            words = f"{valve.id} is set to {study.celsius(t)} and alone guards {', '.join(names)}."
            yield Found((valve.id, *names), words, (Figure("set_c", t),), severity=Severity.MEND)


def _stores(study: Study) -> list[Item]:
    inside = [i for i in study.items(Trait.TANK) if study.is_potable(study.water_body(i))]
    return [*inside, *(i for i in study.items(Trait.MAKES_HEAT) if is_drinking(study, i))]


def _set_c(source: Item) -> float | None:
    value = source.si.get("set_temperature")
    return value - 273.15 if isinstance(value, float) else None


def _wants_hot(item: Item) -> bool:
    return item.si.get("fixture_type") in OWN_HEAT or said_in_words(item, *OWN_HEAT_WORDS)


@rule(
    "master-valve-alone",
    "Master mixing valve alone before a bath or shower",
    Severity.STOP,
    "A master valve is not made to keep a bather from scalds: it drifts at small flow and when it fails.",
    "IPC 412.5 and trade article, published: ASSE 1016 or 1070 at the outlet",
    "Put a valve listed for the point of use at the bath, shower or public lavatory.",
    origin="tmv-class",
    ask=ASK,
)
def master_valve_alone(study: Study) -> Iterator[Found]:
    """Master valves behind which baths, showers or public lavatories have no valve of their own."""
    for valve in valves(study):
        duty = study.said(valve, "duty")
        taps = [item for item in fed_from(study, PortRef(valve.id, "mixed")) if bathes(item)]
        taps = [item for item in taps if not said_plainly(item, *GUARDS_WORDS)]
        if not taps or duty == "point_of_use":
            continue
        names = tuple(item.id for item in taps)
        if duty is None:
            words = f"What {valve.id} is listed for is not known; it alone guards {', '.join(names)}."
            yield Found((valve.id, *names), words, severity=Severity.CONSIDER)
            continue
        bare = [item for item in taps if study.pipe_at(item, item.ports[-1]) is None]
        words = f"{valve.id} is a master valve, and alone guards {', '.join(names)}."
        if not bare:
            words += " Hot and cold are mixed there: look whether that valve is listed against scalds."
        yield Found((valve.id, *names), words, severity=None if bare else Severity.MEND)


def bathes(item: Item) -> bool:
    """Whether somebody bathes at an outlet, or it is a public lavatory."""
    kind = item.si.get("fixture_type")
    if kind:
        return kind in BATHES or (kind == "lavatory" and item.si.get("public") is True)
    return said_in_words(item, *BATHES_WORDS)


@rule(
    "tap-set-too-hot",
    "Point-of-use valve set too hot",
    Severity.MEND,
    "Above {49 °C|120 °F} skin burns within minutes, a child's sooner.",
    "ASSE 1070, from memory: at most 120 °F; published burn times",
    "Set it to {49 °C|120 °F} or less, for bathing to about {40 °C|105 °F}.",
    ask=ASK,
)
def tap_set_too_hot(study: Study) -> Iterator[Found]:
    """Valves for the point of use set above 120 °F."""
    for valve in valves(study):
        t = _set_c(valve)
        if study.said(valve, "duty") == "point_of_use" and t is not None and t > TAP + 0.1:
            words = f"{valve.id} is set to {study.celsius(t)}."
            yield Found((valve.id,), words, (Figure("set_c", t),))


@rule(
    "mixing-valve-without-checks",
    "Mixing valve without checks",
    Severity.MEND,
    "Hot and cold push each other back through it: hot water creeps into the cold line, cold into the tank.",
    "valve guidance, published: checks are part of the ASSE 1017 listing",
    "Put a check valve before its hot and its cold inlet.",
    origin="tmv-checks",
    ask=ASK,
    insert="check valve at inlet",
)
def mixing_valve_without_checks(study: Study) -> Iterator[Found]:
    """Mixing valves of drinking water with checks neither built in nor on both inlets."""
    for valve in valves(study):
        if study.said(valve, "checks") is True:
            continue
        bare = [port for port in ("hot", "cold") if not _checked(study, PortRef(valve.id, port))]
        if not bare:
            continue
        if study.said(valve, "checks") is False:
            yield Found((valve.id,), f"{valve.id} has no check at its {' and '.join(bare)} inlet.")
        else:
            words = f"Whether {valve.id} has checks at its inlets is not known."
            yield Found((valve.id,), words, severity=Severity.CONSIDER)


def _checked(study: Study, place: PortRef) -> bool:
    keys = branch(study.graph, place).keys
    return any(item.has(Trait.CHECKS) for item in items_of(study, keys))


@rule(
    "mixing-valve-too-high",
    "Mixing valve at the top of the tank",
    Severity.CONSIDER,
    "Level with the top of the tank it is hot day and night: it scales, sticks, and lets hot water creep.",
    "installation text, published: a drop of 24 to 27 in",
    "Hang it {60 cm|24 in} lower than the tank's hot outlet, or put a heat trap before it.",
    origin="tmv-heat-trap",
    insert="heat trap",
)
def mixing_valve_too_high(study: Study) -> Iterator[Found]:
    """Mixing valves of typed height, fed by a tank, that hang less than 24 in below its outlet."""
    for valve in valves(study):
        place = PortRef(valve.id, "hot")
        typed = "height" in valve.props or "hot" in valve.si.get("port_heights", {})
        run = branch(study.graph, place)
        tank = study.plant.items.get(run.end.item)
        if not typed or tank is None or not tank.has(Trait.TANK):
            continue
        trap = any(item.has(Trait.STOPS_CREEP) for item in items_of(study, run.keys))
        below = study.height(run.end) - study.height(place)
        if not trap and below < DROP - 0.01:
            where = f"only {study.length(below)} below" if below > 0.0 else "no lower than"
            words = f"{valve.id} hangs {where} the outlet of {tank.id}."
            yield Found((valve.id, tank.id), words, (Figure("below_m", below, -1),))


@rule(
    "circulation-past-the-mixing-valve",
    "Circulation does not come back to the mixing valve",
    Severity.MEND,
    "While nobody draws, no water passes the valve: the loop cools, and the next draw comes too hot.",
    "mixing-valve requirement article, published",
    "Lead a branch of the return to the valve's cold port.",
    origin="tmv-recirc",
    ask=ASK,
)
def circulation_past_the_mixing_valve(study: Study) -> Iterator[Found]:
    """Circulations behind a mixing valve whose return cannot get to its cold port."""
    others = (Trait.TEMPERS, Trait.TANK, Trait.MAKES_HEAT, Trait.EXCHANGES_HEAT)
    shut = {*(item.id for item in study.items(*others)), ""}
    for valve in valves(study):
        from_valve = study.arrows.from_([PortRef(valve.id, "mixed")], shut)
        for pump in circulators(study):
            if PortRef(pump.id, "in") not in from_valve:
                continue
            if PortRef(valve.id, "cold") not in study.arrows.from_([PortRef(pump.id, "out")], shut):
                words = f"The return by {pump.id} does not come back to the cold port of {valve.id}."
                yield Found((valve.id, pump.id), words)
