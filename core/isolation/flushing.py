"""How an exchanger, a heater or a coil is flushed in its place: which valves to close, where the hoses go.

Descaling takes two valves with hose ports that look towards it, one before and one after each side. Order of
the steps: common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass

from core.plant.model import Item, PortRef
from core.vocabulary import Trait
from core.water.connections import reach
from core.water.ways import CENTER, WaterGraph, past_shut_valves

FLUSHED = (Trait.EXCHANGES_HEAT, Trait.FIRED, Trait.HAS_COIL)


@dataclass(frozen=True)
class Flushing:
    """One side of an item, flushed.

    Attributes
    ----------
    at : str
        The item
    ports : tuple of str
        Its two ports on this side: in, out
    close : tuple of str
        Hand valves that part the side from the rest
    hose_in, hose_out : str
        Valves to whose hose ports the pump and the return are connected, "" where there is none
    lacking : tuple of str
        Ports at which no hose port looks towards the item
    also : tuple of str
        What else lies between those valves and takes the cleaner too
    steps : tuple of str
        What to do, in order; empty where a hose port is lacking
    """

    at: str
    ports: tuple[str, str]
    close: tuple[str, ...]
    hose_in: str
    hose_out: str
    lacking: tuple[str, ...]
    also: tuple[str, ...]
    steps: tuple[str, ...]


def flushings(graph: WaterGraph, target: str) -> list[Flushing]:
    """The sides of an item that scale or dirt can be flushed out of; none where it is no such item."""
    item = graph.plant.items.get(target)
    if item is None or not item.has(*FLUSHED):
        return []
    return [_side(graph, item, one, other) for one, other in _sides(graph, item)]


def _sides(graph: WaterGraph, item: Item) -> list[tuple[PortRef, PortRef]]:
    """In and out of each side, as far as they have pipes; of a tank with coil, the coil alone."""
    piped = graph.plant.pipes_at
    return [
        (way.start, way.end)
        for way in graph.ways_of.get(item.id, ())
        if way.start in piped and way.end in piped and CENTER not in (way.start.port, way.end.port)
    ]


def _side(graph: WaterGraph, item: Item, start: PortRef, end: PortRef) -> Flushing:
    valves = frozenset(way.key for way in graph.ways if way.hand_valve)
    passes = past_shut_valves(valves)
    regions = [
        frozenset(reach(graph, [port], lambda way: way.key != item.id and passes(way)))
        for port in (start, end)
    ]
    hoses = [_hose(graph, region) for region in regions]
    lacking = tuple(port.port for port, hose in zip((start, end), hoses, strict=True) if not hose)
    both = regions[0] | regions[1]
    walls = [way for way in graph.ways if way.hand_valve and not way.part and way.stands_open]
    shut = {way.key for way in walls if (way.start in both) != (way.end in both)}
    also = tuple(
        one.id
        for one in graph.items_at(both)
        if one.id != item.id and one.id not in valves and not one.has(Trait.JOINS)
    )
    close = tuple(key for key in graph.plant.items if key in shut)
    steps = () if lacking else tuple(_steps(item, close, hoses, also))
    return Flushing(item.id, (start.port, end.port), close, hoses[0], hoses[1], lacking, also, steps)


def _hose(graph: WaterGraph, region: frozenset[PortRef]) -> str:
    """A valve whose hose port hangs on a region and is free; "" where there is none."""
    for way in graph.ways:
        if way.hand_valve and way.part and way.start in region and way.end not in graph.plant.pipes_at:
            return way.key
    return ""


def _steps(item: Item, close: tuple[str, ...], hoses: list[str], also: tuple[str, ...]) -> list[str]:
    shut = " and ".join(close)
    out = [f"With {item.id} locked out, below 40 °C (104 °F) and without pressure, close {shut}."]
    if also:
        out.append(f"Check that {', '.join(also)} may meet the cleaner: it lies between the same valves.")
    out += [
        f"Connect the pump's hose at {hoses[0]} and the return hose at {hoses[1]}, both into one bucket.",
        "Open both hose ports and let the cleaner go round as long as its maker says.",
        "Empty the bucket as local code allows, fill it with clean water and rinse until it runs clear.",
        f"Close the hose ports, take the hoses away, open {shut}, let the air out and look for leaks.",
    ]
    return out
