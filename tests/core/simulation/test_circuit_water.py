"""The water of closed circuits in time: against plugs that go round, closed formulas, and `solve`."""

from __future__ import annotations

import itertools
import math
from collections import deque
from typing import Any

import pytest

from tests.support.builders import CP, RHO, Board
from tests.support.in_time import simulated

BORE = 0.02


def loop(**more: Any) -> Board:
    """A boiler of 12 kW, 4 x 5 m of pipe, and an aquastat on what comes to the load: on at 34, off at 40."""
    board = Board()
    board.drive()
    content = more.pop("content", "10 L")
    board.item(
        "B-1", "boiler", capacity="12 kW", set_temperature="80 degC", water_content=content, run_when="AQ-1"
    )
    if "ua" in more:
        board.item("E-1", "radiator", ua=more.pop("ua"), room_temperature="20 degC")
    else:
        board.item("E-1", "load", load="4 kW")
    senses = more.pop("senses", ["E-1", "in"])
    board.item("AQ-1", "aquastat", senses=senses, set_temperature="40 degC", differential="6 K")
    board.ring("P-1", "S-1", "B-1", "E-1", length=more.pop("length", 5.0), bore=BORE)
    return board.case()


def plugs(rate: float, ua: float | None, at_return: bool, hours: float) -> tuple[int, float]:
    """Starts and heat [kWh] of the same, its pipes as plugs of 4 mL, its boiler mixed."""
    step = 0.01 / (rate / CP)  # [s] for 10 mL
    pipe = round(math.pi / 4.0 * BORE**2 * 5.0 * 1e3 / 0.01)
    ahead, back = deque([20.0] * pipe), deque([20.0] * (3 * pipe))
    boiler, on, starts, heat, t = 20.0, True, 0, 0.0, 0.0
    while t < hours * 3600.0:
        came = back.popleft()
        power = 12e3 if on else 0.0
        boiler += step * (rate * (came - boiler) + power) / (10.0 * CP)
        heat += power * step
        warm = ahead.popleft()
        ahead.append(boiler)
        cold = warm - 4000.0 / rate if ua is None else 20.0 + (warm - 20.0) * math.exp(-ua / rate)
        back.append(max(cold, 20.0))
        felt = came if at_return else warm
        if on and felt >= 40.0:
            on = False
        elif not on and felt <= 34.0:
            on, starts = True, starts + 1
        t += step
    return starts, heat / 3.6e6


@pytest.mark.parametrize(("ua", "senses"), [(None, ("E-1", "in")), (200.0, ("B-1", "in"))])
def test_an_aquastat_over_flowing_water_cycles_as_plugs_that_go_round(
    ua: float | None, senses: tuple[str, str]
) -> None:
    board = loop(senses=list(senses), **({} if ua is None else {"ua": f"{ua} W/K"}))
    rate = board.solve().flow("L-1") * RHO * CP
    got = simulated(board, 4.0)
    starts, heat = plugs(rate, ua, senses[0] == "B-1", 4.0)
    assert got.items["B-1"]["starts"] == pytest.approx(starts, rel=0.02, abs=1.01)
    assert got.energy["heat"] == pytest.approx(heat, rel=0.01)
    assert got.closes()


def test_a_boiler_full_of_water_cycles_by_the_closed_formula_and_for_the_share_of_solve() -> None:
    """200 L, 12 kW against 4 kW, 6 K: on for C 6 K / 8 kW, off for C 6 K / 4 kW."""
    board = loop(content="200 L", length=0.2)
    got = simulated(board, 12.0)
    stored = got.sim.capacity.sum()
    assert stored == pytest.approx((0.2 + 4 * 0.2 * math.pi / 4 * BORE**2) * RHO * CP, rel=1e-3)
    period = stored * 6.0 * (1.0 / 8e3 + 1.0 / 4e3)
    starts = got.seen.items["B-1"].starts
    assert (starts[-1] - starts[0]) / (len(starts) - 1) == pytest.approx(period, rel=0.02)
    assert got.items["B-1"]["shortest_run_s"] == pytest.approx(stored * 6.0 / 8e3, rel=0.03)
    share = board.solve().items["B-1"]["duty_w"] / 12e3
    assert share == pytest.approx(got.items["B-1"]["shortest_run_s"] / period, rel=0.01)


