"""One heater fewer: which units stand side by side, which cases the rest carries, and for how many hours."""

import pytest

from core.calls.one_unit_out import groups_of, one_unit_out
from core.working import evaluate
from tests.support.builders import Board, c, w
from tests.support.calling import plant_of


def side_by_side(**props) -> Board:
    """Two boilers of 10 and 8 kW in parallel, loads of 15 kW by day and 7 kW by night."""
    board = Board()
    for joint in ("J-1", "J-2"):
        board.item(joint, "joint")
    for name, most in (("B-1", 10e3), ("B-2", 8e3)):
        board.item(name, "boiler", capacity=w(most), set_temperature=c(60.0), **props)
        board.resistance(f"S{name}", 0.5e-3, 20e3)
        board.chain("J-2", f"S{name}", name, "J-1")
    board.pump("P-1", 60e3, 2e-3)
    board.item("LD-1", "load", load=w(7e3))
    board.item("LD-2", "load", load=w(8e3))
    board.item("ZV-1", "zone_valve", run_when="SW-1")
    board.item("SW-1", "switch")
    board.item("J-3", "joint")
    board.item("J-4", "joint")
    board.chain("J-1", "P-1", "J-3")
    board.chain("J-3", "LD-1", "J-4")
    board.chain("J-3", "ZV-1", "LD-2", "J-4", "J-2")
    board.case("Day", signals={"SW-1": True}, hours_per_year=500)
    board.case("Night", signals={"SW-1": False}, hours_per_year=1500)
    return board


def test_the_share_of_the_hours_that_one_fewer_carries():
    (group,) = one_unit_out(plant_of(side_by_side()))
    assert (group.units, group.without) == (("B-1", "B-2"), "B-1")
    day, night = group.cases
    assert (day.carries, night.carries) == (False, True)
    assert (day.capacity_fewer, day.heat_fewer) == (8e3, pytest.approx(8e3, rel=1e-4))
    assert day.short_fewer == pytest.approx(7e3, rel=1e-3)
    assert night.heat_fewer == pytest.approx(7e3, rel=1e-6)
    assert group.share is not None
    assert group.share.value == pytest.approx(0.75)
    assert evaluate(group.share) == pytest.approx(0.75)


def test_without_hours_there_is_no_share():
    board = side_by_side()
    for case in board.cases:
        del case["hours_per_year"]
    (group,) = one_unit_out(plant_of(board))
    assert group.share is None
    assert [case.carries for case in group.cases] == [False, True]


def test_only_units_side_by_side_make_a_group():
    assert groups_of(plant_of(side_by_side())) == (("B-1", "B-2"),)
    series = Board()
    series.drive()
    for name in ("B-1", "B-2"):
        series.item(name, "boiler", capacity=w(5e3), set_temperature=c(60.0))
    series.item("LD-1", "load", load=w(1e3))
    series.ring("B-1", "B-2", "P-1", "S-1", "LD-1")
    assert groups_of(plant_of(series)) == ()
    apart = side_by_side()
    apart.items["B-2"]["props"]["run_when"] = "SW-1"
    assert groups_of(plant_of(apart)) == ()
