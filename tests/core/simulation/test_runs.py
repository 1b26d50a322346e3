"""Whole runs: energy on random plants, halved bands, snow, weather files, the CSV, the command."""

from __future__ import annotations

import csv
import io
import json
import math
from collections.abc import Callable
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from core import commands
from core.errors import Refusal
from core.simulation import engine, guards, water
from core.simulation.engine import Simulation
from core.simulation.runs import chosen_run
from core.simulation.trace import Trace
from core.simulation.weather import read_weather
from core.solve import settle
from core.solve.settle import CaseRun, Settled
from tests.support.builders import Board
from tests.support.in_time import Ran, simulated
from tests.support.random_plants import random_plant
from tests.support.random_rooms import room_plant
from tests.support.random_stores import store_plant


@pytest.mark.parametrize("make", [random_plant, room_plant, store_plant])
@pytest.mark.parametrize("seed", [3, 11, 29])
def test_energy_closes_on_random_plants(make: Any, seed: int) -> None:
    data = make(seed).data()
    data["runs"] = [{"name": "run", "hours": 1.5}]
    assert Ran(data).closes()


def floors(hot: str = "70 degC") -> Board:
    """A floor behind a mixing valve, a circulator that holds a difference, a room with a thermostat."""
    board = Board()
    board.pump("P-1", 60e3, 1e-3, run_when="TH-1", control="delta_t", target="6 K",
               senses=[["FC-1", "in"], ["FC-1", "out"]])  # fmt: skip
    board.resistance("S-1", 0.5e-3, 30e3)
    more = {"min_output": "3 kW", "differential": "8 K", "water_content": "12 L"}
    board.item("B-1", "boiler", capacity="12 kW", set_temperature=hot, **more)
    board.item("MV-1", "mixing_valve", cv=6, set_temperature="38 degC")
    board.item("R-1", "room", loss="180 W/K", mass="3 MJ/K", wanted="20 degC")
    board.item("FC-1", "floor_circuit", output_per_degree="350 W/K", mass="4 MJ/K", serves="R-1")
    board.item("TH-1", "thermostat", senses=["R-1"], set_temperature="20.5 degC", differential="1 K")
    board.item("J-1", "joint")
    board.chain("J-1", "B-1", "MV-1:hot>mixed", "P-1", "S-1", "FC-1", "J-1")
    board.pipe("J-1:at", "MV-1:cold")
    return board.case(outdoor="-5 degC")


def reset_heat_pump() -> Board:
    """A heat pump whose supply follows the weather, on a floor, with a circulator that holds a difference."""
    board = Board()
    board.pump("P-1", 60e3, 1e-3, control="delta_t", target="5 K")
    board.resistance("S-1", 0.5e-3, 30e3)
    table = [
        [f"{out} degC", f"{sup} degC", f"{9 + 0.2 * out - 0.03 * sup} kW", f"{1 + 0.03 * sup} kW"]
        for out in (-15, 15)
        for sup in (25, 55)
    ]
    board.item("H-1", "heat_pump", table=table, set_temperature="45 degC")
    board.item("OR-1", "outdoor_reset", line=[["-15 degC", "45 degC"], ["15 degC", "25 degC"]], sets=["H-1"])
    board.item("R-1", "room", loss="180 W/K", mass="3 MJ/K", wanted="20 degC")
    board.item("FC-1", "floor_circuit", output_per_degree="350 W/K", mass="4 MJ/K", serves="R-1")
    board.item("TH-1", "thermostat", senses=["R-1"], set_temperature="20.5 degC", differential="1 K")
    board.items["P-1"]["props"]["run_when"] = board.items["H-1"]["props"]["run_when"] = "TH-1"
    board.ring("P-1", "S-1", "H-1", "FC-1", length=8.0, bore=0.025)
    return board.case(outdoor="-5 degC")


@pytest.mark.parametrize("make", [floors, reset_heat_pump])
def test_halving_every_band_and_step_changes_little(
    make: Callable[[], Board], monkeypatch: pytest.MonkeyPatch
) -> None:
    weather = {"low": "-10 degC", "high": "0 degC"}
    one = simulated(make(), 12.0, weather=weather)
    for module, name in (
        (guards, "STATE_BAND"),
        (guards, "HELD_BAND"),
        (guards, "SHARE_BAND"),
        (water, "HYDRAULIC_BAND"),
        (water, "LOOSE"),
        (water, "WEATHER_BAND"),
        (engine, "CALM"),
        (settle, "NEAR_REST"),
        (settle, "NEAR_STEP"),
    ):
        monkeypatch.setattr(module, name, 0.5 * getattr(module, name))
    half = simulated(make(), 12.0, weather=weather)
    assert half.energy["heat"] == pytest.approx(one.energy["heat"], rel=0.01)
    assert half.rooms["R-1"]["mean_c"] == pytest.approx(one.rooms["R-1"]["mean_c"], rel=0.01)
    starts = one.items["P-1"]["starts"]
    assert half.items["P-1"]["starts"] == pytest.approx(starts, abs=max(1, 0.03 * starts))
    assert one.closes()
    assert half.closes()


