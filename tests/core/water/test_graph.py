"""The plant as a graph, on the small plant where bodies, loops and dead ends can be counted by hand."""

import pytest

from core.files import read
from core.plant.model import PortRef
from core.water import graph as topology
from tests.support.small_plant import small


@pytest.fixture
def plant():
    return read.from_data(small())


def test_bodies_of_water(plant):
    bodies = topology.bodies(plant)
    pipes = [topology.body_pipes(plant, body) for body in bodies]
    # the floor, the tank with its fixture's hot port and, through the fixture, its cold one
    assert [one for one in pipes if one] == [["L-1", "L-2", "L-3", "L-4", "L-5"], ["L-6"]]
    assert len(bodies) == 2


def test_an_exchanger_parts_bodies(plant):
    data = small()
    tube = {"bore": "20 mm"}
    data["items"].append({"id": "HX-1", "kind": "exchanger", "at": [0, 0]})
    data["pipes"].append(
        {
            "id": "L-9",
            "from": ["J-1", "at"],
            "to": ["HX-1", "a_in"],
            "system": "floor",
            "tube": tube,
            "length": "1 m",
        }
    )
    bodies = topology.bodies(read.from_data(data))
    floor = next(body for body in bodies if PortRef("HX-1", "a_in") in body)
    assert PortRef("HX-1", "a_out") in floor
    assert PortRef("B-1", "in") in floor
    assert PortRef("HX-1", "b_in") not in floor


def test_the_one_loop(plant):
    (loop,) = topology.loops(plant)
    assert set(loop) == {"B-1", "L-1", "P-1", "L-2", "L-4", "FC-1", "L-5"}


def test_a_forest_reaches_every_port_once(plant):
    tree = topology.spanning_tree(plant)
    whole = topology.graph(plant)
    assert set(tree) == set(whole)
    assert tree.number_of_edges() == whole.number_of_nodes() - len(topology.bodies(plant))


def test_what_cannot_go_round(plant):
    assert topology.bridges(plant) == ["L-3", "L-6"]
    assert topology.bridges(plant, lambda name: name != "P-1") == [f"L-{n}" for n in range(1, 7)]


def test_what_is_cut_off(plant):
    def shut(name):
        return name not in ("P-1", "FC-1")

    assert topology.cut_off(plant, shut, [PortRef("B-1", "out")]) == ["L-2", "L-3", "L-4", "L-6"]
    assert topology.cut_off(plant, lambda name: True, [PortRef("B-1", "out")]) == ["L-6"]


def test_what_is_to_be_removed_is_left_out(plant):
    data = small()
    data["pipes"][4]["stage"] = "to_remove"
    assert topology.loops(read.from_data(data)) == []


def test_open_ports(plant):
    assert topology.open_ports(plant) == [PortRef("T-1", "cold"), PortRef("F-1", "cold")]
