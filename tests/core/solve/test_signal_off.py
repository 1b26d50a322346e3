"""Whether water could still come once a signal is off."""

import pytest

from core.files.read import from_data
from core.solve import Solver
from core.solve.settle import Settled
from core.solve.signal_off import stand_without, unheated_without
from tests.support.builders import Board

OFF = {"SW": False}


def settled(board: Board) -> Settled:
    board.item("SW", "switch", on=True)
    plant = from_data(board.data())
    return Solver(plant).settle(plant.solve_cases[0])


def ring(height: str = "0 m", **pump: object) -> Board:
    board = Board()
    board.pump("P", 60e3, 1e-3, run_when="SW", **pump)
    board.item("B", "boiler", capacity="30 kW", set_temperature="60 degC", run_when="SW")
    board.item("LD", "load", load="10 kW", height=height)
    board.ring("P", "B", "LD")
    return board


def at(s: Settled, item: str) -> int:
    return s.net.of_item[item][0].index


def test_a_level_loop_stands_without_its_circulator():
    s = settled(ring())
    assert stand_without(s, [at(s, "LD")], OFF)
    assert not stand_without(s, [at(s, "LD")], {"SW": True})


def test_where_gravity_could_drive_it_is_likely_but_not_sure():
    s = settled(ring("3 m"))
    assert not stand_without(s, [at(s, "LD")], OFF)
    assert stand_without(s, [at(s, "LD")], OFF, surely=False)
    checked = settled(ring("3 m", integral_check=True))
    assert stand_without(checked, [at(checked, "LD")], OFF)


@pytest.mark.parametrize("surely", [True, False])
def test_what_a_main_feeds_does_not_stand_without_its_circulator(surely: bool):
    board = Board(use="potable")
    board.item("M", "cold_main", pressure="300 kPa")
    board.pump("P", 60e3, 1e-3, run_when="SW")
    board.item("M-2", "cold_main", pressure="200 kPa")
    board.resistance("S", 0.5e-3, 30e3)
    board.chain("M", "P", "S")
    board.pipe("S:out", "M-2:at", "L")
    s = settled(board)
    assert not stand_without(s, [at(s, "L")], OFF, surely)


def test_water_is_unheated_once_the_last_source_of_its_body_rests():
    s = settled(ring())
    assert unheated_without(s, at(s, "LD"), OFF)
    assert not unheated_without(s, at(s, "LD"), {"SW": True})
