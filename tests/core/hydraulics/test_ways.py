"""Walks through networks against networkx, and on networks small enough to see."""

import random
from itertools import pairwise

import networkx as nx
import pytest

from core.hydraulics import ways


def some_pairs(seed: int) -> list[tuple[int, int]]:
    """A random network, with doubled joins and joins of a node to itself."""
    dice = random.Random(seed)
    nodes = dice.randint(2, 12)
    return [(dice.randrange(nodes), dice.randrange(nodes)) for _ in range(dice.randint(1, 22))]


def acyclic(seed: int) -> list[tuple[int, int]]:
    return [(min(pair), max(pair)) for pair in some_pairs(seed) if pair[0] != pair[1]]


@pytest.mark.parametrize("seed", range(150))
def test_parts_and_bridges_as_the_library_finds_them(seed: int) -> None:
    pairs = some_pairs(seed)
    graph = nx.Graph([(40, 40), *pairs])
    assert ways.parts(pairs, [40]) == [set(part) for part in nx.connected_components(graph)]
    assert ways.bridges(pairs) == {frozenset(pair) for pair in nx.bridges(graph)}


@pytest.mark.parametrize("seed", range(150))
@pytest.mark.parametrize("network", [some_pairs, acyclic])
def test_joins_on_simple_ways_as_the_library_finds_them(network, seed: int) -> None:
    pairs = network(seed)
    start, end = 0, 1
    graph = nx.MultiDiGraph()
    graph.add_nodes_from((start, end))
    for number, (a, b) in enumerate(pairs):
        graph.add_edge(a, b, key=number)
    wanted = {key for way in nx.all_simple_edge_paths(graph, start, end) for _, _, key in way}
    assert ways.on_ways(pairs, start, end, 10**6) == wanted


def test_a_long_chain_is_walked_without_recursion() -> None:
    chain = list(pairwise(range(20_000)))
    assert len(ways.parts(chain)) == 1
    assert len(ways.bridges(chain)) == len(chain)
    assert len(ways.on_ways(chain, 0, 19_999, 5)) == len(chain)


def test_the_search_for_ways_ends_where_it_is_told_to() -> None:
    # A ladder with rungs both ways round has a way for each choice of rungs.
    rungs = [(n, n + 1) for n in range(40)] * 2
    dead_end = [(5, 100), (100, 3)]  # only over nodes passed already: never on a way
    found = ways.on_ways([*rungs, *dead_end], 0, 40, 50)
    assert 0 < len(found) <= len(rungs)
