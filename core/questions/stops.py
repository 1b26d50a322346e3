"""Check valves that shut, and mixing valves that come to an end, only while another call is on."""

from __future__ import annotations

from core.figures import MixingFigures, PumpFigures, SharingFigures, SourceFigures
from core.plant.model import Plant, PortRef
from core.questions.intake import NO_FLOW, got
from core.questions.shortness import gives_out
from core.solve import Solution
from core.vocabulary import Trait
from core.water.stream import Stream
from core.water.ways import WaterGraph

END = 1e-3  # share of hot, or of its travel, from an end at which a valve counts as at it
MISSED = 0.05  # [K] by which a valve at its end misses its set temperature


def stream_of(graph: WaterGraph, solution: Solution) -> Stream:
    """The water as it runs in a solved case."""
    return Stream(graph, {key: f.flow_m3_s for key, f in solution.pipes.items()})


def held_shut(
    plant: Plant, graph: WaterGraph, on: Solution, off: Solution, at: str
) -> tuple[str, ...] | None:
    """The check on a circuit's way that passes water with a call off and none with it on, and the circulators
    that then run besides; None where the circuit still flows or no check holds it."""
    if got(plant, on, at).flow > NO_FLOW:
        return None
    way = stream_of(graph, off).circuit(at)
    checks = [
        key
        for key in way
        if (item := plant.items.get(key)) is not None
        and (item.has(Trait.CHECKS) or item.si.get("integral_check"))
        and abs(off.flow(key)) > NO_FLOW >= abs(on.flow(key))
    ]
    if not checks:
        return None
    return (checks[0], *_newly_running(on, off, way))


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
    for item in plant.with_trait(Trait.MIXES):
        if not (_ends(on, item.id) and not _ends(off, item.id)):
            continue
        set_at = item.si.get("set_temperature") or item.si.get("target")
        found = on.value(item.id, "temperature_c")
        if set_at is None or found is None or abs(float(found) + 273.15 - float(set_at)) < MISSED:
            continue
        outlet = PortRef(item.id, item.ports[-1])
        if any(place.item == at for place in stream.downstream(outlet)):
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
