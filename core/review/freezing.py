"""Rules of cold: antifreeze outdoors, what glycol may touch, cold water on hot iron, zones that freeze."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from core import units
from core.controls.possible import Possible
from core.plant.model import Item, Pipe, PortRef
from core.review.finding import Figure, Found, Rule, Severity, registrar
from core.review.heated import heated, must_not_condense
from core.review.source_safety import outdoors
from core.review.study import Study
from core.solve.solution import Severity as Grave
from core.vocabulary import Trait
from core.water.branches import branch, far, onward
from core.water.connections import between
from core.water.ways import Way

RULES: list[Rule] = []
rule = registrar(RULES)
PRACTICE = "common practice, no source"
ASK = "Ask local code and a licensed trade what antifreeze, and what parting from drinking water, they want."
FREEZES = 273.15  # [K]
# Copper tube: bore [m] up to, greatest loop at 100 and at 200 Btu/h/ft2 [m].
COPPER_LOOPS = ((0.0155, 140 * 0.3048, 60 * 0.3048), (0.0225, 280 * 0.3048, 150 * 0.3048))
MANY, MORE = 315.46, 630.92  # [W/m^2] 100 and 200 Btu/h/ft2


def lowest_outdoors(study: Study) -> float:
    """Lowest outdoor temperature expected: the site's, or that of a colder case, [K]."""
    cases = [outdoors(study, case) for case in study.plant.solve_cases]
    return min([study.plant.site_si.outdoor_design, *cases])


def freezing_point(study: Study, places: frozenset[PortRef]) -> float | None:
    """Temperature at which the fluid of a body begins to freeze, [K]; None of a custom fluid."""
    from core.media.fluids import fluid_of

    names = study.systems_of(places)
    if not names:
        return None
    fluid = fluid_of(study.plant.systems[names[0]].si.fluid)
    return FREEZES if fluid.kind == "water" else fluid.freezing


@rule(
    "melt-loop-freezes",
    "Snow-melt loop without enough antifreeze",
    Severity.STOP,
    "What freezes in a slab bursts its tube, and nobody can mend it.",
    "freezing points of propylene glycol, published; margin of 5 °F, from memory of the ASHRAE Handbook",
    "Fill it with glycol that freezes {3 K|5 °F} below the lowest temperature expected.",
    origin="snow-glycol",
    ask=ASK,
)
def melt_loop_freezes(study: Study) -> Iterator[Found]:
    """Outdoor circuits whose fluid freezes above the lowest outdoor temperature less a margin."""
    from core.sizing.families.antifreeze import MARGIN, NEAR

    lowest = lowest_outdoors(study)
    for item in study.items(Trait.MELTS_SNOW):
        body = study.bodies[study.body_at[PortRef(item.id, "in")]]
        freezes = freezing_point(study, body)
        if freezes is None or freezes <= lowest - MARGIN + NEAR:
            continue
        kind = study.fluid_kind(body).replace("_", " ")
        words = f"{item.id} is filled with {kind} that freezes at {study.warm(freezes)}; "
        words += f"{study.warm(lowest)} outdoors are expected."
        grave = Severity.MEND if freezes <= lowest else None
        yield Found((item.id,), words, (Figure("freezes_k", freezes),), severity=grave)


@rule(
    "melt-loop-not-apart",
    "Snow-melt not parted from other water",
    Severity.STOP,
    "A leak or a wrong valve then brings glycol to taps, or water into the loop that freezes.",
    PRACTICE,
    "Part the snow-melt loop by an exchanger.",
    origin="snow-separate",
    ask=ASK,
)
def melt_loop_not_apart(study: Study) -> Iterator[Found]:
    """Melt circuits in one body with drinking water, or with the emitters of rooms."""
    for item in study.items(Trait.MELTS_SNOW):
        body = study.bodies[study.body_at[PortRef(item.id, "in")]]
        rooms = [i.id for i in study.items_in(body, Trait.HEATS_ROOM)]
        taps = [i.id for i in study.items_in(body, Trait.DRAWS_WATER, Trait.BRINGS_WATER)]
        if study.is_potable(body) or taps:
            words = f"{item.id} and drinking water{f' ({taps[0]})' if taps else ''} are one body of water."
            yield Found((item.id, *taps[:1]), words)
        elif rooms:
            words = f"{item.id} and {', '.join(rooms[:3])} are one body of water."
            yield Found((item.id, *rooms[:3]), words, severity=Severity.MEND)


