"""Rules of the drawing: open ends, parts that belong to nothing, systems that meet, figures not typed yet."""

from __future__ import annotations

from collections.abc import Iterator

from core.plant.model import Item, PortRef
from core.review.cross_connection import mixes_drinking_water
from core.review.finding import Found, Rule, Severity, registrar
from core.review.study import Study
from core.vocabulary import Trait
from core.vocabulary.port_words import spoken_port

RULES: list[Rule] = []
rule = registrar(RULES)
PRACTICE = "common practice, no source"
NAMED = (
    Trait.MAKES_HEAT,
    Trait.DRIVES,
    Trait.TANK,
    Trait.EXCHANGES_HEAT,
    Trait.GIVES_HEAT,
    Trait.DRAWS_WATER,
    Trait.STAT,
    Trait.ROOM,
)


@rule(
    "open-end",
    "Open end",
    Severity.MEND,
    "A port without a pipe is counted as plugged. Left open it spills when the system is filled; if a pipe "
    "was meant, water does not go where it should.",
    PRACTICE,
    "Join a pipe, or close the port with a plug.",
)
def open_end(study: Study) -> Iterator[Found]:
    """Ports with no pipe that are not capped as a rule."""
    for item in study.plant.items.values():
        if not item.stays or not item.ports or item.has(Trait.DRAWS_WATER):
            continue
        ports = [port for port in item.ports if port not in item.kind_info.capped]
        bare = [port for port in ports if not study.plant.pipes_at.get(PortRef(item.id, port))]
        if bare and len(bare) == len(ports):
            yield Found((item.id,), f"{item.id} is joined to nothing.", severity=Severity.CONSIDER)
        elif bare:
            word = "Port" if len(bare) == 1 else "Ports"
            verb = "has" if len(bare) == 1 else "have"
            yield Found(
                (item.id,), f"{word} {', '.join(map(spoken_port, bare))} of {item.id} {verb} no pipe."
            )


@rule(
    "outlet-without-water",
    "Outlet without a pipe",
    Severity.MEND,
    "An outlet with no pipe at all gives no water.",
    PRACTICE,
    "Join its hot or its cold port, or both.",
)
def outlet_without_water(study: Study) -> Iterator[Found]:
    """Outlets none of whose ports has a pipe."""
    for item in study.items(Trait.DRAWS_WATER):
        if not any(study.plant.pipes_at.get(PortRef(item.id, port)) for port in item.ports):
            yield Found((item.id,), f"{item.id} is joined to nothing.")


@rule(
    "systems-meet",
    "Two systems meet",
    Severity.STOP,
    "Pipes of two systems wet one body of water with nothing between them that parts them: their fluids mix.",
    "cross-connection rules of plumbing codes (from memory)",
    "Part them by an exchanger, or put the pipes in one system if they are one.",
    ask="Cross-connections are for local code and a licensed plumber.",
)
def systems_meet(study: Study) -> Iterator[Found]:
    """Bodies in which pipes of several systems meet."""
    for meeting in study.meetings:
        if mixes_drinking_water(study, meeting.systems):
            continue  # a cross-connection, which has a rule of its own
        fluids = {str(sorted(study.plant.systems[name].fluid.items())) for name in meeting.systems}
        grave = Severity.STOP if len(fluids) > 1 else Severity.MEND
        yield Found(
            meeting.pipes[1:] + meeting.pipes[:1],
            f"Systems {', '.join(meeting.systems)} meet in one body of water, "
            f"at {' and '.join(meeting.pipes)}.",
            severity=grave,
        )


@rule(
    "unnamed",
    "Parts of a kind without names",
    Severity.CONSIDER,
    "Where several of a kind are drawn, whoever serves the plant must tell them apart by more than a number.",
    PRACTICE,
    "Give each a label.",
)
def unnamed(study: Study) -> Iterator[Found]:
    """Chief parts without a label where several of their kind are drawn."""
    kinds: dict[str, list[Item]] = {}
    for item in study.items(*NAMED):
        kinds.setdefault(item.kind, []).append(item)
    for items in kinds.values():
        bare = [one.id for one in items if not one.label.strip()]
        if len(items) > 1 and bare:
            title = items[0].kind_info.title
            yield Found(tuple(bare), f"{', '.join(bare)}: {title} without a label, one of {len(items)}.")


