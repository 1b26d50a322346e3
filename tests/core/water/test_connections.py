"""Bodies, loops, dead ends and what a circulator drives, on plants where they can be counted by hand."""

import pytest

from core.files import read
from core.plant.model import PortRef
from core.water.connections import between, bodies, driven, joined_systems, loops, reach
from core.water.ways import past_shut_valves, water_graph
from tests.support.small_plant import small

TUBE = {"bore": "20 mm"}


def pipe(name, start, end, system="floor"):
    ends = [list(one) if isinstance(one, tuple) else [one, "at"] for one in (start, end)]
    return {"id": name, "from": ends[0], "to": ends[1], "system": system, "tube": TUBE, "length": "1 m"}


@pytest.fixture
def graph():
    return water_graph(read.from_data(small()))


def keys(ways):
    return {way.key for way in ways}


def test_bodies_of_water(graph):
    pipes = [[one.id for one in graph.pipes_at(body)] for body in bodies(graph)]
    # the floor, and the tank with its fixture's hot port and, through the fixture, its cold one
    assert pipes == [["L-1", "L-2", "L-3", "L-4", "L-5"], ["L-6"]]


def test_an_exchanger_parts_bodies():
    data = small()
    data["items"].append({"id": "HX-1", "kind": "exchanger", "at": [0, 0]})
    data["pipes"].append(pipe("L-9", "J-1", ("HX-1", "a_in")))
    graph = water_graph(read.from_data(data))
    floor = next(body for body in bodies(graph) if PortRef("HX-1", "a_in") in body)
    assert PortRef("HX-1", "a_out") in floor
    assert PortRef("B-1", "in") in floor
    assert PortRef("HX-1", "b_in") not in floor
    assert [wall.key for wall in graph.walls] == ["HX-1"]


def test_the_one_loop(graph):
    (loop,) = loops(graph)
    assert set(loop) == {"B-1", "L-1", "P-1", "L-2", "L-4", "FC-1", "L-5"}


def test_a_circulator_drives_its_loop_and_no_dead_end(graph):
    assert keys(driven(graph, ["P-1"])) == {"B-1", "L-1", "P-1", "L-2", "L-4", "FC-1", "L-5"}
    assert driven(graph, ["P-1"], lambda way: way.key != "L-4") == []


def test_what_lies_between_two_places(graph):
    found = between(graph, PortRef("B-1", "out"), PortRef("ET-1", "at"))
    # the tank hangs on the loop by L-3; water may come to it both ways round
    assert keys(found) == {"B-1", "L-1", "P-1", "L-2", "L-3", "L-4", "FC-1", "L-5"}
    only = between(graph, PortRef("J-1", "at"), PortRef("ET-1", "at"))
    assert keys(only) == {"L-3"}
    assert between(graph, PortRef("J-1", "at"), PortRef("T-1", "hot")) == []


def test_reach_ends_at_a_shut_valve():
    data = small()
    data["items"].append({"id": "V-1", "kind": "shutoff", "at": [0, 0]})
    data["items"].append({"id": "D-1", "kind": "drain", "at": [0, 0]})
    data["pipes"] += [pipe("L-8", "J-1", ("V-1", "a")), pipe("L-9", ("V-1", "b"), "D-1")]
    graph = water_graph(read.from_data(data))
    start = [PortRef("J-1", "at")]
    assert PortRef("D-1", "at") in reach(graph, start, past_shut_valves())
    assert PortRef("D-1", "at") not in reach(graph, start, past_shut_valves({"V-1"}))
    data["items"][-2]["props"] = {"open": False}
    shut = water_graph(read.from_data(data))
    assert PortRef("D-1", "at") not in reach(shut, start, past_shut_valves())


def test_two_systems_that_nothing_parts():
    data = small()
    data["pipes"].append(pipe("L-9", "J-1", ("T-1", "cold"), "potable"))
    (meeting,) = joined_systems(water_graph(read.from_data(data)))
    assert meeting.systems == ("floor", "potable")
    assert meeting.pipes == ("L-1", "L-6")
    assert joined_systems(water_graph(read.from_data(small()))) == []


def test_what_is_to_be_removed_is_left_out():
    data = small()
    data["pipes"][4]["stage"] = "to_remove"
    assert loops(water_graph(read.from_data(data))) == []


def test_water_from_a_main_to_an_outlet_goes_round_outside():
    data = small()
    data["items"] += [
        {"id": "CM-1", "kind": "cold_main", "at": [0, 0]},
        {"id": "P-2", "kind": "circulator", "at": [0, 0]},
    ]
    data["pipes"] += [
        pipe("L-8", "CM-1", ("P-2", "in"), "potable"),
        pipe("L-9", ("P-2", "out"), ("T-1", "cold"), "potable"),
    ]
    graph = water_graph(read.from_data(data))
    way = {"L-8", "P-2", "L-9", "T-1", "L-6", "F-1"}
    assert keys(driven(graph, ["P-2"])) == way
    assert keys(driven(graph, [], main_too=True)) == way
    assert driven(graph, []) == []
