"""Rules of air: where it is taken out, where it gathers, where it is sucked in."""

from __future__ import annotations

from collections.abc import Iterator

from core.figures import PointFigures
from core.plant.model import Item, PortRef
from core.review.finding import Figure, Found, Rule, Severity, registrar
from core.review.study import Study
from core.vocabulary import Trait
from core.water.no_flow import NO_FLOW
from core.water.numbers import grouped, reached

RULES: list[Rule] = []
rule = registrar(RULES)
PRACTICE = "common practice, no source"
COOLER = 3.0  # [K] below the warmest water of its body
LEVEL = 0.1  # [m]
PLACE = (
    "Water holds least air where it is hottest and its pressure lowest: behind the source, at the expansion "
    "tank, before the circulator."
)
PLACE_SOURCE = "published component location guide of a radiant trade association; trade articles"


@rule(
    "no-air-separator",
    "Heated circuit without an air separator",
    Severity.CONSIDER,
    "Air that heat drives out of the water is carried round: noise, rust, emitters that stay cold.",
    PLACE_SOURCE,
    "Put an air separator behind the source, before the circulator.",
    origin="air-sep-place",
    insert="air separator",
)
def no_air_separator(study: Study) -> Iterator[Found]:
    """Closed bodies that circulators move and heat comes to, with no air separator."""
    for body in study.bodies:
        drives = [item for item in study.items_in(body, Trait.DRIVES) if study.run(item) is not None]
        if (
            study.is_potable(body)
            or not drives
            or study.items_in(body, Trait.REMOVES_AIR, Trait.BRINGS_WATER)
        ):
            continue
        heat = study.items_in(body, Trait.MAKES_HEAT, Trait.EXCHANGES_HEAT)
        if heat:
            yield Found((heat[0].id,), f"Nothing takes air out of the water of {heat[0].id}.")


@rule(
    "air-separator-in-the-wrong-place",
    "Air separator in the wrong place",
    Severity.CONSIDER,
    PLACE,
    PLACE_SOURCE,
    "Move it behind the source, before the circulator.",
    origin="air-sep-place",
    solved=True,
)
def air_separator_place(study: Study) -> Iterator[Found]:
    """Air separators in cool water in every case, or right behind a circulator."""
    for item in study.items(Trait.REMOVES_AIR):
        pump = _just_behind(study, item)
        cool = _always_cool(study, item)
        if cool is not None:
            own, hot, case = cool
            yield Found(
                (item.id,),
                f"{item.id} stands in water of {study.celsius(own)}, where its body has "
                f"{study.celsius(hot)}.",
                (Figure("cooler_k", hot - own),),
                case,
            )
        elif pump:
            yield Found(
                (item.id, pump),
                f"{item.id} stands behind {pump}, where the pressure is highest.",
            )


def _always_cool(study: Study, item: Item) -> tuple[float, float, str] | None:
    """Its water, the warmest of its body, and the case in which they lie closest; None if ever hot."""
    pipes = [pipe.id for pipe in study.graph.pipes_at(study.body_of(item)) if not pipe.si.joined]
    found = []
    for solution, _ in study.each():
        own = study.port_c(solution, item, "in")
        flowing = [key for key in pipes if key in study.flowing[solution.case]]
        if own is None or not flowing or abs(solution.flow(item.id)) <= NO_FLOW:
            continue
        hot = max(solution.pipes[key].warmest_c for key in flowing)
        low = min(solution.pipes[key].temperature_out_c for key in flowing)
        if hot - low > COOLER:
            found.append((own, hot, solution.case))
    least = min(found, key=lambda one: one[1] - one[0], default=None)
    return least if least is not None and least[1] - least[0] > COOLER else None


def _just_behind(study: Study, item: Item) -> str:
    """A circulator on its run that pushes into it with no source, and no expansion tank, between."""
    run = study.run(item)
    if run is None:
        return ""
    pump = ""
    signs = dict(zip((way.key for way in run.ways), run.signs, strict=True))
    line = list(run.keys)
    for one in study.runs.items(run):
        if one.has(Trait.DRIVES) and signs[one.id] == signs[item.id]:
            at, own = line.index(one.id), line.index(item.id)
            between = line[min(at, own) + 1 : max(at, own)]
            ahead = (at < own) == (signs[one.id] > 0)
            heat = any(
                study.plant.items[key].has(Trait.MAKES_HEAT, Trait.EXCHANGES_HEAT)
                for key in between
                if key in study.plant.items
            )
            if ahead and not heat and not _tank_near(study, line, own):
                pump = one.id
    return pump


