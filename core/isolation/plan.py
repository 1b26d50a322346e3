"""The shut-off plan of one item or pipe: what to close, drain, vent and switch off, in order.

The valves come from the graph of the water (`core.water.shut_off`); no case is solved. Order of the steps:
common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass

from core.errors import listed
from core.hydraulics.elements import port_height
from core.plant.model import Item, Plant, PortRef
from core.vocabulary import Trait
from core.water.connections import reach
from core.water.shut_off import Cut, least_cut, moving, zone_of
from core.water.ways import CENTER, WaterGraph, past_shut_valves, water_graph

COOL = "40 °C (104 °F)"
CAUTIONS = (
    "Hot water and steam scald: stand clear of drains and hoses, and never loosen a joint that may still be "
    "under pressure. A relief valve is never plugged, capped or shut off.",
    "Check at a tap, gauge or drain that the pressure is gone before you open anything: a worn valve lets it "
    "come back.",
    "Gas, electricity and the water main are work for licensed trades where local code says so; it decides.",
)
DESCALING = (
    "Descaling acid burns skin and eyes: gloves and goggles, fresh air, never mixed with bleach; rinse until "
    "the water runs clear and neutral."
)
RINSE = "It is drinking water: rinse the section well at a tap or drain before anybody draws from it again."
TREATED = (
    "It holds a treated fluid: catch what drains, keep it out of drains that code closes to it, and refill."
)


@dataclass(frozen=True)
class ShutOff:
    """One plan; ids as in the plant file.

    Attributes
    ----------
    target : str
        What is to be taken out of service
    possible : bool
        Whether the valves that are there can do it safely
    close : tuple of str
        Hand valves to shut
    drain, vent : tuple of str
        Where the section lets its water out, the lowest first, and lets air in, the highest first
    switch_off : tuple of str
        The target if it is a pump or source, and those left without flow
    also_dead : tuple of str
        What else goes dry or cold meanwhile
    missing : tuple of str
        Pipes in which a further valve would make it possible
    reason : str
        Why it is impossible
    steps, cautions : tuple of str
        What to do in order; dangers
    """

    target: str
    possible: bool
    close: tuple[str, ...]
    drain: tuple[str, ...]
    vent: tuple[str, ...]
    switch_off: tuple[str, ...]
    also_dead: tuple[str, ...]
    missing: tuple[str, ...]
    reason: str
    steps: tuple[str, ...]
    cautions: tuple[str, ...]


def shut_off(plant: Plant, target: str, graph: WaterGraph | None = None) -> ShutOff:
    """How an item or pipe is taken out of service.

    Parameters
    ----------
    plant : Plant
    target : str
        Id of an item or pipe that water wets
    graph : WaterGraph or None
        Of the same plant, where it is made already

    Raises
    ------
    KeyError
        Where no such item or pipe is wetted
    """
    graph = graph or water_graph(plant)
    cut = least_cut(graph, target)
    if not cut.possible:
        return ShutOff(target, False, (), (), (), (), (), cut.missing, cut.reason, (), CAUTIONS)
    cautions = (*CAUTIONS, *_of_what_it_holds(graph, cut))
    zone = zone_of(graph, target, frozenset(cut.close))
    drain, vent = _openings(graph, zone)
    off = _switched_off(graph, target, cut)
    closed_in, beside = _shut_in(graph, cut, zone)
    drain = tuple(dict.fromkeys([*drain, *beside]))
    sections = _sections(graph, zone)
    steps = tuple(_steps(plant, target, cut, drain, off, closed_in, sections, RINSE in cautions))
    return ShutOff(target, True, cut.close, drain, vent, off, cut.also_dead, (), "", steps, cautions)


@dataclass(frozen=True)
class _Section:
    """Water of the zone that hangs together: two at an exchanger that is taken out.

    `at` names the port it is at; `drain` and `vent` as of the plan, `inside` its items.
    """

    at: str
    inside: tuple[str, ...]
    drain: tuple[str, ...]
    vent: tuple[str, ...]


def _sections(graph: WaterGraph, zone: frozenset[PortRef]) -> list[_Section]:
    """The zone, parted where the wall of an exchanger or a coil parts it."""
    walled = {place for wall in graph.walls for place in (wall.one, wall.other)}
    found, known = [], set[PortRef]()
    for place in (one for one in graph.places if one in zone):
        if place in known:
            continue
        section = frozenset(reach(graph, [place], lambda way: way.start in zone and way.end in zone))
        known |= section
        at = next((one for one in section if one in walled), place)
        inside = tuple(item.id for item in graph.items_at(section))
        found.append(_Section(f"{at.item} {at.port.replace('_', ' ')}", inside, *_openings(graph, section)))
    return found


def _openings(graph: WaterGraph, zone: frozenset[PortRef]) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Where a section can be drained, lowest first, and vented, highest first."""
    drains: dict[str, float] = {}
    vents: dict[str, float] = {}
    for item in graph.items_at(zone):
        own = [place for place in graph.places_of[item.id] if place in zone and place.port in item.ports]
        heights = [port_height(item, place.port) for place in own]
        if item.has(Trait.DRAINS) and item.has(Trait.ENDS_RUN):
            drains[item.id] = min(heights)
        if item.has(Trait.VENTS, Trait.DRAWS_WATER):
            vents[item.id] = max(heights)
    for way in graph.ways:  # hose ports: they hang on one side of a hand valve
        if way.hand_valve and way.part and way.start in zone and way.end not in graph.plant.pipes_at:
            height = port_height(graph.plant.items[way.key], way.start.port)
            drains[way.key] = vents[way.key] = height
    lowest, highest = sorted(drains, key=lambda k: drains[k]), sorted(vents, key=lambda k: -vents[k])
    if len(highest) > 1 and highest[0] == (lowest[:1] or [""])[0]:
        highest = [*highest[1:], highest[0]]  # the one hose that drains cannot let air in as well
    return tuple(lowest), tuple(highest)


