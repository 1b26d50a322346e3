"""Which hand valves part an item or pipe from the rest: minimum cut of the graph of the water.

Everything passes water between all its ports, either way, but a shut hand valve and the wall of an exchanger
or coil. Places that no hand valve parts from one another are one region; valves join regions.
"""

from __future__ import annotations

import heapq
from collections.abc import Iterable, Mapping, Set
from dataclasses import dataclass
from functools import cached_property
from itertools import count

from core.plant.model import PortRef
from core.vocabulary import Trait
from core.water.connections import driven, reach
from core.water.numbers import grouped, reached
from core.water.protection import cut_from_protection
from core.water.ways import Passes, WaterGraph, Way, past_shut_valves

# What a zone to be emptied may not hold beside its target.
BARRED = (
    *(Trait.BRINGS_WATER, Trait.DRIVES, Trait.MAKES_HEAT, Trait.EXCHANGES_HEAT),
    *(Trait.TANK, Trait.BUFFER, Trait.PARTS_FLOWS, Trait.EXPANDS),
)
NEW_VALVE = 1e4  # weight of a valve that is not there yet: fewer of those come before all else
MOST_TRIES = 400  # sets of valves looked at until one leaves every source its relief and expansion


@dataclass(frozen=True)
class Cut:
    """Valves that part a target from the rest.

    Attributes
    ----------
    possible : bool
        Whether the valves that are there can do it
    close : tuple of str
        Hand valves to shut, all of which stand open now, in the order of the file
    zone : tuple of str
        Items and pipes whose water then hangs together with the target's, itself included
    also_dead : tuple of str
        What else goes dry or cold: the rest of the zone, what lies on no way round any more, and heat
        emitters that nothing heats any more
    missing : tuple of str
        Where it is impossible: pipes in which a further valve would make it possible, as few as can be
    reason : str
        Why it is impossible, empty where it is not
    """

    possible: bool
    close: tuple[str, ...]
    zone: tuple[str, ...]
    also_dead: tuple[str, ...]
    missing: tuple[str, ...] = ()
    reason: str = ""


@dataclass(frozen=True)
class _Task:
    """One target: its places, and what the zone may not come to."""

    graph: WaterGraph
    target: str
    weights: Mapping[str, float]
    pipes_too: bool = False

    @cached_property
    def places(self) -> tuple[PortRef, ...]:
        return self.graph.places_of[self.target]

    @cached_property
    def core(self) -> frozenset[PortRef]:
        """Places that no hand valve parts from the target."""
        return self.zone(frozenset(way.key for way in self.graph.ways if self._valve(way)))

    @cached_property
    def cuttable(self) -> dict[str, float]:
        """Valves that may be shut, and what each weighs; pipes that may get one."""
        found = {w.key: self.weights.get(w.key, 1.0) for w in self.graph.ways if self._valve(w)}
        if self.pipes_too:
            pipes = self.graph.plant.pipes
            found |= {
                way.key: NEW_VALVE
                for way in self.graph.ways
                if way.is_pipe and way.key != self.target and not pipes[way.key].joined
            }
        return found

    def _valve(self, way: Way) -> bool:
        return way.hand_valve and way.stands_open and way.part == "" and way.key != self.target

    @cached_property
    def barred(self) -> list[PortRef]:
        """Places that the zone must be parted from."""
        drained = {place.item for place in self.core}
        items = self.graph.plant.items
        return [
            place
            for place in self.graph.places
            if (item := items.get(place.item)) is not None
            and item.id != self.target
            and item.has(*BARRED)
            and (item.id not in drained or item.has(Trait.BRINGS_WATER))
        ]

    def zone(self, shut: Set[str]) -> frozenset[PortRef]:
        """Places whose water hangs together with the target's; the target itself is never a wall."""
        passes = past_shut_valves(shut)
        return frozenset(reach(self.graph, self.places, lambda way: way.key == self.target or passes(way)))

    def least(self, kept: Set[str]) -> tuple[float, frozenset[str]] | None:
        """The lightest cut without the valves in `kept`, and of equal ones that nearest the target."""
        import networkx as nx

        passes = past_shut_valves()
        ways = [way for way in self.graph.ways if passes(way) or way.key == self.target]
        valves = [w for w in ways if w.part == "" and w.key in self.cuttable and w.key not in kept]
        apart = {id(way) for way in valves}
        joined = [(way.start, way.end) for way in ways if id(way) not in apart]
        inside, beyond = self.places[0], PortRef("", "beyond")
        joined += [(inside, place) for place in self.places]
        joined += [(beyond, place) for place in self.barred]
        region = grouped((*self.graph.places, beyond), joined)
        if region[inside] == region[beyond]:
            return None
        graph: nx.Graph[PortRef] = nx.Graph()
        graph.add_nodes_from((region[inside], region[beyond]))
        for way in valves:
            ends = region[way.start], region[way.end]
            before = graph.get_edge_data(*ends, default={"capacity": 0.0})["capacity"]
            graph.add_edge(*ends, capacity=before + self.cuttable[way.key])
        weight, (_, near) = nx.minimum_cut(graph, region[beyond], region[inside])
        across = {way.key for way in valves if (region[way.start] in near) != (region[way.end] in near)}
        return float(weight), frozenset(across)

    def found(self) -> frozenset[str] | None:
        """The lightest set of valves that leaves every source and hot tank its relief and expansion.

        Where the lightest does not, no set with all of its valves does: one of them has to stay open.
        """
        order = count()
        tries: list[tuple[float, int, frozenset[str], frozenset[str]]] = []

        def put(kept: frozenset[str]) -> None:
            if (answer := self.least(kept)) is not None:
                heapq.heappush(tries, (answer[0], next(order), answer[1], kept))

        put(frozenset())
        known: set[frozenset[str]] = set()
        while tries and len(known) < MOST_TRIES:
            _, _, shut, kept = heapq.heappop(tries)
            if not self.lost(shut):
                return shut
            for more in (kept | {valve} for valve in sorted(shut)):
                if more not in known:
                    known.add(more)
                    put(more)
        return None

    def lost(self, shut: frozenset[str]) -> dict[str, str]:
        """Sources and hot tanks outside the zone that would lose their relief or expansion."""
        return cut_from_protection(self.graph, shut, {place.item for place in self.zone(shut)})


