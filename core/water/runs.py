"""Runs: unbroken stretches of water between places where ways meet, spurs that lead nowhere left out.

A gauge, a vent or a drain on a tee does not break a run. Vessels whose water stands and mixes do.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property

from core.plant.model import Item, PortRef
from core.vocabulary import Trait
from core.water.connections import outside
from core.water.numbers import on_some_round
from core.water.ways import CENTER, LOWER, UPPER, WaterGraph, Way, in_one_body

INSIDE = (CENTER, UPPER, LOWER)


@dataclass(frozen=True, eq=False)
class Run:
    """Ways one after the other, each with 1 where the run passes it from its start to its end, else -1.

    Attributes
    ----------
    ways : tuple of Way
    signs : tuple of {1, -1}
    start, end : PortRef
        Where it begins and ends; the same place of a ring without a tee
    """

    ways: tuple[Way, ...]
    signs: tuple[int, ...]
    start: PortRef
    end: PortRef

    @cached_property
    def keys(self) -> tuple[str, ...]:
        """Ids of the items and pipes along it, in order."""
        return tuple(dict.fromkeys(way.key for way in self.ways))

    @cached_property
    def pipes(self) -> tuple[str, ...]:
        """Ids of its pipes, in order."""
        return tuple(way.key for way in self.ways if way.is_pipe)

    def sign(self, key: str) -> int:
        """Which way the run passes an item or pipe on it."""
        return next(sign for way, sign in zip(self.ways, self.signs, strict=True) if way.key == key)


class Runs:
    """The runs of a graph: all ways in which water can flow at all, within bodies.

    Parameters
    ----------
    graph : WaterGraph
    """

    def __init__(self, graph: WaterGraph) -> None:
        self.graph = graph
        self._items = graph.plant.items

    @cached_property
    def live(self) -> tuple[Way, ...]:
        """Ways in which water can flow: on a way round, or between a main and an outlet."""
        ways = [way for way in self.graph.ways if in_one_body(way)]
        number = {place: k for k, place in enumerate(self.graph.places)}
        ends = tuple((number[way.start], number[way.end]) for way in ways)
        beyond = tuple(number[place] for place in outside(self.graph))
        return tuple(ways[k] for k in on_some_round(ends, beyond))

    @cached_property
    def at(self) -> Mapping[PortRef, tuple[Way, ...]]:
        """Live ways at each place that has any."""
        found: dict[PortRef, list[Way]] = {}
        for way in self.live:
            found.setdefault(way.start, []).append(way)
            found.setdefault(way.end, []).append(way)
        return {place: tuple(ways) for place, ways in found.items()}

    def breaks(self, place: PortRef) -> bool:
        """Whether a run ends at a place: ways meet there, or the water of a vessel stands in it."""
        if len(self.at.get(place, ())) != 2:
            return True
        item = self._items.get(place.item)
        return item is not None and place.port in INSIDE and item.has(Trait.WATER_STANDS)

    @cached_property
    def all(self) -> tuple[Run, ...]:
        """Every run, in the order of the file."""
        found: list[Run] = []
        known: set[Way] = set()
        for way in self.live:
            if way not in known:
                found.append(self._through(way))
                known.update(found[-1].ways)
        return tuple(found)

    def _through(self, way: Way) -> Run:
        back = list(self._onward(way, way.start))
        if back and back[-1][0] == way:  # a ring without a tee
            back.pop()
            ring = [(way, 1), *((w, -s) for w, s in reversed(back))]
            return Run(tuple(w for w, _ in ring), tuple(s for _, s in ring), way.start, way.start)
        ahead = list(self._onward(way, way.end))
        line = [*((w, -s) for w, s in reversed(back)), (way, 1), *ahead]
        first, last = line[0], line[-1]
        start = first[0].start if first[1] > 0 else first[0].end
        end = last[0].end if last[1] > 0 else last[0].start
        return Run(tuple(w for w, _ in line), tuple(s for _, s in line), start, end)

    def _onward(self, way: Way, place: PortRef) -> Iterator[tuple[Way, int]]:
        """Ways after one past a place of it, with the sign in which they are passed."""
        first = way
        while not self.breaks(place):
            one, other = self.at[place]
            way = other if one == way else one
            sign = 1 if way.start == place else -1
            yield way, sign
            place = way.end if sign > 0 else way.start
            if way == first:
                return

    @cached_property
    def of(self) -> Mapping[str, Run]:
        """The run of each item and pipe that lies on one; of an item with several ways the first."""
        found: dict[str, Run] = {}
        for run in self.all:
            for key in run.keys:
                found.setdefault(key, run)
        return found

    @cached_property
    def ending_at(self) -> Mapping[PortRef, tuple[Run, ...]]:
        """Runs that begin or end at each place where any does."""
        found: dict[PortRef, list[Run]] = {}
        for run in self.all:
            for place in dict.fromkeys((run.start, run.end)):
                found.setdefault(place, []).append(run)
        return {place: tuple(runs) for place, runs in found.items()}

    def items(self, run: Run) -> list[Item]:
        """Items along a run, in order."""
        return [self._items[key] for key in run.keys if key in self._items]

    def from_port(self, place: PortRef) -> list[Way]:
        """Live ways outward from a port of an item, its own ways left out, until its run ends."""
        own = [way for way in self.at.get(place, ()) if way.is_pipe]
        if len(own) != 1:
            return []
        way = own[0]
        far = way.end if way.start == place else way.start
        line = [way]
        for one, _ in self._onward(way, far):
            if one == way or one.key == place.item:
                break
            line.append(one)
        return line