def test_water_starts_at_what_is_around_it_and_comes_to_rest_at_the_answer_of_solve() -> None:
    """20 W/K take little of 12 kW: 16.3 L at 20 degC need 18 K x 65.1 kJ/K / 12 kW = 98 s to 38 degC."""
    board = loop(ua="20 W/K")
    board.cases[0]["signals"] = {"AQ-1": True}
    board.items["AQ-1"]["props"]["senses"] = ["B-1", "out"]
    cold = simulated(board, 98.0 / 3600.0)
    stored = cold.energy["stored"] * 3.6e6
    assert stored == pytest.approx(sum(cold.sim.capacity) * 18.0, rel=0.03)
    assert cold.energy["heat"] * 3.6e6 == pytest.approx(98.0 * 12e3, rel=0.01)
    got, steady = simulated(board, 3.0), board.solve().items
    assert got.now("heat", "B-1") == pytest.approx(steady["B-1"]["duty_w"], rel=0.002)
    assert max(got.states("water of loop")) == pytest.approx(steady["B-1"]["temperature_c"], abs=0.1)
    assert got.closes()


def test_water_of_which_nothing_is_typed_is_said() -> None:
    board = loop(ua="150 W/K")
    assert any(
        words.startswith("water_content of E-1 is not set") for words in simulated(board, 0.1).cautions
    )


def test_a_boiler_at_its_least_output_cycles_in_all_the_water_of_its_loop() -> None:
    """5 kW at least against 2 kW, 8 K, 20 L in the boiler, 8 L on the way, which take a while to come back:
    on for C 8 K / 3 kW, off for C 8 K / 2 kW, and 0.4 of the time."""
    board = Board()
    board.drive()
    more = {"min_output": "5 kW", "differential": "8 K", "water_content": "20 L"}
    board.item("B-1", "boiler", capacity="20 kW", set_temperature="60 degC", **more)
    board.item("E-1", "load", load="2 kW")
    board.ring("P-1", "S-1", "B-1", "E-1", length=4.0, bore=0.025)
    got = simulated(board.case(), 12.0)
    starts = got.seen.items["B-1"].starts
    period = got.sim.capacity.sum() * 8.0 * (1.0 / 3e3 + 1.0 / 2e3)
    assert (starts[-1] - starts[0]) / (len(starts) - 1) == pytest.approx(period, rel=0.03)
    assert got.items["B-1"]["shortest_run_s"] == pytest.approx(0.4 * period, rel=0.03)
    assert got.closes()


def circulation() -> Board:
    """A tank at 60 degC, a loop of 41 m in 13 mm of insulation, pulsed by an aquastat on what comes back."""
    board = Board(use="potable")
    board.item("CM-1", "cold_main", pressure="300 kPa", temperature="10 degC")
    taps = {"hot": "1.5 m", "cold": "0 m", "back": "0.5 m"}
    board.item("T-1", "tank", volume="3000 L", tall="1.5 m", taps=taps)
    board.item("J-1", "joint")
    board.item("F-1", "fixture", set_temperature="45 degC")
    board.pump("P-1", 20e3, 2e-4, run_when="AQ-1", integral_check=True)
    board.item("AQ-1", "aquastat", senses=["P-1", "in"], set_temperature="45 degC", differential="6 K")
    around = {"insulation": {"thickness": "13 mm", "conductivity": "0.04 W/m/K"}}
    board.pipe("CM-1:at", "T-1:cold")
    board.pipe("T-1:hot", "J-1:at", length=20.0, bore=0.02, outside="22 mm", **around)
    board.pipe("J-1:at", "F-1:hot", length=2.0, bore=0.012)
    board.pipe("J-1:at", "P-1:in", length=20.0, bore=0.016, outside="18 mm", **around)
    board.pipe("P-1:out", "T-1:back", length=1.0, bore=0.016)
    return board.case()


def test_a_circulation_is_pulsed_as_its_pipe_cools() -> None:
    """From 45 to 39 degC by the exact exponential, then some seconds until warm water is back."""
    got = simulated(circulation(), 4.0, start={"T-1": "60 degC"})
    starts = got.seen.items["P-1"].starts
    apart = [b - a for a, b in itertools.pairwise(starts)]
    per_metre = 1.0 / (math.log(22 / 9) / (2 * math.pi * 0.04) + 1 / (2 * math.pi * 0.022 * 10.0))
    lasts = math.pi / 4 * 0.016**2 * RHO * CP / per_metre
    cools = lasts * math.log((45 - 20) / (39 - 20))
    assert min(apart) > cools
    assert max(apart) < 1.12 * cools  # what comes after the first warm water brings it past 45 degC
    assert got.energy["losses"] == pytest.approx(-got.energy["stored"], rel=1e-3)


def test_a_tank_that_nothing_holds_back_is_said_to_burst() -> None:
    board = circulation()
    board.items["T-1"]["props"] |= {"element": "6 kW", "volume": "100 L"}
    got = simulated(board, 2.0, start={"T-1": "60 degC"})
    assert any(words.startswith("T-1: up to") and "relief valve" in words for words in got.cautions)