@rule(
    "melt-loop-cold-start",
    "Ice-cold glycol on a source or still water",
    Severity.STOP,
    "At the start a slab sends back fluid far below freezing: it cracks a hot boiler, and freezes the other "
    "side of an exchanger where that stands.",
    PRACTICE,
    "Let one call run both sides, the water side first, and mix the return up before a boiler.",
    origin="snow-cold-start",
    ask=ASK,
)
def melt_loop_cold_start(study: Study) -> Iterator[Found]:
    """Melt circuits on a source with nothing that mixes, or on an exchanger whose water may stand."""
    logic = Possible(study.plant)
    for body in heated(study):
        melts = study.items_in(body.places, Trait.MELTS_SNOW)
        if not melts:
            continue
        for source in study.items_in(body.places, Trait.FIRED):
            condensing = source.si.get("condensing")
            mixed = bool(study.items_in(body.places, Trait.MIXES))
            if source.has(Trait.KEEPS_OWN_WATER_HOT) and not mixed and condensing is not True:
                grave = None if must_not_condense(source) else Severity.CONSIDER
                words = f"{melts[0].id} can send ice-cold fluid to {source.id}, which does not condense."
                yield Found((source.id, melts[0].id), words, severity=grave)
        for item in study.items_in(body.places, Trait.EXCHANGES_HEAT):
            yield from _still_water(study, logic, item, body.places, [melt.id for melt in melts])


def _still_water(
    study: Study, logic: Possible, item: Item, cold: frozenset[PortRef], melts: list[str]
) -> Iterator[Found]:
    """An exchanger whose cold side can be driven while the water on its other side stands."""
    sides = {"a": (PortRef(item.id, "a_in"), PortRef(item.id, "a_out"))}
    sides["b"] = (PortRef(item.id, "b_in"), PortRef(item.id, "b_out"))
    wet = [pair for pair in sides.values() if pair[0] not in cold]
    own = [pair for pair in sides.values() if pair[0] in cold]
    if not wet or not own:
        return
    other = study.bodies[study.body_at[wet[0][0]]]
    freezes = freezing_point(study, other)
    if freezes is None or freezes < lowest_outdoors(study):
        return
    cold_runs, warm_runs = _moves(study, logic, item, own[0]), _moves(study, logic, item, wet[0])
    if cold_runs is None or warm_runs is None:
        return
    state = logic.when(cold_runs, warm_runs)
    if state is not None:
        said = ", ".join(f"{name} {'on' if on else 'off'}" for name, on in state.items())
        words = f"With {said or 'all signals as they please'} glycol of {melts[0]} runs through {item.id} "
        yield Found((item.id, *melts), f"{words}while the water on its other side stands.")


def _moves(study: Study, logic: Possible, item: Item, pair: tuple[PortRef, PortRef]) -> Any:
    """The expression that holds while water is driven through a side; None where nothing drives it."""
    graph, items = study.graph, study.plant.items
    gates: list[Any] = []
    pumps: list[Item] = []
    for place in pair:
        run = branch(graph, place)
        gates += [logic.running(i) for k in run.keys if (i := items.get(k)) and i.has(Trait.OPENS_BY_SIGNAL)]
        end = items.get(run.end.item)
        for way in onward(graph, run.end) if end is None or not end.has(Trait.DRIVES) else ():
            beyond = items.get(far(way, run.end).item)
            if len(onward(graph, run.end)) == 2 and beyond is not None and beyond.has(Trait.DRIVES):
                end = beyond
        if end is not None and end.has(Trait.DRIVES):
            pumps.append(end)
    if pumps:
        names = dict.fromkeys(pump.id for pump in pumps)
        return {"all": [*gates, *(logic.running(items[key]) for key in names)]}
    ways = between(graph, pair[1], pair[0], lambda way: _beyond(way, item))
    driving = dict.fromkeys(way.key for way in ways if way.drives)
    return {"all": [*gates, {"any": [logic.running(items[key]) for key in driving]}]} if driving else None


def _beyond(way: Way, item: Item) -> bool:
    return not way.parts and not way.to_air and way.key != item.id


@rule(
    "melt-loops-too-long",
    "Copper snow-melt loops too long",
    Severity.CONSIDER,
    "A long loop costs much head and comes back so cold that its far end stays white.",
    "Copper Development Association handbook: 1/2 in 140 ft at 100 Btu/h/ft², 60 ft at 200, published",
    "Lay more and shorter loops, or larger tube.",
    origin="snow-loop-length",
    solved=True,
)
def melt_loops_too_long(study: Study) -> Iterator[Found]:
    """Copper loops longer than the handbook's lengths for their heat per area."""
    for item in study.items(Trait.MELTS_SNOW):
        raw, tube, loops = item.props.get("tube"), item.si.get("tube"), item.si.get("loops")
        if (
            not isinstance(raw, dict)
            or not str(raw.get("material", "")).startswith("copper")
            or not loops
            or tube is None
        ):
            continue
        limits = next((row for row in COPPER_LOOPS if tube.bore <= row[0]), None)
        flux = _flux(study, item)
        if limits is None or flux is None:
            continue
        share = min(1.0, max(0.0, (flux - MANY) / (MORE - MANY)))
        most = limits[1] + share * (limits[2] - limits[1])
        longest = max(each for _, each in loops)
        if longest > most * 1.001:
            shown = units.show(flux, "flux", study.system)
            words = f"Loops of {item.id} are up to {study.length(longest)} long; at {shown} "
            figure = Figure("longest_m", longest)
            yield Found((item.id,), f"{words}{study.length(most)} is usual.", (figure,))