def test_a_valve_at_its_end_looks_elsewhere_once_and_comes_to_the_same(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    passes: list[int] = []
    settles = CaseRun.settle

    def counted(self: CaseRun, kick: float) -> Settled:
        answer = settles(self, kick)
        passes.append(answer.passes)
        return answer

    monkeypatch.setattr(CaseRun, "settle", counted)
    weather = {"low": "-10 degC", "high": "0 degC"}
    once = simulated(floors("36 degC"), 4.0, weather=weather)
    known = sum(passes)
    passes.clear()
    monkeypatch.setattr(water.Water, "_holds", lambda *_: False)
    always = simulated(floors("36 degC"), 4.0, weather=weather)
    assert known < 0.8 * sum(passes)
    assert once.energy["heat"] == pytest.approx(always.energy["heat"], rel=1e-4)
    assert once.rooms["R-1"]["mean_c"] == pytest.approx(always.rooms["R-1"]["mean_c"], rel=1e-4)


def surface(**run: Any) -> Ran:
    board = Board()
    board.drive()
    board.item("B-1", "boiler", capacity="100 kW", set_temperature="40 degC", efficiency=0.9)
    more = {"output_per_degree": "500 W/K", "mass": "6 MJ/K", "mass_at": 0.3}
    board.item("MC-1", "melt_circuit", area="20 m2", **more)
    board.ring("P-1", "S-1", "B-1", "MC-1")
    return simulated(board.case(outdoor="-10 degC"), 3.0, **run)


def test_a_cold_slab_takes_its_time_before_it_melts() -> None:
    """One mass m, C(1 - e^-n) = g on the water's side and f to the air: lead within some percent of it."""
    got = surface().all["melt"]["MC-1"]
    g = 2000 * -math.expm1(-500 / 0.3 / 2000)
    f = 500 / 0.7
    end = (g * 40 + f * -10) / (g + f)
    lead = 6e6 / (g + f) * math.log((end + 10) / end)
    assert got["lead_s"] == pytest.approx(lead, rel=0.05)
    assert got["fuel_kwh"] == pytest.approx(got["heat_kwh"] / 0.9)
    cold = 40 - (40 + 10) * -math.expm1(-500 / 0.3 / 2000)
    assert got["first_hour_return_c"] == pytest.approx(cold, abs=0.2)  # the first water to come back


def test_snow_takes_the_heat_that_the_contract_says(tmp_path: Path) -> None:
    (tmp_path / "snow.csv").write_text(
        "time,outdoor_c,snow_mm_h\n2026-01-05T00:00,-4,2\n2026-01-05T02:00,-4,2\n2026-01-05T02:30,-4,0\n"
    )
    board = Board()
    board.drive()
    board.item("B-1", "boiler", capacity="50 kW", set_temperature="45 degC")
    board.item("MC-1", "melt_circuit", area="20 m2", output_per_degree="500 W/K", mass="1 MJ/K")
    board.ring("P-1", "S-1", "B-1", "MC-1")
    data = board.case(outdoor="0 degC").data()
    data["runs"] = [{"name": "snow", "hours": 6, "weather": {"file": "snow.csv"}}]
    from core.files.read import from_data

    sim = Simulation(chosen_run(from_data(data), folder=tmp_path))
    sim.simulate()
    snow = sim.layout.masses["MC-1"].snow
    assert snow.melted == pytest.approx((2 * 2.0 + 0.5 * 1.0) * 20, rel=0.01)  # mm are kg/m2
    assert snow.heat == pytest.approx(334e3 + 4.19e3 * 4)
    assert snow.lying == 0.0


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("", "the header"),
        ("time,outdoor\n", "each once of"),
        ("time,outdoor_c,outdoor_f\n", "one of outdoor_c and outdoor_f"),
        ("time,outdoor_c\n", "at least one row"),
        ("time,outdoor_c\nyesterday,3\n", "line 2: .*ISO time"),
        ("time,outdoor_c\n2026-01-01T00:00,warm\n", "line 2: .*a number"),
        ("time,outdoor_c\n2026-01-01T00:00,nan\n", "line 2: .*a number"),
        ("time,outdoor_c\n2026-01-01T00:00,300\n", "line 2: .*degC"),
        ("time,outdoor_c\n2026-01-01T00:00,3\n2026-01-01T00:00,4\n", "line 3: .*later"),
        ("time,outdoor_c\n2026-01-01T00:00,3,4\n", "line 2: .*2, as in the header"),
    ],
)
def test_a_weather_file_that_cannot_be_read_is_refused_at_its_line(
    text: str, found: str, tmp_path: Path
) -> None:
    path = tmp_path / "weather.csv"
    path.write_text(text)
    with pytest.raises(Refusal, match=found):
        read_weather(path, "weather.csv")


