"""Questions on ways given by the numbers of their two nodes, as the arithmetic has them.

What hangs together, what is a bridge, what lies on a way round. Some answers are kept: most edits of a plant
change a figure and leave its ways as they are.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Collection, Hashable, Iterable, Iterator, Mapping, Sequence
from functools import lru_cache
from itertools import islice
from typing import TYPE_CHECKING, TypeVar

if TYPE_CHECKING:
    import networkx as nx

Edges = tuple[tuple[int, int], ...]
Ends = tuple[int, int]
N = TypeVar("N", bound=Hashable)
Onward = Callable[[int], Iterable[tuple[int, float]]]

MOST_WAYS = 500  # ways round looked at; more parallel ways than that add no new one in practice


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
def on_some_round(ways: Edges, outside: tuple[int, ...] = ()) -> tuple[int, ...]:
    """Ways in which water can flow at all: on a way round, or between two places where it comes in or out.

    Parameters
    ----------
    ways : tuple of (int, int)
        Nodes of each way, 0 or more
    outside : tuple of int
        Nodes where water comes in or goes out
    """
    import networkx as nx

    count = Counter(frozenset(way) for way in ways)
    graph: nx.Graph[int] = nx.Graph((start, end) for start, end in ways if start != end)
    graph.add_edges_from((-1, node) for node in outside if node in graph)
    dead = {frozenset(edge) for edge in nx.bridges(graph)} if len(graph) else set()
    return tuple(k for k, way in enumerate(ways) if frozenset(way) not in dead or count[frozenset(way)] > 1)


def grouped(members: Iterable[N], pairs: Iterable[tuple[N, N]]) -> dict[N, N]:
    """One member that stands for all that hang together, for each member.

    Parameters
    ----------
    members : iterable
        All there are
    pairs : iterable of (member, member)
        Those that hang together at once

    Examples
    --------
    >>> groups = grouped("abcd", [("a", "b"), ("d", "b")])
    >>> groups["a"] == groups["d"], groups["a"] == groups["c"]
    (True, False)
    """
    owner = {member: member for member in members}

    def first(member: N) -> N:
        while owner[member] != member:
            owner[member] = member = owner[owner[member]]
        return member

    for one, other in pairs:
        owner[first(one)] = first(other)
    return {member: first(member) for member in owner}


def reached(starts: Iterable[N], onward: Callable[[N], Iterable[N]]) -> dict[N, None]:
    """All that can be reached from some starts, they included, each once, in the order met.

    Parameters
    ----------
    starts : iterable
        Where to begin
    onward : callable
        What can be reached from one at once

    Examples
    --------
    >>> list(reached([1], lambda n: [2 * n] if n < 8 else []))
    [1, 2, 4, 8]
    """
    found = dict.fromkeys(starts)
    waiting = list(found)
    while waiting:
        for one in onward(waiting.pop()):
            if one not in found:
                found[one] = None
                waiting.append(one)
    return found


def carry(at: dict[int, float], node: int, value: float, onward: Onward) -> None:
    """Carry a value from a node to all that are reached from it and have none yet.

    Parameters
    ----------
    at : dict
        Values by node; those found are put in
    node, value : int, float
        Where to begin, and the value there
    onward : callable
        Nodes beside a node, each with the value there; called when the node's own is in `at`
    """
    if node in at:
        return
    at[node] = value
    waiting = [node]
    while waiting:
        for other, its in onward(waiting.pop()):
            if other not in at:
                at[other] = its
                waiting.append(other)


def costliest_way(
    leaving: Mapping[int, Sequence[Ends]], start: int, goal: int, cost: Callable[[int], float]
) -> list[int] | None:
    """Numbers of the ways on the way between two nodes that costs most; None where none leads there.

    Parameters
    ----------
    leaving : mapping
        By node: the node where each way that leaves it ends, and the way's number
    start, goal : int
    cost : callable
        Cost of a way by its number; asked only for ways that lead to the goal

    Notes
    -----
    A ring is not gone round: a way back to a node that is still open does not count.
    """
    rest: dict[int, float | None] = {goal: 0.0}  # cost from a node on, None where no way leads to the goal
    taken: dict[int, tuple[float, int, int]] = {}
    # Deepest first with a stack of its own: a long run of pipes is deeper than Python's.
    waiting = {} if start == goal else {start: list(reversed(leaving.get(start, ())))}
    while waiting:
        node, ways = next(reversed(waiting.items()))
        if not ways:
            del waiting[node]
            rest[node] = taken[node][0] if node in taken else None
            continue
        end, way = ways[-1]
        if end not in rest and end not in waiting:
            waiting[end] = list(reversed(leaving.get(end, ())))
            continue
        ways.pop()
        beyond = rest.get(end)
        if beyond is not None and (node not in taken or cost(way) + beyond > taken[node][0]):
            taken[node] = (cost(way) + beyond, way, end)
    if rest[start] is None:
        return None
    found: list[int] = []
    while start != goal:
        _, way, start = taken[start]
        found.append(way)
    return found


def without_dead_ends(ways: Sequence[Ends], open_at: Collection[int]) -> list[int]:
    """Ways that are left when loose ends are taken off again and again: no water can turn round in those.

    Parameters
    ----------
    ways : sequence of (int, int)
        Nodes of each way
    open_at : collection of int
        Nodes at which a way may end, since water comes in or goes out there
    """
    touching: dict[int, list[int]] = {}
    for k, way in enumerate(ways):
        for node in way:  # a ring of one way touches its node twice
            touching.setdefault(node, []).append(k)
    ends = [node for node, here in touching.items() if len(here) == 1 and node not in open_at]
    dead: set[int] = set()
    while ends:
        for k in tuple(touching[ends.pop()]):
            dead.add(k)
            for node in ways[k]:
                touching[node].remove(k)
                if len(touching[node]) == 1 and node not in open_at:
                    ends.append(node)
    return [k for k in range(len(ways)) if k not in dead]


def on_rounds(ways: Sequence[Ends], drives: Collection[int], outside: Iterable[int] = ()) -> frozenset[int]:
    """Ways that can be part of a way round which passes no place twice and goes through one that drives.

    Parameters
    ----------
    ways : sequence of (int, int)
        Nodes of each way, 0 or more
    drives : collection of int
        Which of the ways drive
    outside : iterable of int
        Nodes where water comes in or goes out: a way between two of them is driven from outside

    Returns
    -------
    frozenset of int
        Which of the ways are driven

    Notes
    -----
    Two ways lie on one simple round when they are in one biconnected part of the graph (Whitney 1932); an
    extra node amid each way keeps ways side by side apart.
    """
    return _on_rounds(tuple(ways), frozenset(drives), tuple(outside))


@lru_cache(maxsize=128)
def _on_rounds(ways: Edges, drives: frozenset[int], outside: tuple[int, ...]) -> frozenset[int]:
    import networkx as nx

    graph: nx.Graph[int] = nx.Graph()
    for k, (start, end) in enumerate(ways):
        graph.add_edge(start, ~k)
        graph.add_edge(~k, end)
    beyond = ~len(ways)
    graph.add_edges_from((beyond, node) for node in outside if node in graph)
    driving = {~k for k in drives} | {beyond}
    found = {k for k in drives if ways[k][0] == ways[k][1]}  # a ring of one way
    for part in nx.biconnected_components(graph):
        if len(part) > 2 and not driving.isdisjoint(part):
            found.update(~node for node in part if beyond < node < 0)
    return frozenset(found)


def round_through(ways: Mapping[int, Ends], own: int) -> list[int]:
    """Ways on any way round through one of them, along the flow, that passes no node twice; sorted.

    Parameters
    ----------
    ways : mapping
        Node where water enters and node where it leaves each way in which it flows, by number
    own : int
        The way that the round goes through
    """
    import networkx as nx

    back, ahead = ways[own]
    graph: nx.MultiDiGraph[int] = nx.MultiDiGraph()
    graph.add_edges_from((*ends, k) for k, ends in ways.items() if k != own)
    found = {own}
    if back != ahead and back in graph and ahead in graph and nx.has_path(graph, ahead, back):
        useful = (nx.descendants(graph, ahead) | {ahead}) & (nx.ancestors(graph, back) | {back})
        for way in islice(nx.all_simple_edge_paths(graph.subgraph(useful), ahead, back), MOST_WAYS):
            found.update(k for _, _, k in way)
    return sorted(found)


def side_by_side(ways: Iterable[Ends], one: Ends, other: Ends) -> bool:
    """Whether the starts of two ways meet and their ends meet, without one of these ways touching the other.

    Parameters
    ----------
    ways : iterable of (int, int)
        All further ways
    one, other : (int, int)
        Start and end of the two that are asked about
    """
    import networkx as nx

    (in_one, out_one), (in_other, out_other) = one, other
    graph: nx.Graph[int] = nx.Graph()
    graph.add_edges_from(ways)
    graph.add_nodes_from((*one, *other))
    for way in islice(_simple(graph, out_one, out_other, {in_one, in_other}), MOST_WAYS):
        rest = graph.copy()
        rest.remove_nodes_from(way)
        if in_one in rest and in_other in rest and nx.has_path(rest, in_one, in_other):
            return True
    return False


def _simple(graph: nx.Graph[int], start: int, end: int, without: set[int]) -> Iterator[list[int]]:
    """Ways between two nodes that pass none twice and avoid some; one node alone is a way to itself."""
    import networkx as nx

    left = graph.copy()
    left.remove_nodes_from(without)
    if start in left and end in left:
        yield from [[start]] if start == end else nx.all_simple_paths(left, start, end)


def in_order_of_flow(ways: Sequence[tuple[int, int]]) -> tuple[list[int], list[int]]:
    """Ways in the order in which water passes them, each after all that bring water to its start.

    Parameters
    ----------
    ways : sequence of (int, int)
        Start and end node of each way, as its water flows

    Returns
    -------
    order : list of int
        Numbers of the ways
    cut : list of int
        Nodes at which a ring had to be begun: not all that comes to them is before them

    Examples
    --------
    >>> in_order_of_flow([(1, 2), (0, 1), (2, 1)])
    ([1, 0, 2], [1])
    """
    leaving: dict[int, list[int]] = {}
    waits: dict[int, int] = {}
    for k, (start, end) in enumerate(ways):
        leaving.setdefault(start, []).append(k)
        waits[end] = waits.get(end, 0) + 1
        waits.setdefault(start, 0)
    order: list[int] = []
    cut: list[int] = []
    left = set(waits)
    ready = [n for n in waits if not waits[n]]
    while left:
        if not ready:
            ready = [min(left)]
            cut += ready
        n = ready.pop()
        if n not in left:
            continue
        left.discard(n)
        for k in leaving.get(n, ()):
            order.append(k)
            waits[ways[k][1]] -= 1
            if not waits[ways[k][1]]:
                ready.append(ways[k][1])
    return order, cut
