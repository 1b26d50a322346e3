"""Ways of the water by what a kind declares, held against its groups of ports and the ways of the solver."""

import pytest

from core.hydraulics.network import build
from core.plant.model import Item, Plant, PortRef
from core.vocabulary import KINDS, Trait, joined_ports, ports_of
from core.water.connections import bodies
from core.water.ways import water_graph, ways_inside

WET = [name for name, kind in KINDS.items() if ports_of(name, {})]


def alone(kind, **props):
    return Plant(items={"X-1": Item("X-1", kind, (0.0, 0.0), props=props)})


@pytest.mark.parametrize("kind", WET)
def test_bodies_inside_an_item_are_the_groups_its_kind_declares(kind):
    plant = alone(kind)
    own = set(ports_of(kind, {}))
    found = [{place.port for place in body} & own for body in bodies(water_graph(plant))]
    assert sorted(map(sorted, filter(None, found))) == sorted(map(sorted, joined_ports(kind, {})))


@pytest.mark.parametrize("kind", WET)
def test_one_way_parts_are_those_of_the_solver(kind):
    plant = alone(kind)
    net = build(plant)
    names = {node: at[1] for at, node in net.drawing.nodes.items()}

    def places(start, end):
        return tuple("air" if port.startswith("air") else port for port in (start, end))

    solved = {places(names[e.start], names[e.end]): e.one_way for e in net.elements}
    drawn = {places(way.start.port, way.end.port): way.one_way for way in ways_inside(plant.items["X-1"])}
    turned = {(end, start): one_way for (start, end), one_way in drawn.items()}
    for ends, one_way in solved.items():
        assert drawn.get(ends, turned.get(ends)) == one_way, ends
    assert len(solved) == len(drawn)


@pytest.mark.parametrize("kind", WET)
def test_what_is_true_of_ways_is_what_the_kind_declares(kind):
    item = alone(kind).items["X-1"]
    for way in ways_inside(item):
        assert way.drives == item.has(Trait.DRIVES)
        assert way.hand_valve == item.has(Trait.HAND_VALVE)
        assert way.by_signal == item.has(Trait.OPENS_BY_SIGNAL)
        assert way.parts == item.has(Trait.PARTS_BODIES)


def test_hose_ports_are_shut_and_valves_open_unless_drawn_otherwise():
    def stands(kind, **props):
        return {way.part: way.stands_open for way in ways_inside(alone(kind, **props).items["X-1"])}

    assert stands("shutoff") == {"": True}
    assert stands("shutoff", open=False) == {"": False}
    assert stands("service_valve") == {"": True, "hose": False}
    assert stands("purge_set", drain_open=True, open=False) == {"": False, "drain": True}
    assert stands("spacer", blind=True) == {"": False}


def test_a_check_valve_that_failed_lets_water_back():
    item = Item("X-1", "check_valve", (0.0, 0.0), out_of_service=True)
    assert [way.one_way for way in ways_inside(item)] == [False]


@pytest.mark.parametrize(
    ("kind", "hot", "cold"), [("exchanger", "a_in", "b_in"), ("coil_tank", "coil_in", "*")]
)
def test_walls(kind, hot, cold):
    (wall,) = water_graph(alone(kind)).walls
    assert (wall.one, wall.other) == (PortRef("X-1", hot), PortRef("X-1", cold))
