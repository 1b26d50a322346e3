"""Rounds, bridges and groups on ways by number, against search by hand of all simple rounds."""

import random
from itertools import permutations

import networkx as nx
import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.water.numbers import (
    carry,
    connected,
    costliest_way,
    grouped,
    on_rounds,
    on_some_round,
    reached,
    round_through,
    side_by_side,
    without_dead_ends,
)

WAYS = st.lists(st.tuples(st.integers(0, 5), st.integers(0, 5)), max_size=9)


def rounds(ways, directed=False):
    """Sets of the ways on each round that passes no node twice, by walking on from every node."""
    found = set()

    def walk(start, at, used, visited):
        for k, (one, other) in enumerate(ways):
            steps = {(one, other)} if directed else {(one, other), (other, one)}
            for begin, end in steps:
                if begin != at or k in used:
                    continue
                if end == start:
                    found.add(frozenset((*used, k)))
                elif end not in visited:
                    walk(start, end, (*used, k), visited | {end})

    for node in {node for way in ways for node in way}:
        walk(node, node, (), {node})
    return found


@given(WAYS, st.sets(st.integers(0, 8)), st.sets(st.integers(0, 5)))
def test_driven_is_what_shares_a_round_with_a_driver(ways, drives, outside):
    drives = {k for k in drives if k < len(ways)}
    nodes = {node for way in ways for node in way}
    doors = [(99, node) for node in sorted(outside & nodes)]
    driving = drives | set(range(len(ways), len(ways) + len(doors)))
    expected = {k for one in rounds([*ways, *doors]) if one & driving for k in one if k < len(ways)}
    assert on_rounds(ways, drives, outside) == expected


@given(WAYS, st.sets(st.integers(0, 5)))
def test_water_can_flow_on_any_round(ways, outside):
    nodes = {node for way in ways for node in way}
    doors = [(99, node) for node in sorted(outside & nodes)]
    expected = {k for one in rounds([*ways, *doors]) for k in one if k < len(ways)}
    assert set(on_some_round(tuple(ways), tuple(outside))) == expected


@given(WAYS, st.sets(st.integers(0, 5)))
def test_what_is_left_has_two_ways_at_each_node_that_is_not_open(ways, open_at):
    left = without_dead_ends(ways, open_at)
    ends = [node for k in left for node in ways[k]]
    assert all(ends.count(node) >= 2 or node in open_at for node in ends)
    # and it is the most that is so: whatever lies on a round, or between open nodes, stays
    assert set(on_some_round(tuple(ways), tuple(open_at))) <= set(left)


def test_a_chain_between_two_rings_stays_and_a_loose_one_goes():
    ways = [(0, 1), (1, 0), (1, 2), (2, 3), (3, 3), (2, 4), (4, 5)]
    assert without_dead_ends(ways, set()) == [0, 1, 2, 3, 4]
    assert without_dead_ends(ways, {5}) == [0, 1, 2, 3, 4, 5, 6]


@given(WAYS, st.sets(st.integers(0, 5)))
def test_reached_is_closed_and_begins_at_the_starts(ways, starts):
    found = reached(starts, lambda n: [end for start, end in ways if start == n])
    assert starts <= found.keys()
    assert all(end in found for start, end in ways if start in found)
    lengths = nx.MultiDiGraph()
    lengths.add_nodes_from(range(6))
    lengths.add_edges_from(ways)
    assert set(found) == {n for start in starts for n in (start, *nx.descendants(lengths, start))}


@given(WAYS.filter(bool), st.data())
def test_a_round_along_the_flow_through_one_way(ways, data):
    own = data.draw(st.integers(0, len(ways) - 1))
    expected = {own} | {k for one in rounds(ways, directed=True) if own in one for k in one}
    assert round_through(dict(enumerate(ways)), own) == sorted(expected)


@given(st.lists(st.tuples(st.integers(0, 7), st.integers(0, 7)), max_size=9))
def test_groups_are_the_connected_parts(pairs):
    groups = grouped(range(8), pairs)
    for part in connected(tuple(pairs), 8):
        assert {groups[n] for n in part} == {groups[part[0]]}
    assert len(set(groups.values())) == len(connected(tuple(pairs), 8))


def test_heaters_between_two_mains_are_side_by_side():
    # inlets 1 and 2 on a cold header, outlets 3 and 4 on a hot one
    headers = [(1, 2), (3, 4)]
    assert side_by_side(headers, (1, 3), (2, 4))
    assert not side_by_side([(3, 2)], (1, 3), (2, 4))  # one after the other
    assert side_by_side([], (1, 3), (1, 3))  # between the same two nodes
    assert not side_by_side([(1, 4), (2, 3)], (1, 3), (2, 4))  # outlet of each on the inlet of the other


@given(WAYS, st.permutations(range(6)))
def test_side_by_side_needs_two_ways_apart(ways, nodes):
    in_one, out_one, in_other, out_other = nodes[:4]
    graph = nx.Graph([(one, other) for one, other in ways if one != other])
    graph.add_nodes_from(range(6))

    def simple(start, end):
        inner = [n for n in range(6) if n not in (start, end)]
        lines = ([start, *middle, end] for k in range(len(inner) + 1) for middle in permutations(inner, k))
        return [set(line) for line in lines if nx.is_path(graph, line)]

    expected = any(not a & b for a in simple(out_one, out_other) for b in simple(in_one, in_other))
    assert side_by_side(ways, (in_one, out_one), (in_other, out_other)) == expected


def test_a_value_is_carried_to_all_that_hangs_together_and_nothing_is_overwritten():
    beside = {1: [2], 2: [1, 3], 3: [2, 4], 4: [3], 5: []}
    at = {4: 100.0}
    carry(at, 1, 10.0, lambda node: [(other, at[node] - 1.0) for other in beside[node]])
    assert at == {1: 10.0, 2: 9.0, 3: 8.0, 4: 100.0}
    carry(at, 2, 0.0, lambda node: [(other, 0.0) for other in beside[node]])
    assert at[2] == 9.0


def test_the_costliest_way_is_the_worst_of_all_simple_ways():
    rng = random.Random(11)
    for _ in range(30):
        ends = [tuple(sorted(rng.sample(range(8), 2))) for _ in range(14)]  # without rings
        costs = [rng.uniform(-1.0, 5.0) for _ in ends]
        leaving: dict[int, list[tuple[int, int]]] = {}
        graph = nx.MultiDiGraph()
        for k, (start, end) in enumerate(ends):
            leaving.setdefault(start, []).append((end, k))
            graph.add_edge(start, end, k)
        found = costliest_way(leaving, 0, 7, costs.__getitem__)
        known = graph.has_node(0) and graph.has_node(7) and nx.has_path(graph, 0, 7)
        if not known:
            assert found is None
            continue
        worst = max(sum(costs[k] for *_, k in way) for way in nx.all_simple_edge_paths(graph, 0, 7))
        assert found is not None
        assert sum(costs[k] for k in found) == pytest.approx(worst)
        assert [ends[k][0] for k in found] == [0, *(ends[k][1] for k in found[:-1])]


def test_no_costliest_way_goes_round_a_ring_or_past_the_goal():
    leaving = {0: [(1, 0)], 1: [(2, 1), (0, 2)], 2: [(1, 3), (3, 4)], 3: [(0, 5)]}
    assert costliest_way(leaving, 0, 3, lambda _: 1.0) == [0, 1, 4]
    assert costliest_way(leaving, 0, 9, lambda _: 1.0) is None
    assert costliest_way(leaving, 4, 4, lambda _: 1.0) == []
