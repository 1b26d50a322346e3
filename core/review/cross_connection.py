"""Rules of cross-connections: what keeps water of heating, glycol and hoses out of drinking water."""

from __future__ import annotations

from collections.abc import Iterator

from core.media.fluids import GLYCOLS
from core.plant.model import Item, PortRef
from core.review.branches import items_of, said_in_words, said_plainly
from core.review.expansion import pressures
from core.review.fill import MakeUp, make_ups, sources_of
from core.review.finding import Figure, Found, Rule, Severity, registrar
from core.review.study import Study
from core.vocabulary import Trait
from core.water.branches import branch
from core.water.connections import Meeting, reach
from core.water.numbers import grouped
from core.water.ways import Way

RULES: list[Rule] = []
rule = registrar(RULES)
PRACTICE = "common practice, no source"
ASK = (
    "Cross-connections are for the water supplier, local code and a licensed plumber: ask which class of "
    "backflow protection they want here, and who tests it each year."
)
FULL = ("reduced_pressure", "air_gap")  # what holds also against treated water and glycol
TESTED = (*FULL, "vented_dual_check", "double_check")  # what holds against plain heating water
TOXIC = ("ethylene_glycol", "custom")  # poison, or nobody knows what
HOSE = ("hose", "bibb", "sillcock")


@rule(
    "no-backflow-preventer",
    "Heating water can get into drinking water",
    Severity.STOP,
    "When pressure in the main fails, what stands in the closed loop is drawn back into drinking water.",
    "IPC 608: air gap or reduced-pressure device (ASSE 1013) where there are chemicals, published; "
    "ASSE 1012 otherwise, from memory",
    "Put a backflow preventer of the right class before the fill valve.",
    origin="bf-makeup",
    ask=ASK,
    insert="backflow preventer",
)
def no_backflow_preventer(study: Study) -> Iterator[Found]:
    """Lines from drinking water into closed bodies without a preventer, or with one of too weak a class."""
    for meeting in study.meetings:
        if mixes_drinking_water(study, meeting.systems):
            closed, drinking, *between = _where(study, meeting)
            names = ", ".join(meeting.systems)
            words = f"Systems {names} meet with nothing that parts them, where {closed} and {drinking} join."
            yield Found((closed, drinking, *between), words)
    for made in make_ups(study):
        guards = _guards(study, made)
        if guards is None:
            mains = [item.id for item in study.items(Trait.BRINGS_WATER)]
            words = f"Nothing keeps water behind {made.entry.id} from coming back into drinking water."
            yield Found((made.entry.id, *mains, *sources_of(study, made)), words)
        else:
            for guard in guards:
                yield from _class(study, made, guard)
    guarding = {g.id for made in make_ups(study) for g in _guards(study, made) or ()}
    for item in study.items(Trait.STOPS_BACKFLOW):
        if item.id not in guarding and study.said(item, "class") is None:
            yield Found((item.id,), f"The class of {item.id} is not known.", severity=Severity.MEND)


def _where(study: Study, meeting: Meeting) -> tuple[str, ...]:
    """A closed and a drinking pipe of a meeting, where they touch, and the item between them."""
    for item in study.plant.items.values():
        if not item.stays or item.has(Trait.PARTS_BODIES):
            continue
        wet = study.graph.places_of.get(item.id, ())
        joined = [(way.start, way.end) for way in study.graph.ways_of.get(item.id, ())]
        part = grouped(wet, joined)
        for one in dict.fromkeys(part.values()):
            places = [place for place in wet if part[place] == one]
            pipes = [key for place in places for key in study.plant.pipes_at.get(place, ())]
            closed = next((key for key in pipes if not _potable(study, key)), "")
            drinking = next((key for key in pipes if _potable(study, key)), "")
            systems = {study.plant.pipes[key].system for key in (closed, drinking) if key}
            if closed and drinking and systems <= set(meeting.systems):
                return closed, drinking, item.id
    closed = next(key for key in meeting.pipes if not _potable(study, key))
    return closed, next(key for key in meeting.pipes if _potable(study, key))


def mixes_drinking_water(study: Study, systems: tuple[str, ...]) -> bool:
    """Whether drinking water and another use are among some systems that meet."""
    uses = {study.plant.systems[name].use for name in systems}
    return "potable" in uses and len(uses) > 1


def _potable(study: Study, pipe: str) -> bool:
    return study.plant.systems[study.plant.pipes[pipe].system].use == "potable"


