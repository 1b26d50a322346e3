"""Heat pumps in closed form: what rows give, between and beyond, at set temperature and at the limit."""

from __future__ import annotations

import math
from typing import Any

import pytest

from core.errors import Refusal
from core.thermal.heat_pumps import output_at
from tests.support.builders import Board, Solved, c, w

C = 2000.0  # [W/K] of the ring's 0.5 L/s
# Outdoor, supply, heat and power of an invented machine, on a full grid.
GRID = [
    (-15.0, 35.0, 6000.0, 2400.0),
    (-15.0, 55.0, 5000.0, 2800.0),
    (7.0, 35.0, 10000.0, 2500.0),
    (7.0, 55.0, 8800.0, 3200.0),
]


def rows(table: list[tuple[float, float, float, float]]) -> list[list[str]]:
    return [[c(out), c(supply), w(heat), w(power)] for out, supply, heat, power in table]


def kelvin(table: list[tuple[float, float, float, float]]) -> tuple[tuple[float, float, float, float], ...]:
    return tuple((out + 273.15, supply + 273.15, heat, power) for out, supply, heat, power in table)


def ring(set_to: float, outdoor: float | None, user: str, **props: Any) -> tuple[Solved, list[str]]:
    """Heat pump and one user in a ring of 0.5 L/s, solved. Pipes: P-S, S-HP, HP-U, U-P."""
    board = Board(outdoor_design="-25 degC")
    board.drive()
    pump = {"table": rows(GRID), "set_temperature": c(set_to), **props.pop("pump", {})}
    board.item("HP-1", "heat_pump", **{key: value for key, value in pump.items() if value is not None})
    board.item("U-1", user, **props)
    pipes = board.ring("P-1", "S-1", "HP-1", "U-1")
    return board.case(**({} if outdoor is None else {"outdoor": c(outdoor)})).solve(), pipes


def test_part_load_takes_power_in_proportion() -> None:
    """Halfway in weather and supply: heat 7450 W, power 2725 W; 3 kW of load is 3000/7450 of that."""
    got, pipes = ring(45.0, -4.0, "load", load="3 kW")
    figures = got.items["HP-1"]
    assert got.converged
    assert got.warm(pipes[2]) == pytest.approx(45, abs=1e-3)
    assert figures["duty_w"] == pytest.approx(3000, rel=1e-4)
    assert figures["short_w"] == 0
    assert figures["running"] is True
    assert figures["power_w"] == pytest.approx(2725 * 3000 / 7450, rel=1e-4)
    assert figures["cop"] == pytest.approx(7450 / 2725, rel=1e-6)
    assert figures["flow_m3_s"] == pytest.approx(0.5e-3, rel=1e-4)
    known = ("no expansion tank", "nothing sets the pressure")
    said = [text for at, text in got.notes if at == "HP-1"]
    assert [text for text in said if not any(one in text for one in known)] == []


@pytest.mark.parametrize("row", GRID)
def test_at_its_limit_on_a_row(row: tuple[float, float, float, float]) -> None:
    """A radiator that takes just the row's heat at the row's supply; the set point lies higher."""
    outdoor, supply, heat, power = row
    ua = -C * math.log1p(-heat / (C * (supply - 20)))
    got, pipes = ring(65.0, outdoor, "radiator", ua=f"{ua!r} W/K")
    figures = got.items["HP-1"]
    assert got.warm(pipes[2]) == pytest.approx(supply, abs=2e-3)
    assert figures["duty_w"] == pytest.approx(heat, rel=1e-4)
    assert figures["power_w"] == pytest.approx(power, rel=1e-4)
    assert figures["cop"] == pytest.approx(heat / power, rel=1e-4)
    assert got.noted("HP-1", "capacity.*outdoors")
    assert not got.noted("HP-1", "table")


@pytest.mark.parametrize("ua", [200.0, 250.0, 320.0, 900.0])
def test_capacity_at_its_own_outlet(ua: float) -> None:
    """At 7 degC heat falls 60 W per kelvin of supply: K (T - 20) = 10000 - 60 (T - 35), flat outside."""
    got, pipes = ring(70.0, 7.0, "radiator", ua=f"{ua!r} W/K")
    share = C * -math.expm1(-ua / C)
    want = (10000 + 60 * 35 + 20 * share) / (share + 60)
    if want < 35:
        want = 20 + 10000 / share
    elif want > 55:
        want = 20 + 8800 / share
    assert got.warm(pipes[2]) == pytest.approx(want, abs=2e-3)
    assert got.items["HP-1"]["duty_w"] == pytest.approx(share * (want - 20), rel=1e-4)
    assert got.items["HP-1"]["short_w"] == pytest.approx(C * (70 - want), rel=1e-3)
    assert got.noted("HP-1", "outside its table") == (not 35 <= want <= 55)


