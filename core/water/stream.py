"""Where the water runs, once flows are known: upstream, downstream, rounds, and what stands."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import cached_property

from core.plant.model import PortRef
from core.water.no_flow import NO_FLOW
from core.water.numbers import reached, round_through
from core.water.ways import CENTER, LOWER, UPPER, WaterGraph, Way

REST = 0.05  # share of what passes a place below which what is left over counts as none: water swells


class Stream:
    """The ways of a graph with the flow in each.

    Flows inside items follow from those of the pipes: what comes to a place leaves it. The flow in a tee of
    ways that the pipes do not tell (two ways side by side inside one item) counts as none.

    Parameters
    ----------
    graph : WaterGraph
    flows : mapping
        Flow of each pipe, positive from its `start` to its `end`, [m^3/s]; one that is not named stands
    """

    def __init__(self, graph: WaterGraph, flows: Mapping[str, float]) -> None:
        self.graph = graph
        self.flows = flows

    @cached_property
    def flow(self) -> Mapping[Way, float]:
        """Flow of every way, positive from its start to its end, [m^3/s]."""
        known = {way: float(self.flows.get(way.key, 0.0)) for way in self.graph.ways if way.is_pipe}
        items = self.graph.plant.items
        inside = [place for place in self.graph.places if place.item in items]

        def tells(place: PortRef) -> Way | None:
            unknown = [way for way in self.graph.ways_at[place] if way not in known]
            return unknown[0] if len(unknown) == 1 else None

        waiting = [place for place in inside if tells(place) is not None]
        while waiting:
            place = waiting.pop()
            way = tells(place)
            if way is None or place.port.startswith("air"):
                continue
            comes = [known[w] if w.end == place else -known[w] for w in self.graph.ways_at[place] if w != way]
            rest = sum(comes)
            if abs(rest) <= REST * max(map(abs, comes), default=0.0):
                rest = 0.0
            known[way] = rest if way.start == place else -rest
            waiting += (way.start, way.end)
        return {way: known.get(way, 0.0) for way in self.graph.ways}

    def _beside(self, place: PortRef, ahead: bool) -> list[PortRef]:
        found = []
        for way in self.graph.ways_at[place]:
            flow = self.flow[way] if ahead else -self.flow[way]
            if way.start == place and flow > NO_FLOW:
                found.append(way.end)
            elif way.end == place and flow < -NO_FLOW:
                found.append(way.start)
        return found

    def downstream(self, place: PortRef) -> list[PortRef]:
        """Places that water from a place comes to, that one first."""
        return list(reached([place], lambda one: self._beside(one, True)))

    def upstream(self, place: PortRef) -> list[PortRef]:
        """Places whose water comes to a place, that one first."""
        return list(reached([place], lambda one: self._beside(one, False)))

    def downstream_until(self, place: PortRef, stops: Callable[[str], bool]) -> list[PortRef]:
        """Places that water from a place comes to, not looked for beyond items at which to stop."""

        def onward(one: PortRef) -> list[PortRef]:
            return [] if one != place and stops(one.item) else self._beside(one, True)

        return list(reached([place], onward))

    def upstream_until(self, place: PortRef, stops: Callable[[str], bool]) -> list[PortRef]:
        """Places whose water comes to a place, not looked for beyond items at which to stop."""

        def onward(one: PortRef) -> list[PortRef]:
            return [] if one != place and stops(one.item) else self._beside(one, False)

        return list(reached([place], onward))

    def circuit(self, key: str) -> list[str]:
        """Items and pipes on the ways round through an item or pipe that pass no place twice, in file order.

        It is the circuit that a circulator drives, or that a sensor on the pipe feels. A tank, a buffer or a
        separator is one place: what lies on its far side is not in it. Empty where the water stands.
        """
        merged = {CENTER, UPPER, LOWER}

        def place(one: PortRef) -> PortRef:
            return PortRef(one.item, CENTER) if one.port in merged else one

        number: dict[PortRef, int] = {}
        ways: dict[int, tuple[int, int]] = {}
        for k, way in enumerate(self.graph.ways):
            ends = [number.setdefault(place(one), len(number)) for one in (way.start, way.end)]
            if abs(self.flow[way]) > NO_FLOW and ends[0] != ends[1]:
                ways[k] = (ends[0], ends[1]) if self.flow[way] > 0.0 else (ends[1], ends[0])
        own = [k for k in ways if self.graph.ways[k].key == key]
        found = {self.graph.ways[k].key for one in own for k in round_through(ways, one)}
        order = (*self.graph.plant.items, *self.graph.plant.pipes)
        return [one for one in order if one in found]

    def standing(self) -> list[str]:
        """Ids of the pipes in which water stands, in the order of the file."""
        return [way.key for way in self.graph.ways if way.is_pipe and abs(self.flow[way]) <= NO_FLOW]
