"""Mixing valves and fixtures in closed form: shares, temperatures, pressures, and what they cannot do."""

from __future__ import annotations

import math

import pytest
from scipy.optimize import brentq

from tests.support.builders import GPM, PSI, RHO, Board, Solved, area, c, flow, pa


def valve(
    set_to: float,
    hot: float = 60.0,
    cold: float = 10.0,
    pressures: tuple[float, float] = (300e3, 300e3),
    draw: str = "0.2 L/s",
) -> Solved:
    """Hot and cold mains on a mixing valve of Cv 4, one fixture."""
    board = Board(use="potable")
    board.item("M-1", "cold_main", pressure=pa(pressures[0]), temperature=c(hot))
    board.item("M-2", "cold_main", pressure=pa(pressures[1]), temperature=c(cold))
    board.item("MV-1", "mixing_valve", cv=4.0, set_temperature=c(set_to))
    board.item("F-1", "fixture")
    board.pipe("M-1:at", "MV-1:hot", "hot")
    board.pipe("M-2:at", "MV-1:cold", "cold")
    board.pipe("MV-1:mixed", "F-1:cold", "mixed")
    return board.case(draws={"F-1": draw}).solve()


def mixed_pressure(hot_flow: float, cold_flow: float, pressures: tuple[float, float]) -> float:
    """Where cv x on the hot and cv (1 - x) on the cold pass these flows [m3/s]."""

    def excess(mixed: float) -> float:
        roots = [math.sqrt((p - mixed) / PSI / (RHO / 999.0)) for p in pressures]
        return hot_flow / GPM / roots[0] + cold_flow / GPM / roots[1] - 4.0

    return brentq(excess, -1e6, min(pressures) - 1e-6)


@pytest.mark.parametrize("pressures", [(300e3, 300e3), (350e3, 250e3), (250e3, 350e3)])
@pytest.mark.parametrize("set_to", [40.0, 55.0, 15.0])
def test_holds_its_temperature(set_to: float, pressures: tuple[float, float]) -> None:
    got = valve(set_to, pressures=pressures)
    share = (set_to - 10) / 50
    assert got.converged
    assert got.items["MV-1"]["temperature_c"] == pytest.approx(set_to, abs=0.02)
    assert got.items["MV-1"]["hot_share"] == pytest.approx(share, abs=5e-4)
    assert got.flow("hot") == pytest.approx(share * 0.2e-3, rel=2e-3)
    assert got.flow("cold") == pytest.approx((1 - share) * 0.2e-3, rel=2e-3)
    want = mixed_pressure(share * 0.2e-3, (1 - share) * 0.2e-3, pressures)
    assert got.pressure("mixed") == pytest.approx(want, rel=2e-3)
    assert got.items["F-1"]["temperature_c"] == pytest.approx(set_to, abs=0.02)


def test_all_hot_where_the_hot_water_is_too_cool() -> None:
    got = valve(45.0, hot=40.0)
    assert got.items["MV-1"]["hot_share"] == pytest.approx(1, abs=1e-6)
    assert got.items["MV-1"]["temperature_c"] == pytest.approx(40, abs=1e-3)
    assert abs(got.flow("cold")) < 1e-9
    assert got.noted("MV-1")
    drop = (0.2e-3 / GPM / 4.0) ** 2 * PSI * RHO / 999.0
    assert got.pressure("mixed") == pytest.approx(300e3 - drop, rel=1e-4)


def test_all_cold_where_the_cold_water_is_too_warm() -> None:
    got = valve(20.0, cold=25.0)
    assert got.items["MV-1"]["hot_share"] == pytest.approx(0, abs=1e-6)
    assert got.items["MV-1"]["temperature_c"] == pytest.approx(25, abs=1e-3)
    assert abs(got.flow("hot")) < 1e-9
    assert got.noted("MV-1")


@pytest.mark.parametrize("pressures", [(400e3, 200e3), (200e3, 400e3)])
def test_nothing_crosses_from_hot_to_cold(pressures: tuple[float, float]) -> None:
    got = valve(40.0, pressures=pressures, draw="0 L/s")
    assert abs(got.flow("hot")) < 1e-9
    assert abs(got.flow("cold")) < 1e-9
    assert got.converged


@pytest.mark.parametrize(("draw", "runs"), [(0.12e-3, True), (0.013e-3, False)])
def test_valve_wakes_the_heater_behind_it(draw: float, runs: bool) -> None:
    """From cold the valve opens to hot; the heater lights from 0.03 L/s on, else it stays all hot."""
    board = Board(use="potable")
    board.item("M-1", "cold_main", pressure="300 kPa", temperature="9 degC")
    board.item("J-1", "joint")
    board.item("WH-1", "heater", capacity="40 kW", set_temperature="60 degC", min_flow="0.03 L/s")
    board.item("MV-1", "mixing_valve", cv=4.0, set_temperature="45 degC")
    board.item("F-1", "fixture")
    board.chain("M-1", "J-1", "WH-1")
    board.pipe("WH-1:out", "MV-1:hot", "hot")
    board.pipe("J-1:at", "MV-1:cold", "cold")
    board.pipe("MV-1:mixed", "F-1:cold", "mixed")
    got = board.case(draws={"F-1": flow(draw)}).solve()
    assert got.converged
    assert got.items["WH-1"]["running"] is runs
    assert got.items["MV-1"]["hot_share"] == pytest.approx(36 / 51 if runs else 1.0, abs=1e-3)
    assert got.items["MV-1"]["temperature_c"] == pytest.approx(45 if runs else 9, abs=0.02)
    assert got.noted("MV-1") is not runs