def _guards(study: Study, made: MakeUp) -> list[Item] | None:
    """The preventers that water must pass to come back; None where it can come back past none."""
    items = study.plant.items
    if made.entry.has(Trait.STOPS_BACKFLOW):
        return [made.entry]

    def passes(way: Way) -> bool:
        if way.key == made.entry.id or way.to_air:
            return False
        return way.is_pipe or not items[way.key].has(Trait.STOPS_BACKFLOW)

    free = reach(study.graph, [PortRef(made.entry.id, "in")], passes)
    drinks = (Trait.BRINGS_WATER, Trait.DRAWS_WATER, Trait.TANK, Trait.MAKES_HEAT)
    if any(item.has(*drinks) for item in study.graph.items_at(free)):
        return None
    return [i for i in study.items(Trait.STOPS_BACKFLOW) if PortRef(i.id, "out") in free]


def _class(study: Study, made: MakeUp, guard: Item) -> Iterator[Found]:
    kind = study.fluid_kind(made.body)
    chemicals = kind in GLYCOLS or kind == "custom"
    said = study.said(guard, "class")
    if said is None:
        need = "with glycol it must be of reduced pressure or an air gap" if chemicals else "local code asks"
        words = f"The class of {guard.id} is not known; {need}."
        yield Found((guard.id,), words, severity=Severity.MEND)
    elif chemicals and said not in FULL:
        words = f"{guard.id} is a {said.replace('_', ' ')}; against {kind.replace('_', ' ')} it must be of "
        yield Found((guard.id,), f"{words}reduced pressure or an air gap.")
    elif said not in TESTED:
        words = f"{guard.id} is a {said.replace('_', ' ')}, which is not made for the pressure of a loop."
        grave = Severity.MEND if said == "dual_check" else None  # the rest hold nothing that is pressed back
        yield Found((guard.id,), words, severity=grave)


@rule(
    "make-up-without-check-and-stop",
    "Make-up to a boiler without check and stop",
    Severity.STOP,
    "Seats of a backflow preventer are not made for hot boiler water: a check and a stop keep it from them.",
    "state notice citing ASME Section IV HG-705, published",
    "Put a check valve and a stop between the preventer and the boiler.",
    origin="makeup-check-stop",
    ask=ASK,
)
def make_up_without_check_and_stop(study: Study) -> Iterator[Found]:
    """Make-up lines into bodies with a source of their own that lack a check or a stop."""
    for made in make_ups(study):
        sources = study.items_in(made.body, Trait.FIRED)
        if not sources:
            continue
        guards = [i.id for i in made.line if i.has(Trait.STOPS_BACKFLOW)]
        at = tuple(dict.fromkeys([*guards, made.entry.id, *(i.id for i in sources)]))
        after = made.line[made.line.index(made.entry) :]
        if guards:
            after = made.line[[i.id for i in made.line].index(guards[-1]) + 1 :]
        check = any(i.has(Trait.CHECKS) or (i.has(Trait.FILLS) and said_plainly(i, "check")) for i in after)
        stop = any(i.has(Trait.HAND_VALVE) for i in made.line)
        if check and stop:
            continue
        lacks = " and ".join(w for w, there in (("check valve", check), ("stop", stop)) if not there)
        words = f"The make-up line through {made.entry.id} to {sources[0].id} has no {lacks}."
        if not check and made.entry.has(Trait.FILLS):
            words += f" If {made.entry.id} has a check built in, say so in its label or note."
        yield Found(at, words)


@rule(
    "single-wall-exchanger",
    "Single wall between drinking water and a harmful fluid",
    Severity.STOP,
    "A pinhole in one wall lets the fluid into drinking water. Two walls with a gap to the air show a leak.",
    "IPC 608.16.3 as adopted by a state; city and state codes, published",
    "Take a double-wall exchanger, vented between the walls, or a fluid that is essentially nontoxic.",
    origin="hx-double-wall",
    ask=ASK,
)
def single_wall_exchanger(study: Study) -> Iterator[Found]:
    """Exchangers and coils between drinking water and a toxic or unknown fluid without a double wall."""
    for wall in study.graph.walls:
        sides = [study.bodies[study.body_at[place]] for place in (wall.one, wall.other)]
        drinking = [study.is_potable(side) for side in sides]
        if sum(drinking) != 1:
            continue
        other = sides[drinking.index(False)]
        kinds = {str(study.plant.systems[n].fluid.get("kind", "water")) for n in study.systems_of(other)}
        harmful = [kind for kind in kinds if kind in TOXIC]
        item = study.plant.items[wall.key]
        double = study.said(item, "double_wall")
        if not harmful or double is True:
            continue
        fluid = "a fluid nobody has named" if harmful[0] == "custom" else harmful[0].replace("_", " ")
        if double is False:
            yield Found((item.id,), f"{item.id} parts drinking water from {fluid} by a single wall.")
        else:
            words = f"Whether {item.id} parts drinking water from {fluid} by a double wall is not known."
            yield Found((item.id,), words, severity=Severity.MEND)


