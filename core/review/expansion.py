"""Rules of expansion: a tank for each heated body, open to its source, large enough, rightly charged."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from core import units
from core.plant.model import Item, PortRef
from core.review.branches import can_close, is_kept_open, items_of
from core.review.finding import Figure, Found, Rule, Severity, registrar
from core.review.heated import Heated, context_of, heated
from core.review.study import Study
from core.sizing.context import Context
from core.sizing.result import Sized
from core.vocabulary import UNKNOWN, Trait
from core.water.branches import VESSELS, along, branch, far
from core.water.connections import reach
from core.water.numbers import grouped, reached
from core.water.ways import Way

RULES: list[Rule] = []
rule = registrar(RULES)
PRACTICE = "common practice, no source"
ASK = (
    "Expansion of closed and of drinking-water systems is for local code and a licensed trade: ask what tank "
    "and precharge this system needs, and that nothing closes between tank and heater."
)
NEAR_SUCTION = 0.1  # share of a circulator's head that may be lost from tank to suction; common practice
APART = units.parse("2 psi", "pressure")  # by which precharge and fill may differ; common practice
APART_POTABLE = units.parse("5 psi", "pressure")


def tanks_in(study: Study, body: Heated) -> list[Item]:
    """Expansion tanks of a body."""
    return study.items_in(body.places, Trait.EXPANDS)


def is_closed(study: Study, body: Heated) -> bool:
    """Whether no main feeds it and nothing draws from it."""
    open_ = (Trait.BRINGS_WATER, Trait.DRAWS_WATER)
    return not body.potable and not study.items_in(body.places, *open_)


@rule(
    "no-expansion-tank",
    "Closed loop without expansion tank",
    Severity.STOP,
    "Water swells as it warms. In a full closed loop each degree adds pressure until the relief valve opens "
    "or a part bursts.",
    "ASHRAE Handbook, HVAC Systems and Equipment, published; IMC 1009, from memory",
    "Join an expansion tank at the suction of the circulator.",
    origin="et-missing",
    ask=ASK,
    insert="expansion tank",
)
def no_expansion_tank(study: Study) -> Iterator[Found]:
    """Closed bodies that are heated, by a source or through a wall, with no expansion tank."""
    for body in heated(study):
        if is_closed(study, body) and not tanks_in(study, body):
            names = [item.id for item in body.by]
            words = f"{' and '.join(names)} {'heats' if len(names) == 1 else 'heat'} a closed loop"
            yield Found(tuple(names), f"{words} that has no expansion tank.")


@rule(
    "expansion-cut-off",
    "Expansion tank cut off",
    Severity.STOP,
    "With that valve shut, or past that check, the tank takes nothing: the loop bursts or its relief opens.",
    "ASHRAE Handbook, from memory; common practice, no source",
    "Take it out, or put a service valve in the tank's branch that is kept open by a tag or lock.",
    origin="et-isolated",
    ask=ASK,
)
def expansion_cut_off(study: Study) -> Iterator[Found]:
    """Valves and checks in a tank's own branch, or on every way between it and what heats the water."""
    said: set[str] = set()
    for tank in study.items(Trait.EXPANDS):
        for item in items_of(study, branch(study.graph, PortRef(tank.id, "at")).keys):
            if _closes(study, item):
                said |= {item.id, tank.id}
                yield _cut(item, (tank.id,), f"{item.id} stands in the branch of {tank.id}")
    for body in heated(study):
        tanks = tanks_in(study, body)
        if not tanks or (body.potable and any(tank.id in said for tank in tanks)):
            continue
        for item in body.by:
            if not body.potable:
                yield from _between(study, body, item, tanks, said)


def _closes(study: Study, item: Item) -> bool:
    ways = study.graph.ways_of.get(item.id, ())
    return any(can_close(study, way) and way.part == "" for way in ways) and not item.has(Trait.MIXES)


def _cut(item: Item, others: tuple[str, ...], words: str) -> Found:
    shut = item.has(Trait.HAND_VALVE) and item.si.get("open") is False
    kept = item.has(Trait.HAND_VALVE) and is_kept_open(item) and not shut
    words += ", shut as drawn." if shut else "."
    if kept:
        words += " It is a service valve: keep it open, by a tag or lock."
    grave = Severity.CONSIDER if kept else None
    return Found((item.id, *others), words, severity=grave)


