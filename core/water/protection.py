"""What protects what: relief valves and expansion tanks that hot water reaches, checks before tap water."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Set
from dataclasses import dataclass

from core.plant.model import Item, PortRef
from core.vocabulary import Trait
from core.water.connections import reach
from core.water.ways import CENTER, Passes, WaterGraph, everything, past_shut_valves

HOT = (Trait.MAKES_HEAT, Trait.STORES_HEAT)  # what may hold hot water under pressure: sources and tanks


@dataclass(frozen=True)
class Protection:
    """Relief valves and expansion tanks that the water of an item reaches, ids in the order of the file."""

    relief: tuple[str, ...]
    expansion: tuple[str, ...]


def protection(graph: WaterGraph, name: str, shut: Set[str] = frozenset()) -> Protection:
    """What the water of a source or tank reaches past the valves that stand open.

    Of a tank with coil the water around the coil counts.

    Parameters
    ----------
    graph : WaterGraph
    name : str
        Id of the item
    shut : set of str
        Hand valves that are shut besides those drawn so
    """
    coiled = graph.plant.items[name].has(Trait.HAS_COIL)
    own = [PortRef(name, CENTER)] if coiled else graph.places_of.get(name, ())
    wetted = graph.items_at(reach(graph, own, past_shut_valves(shut)))
    return Protection(_ids(wetted, Trait.RELIEVES), _ids(wetted, Trait.EXPANDS))


def _ids(items: Iterable[Item], trait: Trait) -> tuple[str, ...]:
    return tuple(item.id for item in items if item.has(trait))


def cut_from_protection(graph: WaterGraph, shut: Set[str], apart: Set[str] = frozenset()) -> dict[str, str]:
    """Sources and hot tanks that shut valves cut from every relief valve, or every expansion tank, they had.

    Parameters
    ----------
    graph : WaterGraph
    shut : set of str
        Hand valves to be shut
    apart : set of str
        Items that are not asked about: emptied meanwhile

    Returns
    -------
    dict
        What each has lost, in words, by id
    """
    lost: dict[str, str] = {}
    for item in graph.plant.with_trait(*HOT):
        if item.id in apart:
            continue
        before, after = protection(graph, item.id), protection(graph, item.id, shut)
        if before.relief and not after.relief:
            lost[item.id] = f"its relief valve ({', '.join(before.relief)})"
        elif before.expansion and not after.expansion:
            lost[item.id] = f"its expansion tank ({', '.join(before.expansion)})"
    return lost


def behind_checks(graph: WaterGraph) -> Mapping[str, tuple[str, ...]]:
    """For each item and pipe that a cold main feeds: the checks and backflow preventers on every way there.

    One that water can come past by another way does not count. Checks built into circulators and mixing
    valves do not count either: none is made to keep water from a main.

    Returns
    -------
    mapping
        By id, in the order of the file, devices each
    """
    plant = graph.plant
    mains = [place for place in graph.places if _has(graph, place, Trait.BRINGS_WATER)]
    fed = _keys(graph, mains, everything)
    behind: dict[str, tuple[str, ...]] = dict.fromkeys(fed, ())
    for item in plant.with_trait(Trait.ONE_WAY):
        for key in fed - _keys(graph, mains, _all_but(item.id)):
            if key != item.id:
                behind[key] = (*behind[key], item.id)
    order = [*plant.items, *plant.pipes]
    return {key: behind[key] for key in order if key in behind}


def _all_but(name: str) -> Passes:
    return lambda way: way.key != name


def _has(graph: WaterGraph, place: PortRef, trait: Trait) -> bool:
    item = graph.plant.items.get(place.item)
    return item is not None and item.has(trait)


def _keys(graph: WaterGraph, starts: Iterable[PortRef], passes: Passes) -> set[str]:
    """Items and pipes that water from some places gets to."""
    places = reach(graph, starts, passes)
    pipes = {way.key for way in graph.ways if way.is_pipe and way.start in places}
    return pipes | {place.item for place in places if place.item in graph.plant.items}
