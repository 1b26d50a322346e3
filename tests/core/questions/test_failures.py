"""Failures: rooms against the balance and the exponential worked out by hand."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from typing import Any

import pytest

from core import commands
from core.figures import RoomFigures
from core.files.read import from_data
from core.questions.failures import LIMIT_C, Failure, exponential_time, failures
from core.solve import solve_case
from tests.support.builders import CP, Board

FLOW = 0.5e-3  # [m3/s]
RATE = FLOW * 1000.0 * CP  # [W/K]
OUT = -20.0
LOSS, MASS = 200.0, 4e6  # [W/K], [J/K]


def house(mass: Any = "4 MJ/K", ua: float = 500.0, units_of_heat: int = 1, gain: float = 0.0) -> Board:
    """One or two boilers in series at 60 degC, a pump that moves FLOW, a radiator in a room."""
    board = Board(outdoor_design=f"{OUT} degC")
    boilers = [
        board.item(f"B-{k + 1}", "boiler", capacity="6 kW", set_temperature="60 degC")
        for k in range(units_of_heat)
    ]
    board.drive()
    board.item("RA-1", "radiator", ua=f"{ua} W/K", serves="R-1")
    props = {} if mass is None else {"mass": mass}
    board.item("R-1", "room", loss=f"{LOSS} W/K", wanted="20 degC", gain=f"{gain} W", **props)
    board.ring("P-1", "S-1", *boilers, "RA-1")
    board.case("mild", outdoor="5 degC")
    board.case("night", outdoor=f"{OUT} degC")
    return board


def answers(board: Board) -> dict[str, Failure]:
    return {one.at: one for one in failures(from_data(board.data()))}


def test_without_its_boiler_a_room_falls_to_the_weather_by_the_exponential():
    found = answers(house())
    assert found["B-1"].case == "night"
    (room,) = found["B-1"].cold
    assert room.temperature_c == pytest.approx(OUT, abs=1e-3)
    before = room.before_c
    hours = MASS / LOSS * math.log((before - OUT) / (LIMIT_C - OUT)) / 3600.0
    assert room.hours_to_40f == pytest.approx(hours, rel=1e-3)
    assert not room.guess


@pytest.mark.parametrize("at", ["P-1", "power"])
def test_without_pump_or_power_the_gain_alone_keeps_it(at: str):
    (room,) = answers(house(gain=400.0))[at].cold
    assert room.temperature_c == pytest.approx(OUT + 400.0 / LOSS, abs=1e-6)


def test_a_cold_snap_is_ten_degrees_under_the_design_temperature():
    found = answers(house())["cold_snap"]
    (room,) = found.cold
    # The boiler, at its 6 kW already, gives as much: the room falls by the same ten degrees.
    assert room.before_c == pytest.approx(OUT + 6e3 / LOSS, abs=1e-3)
    assert room.temperature_c == pytest.approx(OUT - 10.0 + 6e3 / LOSS, abs=1e-3)
    assert room.hours_to_40f is not None  # to 0 degC at the end


def test_heat_that_still_comes_is_counted_on_the_way():
    """One of two boilers fails: the other's full 4 kW warm the room towards 0 degC, with the same mass."""
    board = house(units_of_heat=2)
    for name in ("B-1", "B-2"):
        board.items[name]["props"]["capacity"] = "4 kW"
    (room,) = answers(board)["B-2"].cold
    end = OUT + 4e3 / LOSS
    assert room.temperature_c == pytest.approx(end, abs=1e-3)
    before = room.before_c
    assert room.hours_to_40f == pytest.approx(
        exponential_time(before, end, LIMIT_C, MASS / LOSS) / 3600.0, rel=1e-4
    )


def test_hours_of_several_rooms_are_those_at_which_the_case_as_long_stands_at_40_degrees():
    """Two rooms on one circuit, the first boiler of two failed: heat falls on the way as water cools."""
    board = house(units_of_heat=2, ua=150.0)
    board.items["B-1"]["props"]["capacity"] = "3 kW"
    board.item("RA-2", "radiator", ua="80 W/K", serves="R-2")
    board.item("R-2", "room", loss="120 W/K", wanted="20 degC", mass="5 MJ/K")
    old = board.pipes.pop()
    board.pipe("RA-1:out", "RA-2:in")
    board.pipe("RA-2:out", ":".join(old["to"]))
    plant = from_data(board.data())
    found = {room.room: room for room in answers(board)["B-2"].cold}
    assert set(found) == {"R-1", "R-2"}
    night = next(case for case in plant.solve_cases if case.name == "night")
    start = {key: f"{room.before_c!r} degC" for key, room in found.items()}
    for key, room in found.items():
        assert room.hours_to_40f is not None
        lasts, off = f"{room.hours_to_40f!r} h", {"B-2": {"run_when": False}}
        then = solve_case(plant, replace(night, lasts=lasts, start=start, set=off))
        assert then.role(key, RoomFigures).temperature_c == pytest.approx(LIMIT_C, abs=0.02)


def test_without_a_mass_there_are_no_hours_and_a_guessed_one_says_so():
    (room,) = answers(house(mass=None))["B-1"].cold
    assert (room.hours_to_40f, room.guess) == (None, False)
    (room,) = answers(house(mass={"guess": "4 MJ/K", "within": 0.5}))["B-1"].cold
    assert room.hours_to_40f is not None
    assert room.guess


def test_a_tank_that_the_case_holds_is_not_held_without_its_heater():
    board = house()
    board.item("T-1", "tank", volume="300 L", taps={"hot": "1 m", "cold": "0.1 m"})
    board.pipes.clear()
    board.ring("P-1", "S-1", "B-1", "T-1:hot>cold", "RA-1")
    board.cases[1]["tanks"] = {"T-1": "55 degC"}
    found = answers(board)
    assert found["B-1"].cold[0].temperature_c == pytest.approx(OUT, abs=0.1)


def test_freezing_water_is_said_and_the_answer_stands():
    board = house()
    board.systems["loop"]["fluid"] = {"kind": "water"}
    found = answers(board)["B-1"]
    assert found.solved
    assert found.cold
    assert any("freezes" in note.text for note in found.dangers)


def test_the_command_cautions_and_promises_nothing(tmp_path, capsys):
    path = tmp_path / "house.plant.json"
    path.write_text(json.dumps(house().data()))
    assert commands.main(["failures", str(path)]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "No pipe here is promised safe" in said
    assert "licensed" in said
    assert commands.main(["failures", str(path), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)["failures"]
    assert {"room", "temperature_c", "hours_to_40f", "guess"} <= set(told[0]["cold"][0])