def _between(study: Study, body: Heated, source: Item, tanks: list[Item], said: set[str]) -> Iterator[Found]:
    """What stands on every way between a source and all tanks of its body."""
    starts = body.places_of(source)
    goals = {PortRef(tank.id, "at") for tank in tanks}
    ids = tuple(tank.id for tank in tanks)
    candidates = _closers(study, body)
    region, between = study.once(f"closed off {body.number}", lambda: _regions(study, candidates))
    ends = {region[goal] for goal in goals}

    def joined(without: frozenset[str]) -> bool:
        beside: dict[PortRef, list[PortRef]] = {}
        for one, other, key in between:
            if key not in without:
                beside.setdefault(one, []).append(other)
                beside.setdefault(other, []).append(one)
        met = reached((region[place] for place in starts), lambda place: beside.get(place, ()))
        return not ends.isdisjoint(met)

    shut = frozenset(i.id for i in candidates if i.has(Trait.HAND_VALVE) and i.si.get("open") is False)
    if not joined(frozenset(i.id for i in candidates)):
        for item in candidates:
            if item.id not in said and not joined(frozenset({item.id})):
                said.add(item.id)
                words = f"{item.id} stands on every way between {source.id} and {', '.join(ids)}"
                yield _cut(item, (source.id, *ids), words)
    if shut and not said & shut and not joined(shut):
        first = next(i for i in candidates if i.id in shut)
        said.add(first.id)
        yield _cut(first, (source.id, *ids), f"{first.id} cuts {source.id} from {', '.join(ids)}")
    yield from _checked(study, starts, goals, (source.id, *ids), said)


def _regions(
    study: Study, closers: list[Item]
) -> tuple[dict[PortRef, PortRef], list[tuple[PortRef, PortRef, str]]]:
    """A place that stands for all that some valves do not part, and what each of them joins."""
    names = {item.id for item in closers}
    open_ = [way for way in study.graph.ways if not way.parts]
    joined = [(way.start, way.end) for way in open_ if way.key not in names]
    region = grouped(study.graph.places, joined)
    return region, [(region[w.start], region[w.end], w.key) for w in open_ if w.key in names]


def _closers(study: Study, body: Heated) -> list[Item]:
    """Hand valves and valves on a signal in a body; what passes one way only is asked about apart."""
    return [
        item
        for item in study.items_in(body.places, Trait.HAND_VALVE, Trait.OPENS_BY_SIGNAL)
        if not item.has(Trait.DRAINS)
    ]


def _checked(
    study: Study, starts: list[PortRef], goals: set[PortRef], names: tuple[str, ...], said: set[str]
) -> Iterator[Found]:
    """Checks past which water cannot flow from source to tank, or back."""
    graph, items = study.graph, study.plant.items

    def passes(way: Way) -> bool:
        return not way.parts and not way.to_air

    for ahead in (True, False):
        met = along(study.graph, starts, passes, ahead)
        if not goals.isdisjoint(met):
            continue
        for way in graph.ways:
            edge = (way.start in met) != (way.end in met)
            if way.one_way and edge and passes(way) and not items[way.key].has(Trait.MIXES):
                beyond = far(way, way.start if way.start in met else way.end)
                if goals.isdisjoint(along(study.graph, [beyond], passes, ahead)) or way.key in said:
                    continue
                said.add(way.key)
                word = "from" if ahead else "back to"
                others = tuple(name for name in names if name != way.key)
                yield Found(
                    (way.key, *others), f"{way.key} lets no water {word} {names[0]} past it to swell."
                )


@rule(
    "expansion-not-at-suction",
    "Circulator does not pump away from the expansion tank",
    Severity.CONSIDER,
    "The tank's tee keeps its pressure. A circulator that pumps toward it shows its head as a drop of "
    "pressure at its suction and at the top of the system: air is drawn in, water flashes, pumps wear.",
    "trade association text on component location, published; one tenth of the head is common practice",
    "Join the tank close to the suction of the main circulator.",
    origin="et-at-suction",
    solved=True,
)
def expansion_not_at_suction(study: Study) -> Iterator[Found]:
    """Closed bodies in which no running circulator has the tank at its suction."""
    for body in heated(study):
        if body.potable:
            continue
        for tank in tanks_in(study, body)[:1]:
            best = min(_suction_losses(study, body, tank), default=(0.0, "", ""))
            if best[0] > NEAR_SUCTION:
                yield Found(
                    (tank.id, best[1]),
                    f"{100 * best[0]:.0f} % of the head of {best[1]} is lost between {tank.id} and its "
                    "suction; one tenth is usual.",
                    (Figure("share_of_head", best[0]),),
                    case=best[2],
                )


