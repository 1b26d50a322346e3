"""Rules of water that creeps by its own weight: soft checks, both legs of a circuit, tanks, ghost flow."""

from __future__ import annotations

from collections.abc import Iterator

from core.controls.expressions import runs
from core.figures import CoilTankFigures, EmitterFigures
from core.plant.model import Item, PortRef
from core.review.finding import Figure, Found, Rule, Severity, registrar
from core.review.study import Study
from core.solve.solution import Solution
from core.vocabulary import Trait
from core.vocabulary.waterways import TapsToCenter
from core.water.connections import shortest
from core.water.ways import Way

RULES: list[Rule] = []
rule = registrar(RULES)
PRACTICE = "common practice, no source"
G = 9.80665  # [m/s^2]
RISES = 0.3  # [m] by which a circuit must rise to count as a riser
ROOM_K = 294.15  # [K] water that has cooled in the room
CREEPS = 0.05  # share of what is wanted above which heat that nobody called is to be mended
SEEN = 0.005  # share below which it is not worth a word
LEAST_W = 1.0  # [W] less is nothing that anybody feels


def hottest_set_k(study: Study, place: PortRef) -> float | None:
    """Warmest set point of the sources whose water or heat comes to a body, [K]."""
    sets = [one.si.get("set_temperature") for one in study.sources_of(place)]
    return max((float(one) for one in sets if one is not None), default=None)


@rule(
    "check-opens-too-softly",
    "Check valve that rising heat can open",
    Severity.CONSIDER,
    "Above a hot header warm water creeps up through a check that needs no pressure to open; a spring of "
    "{2 to 3.5 kPa|0.3 to 0.5 psi} holds it.",
    "published trade text on detailing of primary and secondary piping",
    "Take a check valve with a spring.",
    origin="check-spring-not-swing",
)
def check_opens_too_softly(study: Study) -> Iterator[Found]:
    """Checks of heated circuits that open at less than the weight of the hot column can push."""
    for item in study.items(Trait.CHECKS):
        circuit = _served(study, item)
        if study.run(item) is None or not circuit:
            continue
        hot = hottest_set_k(study, PortRef(item.id, "in"))
        fluid = study.fluid(item)
        if hot is None or fluid is None:
            continue
        opens = float(item.si.get("opens_at") or 0.0)
        base = study.height(PortRef(item.id, "in"))
        rise = max(study.height(PortRef(one.id, port)) for one in circuit for port in one.ports) - base
        known = any(one.si.get("height") is not None and "height" in one.props for one in circuit)
        pull = (fluid.density(ROOM_K) - fluid.density(hot)) * G * max(rise, 0.0)
        if rise > RISES and opens < pull:
            yield Found(
                (item.id,),
                f"{item.id} opens at {study.pressure(opens)}; the circuit rises {study.length(rise)} above "
                f"it, and its warm water pulls with {study.pressure(pull)}.",
                (Figure("opens_pa", opens, -1),),
            )
        elif opens == 0.0 and not known:
            yield Found(
                (item.id,),
                f"{item.id} opens at no pressure, as a swing check does. Whether the circuit behind it rises "
                "is not known, as no height is typed.",
                guess=True,
            )


def _served(study: Study, check: Item) -> list[Item]:
    """What gives heat behind a check, reached along its arrow and not past what gives heat."""
    giving = study.items(Trait.GIVES_HEAT, Trait.EXCHANGES_HEAT, Trait.HAS_COIL, Trait.MAKES_HEAT)
    stores = study.items(Trait.WATER_STANDS)
    stop = {item.id for item in (*giving, *stores)}
    reached = study.arrows.from_([PortRef(check.id, "out")], {*stop, check.id, ""})
    keys = {place.item for place in reached}
    return [item for item in giving if item.id in keys and item.has(Trait.GIVES_HEAT)]


@rule(
    "return-without-trap",
    "Return leg open to rising heat",
    Severity.CONSIDER,
    "Warm water can rise and sink in the return pipe alone; a check in the supply does not stop that. A "
    "second "
    "check or a drop of {0.45 m|18 in} before the riser does.",
    "published trade manual on heat migration",
    "Put a check valve or a heat trap in the return as well.",
    origin="ghost-both-legs",
)
def return_without_trap(study: Study) -> Iterator[Found]:
    """Circuits above close tees on a hot loop with a check in the supply and nothing in the return."""
    for pair in study.tee_pairs:
        items = [item for run in pair.secondary for item in study.runs.items(run)]
        pumps = [item for item in items if item.has(Trait.DRIVES)]
        high = [item for item in items if item.has(Trait.GIVES_HEAT)]
        tee = study.height(PortRef(pair.tees[0], "at"))
        if not any(study.height(PortRef(one.id, "in")) - tee > RISES for one in high) or not pumps:
            continue
        supply = {key for pump in pumps for key in (study.run(pump) or pair.common).keys}
        legs = [run for tee_ in pair.tees if (run := pair.at(tee_, pair.secondary)) is not None]
        bare = [leg for leg in legs if not any(_stops(one) for one in study.runs.items(leg))]
        back = [leg for leg in bare if supply.isdisjoint(leg.keys)]
        single = len(set(legs)) == 1 and _one_sided(study, pumps[0])
        if back or single:
            leg = back[0] if back else legs[0]
            yield Found(
                (pumps[0].id, *leg.pipes[-1:], *(one.id for one in high)),
                f"The circuit of {pumps[0].id} rises above its tees {' and '.join(pair.tees)}, with "
                "nothing in "
                "its return that stops warm water.",
            )


