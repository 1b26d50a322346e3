"""Water that freezes: said first, at the place, moving or standing, with a cure that harms nobody."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from core.commands import main
from tests.support.builders import Board

GLYCOL: dict[str, Any] = {"kind": "propylene_glycol", "fraction": 0.4}
WATER: dict[str, Any] = {"kind": "water"}


def swells(board: Board, joint: str) -> None:
    """An expansion tank at a joint."""
    tank = board.item(f"ET-{joint}", "expansion_tank", volume="20 L", precharge="100 kPa")
    board.pipe(f"{tank}:at", f"{joint}:at")


def beside_cold_glycol(use: str = "closed") -> Board:
    """Snow melt by glycol at -10 degC, through an exchanger whose other side stands full of water."""
    board = Board(GLYCOL, outdoor_design="-10 degC")
    board.body("loop", GLYCOL, fill_pressure="100 kPa")
    board.item("HX", "exchanger", ua="500 W/K")
    board.item("MC", "melt_circuit", area="20 m2", output_per_degree="200 W/K")
    board.drive()
    board.item("J-0", "joint")
    board.ring("P-1", "S-1", "HX", "MC", "J-0")
    swells(board, "J-0")
    board.body("house", WATER, use, fill_pressure="100 kPa")
    board.item("J", "joint")
    board.pipe("J:at", "HX:b_in")
    board.pipe("HX:b_out", "J:at")
    swells(board, "J")
    return board


def outdoors(around: str, fluid: dict[str, Any] = WATER, use: str = "closed") -> Board:
    """A loop at rest, one of its pipes in a place of that temperature."""
    board = Board(fluid)
    board.body("loop", fluid, use, fill_pressure="100 kPa")
    board.item("B", "boiler", set_temperature="60 degC", capacity="10 kW")
    board.item("R", "radiator", ua="100 W/K")
    board.item("J", "joint")
    board.chain("J", "B", "R")
    swells(board, "J")
    board.pipe("R:out", "J:at", "L-9", around=around, length=3.0)
    return board


def dangers(board: Board, **keys: Any) -> list[tuple[str, str]]:
    return [(at, text) for at, text in board.solve(**keys).notes if text.startswith("danger")]


@pytest.mark.parametrize("use", ["closed", "potable"])
def test_water_standing_beside_a_cold_side_is_a_danger_said_first(use: str) -> None:
    got = beside_cold_glycol(use).solve()
    at, text = got.notes[0]
    assert at == "HX"
    assert text.startswith("danger")
    assert "freezes" in text
    assert ("antifreeze, or" in text.lower()) == (use == "closed")


def test_no_mixture_is_advised_where_a_main_brings_the_water() -> None:
    board = beside_cold_glycol()
    board.item("M", "cold_main", pressure="300 kPa", temperature="8 degC")
    board.pipe("M:at", "J:at")
    ((_, text),) = dangers(board)
    assert "takes no antifreeze" in text
    assert "ixture" not in text


def test_a_pipe_standing_where_it_freezes_is_a_danger_and_one_in_the_warm_is_none() -> None:
    assert [at for at, _ in dangers(outdoors("-5 degC"))] == ["L-9"]
    assert not dangers(outdoors("1 degC"))
    assert not dangers(outdoors("-5 degC", GLYCOL))


def test_a_danger_ends_the_command_with_one(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for around, code in (("-5 degC", 1), ("5 degC", 0)):
        file = tmp_path / f"{code}.plant.json"
        file.write_text(json.dumps(outdoors(around).data()), "utf-8")
        assert main(["solve", str(file), "--json"]) == code
        notes = json.loads(capsys.readouterr().out)["cases"][0]["notes"]
        assert any(note["severity"] == "danger" for note in notes) == bool(code)


def test_no_advice_is_taken_from_an_answer_that_is_none() -> None:
    """Water of the loop falls below freezing: what circuits lack there is no advice."""
    board = Board(WATER, outdoor_design="-15 degC")
    board.body("loop", WATER, fill_pressure="100 kPa")
    board.item("MC", "melt_circuit", area="20 m2", output_per_degree="200 W/K", load="9 kW")
    board.item("B", "boiler", set_temperature="40 degC", capacity="1 kW")
    board.drive()
    board.ring("P-1", "S-1", "B", "MC")
    got = board.solve()
    assert not got.converged
    assert got.notes[0][1].startswith("danger")
    assert not any("wanted" in text or "instead of" in text for _, text in got.notes)


def test_a_loop_heated_through_an_exchanger_with_no_room_to_swell_is_a_danger() -> None:
    def heated(tank: bool) -> list[tuple[str, str]]:
        board = Board(WATER)
        board.body("loop", WATER, fill_pressure="100 kPa")
        board.item("J", "joint")
        board.item("B", "boiler", set_temperature="60 degC", capacity="10 kW")
        board.item("HX", "exchanger", ua="800 W/K")
        board.drive()
        board.ring("P-1", "S-1", "B", "HX", "J")
        swells(board, "J")
        board.body("floor", WATER, fill_pressure="100 kPa")
        board.item("K", "joint")
        board.item("R", "radiator", ua="100 W/K")
        board.drive("P-2", "S-2")
        board.chain("P-2", "S-2", "R", "K")
        board.pipe("K:at", "HX:b_in")
        board.pipe("HX:b_out", "P-2:in")
        if tank:
            swells(board, "K")
        return dangers(board)

    assert not heated(True)
    ((at, text),) = heated(False)
    assert at == "HX"
    assert "expansion tank" in text
