"""Emitters in closed form on a ring of C = 2000 W/K behind a boiler at a known temperature."""

from __future__ import annotations

import math
from typing import Any

import pytest
from scipy.optimize import brentq

from tests.support.builders import Board, Solved, c

C = 2000.0


def ring(kind: str, supply: float = 60.0, **emitter: Any) -> tuple[Solved, list[str]]:
    board = Board()
    board.drive()
    board.item("B-1", "boiler", capacity="200 kW", set_temperature=c(supply))
    board.item("E-1", kind, **emitter)
    pipes = board.ring("P-1", "S-1", "B-1", "E-1")
    return board.solve(), pipes


def check(got: Solved, pipes: list[str], heat: float, supply: float = 60.0) -> None:
    assert got.converged
    assert got.items["E-1"]["delivered_w"] == pytest.approx(heat, rel=1e-4, abs=0.5)
    assert got.items["B-1"]["duty_w"] == pytest.approx(heat, rel=1e-4, abs=0.5)
    assert got.warm(pipes[2]) == pytest.approx(supply, abs=2e-3)
    assert got.warm(pipes[3]) == pytest.approx(supply - heat / C, abs=2e-3)


@pytest.mark.parametrize("kind", ["floor_circuit", "melt_circuit", "radiator", "fan_coil"])
@pytest.mark.parametrize("size", [50.0, 2000.0, 20000.0])
def test_heat_of_a_given_size(kind: str, size: float) -> None:
    name = "output_per_degree" if "circuit" in kind else "ua"
    got, pipes = ring(kind, **{name: f"{size} W/K", "room_temperature": "18 degC"})
    heat = C * (1 - math.exp(-size / C)) * (60 - 18)
    check(got, pipes, heat)
    assert got.items["E-1"]["wanted_w"] == pytest.approx(heat, rel=1e-4)
    assert got.items["E-1"]["short_w"] == pytest.approx(0, abs=1)


def test_room_is_the_sites_where_nothing_else_is_said() -> None:
    got, pipes = ring("radiator", ua="300 W/K")
    check(got, pipes, C * (1 - math.exp(-300 / C)) * (60 - 20))


@pytest.mark.parametrize("kind", ["floor_circuit", "melt_circuit", "radiator"])
@pytest.mark.parametrize("wanted", [5e3, 15e3])
def test_load_beside_a_size_is_wanted_not_taken(kind: str, wanted: float) -> None:
    """Floor, melt and radiator give what is possible, wanted or not."""
    name = "output_per_degree" if "circuit" in kind else "ua"
    got, pipes = ring(kind, **{name: "300 W/K", "room_temperature": "20 degC", "load": f"{wanted} W"})
    possible = C * (1 - math.exp(-300 / C)) * 40
    check(got, pipes, possible)
    assert got.items["E-1"]["wanted_w"] == pytest.approx(wanted, rel=1e-6)
    assert got.items["E-1"]["short_w"] == pytest.approx(max(0.0, wanted - possible), abs=1)


@pytest.mark.parametrize("wanted", [5e3, 15e3])
def test_fan_coil_gives_no_more_than_wanted(wanted: float) -> None:
    got, pipes = ring("fan_coil", ua="300 W/K", room_temperature="20 degC", load=f"{wanted} W")
    possible = C * (1 - math.exp(-300 / C)) * 40
    check(got, pipes, min(wanted, possible))
    assert got.items["E-1"]["wanted_w"] == pytest.approx(wanted, rel=1e-6)
    assert got.items["E-1"]["short_w"] == pytest.approx(max(0.0, wanted - possible), abs=1)


@pytest.mark.parametrize("most", [2e3, 3e3, 5e3, 12e3])
def test_fan_coil_behind_a_boiler_of_middling_size(most: float) -> None:
    """It wants 2.7 kW and could take far more: below that capacity the outlet falls short, above it holds."""
    board = Board()
    board.drive()
    board.item("B-1", "boiler", capacity=f"{most} W", set_temperature="65 degC")
    board.item("E-1", "fan_coil", ua="390 W/K", room_temperature="15 degC", load="2.7 kW")
    pipes = board.ring("P-1", "S-1", "B-1", "E-1")
    got = board.solve()
    heat = min(most, 2.7e3)
    supply = 65.0 if most > 2.7e3 else 15 + most / (C * (1 - math.exp(-390 / C)))
    check(got, pipes, heat, supply)
    assert got.items["E-1"]["short_w"] == pytest.approx(2.7e3 - heat, abs=1)


