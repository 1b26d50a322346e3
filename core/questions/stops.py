"""Check valves that shut, and mixing valves that come to an end, only while another call is on."""

from __future__ import annotations

from collections.abc import Iterable

from core.controls.expressions import runs
from core.figures import MixingFigures, PumpFigures, SharingFigures, SourceFigures
from core.plant.model import Plant, PortRef
from core.questions.heat_way import heat_way
from core.questions.intake import NO_FLOW, got
from core.questions.shortness import gives_out
from core.solve import Solution
from core.vocabulary import Trait
from core.water.stream import Stream
from core.water.ways import WaterGraph

END = 1e-3  # share of hot, or of its travel, from an end at which a valve counts as at it
MISSED = 0.05  # [K] by which a valve at its end misses its set temperature
MOST = 0.5  # share of its heat that a circuit must lose for a check further up to be named
SAME = 0.02  # share within which two flows are one


def stream_of(graph: WaterGraph, solution: Solution) -> Stream:
    """The water as it runs in a solved case."""
    return Stream(graph, {key: f.flow_m3_s for key, f in solution.pipes.items()})


def held_shut(
    plant: Plant, graph: WaterGraph, on: Solution, off: Solution, at: str
) -> tuple[str, ...] | None:
    """The check on the way of a circuit's water, or of what heats it, that passes water with a call off and
    is held shut with it on, and the circulators that then run besides; None where there is none, or where the
    circuit keeps most of its heat without it.

    One whose own circulator or valve was told to stop is not held shut.
    """
    way = heat_way(plant, stream_of(graph, off), at)
    one, other = got(plant, on, at), got(plant, off, at)
    if one.flow > NO_FLOW and one.heat > MOST * other.heat:
        return None
    still = stopped(plant, on, off, way)
    for key in way:
        item = plant.items.get(key)
        if item is None or not (item.has(Trait.CHECKS) or item.si.get("integral_check")):
            continue
        flow = abs(off.flow(key))
        alike = (abs(abs(off.flow(other)) - flow) <= SAME * flow for other in still)
        if flow > NO_FLOW >= abs(on.flow(key)) and not any(alike):
            return (key, *_newly_running(on, off, way))
    return None


def stopped(plant: Plant, on: Solution, off: Solution, way: Iterable[str]) -> list[str]:
    """Circulators and zone valves on a way that are told to run with a call off, and to stop with it on."""
    found = []
    for key in way:
        item = plant.items.get(key)
        moves = item is not None and item.has(Trait.DRIVES, Trait.OPENS_BY_SIGNAL)
        if item is not None and moves and runs(item.si, off.signals) and not runs(item.si, on.signals):
            found.append(key)
    return found


def _newly_running(on: Solution, off: Solution, way: list[str]) -> list[str]:
    return [
        key
        for key, f in on.of(PumpFigures).items()
        if f.running and not off.role(key, PumpFigures).running and key not in way
    ]


def valve_at_end(
    plant: Plant, graph: WaterGraph, on: Solution, off: Solution, at: str
) -> tuple[str, ...] | None:
    """The mixing valve before a circuit that comes to an end with a call on alone and misses its temperature,
    and what its water then lacks: a source at its limit, or what heats it last; None where there is none."""
    stream = stream_of(graph, on)

    def heats_anew(key: str) -> bool:
        return on.at(key, SourceFigures) is not None

    for item in plant.with_trait(Trait.MIXES):
        if not (_ends(on, item.id) and not _ends(off, item.id)):
            continue
        set_at = item.si.get("set_temperature") or item.si.get("target")
        found = on.value(item.id, "temperature_c")
        if set_at is None or found is None or abs(float(found) + 273.15 - float(set_at)) < MISSED:
            continue
        outlet = PortRef(item.id, item.ports[-1])
        if any(place.item == at for place in stream.downstream_until(outlet, heats_anew)):
            return (item.id, *_brought_by(plant, stream, on, item.id))
    return None


def _ends(solution: Solution, key: str) -> bool:
    figures = solution.items.get(key)
    if isinstance(figures, MixingFigures):
        share = figures.hot_share
    elif isinstance(figures, SharingFigures):
        share = figures.position
    else:
        return False
    return abs(figures.flow_m3_s) > NO_FLOW and (share < END or share > 1.0 - END)


def _brought_by(plant: Plant, stream: Stream, on: Solution, valve: str) -> list[str]:
    limited = gives_out(plant, on)
    if limited:
        return [limited]
    for place in stream.upstream(PortRef(valve, plant.items[valve].ports[0])):
        item = plant.items[place.item]
        if item.has(Trait.EXCHANGES_HEAT, Trait.STORES_HEAT) or on.at(item.id, SourceFigures) is not None:
            return [item.id]
    return []
