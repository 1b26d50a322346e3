"""Three plants stepped by scipy's own solver for differential equations, their switches as its events."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import numpy.typing as npt
import pytest
from scipy.integrate import solve_ivp

from tests.support.builders import RHO, Board
from tests.support.in_time import simulated

Array = npt.NDArray[np.float64]
CP, RATE = 4000.0, 2000.0  # [J/kg/K], [W/K] of a ring that `drive` drives


def stepped(
    rates: Callable[[Array, bool], Array],
    start: list[float],
    sensed: int,
    low: float,
    high: float,
    end: float,
) -> tuple[list[float], Array, Array]:
    """Starts of a stat that turns on at `low` and off at `high`; the state at the end, the mean of all."""
    t, x, on, starts = 0.0, np.array(start), start[sensed] < high, []
    mean = np.zeros_like(x)
    while t < end - 1e-6:
        point = high if on else low

        def passes(_: float, y: Array, point: float = point) -> float:
            return float(y[sensed] - point)

        passes.terminal, passes.direction = True, 1.0 if on else -1.0  # type: ignore[attr-defined]
        made = solve_ivp(
            lambda _, y, on=on: rates(y, on),
            (t, end),
            x,
            events=passes,
            rtol=1e-9,
            atol=1e-9,
            max_step=200.0,
            dense_output=True,
        )
        fine = np.linspace(t, float(made.t[-1]), 4001)
        mean += np.trapezoid(made.sol(fine), fine, axis=1)
        t, x = float(made.t[-1]), made.y[:, -1]
        if t < end - 1e-6:
            on = not on
            if on:
                starts.append(t)
    return starts, x, mean / end


def test_a_radiator_in_a_room_with_a_thermostat() -> None:
    board = Board()
    board.drive()
    board.items["P-1"]["props"]["run_when"] = "TH-1"
    board.item("B-1", "boiler", capacity="50 kW", set_temperature="60 degC")
    board.item("R-1", "room", loss="150 W/K", mass="1 MJ/K", wanted="20 degC", gain="200 W")
    board.item("RA-1", "radiator", ua="300 W/K", serves="R-1")
    board.item("TH-1", "thermostat", senses=["R-1"], set_temperature="21 degC", differential="2 K")
    board.ring("P-1", "S-1", "B-1", "RA-1")
    board.case(outdoor="-5 degC")
    got = simulated(board, 24.0, start={"R-1": "19.5 degC"})
    g = RATE * -math.expm1(-300 / RATE)

    def rates(y: Array, on: bool) -> Array:
        return np.array([(200 - 150 * (y[0] + 5) + (g * (60 - y[0]) if on else 0.0)) / 1e6])

    starts, _, mean = stepped(rates, [19.5], 0, 19.0, 21.0, 86400.0)
    assert got.seen.items["P-1"].starts == pytest.approx(starts, abs=15.0)  # 0.1 s a start
    assert got.rooms["R-1"]["mean_c"] == pytest.approx(float(mean[0]), abs=0.005)


def test_a_floor_in_parts_below_a_room_with_a_thermostat() -> None:
    """Six parts of mass along the circuit, 0.3 of the resistance before them, 0.7 behind."""
    board = Board()
    board.drive()
    board.items["P-1"]["props"]["run_when"] = "TH-1"
    board.item("B-1", "boiler", capacity="50 kW", set_temperature="40 degC")
    board.item("R-1", "room", loss="120 W/K", mass="2 MJ/K", wanted="20 degC")
    board.item("FC-1", "floor_circuit", output_per_degree="400 W/K", mass="5 MJ/K", serves="R-1")
    board.item("TH-1", "thermostat", senses=["R-1"], set_temperature="20.5 degC", differential="1 K")
    board.ring("P-1", "S-1", "B-1", "FC-1")
    board.case(outdoor="-5 degC")
    got = simulated(board, 24.0, start={"R-1": "20 degC"})
    own = -math.expm1(-400 / 0.3 / RATE / 6)
    far = 400 / 0.7 / 6

    def rates(y: Array, on: bool) -> Array:
        room, parts = y[0], y[1:]
        into, water = np.zeros(6), 40.0
        if on:
            for k in range(6):
                into[k] = RATE * own * (water - parts[k])
                water -= own * (water - parts[k])
        out = far * (parts - room)
        return np.concatenate([[(out.sum() - 120 * (room + 5)) / 2e6], (into - out) / (5e6 / 6)])

    starts, _, mean = stepped(rates, [20.0] * 7, 0, 19.5, 20.5, 86400.0)
    assert got.seen.items["P-1"].starts == pytest.approx(starts, abs=3.0)
    assert got.rooms["R-1"]["mean_c"] == pytest.approx(float(mean[0]), abs=0.005)


def test_a_tank_in_two_layers_drawn_and_heated_through_a_coil() -> None:
    board = Board(use="potable")
    board.item("CM-1", "cold_main", pressure="300 kPa", temperature="10 degC")
    taps, coil = {"hot": "1 m", "cold": "0 m"}, {"coil_in": "0.4 m", "coil_out": "0.1 m"}
    more = {"nodes": 2, "tall": "1 m", "taps": taps, "coil_heights": coil, "sensors": {"low": "0.2 m"}}
    board.item("CT-1", "coil_tank", volume="200 L", coil_ua="800 W/K", **more)
    board.item("F-1", "fixture")
    board.pipe("CM-1:at", "CT-1:cold")
    board.pipe("CT-1:hot", "F-1:hot")
    board.body("heating")
    board.drive()
    board.items["P-1"]["props"]["run_when"] = "AQ-1"
    board.item("B-1", "boiler", capacity="60 kW", set_temperature="75 degC")
    senses = {"senses": ["CT-1", "low"], "set_temperature": "55 degC", "differential": "10 K"}
    board.item("AQ-1", "aquastat", **senses)
    board.ring("P-1", "S-1", "B-1", "CT-1:coil_in>coil_out")
    board.case(outdoor="0 degC", draws={"F-1": "0.02 L/s"})
    got = simulated(board, 6.0, start={"CT-1": "50 degC"})
    g, each, w = RATE * -math.expm1(-800 / RATE), 100.0 * CP * RHO / 1000, 0.02 * CP
    strong = 20.0  # [1/s] mixes the layers where the lower one is warmer, as good as at once

    def rates(y: Array, on: bool) -> Array:
        low, top = y
        mixed = strong * each * max(0.0, low - top) * 1e-2
        heat = g * (75 - low) if on else 0.0
        return np.array([(w * (10 - low) + heat - mixed) / each, (w * (low - top) + mixed) / each])

    starts, _, mean = stepped(rates, [50.0, 50.0], 0, 45.0, 55.0, 6 * 3600.0)
    assert len(got.seen.items["P-1"].starts) == pytest.approx(len(starts), abs=1)
    assert got.tanks["CT-1"]["mean_c"] == pytest.approx(float(mean.mean()), abs=0.1)