def _suction_losses(study: Study, body: Heated, tank: Item) -> Iterator[tuple[float, str, str]]:
    """For each circulator that runs in a case: share of its head by which its suction lies below the tank."""
    pumps = study.items_in(body.places, Trait.DRIVES)
    for one in study.solutions:
        at = pressures(study, one.case)
        for pump in pumps:
            head = one.value(pump.id, "head_m")
            ends = [PortRef(tank.id, "at"), PortRef(pump.id, "in"), PortRef(pump.id, "out")]
            if not one.value(pump.id, "running") or not head or any(end not in at for end in ends):
                continue
            rise = at[ends[2]] - at[ends[1]]
            lower = at[ends[0]] - at[ends[1]] + _column(study, tank, pump, rise / float(head))
            if rise > 0.0:
                yield lower / rise, pump.id, one.case


def _column(study: Study, tank: Item, pump: Item, weight: float) -> float:
    """Pressure by which the tank's tee would stand lower for its height alone, [Pa]; weight [Pa/m]."""
    from core.hydraulics.elements import port_height

    return weight * (port_height(tank, "at") - port_height(pump, "in"))


def pressures(study: Study, case: str) -> dict[PortRef, float]:
    """Solved pressure at every piped port in a case, [Pa]."""

    def make() -> dict[PortRef, float]:
        one = next(s for s in study.solutions if s.case == case)
        found: dict[PortRef, float] = {}
        for key, figures in one.pipes.items():
            pipe = study.plant.pipes[key]
            found[pipe.start], found[pipe.end] = figures.pressure_in_pa, figures.pressure_out_pa
        return found

    return study.once(f"pressures {case}", make)


@rule(
    "two-expansion-tanks",
    "Two expansion tanks parted by a circulator",
    Severity.CONSIDER,
    "Each wants to keep the pressure at its own tee. The circulator pumps water from one to the other as it "
    "starts and stops, and a fill valve then overfills the loop.",
    PRACTICE,
    "Put all tanks on one tee at the suction.",
    origin="et-two-points",
)
def two_expansion_tanks(study: Study) -> Iterator[Found]:
    """Tanks of one closed body that hang together only past a circulator or what loses its head."""
    for body in heated(study):
        tanks = tanks_in(study, body) if not body.potable else []
        for tank in tanks[1:]:
            near = reach(
                study.graph,
                [PortRef(tanks[0].id, "at")],
                lambda way: way.is_pipe or not (way.parts or study.plant.items[way.key].has(*VESSELS)),
            )
            if PortRef(tank.id, "at") not in near:
                yield Found(
                    (tank.id, tanks[0].id),
                    f"{tanks[0].id} and {tank.id} join one loop at places between which a circulator, a "
                    "source or a load stands.",
                )


def _unsaid(tank: Item, *names: str) -> list[str]:
    return [name for name in names if not isinstance(tank.si.get(name), float)]


@rule(
    "expansion-too-small",
    "Expansion tank too small",
    Severity.MEND,
    "A tank that cannot take the water that swells opens the relief valve, and the loop lacks it when cold.",
    "ASHRAE Handbook, HVAC Systems and Equipment: diaphragm tank, published formula",
    "Take a larger tank, or a further one on the same tee.",
    origin="et-too-small",
    ask=ASK,
    solved=True,
)
def expansion_too_small(study: Study) -> Iterator[Found]:
    """Tanks that hold less than the formula asks, or say no volume."""
    for tank in study.items(Trait.EXPANDS):
        missing = _unsaid(tank, "volume")
        missing += ["acceptance"] if tank.props.get("acceptance") == UNKNOWN else []
        if missing:
            yield Found((tank.id,), f"{' and '.join(missing).capitalize()} of {tank.id} not known.")
    for at, words, value in _small(study):
        if at not in _small_for_glycol(study):
            yield Found((at,), words, (Figure("needed_m3", value),))


def _small(study: Study) -> list[tuple[str, str, float]]:
    """Tanks that are too small even rightly charged, with the words and the volume wanted, [m^3]."""
    context = context_of(study)
    return study.once("tanks too small", lambda: [] if context is None else list(_too_small(study, context)))


