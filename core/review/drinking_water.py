"""Rules of drinking water: what it may touch, and where it stands."""

from __future__ import annotations

from collections.abc import Iterator

from core.plant.model import Item, Pipe, PortRef
from core.review.branches import is_drinking
from core.review.finding import Figure, Found, Rule, Severity, registrar
from core.review.recirculation import circulators, cold_places
from core.review.study import Study
from core.vocabulary import UNKNOWN, Trait
from core.water.branches import branch
from core.water.no_flow import NO_FLOW

RULES: list[Rule] = []
rule = registrar(RULES)
PRACTICE = "common practice, no source"
ASK = "What may touch drinking water, and where it may stand, is for local code and a licensed plumber."
STILL_HOURS = 7.0 * 24.0  # beyond which drinking water should not stand; common practice
STUB = 2.0  # bores
SPUR = 3.1  # [m] about 10 ft, from memory


def cold_pipes(study: Study) -> frozenset[str]:
    """Pipes of cold drinking water: those from the mains to what heats or mixes."""

    def make() -> frozenset[str]:
        places = cold_places(study)
        return frozenset(
            way.key for way in study.graph.ways if way.is_pipe and way.start in places and way.end in places
        )

    return study.once("cold pipes", make)


@rule(
    "not-for-drinking-water",
    "Part not fit for drinking water",
    Severity.STOP,
    "Iron rusts into it, and parts that are not listed may give off lead or worse.",
    "NSF/ANSI/CAN 61 and 372: at most 0.25 % lead, weighted over what is wetted, published",
    "Take a part listed for drinking water.",
    origin="potable-materials",
    ask=ASK,
)
def not_for_drinking_water(study: Study) -> Iterator[Found]:
    """Iron or unlisted parts, and steel pipes, that drinking water wets; those of which it is not known."""
    for item in study.plant.items.values():
        if item.stays and not item.has(Trait.DRIVES) and is_drinking(study, item):
            yield from _material(study, item)
    for pipe in study.plant.pipes.values():
        material = str((pipe.tube or {}).get("material", ""))
        drinks = study.plant.systems[pipe.system].use == "potable" and pipe.stage != "to_remove"
        if drinks and material.startswith("steel") and "galvan" not in pipe.note.lower():
            yield Found((pipe.id,), f"{pipe.id} carries drinking water in plain steel.")


def _material(study: Study, item: Item) -> Iterator[Found]:
    listed, iron = study.said(item, "potable_listed"), study.said(item, "ferrous")
    made_for = study.said(item, "potable") if item.has(Trait.EXPANDS) else None
    if listed is False or made_for is False:
        yield Found((item.id,), f"{item.id} is not listed for drinking water.")
    elif iron is True and listed is not True:
        two_sided = item.has(Trait.EXCHANGES_HEAT)
        words = f"Iron of {item.id} touches drinking water."
        yield Found((item.id,), words, severity=Severity.MEND if two_sided else None)
    elif listed is not True and made_for is not True:
        asked = UNKNOWN in (item.props.get("potable_listed"), item.props.get("ferrous"))
        closed = item.has(Trait.CLOSED_CIRCUIT) and not item.has(Trait.GIVES_HEAT)
        if asked or closed:
            words = f"Whether {item.id} is listed for drinking water is not known."
            yield Found((item.id,), words, severity=Severity.CONSIDER)


@rule(
    "circulator-rusts",
    "Circulator not fit for drinking water",
    Severity.STOP,
    "Drinking water brings oxygen with it: a cast-iron circulator rusts, and is not free of lead.",
    "trade text and NSF/ANSI/CAN 61, published",
    "Take one of bronze or stainless steel, listed for drinking water.",
    origin="circ-potable",
    ask=ASK,
)
def circulator_rusts(study: Study) -> Iterator[Found]:
    """Circulators in drinking water of cast iron, not listed, or of unknown make."""
    for item in study.items(Trait.DRIVES):
        if not is_drinking(study, item):
            continue
        body, listed = study.said(item, "body"), study.said(item, "potable_listed")
        if body == "cast_iron" or listed is False or study.said(item, "ferrous") is True:
            what = "is of cast iron" if body == "cast_iron" else "is not fit for it"
            yield Found((item.id,), f"{item.id} moves drinking water and {what}.")
        elif body is None and listed is not True:
            words = f"What the body of {item.id} is made of is not known; it moves drinking water."
            yield Found((item.id,), words, severity=Severity.CONSIDER)


