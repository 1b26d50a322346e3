"""The call sheet: who runs, who is short, what is worst, and that the heat of every combination adds up."""

from dataclasses import replace

import pytest

from core.calls.called import Reach
from core.calls.combinations import calls_of
from core.calls.duty import duty_share
from core.calls.heat_balance import heat_balance
from core.calls.sheet import call_sheet
from core.files import read
from tests.plants.edits import SAMPLES
from tests.support.builders import Board, c, w
from tests.support.calling import LOAD_1, LOAD_2, plant_of, two_zones


def test_rows_tell_who_runs_and_what_each_circuit_gets():
    sheet = call_sheet(plant_of(two_zones()))
    rows = {row.name: row for row in sheet.rows}
    assert sheet.calls == ("TH-1", "TH-2")
    assert list(rows) == ["none", "TH-1", "TH-2", "TH-1 + TH-2"]
    one = rows["TH-1"]
    assert (one.runs["P-1"], one.runs["P-2"], one.runs["B-1"]) == (True, False, True)
    assert one.circuits["LD-1"].delivered == pytest.approx(LOAD_1, rel=1e-6)
    assert (one.circuits["LD-2"].called, one.circuits["LD-2"].wanted) == (False, 0.0)
    assert one.heat == pytest.approx(LOAD_1, rel=1e-6)
    assert one.sources["B-1"].share == pytest.approx(LOAD_1 / 20e3, rel=1e-6)
    assert rows["none"].heat == rows["none"].wanted == 0.0
    both = rows["TH-1 + TH-2"]
    assert both.wanted == LOAD_1 + LOAD_2
    assert both.circulators["P-1"].flow == pytest.approx(0.5e-3, rel=1e-3)


def test_worst_combinations_are_named():
    sheet = call_sheet(plant_of(two_zones(capacity=12e3)))
    worst = {(each.what, each.at): each for each in sheet.worst}
    assert worst["heat", ""].case == worst["short", ""].case == "TH-1 + TH-2"
    assert worst["short", ""].value == pytest.approx(3000.0, rel=1e-3)
    assert worst["heat", ""].value == pytest.approx(12e3, rel=1e-3)
    assert worst["circuit_short", "LD-2"].value == pytest.approx(9000.0 * 0.2, rel=1e-3)
    assert worst["power", ""].value == 200.0
    assert worst["circulator_flow", "P-1"].case == "TH-1"


def test_a_circuit_shut_by_hand_is_called_and_short_of_all():
    board = two_zones()
    board.item("V-1", "shutoff", open=False)
    board.pipes = [p for p in board.pipes if p["from"] != ["S-1", "out"]]
    board.pipe("S-1:out", "V-1:a", "X-1")
    board.pipe("V-1:b", "LD-1:in", "X-2")
    row = {r.name: r for r in call_sheet(plant_of(board)).rows}["TH-1"]
    assert row.circuits["LD-1"].called
    assert row.circuits["LD-1"].short == row.short == LOAD_1


def test_a_branch_without_pump_of_its_own_is_called_by_the_pump_before_it():
    board = Board()
    board.pump("P-1", 60e3, 1e-3, run_when="SW-1")
    board.pump("P-2", 60e3, 1e-3, run_when="SW-2", integral_check=True)
    for joint in ("J-1", "J-2", "J-3", "J-4"):
        board.item(joint, "joint")
    for load in ("LD-1", "LD-2", "LD-3"):
        board.item(load, "load", load=w(1000.0))
    board.item("B-1", "boiler", capacity=w(9e3), set_temperature=c(60.0))
    board.item("SW-1", "switch")
    board.item("SW-2", "switch")
    board.chain("J-2", "B-1", "J-1", "P-1", "J-3")
    board.chain("J-3", "LD-1", "J-4")
    board.chain("J-3", "LD-2", "J-4", "J-2")
    board.chain("J-1", "P-2", "LD-3", "J-2")
    reach = Reach(plant_of(board))
    assert reach.called({"P-1": True, "P-2": False}, set()) == {"LD-1", "LD-2"}
    assert reach.called({"P-1": False, "P-2": True}, set()) == {"LD-3"}
    assert reach.called({"P-1": False, "P-2": False}, set()) == set()
    assert reach.called({"P-1": False, "P-2": False}, {"LD-3"}) == {"LD-3"}


