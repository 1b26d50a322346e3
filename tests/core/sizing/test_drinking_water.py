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
    assert found.chosen == "1 in Type L copper"


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


def test_a_hot_water_return_to_a_tank_that_another_circulator_charges_was_taken_for_charging() -> None:
    """In the tank the waters meet; the return carries what its pipes lose, none of the heater's 30 kW."""
    board = Board({"kind": "water"}, use="potable")
    board.item("CM-1", "cold_main", pressure="60 psi", temperature="50 degF")
    taps = {"cold": "0 m", "hot": "1.5 m", "low": "0.1 m", "high": "1.4 m", "back": "0.3 m"}
    board.item("T-1", "tank", volume="80 gal", taps=taps)
    board.item("H-1", "heater", capacity="30 kW", set_temperature="140 degF")
    board.item("P-1", "circulator", curve=[["0 gpm", "15 ft_head"], ["16 gpm", "4 ft_head"]])
    board.item("P-2", "circulator", curve=[["0 gpm", "6 ft_head"], ["4 gpm", "2 ft_head"]])
    board.item("F-1", "fixture", flow="5 gpm")
    board.item("J-1", "joint")
    lossy = {"bore": 0.02, "length": 25.0, "insulation": {"loss": "0.3 W/m/K"}}
    board.pipe("CM-1:at", "T-1:cold")
    board.chain("T-1:low", "P-1", "H-1", bore=0.02, length=2.0)
    board.pipe("H-1:out", "T-1:high", bore=0.02, length=2.0)
    board.pipe("T-1:hot", "J-1:at", "HOT", **lossy)
    board.pipe("J-1:at", "F-1:hot")
    board.pipe("J-1:at", "P-2:in", "BACK", **lossy)
    board.pipe("P-2:out", "T-1:back", bore=0.02, length=0.0)
    context = Context(from_data(board.case(tanks={"T-1": "110 degF"}).data()))
    assert [loop.circulator for loop in returns.loops(context)] == ["P-2"]
    assert [way.circulator for way in returns.charging_ways(context)] == ["P-1"]
    assert one(recirculation.size(context), "P-2", "recirculation").value < 1e-4


def test_a_draw_through_a_circulated_main_was_held_to_the_loss_of_a_closed_loop() -> None:
    """4 gpm drawn and a little that circulates: 3/4 in L (0.785 in) runs 2.7 ft/s, under the 5 of hot water.

    At 4 ft per 100 ft, which is for what a circulator drives all day, the main would have to be 1 in.
    """
    board = Board({"kind": "water"}, use="potable")
    board.item("CM-1", "cold_main", pressure="60 psi", temperature="50 degF")
    board.item("T-1", "tank", volume="80 gal", taps={"cold": "0 m", "hot": "1.5 m", "back": "0.3 m"})
    curve = [["0 gpm", "6 ft_head"], ["4 gpm", "2 ft_head"]]
    board.item("P-1", "circulator", curve=curve, integral_check=True)
    board.item("F-1", "fixture", flow="4 gpm")
    board.item("J-1", "joint")
    lossy = {"tube": {"material": "copper_l", "size": "3/4 in"}, "length": "60 ft"}
    board.pipe("CM-1:at", "T-1:cold")
    board.pipe("T-1:hot", "J-1:at", "HOT", insulation={"loss": "0.3 W/m/K"}, **lossy)
    board.pipe("J-1:at", "F-1:hot")
    board.pipe("J-1:at", "P-1:in", "BACK", insulation={"loss": "0.3 W/m/K"}, **lossy)
    board.pipe("P-1:out", "T-1:back", bore=0.02, length=0.0)
    found = one(pipes.size(Context(from_data(board.case(tanks={"T-1": "140 degF"}).data()))), "HOT", "tube")
    assert found.chosen == "3/4 in Type L copper"
    smaller = next(option for option in found.options if option.name == "1/2 in Type L copper")
    assert "erosion" in smaller.verdict
    assert "closed loops" not in smaller.verdict
