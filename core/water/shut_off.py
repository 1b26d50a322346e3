"""Which hand valves part an item or pipe from the rest: minimum cut of the graph of the water.

Everything passes water between all its ports, either way, but a shut hand valve and the wall of an exchanger
or coil. Places that no hand valve parts from one another are one region; valves join regions.
"""

from __future__ import annotations

import heapq
from collections.abc import Iterable, Mapping, Set
from dataclasses import dataclass
from itertools import count

from core.plant.model import PortRef
from core.vocabulary import Trait
from core.water.connections import driven, reach
from core.water.numbers import grouped, reached
from core.water.protection import Guards, Loss, water_of
from core.water.ways import Passes, WaterGraph, Way, past_shut_valves

# What a zone to be emptied may not hold beside its target.
BARRED = (
    *(Trait.BRINGS_WATER, Trait.DRIVES, Trait.MAKES_HEAT, Trait.EXCHANGES_HEAT),
    *(Trait.TANK, Trait.BUFFER, Trait.PARTS_FLOWS, Trait.EXPANDS),
)
NEW_VALVE = 1e4  # weight of a valve that is not there yet: fewer of those come before all else
MOST_NEW = 2  # valves that are missing; where more were needed, none is named
BEYOND = PortRef("", "beyond")  # stands for all that the zone may not come to
MOST_TRIES = 100  # sets of valves looked at until one leaves every source its relief and expansion


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
class _Try:
    """What one step of the search asks of a cut: valves that stay open, protection that stays outside."""

    open_: frozenset[str] = frozenset()
    outside: frozenset[str] = frozenset()


class _Task:
    """One target: what may be shut, what the zone may not come to, and the lightest set that does it."""

    def __init__(
        self, graph: WaterGraph, target: str, weights: Mapping[str, float], pipes_too: bool = False
    ) -> None:
        self.graph = graph
        self.target = target
        pipes = graph.plant.pipes
        valves = {way: weights.get(way.key, 1.0) for way in graph.ways if self._valve(way)}
        core = self.zone({way.key for way in valves})
        self.cuttable = dict(valves)
        if pipes_too:
            self.cuttable |= {
                way: NEW_VALVE
                for way in graph.ways
                if way.is_pipe and way.key != target and not pipes[way.key].joined
            }
        passes = past_shut_valves()
        joined = [
            (way.start, way.end)
            for way in graph.ways
            if way.key == target or (passes(way) and way not in self.cuttable)
        ]
        joined += [(graph.places_of[target][0], place) for place in graph.places_of[target]]
        self.region = grouped(graph.places, joined)
        self.inside = self.region[graph.places_of[target][0]]
        self.core = core
        drained = {place.item for place in core}
        self.barred = {
            self.region[place]
            for item in graph.plant.with_trait(*BARRED)
            if item.id != target and (item.id not in drained or item.has(Trait.BRINGS_WATER))
            for place in graph.places_of[item.id]
        }
        self.guards = Guards(graph, self.cuttable)

    def _valve(self, way: Way) -> bool:
        return way.hand_valve and way.stands_open and way.part == "" and way.key != self.target

    def zone(self, shut: Set[str]) -> frozenset[PortRef]:
        return zone_of(self.graph, self.target, shut)

    def _merged(self, asked: _Try) -> dict[PortRef, PortRef]:
        """What hangs together whatever is shut: the target with its like, and all that it must leave."""
        joined = [(self.region[w.start], self.region[w.end]) for w in self.cuttable if w.key in asked.open_]
        joined += [(BEYOND, place) for place in self.barred]
        for key in asked.outside:
            joined += [(BEYOND, self.region[place]) for place in self.graph.places_of[key]]
        return grouped({*self.region.values(), BEYOND}, joined)

    def least(self, asked: _Try = _Try()) -> tuple[float, frozenset[str]] | None:
        """The lightest cut, and of equal ones that nearest the target; None where there is none."""
        import networkx as nx

        ends = [
            (self.region[way.start], self.region[way.end], way.key, n) for way, n in self.cuttable.items()
        ]
        merged = self._merged(asked)
        start, goal = merged[BEYOND], merged[self.inside]
        if start == goal:
            return None
        graph: nx.Graph[PortRef] = nx.Graph()
        graph.add_nodes_from((start, goal))
        for one, other, _, weight in ends:
            if (pair := (merged[one], merged[other]))[0] != pair[1]:
                before = graph.get_edge_data(*pair, default={"capacity": 0.0})["capacity"]
                graph.add_edge(*pair, capacity=before + weight)
        least, (_, near) = nx.minimum_cut(graph, start, goal)
        across = (key for one, other, key, _ in ends if (merged[one] in near) != (merged[other] in near))
        return float(least), frozenset(across)

    def _could_keep(self, loss: Loss, asked: _Try) -> bool:
        """Whether what was lost could be reached past the least zone there can be, were all else open."""
        merged, passes = self._merged(asked), past_shut_valves()
        own = {place for place, region in self.region.items() if merged[region] == merged[self.inside]}
        left = reach(
            self.graph,
            (place for place in water_of(self.graph, loss.item) if place not in own),
            lambda way: passes(way) and not way.parts and way.start not in own and way.end not in own,
        )
        return not {place.item for place in left}.isdisjoint(loss.guards)

    def found(self) -> frozenset[str] | None:
        """The lightest set of valves that leaves every source and hot tank its relief and expansion.

        Where the lightest does not, one of the valves in it has to stay open, or, if all the protection that
        was lost lies in the zone, one of that has to stay outside.
        """
        order, known = count(), {_Try()}
        tries: list[tuple[float, int, frozenset[str], _Try]] = []

        def put(asked: _Try) -> None:
            answer = self.least(asked)
            if answer is not None and answer[0] < (MOST_NEW + 1) * NEW_VALVE:
                heapq.heappush(tries, (answer[0], next(order), answer[1], asked))

        put(_Try())
        while tries and len(known) < MOST_TRIES:
            _, _, shut, asked = heapq.heappop(tries)
            emptied = {place.item for place in self.zone(shut)}
            loss = next(self.guards.lost(shut, emptied), None)
            if loss is None:
                return shut
            if not self._could_keep(loss, asked):
                continue
            if emptied.issuperset(loss.guards):
                further = [_Try(asked.open_, asked.outside | {key}) for key in loss.guards]
            else:
                further = [_Try(asked.open_ | {key}, asked.outside) for key in sorted(shut)]
            for one in further:
                if one not in known:
                    known.add(one)
                    put(one)
        return None