def test_weather_is_straight_between_rows_and_stays_after_the_last(tmp_path: Path) -> None:
    path = tmp_path / "weather.csv"
    path.write_text("time,outdoor_f\n2026-01-06T06:00,32\n2026-01-06T08:00,50\n")
    weather = read_weather(path, "weather.csv")
    assert weather.at(3600.0) == pytest.approx(278.15)
    assert weather.at(1e6) == pytest.approx(283.15)
    assert weather.starts == 86400.0 + 6 * 3600.0  # a Tuesday


def test_the_csv_has_a_row_every_ten_minutes_and_both_sides_of_events() -> None:
    data = floors().data()
    data["runs"] = [{"name": "run", "hours": 2}]
    from core.files.read import from_data

    sim = Simulation(chosen_run(from_data(data)))
    trace = Trace(sim)
    sim.observer.trace = trace.see
    seen = sim.simulate()
    sink = io.StringIO()
    trace.write(sink)
    rows = list(csv.DictReader(io.StringIO(sink.getvalue())))
    times = [float(row["time_s"]) for row in rows]
    assert times[0] == 0.0
    assert times[-1] == pytest.approx(7200.0)
    assert all(0.0 <= b - a <= 600.0 for a, b in pairwise(times))
    for start in seen.items["P-1"].starts:
        around = [row["P-1.running"] for row in rows if abs(float(row["time_s"]) - start) < 1e-3]
        assert {"0", "1"} <= set(around)
    assert {"R-1.temperature_c", "B-1.duty_w", "FC-1.delivered_w", "TH-1.on"} <= rows[0].keys()


def test_the_command_says_what_the_contract_names(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "floor.plant.json"
    path.write_text(json.dumps(floors().data()))
    out = tmp_path / "rows.csv"
    assert commands.main(["simulate", str(path), "--hours", "0.5", "--json", "--csv", str(out)]) == 0
    data = json.loads(capsys.readouterr().out)
    assert data["hours"] == 0.5
    assert {"heat", "fuel", "electricity", "imbalance"} <= data["energy_kwh"].keys()
    assert {"starts", "shortest_run_s", "on_h", "heat_kwh"} <= data["items"]["P-1"].keys()
    assert {"min_c", "mean_c", "max_c", "short_kh"} <= data["rooms"]["R-1"].keys()
    for moment in data["moments"]:
        assert {"what", "at", "time_s", "value", "because"} == moment.keys()
    assert out.exists()
    assert commands.main(["simulate", str(path), "--hours", "0.5"]) == 0
    assert "taken: " in capsys.readouterr().out
    for words, found in (
        (["--hours", "0"], "more than 0"),
        (["--hours", "long"], "a number of hours"),
        (["--run", "none"], "no runs"),
        (["--csv", str(path)], "A plant file is never overwritten"),
    ):
        with pytest.raises(Refusal, match=found):
            commands.main(["simulate", str(path), *words])


def test_one_of_two_boilers_alone_would_have_carried_its_share() -> None:
    board = Board()
    board.drive()
    board.item("B-1", "boiler", capacity="6 kW", set_temperature="70 degC")
    board.item("B-2", "boiler", capacity="20 kW", set_temperature="70 degC")
    board.item("LD-1", "load", load="10 kW")
    board.ring("P-1", "S-1", "B-1", "B-2", "LD-1")
    got = simulated(board.case(), 1.0)
    assert got.items["B-1"]["alone_share"] == pytest.approx(0.6, rel=1e-3)
    assert got.items["B-2"]["alone_share"] == pytest.approx(1.0)
    assert got.items["B-1"]["limit_h"] == pytest.approx(1.0)
