"""Where a delta-T circulator feels its warm and its cold side."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import islice
from typing import Any

import numpy as np
import numpy.typing as npt

from core.hydraulics.elements import Element
from core.hydraulics.network import Network
from core.solve.devices import Look
from core.thermal.temperatures import STILL

Array = npt.NDArray[np.float64]
Indices = npt.NDArray[np.intp]

MOST_WAYS = 500  # ways round looked at; more parallel ways than that add no new branch in practice


def place_temperature(net: Network, place: Sequence[str], look: Look) -> float:
    """Temperature at [item or pipe, port or sensor], [K]; nan where there is no such place."""
    item, port = place[0], place[1] if len(place) > 1 else ""
    node = net.drawing.nodes.get((item, port))
    if node is None and (item, "*") in net.drawing.nodes:  # a tank's sensor: the tank is one temperature
        node = net.drawing.nodes[(item, "*")]
    if node is not None:
        return look.node.get(node, float("nan"))
    if item in net.of_item:
        e = net.of_item[item][0]
        return 0.5 * (look.node[e.start] + look.node[e.end])
    return float("nan")


def sensed_difference(net: Network, senses: Any) -> Callable[[Look], float]:
    """Difference between two stated places, warm first, [K]."""
    warm, cold = senses
    return lambda look: place_temperature(net, warm, look) - place_temperature(net, cold, look)


def circuit_difference(net: Network, e: Element) -> Callable[[Look], float]:
    """Difference between the warmest and coldest port of the circuit a circulator drives, [K].

    The circuit is every way water can take from its outlet back to its inlet without passing one place twice,
    a separator or buffer being one place: neither other zones on the same mains are in it, nor what lies on
    the far side of a separator.
    """
    circuit = circuit_of(net, e)

    def difference(look: Look) -> float:
        moving = circuit(look.w)
        if not len(moving):
            return float("nan")
        temperatures = np.concatenate([look.t_in[moving], look.t_out[moving]])
        return float(temperatures.max() - temperatures.min())

    return difference


def circuit_of(net: Network, e: Element) -> Callable[[Array], Indices]:
    """Elements of the circuit a circulator drives, by all mass flows; none where it is cut off."""
    own = int(net.branch_of[e.index])
    kept: dict[bytes, Indices] = {}

    def circuit(w: Array) -> Indices:
        if own < 0:
            return np.zeros(0, np.intp)
        flows = np.array([w[b.elements[0]] * b.signs[0] for b in net.branches])
        sense = np.where(np.abs(flows) > STILL, np.sign(flows), 0.0).astype(np.int8)
        key = sense.tobytes()
        if key not in kept:
            kept[key] = _circuit(net, own, sense.tolist())
        return kept[key]

    return circuit


def _circuit(net: Network, own: int, sense: list[int]) -> Indices:
    """Elements on any simple way round through a branch, with the flows as they run."""
    import networkx as nx

    place = {}
    for ways in net.standing.values():
        nodes = [e.end for e in ways]
        place.update(dict.fromkeys(nodes, nodes[0]))

    def ends(k: int) -> tuple[int, int]:
        b = net.branches[k]
        start, end = (b.start, b.end) if sense[k] > 0 else (b.end, b.start)
        return place.get(start, start), place.get(end, end)

    graph: nx.MultiDiGraph[int] = nx.MultiDiGraph()
    graph.add_edges_from((*ends(k), k) for k in range(len(net.branches)) if sense[k] and k != own)
    start, end = ends(own)
    branches = {own}
    if start != end and start in graph and end in graph:
        useful = (nx.descendants(graph, end) | {end}) & (nx.ancestors(graph, start) | {start})
        ways = nx.all_simple_edge_paths(graph.subgraph(useful), end, start)
        for way in islice(ways, MOST_WAYS):
            branches.update(k for _, _, k in way)
    return np.array([i for k in sorted(branches) for i in net.branches[k].elements], np.intp)
