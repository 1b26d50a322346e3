"""Pressures carried round: loops close, levels stand where the body says, shut ways part."""

import numpy as np
import pytest

from tests.core.hydraulics.hard import closed
from tests.support.balance import Balance
from tests.support.builders import RHO, Board, G, solve_data


@pytest.mark.parametrize("seed", range(8))
def test_falls_round_every_loop_come_to_nothing(seed):
    data = closed(np.random.default_rng(2000 + seed), 18).data()
    solved = solve_data(data)
    worst, loops = Balance(data, solved).worst_loop()
    top = max(abs(pipe["drop_pa"]) for pipe in solved.pipes.values())
    assert loops > 0
    assert worst < 1e-5 * top + 2.0


def loop(**system: str) -> Board:
    board = Board()
    board.body("loop", **system)
    board.pump("P", 30e3, 1e-3)
    board.item("J", "joint", height="4 m")
    board.item("ET", "expansion_tank", volume="12 L", precharge="80 kPa", height="4 m")
    board.ring("P", "J", bore=0.02, length=5.0)
    board.pipe("J:at", "ET:at")
    return board


@pytest.mark.parametrize(("system", "level"), [({}, 80e3), ({"fill_pressure": "150 kPa"}, 150e3)])
def test_the_tank_holds_the_level_of_its_body(system, level):
    solved = loop(**system).solve()
    assert solved.pipes["L-3"]["pressure_out_pa"] == pytest.approx(level, abs=0.1)


def test_still_water_weighs_by_its_height():
    board = loop()
    board.items["P"]["props"]["run_when"] = False
    solved = board.solve()
    assert solved.pipes["L-1"]["pressure_in_pa"] == pytest.approx(80e3 + RHO * G * 4.0, abs=0.1)


def test_a_shut_way_parts_pressures():
    """A pump against a shut valve: its whole head stands across the valve."""
    board = Board()
    board.pump("P", 30e3, 1e-3)
    board.item("V", "shutoff", open=False)
    board.item("ET", "expansion_tank", volume="12 L", precharge="100 kPa")
    board.item("J", "joint")
    board.chain("J", "P", "V", "J")
    board.pipe("J:at", "ET:at")
    solved = board.solve()
    assert solved.flow("L-1") == 0.0
    assert solved.pipes["L-2"]["pressure_in_pa"] == pytest.approx(130e3, abs=1.0)
    assert solved.pipes["L-3"]["pressure_in_pa"] == pytest.approx(100e3, abs=1.0)


@pytest.mark.parametrize("tank", ["before", "behind"])
@pytest.mark.parametrize("check", [False, True])
def test_a_circulator_between_two_shut_valves_gives_its_head(tank, check):
    """Its outlet stands 30 kPa above its inlet, whichever side the level is known from."""
    board = Board()
    board.pump("P", 30e3, 1e-3, integral_check=check)
    board.item("V-1", "shutoff", open=False)
    board.item("V-2", "shutoff", open=False)
    board.item("ET", "expansion_tank", volume="12 L", precharge="100 kPa")
    board.item("J-1", "joint")
    board.item("J-2", "joint")
    board.item("J-3", "joint")
    board.chain("J-3", "V-1", "J-1", "P", "J-2", "V-2", "J-3")
    board.pipe("J-1:at" if tank == "before" else "J-2:at", "ET:at")
    solved = board.solve()
    inlet, outlet = solved.pipes["L-3"]["pressure_out_pa"], solved.pipes["L-4"]["pressure_in_pa"]
    assert outlet - inlet == pytest.approx(30e3, abs=1.0)
    assert (inlet if tank == "before" else outlet) == pytest.approx(100e3, abs=1.0)
