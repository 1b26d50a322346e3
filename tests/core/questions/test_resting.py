"""Figures that rest on a guess are those that it moves, and `wetside solve` marks them."""

import json

from core import commands
from core.files.read import from_data
from core.questions.resting import resting
from core.solve import Solver
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
    found = resting(plant, case, Solver(plant).solve(case))
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
    assert not resting(plant, case, Solver(plant).solve(case))
