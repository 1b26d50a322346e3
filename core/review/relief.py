"""Rules of relief valves: there, unblocked, set and sized right, and their discharge safe."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator

from core import units
from core.plant.model import Item, PortRef
from core.review.branches import can_block, is_drinking, items_of
from core.review.finding import Figure, Found, Rule, Severity, registrar
from core.review.heated import Heated, context_of, greatest_heat, heated, holds
from core.review.study import Study
from core.vocabulary import UNKNOWN, Trait
from core.water.branches import branch, far
from core.water.connections import reach, shortest
from core.water.protection import water_of
from core.water.ways import Way

RULES: list[Rule] = []
rule = registrar(RULES)
ASK = (
    "Setting, size, place and discharge of relief valves are for the boiler inspector or a licensed trade: "
    "ask whether this valve may protect this vessel."
)
NEAR = 1e-6
USUAL = {False: units.parse("30 psi", "pressure"), True: units.parse("150 psi", "pressure")}
HOTTEST = units.parse("210 degF", "temperature")
WEEPS = 0.9  # share of its setting above which a valve weeps (published trade example)
TOP = units.parse("6 in", "length")
TOP_IN_WORDS = {"si": "15 cm", "us": "6 in"}
SURE = 0.98  # share of a heat by which a capacity may miss it: figures are rounded


def open_to_relief(study: Study, item: Item) -> list[Item]:
    """Relief valves that the water of a vessel reaches with nothing between that could block."""
    places = study.once(f"open {item.id}", lambda: _unblocked(study, water_of(study.graph, item.id)))
    return [one for one in study.items(Trait.RELIEVES) if PortRef(one.id, "at") in places]


def _unblocked(study: Study, starts: Iterable[PortRef]) -> dict[PortRef, None]:
    def passes(way: Way) -> bool:
        return not way.parts and not way.to_air and not can_block(study, way)

    return reach(study.graph, starts, passes)


def reliefs_in(study: Study, body: Heated) -> list[Item]:
    """Relief valves of a body."""
    return [one for one in study.items(Trait.RELIEVES) if PortRef(one.id, "at") in body.places]


def _stores(study: Study, body: Heated) -> list[Item]:
    """Tanks whose own water a body of drinking water is, for which a rule of its own stands."""
    tanks = study.items_in(body.places, Trait.TANK) if body.potable else []
    return [tank for tank in tanks if holds(study, body.places, tank)]


@rule(
    "no-relief",
    "No relief valve",
    Severity.STOP,
    "Heated water that cannot get out bursts what holds it: each source wants a relief valve of its own.",
    "IMC 1006.2, published",
    "Join a relief valve to it, with nothing between that closes.",
    origin="rv-missing-source",
    ask=ASK,
    insert="relief valve",
)
def no_relief(study: Study) -> Iterator[Found]:
    """Sources, and exchangers that heat a body, whose water has no relief valve, or only those of others."""
    for body in heated(study):
        valves = reliefs_in(study, body)
        if valves:
            for item in _left_over(study, body):
                if item in _stores(study, body):
                    continue
                names = " and ".join(valve.id for valve in valves)
                verb = "stands" if len(valves) == 1 else "stand"
                words = f"{item.id} has no relief valve of its own: {names} {verb} at another vessel"
                yield Found((item.id,), f"{words}, past {' and '.join(_first_blockers(study, item))}.")
            continue
        stores = _stores(study, body)
        if stores and not body.own:
            continue  # the tank's own rule says so
        for item in body.by:
            if item not in stores:
                yield Found((item.id,), f"{item.id} heats water that has no relief valve.")


@rule(
    "relief-blocked",
    "Relief valve cut off",
    Severity.STOP,
    "A valve, check or screen before a relief valve can shut or clog: the vessel is then without relief.",
    "IMC 1006.5, published; city codes, published",
    "Take it out, or join the relief valve to the vessel's side of it.",
    origin="rv-blocked",
    ask=ASK,
)
def relief_blocked(study: Study) -> Iterator[Found]:
    """What stands in a relief valve's own branch, and what parts a source from every relief valve."""
    said: set[str] = set()
    for valve in study.items(Trait.RELIEVES):
        keys = branch(study.graph, PortRef(valve.id, "at")).keys
        for item in items_of(study, keys):
            if any(can_block(study, way) for way in study.graph.ways_of.get(item.id, ())):
                said |= {item.id, valve.id}
                what = "stands shut" if item.si.get("open") is False else "stands"
                yield Found((item.id, valve.id), f"{item.id} {what} between {valve.id} and what it protects.")
    for body in heated(study):
        if reliefs_in(study, body):
            yield from _cut_off(study, body, said)


