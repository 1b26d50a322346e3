"""The plant as a graph: bodies of water, loops, spanning trees, what is cut off. By networkx.

Nodes are ports (`PortRef`); edges are pipes and the ways through items. Not for hydraulics: which
valve is shut or which pump runs is a question of a case, handed in as a test on items.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from itertools import pairwise
from typing import Any, TypeAlias

from core.plant.model import Plant, PortRef
from core.vocabulary import joined_ports

Graph: TypeAlias = Any  # a networkx.MultiGraph of ports; the library has no types of its own

Passes = Callable[[str], bool]
"""Whether water can pass through an item, by id."""


def _everything_passes(name: str) -> bool:
    return True


def graph(plant: Plant, passes: Passes = _everything_passes, stages: bool = True) -> Graph:
    """Ports joined by pipes (edge key: the pipe's id) and through items (edge key: the item's id).

    Parameters
    ----------
    plant : Plant
        The plant
    passes : Passes
        Items that water can pass through; others keep their ports, but apart
    stages : bool
        Whether to leave out what is marked ``to_remove``

    Returns
    -------
    MultiGraph
        Edges carry ``what`` ("pipe" or "item")
    """
    import networkx as nx

    view: Graph = nx.MultiGraph()
    for item in plant.items.values():
        if stages and item.stage == "to_remove":
            continue
        view.add_nodes_from(PortRef(item.id, port) for port in item.ports)
        if not passes(item.id):
            continue
        for group in joined_ports(item.kind, item.props):
            for port in group[1:]:
                view.add_edge(PortRef(item.id, group[0]), PortRef(item.id, port), key=item.id, what="item")
    for pipe in plant.pipes.values():
        if stages and pipe.stage == "to_remove":
            continue
        if pipe.start in view and pipe.end in view:
            view.add_edge(pipe.start, pipe.end, key=pipe.id, what="pipe")
    return view


def bodies(plant: Plant, passes: Passes = _everything_passes) -> list[frozenset[PortRef]]:
    """Ports that one body of water wets, in the order of the file.

    Exchangers, coils, fill valves and backflow preventers part bodies.
    """
    import networkx as nx

    return [frozenset(part) for part in nx.connected_components(graph(plant, passes))]


def body_pipes(plant: Plant, body: Iterable[PortRef]) -> list[str]:
    """Ids of the pipes of a body, in the order of the file."""
    ports = set(body)
    return [pipe.id for pipe in plant.pipes.values() if pipe.start in ports]


def loops(plant: Plant, passes: Passes = _everything_passes) -> list[list[str]]:
    """Ids of pipes and items along each loop of a basis: as many as pipes can be cut before one falls off."""
    import networkx as nx

    view = graph(plant, passes)
    tree: Any = nx.minimum_spanning_edges(view, keys=True, data=False)
    spanning = nx.MultiGraph()
    spanning.add_nodes_from(view)
    closing = set(view.edges(keys=True))
    for one, other, key in tree:
        spanning.add_edge(one, other, key=key)
        closing -= {(one, other, key), (other, one, key)}
    found = []
    for one, other, key in sorted(closing):
        way = nx.shortest_path(spanning, one, other)
        ids = [key, *(next(iter(spanning[a][b])) for a, b in pairwise(way))]
        found.append(list(dict.fromkeys(ids)))
    return found


def spanning_tree(plant: Plant, passes: Passes = _everything_passes) -> Graph:
    """A forest that reaches every port once, pipes and items as its edges."""
    import networkx as nx

    tree: Graph = nx.minimum_spanning_tree(graph(plant, passes))
    return tree


def bridges(plant: Plant, passes: Passes = _everything_passes) -> list[str]:
    """Ids of pipes on no loop: in a closed body water can stand there only."""
    import networkx as nx

    view = graph(plant, passes)
    found = {frozenset(edge) for edge in nx.bridges(nx.Graph(view))}
    return [
        pipe.id
        for pipe in plant.pipes.values()
        if view.has_edge(pipe.start, pipe.end, key=pipe.id)
        and frozenset((pipe.start, pipe.end)) in found
        and view.number_of_edges(pipe.start, pipe.end) == 1
    ]


def cut_off(plant: Plant, passes: Passes, reached_from: Iterable[PortRef]) -> list[str]:
    """Ids of pipes that no water from some ports can reach, past items that let none pass."""
    import networkx as nx

    view = graph(plant, passes)
    reached: set[PortRef] = set()
    for port in reached_from:
        if port in view and port not in reached:
            reached |= nx.node_connected_component(view, port)
    return [pipe.id for pipe in plant.pipes.values() if pipe.start not in reached and pipe.end not in reached]


def open_ports(plant: Plant) -> list[PortRef]:
    """Ports without a pipe, in the order of the file."""
    return [
        PortRef(item.id, port)
        for item in plant.items.values()
        for port in item.ports
        if PortRef(item.id, port) not in plant.pipes_at
    ]