def zone_of(graph: WaterGraph, target: str, shut: Set[str]) -> frozenset[PortRef]:
    """Places whose water hangs together with the target's past shut valves; it itself is never a wall."""
    passes = past_shut_valves(shut)
    return frozenset(reach(graph, graph.places_of[target], lambda way: way.key == target or passes(way)))


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
    first = task.least()
    reason = "no hand valve parts it from the cold main"
    if first is not None:
        emptied = {place.item for place in task.zone(first[1])}
        reason = f"the valves that part it would cut {next(task.guards.lost(first[1], emptied)).words}"
    further = _Task(graph, target, weights or {}, pipes_too=True).found() or frozenset()
    missing = tuple(key for key in graph.plant.pipes if key in further)
    return Cut(False, (), _in_order(graph, task.core), (), missing, reason)


def _in_order(graph: WaterGraph, places: Set[PortRef]) -> tuple[str, ...]:
    items = [item.id for item in graph.items_at(places)]
    return (*items, *(pipe.id for pipe in graph.pipes_at(places)))


def also_dead(graph: WaterGraph, task: _Task, shut: frozenset[str]) -> Iterable[str]:
    """What goes dry or cold besides the target, in the order of the file; the valves themselves left out."""
    before, after = _alive(graph, past_shut_valves()), _alive(graph, past_shut_valves(shut))
    lost = _moving(graph, before) - _moving(graph, after)
    lost |= _heated(graph, before) - _heated(graph, after)
    lost |= set(_in_order(graph, task.zone(shut)))
    return (
        key
        for key in (*graph.plant.items, *graph.plant.pipes)
        if key in lost and key != task.target and key not in shut
    )


def moving(graph: WaterGraph, shut: Set[str] = frozenset()) -> set[str]:
    """Items and pipes through which water could move past some shut valves, whatever runs.

    An outlet counts only while all its pipes bring water.
    """
    return _moving(graph, _alive(graph, past_shut_valves(shut)))


def _alive(graph: WaterGraph, passes: Passes) -> list[Way]:
    pumps = [item.id for item in graph.plant.with_trait(Trait.DRIVES)]
    return driven(graph, pumps, passes, main_too=True)


def _moving(graph: WaterGraph, alive: list[Way]) -> set[str]:
    known = set(alive)
    dry = {
        way.key
        for item in graph.plant.with_trait(Trait.DRAWS_WATER)
        for way in graph.ways_of[item.id]
        if way.start in graph.plant.pipes_at and way not in known
    }
    return {way.key for way in alive} - dry


def _heated(graph: WaterGraph, alive: list[Way]) -> set[str]:
    """Heat emitters that water from a source or a tank, or heat through walls, can come to."""
    beside: dict[PortRef, list[PortRef]] = {}
    joined = [(way.start, way.end) for way in alive]
    for one, other in (*joined, *((wall.one, wall.other) for wall in graph.walls)):
        beside.setdefault(one, []).append(other)
        beside.setdefault(other, []).append(one)
    items = graph.plant.items
    starts = [
        place
        for place in beside
        if place.item in items and items[place.item].has(Trait.MAKES_HEAT, Trait.TANK)
    ]
    warm = reached(starts, lambda place: beside.get(place, ()))
    return {place.item for place in warm if place.item in items and items[place.item].has(Trait.GIVES_HEAT)}
