"""Readings: planted faults are named, a plant as drawn is left in peace, what looks alike is said to."""

from __future__ import annotations

import json
import random

import pytest

from core.commands import main
from core.files.read import from_data
from core.files.write import dumps
from core.plant.model import Plant
from core.readings.faults import CV, SPEED, UA, Suspect, with_fault
from core.readings.fit import Fit, fit
from core.readings.measured import Reading, readings_of, shown
from core.solve.solver import Solver
from tests.support.builders import Board, flow, w

# What is read: two standard deviations are 2 % of a gauge of 400 kPa, 0.5 K, 5 % of a flow.
PLACES = [
    *(
        ("boiler out", "temperature"),
        ("P-1 in", "pressure"),
        ("P-1 out", "pressure"),
        ("HX a in", "pressure"),
    ),
    *(
        ("HX a out", "temperature"),
        ("HX b out", "temperature"),
        ("P-2 in", "pressure"),
        ("P-2 out", "pressure"),
    ),
    *(("return", "temperature"), ("R-1 in", "flow"), ("R-2 in", "flow"), ("boiler in", "flow")),
]


def boiler_exchanger_two_radiators() -> Plant:
    board = Board()
    board.item("B-1", "boiler", capacity=w(60e3), set_temperature="70 degC")
    board.pump("P-1", 60e3, 1.6e-3)
    board.item("V-1", "shutoff", cv=9.0)
    board.item("HX-1", "exchanger", ua="2500 W/K")
    board.item("ET-1", "expansion_tank", volume="20 L", precharge="100 kPa")
    board.item("J-1", "joint")
    board.resistance("S-1", 0.8e-3, 12e3)
    loop = [("B-1", "B-1:out", "S-1:in", "boiler out"), ("S-1", "S-1:out", "J-1:at", "after S-1")]
    loop += [("J", "J-1:at", "P-1:in", "P-1 in"), ("P", "P-1:out", "V-1:a", "P-1 out")]
    loop += [("V", "V-1:b", "HX-1:a_in", "HX a in"), ("H", "HX-1:a_out", "B-1:in", "HX a out")]
    for _, start, end, name in loop:
        board.pipe(start, end, name.replace(" ", "-"))
    board.pipe("J-1:at", "ET-1:at", "to-tank")
    board.body("floor")
    board.pump("P-2", 50e3, 1.5e-3)
    for joint in ("J-2", "J-3", "J-4"):
        board.item(joint, "joint")
    board.item("ET-2", "expansion_tank", volume="20 L", precharge="100 kPa")
    board.resistance("S-2", 0.8e-3, 10e3)
    board.pipe("HX-1:b_out", "S-2:in", "HX-b-out")
    board.pipe("S-2:out", "J-4:at", "after-S-2")
    board.pipe("J-4:at", "P-2:in", "P-2-in")
    board.pipe("J-4:at", "ET-2:at", "to-tank-2")
    board.pipe("P-2:out", "J-2:at", "P-2-out")
    for k, cv in ((1, 2.5), (2, 2.0)):
        board.item(f"BV-{k}", "balance_valve", cv=cv)
        board.item(f"R-{k}", "radiator", ua="500 W/K", drops=[[flow(0.4e-3), "8 kPa"]])
        board.pipe("J-2:at", f"BV-{k}:a", f"R-{k}-in")
        board.pipe(f"BV-{k}:b", f"R-{k}:in", f"after-BV-{k}")
        board.pipe(f"R-{k}:out", "J-3:at", f"R-{k}-out")
    board.pipe("J-3:at", "HX-1:b_in", "return")
    return from_data(board.case("night").data())


PLANT = boiler_exchanger_two_radiators()


def read_with_noise(truth: Plant, rng: random.Random) -> list[Reading]:
    solution = Solver(truth).solve(truth.solve_cases[0])
    assert solution.converged
    found = []
    for k, (place, what) in enumerate(PLACES):
        at = place.replace(" ", "-")
        at = "HX-a-out" if at == "boiler-in" else at
        value = shown(truth, solution, at, what)
        assert value is not None
        error = {"temperature": 0.5, "pressure": 8e3, "flow": 0.05 * value}[what]
        found.append(Reading(k, at, what, value + rng.gauss(0.0, error / 2.0), error, "night"))
    return found