def _left_over(study: Study, body: Heated) -> list[Item]:
    """Sources that reach a relief valve only past something, where other vessels have them all."""
    vessels = study.items_in(body.places, Trait.MAKES_HEAT, Trait.TANK)
    own = [item for item in vessels if holds(study, body.places, item)]
    served = [item for item in own if open_to_relief(study, item)]
    if not served or len(reliefs_in(study, body)) > len(served):
        return []
    return [item for item in body.by if item in own and item not in served]


def _cut_off(study: Study, body: Heated, said: set[str]) -> Iterator[Found]:
    """Sources of a body that reach a relief valve only past something that can block."""
    left_over = _left_over(study, body)
    for item in body.by:
        if not item.has(Trait.MAKES_HEAT, Trait.TANK) or open_to_relief(study, item):
            continue
        if item.has(Trait.TANK) and item not in _stores(study, body):
            continue
        blockers = _first_blockers(study, item)
        if item in left_over and len(blockers) > 1:
            continue  # no one valve is at fault: it wants a relief valve of its own
        valves = [one.id for one in reliefs_in(study, body)]
        if said & {*blockers, *valves}:
            continue
        at = (*blockers, item.id, *valves)
        verb = "can cut" if len(blockers) == 1 else "together can cut"
        yield Found(
            at, f"{' and '.join(blockers)} {verb} {item.id} from its relief valve ({', '.join(valves)})."
        )


def _first_blockers(study: Study, item: Item) -> list[str]:
    """What bounds the water open to a vessel: that toward a relief valve, where there is such."""
    inside = _unblocked(study, water_of(study.graph, item.id))
    edges = [
        (way.key, far(way, place))
        for place in inside
        for way in study.graph.ways_at[place]
        if can_block(study, way) and not way.parts and not way.to_air and way.part == ""
    ]
    reliefs = {PortRef(one.id, "at") for one in study.items(Trait.RELIEVES)}
    toward = [key for key, beyond in edges if not reliefs.isdisjoint(_unblocked(study, [beyond]))]
    return list(dict.fromkeys(toward or (key for key, _ in edges))) or [item.id]


@rule(
    "relief-set-too-high",
    "Relief valve set above what it protects",
    Severity.STOP,
    "It opens only after the weakest part has been pressed, or warmed, above its rating.",
    "state boiler rules: at or below the rated pressure, 150 psi and 210 °F at most for hot water tanks, "
    "published; 30 psi for heating is common practice",
    "Take a valve with a lower setting.",
    origin="rv-set",
    ask=ASK,
)
def relief_set_too_high(study: Study) -> Iterator[Found]:
    """Settings above the lowest rating on the same water, above the usual ones, or not known."""
    for valve in study.items(Trait.RELIEVES):
        setting = valve.si.get("set_pressure")
        drinking = is_drinking(study, valve)
        if not isinstance(setting, float):
            yield Found((valve.id,), f"The set pressure of {valve.id} is not known.", severity=Severity.MEND)
            continue
        hot = valve.si.get("set_temperature")
        rated = _lowest_rating(study, valve)
        figures = (Figure("set_pressure_pa", setting),)
        if rated is not None and setting > rated[0] * (1.0 + NEAR):
            words = f"{valve.id} opens at {study.pressure(setting)}; {rated[1]} is rated for "
            yield Found((valve.id, rated[1]), f"{words}{study.pressure(rated[0])}.", figures)
        elif drinking and setting > USUAL[True] * 1.02:
            yield Found(
                (valve.id,),
                f"{valve.id} opens at {study.pressure(setting)}, above the "
                f"{study.pressure(USUAL[True])} that hot water tanks are allowed.",
                figures,
            )
        elif not drinking and setting > USUAL[False] * 1.02 and not _source_rated(study, valve):
            yield Found(
                (valve.id,),
                f"{valve.id} opens at {study.pressure(setting)}, above the usual "
                f"{study.pressure(USUAL[False])}, and what it protects says no rating.",
                figures,
                severity=Severity.MEND,
            )
        if isinstance(hot, float) and hot > HOTTEST + 0.6:
            words = f"{valve.id} opens at {study.warm(hot)}; at most {study.warm(HOTTEST)} is allowed."
            yield Found((valve.id,), words, (Figure("set_temperature_k", hot),))


