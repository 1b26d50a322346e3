"""Which circulator is named: the one drawn stays where another would save little."""

import pytest

from core.files.read import from_data
from core.sizing.context import Context
from core.sizing.families.circulators import size
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
