"""The plant as a graph of the water: every way through an item or a pipe, with what is true of it.

Made of what each kind declares (`core.vocabulary.waterways`, traits), never of its name. Which pump runs and
how much flows is a question of a case; nothing is solved here.

A backflow preventer parts two bodies unless both its sides are potable or of one system: then water goes on
through it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Set
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

from core.plant.model import Item, Pipe, Plant, PortRef
from core.vocabulary import Trait, joined_ports
from core.vocabulary.waterways import (
    Branches,
    Legs,
    Loops,
    OneWay,
    OpenToAir,
    Pump,
    Sides,
    Straight,
    TapsToCenter,
    TwoEnds,
    UsesUp,
)

CENTER, UPPER, LOWER, AIR = "*", "upper", "lower", "air"  # places inside an item that are no ports


@dataclass(frozen=True, slots=True)
class Way:
    """One way for water between two places; a place is a port, or one inside an item under a name of its own.

    Attributes
    ----------
    key : str
        Id of the item or pipe it leads through
    start, end : PortRef
        Its two places
    is_pipe : bool
        Whether it is a pipe
    part : str
        Tells the ways of one item apart
    one_way : bool
        Whether water passes from start to end only (a check valve, a leg of a mixing valve)
    hand_valve : bool
        Whether it is opened and shut by hand
    stands_open : bool
        False where it is drawn shut: a hand valve, the hose port beside one, a blind spacer
    by_signal : bool
        Whether a signal opens it
    drives : bool
        Whether what lies in it drives water
    parts : bool
        Whether it parts two bodies (a fill valve, a backflow preventer)
    to_air : bool
        Whether water that takes it leaves the plant
    """

    key: str
    start: PortRef
    end: PortRef
    is_pipe: bool = False
    part: str = ""
    one_way: bool = False
    hand_valve: bool = False
    stands_open: bool = True
    by_signal: bool = False
    drives: bool = False
    parts: bool = False
    to_air: bool = False


@dataclass(frozen=True, slots=True)
class Wall:
    """The wall of an exchanger or a coil: heat passes between the places on its two sides, no water."""

    key: str
    one: PortRef
    other: PortRef


Passes = Callable[[Way], bool]
"""Whether a way counts."""


@dataclass(frozen=True)
class WaterGraph:
    """Places and ways of a plant, in the order of the file: items first, then pipes.

    Attributes
    ----------
    plant : Plant
        What it was made of
    places : tuple of PortRef
        Ports, and the places inside items
    ways : tuple of Way
        Ways for water
    walls : tuple of Wall
        Ways for heat alone
    """

    plant: Plant
    places: tuple[PortRef, ...]
    ways: tuple[Way, ...]
    walls: tuple[Wall, ...]

    @cached_property
    def ways_at(self) -> Mapping[PortRef, tuple[Way, ...]]:
        """Ways that begin or end at each place."""
        found: dict[PortRef, list[Way]] = {place: [] for place in self.places}
        for way in self.ways:
            found[way.start].append(way)
            if way.end != way.start:
                found[way.end].append(way)
        return {place: tuple(ways) for place, ways in found.items()}

    @cached_property
    def ways_of(self) -> Mapping[str, tuple[Way, ...]]:
        """Ways through each item and pipe that has any."""
        found: dict[str, list[Way]] = {}
        for way in self.ways:
            found.setdefault(way.key, []).append(way)
        return {key: tuple(ways) for key, ways in found.items()}

    @cached_property
    def places_of(self) -> Mapping[str, tuple[PortRef, ...]]:
        """Places of each item; of a pipe its two ends."""
        found: dict[str, list[PortRef]] = {}
        for place in self.places:
            found.setdefault(place.item, []).append(place)
        ends = {way.key: (way.start, way.end) for way in self.ways if way.is_pipe}
        return {**{key: tuple(places) for key, places in found.items()}, **ends}

    def items_at(self, places: Iterable[PortRef]) -> list[Item]:
        """Items with any of these places, in the order of the file."""
        wetted = {place.item for place in places}
        return [item for item in self.plant.items.values() if item.id in wetted]

    def pipes_at(self, places: Set[PortRef]) -> list[Pipe]:
        """Pipes with an end among these places, in the order of the file."""
        return [
            self.plant.pipes[way.key]
            for way in self.ways
            if way.is_pipe and (way.start in places or way.end in places)
        ]


def everything(way: Way) -> bool:
    """Every way counts."""
    return True


def in_one_body(way: Way) -> bool:
    """All but what parts two bodies."""
    return not way.parts


def past_shut_valves(shut: Set[str] = frozenset()) -> Passes:
    """All but hand valves that are drawn shut or named: what pressure finds its way past.

    Check valves, circulators at rest and zone valves pass: none of them is a shut-off. A named pipe counts as
    one with a shut valve in it.
    """
    return lambda way: (way.stands_open or not way.hand_valve) and not (way.key in shut and way.part == "")


def water_graph(plant: Plant) -> WaterGraph:
    """The graph of all that is not marked to be removed.

    A pipe to an item that is to be removed ends in a place of its own, as if it were plugged.
    """
    places: dict[PortRef, None] = {}
    ways: list[Way] = []
    walls: list[Wall] = []
    here = {item.id: item for item in plant.items.values() if item.stays}
    for item in here.values():
        places.update(dict.fromkeys(PortRef(item.id, port) for port in item.ports))
        inside = list(ways_inside(item))
        ways += inside
        walls += walls_inside(item)
        places.update(dict.fromkeys(place for way in inside for place in (way.start, way.end)))
    for pipe in plant.pipes.values():
        ends = [
            ref if ref.item in here else PortRef(pipe.id, word)
            for ref, word in ((pipe.start, "from"), (pipe.end, "to"))
        ]
        if pipe.stage != "to_remove" and (pipe.start.item in here or pipe.end.item in here):
            places.update(dict.fromkeys(ends))
            ways.append(Way(pipe.id, ends[0], ends[1], is_pipe=True))
    return WaterGraph(plant, tuple(places), tuple(ways), tuple(walls))


def ways_inside(item: Item) -> Iterator[Way]:
    """Ways through an item. Of a kind that is not solved, each group of its ports hangs together."""
    of, has = item.kind_info.waterway, item.has
    side = of.side if isinstance(of, Straight) else ""
    for start, end, part in _between(item):
        is_side = part != "" and part == side
        valve = has(Trait.HAND_VALVE)
        one_way = isinstance(of, OneWay) or (isinstance(of, Legs) and of.only_in)
        one_way |= isinstance(of, Pump) and bool(item.si.get("integral_check"))
        to_air = end.startswith(AIR) and end not in item.ports
        yield Way(
            item.id,
            PortRef(item.id, start),
            PortRef(item.id, end),
            part=part,
            one_way=(one_way and not item.out_of_service) or to_air,
            hand_valve=valve,
            stands_open=_side_open(item, of) if is_side else _open(item, valve),
            by_signal=has(Trait.OPENS_BY_SIGNAL),
            drives=has(Trait.DRIVES),
            parts=has(Trait.PARTS_BODIES),
            to_air=to_air,
        )


def _open(item: Item, valve: bool) -> bool:
    if valve:
        return item.si.get("open", True) is not False
    return not (item.has(Trait.SPACER) and item.si.get("blind"))


def _side_open(item: Item, of: object) -> bool:
    return isinstance(of, Straight) and bool(of.side_open and item.si.get(of.side_open))


def _between(item: Item) -> Iterator[tuple[str, str, str]]:
    """Start, end and part of each way through an item."""
    match item.kind_info.waterway:
        case Straight(side=side):
            yield item.ports[0], item.ports[1], ""
            if side:
                yield item.ports[0], side, side
        case OneWay() | Pump() | Loops():
            yield "in", "out", ""
        case Legs(legs=legs, common=common):
            yield from ((leg, common, leg) for leg in legs)
        case Sides(ways=ways):
            yield from ((inlet, outlet, name) for name, inlet, outlet, _ in ways)
        case TapsToCenter(coil=coil):
            yield from ((tap, CENTER, tap) for tap in item.si["taps"])
            if coil:
                yield "coil_in", "coil_out", "coil"
        case TwoEnds():
            for end, ports in ((UPPER, ("a_in", "b_out")), (LOWER, ("b_in", "a_out"))):
                yield from ((port, end, port) for port in ports)
            yield UPPER, LOWER, "cross"
        case Branches():
            yield from ((CENTER, port, port) for port in item.ports)
        case OpenToAir(ports=ports):
            yield from ((port, AIR, port) for port in ports)
        case UsesUp():
            yield "in", "out", ""
            yield "in", AIR, "use"
        case None:
            for group in joined_ports(item.kind, item.props):
                yield from ((one, other, other) for one, other in pairwise(group))


def walls_inside(item: Item) -> Iterator[Wall]:
    """Walls of an item through which heat passes and no water."""
    match item.kind_info.waterway:
        case Sides(ways=ways):
            for (_, one, *_), (_, other, *_) in pairwise(ways):
                yield Wall(item.id, PortRef(item.id, one), PortRef(item.id, other))
        case TapsToCenter(coil=True):
            yield Wall(item.id, PortRef(item.id, "coil_in"), PortRef(item.id, CENTER))