def _around(study: Study, valve: Item) -> list[Item]:
    """Items on the water that a relief valve stands on: not past reducers, checks and hand valves shut."""
    items = study.plant.items

    def passes(way: Way) -> bool:
        if way.is_pipe:
            return True
        stops = way.parts or way.to_air or not way.stands_open
        return not stops and not items[way.key].has(Trait.HOLDS_OUTLET_PRESSURE, Trait.CHECKS)

    found = reach(study.graph, [PortRef(valve.id, "at")], passes)
    near = [item for item in study.graph.items_at(found) if item.id != valve.id]
    return [
        i for i in near if not i.has(Trait.HAS_COIL) or holds(study, found.keys(), i)
    ]  # rated is the tank


def _lowest_rating(study: Study, valve: Item) -> tuple[float, str] | None:
    rated = [
        (float(item.si["max_pressure"]), item.id)
        for item in _around(study, valve)
        if isinstance(item.si.get("max_pressure"), float)
    ]
    return min(rated, default=None)


def _source_rated(study: Study, valve: Item) -> bool:
    """Whether every source and tank round a relief valve says its rating."""
    vessels = [item for item in _around(study, valve) if item.has(Trait.MAKES_HEAT, Trait.TANK)]
    vessels = vessels or [item for item in _around(study, valve) if item.has(Trait.EXCHANGES_HEAT)]
    return bool(vessels) and all(isinstance(item.si.get("max_pressure"), float) for item in vessels)


@rule(
    "relief-too-small",
    "Relief valve too small",
    Severity.STOP,
    "It must carry off all the heat that can come in, or the pressure goes on rising while it blows.",
    "city and state codes: the greatest output, published",
    "Take a valve of greater capacity, or a further one.",
    origin="rv-capacity",
    ask=ASK,
    solved=True,
)
def relief_too_small(study: Study) -> Iterator[Found]:
    """Relief valves that together carry off less than the sources they stand open to, or say nothing."""
    for valve in study.items(Trait.RELIEVES):
        if not isinstance(valve.si.get("capacity"), float):
            yield Found((valve.id,), f"The capacity of {valve.id} is not known.", severity=Severity.MEND)
        elif valve.props.get("inlet_size") == UNKNOWN:
            yield Found((valve.id,), f"The inlet size of {valve.id} is not known.", severity=Severity.MEND)
    for body in heated(study):
        if body.own:
            yield from _small_for_sources(study, body)
        else:
            yield from _small_for_exchangers(study, body)


def _small_for_sources(study: Study, body: Heated) -> Iterator[Found]:
    groups: dict[tuple[str, ...], list[Item]] = {}
    for item in body.by:
        valves = open_to_relief(study, item) or reliefs_in(study, body)
        groups.setdefault(tuple(valve.id for valve in valves), []).append(item)
    for names, sources in groups.items():
        heat = sum(greatest_heat(study, item) or 0.0 for item in sources)
        yield from _too_little(study, names, heat, [item.id for item in sources])


def _too_little(study: Study, names: tuple[str, ...], heat: float, by: list[str]) -> Iterator[Found]:
    """A finding where some relief valves carry off less than a heat that comes in for sure."""
    valves = items_of(study, names)
    given = [valve.si.get("capacity") for valve in valves]
    if not valves or not all(isinstance(one, float) for one in given):
        return
    total = sum(float(one) for one in given if one is not None)
    if total < heat * SURE:
        weakest = min(valves, key=lambda valve: float(valve.si["capacity"]))
        others = [name for name in (*names, *by) if name != weakest.id]
        yield Found(
            (weakest.id, *others),
            f"{' and '.join(names)} carr{'ies' if len(names) == 1 else 'y'} off {study.heat(total)}; "
            f"{' and '.join(by)} can bring {study.heat(heat)}.",
            (Figure("capacity_w", total, -1),),
        )


