"""Rules of heated floors and slabs: too hot water, too warm a surface, oxygen through the tube."""

from __future__ import annotations

from collections.abc import Iterator

from core.plant.model import Item, PortRef
from core.review.branches import said_in_words
from core.review.finding import Figure, Found, Rule, Severity, registrar
from core.review.heated import Heated, context_of, heated
from core.review.study import Study
from core.sizing.result import Sized
from core.vocabulary import Trait, signal_names
from core.water.no_flow import NO_FLOW

RULES: list[Rule] = []
rule = registrar(RULES)
PRACTICE = "common practice, no source"
ASK = "Water and surface limits of a floor are for its maker and a licensed trade: ask what its finish bears."
SLAB = 55.0  # [degC] round the tube in concrete
NEAR = 0.5  # [K]
JOISTS = 47.3  # [W/m^2] 15 Btu/h/ft2, what a bay without plates gives at most; common practice
OCCUPIED, BATH, EDGE, WOOD = 29.0, 33.0, 35.0, 27.0  # [degC] of the surface
ZONES = (
    (BATH, "bath", "shower", "wet room"),
    (EDGE, "edge", "perimeter", "border", "entry", "entrance"),
    (WOOD, "wood", "oak", "parquet"),
)
PLASTIC = ("pex", "pe-rt", "pert", "pb", "poly")


def hottest_inlet(study: Study, item: Item) -> tuple[float, str] | None:
    """Hottest water that flows into an item over the cases, [degC], and the case."""
    place, found = PortRef(item.id, "in"), []
    for one in study.solutions:
        for key in study.plant.pipes_at.get(place, ()):
            figures = one.pipes.get(key)
            if figures is not None and abs(figures.flow_m3_s) > NO_FLOW:
                found.append((figures.temperature_at(study.plant.pipes[key].start == place), one.case))
    return max(found, default=None)


@rule(
    "floor-water-too-hot",
    "Water too hot for what it heats",
    Severity.STOP,
    "Too hot a supply cracks and dries a slab, hurts its finish and feet: something must mix it down.",
    "EN 1264-4: 55 °C round the tube in concrete, from memory; 50 °C at gypsum board, published",
    "Put a mixing valve, an injection circuit or an exchanger between, set to what the floor bears.",
    origin="mixing-required",
    ask=ASK,
    solved=True,
)
def floor_water_too_hot(study: Study) -> Iterator[Found]:
    """Circuits that get hotter water than they bear, or hang on a hotter source with nothing that mixes."""
    for item in study.items(Trait.GIVES_HEAT):
        rated = item.si.get("max_temperature")
        slab = item.has(Trait.IN_FLOOR) and item.si.get("construction") == "slab"
        most = rated - 273.15 if isinstance(rated, float) else SLAB if slab else None
        if most is None:
            continue
        what = "its rating" if isinstance(rated, float) else "a slab"
        there = hottest_inlet(study, item)
        if there is not None and there[0] > most + NEAR:
            yield Found(
                (item.id,),
                f"Water of {study.celsius(there[0])} comes to {item.id}; {what} bears {study.celsius(most)}.",
                (Figure("supply_c", there[0]),),
                case=there[1],
            )
        elif there is None or there[0] > most - NEAR:
            yield from _unmixed(study, item, most)


def _unmixed(study: Study, item: Item, most: float) -> Iterator[Found]:
    """A circuit in a body with a hotter source of its own and nothing in it that mixes."""
    for body in heated(study):
        if PortRef(item.id, "in") not in body.places or study.items_in(body.places, Trait.MIXES):
            continue
        hot = [(t, source.id) for source in body.by if (t := hottest_setting(study, source)) is not None]
        if hot and max(hot)[0] > most + NEAR:
            t, name = max(hot)
            yield Found(
                (item.id, name),
                f"{name} is set to {study.celsius(t)} and nothing mixes before {item.id}, which bears "
                f"{study.celsius(most)}.",
                (Figure("supply_c", t),),
            )


def hottest_setting(study: Study, source: Item) -> float | None:
    """Hottest water a source is set to, by itself or by an outdoor reset, [degC]."""
    for item in study.items(Trait.RESETS):
        line, sets = item.si.get("line"), item.si.get("sets") or ()
        if line and source.id in ([sets] if isinstance(sets, str) else sets):
            return max(float(point[1]) for point in line) - 273.15
    value = source.si.get("set_temperature")
    return value - 273.15 if isinstance(value, float) else None