def test_two_fixtures_behind_one_valve() -> None:
    board = Board(use="potable")
    board.item("M-1", "cold_main", pressure="300 kPa", temperature="65 degC")
    board.item("M-2", "cold_main", pressure="300 kPa", temperature="5 degC")
    board.item("MV-1", "mixing_valve", cv=6.0, set_temperature="50 degC")
    board.item("J-1", "joint")
    for name in ("F-1", "F-2"):
        board.item(name, "fixture", set_temperature="38 degC")
        board.pipe("J-1:at", f"{name}:hot", f"{name}-hot")
        board.pipe("J-2:at", f"{name}:cold", f"{name}-cold")
    board.item("J-2", "joint")
    board.pipe("M-1:at", "MV-1:hot", "hot")
    board.pipe("M-2:at", "J-2:at", "main")
    board.pipe("J-2:at", "MV-1:cold", "cold")
    board.pipe("MV-1:mixed", "J-1:at", "mixed")
    got = board.case(draws={"F-1": "0.1 L/s", "F-2": "0.15 L/s"}).solve()
    share = (38 - 5) / (50 - 5)
    for name, draw in (("F-1", 0.1e-3), ("F-2", 0.15e-3)):
        assert got.items[name]["temperature_c"] == pytest.approx(38, abs=0.02)
        assert got.items[name]["flow_m3_s"] == pytest.approx(draw, rel=1e-6)
        assert got.flow(f"{name}-hot") == pytest.approx(share * draw, rel=2e-3)
    assert got.flow("hot") == pytest.approx(0.25e-3 * share * 45 / 60, rel=3e-3)


def fixture(draw: str, pressure: float = 300e3, hot: float = 60.0, **props: str) -> Solved:
    """A fixture on two mains through pipes of K 200 (bore 15 mm)."""
    board = Board(use="potable")
    board.item("M-1", "cold_main", pressure=pa(pressure), temperature=c(hot))
    board.item("M-2", "cold_main", pressure=pa(pressure), temperature="10 degC")
    board.item("F-1", "fixture", **props)
    board.pipe("M-1:at", "F-1:hot", "hot", bore=0.015, k=200.0)
    board.pipe("M-2:at", "F-1:cold", "cold", bore=0.015, k=200.0)
    return board.case(draws={"F-1": draw}).solve()


@pytest.mark.parametrize("set_to", [35.0, 45.0])
def test_fixture_mixes_for_itself(set_to: float) -> None:
    got = fixture("0.12 L/s", set_temperature=c(set_to))
    share = (set_to - 10) / 50
    assert got.flow("hot") == pytest.approx(share * 0.12e-3, rel=1e-3)
    assert got.flow("cold") == pytest.approx((1 - share) * 0.12e-3, rel=1e-3)
    assert got.items["F-1"]["flow_m3_s"] == pytest.approx(0.12e-3, rel=1e-6)
    assert got.items["F-1"]["temperature_c"] == pytest.approx(set_to, abs=0.02)


def test_fixture_that_wants_it_hotter_than_it_comes() -> None:
    got = fixture("0.12 L/s", hot=35.0, set_temperature="40 degC")
    assert got.flow("hot") == pytest.approx(0.12e-3, rel=1e-4)
    assert abs(got.flow("cold")) < 1e-9
    assert got.items["F-1"]["temperature_c"] == pytest.approx(35, abs=1e-3)


def test_fixture_not_drawing() -> None:
    got = fixture("0 L/s", set_temperature="40 degC")
    assert abs(got.flow("hot")) < 1e-9
    assert abs(got.flow("cold")) < 1e-9
    assert got.pipes["cold"]["pressure_out_pa"] == pytest.approx(300e3, abs=0.1)
    assert got.converged


def test_fixture_takes_no_more_than_the_pressure_gives() -> None:
    """K 200 at 15 mm bore: at 0 gauge the main's 50 kPa drive root(2 p / K rho) A."""
    board = Board(use="potable")
    board.item("M-1", "cold_main", pressure="50 kPa", temperature="10 degC")
    board.item("F-1", "fixture")
    board.pipe("M-1:at", "F-1:cold", "cold", bore=0.015, k=200.0)
    got = board.case(draws={"F-1": "0.5 L/s"}).solve()
    most = math.sqrt(2 * 50e3 / 200 / RHO) * area(0.015)
    assert most < 0.5e-3
    assert got.items["F-1"]["flow_m3_s"] == pytest.approx(most, rel=1e-4)
    assert got.flow("cold") == pytest.approx(most, rel=1e-4)
    assert got.pipes["cold"]["pressure_out_pa"] == pytest.approx(0, abs=5)
    assert got.noted("F-1")


def test_fixture_too_high_draws_nothing() -> None:
    board = Board(use="potable")
    board.item("M-1", "cold_main", pressure="50 kPa", temperature="10 degC")
    board.item("F-1", "fixture", height="8 m")
    board.pipe("M-1:at", "F-1:cold", "cold", bore=0.015, length="8 m")
    got = board.case(draws={"F-1": "0.1 L/s"}).solve()
    assert abs(got.flow("cold")) < 1e-9
    assert got.items["F-1"]["flow_m3_s"] == pytest.approx(0, abs=1e-9)
    assert got.noted("F-1")
    assert got.converged


@pytest.mark.parametrize("pressures", [(400e3, 330e3), (330e3, 400e3)])
def test_cold_water_on_the_hot_side_settles_all_hot(pressures: tuple[float, float]) -> None:
    """A heater not yet warm: both inlets lie below the set temperature, at unequal pressures."""
    got = valve(45.0, hot=14.6, pressures=pressures)
    assert got.converged
    assert got.items["MV-1"]["hot_share"] == pytest.approx(1, abs=1e-6)
    assert got.noted("MV-1", "all hot")
