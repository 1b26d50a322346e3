"""Energy by hours: heat, fuel, electricity; sums of the parts; duty shares; every working recomputes."""

from dataclasses import replace

import pytest

from core.calls.energy import StatShares, case_energy, time_share, yearly_energy
from core.files import read
from core.solve import Solver
from core.working import evaluate
from tests.plants.edits import SAMPLES
from tests.support.calling import LOAD_1, LOAD_2, plant_of, two_zones
from tests.support.figures import item_figures

HOUR = 3600.0


def heat_of(case):
    """Heat of all sources, [J]."""
    return sum(float(each.value) for each in case.heat.values())


def taken_of(case):
    """Heat that goes anywhere, [J]."""
    return sum(sum(part.values()) for part in case.taken.values())


def test_heat_fuel_and_electricity_of_a_year_by_hand():
    energy = yearly_energy(plant_of(two_zones()))
    heat = (LOAD_1 + LOAD_2) * 1000.0 * HOUR + LOAD_1 * 3000.0 * HOUR
    assert energy.heat["B-1"].value == pytest.approx(heat, rel=1e-6)
    assert energy.fuel["B-1"].value == pytest.approx(heat / 0.9, rel=1e-6)
    assert energy.electricity["P-1"].value == pytest.approx(80.0 * 4000.0 * HOUR)
    assert energy.electricity["P-2"].value == pytest.approx(120.0 * 1000.0 * HOUR)
    assert (energy.hours, energy.missing) == (4000.0, ())


def test_what_is_missing_is_named_and_not_zero():
    board = two_zones()
    del board.items["P-2"]["props"]["watts"]
    del board.items["B-1"]["props"]["efficiency"]
    del board.cases[1]["hours_per_year"]
    energy = yearly_energy(plant_of(board))
    assert "P-2" not in energy.electricity
    assert "B-1" not in energy.fuel
    assert energy.missing == (
        "hours_per_year of case Mild",
        "efficiency of B-1: its fuel is not known",
        "watts of P-2: its electricity is not known",
    )
    assert energy.hours == 1000.0


def test_fuel_by_rated_input_where_no_efficiency_is_typed():
    board = two_zones()
    props = board.items["B-1"]["props"]
    del props["efficiency"]
    board.items["B-1"]["kind"] = "heater"
    props["fuel_input"] = "25000.0 W"
    energy = yearly_energy(plant_of(board))
    ratio = float(energy.fuel["B-1"].value) / float(energy.heat["B-1"].value)
    assert ratio == pytest.approx(25.0 / 20.0)


def test_what_a_heater_makes_of_electricity_is_no_fuel():
    board = two_zones()
    props = board.items["B-1"]["props"]
    props["watts"] = "25 kW"  # its 20 kW at 0.9, and some
    energy = yearly_energy(plant_of(board))
    heat = float(energy.heat["B-1"].value)
    assert "B-1" not in energy.fuel
    assert energy.electricity["B-1"].value == pytest.approx(heat / 0.9, rel=1e-6)
    props["watts"] = "90 W"  # a burner's fan
    assert float(yearly_energy(plant_of(board)).fuel["B-1"].value) == pytest.approx(heat / 0.9, rel=1e-6)


@pytest.mark.parametrize("path", sorted(SAMPLES.glob("*.plant.json")), ids=lambda path: path.name)
def test_the_sum_of_the_parts_equals_the_whole(path):
    energy = yearly_energy(read.load(path))
    for case in energy.cases:
        passed = sum(abs(value) for part in case.taken.values() for value in part.values())
        assert heat_of(case) == pytest.approx(taken_of(case), rel=1e-5, abs=1e3 + 1e-5 * passed)
    for sums, name in ((energy.heat, "heat"), (energy.fuel, "fuel"), (energy.electricity, "electricity")):
        for key, total in sums.items():
            parts = sum(float(getattr(case, name)[key].value) for case in energy.cases)
            assert float(total.value) == pytest.approx(parts, rel=1e-9, abs=1e-6)
            for _, part in total.walk():
                if part.formula:
                    assert evaluate(part) == pytest.approx(float(part.value), rel=1e-6, abs=1e-6)


def test_a_room_at_its_temperature_takes_heat_for_its_share_of_the_time():
    """The solver's duty share weighs the circuit, its circulator and the source alike."""
    board = two_zones(capacity=60e3)
    board.items["LD-1"]["kind"] = "radiator"
    board.items["LD-1"]["props"] = {"ua": "300.0 W/K", "room_temperature": "20 degC", "serves": "R-1"}
    board.item("R-1", "room", loss="100.0 W/K", wanted="20 degC")
    board.items["TH-1"]["props"] = {"senses": ["R-1"]}
    plant = plant_of(board)
    case = plant.cases[0]
    solution = Solver(plant).solve(case)
    items = {**solution.items, "R-1": item_figures("room", temperature_c=20.0, duty_share=0.4)}
    held = case_energy(plant, case, replace(solution, items=items))
    given = solution.items["LD-1"].delivered_w
    assert held.heat["B-1"].value == pytest.approx((0.4 * given + LOAD_2) * 1000.0 * HOUR, rel=1e-5)
    assert heat_of(held) == pytest.approx(taken_of(held), rel=1e-5)
    assert held.electricity["P-1"].value == pytest.approx(0.4 * 80.0 * 1000.0 * HOUR)
    assert held.electricity["P-2"].value == pytest.approx(120.0 * 1000.0 * HOUR)


def test_share_of_the_time_an_expression_holds():
    on = {"A": True, "B": True, "C": True}
    shares = StatShares({"A": 0.5, "B": 0.4})
    assert time_share({"all": ["A", "B"]}, on, shares) == pytest.approx(0.2)
    assert time_share({"any": ["A", {"not": "B"}]}, on, shares) == pytest.approx(0.8)
    assert time_share({"any": ["A", "C"]}, on, shares) == pytest.approx(1.0)
    assert time_share(None, on, shares) == 1.0
    assert time_share(False, on, shares) == 0.0
