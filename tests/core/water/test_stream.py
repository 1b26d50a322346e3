"""Upstream, downstream and rounds with given flows, on plants where they can be followed by finger."""

import pytest

from core.plant.model import PortRef
from core.water.stream import Stream
from core.water.ways import water_graph
from tests.core.water.test_shut_off import plant_of


@pytest.fixture
def plant():
    """A boiler circuit and an emitter circuit that meet in a separator; a dead leg with a gauge."""
    kinds = [
        *(("B", "boiler"), ("P", "circulator"), ("HS", "separator"), ("Q", "circulator"), ("A", "radiator")),
        *(("J", "joint"), ("PG", "gauge")),
    ]
    lines = [
        *("B.out > P.in", "P.out > HS.a_in", "HS.a_out > B.in"),
        *("HS.b_out > Q.in", "Q.out > A.in", "A.out > J", "J > HS.b_in", "J > PG"),
    ]
    return plant_of(kinds, lines)


def stream(plant, boiler, emitter):
    flows = dict.fromkeys(("L-1", "L-2", "L-3"), boiler) | dict.fromkeys(
        ("L-4", "L-5", "L-6", "L-7"), emitter
    )
    return Stream(water_graph(plant), flows)


def cross(found):
    return next(flow for way, flow in found.flow.items() if way.part == "cross")


@pytest.mark.parametrize(("boiler", "emitter", "down"), [(3e-4, 2e-4, 1e-4), (1e-4, 4e-4, -3e-4)])
def test_the_difference_crosses_a_separator(plant, boiler, emitter, down):
    assert cross(stream(plant, boiler, emitter)) == pytest.approx(down)


def test_swelling_alone_is_no_cross_flow(plant):
    assert cross(stream(plant, 2.03e-4, 2.0e-4)) == 0.0


def test_downstream_and_upstream(plant):
    less = stream(plant, 3e-4, 2e-4)  # some water goes round the boiler alone, none round the emitter alone
    down = {place.item for place in less.downstream(PortRef("A", "out"))}
    assert down == {"A", "J", "HS", "B", "P", "Q"}
    up = less.upstream(PortRef("Q", "in"))
    assert PortRef("HS", "b_in") in up  # through the boiler


def test_a_circuit_ends_at_the_separator(plant):
    found = stream(plant, 3e-4, 2e-4)
    assert found.circuit("P") == ["B", "P", "HS", "L-1", "L-2", "L-3"]
    assert found.circuit("L-6") == ["HS", "Q", "A", "L-4", "L-5", "L-6", "L-7"]
    assert found.circuit("PG") == []
    assert stream(plant, 0.0, 2e-4).circuit("P") == []


def test_water_that_turned_round_is_followed_the_way_it_runs(plant):
    back = stream(plant, -3e-4, 0.0)
    assert back.downstream(PortRef("B", "in"))[:2] == [PortRef("B", "in"), PortRef("HS", "a_out")]


def test_what_stands(plant):
    assert stream(plant, 3e-4, 0.0).standing() == ["L-4", "L-5", "L-6", "L-7", "L-8"]
    assert stream(plant, 3e-4, 9e-10).standing() == ["L-4", "L-5", "L-6", "L-7", "L-8"]
    assert stream(plant, 3e-4, 2e-9).standing() == ["L-8"]


def test_one_tap_draws_through_the_tank():
    kinds = [("CM", "cold_main"), ("T", "tank"), ("F", "fixture"), ("G", "fixture"), ("J", "joint")]
    plant = plant_of(kinds, ["CM > T.cold", "T.hot > J", "J > F.hot", "J > G.hot"])
    found = Stream(water_graph(plant), {"L-1": 1e-4, "L-2": 1e-4, "L-3": 1e-4})
    assert {place.item for place in found.upstream(PortRef("F", "hot"))} == {"F", "J", "T", "CM"}
    assert {place.item for place in found.downstream(PortRef("CM", "at"))} == {"F", "J", "T", "CM"}
    assert found.standing() == ["L-4"]
