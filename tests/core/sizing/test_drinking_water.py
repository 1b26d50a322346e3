"""Drinking water: pipes no case draws from, and the circulator that charges a tank."""

from __future__ import annotations

from core.files.read import from_data
from core.sizing.context import Context
from core.sizing.demand import returns
from core.sizing.families import pipes, recirculation
from tests.support.builders import Board
from tests.support.sizes import one


def test_cold_tube_without_a_draw_counted_as_hot() -> None:
    """13 gpm in 1 in (1.025 in) run 5.06 ft/s.

    Over the 5 ft/s of hot water, under the 8 of cold: 1 in serves, where hot water wants 1 1/4.
    """
    board = Board({"kind": "water"}, use="potable")
    board.item("CM-1", "cold_main", pressure="60 psi", temperature="50 degF")
    board.item("F-1", "fixture", flow="13 gpm")
    board.pipe("CM-1:at", "F-1:cold", tube={"material": "copper_l", "size": "1 in"})
    found = one(pipes.size(Context(from_data(board.case().data()))), "L-1", "tube")
    assert "hot water" not in found.words
    assert found.chosen == "1 in copper L"


def charging(tank: str) -> Context:
    board = Board({"kind": "water"}, use="potable")
    board.item("CM-1", "cold_main", pressure="60 psi", temperature="50 degF")
    curve = [["0 gpm", "12 ft_head"], ["20 gpm", "2 ft_head"]]
    board.item("P-1", "circulator", curve=curve)
    board.item("H-1", "heater", capacity="70 kBtu/h", set_temperature="140 degF")
    board.item("T-1", "tank", volume="80 gal", taps={"cold": "0.1 m", "hot": "1 m"})
    board.item("F-1", "fixture", flow="2 gpm")
    for name in ("J-1", "J-2"):
        board.item(name, "joint")
    board.chain("CM-1", "J-1", "P-1", "H-1", "J-2", "T-1:hot")
    board.chain("T-1:cold", "J-1")
    board.chain("J-2", "F-1:hot")
    return Context(from_data(board.case(tanks={"T-1": tank}).data()))


def test_a_circulator_that_charges_a_tank_was_taken_for_a_hot_water_return() -> None:
    context = charging("100 degF")
    assert context.solution(context.cases[0].name).duty("T-1") > 1000.0
    assert returns.loops(context) == ()
    assert recirculation.size(context) == []
    assert returns.charging_pipes(context)