def _switched_off(graph: WaterGraph, target: str, cut: Cut) -> tuple[str, ...]:
    """Pumps and sources that are the target, lie in the section, or lose their flow."""
    lost = moving(graph) - moving(graph, frozenset(cut.close))
    lost |= {target, *cut.zone}
    return tuple(i.id for i in graph.plant.with_trait(Trait.DRIVES, Trait.MAKES_HEAT) if i.id in lost)


def _shut_in(
    graph: WaterGraph, cut: Cut, zone: frozenset[PortRef]
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Exchangers and coils outside the section whose water the valves shut in full, and drains of it.

    Shut in is water beside heat that had a relief valve or an expansion tank and has neither any more.
    """
    shut = frozenset(cut.close)
    found: dict[str, None] = {}
    drains: dict[str, None] = {}
    for wall in graph.walls:
        for side in (wall.one, wall.other):
            if side in zone or side.port == CENTER:  # a tank's own water is asked about by the cut
                continue
            before = graph.items_at(reach(graph, [side], past_shut_valves()))
            section = frozenset(reach(graph, [side], past_shut_valves(shut)))
            after = graph.items_at(section)
            if any(_guards(item) for item in before) and not any(_guards(item) for item in after):
                found[wall.key] = None
                drains.update(dict.fromkeys(_openings(graph, section)[0][:1]))
    return tuple(found), tuple(drains)


def _guards(item: Item) -> bool:
    return item.has(Trait.RELIEVES, Trait.EXPANDS, Trait.BRINGS_WATER)


def _of_what_it_holds(graph: WaterGraph, cut: Cut) -> list[str]:
    """Cautions that follow from the fluid and from what lies in the section."""
    plant = graph.plant
    systems = [plant.systems.get(pipe.system) for pipe in plant.pipes.values() if pipe.id in cut.zone]
    out = []
    if any(system is not None and system.use == "potable" for system in systems):
        out.append(RINSE)
    if any(system is not None and system.fluid.get("kind") != "water" for system in systems):
        out.append(TREATED)
    if any(plant.items[key].has(Trait.EXCHANGES_HEAT, Trait.FIRED) for key in cut.zone if key in plant.items):
        out.append(DESCALING)
    return out


def _steps(
    plant: Plant,
    target: str,
    cut: Cut,
    drain: tuple[str, ...],
    off: tuple[str, ...],
    closed_in: tuple[str, ...],
    sections: list[_Section],
    potable: bool,
) -> list[str]:
    elements = [
        item.id
        for item in plant.with_trait(Trait.TANK)
        if item.id in cut.zone and float(item.si.get("element") or 0.0) > 0.0
    ]
    lock = listed([*off, *elements]) or f"whatever heats or drives the water at {target}"
    out = [f"Lock out fuel and electricity of {lock}, and hang a tag there."]
    if closed_in:
        out.append(
            f"Stop what heats {listed(closed_in)} too: its water is shut in without relief or expansion."
        )
    out.append(f"Wait until the water at {target} is below {COOL}.")
    if target in plant.items and plant.items[target].has(Trait.BRINGS_WATER):
        out.append(
            f"Have the supply shut ahead of {target}, at the meter or the street: no valve here does it, "
            "and its pressure does not go before."
        )
    relief = [key for key in cut.zone if key in plant.items and plant.items[key].has(Trait.RELIEVES)]
    nothing = "No valve to close: all that hangs together with it is drained."
    out.append(f"Close {listed(cut.close)}." if cut.close else nothing)
    for section in sections:
        out += _release(plant, section, sections)
    for section in sections:
        own = drain if len(sections) == 1 else section.drain
        if own and section.vent and section.vent[0] != own[0]:
            out.append(f"Let air in at {section.vent[0]} and drain at {listed(own)}.")
        elif len(sections) > 1 and own:
            out.append(f"Drain at {listed(own)}; nothing lets air in at that side, so it empties slowly.")
    further = [key for key in drain if all(key not in section.drain for section in sections)]
    if further and len(sections) > 1:
        out.append(f"Drain at {listed(further)} too.")
    if relief:
        out.append(f"Drained with it: {listed(relief)}. Heat nothing until it is back in service.")
    rinse = " rinse the drinking-water side at a tap or drain," if potable else ""
    out.append(
        f"Before return to service: fill, vent,{rinse} look for leaks, then open the valves and unlock."
    )
    return out


def _release(plant: Plant, section: _Section, sections: list[_Section]) -> list[str]:
    """How the pressure of one section is let go right after its valves are shut."""
    where = f" of the side at {section.at}" if len(sections) > 1 else ""
    relief = [key for key in section.inside if plant.items[key].has(Trait.RELIEVES)]
    if section.drain:
        first = section.drain[0]
        return [f"At once open {first}, with a hose to a safe place, to release the pressure{where}."]
    if section.vent:
        return [f"At once open {section.vent[0]} to release the pressure{where}."]
    if relief:
        return [
            f"At once lift the lever of {relief[0]}, its outlet piped to a safe place, to release the "
            f"pressure{where}. Nothing is drawn to drain at: catch what runs out where you open it."
        ]
    which = f"on the side at {section.at}" if len(sections) > 1 else "in this section"
    return [
        f"Nothing drawn {which} can release its pressure. Fit a drain, or leave it to a licensed plumber: do "
        "not loosen a joint while it may be under pressure."
    ]
