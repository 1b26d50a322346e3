"""Safety parts: what keeps pressure, air and scalding water in check. Ratings are read off plates."""

from __future__ import annotations

from typing import Any

from core.errors import Refusal
from core.first_plant.drawing import (
    at_port,
    free,
    lay,
    pipe,
    put_in,
    sources,
    system_of,
    tee,
)
from core.first_plant.wishes import Answers, Wish
from core.plant.changes import Change
from core.plant.edits import Draft
from core.plant.model import Item, Plant, PortRef
from core.vocabulary import Trait

SAFETY = (
    Wish("pressure", "Pressure of the main", "pressure", ("60 psi", "4 bar"), bare=("psi", "bar")),
    Wish("relief", "Heating relief at", "pressure", ("30 psi", "3 bar"), bare=("psi", "bar")),
    Wish(
        "relief_rating",
        "It lets off",
        "power",
        ("150 kBtu/h", "50 kW"),
        "From its plate; never under the source's full output.",
        bare=("Btu/h", "kW"),
    ),
    Wish("tank_relief", "Hot water relief at", "pressure", ("150 psi", "7 bar"), bare=("psi", "bar")),
    Wish(
        "volume",
        "Expansion tank",
        "volume",
        ("4.5 gal", "18 L"),
        "Sized in the next step.",
        bare=("gal", "L"),
    ),
)
CAUTION = (
    "Relief, expansion and backflow parts guard people. Local code decides which are asked for and where"
    " their pipes end; gas, electrical and drinking-water work is for licensed trades."
)
HOTTEST = {"us": "210 degF", "si": "99 degC"}
"""Temperature at which a tank's relief valve opens: ANSI Z21.22, from memory."""


def lacking(plant: Plant) -> list[str]:
    """What is piped and lacks a relief valve of its own, by tag."""
    heated = [one for one in plant.with_trait(Trait.MAKES_HEAT) if not free(plant, one.id, "out")]
    tanks = [one for one in plant.with_trait(Trait.TANK) if "top" in one.ports and free(plant, one.id, "top")]
    return [one.id for one in heated if not _relieved(plant, one)] + [one.id for one in tanks]


def _relieved(plant: Plant, source: Item) -> bool:
    """Whether a relief valve stands at the joint right behind a source."""
    name = at_port(plant, source.id, "out")
    part = plant.pipes[name].end.item
    there = {ref.item for one in plant.pipes_at.get(PortRef(part, "at"), ()) for ref in _ends(plant, one)}
    return any(plant.items[one].has(Trait.RELIEVES) for one in there)


def _ends(plant: Plant, name: str) -> tuple[PortRef, PortRef]:
    return plant.pipes[name].start, plant.pipes[name].end


def put_safety(plant: Plant, answers: Answers) -> list[Change]:
    """Relief, air separator, expansion, gauge, fill through a backflow preventer, purge; a tank's own."""
    draft = Draft(plant)
    if answers.si("relief_rating", "power") < max(
        (float(one.si.get("capacity") or 0.0) for one in sources(plant)), default=0.0
    ):
        expected = "a relief valve that lets off at least the source's full output"
        raise Refusal("", answers["relief_rating"], expected)
    if not lacking(plant):
        raise Refusal("", "nothing piped that lacks a relief valve", "a source or tank with pipes")
    for source in sources(plant):
        if source.id in lacking(plant):
            _at_source(draft, source, answers)
    for tank in plant.with_trait(Trait.TANK):
        if "top" in tank.ports and free(plant, tank.id, "top"):
            _at_tank(draft, tank, answers)
    for heater in plant.with_trait(Trait.STARTS_BY_FLOW):
        if not free(plant, heater.id, "out") and not _relieved(plant, heater):
            name = at_port(plant, heater.id, "out")
            part = tee(draft, name, (heater.at[0] - 30, heater.at[1] + 60))
            _relief(draft, part, (heater.at[0] - 100, heater.at[1] + 20), answers, "tank_relief")
    return draft.changes


