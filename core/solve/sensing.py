"""Where a delta-T circulator feels its warm and its cold side."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Sequence
from typing import Any

import numpy as np

from core.hydraulics.elements import Element
from core.hydraulics.network import Network
from core.solve.devices import Look
from core.thermal.temperatures import STILL


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

    The circuit is every way that water from its outlet can take back to its inlet.
    """

    def difference(look: Look) -> float:
        onward: dict[int, list[tuple[int, int]]] = defaultdict(list)
        back: dict[int, list[tuple[int, int]]] = defaultdict(list)
        for k, b in enumerate(net.branches):
            w = look.w[b.elements[0]] * b.signs[0]
            if abs(w) > STILL:
                start, end = (b.start, b.end) if w > 0 else (b.end, b.start)
                onward[start].append((end, k))
                back[end].append((start, k))
        own = int(net.branch_of[e.index])
        if own < 0:
            return float("nan")
        branch = net.branches[own]
        ends = (branch.start, branch.end)
        forward = look.w[branch.elements[0]] * branch.signs[0] > 0
        start, end = ends if forward else ends[::-1]
        common = _reach(onward, end) & _reach(back, start)
        elements = list(branch.elements)
        for k in common:
            elements += net.branches[k].elements
        moving = np.array(elements)
        temperatures = np.concatenate([look.t_in[moving], look.t_out[moving]])
        return float(temperatures.max() - temperatures.min())

    return difference


def _reach(ways: dict[int, list[tuple[int, int]]], first: int) -> set[int]:
    seen, branches, queue = {first}, set(), [first]
    while queue:
        for node, k in ways[queue.pop()]:
            branches.add(k)
            if node not in seen:
                seen.add(node)
                queue.append(node)
    return branches
