"""What hangs together and what is a bridge, by numbers of nodes alone.

The answers are kept: most edits of a plant change a figure and leave its ways as they are.
"""

from __future__ import annotations

from functools import lru_cache

Edges = tuple[tuple[int, int], ...]


@lru_cache(maxsize=64)
def connected(edges: Edges, nodes: int = 0) -> tuple[tuple[int, ...], ...]:
    """Connected parts of a graph, each sorted, in the order of their least nodes.

    Parameters
    ----------
    edges : tuple of (int, int)
        Nodes that are joined
    nodes : int
        Nodes 0 to this belong to the graph also where nothing joins them
    """
    import networkx as nx

    graph: nx.Graph[int] = nx.Graph()
    graph.add_nodes_from(range(nodes))
    graph.add_edges_from(edges)
    return tuple(sorted(tuple(sorted(part)) for part in nx.connected_components(graph)))


@lru_cache(maxsize=256)
def bridges(edges: Edges) -> frozenset[tuple[int, int]]:
    """Edges without which the graph falls apart, as given."""
    import networkx as nx

    graph: nx.Graph[int] = nx.Graph()
    graph.add_edges_from(edges)
    found = {frozenset(edge) for edge in nx.bridges(graph)} if edges else set()
    return frozenset(edge for edge in edges if frozenset(edge) in found)