def fitted(fault: Suspect | None, factor: float, seed: int) -> Fit:
    truth = PLANT if fault is None else with_fault(PLANT, fault, factor)
    return fit(PLANT, read_with_noise(truth, random.Random(seed)))


FAULTS = [
    (Suspect("HX-1", UA), 0.6),
    (Suspect("P-1", SPEED), 0.75),
    (Suspect("P-2", SPEED), 0.75),
    (Suspect("V-1", CV), 0.3),
    (Suspect("BV-1", CV), 0.4),
    (Suspect("BV-2", CV), 0.4),
]


@pytest.mark.parametrize(("fault", "factor"), FAULTS, ids=[f"{s.at}-{s.what}" for s, _ in FAULTS])
def test_a_planted_fault_is_named_and_measured(fault, factor):
    for seed in range(2):
        found = fitted(fault, factor, seed)
        assert found.verdict == "named", found.explanations
        assert all(one.low <= one.factor <= one.high for one in found.explanations)
        best = found.explanations[0]
        assert best.suspect == fault
        assert best.low * 0.97 <= factor <= best.high * 1.03
        assert best.chance > 0.9


def test_a_plant_that_is_as_drawn_is_left_in_peace():
    verdicts = [fitted(None, 1.0, seed).verdict for seed in range(5)]
    assert verdicts.count("all_well") >= 4


def test_two_valves_in_one_run_cannot_be_told_apart_but_a_gauge_between_them_would():
    board = Board()
    board.pump("P-1", 60e3, 1e-3)
    board.item("ET-1", "expansion_tank", volume="20 L", precharge="100 kPa")
    board.item("J-1", "joint")
    board.item("G-1", "joint")
    board.item("PG-1", "gauge")
    for name in ("V-1", "V-2"):
        board.item(name, "shutoff", cv=3.0)
    board.ring("P-1", "V-1", "G-1", "V-2", "J-1")
    board.pipe("J-1:at", "ET-1:at")
    board.pipe("G-1:at", "PG-1:at")
    plant = from_data(board.case("on").data())
    truth = with_fault(plant, Suspect("V-1", CV), 0.3)
    solution = Solver(truth).solve(truth.solve_cases[0])
    flows = abs(solution.pipes["L-1"].flow_m3_s)
    out = solution.pipes["L-1"].pressure_in_pa
    readings = [
        Reading(0, "L-1", "flow", flows, 0.02 * flows, "on"),
        Reading(1, "L-1", "pressure", out, 2e3, "on"),
    ]
    found = fit(plant, readings)
    assert found.verdict == "cannot_tell"
    assert {one.suspect.at for one in found.explanations} >= {"V-1", "V-2"}
    assert any(one.at == "PG-1" and set(one.parts) == {"V-1", "V-2"} for one in found.next)
    told = fit(
        plant,
        [*readings, Reading(2, "PG-1", "pressure", shown(plant, solution, "PG-1", "pressure"), 2e3, "on")],
    )
    assert (told.verdict, told.explanations[0].suspect.at) == ("named", "V-1")


def test_readings_of_the_file_the_latest_day_counts_and_words_are_refused_at_their_place(tmp_path, capsys):
    data = _data_with(("2026-01-05", "70 degC"), ("2026-02-01", "69.9 degC"))
    plant = from_data(data)
    assert [one.value for one in readings_of(plant)] == pytest.approx([343.05])
    path = tmp_path / "a.plant.json"
    path.write_text(json.dumps(data))
    assert main(["readings", str(path), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["verdict"] == "all_well"
    assert told["fit"]["pipes"]["boiler-out"]["temperature_in_c"] == pytest.approx(70.0, abs=1e-3)


def _data_with(*values):
    data = json.loads(dumps(PLANT))
    data["readings"] = [
        {
            "date": day,
            "case": "night",
            "at": "boiler-out",
            "what": "temperature",
            "value": value,
            "error": "0.5 K",
        }
        for day, value in values
    ]
    return data