def _relief(draft: Draft, part: str, at: tuple[float, float], answers: Answers, key: str) -> None:
    props = {"set_pressure": answers[key], "capacity": answers["relief_rating"], "inlet_size": "3/4 in"}
    valve = lay(draft, "relief_valve", at, "", props)
    pipe(draft, (part, "at"), (valve, "at"), length="6 in")


def _at_source(draft: Draft, source: Item, answers: Answers) -> None:
    name = at_port(draft.plant, source.id, "out")
    y = source.at[1] - 20
    part = tee(draft, name, (230, y))
    _relief(draft, part, (230, y - 40), answers, "relief")
    on = _after_valve(draft.plant, part)
    separator = put_in(draft, "air_separator", on, (390, y))
    expansion = tee(draft, at_port(draft.plant, separator, "out"), (470, y))
    fill = str(draft.plant.systems[draft.plant.pipes[name].system].fill_pressure or "")
    props = {"volume": answers["volume"]} | ({"precharge": fill} if fill else {})
    tank = lay(draft, "expansion_tank", (470, y + 50), "", props)
    pipe(draft, (expansion, "at"), (tank, "at"), length="6 in")
    on = _onward(draft.plant, expansion, separator)
    gauge_at = tee(draft, on, (540, y))
    gauge = lay(draft, "gauge", (540, y + 50), "", turn=180)
    pipe(draft, (gauge_at, "at"), (gauge, "at"), length="6 in")
    _fill(draft, expansion, y, fill, answers)
    back = at_port(draft.plant, source.id, "in")
    warm_at = tee(draft, _onward(draft.plant, gauge_at, expansion), (610, y))
    warm = lay(draft, "thermometer", (610, y - 50))
    pipe(draft, (warm_at, "at"), (warm, "at"), length="6 in")
    drain_at = tee(draft, back, (240, draft.plant.items[draft.plant.pipes[back].start.item].at[1]))
    drain = lay(draft, "drain", (240, draft.plant.items[drain_at].at[1] + 50))
    pipe(draft, (drain_at, "at"), (drain, "at"), length="6 in")
    _purge(draft, source)


def _after_valve(plant: Plant, part: str) -> str:
    """The pipe beyond the shut-off that follows a joint."""
    for name in plant.pipes_at.get(PortRef(part, "at"), ()):
        end = plant.pipes[name].end
        if plant.items[end.item].has(Trait.HAND_VALVE):
            return at_port(plant, end.item, "b")
    return next(name for name in plant.pipes_at[PortRef(part, "at")] if plant.pipes[name].start.item == part)


def _onward(plant: Plant, part: str, came_from: str) -> str:
    """The pipe that leads on from a joint: not back, and not to a dead end."""
    names = [one for one in plant.pipes_at[PortRef(part, "at")] if plant.pipes[one].start.item == part]
    ways = [
        one for one in names if len(plant.items[plant.pipes[one].end.item].ports) != 1 or _joins(plant, one)
    ]
    return next(one for one in ways if plant.pipes[one].end.item != came_from)


def _joins(plant: Plant, name: str) -> bool:
    return plant.items[plant.pipes[name].end.item].has(Trait.JOINS)