@rule(
    "pressure-toward-drinking-water",
    "A leak would run into drinking water",
    Severity.CONSIDER,
    "Behind a single wall a leak runs from the higher to the lower pressure: "
    "the drinking side should be higher.",
    "city code: 20 psi apart where a single wall is allowed, published",
    "Take a double wall, or fill the closed side to less.",
    origin="hx-pressure-order",
    ask=ASK,
    solved=True,
)
def pressure_toward_drinking_water(study: Study) -> Iterator[Found]:
    """Exchangers without double wall whose drinking side stands lower in a solved case."""
    for item in study.items(Trait.EXCHANGES_HEAT, Trait.HAS_COIL):
        drinking = [p for p in study.graph.places_of[item.id] if _is_drinking_side(study, p)]
        other = [p for p in study.graph.places_of[item.id] if p not in drinking]
        if study.said(item, "double_wall") is True or not drinking or not other:
            continue
        for one in study.solutions:
            at = pressures(study, one.case)
            low = [at[p] for p in drinking if p in at]
            high = [at[p] for p in other if p in at]
            if low and high and min(low) < max(high):
                yield Found(
                    (item.id,),
                    f"{study.pressure(min(low))} on the drinking side of {item.id}, "
                    f"{study.pressure(max(high))} on the other.",
                    (Figure("apart_pa", max(high) - min(low)),),
                    case=one.case,
                )


def _is_drinking_side(study: Study, place: PortRef) -> bool:
    return study.is_potable(study.bodies[study.body_at[place]])


@rule(
    "drinking-water-heats",
    "Drinking water runs through heating",
    Severity.STOP,
    "Off season it stands warm in the loops, where Legionella grows, and then comes to the tap; "
    "many codes ban it.",
    "common practice, no source; public-health guidance on dead legs, published",
    "Part the heating by an exchanger.",
    origin="open-closed-mix",
    ask=ASK,
)
def drinking_water_heats(study: Study) -> Iterator[Found]:
    """Emitters in a body of drinking water."""
    for body in study.bodies:
        systems = study.systems_of(body)
        uses = {study.plant.systems[name].use for name in systems}
        if uses != {"potable"}:
            continue
        for item in study.items_in(body, Trait.GIVES_HEAT):
            grave = None if item.has(Trait.LOOPED) else Severity.MEND
            yield Found((item.id,), f"Drinking water runs through {item.id}.", severity=grave)


@rule(
    "hose-without-vacuum-breaker",
    "Hose without vacuum breaker",
    Severity.MEND,
    "A hose left in a bucket or puddle is sucked empty into drinking water when pressure in the main fails.",
    "plumbing codes: hose connections want a vacuum breaker (from memory)",
    "Put a vacuum breaker at the hose outlet.",
    ask=ASK,
    insert="vacuum breaker",
)
def hose_without_vacuum_breaker(study: Study) -> Iterator[Found]:
    """Outlets that are hoses, with no vacuum breaker or preventer in their own branch."""
    for item in study.items(Trait.DRAWS_WATER):
        hose = item.si.get("fixture_type") == "hose_bibb" or said_in_words(item, *HOSE)
        if not hose or said_in_words(item, "vacuum breaker"):
            continue
        open_ = []
        for place in study.graph.places_of[item.id]:
            if study.plant.pipes_at.get(place):
                run = branch(study.graph, place)
                guards = items_of(study, (*run.keys, *run.beside, run.end.item))
                at_end = _beside(study, run.end)
                if not any(i.has(Trait.BREAKS_VACUUM, Trait.STOPS_BACKFLOW) for i in (*guards, *at_end)):
                    open_.append(place.port)
        if open_:
            yield Found((item.id,), f"{item.id} is a hose with no vacuum breaker.")


def _beside(study: Study, place: PortRef) -> list[Item]:
    """Items whose own branch ends at a fork."""
    found = study.items(Trait.BREAKS_VACUUM, Trait.STOPS_BACKFLOW)
    return [i for i in found if any(branch(study.graph, p).end == place for p in study.graph.places_of[i.id])]
