"""Figures that rest on a guess are those that it moves, and `wetside solve` marks them."""

import json
from pathlib import Path
from typing import Any

import pytest

from core import commands
from core.diagram.annotations import item_text, pipe_text
from core.files.read import from_data
from core.plant.model import PortRef
from core.questions.resting import Marks, marked
from core.solve import solve_case
from tests.support.builders import Board


def radiator(ua):
    board = Board()
    board.item("B-1", "boiler", capacity="50 kW", set_temperature="60 degC")
    board.drive()
    board.item("RA-1", "radiator", ua=ua, room_temperature="20 degC")
    board.ring("P-1", "S-1", "B-1", "RA-1")
    return board


def test_a_guessed_ua_moves_its_heat_and_its_return_but_not_what_the_boiler_holds(tmp_path, capsys):
    data = radiator({"guess": "100 W/K", "within": 0.2}).data()
    plant = from_data(data)
    case = plant.solve_cases[0]
    found = Marks(plant).figures(case)
    assert {("RA-1", "delivered_w"), ("B-1", "duty_w")} <= found
    assert ("B-1", "temperature_c") not in found
    path = tmp_path / "a.plant.json"
    path.write_text(json.dumps(data))
    assert commands.main(["solve", str(path)]) == 0
    line = next(one for one in capsys.readouterr().out.splitlines() if one.startswith("B-1 "))
    assert "duty ~" in line
    assert "temperature ~" not in line


def test_nothing_rests_on_a_guess_where_none_is():
    plant = from_data(radiator("100 W/K").data())
    case = plant.solve_cases[0]
    assert not Marks(plant).figures(case)


def two_calls(ua: object = "500 W/K") -> dict[str, Any]:
    """Two radiators with a call each on a boiler that is too small for both."""
    board = Board()
    board.item("B-1", "boiler", capacity="12 kW", set_temperature="60 degC")
    board.item("J-1", "joint")
    board.item("J-2", "joint")
    board.pipe("B-1:out", "J-1:at", length="1 m", k=5.0)
    board.pipe("J-2:at", "B-1:in", length="1 m")
    for n, size in (("1", ua), ("2", "500 W/K")):
        board.item(f"SW-{n}", "switch", on=True, call=True)
        board.pump(f"P-{n}", 60e3, 1e-3, run_when=f"SW-{n}", integral_check=True, watts="60 W")
        board.item(f"RA-{n}", "radiator", ua=size, room_temperature="20 degC", load="9 kW")
        board.pipe("J-1:at", f"P-{n}:in", length="1 m")
        board.pipe(f"P-{n}:out", f"RA-{n}:in", length="1 m")
        board.pipe(f"RA-{n}:out", "J-2:at", length="1 m")
    board.case("both", signals={"SW-1": True, "SW-2": True})
    return board.data()


SAYS = (
    (["why"], "RA-2 loses ~"),
    (["cures", "RA-2"], "~"),
    (["spare", "B-1"], "has ~"),
    (["size"], "~ "),
    (["call-sheet"], "~"),
    (["solve", "--all-calls"], "~"),
)


@pytest.mark.parametrize(("words", "marked"), SAYS, ids=lambda one: one[0] if isinstance(one, list) else "")
def test_every_answer_marks_what_rests_on_a_guess_and_nothing_else(
    words: list[str], marked: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
):
    path = tmp_path / "a.plant.json"
    said = []
    for ua in ({"guess": "500 W/K", "within": 0.2}, "500 W/K"):
        path.write_text(json.dumps(two_calls(ua)))
        commands.main([words[0], str(path), *words[1:]])
        said.append(capsys.readouterr().out)
    assert marked in said[0]
    assert "~" not in said[1]
    if words[0] == "call-sheet":  # without the first call nothing rests on it
        alone = next(line.split() for line in said[0].splitlines() if line.split()[:1] == ["3"])
        assert not any("~" in cell for cell in alone)


def test_a_comparison_marks_the_side_that_rests_on_a_guess(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
):
    paths = [tmp_path / f"{n}.plant.json" for n in "ab"]
    for path, ua in zip(paths, ("400 W/K", {"guess": "500 W/K", "within": 0.2}), strict=True):
        path.write_text(json.dumps(two_calls(ua)))
    commands.main(["compare", *map(str, paths)])
    line = next(one for one in capsys.readouterr().out.splitlines() if "RA-1" in one and "kW" in one)
    before, after = line.split("  ")[-2:]
    assert "~" not in before
    assert "~" in after


def test_a_drawing_marks_the_figures_that_rest_on_a_guess():
    for ua, sign in (({"guess": "500 W/K", "within": 0.2}, "~"), ("500 W/K", "")):
        plant = from_data(two_calls(ua))
        (solution,) = marked(plant, [solve_case(plant, plant.solve_cases[0])])
        assert item_text(plant, plant.items["RA-1"], solution, "si")[1].startswith(sign + "6")
        assert not item_text(plant, plant.items["P-1"], solution, "si")[1].startswith("~")
        pipe = plant.pipes_at[PortRef("RA-1", "out")][0]
        warm, flow = pipe_text(pipe, solution, ("temperature", "flow"), "si", plant)
        assert warm.startswith(sign)
        assert not flow.startswith("~")
