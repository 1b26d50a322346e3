"""Things typed in a row: new ones, ones that are there, ports by name; what that makes is piped as meant."""

from __future__ import annotations

import pytest

from app.document import empty_plant
from core.diagram.in_a_row import in_a_row
from core.errors import Refusal
from core.plant.model import Plant, PortRef
from core.plant.validity import check


def laid(*rows: str) -> Plant:
    plant = empty_plant()
    for row in rows:
        plant = in_a_row(plant, row, (300.0, 300.0))[0].plant
    assert not check(plant)
    return plant


def ends(plant: Plant) -> set[tuple[PortRef, PortRef]]:
    return {(pipe.start, pipe.end) for pipe in plant.pipes.values()}


def test_a_ring_is_typed_in_one_line() -> None:
    plant = laid("boiler > pump > floor circuit > B-1")
    assert ends(plant) == {
        (PortRef("B-1", "out"), PortRef("P-1", "in")),
        (PortRef("P-1", "out"), PortRef("FC-1", "in")),
        (PortRef("FC-1", "out"), PortRef("B-1", "in")),
    }


def test_a_port_that_is_taken_is_teed_into() -> None:
    plant = laid(
        "boiler > pump > floor circuit > B-1", "B-1 > pump > radiator > B-1", "FC-1 > expansion tank"
    )
    joints = [item for item in plant.items.values() if item.kind == "joint"]
    assert len(joints) == 3
    assert all(len(plant.pipes_at[PortRef(joint.id, "at")]) == 3 for joint in joints)
    assert {pipe.system for pipe in plant.pipes.values()} == {"heating"}


def test_ports_are_named_and_drinking_water_is_known_by_main_and_tap() -> None:
    plant = laid("storage tank > circulator > T-1 supply")
    assert {pipe.system for pipe in plant.pipes.values()} == {"heating"}, "nothing tells yet"
    plant = in_a_row(plant, "cold supply > T-1 cold", (300.0, 300.0))[0].plant
    assert {pipe.system for pipe in plant.pipes.values()} == {"potable"}


def test_a_boiler_joined_to_drinking_water_is_not_talked_away() -> None:
    plant = laid("boiler > pump > B-1", "cold supply > P-1")
    assert "heating" in {pipe.system for pipe in plant.pipes.values()}


@pytest.mark.parametrize("row", ["boiler > frobnicator", "boiler >", "> pump", "boiler > P-9 in"])
def test_words_that_name_nothing_are_refused(row: str) -> None:
    with pytest.raises(Refusal):
        in_a_row(empty_plant(), row, (0.0, 0.0))


def test_closed_water_goes_through_the_coil_of_a_tank_and_drinking_water_through_its_taps() -> None:
    plant = laid("boiler > pump > coil tank > B-1", "cold supply > CT-1", "CT-1 > fixture", "CT-1 > fixture")
    systems = {pipe.id: pipe.system for pipe in plant.pipes.values()}
    at_port = {
        port: [systems[one] for one in plant.pipes_at[PortRef("CT-1", port)]] for port in ("hot", "cold")
    }
    assert at_port == {"hot": ["potable"], "cold": ["potable"]}, "a second tap is teed into the hot pipe"
    coil = [plant.pipes_at[PortRef("CT-1", port)] for port in ("coil_in", "coil_out")]
    assert [systems[name] for (name,) in coil] == ["heating", "heating"]
    assert {systems[name] for name in plant.pipes_at[PortRef("F-2", "hot")]} == {"potable"}


def test_a_second_circuit_of_a_buffer_is_teed_in_on_the_side_of_the_first() -> None:
    plant = laid(
        "heat pump > pump > buffer > HP-1", "BT-1 > pump > radiator > BT-1", "BT-1 > pump > radiator > BT-1"
    )
    (source,) = plant.pipes_at[PortRef("BT-1", "a_out")]
    (supply,) = plant.pipes_at[PortRef("BT-1", "b_out")]
    assert {plant.pipes[source].start.item, plant.pipes[source].end.item} == {"BT-1", "HP-1"}
    ends_of = {plant.pipes[supply].start.item, plant.pipes[supply].end.item}
    (joint,) = ends_of - {"BT-1"}
    assert plant.items[joint].kind == "joint"
