"""Runs without forks, and which way water can take past parts that let it pass one way only."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import NamedTuple

from core.plant.model import PortRef
from core.vocabulary import Trait
from core.water.numbers import reached
from core.water.ways import Passes, WaterGraph, Way

VESSELS = (
    *(Trait.MAKES_HEAT, Trait.TANK, Trait.BUFFER, Trait.EXCHANGES_HEAT, Trait.PARTS_FLOWS),
    *(Trait.DIVIDES, Trait.GIVES_HEAT, Trait.DRIVES, Trait.MIXES, Trait.BRINGS_WATER),
)
"""What a run ends at."""
SHORT = 12  # places behind a tee up to which what leads to gauges and vents alone counts as a mere stub


class Branch(NamedTuple):
    """A run without forks: ids of what lies in it from its end on, and the place where it meets the rest."""

    keys: tuple[str, ...]
    end: PortRef
    beside: tuple[str, ...]  # items on short dead ends that leave it: gauges, vents


def far(way: Way, place: PortRef) -> PortRef:
    """The other end of a way."""
    return way.end if way.start == place else way.start


def branch(graph: WaterGraph, start: PortRef) -> Branch:
    """The run that leads from a port to where it forks, or to a vessel, a circulator or an emitter.

    Parameters
    ----------
    graph : WaterGraph
    start : PortRef
        A port; its own item is not entered
    """
    keys: list[str] = []
    beside: list[str] = []
    place, before = start, ""
    while True:
        ways = [w for w in onward(graph, place) if w.key not in (before, start.item)]
        ends = [found for w in ways if len(ways) > 1 and (found := _leads_to_ends(graph, w, place))]
        if len(ways) > 1:
            ways = [w for w in ways if not _leads_to_ends(graph, w, place)]
        if len(ways) != 1 or ways[0].key in keys:
            break
        way = ways[0]
        item = graph.plant.items.get(way.key)
        if item is not None and item.has(*VESSELS):
            break
        beside += [key for found in ends for key in found]
        keys.append(way.key)
        place, before = far(way, place), way.key
    return Branch(tuple(keys), place, tuple(beside))


def onward(graph: WaterGraph, place: PortRef) -> list[Way]:
    """Ways at a place that lead to something: no capped port, no air."""
    return [
        way
        for way in graph.ways_at.get(place, ())
        if not way.to_air and (way.is_pipe or not _capped(graph, far(way, place)))
    ]


def _capped(graph: WaterGraph, place: PortRef) -> bool:
    item = graph.plant.items.get(place.item)
    return item is not None and place.port in item.ports and place not in graph.plant.pipes_at


def _leads_to_ends(graph: WaterGraph, way: Way, place: PortRef) -> tuple[str, ...]:
    """Items that end the runs behind a way where it leads to such alone, else nothing."""
    seen: dict[PortRef, None] = {place: None}
    waiting, ends = [far(way, place)], []
    while waiting:
        here = waiting.pop()
        if here in seen:
            continue
        seen[here] = None
        item = graph.plant.items.get(here.item)
        if len(seen) > SHORT or (item is not None and item.has(*VESSELS, Trait.DRAWS_WATER)):
            return ()
        if item is not None and item.has(Trait.ENDS_RUN):
            ends.append(item.id)
        waiting += [far(one, here) for one in onward(graph, here)]
    return tuple(ends)


def along(
    graph: WaterGraph, starts: Iterable[PortRef], passes: Passes, ahead: bool = True
) -> dict[PortRef, None]:
    """Places that water from some places can flow to (or with `ahead` false, from), one-way parts heeded."""

    def beside(place: PortRef) -> Iterator[PortRef]:
        for way in graph.ways_at.get(place, ()):
            if passes(way) and (not way.one_way or (way.start if ahead else way.end) == place):
                yield far(way, place)

    return reached(starts, beside)