def _fill(draft: Draft, into: str, y: float, fill: str, answers: Answers) -> None:
    """Cold water to the heating: shut-off, backflow preventer, fill valve, into the expansion tank's tee."""
    plant, top = draft.plant, y - 160
    heating = next(plant.pipes[one].system for one in plant.pipes_at[PortRef(into, "at")])
    potable = system_of(plant, "potable")
    fields: dict[str, Any] = {"system": potable or heating}
    main = next(iter(plant.with_trait(Trait.BRINGS_WATER)), None)
    name = at_port(plant, main.id, "at") if main is not None else ""
    valve = lay(draft, "shutoff", (200, top), "Fill shut-off", {"open": True})
    if main is not None and name:
        part = tee(draft, _behind_first(draft.plant, name), (240, main.at[1]))
        pipe(draft, (part, "at"), (valve, "a"), via=((40.0, top),), **fields)
    else:
        fresh = (
            main.id
            if main is not None
            else lay(draft, "cold_main", (100, top), "Cold water supply", {"pressure": answers["pressure"]})
        )
        pipe(draft, (fresh, "at"), (valve, "a"), **fields)
    stop = lay(draft, "backflow_preventer", (280, top), "", {"class": "reduced_pressure"})
    pipe(draft, (valve, "b"), (stop, "in"), **fields)
    filler = lay(draft, "fill_valve", (360, top), "", {"set_pressure": fill} if fill else {})
    pipe(draft, (stop, "out"), (filler, "in"), system=heating)
    check = lay(draft, "check_valve", (440, top), "", {"opens_at": _spring(draft.plant)})
    pipe(draft, (filler, "out"), (check, "in"), system=heating)
    pipe(draft, (check, "out"), (into, "at"), system=heating)


def _spring(plant: Plant) -> str:
    return "2 kPa" if plant.units == "si" else "0.3 psi"


def _behind_first(plant: Plant, name: str) -> str:
    """Behind the main's own shut-off, so that this shuts the fill line too."""
    end = plant.pipes[name].end.item
    return at_port(plant, end, "b") if plant.items[end].has(Trait.HAND_VALVE) else name


def _purge(draft: Draft, source: Item) -> None:
    """Valves to flush and fill by, in the return before its shut-off."""
    valve = next(
        (
            ref.item
            for name in draft.plant.pipes_at.get(PortRef(source.id, "in"), ())
            for ref in _ends(draft.plant, _before(draft.plant, name))
            if draft.plant.items[ref.item].has(Trait.HAND_VALVE)
        ),
        "",
    )
    if valve and (back := at_port(draft.plant, valve, "a")):
        y = draft.plant.items[valve].at[1]
        dirt = put_in(draft, "dirt_separator", back, (420, y), flip=True)
        put_in(draft, "purge_set", at_port(draft.plant, dirt, "in"), (520, y), flip=True)


def _before(plant: Plant, name: str) -> str:
    """The pipe that leads into the joint a pipe starts at; the pipe itself where it starts at no joint."""
    start = plant.pipes[name].start
    if not plant.items[start.item].has(Trait.JOINS):
        return name
    return next((one for one in plant.pipes_at[start] if plant.pipes[one].end == start), name)


def _at_tank(draft: Draft, tank: Item, answers: Answers) -> None:
    """Temperature and pressure relief on top, a drain below, expansion on the cold line."""
    props = {
        "set_pressure": answers["tank_relief"],
        "capacity": answers["relief_rating"],
        "set_temperature": HOTTEST["si" if draft.plant.units == "si" else "us"],
        "inlet_size": "3/4 in",
        "senses_tank_top": True,
    }
    valve = lay(draft, "relief_valve", (tank.at[0], tank.at[1] - 100), "", props)
    pipe(draft, (tank.id, "top"), (valve, "at"), length="2 in")
    drain = lay(draft, "drain", (tank.at[0], tank.at[1] + 100))
    pipe(draft, (tank.id, "bottom"), (drain, "at"), length="6 in")
    cold = at_port(draft.plant, tank.id, "cold")
    part = tee(draft, cold, (tank.at[0] - 120, tank.at[1] + 40))
    main = next(
        (str(one.props.get("pressure") or "") for one in draft.plant.with_trait(Trait.BRINGS_WATER)), ""
    )
    swell = {"volume": answers["volume"], "potable": True} | ({"precharge": main} if main else {})
    expansion = lay(draft, "expansion_tank", (tank.at[0] - 120, tank.at[1] + 90), "", swell)
    pipe(draft, (part, "at"), (expansion, "at"), length="6 in")
