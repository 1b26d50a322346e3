"""Which combinations a call sheet shows, which rows it folds, and why a circuit is short."""

from __future__ import annotations

import json
from typing import Any

import pytest

from core import commands
from core.calls.choice import choice
from core.calls.combinations import calls_of
from core.calls.sheet import call_sheet
from core.plant.model import Plant
from tests.support.builders import Board
from tests.support.calling import plant_of, two_zones


def zones(number: int, capacity: str = "60 kW", **last: Any) -> Board:
    """A boiler and radiators behind zone valves, each with its thermostat; `last` is the last one's."""
    board = Board()
    board.drive()
    board.item("B-1", "boiler", capacity=capacity, set_temperature="60 degC")
    board.item("J-1", "joint")
    board.item("J-2", "joint")
    board.chain("P-1", "S-1", "B-1", "J-1")
    board.chain("J-2", "P-1")
    for k in range(1, number + 1):
        board.item(f"Z-{k}", "zone_valve", cv=5.0, run_when=f"T-{k}")
        board.item(f"RA-{k}", "radiator", ua="300 W/K", load="9 kW")
        board.item(f"T-{k}", "thermostat", **(last if k == number else {}))
        board.chain("J-1", f"Z-{k}", f"RA-{k}", "J-2", length="10 m", bore=0.02)
    board.items["P-1"]["props"]["run_when"] = {"any": [f"T-{k}" for k in range(1, number + 1)]}
    return board.case("cold", outdoor="-10 degC")


def with_outlet(on: bool, call: bool) -> Plant:
    """Three zones; the last thermostat is plugged into an outlet that a switch turns on."""
    board = zones(3, powered_by="OU-1")
    board.item("SW-1", "switch", on=on, call=call)
    board.item("OU-1", "outlet", switched_by="SW-1")
    return plant_of(board)


def names(plant: Plant) -> list[str]:
    return [case.name for case in choice(plant).cases]


def test_a_stat_whose_outlet_is_dead_does_not_call() -> None:
    plant = with_outlet(on=False, call=False)
    found = choice(plant)
    assert found.unable == ("T-3",)
    assert names(plant) == ["none", "T-1", "T-2", "T-1 + T-2"]
    assert found.complete
    assert len(names(with_outlet(on=True, call=False))) == 8


def test_a_stat_calls_only_with_the_switch_of_its_outlet() -> None:
    plant = with_outlet(on=False, call=True)
    assert calls_of(plant) == ("T-1", "T-2", "T-3", "SW-1")
    found = choice(plant)
    assert found.unable == ()
    assert len(found.cases) == 12
    assert all("SW-1" in case.name for case in found.cases if "T-3" in case.name)
    assert set(found.impossible) == {"T-3", "T-1 + T-3", "T-2 + T-3", "T-1 + T-2 + T-3"}


@pytest.mark.parametrize(("number", "shown"), [(6, 64), (7, 1 + 7 + 21 + 7 + 1), (13, 1 + 13 + 13 + 1)])
def test_of_many_calls_a_choice_is_shown_and_said(number: int, shown: int) -> None:
    found = choice(plant_of(zones(number)))
    assert len(found.cases) == shown
    assert found.cases[0].name == "none"
    assert found.complete is (number == 6)
    if number > 6:
        assert found.words.startswith(f"{number} calls make {2**number:,} combinations. Shown are {shown}:")


def test_ten_calls_are_a_page_of_forty_rows_and_say_what_is_left_out(tmp_path, capsys) -> None:
    path = tmp_path / "ten.plant.json"
    path.write_text(json.dumps(zones(10, capacity="200 kW").data()), encoding="utf-8")
    commands.main(["call-sheet", str(path), "--json"])
    data = json.loads(capsys.readouterr().out)
    assert data["complete"] is False
    assert data["left_out"].startswith("10 calls make 1,024 combinations. Shown are 67")
    assert data["combinations"][0]["case"] == "none"
    commands.main(["call-sheet", str(path)])
    text = capsys.readouterr().out
    table = text.split("COMBINATIONS")[1].split("\n\n")[0]
    rows = [line for line in table.splitlines() if line[:1].isdigit() and ("●" in line or "·" in line)]
    assert len(rows) == 40
    assert "40 of 67 rows are on this page" in text


def test_equal_rows_are_folded() -> None:
    """Two thermostats that call the same pump: either or both make the same row."""
    board = two_zones()
    board.items["P-1"]["props"]["run_when"] = {"any": ["TH-1", "TH-2"]}
    board.items["P-2"]["props"]["run_when"] = {"any": ["TH-1", "TH-2"]}
    sheet = call_sheet(plant_of(board))
    assert [(row.name, also) for row, also in sheet.folded] == [
        ("none", ()),
        ("TH-1", ("TH-2", "TH-1 + TH-2")),
    ]
    data = sheet.as_data()
    assert [one["also"] for one in data["combinations"]] == [[], ["TH-2", "TH-1 + TH-2"]]
    assert [(row.name, also) for row, also in call_sheet(plant_of(two_zones())).folded] == [
        ("none", ()), ("TH-1", ()), ("TH-2", ()), ("TH-1 + TH-2", ()),
    ]  # fmt: skip


def test_a_circuit_that_is_short_says_why() -> None:
    """10 kW for loads of 6 and 9 kW: each alone is met, together the boiler is at its capacity."""
    sheet = call_sheet(plant_of(two_zones(capacity=10e3)))
    assert {(one.case, one.at) for one in sheet.short} == {("TH-1 + TH-2", "LD-1"), ("TH-1 + TH-2", "LD-2")}
    assert {one.because for one in sheet.short} == {"B-1 can give no more than 10.0 kW"}


def test_a_circuit_that_gets_less_water_beside_others_says_so() -> None:
    """Radiators that reach their wanted heat alone; the pump drives less through each when all call."""
    board = zones(4, capacity="500 kW")
    for k in range(1, 5):
        board.items[f"RA-{k}"]["props"]["load"] = "10.5 kW"
    sheet = call_sheet(plant_of(board))
    alone = {one.at for one in sheet.short if one.case == "T-1"}
    together = [one for one in sheet.short if one.case == "T-1 + T-2 + T-3 + T-4"]
    assert alone == set()
    assert {one.at for one in together} == {f"RA-{k}" for k in range(1, 5)}
    assert all(one.because.startswith("only 0.1") and " with T-" in one.because for one in together)


def test_no_circuit_is_short_that_is_not_called() -> None:
    sheet = call_sheet(plant_of(two_zones(capacity=1e3)))
    for row in sheet.rows:
        assert not any(c.is_short for c in row.circuits.values() if not c.called)
    assert not any(one.case == "none" for one in sheet.short)
