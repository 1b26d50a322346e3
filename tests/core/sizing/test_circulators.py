"""Which circulator is named: the one drawn stays where another would save little."""

import pytest

from core.files.read import from_data
from core.sizing.context import Context
from core.sizing.families.circulators import energy_as_solved, size
from tests.support.builders import Board
from tests.support.sizes import one

CURVE = [["0 gpm", "12 ft_head"], ["6 gpm", "9 ft_head"], ["12 gpm", "2 ft_head"]]
ALIKE = [["0 gpm", "12.1 ft_head"], ["6 gpm", "9 ft_head"], ["12 gpm", "2 ft_head"]]


@pytest.mark.parametrize(("watts", "stays"), [(12.8, True), (13.2, False), (9.0, True)])
def test_the_circulator_drawn_stays_up_to_three_tenths_more_power(watts: float, stays: bool):
    board = Board()
    board.item("P-1", "circulator", curve=CURVE, watts=f"{watts} W")
    board.item("B-1", "boiler", capacity="30 kW", set_temperature="60 degC")
    board.item("LD-1", "load", load="15 kW", drops=[["6 gpm", "8 ft_head"]])
    board.ring("P-1", "B-1", "LD-1")
    data = board.case("design").data()
    data["curves"] = [{"name": "own", "curve": ALIKE, "watts": "10 W"}]
    sized = one(size(Context(from_data(data))), "P-1", "circulator")
    assert {o.name: o.serves for o in sized.options if o.name in ("as drawn", "own")} == {
        "as drawn": True, "own": True,
    }  # fmt: skip
    assert sized.chosen.startswith("as drawn") is stays, sized.chosen


@pytest.mark.parametrize(("watts", "joules"), [("80 W", 80.0 * 0.5**3 * 1000 * 3600.0), (None, None)])
def test_electricity_of_a_year_is_at_the_speed_solved_in_the_cases_that_run(
    watts: str | None, joules: float | None
):
    board = Board()
    board.item("TH-1", "switch")
    board.item(
        "P-1", "circulator", curve=CURVE, speed=0.5, run_when="TH-1", **({"watts": watts} if watts else {})
    )
    board.item("B-1", "boiler", capacity="30 kW", set_temperature="60 degC")
    board.item("LD-1", "load", load="5 kW", drops=[["6 gpm", "8 ft_head"]])
    board.ring("P-1", "B-1", "LD-1")
    board.case("cold", signals={"TH-1": True}, hours_per_year=1000)
    board.case("mild", signals={"TH-1": False}, hours_per_year=500)
    found = energy_as_solved(Context(from_data(board.data())), "P-1")
    assert (None if found is None else found.value) == pytest.approx(joules)