def _stops(item: Item) -> bool:
    return item.has(Trait.CHECKS, Trait.OPENS_BY_SIGNAL, Trait.STOPS_CREEP)


def _one_sided(study: Study, pump: Item) -> bool:
    """Whether all that stops water on a single run lies on one side of what gives heat."""
    items = study.on_run(pump)
    at = [k for k, one in enumerate(items) if one.has(Trait.GIVES_HEAT)]
    stops = [k for k, one in enumerate(items) if _stops(one) or bool(one.si.get("integral_check"))]
    return bool(at) and not (any(k < at[0] for k in stops) and any(k > at[-1] for k in stops))


@rule(
    "tank-empties-by-gravity",
    "Tank open to gravity flow",
    Severity.CONSIDER,
    "Overnight hot water rises out of the top, cools on its way and sinks back into the bottom: the tank "
    "goes "
    "cold and a source or exchanger warms the room.",
    "published trade article on reverse thermosiphoning of tanks",
    "Put a check valve or a heat trap into that way.",
    origin="thermosiphon-tank",
    insert="check valve",
)
def tank_empties_by_gravity(study: Study) -> Iterator[Found]:
    """Tanks whose upper and lower taps hang together outside with nothing that stops creeping water."""
    for tank in study.items(Trait.TANK):
        heights = {tap: float(at) for tap, at in (tank.si.get("taps") or {}).items()}
        for tap in sorted(heights, key=lambda one: -heights[one]):
            lower = [one for one in heights if heights[tap] - heights[one] > 0.2 * float(tank.si["tall"])]
            way = _open_way(study, tank.id, tap, lower)
            if way is not None:
                yield Found(
                    (tank.id, *way[1]),
                    f"From {tap} of {tank.id} a way leads round to {way[0]} with no check valve, valve that "
                    "closes or heat trap in it.",
                )
                break


def _open_way(study: Study, tank: str, tap: str, lower: list[str]) -> tuple[str, tuple[str, ...]] | None:
    """The lower tap that water from a tap gets to outside the tank, and the items there."""
    items = study.plant.items

    def passes(way: Way, place: PortRef) -> bool:
        item = items.get(way.key)
        if way.key == tank or way.to_air or way.parts or (way.hand_valve and not way.stands_open):
            return False
        if way.one_way and way.start != place:
            return False
        shut = item is not None and (_stops(item) or item.si.get("integral_check") or item.has(Trait.TANK))
        return not shut

    found = shortest(study.graph, PortRef(tank, tap), lambda p: p.item == tank and p.port in lower, passes)
    if found is None:
        return None
    keys = dict.fromkeys(way.key for way, _ in found)
    return found[-1][1].port, tuple(key for key in keys if key in items)


@rule(
    "ghost-flow",
    "Heat where nobody calls",
    Severity.CONSIDER,
    "Water passes a circuit that is not called, by its own weight or pushed by another circulator: rooms "
    "overheat in mild weather, and the source starts for nothing.",
    "the solver's own answer",
    "Put a check valve with a spring, or a valve that closes, into the circuit.",
    solved=True,
)
def ghost_flow(study: Study) -> Iterator[Found]:
    """What takes heat while every circulator and valve that a signal runs on its own run rests."""
    for solution, _ in study.each():
        for key, heat, wanted in _heated(solution):
            item = study.plant.items[key]
            resting = _resting(study, item, solution.signals)
            if not resting or heat <= max(SEEN * wanted, LEAST_W):
                continue
            pushed = any(solution.running(p.id) for p in study.items_in(study.body_of(item), Trait.DRIVES))
            why = "pushed by other circulators" if pushed else "by its own weight"
            yield Found(
                (key, *resting),
                f"{key} takes {study.heat(heat)} while {' and '.join(resting)} "
                f"{'rests' if len(resting) == 1 else 'rest'}: water passes {why}.",
                (Figure("heat_w", heat),),
                solution.case,
                Severity.MEND if heat > CREEPS * wanted else Severity.CONSIDER,
            )


def _heated(solution: Solution) -> Iterator[tuple[str, float, float]]:
    for key, emitter in solution.of(EmitterFigures).items():
        yield key, emitter.delivered_w, emitter.wanted_w
    for key, tank in solution.of(CoilTankFigures).items():
        yield key, tank.coil_duty_w, 20.0 * abs(tank.duty_w)


def _resting(study: Study, item: Item, on: dict[str, bool]) -> list[str]:
    """Circulators on the run of an item that no signal runs; valves that a signal opens would hold it."""
    run = study.runs.of.get(item.id)
    if isinstance(item.kind_info.waterway, TapsToCenter):
        pipe = study.pipe_at(item, "coil_in")
        run = None if pipe is None else study.runs.of.get(pipe.id)
    if run is None:
        return []
    pumps = [one for one in study.runs.items(run) if one.has(Trait.DRIVES)]
    return [one.id for one in pumps] if pumps and not any(runs(one.si, on) for one in pumps) else []
