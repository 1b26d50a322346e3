"""What hangs together: bodies of water, loops, dead ends, what lies between two places, systems that meet."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from itertools import pairwise

from core.plant.model import PortRef
from core.vocabulary import Trait
from core.water.numbers import on_rounds
from core.water.ways import Passes, WaterGraph, Way, everything, in_one_body


def reach(graph: WaterGraph, starts: Iterable[PortRef], passes: Passes = everything) -> dict[PortRef, None]:
    """Places that water at some places hangs together with, they included, past the ways that count.

    Which way water may flow through a one-way part is not asked.
    """
    ways_at = graph.ways_at
    found = dict.fromkeys(place for place in starts if place in ways_at)
    waiting = list(found)
    while waiting:  # as `reached`, written out: rules ask this hundreds of times after each edit
        place = waiting.pop()
        for way in ways_at[place]:
            other = way.end if way.start == place else way.start
            if other not in found and passes(way):
                found[other] = None
                waiting.append(other)
    return found


def shortest(
    graph: WaterGraph,
    start: PortRef,
    goal: Callable[[PortRef], bool],
    passes: Callable[[Way, PortRef], bool],
) -> list[tuple[Way, PortRef]] | None:
    """The way of fewest parts from a place to the nearest that is a goal; None where there is none.

    Parameters
    ----------
    graph : WaterGraph
    start : PortRef
    goal : callable
        Whether a place is one to look for; the start itself is asked too
    passes : callable
        Whether a way may be taken from a place of it

    Returns
    -------
    list of (Way, PortRef) or None
        Each way with the place it leads to
    """
    came: dict[PortRef, list[tuple[Way, PortRef]]] = {start: []}
    waiting = deque([start])
    while waiting:
        place = waiting.popleft()
        if goal(place):
            return came[place]
        for way in graph.ways_at.get(place, ()):
            end = way.end if way.start == place else way.start
            if end not in came and passes(way, place):
                came[end] = [*came[place], (way, end)]
                waiting.append(end)
    return None


def bodies(graph: WaterGraph, passes: Passes = in_one_body) -> list[frozenset[PortRef]]:
    """Places that one body of water wets, in the order of the file.

    Exchangers, coils, fill valves and backflow preventers part bodies; a fixture joins its hot and cold.
    """
    found: list[frozenset[PortRef]] = []
    known: set[PortRef] = set()
    for place in graph.places:
        if place not in known:
            found.append(frozenset(reach(graph, [place], passes)))
            known |= found[-1]
    return found


@dataclass(frozen=True)
class Meeting:
    """Systems whose pipes wet one body, though nothing parts them: names in the order of its pipes."""

    systems: tuple[str, ...]
    pipes: tuple[str, ...]


def joined_systems(graph: WaterGraph) -> list[Meeting]:
    """Bodies in which pipes of more than one system meet, each with the first pipe of every system."""
    found = []
    for body in bodies(graph):
        first: dict[str, str] = {}
        for pipe in graph.pipes_at(body):
            first.setdefault(pipe.system, pipe.id)
        if len(first) > 1:
            found.append(Meeting(tuple(first), tuple(first.values())))
    return found


def outside(graph: WaterGraph) -> list[PortRef]:
    """Places where water comes into the plant or leaves it: cold mains, and the air at outlets."""
    mains = [
        place
        for place in graph.places
        if (item := graph.plant.items.get(place.item)) is not None and item.has(Trait.BRINGS_WATER)
    ]
    return list(dict.fromkeys([*mains, *(way.end for way in graph.ways if way.to_air)]))


def driven(
    graph: WaterGraph, drives: Iterable[str], passes: Passes = in_one_body, main_too: bool = False
) -> list[Way]:
    """Ways that lie on a way round with any of some circulators, which passes no place twice.

    Through a main and an outlet water goes round by the world outside.

    Parameters
    ----------
    graph : WaterGraph
    drives : iterable of str
        Ids of the circulators
    passes : callable
        Ways that count; a valve that is shut does not
    main_too : bool
        Whether what flows from a main to an outlet counts too
    """
    wanted = set(drives)
    ways = [way for way in graph.ways if passes(way)]
    number = _numbers(graph)
    ends = [(number[way.start], number[way.end]) for way in ways]
    beyond = [number[place] for place in outside(graph)]
    world = len(number)  # one more node, which all mains and outlets share
    if not main_too:
        ends += [(world, node) for node in beyond]
    driving = [k for k, way in enumerate(ways) if way.drives and way.key in wanted]
    found = on_rounds(ends, driving, beyond if main_too else ())
    return [ways[k] for k in sorted(found) if k < len(ways)]


def between_outside(graph: WaterGraph, passes: Passes = everything) -> set[str]:
    """Ids of items and pipes on a way from a main to an outlet that passes no place twice."""
    return {way.key for way in driven(graph, (), passes, main_too=True)}


def between(graph: WaterGraph, one: PortRef, other: PortRef, passes: Passes = in_one_body) -> list[Way]:
    """Ways that lie on any way from one place to another which passes no place twice."""
    ways = [way for way in graph.ways if passes(way)]
    number = _numbers(graph)
    ends = [(number[way.start], number[way.end]) for way in ways]
    if one == other:
        return []
    closing = (number[one], number[other])
    return [ways[k] for k in sorted(on_rounds([*ends, closing], [len(ways)])) if k < len(ways)]


def loops(graph: WaterGraph, passes: Passes = in_one_body) -> list[list[str]]:
    """Ids of pipes and items along each loop of a basis: as many as pipes can be cut before one falls off."""
    import networkx as nx

    ways = [way for way in graph.ways if passes(way)]
    spanning: nx.Graph[PortRef] = nx.Graph()
    spanning.add_nodes_from(graph.places)
    groups = _spanned(graph, ways)
    for way, closing in groups:
        if not closing:
            spanning.add_edge(way.start, way.end, key=way.key)
    found = []
    for way, closing in groups:
        if closing:
            line = nx.shortest_path(spanning, way.start, way.end)
            found.append(list(dict.fromkeys([way.key, *(spanning[a][b]["key"] for a, b in pairwise(line))])))
    return found


def _spanned(graph: WaterGraph, ways: list[Way]) -> list[tuple[Way, bool]]:
    """Each way, and whether it closes a loop with those before it."""
    import networkx as nx

    together: nx.utils.UnionFind[PortRef] = nx.utils.UnionFind(graph.places)
    out = []
    for way in ways:
        closing = together[way.start] == together[way.end]
        together.union(way.start, way.end)
        out.append((way, closing))
    return out


def _numbers(graph: WaterGraph) -> dict[PortRef, int]:
    return {place: k for k, place in enumerate(graph.places)}