def least_cut(graph: WaterGraph, target: str, weights: Mapping[str, float] | None = None) -> Cut:
    """The fewest hand valves that part an item or pipe from the rest.

    The zone that is parted off holds no cold main, circulator, source, exchanger, tank, buffer, separator or
    expansion tank, save the target and what no hand valve parts from it. No source and no hot tank outside it
    is left without an open way to a relief valve and to an expansion tank, where it has one now.

    Parameters
    ----------
    graph : WaterGraph
    target : str
        Id of an item or pipe that water wets
    weights : mapping or None
        What shutting each valve counts, 1 where nothing is said: a valve hard to reach counts more

    Raises
    ------
    KeyError
        Where no such item or pipe is wetted
    """
    task = _Task(graph, target, weights or {})
    shut = task.found()
    if shut is not None:
        return Cut(
            True,
            tuple(key for key in graph.plant.items if key in shut),
            _in_order(graph, task.zone(shut)),
            tuple(also_dead(graph, task, shut)),
        )
    first = task.least(frozenset())
    reason = "no hand valve parts it from the cold main"
    if first is not None:
        what, of = next(iter(task.lost(first[1]).items()))
        reason = f"the valves that part it would cut {what} from {of}"
    further = _Task(graph, target, weights or {}, pipes_too=True).found() or frozenset()
    missing = tuple(key for key in graph.plant.pipes if key in further)
    return Cut(False, (), _in_order(graph, task.core), (), missing, reason)


def _in_order(graph: WaterGraph, places: Set[PortRef]) -> tuple[str, ...]:
    items = [item.id for item in graph.items_at(places)]
    return (*items, *(pipe.id for pipe in graph.pipes_at(places)))


def also_dead(graph: WaterGraph, task: _Task, shut: frozenset[str]) -> Iterable[str]:
    """What goes dry or cold besides the target, in the order of the file; the valves themselves left out."""
    before, after = past_shut_valves(), past_shut_valves(shut)
    lost = _moving(graph, before) - _moving(graph, after)
    lost |= _heated(graph, before) - _heated(graph, after)
    lost |= set(_in_order(graph, task.zone(shut)))
    return (
        key
        for key in (*graph.plant.items, *graph.plant.pipes)
        if key in lost and key != task.target and key not in shut
    )


def _moving(graph: WaterGraph, passes: Passes) -> set[str]:
    """Items and pipes through which water could move: an outlet only while all its pipes bring water."""
    pumps = [item.id for item in graph.plant.with_trait(Trait.DRIVES)]
    alive = driven(graph, pumps, passes, main_too=True)
    dry = {
        way.key
        for item in graph.plant.with_trait(Trait.DRAWS_WATER)
        for way in graph.ways_of[item.id]
        if way.start in graph.plant.pipes_at and way not in alive
    }
    return {way.key for way in alive} - dry


def _heated(graph: WaterGraph, passes: Passes) -> set[str]:
    """Heat emitters that water from a source or a store, or heat through walls, can come to."""
    pumps = [item.id for item in graph.plant.with_trait(Trait.DRIVES)]
    beside: dict[PortRef, list[PortRef]] = {}
    joined = [(way.start, way.end) for way in driven(graph, pumps, passes, main_too=True)]
    for one, other in (*joined, *((wall.one, wall.other) for wall in graph.walls)):
        beside.setdefault(one, []).append(other)
        beside.setdefault(other, []).append(one)
    items = graph.plant.items
    starts = [
        place
        for place in graph.places
        if place in beside and place.item in items and items[place.item].has(Trait.MAKES_HEAT, Trait.TANK)
    ]
    warm = reached(starts, lambda place: beside.get(place, ()))
    return {place.item for place in warm if place.item in items and items[place.item].has(Trait.GIVES_HEAT)}