@rule(
    "hotter-than-rated",
    "Hotter than it is rated for",
    Severity.MEND,
    "Above its rated temperature a part ages fast, leaks or bursts.",
    PRACTICE,
    "Take a part for that temperature, or lower the supply.",
    ask="Ask its maker, or a licensed trade, what the part bears.",
    solved=True,
)
def hotter_than_rated(study: Study) -> Iterator[Found]:
    """Other parts whose solved water is hotter than their rating."""
    for item in study.plant.items.values():
        rated = item.si.get("max_temperature")
        if not item.stays or item.has(Trait.GIVES_HEAT) or not isinstance(rated, float):
            continue
        found = []
        for port in item.ports:
            place = PortRef(item.id, port)
            for key in study.plant.pipes_at.get(place, ()):
                start = study.plant.pipes[key].start == place
                found += [
                    (one.pipes[key].temperature_at(start), one.case)
                    for one in study.solutions
                    if key in one.pipes and abs(one.pipes[key].flow_m3_s) > NO_FLOW
                ]
        worst = max(found, default=None)
        if worst is not None and worst[0] > rated - 273.15 + NEAR:
            words = f"{study.celsius(worst[0])} at {item.id}, which is rated for {study.warm(rated)}."
            yield Found((item.id,), words, (Figure("water_c", worst[0]),), case=worst[1])


def _surfaces(study: Study) -> tuple[Sized, ...]:
    from core.sizing.families import floors

    context = context_of(study)
    return study.once("surfaces", lambda: () if context is None else tuple(floors.surfaces(context)))


def surface_limit(item: Item) -> float:
    """Greatest surface temperature of a floor by what its label says it is, [degC]."""
    return next((limit for limit, *words in ZONES if said_in_words(item, *words)), OCCUPIED)


@rule(
    "floor-too-warm",
    "Floor surface too warm",
    Severity.MEND,
    "A floor warmer than that is uncomfortable to stand on and hurts finishes.",
    "EN 1264: 29 °C in rooms, 33 °C in baths, 35 °C along cold walls; wood 27 °C; published summaries",
    "Lower the supply, or give a part of the heat by another emitter.",
    origin="floor-surface",
    ask=ASK,
    solved=True,
)
def floor_too_warm(study: Study) -> Iterator[Found]:
    """Floors whose solved surface is above the limit."""
    from core.sizing.context import MissingInput
    from core.sizing.families import floors

    context = context_of(study)
    for item in study.items(Trait.IN_FLOOR) if context is not None else ():
        try:
            option = None if context is None else floors.solved_surface(context, item.id)
        except MissingInput:
            continue
        there = None if option is None else option.figures["surface_c"]
        limit = surface_limit(item)
        if option is not None and there is not None and there > limit + 0.1:
            yield Found(
                (item.id,),
                f"The surface of {item.id} comes to {study.celsius(there)}, over {study.celsius(limit)}.",
                (Figure("surface_c", there),),
                case=option.name.removeprefix("as solved in "),
            )


@rule(
    "floor-asked-too-much",
    "More heat than the floor can give",
    Severity.MEND,
    "At the warmest surface allowed a floor gives about {100 W/m²|32 Btu/h/ft²}; no more can be had of it.",
    "EN 1264: q = 8.92 (T_s − T_r)^1.1, published",
    "Add a further emitter, or lessen the loss of the room.",
    origin="floor-duty",
    solved=True,
)
def floor_asked_too_much(study: Study) -> Iterator[Found]:
    """Floors whose wanted heat needs a surface above the limit."""
    for sized in _surfaces(study):
        item = study.plant.items[sized.at]
        limit = surface_limit(item)
        if isinstance(sized.value, float) and sized.value - 273.15 > limit + 0.1:
            words = f"What is wanted of {item.id} needs a surface of {study.warm(sized.value)}, over "
            figure = Figure("needed_surface_c", sized.value - 273.15)
            yield Found((item.id,), f"{words}{study.celsius(limit)}.", (figure,))


@rule(
    "joists-asked-too-much",
    "Much heat from tube between joists",
    Severity.CONSIDER,
    "Without plates a joist bay gives "
    "{30 to 50 W/m², with plates 50 to 80|10 to 15 Btu/h/ft², with plates 15 to 25}: more wants hotter "
    "water.",
    PRACTICE,
    "Use plates, closer tube, or a further emitter.",
    origin="joist-output",
    solved=True,
)
def joists_asked_too_much(study: Study) -> Iterator[Found]:
    """Suspended floors asked for more than bays without plates give."""
    for item in study.items(Trait.IN_FLOOR):
        area = item.si.get("area")
        if item.si.get("construction") != "suspended" or not area:
            continue
        wanted = [float(one.value(item.id, "wanted_w") or 0.0) for one in study.solutions]
        load = item.si.get("load")
        most = float(load) if isinstance(load, float) else max(wanted, default=0.0)
        flux = item.si.get("flux") if isinstance(item.si.get("flux"), float) else most / float(area)
        if flux is not None and flux > JOISTS:
            from core import units

            shown = units.show(flux, "flux", study.system)
            words = f"{item.id} is asked for {shown}: it needs plates, and water hot enough."
            yield Found((item.id,), words, (Figure("flux_w_m2", flux),))


