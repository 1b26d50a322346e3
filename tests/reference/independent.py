"""A second way to solve a pipe network, for comparison only: scipy's root finder on loop flows.

Nothing is shared with the solver of the project: unknowns are the flows round the loops of a spanning tree
(reservoirs tied together), friction is stepped from its equation, and no derivative is given.
"""

from __future__ import annotations

import itertools
import math
from typing import Any

import networkx as nx
import numpy as np
from scipy.optimize import root


def colebrook(reynolds: float, roughness: float) -> float:
    """Darcy's f by stepping Colebrook-White itself until it stands; 64/Re below 2000."""
    if reynolds <= 2000:
        return 64 / reynolds
    x = 8.0
    for _ in range(80):  # each step leaves less than a fifth of the error
        x = -2 * math.log10(roughness / 3.7 + 2.51 * x / reynolds)
    return x**-2


def link_head(link: dict[str, Any], q: float, net: dict[str, Any]) -> float:
    """Head lost from a to b at flow q [m]."""
    size = max(abs(q), 1e-9)
    match link["model"]:
        case "K":
            head = link["K"] * size**2
        case "f":
            head = 8 * link["f"] * link["L"] / (math.pi**2 * net["g"] * link["D"] ** 5) * size**2
        case "dw":
            speed = 4 * size / (math.pi * link["D"] ** 2)
            factor = colebrook(speed * link["D"] / net["nu"], link["eps"] / link["D"])
            head = factor * link["L"] / link["D"] * speed**2 / (2 * net["g"])
        case "pump_power":
            return -float(link["W"]) / (net["rho"] * net["g"] * size)
        case other:
            raise ValueError(other)
    return math.copysign(head, q)


def solve_network(net: dict[str, Any]) -> dict[str, float]:
    """Flows by link id [m3/s]."""
    nodes, links = net["nodes"], net["links"]
    fixed = [name for name, node in nodes.items() if "head" in node]
    graph = nx.MultiGraph()
    for index, link in enumerate(links):
        graph.add_edge(link["a"], link["b"], key=index)
    for name in fixed:  # the ground: reservoirs tied to one point by links of given head
        graph.add_edge("ground", name, key=f"tie {name}")
    tree = nx.Graph(
        (a, b, {"key": key}) for a, b, key in nx.minimum_spanning_edges(graph, keys=True, data=False)
    )
    in_tree = {data["key"] for _, _, data in tree.edges(data=True)}
    ends = {index: (link["a"], link["b"]) for index, link in enumerate(links)}
    ends |= {f"tie {name}": ("ground", name) for name in fixed}
    keys = list(ends)
    place = {key: number for number, key in enumerate(keys)}
    loops = []
    for key in keys:
        if key in in_tree:
            continue
        a, b = ends[key]
        row = np.zeros(len(keys))
        row[place[key]] = 1
        path = nx.shortest_path(tree, b, a)
        for start, stop in itertools.pairwise(path):
            step = tree.edges[start, stop]["key"]
            row[place[step]] = 1 if ends[step] == (start, stop) else -1
        loops.append(row)
    matrix = np.array(loops) if loops else np.zeros((0, len(keys)))
    base = demand_flows(nodes, tree, ends, keys, place)

    def heads(flows: np.ndarray) -> np.ndarray:
        lost = [
            link_head(links[key], flows[place[key]], net) if isinstance(key, int) else -nodes[key[4:]]["head"]
            for key in keys
        ]
        return np.array(lost)

    def imbalance(round_flows: np.ndarray) -> np.ndarray:
        return matrix @ heads(base + round_flows @ matrix)

    for guess in (0.01, 0.03, -0.03, 0.2):
        answer = root(imbalance, np.full(len(matrix), guess), options={"xtol": 1e-13, "maxfev": 20000})
        worst = float(np.max(np.abs(imbalance(answer.x)), initial=0.0))
        if worst < 1e-6:
            break
    assert worst < 1e-6, f"the second method did not settle: {worst}"
    flows = base + answer.x @ matrix
    return {link["id"]: float(flows[place[index]]) for index, link in enumerate(links)}


def demand_flows(
    nodes: dict[str, Any],
    tree: nx.Graph,
    ends: dict[Any, tuple[str, str]],
    keys: list[Any],
    place: dict[Any, int],
) -> np.ndarray:
    """Flows along the tree from the ground that meet every demand."""
    flows = np.zeros(len(keys))
    for name, node in nodes.items():
        if demand := node.get("demand", 0):
            path = nx.shortest_path(tree, "ground", name)
            for start, stop in itertools.pairwise(path):
                step = tree.edges[start, stop]["key"]
                flows[place[step]] += demand if ends[step] == (start, stop) else -demand
    return flows