@pytest.mark.parametrize("kind", ["floor_circuit", "melt_circuit", "radiator", "fan_coil"])
def test_load_alone_is_always_delivered(kind: str) -> None:
    got, pipes = ring(kind, load="9 kW")
    check(got, pipes, 9e3)
    assert got.items["E-1"]["wanted_w"] == pytest.approx(9e3, rel=1e-6)


@pytest.mark.parametrize("exponent", [1.0, 1.1, 1.3, 1.5])
@pytest.mark.parametrize("supply", [40.0, 75.0, 85.0])
def test_radiator_scales_with_the_log_mean_difference(exponent: float, supply: float) -> None:
    """Rated 8 kW at 0.25 L/s, 75 degC over 20 degC; heat = UA0 LMTD^n / LMTD0^(n-1) at the ring's flow."""
    rated = {"heat": "8 kW", "flow": "0.25 L/s", "supply": "75 degC", "room": "20 degC", "exponent": exponent}
    got, pipes = ring("radiator", supply, rated=rated, room_temperature="21 degC")
    rated_back = 75 - 8e3 / 1000.0
    rated_mean = (75 - rated_back) / math.log((75 - 20) / (rated_back - 20))
    size = 8e3 / rated_mean

    def excess(back: float) -> float:
        mean = (supply - back) / math.log((supply - 21) / (back - 21))
        return C * (supply - back) - size * mean**exponent / rated_mean ** (exponent - 1)

    back = brentq(excess, 21 + 1e-6, supply - 1e-9)
    check(got, pipes, C * (supply - back), supply)


def test_half_heat_by_exponent() -> None:
    """A radiator of exponent 1.3 gives half at 29.34 K where it gives all at 50 K (EN 442, case F10)."""
    heats = []
    for difference in (50.0, 29.33651):
        # ring flow is so large against the heat that the mean difference is near the supply's; closed below
        rated = {"heat": "1 kW", "flow": "10 L/s", "supply": "70 degC", "room": "20 degC", "exponent": 1.3}
        got, _ = ring("radiator", 20 + difference, rated=rated, room_temperature="20 degC")
        heats.append(got.items["E-1"]["delivered_w"])
    assert heats[1] / heats[0] == pytest.approx(0.5, rel=5e-3)


def test_emitters_in_series_and_in_parallel() -> None:
    """Two floors side by side with known drops (0.2 and 0.1 L/s at the same pressure), then a radiator."""
    board = Board()
    board.pump("P-1", 60e3, 0.6e-3)  # straight; 30 kPa at 0.3 L/s
    board.resistance("S-1", 0.3e-3, 10e3)
    board.resistance("S-2", 0.2e-3, 20e3)
    board.resistance("S-3", 0.1e-3, 20e3)
    board.item("B-1", "boiler", capacity="100 kW", set_temperature="45 degC")
    board.item("FC-1", "floor_circuit", output_per_degree="150 W/K", room_temperature="20 degC")
    board.item("FC-2", "floor_circuit", output_per_degree="250 W/K", room_temperature="20 degC")
    board.item("RA-1", "radiator", ua="100 W/K", room_temperature="18 degC")
    board.item("J-1", "joint")
    board.item("J-2", "joint")
    board.chain("J-1", "S-2", "FC-1", "J-2")
    board.chain("J-1", "S-3", "FC-2", "J-2")
    last = board.chain("J-2", "RA-1", "P-1", "S-1", "B-1", "J-1")
    got = board.solve()
    assert got.flow(last[0]) == pytest.approx(0.3e-3, rel=1e-3)
    one = 20 + 25 * math.exp(-150 / 800)
    two = 20 + 25 * math.exp(-250 / 400)
    mixed = (2 * one + two) / 3
    assert got.items["FC-1"]["delivered_w"] == pytest.approx(800 * (45 - one), rel=1e-3)
    assert got.items["FC-2"]["delivered_w"] == pytest.approx(400 * (45 - two), rel=1e-3)
    assert got.warm(last[0]) == pytest.approx(mixed, abs=0.01)
    assert got.items["RA-1"]["delivered_w"] == pytest.approx(
        1200 * (1 - math.exp(-100 / 1200)) * (mixed - 18), rel=1e-3
    )