@rule(
    "floor-without-limit",
    "Slab on a hot source without a limit of its own",
    Severity.CONSIDER,
    "When a mixing valve fails, water of the boiler's temperature runs into the slab.",
    PRACTICE,
    "Let an aquastat on the floor supply stop the floor's circulator.",
    origin="floor-limit-sensor",
    ask=ASK,
)
def floor_without_limit(study: Study) -> Iterator[Found]:
    """Slabs in a body whose heat is hotter than a slab bears, with no aquastat that stops their water."""
    for body in heated(study):
        slabs = [
            item
            for item in study.items_in(body.places, Trait.IN_FLOOR)
            if item.si.get("construction") == "slab" and study.said(item, "high_limit") in (None, False)
        ]
        hottest = _hottest_of(study, body)
        if not slabs or hottest is None or hottest <= SLAB + NEAR or _limited(study, body):
            continue
        for item in slabs:
            words = f"{item.id} hangs on water of {study.celsius(hottest)}; no limit stops its circulator."
            yield Found((item.id,), words)


def _hottest_of(study: Study, body: Heated) -> float | None:
    """Hottest setting of what heats a body, or of the sources beyond its exchangers, [degC]."""
    known = [t for item in body.by if (t := hottest_setting(study, item)) is not None]
    if known or body.own:
        return max(known, default=None)
    beyond = [t for i in study.items(Trait.MAKES_HEAT) if (t := hottest_setting(study, i)) is not None]
    return max(beyond, default=None)


def _limited(study: Study, body: Heated) -> bool:
    """Whether an aquastat that feels flowing water of this body has a say in what moves or mixes it."""
    names = {
        name
        for item in study.items_in(body.places, Trait.DRIVES, Trait.OPENS_BY_SIGNAL)
        for prop in ("run_when", "powered_by")
        for name in signal_names(item.si.get(prop))
    }
    pipes = {pipe.id for pipe in study.graph.pipes_at(body.places)}
    for stat in study.items(Trait.FEELS_WATER):
        place = stat.si.get("senses")
        at = str(place[0]) if place else ""
        item = study.plant.items.get(at)
        fits = at in pipes or (item is not None and any(p.item == at for p in body.places))
        if stat.id in names and fits and not (item is not None and item.has(Trait.STORES_HEAT)):
            return True
    return False


@rule(
    "tube-lets-oxygen-in",
    "Tube without oxygen barrier beside iron",
    Severity.MEND,
    "Plain plastic tube lets oxygen through its wall: iron in the loop rusts, and the rust fills pumps.",
    "DIN 4726: 0.32 mg/(m² d) at 40 °C, published",
    "Take tube with a barrier, or keep all iron out of the loop, or part it by an exchanger.",
    origin="oxygen-barrier",
)
def tube_lets_oxygen_in(study: Study) -> Iterator[Found]:
    """Circuits of plastic tube without barrier, or of which it is not said, in closed bodies with iron."""
    for body in heated(study):
        if body.potable:
            continue
        iron = [i.id for i in study.items_in(body.places) if is_iron(i)]
        for item in study.items_in(body.places, Trait.LOOPED):
            barrier = study.said(item, "oxygen_barrier")
            tube = item.props.get("tube")
            material = str(tube.get("material", "")) if isinstance(tube, dict) else ""
            plastic = material.startswith(PLASTIC) or material == ""
            if barrier is True or not plastic:
                continue
            if barrier is False:
                others = tuple(iron[:1])
                words = f"The tube of {item.id} has no oxygen barrier"
                words += f", and {iron[0]} is of iron." if iron else "; no iron is known in its loop."
                yield Found((item.id, *others), words, severity=None if iron else Severity.CONSIDER)
            elif iron and material:
                words = (
                    f"Whether the tube of {item.id} has an oxygen barrier is not said; {iron[0]} is of iron."
                )
                yield Found((item.id,), words, severity=Severity.CONSIDER)


def is_iron(item: Item) -> bool:
    """Whether iron or steel is said to touch its water."""
    return item.si.get("ferrous") is True or item.si.get("body") == "cast_iron"
