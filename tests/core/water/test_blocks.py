"""Blocks of ways against a library of graphs, and on a run deeper than Python's stack."""

import networkx as nx
from hypothesis import given
from hypothesis import strategies as st

from core.water.blocks import blocks

WAYS = st.lists(st.tuples(st.integers(0, 9), st.integers(0, 9)), max_size=20)


@given(ways=WAYS)
def test_blocks_are_the_library_s_with_a_node_amid_each_way(ways):
    graph = nx.Graph()
    for k, (start, end) in enumerate(ways):
        graph.add_edges_from([(start, ~k), (~k, end)])
    rounds = {
        frozenset(~n for n in part if n < 0) for part in nx.biconnected_components(graph) if len(part) > 2
    }
    found = [frozenset(block) for block in blocks(ways)]
    assert {block for block in found if len(block) > 1} == rounds
    assert sorted(k for block in found for k in block) == [k for k, (a, b) in enumerate(ways) if a != b]


def test_a_round_of_many_ways_is_one_block_and_a_run_as_long_is_all_bridges():
    many = 5000
    run = [(k, k + 1) for k in range(many)]
    assert sorted(map(tuple, blocks(run))) == [(k,) for k in range(many)]
    assert [len(block) for block in blocks([*run, (many, 0)])] == [many + 1]