@rule(
    "stands-all-summer",
    "Drinking side of an exchanger stands in summer",
    Severity.CONSIDER,
    "Drinking water that stands warm for weeks in an exchanger grows Legionella, and then comes to the tap.",
    "public-health guidance on dead legs, published; 7 days are common practice, no source",
    "Let a timer run its circuit a few minutes each day, or flush it before use.",
    ask=ASK,
    solved=True,
)
def stands_all_summer(study: Study) -> Iterator[Found]:
    """Exchanger sides of drinking water in which nothing moves in any summer case."""
    cases = {case.name: case for case in study.plant.solve_cases if case.season == "summer"}
    solved = [one for one in study.solutions if one.case in cases]
    hours = sum(float(cases[one.case].hours_per_year or 0.0) for one in solved)
    if not solved or hours <= STILL_HOURS:
        return
    for item in study.items(Trait.EXCHANGES_HEAT, Trait.HAS_COIL):
        for wall in (wall for wall in study.graph.walls if wall.key == item.id):
            for place in (wall.one, wall.other):
                drinking = study.is_potable([place, *_other_end(study, place)])
                pipes = study.plant.pipes_at.get(place, ())
                still = all(
                    abs(one.pipes[key].flow_m3_s) <= NO_FLOW
                    for one in solved
                    for key in pipes
                    if key in one.pipes
                )
                if drinking and pipes and still and place.port in item.ports:
                    yield Found(
                        (item.id,),
                        f"The drinking side of {item.id} stands in every summer case, {hours:.0f} h a year.",
                        (Figure("still_h", hours),),
                    )


def _other_end(study: Study, place: PortRef) -> list[PortRef]:
    ways = [way for way in study.graph.ways_at[place] if not way.is_pipe]
    return [end for way in ways for end in (way.start, way.end)]


@rule(
    "dead-leg",
    "Dead leg of drinking water",
    Severity.CONSIDER,
    "Water that never moves, or stays warm without circulating, grows Legionella and seeds the rest.",
    "CDC: eliminate dead legs, published; two bores for a stub common practice, 10 ft for a spur from memory",
    "Cut the stub off at the tee; lead the circulation closer to the tap.",
    origin="dead-leg",
    ask=ASK,
)
def dead_leg(study: Study) -> Iterator[Found]:
    """Stubs that end closed, and hot spurs beside a circulation that are long."""
    for item in study.plant.items.values():
        if item.stays and is_drinking(study, item) and _ends_closed(study, item):
            yield from _stub(study, item)
    if circulators(study):
        for item in study.items(Trait.DRAWS_WATER):
            yield from _spur(study, item)


def _ends_closed(study: Study, item: Item) -> bool:
    """Whether a run ends at an item for good: a plug, a joint with one pipe, a valve with a bare port."""
    if item.has(Trait.CLOSES_PORT):
        return True
    if item.has(Trait.JOINS):
        return len(study.pipes_of(item)) == 1
    bare = [port for port in item.ports[:2] if not study.plant.pipes_at.get(PortRef(item.id, port))]
    return item.has(Trait.HAND_VALVE) and len(bare) == 1


def _stub(study: Study, item: Item) -> Iterator[Found]:
    port = next(port for port in item.ports if study.plant.pipes_at.get(PortRef(item.id, port)))
    pipes = _run(study, PortRef(item.id, port))
    length = sum(pipe.si.length for pipe in pipes)
    bore = max((pipe.si.bore for pipe in pipes), default=0.0)
    if pipes and length > STUB * bore + 1e-9:
        guess = any(pipe.id in study.guessed for pipe in pipes)
        yield Found(
            (pipes[0].id, item.id),
            f"{study.length(length)} of drinking water end closed at {item.id}.",
            (Figure("length_m", length),),
            guess=guess,
        )


def _run(study: Study, place: PortRef) -> list[Pipe]:
    keys = branch(study.graph, place).keys
    return [study.plant.pipes[key] for key in keys if key in study.plant.pipes]


def _spur(study: Study, item: Item) -> Iterator[Found]:
    place = PortRef(item.id, item.ports[0])
    pipes = [pipe for pipe in _run(study, place) if pipe.id not in cold_pipes(study)]
    length = sum(pipe.si.length for pipe in pipes)
    if length > SPUR:
        yield Found(
            (item.id, pipes[0].id),
            f"{study.length(length)} of hot pipe to {item.id} do not circulate; "
            f"{study.length(SPUR)} are usual at most.",
            (Figure("length_m", length),),
            guess=any(pipe.id in study.guessed for pipe in pipes),
        )