def test_no_flow_delivers_nothing() -> None:
    board = Board()
    board.pump("P-1", 60e3, 1e-3, run_when=False)
    board.item("B-1", "boiler", capacity="30 kW", set_temperature="60 degC")
    board.item("RA-1", "radiator", ua="300 W/K", room_temperature="20 degC", load="4 kW")
    board.item("FC-1", "load", load="5 kW")
    pipes = board.ring("P-1", "B-1", "RA-1", "FC-1")
    got = board.solve()
    assert got.converged
    for name, wanted in (("RA-1", 4e3), ("FC-1", 5e3)):
        assert got.items[name]["delivered_w"] == 0
        assert got.items[name]["wanted_w"] == pytest.approx(wanted)
        assert got.items[name]["short_w"] == 0.0, "what is not called is not short"
    assert all(abs(got.flow(pipe)) < 1e-9 for pipe in pipes)
    assert got.notes, "no flow is said at an id of the body"


def test_melt_circuit_in_the_cold() -> None:
    got, pipes = ring(
        "melt_circuit", 45.0, output_per_degree="500 W/K", room_temperature="-2 degC", load="30 kW"
    )
    heat = C * (1 - math.exp(-500 / C)) * 47
    check(got, pipes, heat, 45.0)
    assert got.items["E-1"]["short_w"] == pytest.approx(30e3 - heat, rel=1e-3)


def test_room_warmer_than_the_water_gives_heat() -> None:
    """The law has no valve in it: water at 15 degC in a room of 25 degC is warmed."""
    board = Board(use="potable")
    board.item("M-1", "cold_main", pressure="300 kPa", temperature="15 degC")
    board.item("RA-1", "radiator", ua="300 W/K", room_temperature="25 degC")
    board.item("F-1", "fixture")
    board.chain("M-1", "RA-1")
    board.pipe("RA-1:out", "F-1:cold", "out")
    got = board.case(draws={"F-1": "0.1 L/s"}).solve()
    assert got.warm("out") == pytest.approx(25 - 10 * math.exp(-300 / 400), abs=2e-3)
    assert got.items["RA-1"]["delivered_w"] == pytest.approx(-400 * 10 * (1 - math.exp(-0.75)), rel=1e-3)


def test_a_floor_whose_load_is_typed_says_what_it_would_give_by_itself():
    board = Board()
    board.item("B-1", "boiler", capacity="40 kW", set_temperature="45 degC")
    board.drive()
    props = {"area": "40 m2", "load": "9 kW", "room_temperature": "20 degC"}
    board.item("FC-1", "floor_circuit", construction="slab", **props)
    board.ring("P-1", "S-1", "B-1", "FC-1")
    solved = board.solve()
    own = C * -math.expm1(-6.0 * 40.0 / C) * 25.0  # the slab's 6 W/m²K at the usual spacing
    assert solved.items["FC-1"]["delivered_w"] == pytest.approx(9000.0)
    said = next(text for at, text in solved.notes if at == "FC-1" and "taken as typed" in text)
    assert f"about {own / 1000.0:.2f} kW with water of 45.0 °C" in said
    del board.items["FC-1"]["props"]["load"]
    assert not board.solve().noted("FC-1", "taken as typed")


@pytest.mark.parametrize("kind", ["load", "floor_circuit", "radiator"])
@pytest.mark.parametrize(("least", "heat"), [(45.0, 30e3), (52.0, 16e3), (60.0, 0.0)])
def test_a_load_takes_nothing_below_its_least_return(kind: str, least: float, heat: float) -> None:
    """Of water at 60 degC with C = 2000 W/K it takes the lesser of 30 kW and C (60 - least)."""
    got, pipes = ring(kind, load="30 kW", least_return=c(least))
    check(got, pipes, heat)
    assert got.items["E-1"]["short_w"] == pytest.approx(30e3 - heat, abs=1.0)
