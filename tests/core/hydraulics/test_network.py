"""From a plant to branches: dead ends off, runs joined, rings kept, bodies parted."""

import numpy as np
import pytest

from core.files.read import from_data
from core.hydraulics.balance import flowing_branches
from core.hydraulics.network import Network, build
from tests.support.builders import Board


def network(board: Board) -> Network:
    return build(from_data(board.data()))


def flowing(net: Network, *shut: str) -> set[str]:
    """Ids of pipes and items on a branch that may flow while those named are shut."""
    closed = np.array([e.key in shut for e in net.elements])
    return {net.elements[i].key for k in flowing_branches(net, closed) for i in net.branches[k].elements}


def loop_with_spur() -> Board:
    board = Board()
    board.pump("P", 30e3, 1e-3)
    for name in ("A", "B"):
        board.item(name, "joint")
    board.item("S", "strainer")
    board.item("V", "shutoff")
    board.chain("A", "P", "B")
    board.chain("B", "S", "A")
    board.chain("B", "V", "A")
    board.item("D", "drain")
    board.item("E", "joint")
    board.chain("A", "E", "D")
    return board


def test_dead_ends_are_on_no_branch():
    net = network(loop_with_spur())
    on = {net.elements[i].key for b in net.branches for i in b.elements}
    assert {"P", "S", "V"} <= on
    spur = {e.key for e in net.elements if net.branch_of[e.index] < 0}
    assert spur == {"L-7", "L-8"}


def test_what_lies_in_line_is_one_branch():
    net = network(loop_with_spur())
    assert sorted(len(b.elements) for b in net.branches) == [3, 3, 3]
    assert {len({b.start, b.end}) for b in net.branches} == {2}


def test_signs_follow_the_run():
    net = network(loop_with_spur())
    for b in net.branches:
        node = b.start
        for i, sign in zip(b.elements, b.signs, strict=True):
            e = net.elements[i]
            first, last = (e.start, e.end) if sign > 0 else (e.end, e.start)
            assert first == node
            node = last
        assert node == b.end


def test_shutting_one_way_leaves_the_other_and_shutting_both_leaves_none():
    net = network(loop_with_spur())
    assert {"P", "S"} <= flowing(net, "V")
    assert "V" not in flowing(net, "V")
    assert flowing(net, "V", "S") == set()


def test_a_ring_without_junctions_is_one_branch_on_itself():
    board = Board()
    board.pump("P", 30e3, 1e-3)
    board.item("S", "strainer")
    board.ring("P", "S")
    (branch,) = network(board).branches
    assert branch.start == branch.end
    assert len(branch.elements) == 4


@pytest.mark.parametrize("tap", [True, False])
def test_a_run_from_the_main_counts_only_where_water_may_leave(tap):
    board = Board(use="potable")
    board.item("M", "cold_main", pressure="300 kPa")
    board.item("J", "joint")
    board.item("F", "fixture" if tap else "plug")
    board.chain("M", "J")
    board.pipe("J:at", "F:cold" if tap else "F:at")
    assert ("L-1" in flowing(network(board))) == tap


def test_a_fill_valve_parts_two_bodies():
    board = Board(use="closed")
    board.pump("P", 30e3, 1e-3)
    board.item("J", "joint")
    board.ring("P", "J")
    board.item("FV", "fill_valve", set_pressure="100 kPa")
    board.pipe("FV:out", "J:at")
    board.body("supply", use="potable")
    board.item("M", "cold_main", pressure="300 kPa")
    board.pipe("M:at", "FV:in")
    net = network(board)
    assert len(net.bodies) == 2
    assert net.body_of[net.node("FV", "in")] != net.body_of[net.node("FV", "out")]
    assert set(net.parted) == {"FV"}