def test_fixed_loads_are_cut_to_its_capacity_at_set_temperature() -> None:
    got, pipes = ring(45.0, 7.0, "load", load="20 kW")
    assert got.warm(pipes[2]) == pytest.approx(45, abs=1e-3)
    assert got.items["U-1"]["delivered_w"] == pytest.approx(9400, rel=1e-4)
    assert got.items["HP-1"]["power_w"] == pytest.approx(2850, rel=1e-4)
    assert got.noted("HP-1", "cut")


def test_without_outdoor_the_design_weather_counts_and_beyond_the_table_it_stays_flat() -> None:
    got, _ = ring(60.0, None, "load", load="20 kW")
    assert got.items["HP-1"]["duty_w"] == pytest.approx(5000, rel=1e-4)
    assert got.items["HP-1"]["power_w"] == pytest.approx(2800, rel=1e-4)
    assert got.noted("HP-1", r"-25.0 °C outdoors with 60.0 °C supply lies outside its table")


def test_off_it_takes_no_power() -> None:
    got, _ = ring(45.0, 7.0, "radiator", ua="200 W/K", pump={"run_when": False})
    figures = got.items["HP-1"]
    assert (figures["duty_w"], figures["power_w"], figures["cop"], figures["running"]) == (0, 0, 0, False)
    assert not got.noted("HP-1", "flow|capacity|table")


def test_without_a_table_it_is_taken_as_without_limit_and_says_so() -> None:
    got, _ = ring(45.0, 7.0, "load", load="20 kW", pump={"table": None})
    assert got.items["HP-1"]["duty_w"] == pytest.approx(20e3, rel=1e-4)
    assert "power_w" not in got.items["HP-1"]
    assert got.noted("HP-1", "no table")


@pytest.mark.parametrize("swap", [False, True])
def test_lines_of_unlike_length(swap: bool) -> None:
    """Two lines, one of three rows and one of two, along supply or (swapped) along outdoor."""
    table = [
        (-10.0, 30.0, 6000.0, 2000.0),
        (-10.0, 40.0, 5500.0, 2300.0),
        (-10.0, 50.0, 4500.0, 2600.0),
        (10.0, 30.0, 9000.0, 2000.0),
        (10.0, 60.0, 7500.0, 3500.0),
    ]
    if swap:  # the same figures with the columns' parts exchanged
        table = [(supply, out, heat, power) for out, supply, heat, power in table]

    def at(out: float, supply: float) -> tuple[float, float]:
        output = output_at(kelvin(table), (supply if swap else out) + 273.15)
        place = (out if swap else supply) + 273.15
        return output.heat(place), output.power(place)

    for out, supply, heat, power in table:
        got = output_at(kelvin(table), out + 273.15)
        assert got.heat(supply + 273.15) == pytest.approx(heat, rel=1e-12)
        assert got.power(supply + 273.15) == pytest.approx(power, rel=1e-12)
        assert got.covers(supply + 273.15)
    assert at(-10, 45) == pytest.approx((5000, 2450))
    assert at(0, 45) == pytest.approx(((5000 + 8250) / 2, (2450 + 2750) / 2))
    assert at(0, 55) == pytest.approx(((4500 + 7750) / 2, (2600 + 3250) / 2)), "the short line stays flat"
    assert at(-30, 20) == pytest.approx((6000, 2000))
    assert at(30, 80) == pytest.approx((7500, 3500))


def test_a_row_for_each_weather_alone_is_straight_between() -> None:
    table = kelvin([(-15.0, 50.0, 5000.0, 2500.0), (5.0, 40.0, 9000.0, 2400.0)])
    output = output_at(table, 273.15 - 5)
    assert output.heat(320.0) == pytest.approx(7000)
    assert output.power(290.0) == pytest.approx(2450)
    assert not output.covers(320.0)


def test_contradictory_rows_are_refused_at_their_place() -> None:
    table = [*GRID, (-15.0, 35.0, 6100.0, 2400.0)]
    board = Board()
    board.item("HP-1", "heat_pump", table=rows(table))
    with pytest.raises(Refusal) as refused:
        board.solve()
    assert refused.value.path == "items[0].props.table[4]"
    assert "[0]" in refused.value.hint
    board.items["HP-1"]["props"]["table"] = rows([*GRID, GRID[0]])
    assert board.solve().converged, "the same row twice is no contradiction"
    board.items["HP-1"]["props"]["table"] = rows([(-15.0, 35.0, 6000.0, 0.0)])
    with pytest.raises(Refusal) as refused:
        board.solve()
    assert refused.value.path == "items[0].props.table[0][3]"
