"""Whoever reads properties beside the figures of a case reads them as that case sets them."""

import pytest

from core.calls.energy import case_energy
from core.calls.part_load import part_load
from core.calls.rows import call_row
from core.derivation import of_item
from core.diagram.annotations import item_text
from core.files import read
from core.sizing.context import Context
from core.sizing.demand.fixtures import open_outlets
from core.sizing.second_circulator.study import Bench
from core.solve.solver import solve_case
from tests.support.builders import Board, constant_fluid

SETS = {
    "HX-1": {"ua": "900 W/K"},
    "B-1": {"capacity": "9 kW", "efficiency": 0.5},
    "P-1": {"watts": "40 W"},
    "ET-1": {"precharge": "200 kPa"},
}


@pytest.fixture(scope="module")
def plant():
    """A boiler, an exchanger and a radiator; the first case sets what the file says otherwise."""
    board = Board()
    board.drive()
    board.item("B-1", "boiler", capacity="200 kW", set_temperature="70 degC", efficiency=0.9)
    board.item("HX-1", "exchanger", ua="3000 W/K")
    board.items["P-1"]["props"]["watts"] = "90 W"
    board.ring("P-1", "S-1", "B-1", "HX-1:a_in>a_out")
    board.body("second", constant_fluid())
    board.drive("P-2", "S-2")
    board.item("RA-1", "radiator", ua="400 W/K", room_temperature="20 degC")
    board.item("ET-1", "expansion_tank", volume="20 L", precharge="100 kPa")
    board.ring("P-2", "S-2", "HX-1:b_in>b_out", "RA-1")
    board.case("Otherwise", set=SETS, hours_per_year=100)
    board.case("As drawn", hours_per_year=100)
    return read.from_data(board.data())


@pytest.fixture(scope="module")
def solved(plant):
    return {case.name: solve_case(plant, case) for case in plant.cases}


@pytest.mark.parametrize("name", ["Otherwise", "As drawn"])
def test_the_working_of_a_duty_comes_to_the_solved_one(plant, solved, name):
    working = of_item(plant, solved[name], "HX-1", "duty_w")
    assert working.value == pytest.approx(solved[name].items["HX-1"].duty_w, rel=1e-3)


def test_the_call_sheet_counts_a_source_by_its_capacity_in_that_case(plant, solved):
    loads = [call_row(plant, case, solved[case.name], ()).sources["B-1"].capacity for case in plant.cases]
    assert loads == pytest.approx([9e3, 200e3])


def test_energy_counts_watts_and_efficiency_of_that_case(plant, solved):
    otherwise, drawn = (case_energy(plant, case, solved[case.name]) for case in plant.cases)
    for energy, share, watts in ((otherwise, 0.5, 40.0), (drawn, 0.9, 90.0)):
        heat, fuel = (float(part["B-1"].value) for part in (energy.heat, energy.fuel))
        assert heat == pytest.approx(share * fuel)
        assert float(energy.electricity["P-1"].value) == pytest.approx(watts * 3600.0 * 100.0)


def test_part_load_starts_from_the_plant_of_its_case(plant, solved):
    case = plant.cases[0]
    whole = part_load(plant, "P-2", case, shares=(1.0,)).points[0]
    assert whole.delivered == pytest.approx(solved[case.name].items["RA-1"].delivered_w, rel=1e-3)


def test_the_board_shows_a_setting_as_the_case_sets_it(plant, solved):
    item = plant.items["ET-1"]
    assert "200 kPa" in item_text(plant, item, solved["Otherwise"], "si")[1]
    assert "100 kPa" in item_text(plant, item, solved["As drawn"], "si")[1]


def test_a_second_pump_is_tried_in_the_plant_of_the_case(plant):
    bench = Bench(plant, plant.cases[0])
    assert bench.context.plant.items["P-1"].si["watts"] == 40.0
    assert bench.plant is plant


def test_open_outlets_keep_what_the_first_case_sets():
    board = Board().body("drinking", use="potable")
    board.item("CM-1", "cold_main", pressure="3 bar")
    board.item("V-1", "shutoff", cv=5.0)
    board.item("F-1", "fixture", flow="0.2 L/s")
    board.chain("CM-1", "V-1")
    board.pipe("V-1:b", "F-1:cold")
    board.case("Frost", set={"V-1": {"open": False}})
    solution = open_outlets(Context(read.from_data(board.data())), False)
    assert solution.items["F-1"].flow_m3_s == pytest.approx(0.0, abs=1e-9)
