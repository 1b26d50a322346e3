"""Runs, pushes, arrows and close tees of small plants whose answers are seen on paper."""

from __future__ import annotations

import pytest

from core.files.read import from_data
from core.plant.model import PortRef
from core.water.arrows import Arrows
from core.water.close_tees import tee_pairs
from core.water.connections import shortest
from core.water.pushes import ITEM, METRE, PIPE, pushes
from core.water.runs import Runs
from core.water.ways import WaterGraph, water_graph
from tests.plants.edits import swap
from tests.support.builders import Board


def twins(turn: str = "") -> WaterGraph:
    """Two circulators side by side between the tees J-1 and J-2, and one way back through an emitter."""
    board = Board()
    for name in ("J-1", "J-2"):
        board.item(name, "joint")
    for name in ("P-1", "P-2"):
        board.pump(name, 40e3, 1e-3)
        board.chain("J-1", name, "J-2", length=0.0)
    board.item("RA-1", "radiator", ua="50 W/K")
    board.item("PG-1", "gauge")
    board.chain("J-2", "RA-1", "J-1", length=0.0)
    board.chain("J-2", "PG-1")
    data = board.data()
    if turn:
        swap(data, (turn, "in"), (turn, "out"))
    return water_graph(from_data(data))


def test_a_gauge_breaks_no_run_and_a_tee_does():
    runs = Runs(twins())
    assert sorted(sorted(k for k in run.keys if k in runs.graph.plant.items) for run in runs.all) == [
        ["P-1"],
        ["P-2"],
        ["RA-1"],
    ]
    assert not any("PG-1" in run.keys for run in runs.all)


def test_a_twin_is_pushed_backward_by_the_share_of_its_conductance():
    """Two ways back from J-2 to J-1: through the other pump, and through the emitter."""
    runs = Runs(twins())
    other, emitter = 2.0 * PIPE + ITEM, 2.0 * PIPE + 10.0
    share = pushes(runs)["P-1"]["P-2"]
    assert share == pytest.approx(-(1.0 / other) / (1.0 / other + 1.0 / emitter), rel=1e-6)
    assert METRE > 0.0


def test_water_in_line_is_pushed_whole():
    board = Board()
    board.pump("P-1", 40e3, 1e-3)
    board.pump("P-2", 40e3, 1e-3)
    board.item("RA-1", "radiator", ua="50 W/K")
    board.ring("P-1", "P-2", "RA-1")
    assert pushes(Runs(water_graph(from_data(board.data()))))["P-1"]["P-2"] == pytest.approx(1.0)


@pytest.mark.parametrize("turn", ["", "P-1", "P-2", "RA-1"])
def test_what_is_piped_against_all_else_is_named(turn: str):
    expected = {"": (), "P-1": ("P-1",), "P-2": ("P-2",), "RA-1": ("P-1", "P-2")}[turn]
    assert Arrows(twins(turn)).backward == expected


def test_close_tees_part_two_driven_circuits_and_a_bypass_of_one_does_not():
    board = Board()
    for name in ("A-1", "A-2"):
        board.item(name, "joint")
    board.pump("P-1", 40e3, 1e-3)
    board.pump("P-2", 40e3, 1e-3)
    board.item("B-1", "boiler", capacity="20 kW", set_temperature="60 degC")
    board.item("RA-1", "radiator", ua="50 W/K")
    board.chain("A-2", "B-1", "P-1", "A-1", "A-2")
    board.chain("A-1", "P-2", "RA-1", "A-2")
    data = board.data()
    (pair,) = tee_pairs(Runs(water_graph(from_data(data))))
    assert set(pair.tees) == {"A-1", "A-2"}
    assert {k for run in pair.primary for k in run.keys} >= {"B-1", "P-1"}
    assert {k for run in pair.secondary for k in run.keys} >= {"P-2", "RA-1"}
    for one in data["items"]:
        if one["id"] == "P-2":
            one["kind"], one["props"] = "strainer", {}
    assert tee_pairs(Runs(water_graph(from_data(data)))) == ()


def test_the_shortest_way_is_that_of_fewest_parts():
    graph = twins()
    found = shortest(graph, PortRef("J-2", "at"), lambda p: p.item == "RA-1", lambda way, place: True)
    assert found is not None
    assert [way.is_pipe for way, _ in found] == [True]
    assert shortest(graph, PortRef("J-2", "at"), lambda p: p.item == "Z", lambda way, place: True) is None
