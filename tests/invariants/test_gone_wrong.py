"""Plants whose answers were once false, missing or refused: one test each, named after the symptom."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from core.files.read import load
from core.solve import solve_case
from tests.support.builders import Solved
from tests.support.heat_laws import HeatLaws
from tests.support.standing_alone import not_alone

FOLDER = Path(__file__).parent / "gone_wrong"


def data_of(name: str) -> dict[str, Any]:
    return dict(json.loads((FOLDER / f"{name}.plant.json").read_text("utf-8")))


def solved(name: str, case: int = 0) -> Solved:
    plant = load(FOLDER / f"{name}.plant.json")
    return Solved(solve_case(plant, plant.solve_cases[case]))


def lawful(name: str) -> Solved:
    """The first case, settled and by the laws of heat."""
    data, got = data_of(name), solved(name)
    assert got.converged, got.notes
    for pipe in data["pipes"]:
        assert -30.0 < got.warm(pipe["id"]) < 110.0, pipe["id"]
    return got


def within(got: Solved, **capacities: float) -> None:
    for source, most in capacities.items():
        assert -0.5 <= got.items[source]["duty_w"] <= most * 1.0001


def test_two_boilers_in_series_serve_their_load_within_capacity() -> None:
    got = lawful("series-boilers-with-load")
    within(got, B1=15e3, B2=15e3)
    assert got.items["B1"]["temperature_c"] <= max(60.0, got.warm("L0")) + 0.01
    assert got.items["B2"]["temperature_c"] == pytest.approx(65.0, abs=0.01)
    assert got.items["LD"]["delivered_w"] == pytest.approx(3000.0, rel=1e-3)


def test_no_outlet_of_fifteen_thousand_million_degrees() -> None:
    got = lawful("fifteen-thousand-million-degrees")
    within(got, B1=15e3, B2=15e3)
    assert got.items["LD"]["delivered_w"] == pytest.approx(12e3, rel=1e-3)


def test_parallel_boilers_keep_within_their_own_capacities() -> None:
    got = lawful("parallel-over-capacity")
    within(got, B1=21e3, B2=11e3)
    sums = got.items["LD"]["delivered_w"] + got.items["R"]["delivered_w"]
    assert got.items["B1"]["duty_w"] + got.items["B2"]["duty_w"] == pytest.approx(sums, rel=1e-3)


def test_identical_cases_get_identical_answers() -> None:
    got = lawful("identical-cases")
    assert got.items["LD-1"]["delivered_w"] == pytest.approx(10.3e3, rel=1e-3)
    assert not not_alone(data_of("identical-cases"))


def test_no_heat_out_of_water_below_its_least_temperature() -> None:
    got = lawful("heat-out-of-nothing")
    got_w, carried = got.items["R-1"]["delivered_w"], got.flow("L-23") * 990.0 * 4180.0
    assert got_w <= abs(carried) * 26.0 + 1.0  # 45.59 degC down to the room's 20 degC
    assert got.items["R-1"]["short_w"] == pytest.approx(7290.0 - got_w, abs=1.0)


def test_a_small_load_behind_a_mixing_valve_settles() -> None:
    got = lawful("mixed-small-load-not-settled")
    assert got.items["MV"]["temperature_c"] == pytest.approx(35.0, abs=0.05)
    assert got.items["LD"]["delivered_w"] == pytest.approx(3000.0, rel=1e-3)


@pytest.mark.parametrize("number", [1, 2, 3, 4])
def test_a_floor_behind_a_mixing_valve_settles(number: int) -> None:
    got = lawful(f"floor-behind-mixing-valve-{number}")
    source, floor = got.items["B-1"], got.items["FC-1"]
    # By the contract plain loads get nothing while not even so the only source reaches its set point.
    assert floor["delivered_w"] > 0.0 or source["short_w"] > 0.0


def test_a_delta_t_circulator_that_drives_nothing_does_not_crash() -> None:
    assert solved("crash-delta-t").converged


def test_a_draw_past_a_circulator_without_way_back_does_not_crash() -> None:
    for case in range(3):
        got = solved("draw-without-way-back", case)
        assert got.converged
        assert got.noted("P", "way back")


def test_the_loss_of_a_throttling_heater_stands_on_the_heater() -> None:
    """Every pipe's drop is what friction makes: all pipes of this plant lose less than a tenth of a bar."""
    got = lawful("pressure-jump")
    assert got.noted("H-1", "throttles its water")
    for pipe in got.pipes.values():
        assert abs(pipe["pressure_in_pa"] - pipe["pressure_out_pa"] - pipe["drop_pa"]) < 1.0


def test_a_heater_behind_a_shut_valve_is_not_called_short_of_flow_it_has() -> None:
    got = solved("heater-off-though-flow")
    assert got.converged
    for at, text in got.notes:
        assert at != "H-1" or "0.506" not in text, text
    assert got.noted("H-1", "MV-1 is shut to its hot side")


def test_drinking_water_that_freezes_is_said_without_advice_of_a_mixture() -> None:
    got = solved("drinking-water-freezes")
    assert any("freez" in text for _, text in got.notes)
    assert not any("mixture" in text for _, text in got.notes)


def test_a_floor_in_mild_weather_wants_what_its_room_needs() -> None:
    """Room: 200 Btu/h/degF times (68 - 45) degF is 1348 W."""
    got = solved("floors-in-mild-weather", 1)
    assert got.converged
    for floor in ("FA", "FB"):
        assert got.items[floor]["wanted_w"] == pytest.approx(1348.1, rel=1e-3)
        assert got.items[floor]["short_w"] == pytest.approx(0.0, abs=1.0)


def test_a_loop_held_by_an_aquastat_cycles_about_the_middle_of_its_band() -> None:
    """Band 85 to 95 degF: the sensed water stands at 90 degF, the boiler at a share, room near 74 degF."""
    got = solved("aquastat-held-loop", 1)
    assert got.converged
    assert got.items["AQ"]["temperature_c"] == pytest.approx(32.22, abs=0.05)
    assert 0.0 < got.items["AQ"]["duty_share"] < 1.0
    assert got.items["RA"]["temperature_c"] == pytest.approx(23.3, abs=1.0)


def test_a_charging_circulator_is_solved_with_both_heaters_alike() -> None:
    got = lawful("tank-charging-pump")
    assert got.items["H1"]["duty_w"] == pytest.approx(got.items["H2"]["duty_w"], rel=1e-6)


def test_two_floors_on_their_design_day_keep_the_laws_of_heat() -> None:
    """Catalogue tubes have no written bore, so the pressure laws are left out."""
    data = data_of("floors-in-mild-weather")
    laws = HeatLaws(data, solved("floors-in-mild-weather"), data["cases"][0])
    assert not [*laws.temperatures(), *laws.exchangers(), *laws.cuts()]