def _small_for_exchangers(study: Study, body: Heated) -> Iterator[Found]:
    """Bodies heated through walls: the greatest solved heat is sure, all that sources give is possible.

    Of several tanks each has to carry off its share at its own valve.
    """
    from core.sizing.families.relief import heat_into

    reliefs, stores = reliefs_in(study, body), _stores(study, body)
    valves = tuple(valve.id for valve in reliefs)
    by = [item.id for item in body.by]
    solved = [
        abs(float(one.value(name, key) or 0.0))
        for one in study.solutions
        for name in by
        for key in ("duty_w", "coil_duty_w")
    ]
    most = max(solved, default=0.0)
    sure = list(_too_little(study, valves, most, by))
    for tank in stores if len(stores) > 1 and not sure else ():
        own = tuple(valve.id for valve in reliefs if _nearest(study, valve, stores) == tank.id)
        sure += _too_little(study, own, most / len(stores), by)
    yield from sure
    context = context_of(study)
    if not sure and context is not None and valves:
        for found in _too_little(study, valves, heat_into(context, valves[0]), by):
            text = f"{found.text[:-1]}, with all that the sources beyond give."
            yield Found(found.at, text, found.figures, severity=Severity.MEND)


BAD = {
    "it can be shut": r"\bvalved\b|\b(?:a|ball|gate|stop) valve\b|\bvalve (?:in|on|at)\b|\bshut-?off\b",
    "it ends closed or threaded": r"\bplug|\bcap(?:ped)?\b|\bthread",
    "it is trapped": r"\btrap(?:ped|s)?\b(?! (?:drain|floor|primer))|\bp-trap\b",
    "it runs uphill": r"\buphill\b|\bupwards?\b|\bris(?:es|ing)\b",
    "it is shared or teed": r"\btee'?d?\b|\bshared\b|\bcommon\b|\bjoin(?:s|ed)\b|\btogether with\b",
    "it is narrower than its outlet": r"\breduced\b|\bsmaller\b|\bnarrow|\bundersized\b",
    "its end is not in sight": r"\bhidden\b|\bconcealed\b|\bburied\b|\bout of sight\b",
    "it has no air gap": r"ungapped|hard[- ]piped|\bdirect(?:ly)? (?:in)?to (?:the )?(?:drain|sewer|waste)",
    "it is not piped": r"\bnot piped\b|^\W*(?:none|nothing|missing)\W*$",
}
FAULTS = "valve|shut|plug|cap|thread|trap|tee|shared|reduc|common|join|isolat"
DENIED = rf"(?:\bno|\bnot|\bnever|\bwithout(?: an?)?|\bun|\bnon-?)\s*-?(?={FAULTS})\S*"
IN_SIGHT = (
    "air gap|air-gap|open|floor|ground|catch|pail|bucket|can\\b|tundish|funnel|sight|visible|seen|indirect|"
    "above|outdoors|outside"
)
SIZE = r"(\d+(?: \d+)?/\d+|\d+(?:\.\d+)?)\s*(in|mm)\b(?! (?:above|from|over|off|short|gap|air))"


@rule(
    "relief-discharge",
    "Discharge of a relief valve",
    Severity.STOP,
    "It gives off scalding water or steam: what narrows, shuts, traps or hides it makes it fail or scald.",
    "IPC 504.6 and IMC 1006.6, published",
    "Pipe it full size, falling, alone, to an open end in sight with an air gap, not threaded or valved.",
    origin="rv-discharge",
    ask=ASK,
)
def relief_discharge(study: Study) -> Iterator[Found]:
    """Discharges whose words name what is forbidden, or that nothing is said of."""
    for valve in study.items(Trait.RELIEVES):
        text = valve.si.get("discharge")
        if not isinstance(text, str) or text.strip().lower() in ("", UNKNOWN):
            words = f"How the discharge of {valve.id} is piped is not known."
            yield Found((valve.id,), words, severity=Severity.MEND)
            continue
        bad = list(_wrong_with(study, valve, text.lower()))
        if bad:
            yield Found((valve.id,), f"The discharge of {valve.id} is “{text}”: {', '.join(bad)}.")
        elif not re.search(IN_SIGHT, text.lower()):
            words = (
                f"The discharge of {valve.id} is “{text}”: whether its end is open and in sight is not said."
            )
            yield Found((valve.id,), words, severity=Severity.CONSIDER)


def _wrong_with(study: Study, valve: Item, text: str) -> Iterator[str]:
    checked = re.sub(DENIED, " ", re.sub(r"no air gap|without (?:an )?air gap", "ungapped", text))
    checked = checked.replace(valve.id.lower(), " ").replace("relief valve", " ")
    checked = re.sub(r"(?:common )?floor drain|common (?:drain|waste)", " ", checked)
    for what, pattern in BAD.items():
        if re.search(pattern, checked):
            yield what
    inlet = valve.si.get("inlet_size")
    for size in re.findall(SIZE, text):
        bore = units.parse(f"{size[0]} {size[1]}", "length")
        if isinstance(inlet, float) and bore < inlet * 0.9:
            yield f"{size[0]} {size[1]} is narrower than its inlet"


