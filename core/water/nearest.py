"""Where the water of a place can be let out nearest, along the pipes."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise

from core.plant.model import Pipe, PortRef
from core.vocabulary import Trait
from core.water.ways import WaterGraph, past_shut_valves


@dataclass(frozen=True)
class Nearest:
    """An outlet, drain or hose port; how far along the pipes it is, [m], and the water of those, [m^3]."""

    id: str
    distance: float
    volume: float


def water_in(pipe: Pipe) -> float:
    """Water in a pipe by its bore and length, [m^3]; none in what is joined face to face."""
    return 0.0 if pipe.si.joined else math.pi / 4.0 * pipe.si.bore**2 * pipe.si.length


def openings(graph: WaterGraph) -> dict[PortRef, str]:
    """Places where water can be let out: outlets, drains, hose ports without a pipe; with the item's id."""
    found = {
        place: item.id
        for item in graph.plant.with_trait(Trait.DRAWS_WATER, Trait.DRAINS)
        if item.has(Trait.DRAWS_WATER, Trait.ENDS_RUN)
        for place in graph.places_of[item.id]
        if place in graph.plant.pipes_at
    }
    hoses = [way for way in graph.ways if way.hand_valve and way.part and way.end not in graph.plant.pipes_at]
    return {**found, **{way.start: way.key for way in hoses}}


def nearest_opening(graph: WaterGraph) -> Mapping[PortRef, Nearest]:
    """For each place the nearest opening past the valves that stand open; absent where none is.

    Check valves count as passing: flushing runs from a pipe to the opening or past it to there. A body
    without an opening of its own is flushed onward through its fill valve or backflow preventer, never back.
    """
    own = _nearest(graph, onward=False)
    return {**_nearest(graph, onward=True), **own} if len(own) < len(graph.places) else own


def _nearest(graph: WaterGraph, onward: bool) -> dict[PortRef, Nearest]:
    """Nearest openings of the body, or also of those that its water can go on to."""
    import networkx as nx

    passes, pipes = past_shut_valves(), graph.plant.pipes
    view: nx.DiGraph[PortRef] = nx.DiGraph()  # from the openings back to where the water comes from
    for way in graph.ways:
        if not passes(way) or way.to_air or (way.parts and not onward):
            continue
        far = pipes[way.key].si.length if way.is_pipe else 0.0
        water = water_in(pipes[way.key]) if way.is_pipe else 0.0
        for one, other in [(way.end, way.start)] + ([] if way.parts else [(way.start, way.end)]):
            known = view.get_edge_data(one, other)
            if known is None or far < known["far"]:
                view.add_edge(one, other, far=far, water=water)
    at = {place: key for place, key in openings(graph).items() if place in view}
    if not at:
        return {}
    distances, lines = nx.multi_source_dijkstra(view, list(at), weight="far")
    found = {}
    for place, far in distances.items():
        water = sum(view[one][other]["water"] for one, other in pairwise(lines[place]))
        found[place] = Nearest(at[lines[place][0]], float(far), water)
    return found