@rule(
    "reached-from-nothing",
    "Part that nothing reaches",
    Severity.CONSIDER,
    "No source, main, circulator or fill is joined to it: no water comes to it or moves in it.",
    PRACTICE,
    "Join it, or take it out.",
)
def reached_from_nothing(study: Study) -> Iterator[Found]:
    """Bodies with pipes but without anything that fills, drives or heats them."""
    fills = {place for item in study.items(Trait.FILLS) for place in study.graph.places_of[item.id]}
    walls = {place for wall in study.graph.walls for place in (wall.one, wall.other)}
    for body in study.bodies:
        items = study.items_in(body)
        alive = study.items_in(body, Trait.BRINGS_WATER, Trait.DRIVES, Trait.MAKES_HEAT, Trait.EXPANDS)
        parted = any(one.has(Trait.PARTS_BODIES) for one in items)
        if not study.graph.pipes_at(body) or alive or parted or not body.isdisjoint(fills | walls):
            continue
        first = next((one for one in items if not one.has(Trait.JOINS)), items[0] if items else None)
        if first is not None:
            others = tuple(one.id for one in items if one != first)
            yield Found((first.id, *others), f"Nothing fills, drives or heats the water of {first.id}.")


@rule(
    "figure-missing",
    "Figure missing that answers rest on",
    Severity.CONSIDER,
    "Without it the part is taken as doing nothing, or without limit, and no size can be found.",
    PRACTICE,
    "Type it from the maker's sheet.",
)
def figure_missing(study: Study) -> Iterator[Found]:
    """Parts in live water without the figure they live by."""
    for item in study.plant.items.values():
        if item.stays and (item.id in study.runs.of or item.has(Trait.BRINGS_WATER, Trait.TANK)):
            lacks = _lacks(item)
            if lacks:
                yield Found((item.id,), f"{item.id} has no {lacks}.")


def _lacks(item: Item) -> str:
    """The figure that an item lives by and lacks, in words; "" where it has it."""
    si = item.si
    if item.has(Trait.LIFTS_HEAT):
        return "" if si.get("table") else "table of its output"
    if item.has(Trait.MAKES_HEAT):
        lacks = [
            w
            for w, key in (("capacity", "capacity"), ("set point", "set_temperature"))
            if si.get(key) is None
        ]
        return " and no ".join(lacks)
    if item.has(Trait.HAS_COIL):
        return "" if si.get("coil_ua") else "figure of what its coil passes"
    if item.has(Trait.EXCHANGES_HEAT):
        return "" if si.get("ua") or si.get("rated") else "figure of what it passes"
    if item.has(Trait.BRINGS_WATER):
        return "" if si.get("pressure") is not None else "pressure"
    if item.has(Trait.TEMPERS):
        return "" if si.get("set_temperature") is not None else "set point"
    if item.has(Trait.GIVES_HEAT):
        known = ("ua", "rated", "output_per_degree", "area")
        gives = si.get("load") or any(si.get(key) for key in known)
        return "" if gives else "load and no figure of what it gives"
    return ""


@rule(
    "no-pressure-reference",
    "Heated water at no known pressure",
    Severity.MEND,
    "With neither expansion tank, fill valve nor fill pressure nothing says at what pressure it stands.",
    PRACTICE,
    "Give the system a fill pressure, and draw its expansion tank.",
)
def no_pressure_reference(study: Study) -> Iterator[Found]:
    """Closed bodies that heat comes to and that nothing holds at a pressure."""
    filled = {place for item in study.items(Trait.FILLS) for place in study.graph.places_of[item.id]}
    for body in study.bodies:
        heated = study.items_in(body, Trait.MAKES_HEAT, Trait.EXCHANGES_HEAT, Trait.GIVES_HEAT)
        held = study.items_in(body, Trait.EXPANDS, Trait.BRINGS_WATER)
        typed = any(study.plant.systems[k].si.fill_pressure is not None for k in study.systems_of(body))
        if heated and not held and not typed and body.isdisjoint(filled) and study.graph.pipes_at(body):
            yield Found((heated[0].id,), f"Nothing says at what pressure the water of {heated[0].id} stands.")