def _flux(study: Study, item: Item) -> float | None:
    """Heat wanted per area, [W/m^2]: typed, or the load over the area, or as solved."""
    if isinstance(item.si.get("flux"), float):
        return float(item.si["flux"])
    area, load = item.si.get("area"), item.si.get("load")
    if not area:
        return None
    solved = [float(one.value(item.id, "delivered_w") or 0.0) for one in study.solutions]
    heat = float(load) if isinstance(load, float) else max(solved, default=0.0)
    return heat / float(area) if heat > 0.0 else MANY


@rule(
    "zone-freezes",
    "Water that can freeze",
    Severity.CONSIDER,
    "Ice bursts pipes and emitters; a zone in the cold freezes at the first night without a call.",
    PRACTICE,
    "Fill it with antifreeze, or let a stat for frost run it; drinking water is kept warm or drained.",
    origin="freeze-zone",
    ask=ASK,
    solved=True,
)
def zone_freezes(study: Study) -> Iterator[Found]:
    """What lies in surroundings below the freezing point of its fluid, and what the cases freeze."""
    said: set[str] = set()
    melting = [PortRef(item.id, "in") for item in study.items(Trait.MELTS_SNOW)]
    melt_bodies = {study.body_at[place] for place in melting}
    for one in study.solutions:
        for note in one.notes:
            if note.severity is Grave.DANGER and "freezes" in note.text:
                places = study.graph.places_of.get(note.at, ())
                melts = any(study.body_at.get(place) in melt_bodies for place in places)
                if not melts and not _stat_would_call(study, note.at, one.case):
                    said.add(note.at)
                    text = note.text.removeprefix("danger: ")
                    yield Found((note.at,), f"{note.at}: {text}", case=one.case, severity=Severity.MEND)
    for part in _in_the_cold(study):
        if part.id not in said:
            yield Found((part.id,), f"{part.id} lies in the cold, filled with what freezes there.")


def _stat_would_call(study: Study, emitter: str, case: str) -> bool:
    """Whether a case holds off the very stat that would warm an emitter's room before it freezes."""
    item = study.plant.items.get(emitter)
    room = item.si.get("serves") if item is not None else None
    signals = next((one.signals for one in study.plant.solve_cases if one.name == case), {})
    return room is not None and any(
        signals.get(stat.id) is False
        and study.wiring.reached(stat.id)
        and stat.si.get("makes_on") != "rise"
        and (stat.si.get("senses") or [None])[0] == room
        and float(stat.si.get("set_temperature") or 0.0) > FREEZES
        for stat in study.items(Trait.FEELS_ROOM)
    )


def _in_the_cold(study: Study) -> Iterator[Item | Pipe]:
    """Pipes with surroundings, and emitters with a room, below the freezing point of their fluid."""
    graph = study.graph
    for pipe in study.plant.pipes.values():
        around, places = pipe.si.around, graph.places_of.get(pipe.id, ())
        if around is not None and places and around < FREEZES:
            freezes = freezing_point(study, study.bodies[study.body_at[places[0]]])
            if freezes is not None and around < freezes:
                yield pipe
    for item in study.items(Trait.HEATS_ROOM):
        room = study.plant.items.get(str(item.si.get("serves")))
        typed = item.si.get("room_temperature")
        wanted = room.si.get("wanted") if room is not None else None
        there = typed if isinstance(typed, float) else wanted
        freezes = freezing_point(study, study.bodies[study.body_at[PortRef(item.id, "in")]])
        if isinstance(there, float) and freezes is not None and there < freezes + 1.0:
            yield item


@rule(
    "water-boils",
    "Water hotter than it boils at its pressure",
    Severity.STOP,
    "Steam bursts vessels and scalds.",
    "vapor pressure of water, published",
    "Lower the temperature, or raise the fill pressure within what the relief valve allows.",
    ask="Pressure, relief and limits of hot water are for a licensed trade.",
    solved=True,
)
def water_boils(study: Study) -> Iterator[Found]:
    """Places that the solver says boil."""
    for one in study.solutions:
        for note in one.notes:
            if note.severity is Grave.DANGER and "boil" in note.text:
                yield Found((note.at,), f"{note.at}: {note.text}", case=one.case)