def test_duty_share_of_a_tank_held_by_its_stat():
    """Held tank: charged at 4 kW, losing 0.2 kW: called 5 % of the time."""
    board = Board()
    tank = {"volume": "0.3 m3", "taps": {"in": "1 m", "out": "0.1 m"}, "ua_loss": "5 W/K"}
    board.item("T-1", "tank", **tank)
    board.item("B-1", "boiler", capacity=w(4000.0), set_temperature=c(90.0), run_when="AQ-1")
    board.pump("P-1", 60e3, 1e-3, run_when="AQ-1")
    board.resistance("S-1", 0.5e-3, 30e3)
    board.item("AQ-1", "aquastat", senses=["T-1", "in"], set_temperature=c(60.0), call=True)
    board.chain("B-1", "P-1", "S-1", "T-1:in>out", "B-1")
    board.case("x", tanks={"T-1": c(60.0)})
    rows = {row.name: row for row in call_sheet(plant_of(board)).rows}
    assert rows["AQ-1"].tanks["T-1"] == pytest.approx(4000.0, rel=1e-6)
    assert rows["AQ-1"].duty_shares["T-1"] == pytest.approx(5.0 * 40.0 / 4000.0, rel=1e-6)
    assert rows["none"].duty_shares == {}
    assert duty_share(0.0, 0.0, 10.0) is None
    board.cases.clear()
    board.case("whatever the tank comes to")
    rows = {row.name: row for row in call_sheet(plant_of(board)).rows}
    assert rows["AQ-1"].duty_shares == {}


@pytest.mark.parametrize("path", sorted(SAMPLES.glob("*.plant.json")), ids=lambda path: path.name)
def test_the_heat_of_every_combination_adds_up(path):
    plant = with_fewer_calls(read.load(path))
    sheet = call_sheet(plant)
    assert len(sheet.rows) == 2 ** len(sheet.calls)
    for row in sheet.rows:
        book = heat_balance(plant, row.solution)
        assert abs(book.over) < 1e-5 * max(book.given, 1e3), row.name
        assert row.delivered + row.short == pytest.approx(
            sum(max(r.wanted, r.delivered) for r in row.circuits.values() if r.called), rel=0.01
        )


def with_fewer_calls(plant, most=4):
    """A sample with the calls past the first few taken as given: sixteen combinations tell enough."""
    items = dict(plant.items)
    for key in calls_of(plant)[most:]:
        items[key] = replace(items[key], props={**items[key].props, "call": False})
    return replace(plant, items=items)


def test_data_is_plain_and_finite():
    import json

    data = call_sheet(plant_of(two_zones())).as_data()
    text = json.dumps(data, allow_nan=False)
    assert json.loads(text)["combinations"][3]["circuits"]["LD-2"]["wanted_w"] == LOAD_2


@pytest.mark.parametrize(("ua", "at_limit"), [(150.0, False), (900.0, True)])
def test_what_a_heat_pump_can_give_is_known_at_its_limit_only(ua, at_limit):
    """Rows of 8 kW at every supply temperature; no capacity is typed."""
    board = Board()
    rows = [[c(-10.0), c(supply), w(8000.0), w(3000.0)] for supply in (20.0, 35.0, 55.0)]
    board.item("HP-1", "heat_pump", table=rows, set_temperature=c(40.0), run_when="TH-1")
    board.item("TH-1", "thermostat")
    board.pump("P-1", 60e3, 1e-3, run_when="TH-1")
    board.resistance("S-1", 0.5e-3, 30e3)
    board.item("RA-1", "radiator", ua=f"{ua} W/K")
    board.ring("HP-1", "P-1", "S-1", "RA-1")
    board.case("x", outdoor=c(-10.0))
    found = {row.name: row for row in call_sheet(plant_of(board)).rows}["TH-1"].sources["HP-1"]
    assert found.capacity == (pytest.approx(8000.0, rel=1e-4) if at_limit else None)
    assert (found.duty < 7900.0) is not at_limit
