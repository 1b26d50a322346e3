"""The dead-water map on plants where what stands can be seen at a glance."""

import json
import math

import pytest

from core.commands import main
from core.errors import Refusal
from core.files import read, write
from core.solve import solve_plant
from core.stillwater.map import dead_water
from core.stillwater.year import year_of
from tests.plants.edits import SAMPLES, file_of

TUBE = {"bore": "20 mm"}


def plant(*, fed_tap=True):
    """A main, a run to a tap that one case draws at, one to a tap that none does, a capped stub, a drain."""
    items = [
        {"id": "CM", "kind": "cold_main", "at": [0, 0], "props": {"pressure": "60 psi"}},
        {"id": "J", "kind": "joint", "at": [0, 0]},
        {"id": "F-1", "kind": "fixture", "at": [0, 0]},
        {"id": "F-2", "kind": "fixture", "at": [0, 0]},
        {"id": "K", "kind": "joint", "at": [0, 0]},
        {"id": "PL", "kind": "plug", "at": [0, 0]},
        {"id": "D", "kind": "drain", "at": [0, 0]},
    ]
    lines = [
        ("L-1", "CM", "at", "J", "at", "10 m"),
        ("L-2", "J", "at", "F-1", "cold", "5 m"),
        ("L-3", "J", "at", "F-2", "cold", "5 m"),
        ("L-4", "J", "at", "K", "at", "4 m"),
        ("L-5", "K", "at", "PL", "at", "1 m"),
        ("L-6", "K", "at", "D", "at", "1 m"),
    ]
    pipes = [
        {"id": n, "from": [a, p], "to": [b, q], "system": "w", "tube": TUBE, "length": far}
        for n, a, p, b, q, far in lines
    ]
    return read.from_data(
        {
            "format": "wetside-plant",
            "version": 2,
            "systems": {"w": {"use": "potable", "fluid": {"kind": "water"}}},
            "items": items,
            "pipes": pipes,
            "cases": [{"name": "off"}, {"name": "on", "draws": {"F-1": "0.1 L/s"} if fed_tap else {}}],
        }
    )


def rows(one):
    return {(row.case, row.id): row for row in dead_water(one, solve_plant(one))}


def test_what_never_moves_stands_by_use_or_at_times():
    found = rows(plant())
    stands = {pipe: found[("on", pipe)].stands for pipe in ("L-1", "L-2", "L-3", "L-4", "L-5", "L-6")}
    assert stands == {
        "L-1": "at times",
        "L-2": "at times",
        "L-3": "by use",
        "L-4": "never",
        "L-5": "never",
        "L-6": "never",
    }
    assert len(found) == 12
    assert rows(plant(fed_tap=False))[("on", "L-2")].stands == "by use"


def test_volume_and_turnover():
    row = rows(plant())[("on", "L-1")]
    assert row.volume == pytest.approx(math.pi / 4 * 0.02**2 * 10)  # 3.14 L
    assert row.turnover == pytest.approx(31.4, rel=5e-3)  # [s], at 0.1 L/s
    assert rows(plant())[("off", "L-1")].turnover is None


def test_the_nearest_place_to_flush():
    found = rows(plant())
    at = {pipe: found[("on", pipe)].flush_at for pipe in ("L-1", "L-3", "L-5", "L-6")}
    assert at == {"L-1": "F-1", "L-3": "F-2", "L-5": "D", "L-6": "D"}


def test_the_command_gives_a_row_for_every_pipe_and_case(capsys):
    path = SAMPLES / "bakery_loft.plant.json"
    one = read.from_data(json.loads(path.read_text(encoding="utf-8")))
    assert main(["dead-water", str(path), "--json"]) == 0
    pipes = json.loads(capsys.readouterr().out)["pipes"]
    assert len(pipes) == len(one.pipes) * len(one.solve_cases)
    assert all((row["turnover_h"] is None) == row["still"] for row in pipes)
    assert pipes[0].keys() >= {"id", "case", "still", "volume_l", "turnover_h", "flush_at"}
    assert main(["dead-water", str(path)]) == 0
    out = capsys.readouterr().out
    assert "relief valves" in out
    assert "scald" in out
    assert all(len(line) <= 110 for line in out.splitlines())


def test_what_has_to_run_out_is_its_own_water_and_that_on_the_way():
    found = rows(plant())
    liter = math.pi / 4 * 0.02**2  # a meter of pipe, [m^3]
    assert found[("on", "L-5")].to_flush == pytest.approx(2 * liter)  # its own, and L-6 to the drain
    assert found[("on", "L-6")].to_flush == pytest.approx(1 * liter)
    assert found[("on", "L-1")].to_flush == pytest.approx(15 * liter)  # on through L-2 or L-3


def in_seasons(*cases, use="potable", **system):
    """The plant with one case a season: name, hours, flow drawn at F-1."""
    data = json.loads(write.dumps(plant()))
    data["systems"]["w"] = {"use": use, "fluid": {"kind": "water"}, **system}
    data["cases"] = [
        {"name": name, "season": name, "hours_per_year": hours, "draws": {"F-1": "0.1 L/s"} if on else {}}
        for name, hours, on in cases
    ]
    one = read.from_data(data)
    return {year.id: year for year in year_of(one, dead_water(one, solve_plant(one)))}


def test_a_season_without_flow_is_held_against_what_its_system_allows():
    found = in_seasons(("winter", 240.0, False), ("summer", 480.0, True))
    stub = found["L-4"]
    assert (stub.still_days, stub.ok_days, stub.beyond) == (pytest.approx(30.0), 7.0, True)
    assert found["L-1"].still_days is None  # an outlet's run: it flows when somebody draws
    assert not found["L-1"].beyond
    assert not in_seasons(("winter", 240.0, False), use="closed")["L-4"].beyond


def test_a_system_says_how_long_its_water_may_stand():
    assert in_seasons(("winter", 240.0, False), still_ok_days=3)["L-4"].ok_days == 3
    assert in_seasons(("winter", 240.0, False), use="closed", still_ok_days=14)["L-4"].beyond
    data = json.loads(write.dumps(plant()))
    data["systems"]["w"]["still_ok_days"] = -1
    with pytest.raises(Refusal, match="still_ok_days"):
        read.from_data(data)
    data["systems"]["w"]["still_ok_days"] = 14
    assert json.loads(write.dumps(read.from_data(data)))["systems"]["w"]["still_ok_days"] == 14


def test_the_year_is_told_in_json_and_text(capsys):
    path = str(file_of("two_heater_clinic"))
    assert main(["dead-water", path, "--json"]) == 0
    year = {one["id"]: one for one in json.loads(capsys.readouterr().out)["year"]}
    summer = next(one for one in year["L-35"]["seasons"] if one["season"] == "summer")
    assert summer["moves_hours"] == 0
    assert year["L-35"]["beyond"]
    assert main(["dead-water", path]) == 0
    assert "No flow for a season" in capsys.readouterr().out


def test_the_piece_between_preventer_and_fill_valve_is_flushed_onward():
    plant = read.load(SAMPLES.parent / "tests" / "plants" / "trade" / "electric.plant.json")
    between = next(p for p in plant.pipes.values() if (p.start.item, p.end.item) == ("BFP", "FILL"))
    rows = dead_water(plant, solve_plant(plant, ["Cold"]))
    assert {row.flush_at for row in rows if row.id == between.id} <= {"PURGE", "D1"}
    assert all(row.flush_at for row in rows)
