"""What protects what: relief valves and expansion tanks that hot water reaches, checks before tap water."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Set
from dataclasses import dataclass

from core.plant.model import Item, PortRef
from core.vocabulary import Trait
from core.water.connections import reach
from core.water.numbers import grouped, reached
from core.water.ways import CENTER, Passes, WaterGraph, Way, past_shut_valves

HOT = (Trait.MAKES_HEAT, Trait.STORES_HEAT)  # what may hold hot water under pressure: sources and tanks


@dataclass(frozen=True)
class Protection:
    """Relief valves and expansion tanks that the water of an item reaches, ids in the order of the file."""

    relief: tuple[str, ...]
    expansion: tuple[str, ...]


def protection(graph: WaterGraph, name: str, shut: Set[str] = frozenset()) -> Protection:
    """What the water of a source or tank reaches past the valves that stand open.

    Of a tank with coil the water around the coil counts. What lies beyond a fill valve or a backflow
    preventer protects nothing: water that swells does not get back there.

    Parameters
    ----------
    graph : WaterGraph
    name : str
        Id of the item
    shut : set of str
        Hand valves that are shut besides those drawn so
    """
    passes = past_shut_valves(shut)
    own = water_of(graph, name)
    wetted = graph.items_at(reach(graph, own, lambda way: passes(way) and not way.parts))
    return Protection(_ids(wetted, Trait.RELIEVES), _ids(wetted, Trait.EXPANDS))


def _ids(items: Iterable[Item], trait: Trait) -> tuple[str, ...]:
    return tuple(item.id for item in items if item.has(trait))


@dataclass(frozen=True)
class Loss:
    """A source or hot tank that shut valves cut from all it had of one kind of protection."""

    item: str
    guards: tuple[str, ...]
    what: str

    @property
    def words(self) -> str:
        """What it is cut from."""
        return f"{self.item} from its {self.what} ({', '.join(self.guards)})"


class Guards:
    """Which source and hot tank has which protection as the valves are drawn, and loses it by shutting some.

    Places that no way among `cuttable` parts are taken as one, once, so that many sets can be asked about.

    Parameters
    ----------
    graph : WaterGraph
    cuttable : collection of Way
        Ways that may be shut
    """

    def __init__(self, graph: WaterGraph, cuttable: Iterable[Way]) -> None:
        passes, ways = past_shut_valves(), set(cuttable)
        open_ways = [way for way in graph.ways if passes(way) and not way.parts]
        joined = [(way.start, way.end) for way in open_ways if way not in ways]
        region = grouped(graph.places, joined)
        self._valves = [
            (region[way.start], region[way.end], way.key)
            for way in open_ways
            if way in ways and region[way.start] != region[way.end]
        ]
        self._holds = {
            what: {item.id: {region[one] for one in graph.places_of[item.id]} for item in found}
            for what, found in (
                ("relief valve", graph.plant.with_trait(Trait.RELIEVES)),
                ("expansion tank", graph.plant.with_trait(Trait.EXPANDS)),
            )
        }
        self._hot = {
            item.id: {region[one] for one in water_of(graph, item.id)}
            for item in graph.plant.with_trait(*HOT)
        }
        self._before = {name: self._reached(places, frozenset()) for name, places in self._hot.items()}

    def _reached(self, places: Iterable[PortRef], shut: Set[str]) -> dict[PortRef, None]:
        beside: dict[PortRef, list[PortRef]] = {}
        for one, other, key in self._valves:
            if key not in shut:
                beside.setdefault(one, []).append(other)
                beside.setdefault(other, []).append(one)
        return reached(places, lambda place: beside.get(place, ()))

    def lost(self, shut: Set[str], apart: Set[str] = frozenset()) -> Iterator[Loss]:
        """What is lost by shutting some ways, by id; items in `apart` are emptied and not asked about."""
        for name, places in self._hot.items():
            if name in apart:
                continue
            before, after = self._before[name], self._reached(places, shut)
            for what, guards in self._holds.items():
                had = tuple(key for key, at in guards.items() if not at.isdisjoint(before))
                if had and not any(not guards[key].isdisjoint(after) for key in had):
                    yield Loss(name, had, what)


def water_of(graph: WaterGraph, name: str) -> Iterable[PortRef]:
    """Places of an item whose water it heats or keeps hot: of a tank with coil those around the coil."""
    coiled = graph.plant.items[name].has(Trait.HAS_COIL)
    return [PortRef(name, CENTER)] if coiled else graph.places_of.get(name, ())


def _has(graph: WaterGraph, place: PortRef, trait: Trait) -> bool:
    item = graph.plant.items.get(place.item)
    return item is not None and item.has(trait)


def _keys(graph: WaterGraph, starts: Iterable[PortRef], passes: Passes) -> set[str]:
    """Items and pipes that water from some places gets to."""
    places = reach(graph, starts, passes)
    pipes = {way.key for way in graph.ways if way.is_pipe and way.start in places}
    return pipes | {place.item for place in places if place.item in graph.plant.items}
