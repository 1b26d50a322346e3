"""A year as twelve weighted weeks, and what fuel and electricity cost."""

from __future__ import annotations

import json
import math
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from pathlib import Path

import pytest

from core import commands
from core.errors import Refusal
from core.files.read import from_data
from core.simulation import year as yearly
from core.simulation.runs import chosen_run
from core.simulation.weather import Weather, read_weather, steady
from core.simulation.year import DAY, WEEK, YEAR, cut, weeks_of, year_of
from tests.support.builders import Board
from tests.support.in_time import Ran

ZERO = 273.15


def wave_year(step: float = 6 * 3600.0) -> Weather:
    """A year about 8 degC, 12 K up and down, from a Wednesday noon on."""
    times = [k * step for k in range(round(YEAR / step) + 1)]
    outdoor = [ZERO + 8.0 - 12.0 * math.cos(2.0 * math.pi * t / YEAR) for t in times]
    return Weather(tuple(times), tuple(outdoor), tuple(0.0 for _ in times), 2.5 * DAY)


def heated(**run: object) -> dict[str, object]:
    """A boiler with water that always runs through a room's radiator."""
    board = Board()
    board.pump("P-1", 30e3, 0.5e-3, watts="40 W")
    board.item("B-1", "boiler", capacity="20 kW", set_temperature="60 degC", efficiency=0.8)
    board.item("R-1", "room", loss="200 W/K", mass="0 MJ/K", wanted="20 degC")
    board.item("RA-1", "radiator", ua="100 W/K", serves="R-1")
    board.ring("B-1", "P-1", "RA-1")
    data = board.case(outdoor="5 degC").data()
    data["runs"] = [{"name": "run", "hours": 5, **run}]
    return data


def test_weeks_lie_in_their_twelfth_begin_at_midnight_and_stand_for_the_year() -> None:
    weather = wave_year()
    weeks = weeks_of(weather)
    assert sum(week.weight for week in weeks) * WEEK == pytest.approx(YEAR)
    for k, week in enumerate(weeks):
        assert k * YEAR / 12 <= week.begins <= (k + 1) * YEAR / 12 - WEEK + 1.0
        assert (weather.starts + week.begins) % DAY == pytest.approx(0.0)
        assert week.mean == pytest.approx(week.whole, abs=0.6)
    assert sum(week.mean for week in weeks) / 12 - ZERO == pytest.approx(8.0, abs=0.2)


def test_a_stretch_of_weather_is_the_weather_from_there_on() -> None:
    weather = wave_year()
    part = cut(weather, 100.3 * DAY, WEEK)
    for t in (0.0, 12345.0, 3.3 * DAY, WEEK):
        assert part.at(t) == pytest.approx(weather.at(100.3 * DAY + t), abs=1e-9)
    assert part.starts == pytest.approx((2.5 + 100.3) % 7 * DAY)


def test_a_year_of_a_steady_plant_is_fifty_two_times_its_week_and_costs_what_it_uses(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(yearly, "TWELFTHS", 2)
    mild = ZERO + 5.0
    weather = Weather((0.0, YEAR), (mild, mild), (0.0, 0.0))
    plant = from_data(heated(prices={"fuel": 0.1, "electricity": 0.25}))
    run = chosen_run(plant)
    week = Ran(heated(hours=168)).energy
    year = year_of(replace(run, weather=weather), make=lambda: ThreadPoolExecutor(1))
    assert year["energy_kwh"]["heat"] == pytest.approx(week["heat"] * 365.0 / 7.0, rel=1e-3)
    assert year["energy_kwh"]["electricity"] == pytest.approx(0.04 * 8760.0, rel=1e-6)
    fuel = year["energy_kwh"]["heat"] / 0.8
    assert year["cost"] == pytest.approx(0.1 * fuel + 0.25 * 0.04 * 8760.0, rel=1e-6)
    assert year["hours"] == pytest.approx(8760.0)


def test_a_year_that_no_weather_reaches_is_called_none(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(yearly, "TWELFTHS", 2)
    times = tuple(float(k) * DAY for k in range(366))
    cold = tuple(ZERO - 15.0 if t < YEAR / 2 else ZERO + 15.0 for t in times)
    run = replace(chosen_run(from_data(heated())), weather=Weather(times, cold, tuple(0.0 for _ in times)))
    heat = {"energy_kwh": dict.fromkeys(yearly.SUMMED, 5.0), "cautions": [], "plant": "x"}
    empty = {**heat, "items": {}, "rooms": {}, "tanks": {}}
    weeks = weeks_of(run.weather)
    told = yearly._joined(run, weeks, [empty, empty], 0.0)["cautions"]
    assert "nothing in this case answers to the weather" in told[0]
    more = {**empty, "energy_kwh": dict.fromkeys(yearly.SUMMED, 6.0)}
    told = yearly._joined(run, weeks, [empty, more], 0.0)["cautions"]
    assert not any("answers to the weather" in words for words in told)


def test_cost_is_of_what_is_used_and_none_without_its_price() -> None:
    whole = Ran(heated(prices={"fuel": 0.1, "electricity": 0.2})).all
    energy = whole["energy_kwh"]
    assert whole["cost"] == pytest.approx(0.1 * energy["fuel"] + 0.2 * energy["electricity"])
    assert Ran(heated()).all["cost"] is None
    lacking = Ran(heated(prices={"fuel": 0.1}))
    assert lacking.all["cost"] is None
    assert any("nothing of electricity" in words for words in lacking.cautions)
    with pytest.raises(Refusal, match=r"prices\.fuel"):
        from_data(heated(prices={"fuel": "cheap"}))


def test_weather_that_is_no_year_is_refused(tmp_path: Path) -> None:
    for weather in (steady(280.0), Weather(wave=(270.0, 280.0))):
        with pytest.raises(Refusal, match="year"):
            weeks_of(weather)
    path = tmp_path / "x.plant.json"
    path.write_text(json.dumps(heated()), encoding="utf-8")
    with pytest.raises(Refusal, match="a year of rows"):
        commands.main(["simulate", str(path), "--year"])
    with pytest.raises(Refusal, match="nothing beside --year"):
        commands.main(["simulate", str(path), "--year", "--hours", "5"])


def test_weather_made_for_a_site_touches_its_design_and_is_a_year(tmp_path: Path) -> None:
    path = tmp_path / "x.plant.json"
    path.write_text(json.dumps(heated()), encoding="utf-8")
    assert commands.main(["simulate", str(path), "--make-weather", str(tmp_path / "w.csv")]) == 0
    weather = read_weather(tmp_path / "w.csv", "w.csv")
    site = from_data(heated()).site_si
    assert min(weather.outdoor) == pytest.approx(site.outdoor_design, abs=0.01)
    assert sum(weather.outdoor) / 8760 == pytest.approx(site.cold_water, abs=1.0)
    assert len(weeks_of(weather)) == 12
    assert weather.starts == 0.0
