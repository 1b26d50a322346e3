"""Controls whose place, room or target is to be removed, or says nothing: solved, never a traceback."""

from __future__ import annotations

import pytest

from core.files.read import from_data
from core.solve import settle, solve_case
from tests.support.builders import Board


def board() -> Board:
    made = Board()
    made.item(
        "B-1", "boiler", capacity="20 kW", set_temperature="60 degC", run_when={"any": ["TH-1", "AQ-1"]}
    )
    made.drive()
    made.item("RA-1", "radiator", ua="300 W/K", serves="R-1")
    made.item("R-1", "room", loss="100 W/K", gain="200 W", mass="4 MJ/K")
    made.item("T-1", "tank", volume="100 L", taps={"top": "1 m", "low": "0 m"}, tall="1 m")
    made.item("TH-1", "thermostat", senses=["R-1", "floor"], set_temperature="20 degC", powered_by="OU-1")
    made.item("AQ-1", "aquastat", senses=["T-1", "top"], set_temperature="50 degC")
    made.item("AQ-2", "aquastat", senses=["L-1", "out"], set_temperature="50 degC", call=True)
    made.item("OU-1", "outlet", switched_by={"any": ["SW-1", "AQ-1"]})
    made.item("SW-1", "switch", on=True)
    made.item("OR-1", "outdoor_reset", line=[["0 degC", "50 degC"]], sets=["B-1", "AQ-1"])
    made.chain("P-1", "S-1", "B-1", "RA-1", "T-1:low")
    made.chain("T-1:top", "P-1")
    return made.case("c", outdoor="0 degC")


@pytest.mark.parametrize(
    "gone", [None, "R-1", "T-1", "TH-1", "AQ-1", "OU-1", "SW-1", "B-1", "RA-1", "OR-1", "P-1"]
)
def test_whatever_is_to_be_removed(gone):
    data = board().data()
    for item in data["items"]:
        if item["id"] == gone:
            item["stage"] = "to_remove"
    plant = from_data(data)
    solution = solve_case(plant, plant.solve_cases[0])
    assert solution.converged
    assert gone not in solution.items
    assert gone not in solution.signals
    for figures in solution.items.values():
        assert 0.0 <= (figures.value("duty_share") or 0.0) <= 1.0


@pytest.mark.parametrize(
    "key", ["senses", "set_temperature", "loss", "line", "sets", "serves", "switched_by"]
)
def test_whatever_is_not_typed(key):
    data = board().data()
    for item in data["items"]:
        item["props"].pop(key, None)
    plant = from_data(data)
    assert solve_case(plant, plant.solve_cases[0]).converged


def test_a_case_given_up_names_the_controls_that_still_move(monkeypatch: pytest.MonkeyPatch) -> None:
    """Not the first item of the file, which changes with its order."""
    monkeypatch.setattr(settle, "MOST_PASSES", 2)
    board = Board(use="potable")
    for main, t in (("M-1", 60), ("M-2", 10)):
        board.item(main, "cold_main", pressure="300 kPa", temperature=f"{t} degC")
    board.item("TV-1", "three_way_valve", cv=4.0, target="30 degC")
    board.item("F-1", "fixture")
    board.pipe("M-1:at", "TV-1:a")
    board.pipe("M-2:at", "TV-1:b", length=20.0, bore=0.01)
    board.pipe("TV-1:ab", "F-1:cold")
    got = board.case(draws={"F-1": "0.2 L/s"}).solve()
    assert not got.converged
    assert got.noted("TV-1", r"still move after 2 passes, and with them TV-1\.")
