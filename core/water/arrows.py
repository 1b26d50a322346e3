"""Where water gets to along the arrows of what it passes, and what is piped against them.

Circulators, checks, sources, emitters, sides of exchangers and legs of mixing valves pass water one way;
pipes and valves both ways. What leaves at an outlet comes in again at a main.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Set
from functools import cached_property

from core.plant.model import Item, PortRef
from core.vocabulary import Trait
from core.water.connections import outside
from core.water.numbers import on_some_round, reached
from core.water.runs import Runs
from core.water.ways import WaterGraph, Way

ARROWED = (
    Trait.DRIVES,
    Trait.MAKES_HEAT,
    Trait.GIVES_HEAT,
    Trait.EXCHANGES_HEAT,
    Trait.FILLS,
    Trait.HOLDS_OUTLET_PRESSURE,
    Trait.STOPS_BACKFLOW,
)
ASKED = (Trait.DRIVES, Trait.ONE_WAY, Trait.MAKES_HEAT, Trait.FILLS, Trait.HOLDS_OUTLET_PRESSURE)
WORLD = PortRef("", "outside")  # joins outlets to mains
INSIDE_ONLY = frozenset({""})  # shuts the ways by the world outside


class Arrows:
    """The graph with its one-way ways.

    Parameters
    ----------
    graph : WaterGraph
    runs : Runs or None
        Its runs, where they are known
    """

    def __init__(self, graph: WaterGraph, runs: Runs | None = None) -> None:
        self.graph = graph
        self._runs = Runs(graph) if runs is None else runs
        items = graph.plant.items
        self._next: dict[PortRef, list[tuple[PortRef, str]]] = {place: [] for place in graph.places}
        self._next[WORLD] = []
        for way in graph.ways:
            if way.part and way.hand_valve:
                continue  # hoses
            item = items.get(way.key)
            if item is not None and item.has(Trait.PARTS_FLOWS) and way.part != "cross":
                inward = way.part.endswith("_in")
                ends = (way.start, way.end) if inward else (way.end, way.start)
                self._next[ends[0]].append((ends[1], way.key))
                continue
            self._next[way.start].append((way.end, way.key))
            if not (way.one_way or (item is not None and _arrowed(item, way))):
                self._next[way.end].append((way.start, way.key))
        for place in outside(graph):
            item = items.get(place.item)
            if item is not None and item.has(Trait.BRINGS_WATER):
                self._next[WORLD].append((place, ""))
            else:
                self._next[place].append((WORLD, ""))

    def from_(self, starts: Iterable[PortRef], without: Collection[str] = ()) -> dict[PortRef, None]:
        """Places that water from some places gets to, without passing through some items and pipes."""

        def onward(place: PortRef) -> list[PortRef]:
            return [end for end, key in self._next.get(place, ()) if key not in without]

        return reached(starts, onward)

    def loop(self, way: Way, without: Set[str] = frozenset(), backward: bool = False) -> bool:
        """Whether water that passes a way gets back to its other end, not through the item itself."""
        start, end = (way.start, way.end) if backward else (way.end, way.start)
        return end in self.from_([start], {*without, way.key})

    @cached_property
    def _driving(self) -> frozenset[str]:
        return frozenset(item.id for item in self.graph.plant.with_trait(Trait.DRIVES))

    def _run(self, way: Way) -> tuple[Way, ...]:
        run = self._runs.of.get(way.key)
        return () if run is None else run.ways

    @cached_property
    def _on_loops(self) -> frozenset[Way]:
        """Ways on a way round inside the plant."""
        number = {place: k for k, place in enumerate(self.graph.places)}
        ways = [way for way in self.graph.ways if not way.to_air]
        ends = tuple((number[way.start], number[way.end]) for way in ways)
        return frozenset(ways[k] for k in on_some_round(ends))

    @cached_property
    def backward(self) -> tuple[str, ...]:
        """Ids of circulators, checks, sources and the like that are piped against all else.

        Along its own arrow no water comes back to such an item, against it water would.
        """
        return tuple(dict.fromkeys(self._backward()))

    def _backward(self) -> Iterator[str]:
        found = {item.id: item for item in self.graph.plant.with_trait(*ASKED) if self._against(item)}
        driven = [key for key, item in found.items() if item.has(Trait.DRIVES)]
        sources = [key for key, item in found.items() if item.has(Trait.MAKES_HEAT)]
        for key in found:  # one circulator against several sources is the one at fault
            if not (driven and len(sources) > len(driven) and key in sources):
                yield key

    def _against(self, item: Item) -> bool:
        ways = self.graph.ways_of.get(item.id, ())
        if len(ways) != 1 or item.has(Trait.MIXES):
            return False
        (way,) = ways
        closed = INSIDE_ONLY if way in self._on_loops else frozenset()
        own = {one.key for one in self._run(way)}
        alone = closed | (self._driving - own)
        if self.loop(way, alone):
            return False
        if item.has(Trait.DRIVES) and self.loop(way, alone, backward=True):
            return True
        if self.loop(way, closed):
            return False
        pumped = any(one.key in self._driving and not self.loop(one) for one in self._run(way))
        if closed and not pumped and self.loop(way):
            return False  # from a main to what is drawn: round a booster, or before a circulation joins
        if self.loop(way, closed, backward=True):
            return True
        if closed and pumped:
            return False
        if closed and self.loop(way, backward=True):
            return True
        if item.has(Trait.ONE_WAY, Trait.FILLS, Trait.HOLDS_OUTLET_PRESSURE):
            before = self.from_([WORLD], {item.id})
            return way.end in before and way.start not in before
        return False


def _arrowed(item: Item, way: Way) -> bool:
    mixes = item.has(Trait.SHARES) and item.si.get("target") is not None
    return item.has(*ARROWED) or way.part == "coil" or mixes