def _too_small(study: Study, context: Context) -> Iterator[tuple[str, str, float]]:
    from core.errors import WetsideError
    from core.sizing.bodies import bodies, items_in
    from core.sizing.families.expansion_task import heated, task_of

    for body in bodies(context):
        names = items_in(context, body, Trait.EXPANDS)
        spec = context.plant.systems[body.system].fluid
        swells = spec.get("kind") != "custom" or "expansion" in spec
        if not names or not swells or not heated(context, body):
            continue
        try:
            task = task_of(context, body)
        except WetsideError:
            continue
        wanted, taken = float(task.volume.value), float(task.taken.value)
        volumes = [study.plant.items[name].si.get("volume") for name in names]
        accepts = [study.plant.items[name].si.get("acceptance") for name in names]
        held = sum(float(one) for one in volumes if isinstance(one, float))
        room = sum(float(one) for one in accepts if isinstance(one, float))
        known = all(isinstance(one, float) for one in accepts)
        if not all(isinstance(one, float) for one in volumes):
            continue
        words = f"{' and '.join(names)} hold{'s' if len(names) == 1 else ''} {study.volume(held)}"
        if held < wanted * (1.0 - 1e-9):
            words += f"; {study.volume(wanted)} are wanted to take in {study.volume(taken)}"
        elif known and room < taken * (1.0 - 1e-9):
            words += f" and take in {study.volume(room)}; the water swells by {study.volume(taken)}"
        else:
            continue
        yield (
            names[0],
            f"{words} between {study.warm(float(task.filled_at.value))} and "
            + (f"{study.warm(float(task.warmest.value))}."),
            wanted,
        )


@rule(
    "precharge-wrong",
    "Precharge of the expansion tank does not match",
    Severity.CONSIDER,
    "Charged too low, the tank fills with water while cold and has no room left; too high, it takes none.",
    "published article on expansion of drinking water; margin of 3 to 5 psi at the top is common practice",
    "Charge it, empty of water, to the fill pressure; of drinking water to the line pressure.",
    origin="et-precharge",
    ask=ASK,
    solved=True,
)
def precharge_wrong(study: Study) -> Iterator[Found]:
    """Precharge against the fill or line pressure, and fill pressure against the height of the system."""
    for tank in study.items(Trait.EXPANDS):
        if _unsaid(tank, "precharge"):
            yield Found((tank.id,), f"The precharge of {tank.id} is not known.", severity=Severity.MEND)
    for body in heated(study):
        yield from _precharges(study, body)
    for sized in _fill_pressures(study):
        if sized.fails and not sized.missing:
            yield Found((sized.at,), sized.words)


def _fill_pressures(study: Study) -> list[Sized]:
    from core.sizing.families.expansion import fill_pressures

    context = context_of(study)
    return [] if context is None else fill_pressures(context)


def _precharges(study: Study, body: Heated) -> Iterator[Found]:
    from core.errors import WetsideError
    from core.sizing.bodies import body_at
    from core.sizing.families.expansion_task import still_pressure

    context, tanks = context_of(study), tanks_in(study, body)
    if context is None or not tanks:
        return
    sized = body_at(context, tanks[0].id)
    try:
        still = still_pressure(context, sized, [tank.id for tank in tanks]) if sized is not None else None
    except WetsideError:
        return
    for tank in tanks if still is not None else ():
        charge = tank.si.get("precharge")
        apart = APART_POTABLE if body.potable else APART
        if (
            still is not None
            and isinstance(charge, float)
            and abs(charge - float(still.value)) > apart * 1.001
        ):
            yield Found(
                (tank.id,),
                f"{tank.id} is charged to {study.pressure(charge)}; {still.words} is "
                f"{study.pressure(float(still.value))}.",
                (Figure("apart_pa", abs(charge - float(still.value))),),
            )


@rule(
    "expansion-sized-for-water",
    "Expansion tank large enough for water, not for glycol",
    Severity.MEND,
    "Glycol mixtures swell more than water between the same temperatures.",
    "ASHRAE Handbook, from memory",
    "Size the tank with the mixture that is filled.",
    origin="et-glycol",
    ask=ASK,
    solved=True,
)
def expansion_sized_for_water(study: Study) -> Iterator[Found]:
    """Tanks too small for the mixture that would do for water."""
    for at, words, value in _small(study):
        if at in _small_for_glycol(study):
            yield Found((at,), f"{words} With plain water it would do.", (Figure("needed_m3", value),))


def _small_for_glycol(study: Study) -> frozenset[str]:
    """Tanks that are too small, but would do for water."""
    return study.once("tanks for water", lambda: frozenset(_sized_for_water(study)))


def _sized_for_water(study: Study) -> Iterator[str]:
    small = [at for at, *_ in _small(study)]
    context = context_of(study)
    if context is None or not small:
        return
    from core.media.fluids import GLYCOLS

    water = {
        name: replace(system, fluid={"kind": "water"})
        for name, system in context.plant.systems.items()
        if str(system.fluid.get("kind")) in GLYCOLS
    }
    if not water:
        return
    plant = replace(context.plant, systems={**context.plant.systems, **water})
    as_water = Context(plant, {one.case: one for one in study.all_solutions})
    fails = {at for at, *_ in _too_small(study, as_water)}
    yield from (at for at in small if study.fluid_kind([PortRef(at, "at")]) in GLYCOLS and at not in fails)