def _tank_near(study: Study, line: list[str], own: int) -> bool:
    """Whether an expansion tank hangs on the tee next to a place in a line."""
    near = [key for key in line[max(0, own - 2) : own + 3] if key in study.plant.items]
    pipes = {pipe.id for key in near for pipe in study.pipes_of(key)}
    return any(pipe.id in pipes for tank in study.items(Trait.EXPANDS) for pipe in study.pipes_of(tank))


@rule(
    "high-point-without-vent",
    "High point without a vent",
    Severity.CONSIDER,
    "Air gathers where the pipe falls to both sides, and can stop the flow.",
    PRACTICE,
    "Put an air vent there.",
    origin="air-high-point",
)
def high_point_without_vent(study: Study) -> Iterator[Found]:
    """Local high points of closed bodies, by the heights typed; radiators and fan coils vent themselves."""
    live = [way for way in study.runs.live if not way.to_air]
    ends = {place: study.height(place) for way in live for place in (way.start, way.end)}
    shut = {k for k, body in enumerate(study.bodies) if _closed(study, body)}
    closed = {place for place in ends if study.body_at.get(place) in shut}
    level = [w for w in live if abs(ends[w.start] - ends[w.end]) < LEVEL]
    group = grouped(ends, [(w.start, w.end) for w in level])
    falls: dict[PortRef, list[float]] = {}
    for way in live:
        if group[way.start] != group[way.end]:
            for one, other in ((way.start, way.end), (way.end, way.start)):
                falls.setdefault(group[one], []).append(ends[one] - ends[other])
    members: dict[PortRef, list[PortRef]] = {}
    for place in ends:
        members.setdefault(group[place], []).append(place)
    for top, slopes in falls.items():
        if len(slopes) > 1 and min(slopes) >= LEVEL and top in closed:
            yield from _bare_top(study, members[top])


def _closed(study: Study, body: frozenset[PortRef]) -> bool:
    return not study.is_potable(body) and not study.items_in(body, Trait.BRINGS_WATER)


def _bare_top(study: Study, places: list[PortRef]) -> Iterator[Found]:
    items = [
        study.plant.items[key] for key in dict.fromkeys(p.item for p in places) if key in study.plant.items
    ]
    own_vent = all(item.has(Trait.HEATS_ROOM) and not item.has(Trait.IN_FLOOR) for item in items)
    if not items or own_vent or any(item.has(Trait.REMOVES_AIR, Trait.WATER_STANDS) for item in items):
        return

    def stubs(place: PortRef) -> list[PortRef]:
        near = [
            w for w in study.graph.ways_at[place] if not w.parts and w not in study.runs.at.get(place, ())
        ]
        return [w.end if w.start == place else w.start for w in near]

    if any(
        study.plant.items[one.item].has(Trait.VENTS)
        for one in reached(places, stubs)
        if one.item in study.plant.items
    ):
        return
    first = next((item for item in items if item.has(Trait.JOINS)), items[0])
    high = study.height(places[0])
    yield Found(
        (first.id, *(item.id for item in items if item != first)),
        f"The way falls to both sides of {first.id} at {study.length(high)}, and no vent is there.",
    )


def _held(study: Study, body: frozenset[PortRef]) -> bool:
    """Whether anything says at what pressure a body stands."""
    typed = any(study.plant.systems[key].si.fill_pressure is not None for key in study.systems_of(body))
    return typed or bool(study.items_in(body, Trait.EXPANDS, Trait.FILLS, Trait.BRINGS_WATER))


@rule(
    "vent-sucks-air",
    "Vent that can suck air in",
    Severity.MEND,
    "Below the air's pressure an automatic vent lets air in instead of out.",
    "published service article on pumping toward the expansion tank",
    "Raise the fill pressure, join the expansion tank at the circulator's inlet, or use a hand vent.",
    origin="air-vent-negative",
    solved=True,
)
def vent_sucks_air(study: Study) -> Iterator[Found]:
    """Vents and air separators at less than atmospheric pressure in a solved case."""
    for solution, _ in study.each():
        for item in study.items(Trait.VENTS, Trait.REMOVES_AIR):
            if not _held(study, study.body_of(item)):
                continue
            at = solution.at(item.id, PointFigures)
            ports = [study.port_pa(solution, item, port) for port in item.ports]
            values = [at.pressure_pa] if at is not None else [one for one in ports if one is not None]
            if values and min(values) < 0.0:
                yield Found(
                    (item.id,),
                    f"{item.id} stands at {study.pressure(min(values))}, below the air around it.",
                    (Figure("pressure_pa", min(values), -1),),
                    solution.case,
                )