@rule(
    "relief-weeps",
    "Relief valve too near the working pressure",
    Severity.CONSIDER,
    "A relief valve weeps from about nine tenths of its setting, and then scales and no longer seats.",
    "trade example: 18 psi and 13 psi of head trip a 30 psi valve, published",
    "Fill to less, let the circulator push away from it, or take a higher setting where ratings allow it.",
    origin="rv-pump-head",
    ask=ASK,
    solved=True,
)
def relief_weeps(study: Study) -> Iterator[Found]:
    """Solved pressures at relief valves above nine tenths of their setting."""
    for valve in study.items(Trait.RELIEVES):
        setting = valve.si.get("set_pressure")
        for one in study.solutions:
            there = one.value(valve.id, "pressure_pa")
            if isinstance(setting, float) and there is not None and float(there) > WEEPS * setting:
                yield Found(
                    (valve.id,),
                    f"{study.pressure(float(there))} stand at {valve.id}, which opens at "
                    f"{study.pressure(setting)}.",
                    (Figure("pressure_pa", float(there)),),
                    case=one.case,
                )


@rule(
    "tank-without-temperature-relief",
    "Hot water tank without temperature and pressure relief",
    Severity.STOP,
    "If its controls fail the water grows hotter than boiling in the open, and a burst flashes it to steam: "
    "the valve must feel the hottest water, in the top {15 cm|6 in}.",
    "city code and IPC 504.4: temperature and pressure relief, published and from memory",
    "Join a temperature and pressure relief valve whose probe sits in the top {15 cm|6 in} of the tank.",
    origin="tp-tank",
    ask=ASK,
    insert="relief valve",
)
def tank_without_temperature_relief(study: Study) -> Iterator[Found]:
    """Tanks of heated drinking water without such a valve, or with one that feels the wrong water."""
    for body in heated(study):
        stores = _stores(study, body)
        own = {valve.id: _nearest(study, valve, stores) for valve in reliefs_in(study, body)}
        for tank in stores:
            near = open_to_relief(study, tank)
            near = near or [one for one in reliefs_in(study, body) if one.id in study.protection(tank).relief]
            yield from _felt(study, tank, [one for one in near if own[one.id] == tank.id])


def _nearest(study: Study, valve: Item, tanks: list[Item]) -> str:
    """The tank in whose water the probe of a relief valve can sit: that of fewest parts away."""
    names = {tank.id for tank in tanks}
    start = PortRef(valve.id, "at")
    way = shortest(study.graph, start, lambda place: place.item in names, lambda way, _: not way.parts)
    return (way[-1][1] if way else start).item


def _felt(study: Study, tank: Item, near: list[Item]) -> Iterator[Found]:
    """What is wrong with the temperature relief of a tank, the best valve taken."""
    warm = [valve for valve in near if isinstance(valve.si.get("set_temperature"), float)]
    unsaid = [valve for valve in near if valve.props.get("set_temperature") == UNKNOWN]
    sensing = [v for v in near if v.si.get("senses_tank_top") is True and v not in warm]
    if any(valve.si.get("senses_tank_top") is True for valve in warm):
        return
    if not warm and (unsaid or sensing):
        name = (unsaid or sensing)[0].id
        words = f"The temperature at which {name} opens is not known; {tank.id} needs it."
        yield Found((name, tank.id), words, severity=Severity.MEND)
    elif not warm:
        others = tuple(valve.id for valve in near)
        also = f" ({', '.join(others)} opens by pressure alone)" if others else ""
        words = f"{tank.id} stores hot drinking water without a temperature and pressure relief valve{also}."
        yield Found((tank.id, *others), words)
    elif all(valve.si.get("senses_tank_top") is False for valve in warm):
        words = f"{warm[0].id} does not feel the top {TOP_IN_WORDS[study.system]} of {tank.id}."
        yield Found((warm[0].id, tank.id), words)
    else:
        name = next(v.id for v in warm if v.si.get("senses_tank_top") is not False)
        top = TOP_IN_WORDS[study.system]
        words = f"Whether the probe of {name} sits in the top {top} of {tank.id} is not known."
        yield Found((name, tank.id), words, severity=Severity.MEND)
