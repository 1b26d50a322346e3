"""Three-way valves in closed form: sharing and parting by position, holding a temperature, failing to."""

from __future__ import annotations

import math

import pytest

from tests.support.builders import GPM, PSI, RHO, Board, Solved, c, pa

CV = 4.0


def loss(cv: float, flow: float) -> float:
    return (flow / GPM / cv) ** 2 * PSI * RHO / 999.0


@pytest.mark.parametrize("position", [0.0, 0.3, 0.8, 1.0])
def test_mixing_by_position_shares_as_its_openings(position: float) -> None:
    """Both mains at 300 kPa: the same fall over both legs, so flows are as their Cv, x to 1 - x."""
    board = Board(use="potable")
    board.item("M-1", "cold_main", pressure="300 kPa", temperature="60 degC")
    board.item("M-2", "cold_main", pressure="300 kPa", temperature="10 degC")
    board.item("TV-1", "three_way_valve", cv=CV, position=position)
    board.item("F-1", "fixture")
    board.pipe("M-1:at", "TV-1:a", "a")
    board.pipe("M-2:at", "TV-1:b", "b")
    board.pipe("TV-1:ab", "F-1:cold", "ab")
    got = board.case(draws={"F-1": "0.2 L/s"}).solve()
    figures = got.items["TV-1"]
    assert got.converged
    assert got.flow("a") == pytest.approx(position * 0.2e-3, rel=1e-6, abs=1e-12)
    assert got.flow("b") == pytest.approx((1 - position) * 0.2e-3, rel=1e-6, abs=1e-12)
    assert got.warm("ab") == pytest.approx(10 + 50 * position, abs=1e-3)
    assert figures["temperature_c"] == pytest.approx(10 + 50 * position, abs=1e-3)
    assert figures["a_share"] == pytest.approx(position, abs=1e-6)
    assert figures["flow_m3_s"] == pytest.approx(0.2e-3, rel=1e-6)
    assert got.pressure("ab") == pytest.approx(300e3 - loss(CV, 0.2e-3), rel=1e-6)


@pytest.mark.parametrize("position", [0.0, 0.25, None, 1.0])
def test_parting_by_position(position: float | None) -> None:
    """Pump into ab, both legs back to one joint: together one valve of its own Cv, (x + 1 - x) times it."""
    board = Board()
    board.pump("P-1", 60e3, 1e-3)
    props = {} if position is None else {"position": position}
    board.item("TV-1", "three_way_valve", cv=CV, **props)
    board.item("J-1", "joint")
    board.pipe("P-1:out", "TV-1:ab", "ab")
    board.pipe("TV-1:a", "J-1:at", "a")
    board.pipe("TV-1:b", "J-1:at", "b")
    board.pipe("J-1:at", "P-1:in")
    got = board.solve()
    share = 0.5 if position is None else position
    quad, line = loss(CV, 1.0), 60e3 / 1e-3
    want = (-line + math.sqrt(line**2 + 4 * quad * 60e3)) / (2 * quad)
    assert got.flow("ab") == pytest.approx(want, rel=1e-6)
    assert got.flow("a") == pytest.approx(share * want, rel=1e-6, abs=1e-12)
    assert got.flow("b") == pytest.approx((1 - share) * want, rel=1e-6, abs=1e-12)
    assert got.items["TV-1"]["flow_m3_s"] == pytest.approx(-want, rel=1e-6)
    assert got.items["TV-1"]["a_share"] == pytest.approx(share, abs=1e-6)
    assert got.noted("TV-1", "halfway") == (position is None)


def mixed_circuit(target: float, supply: str = "a", push: float = 0.0, capacity: str = "90 kW") -> Board:
    """Boiler at 70 degC, radiator of 400 W/K at 20 degC, its pump behind ab, its return to the other leg.

    With `push` [Pa] the boiler has a pump of its own, so that its water runs backward through the other leg
    while the valve stands open.
    """
    other = "b" if supply == "a" else "a"
    board = Board()
    board.drive("P-1", "S-1")
    board.item("B-1", "boiler", capacity=capacity, set_temperature="70 degC")
    board.item("RA-1", "radiator", ua="400 W/K")
    board.item("TV-1", "three_way_valve", cv=20.0, target=c(target))
    board.item("J-1", "joint")
    board.pipe("TV-1:ab", "P-1:in", "ab")
    board.chain("P-1", "S-1", "RA-1", "J-1")
    board.pipe("J-1:at", f"TV-1:{other}", "back")
    if push:
        board.pump("P-2", push, 2e-3)
        board.chain("J-1", "P-2", "B-1")
    else:
        board.chain("J-1", "B-1")
    board.pipe("B-1:out", f"TV-1:{supply}", "hot")
    return board


def check_held(got: Solved, target: float, supply: str) -> None:
    """Return by the emitter's law; the boiler brings what the radiator gives; shares by the mixing rule."""
    assert got.converged
    rate = got.flow("ab") * RHO * 4000.0
    back = 20 + (target - 20) * math.exp(-400 / rate)
    assert got.warm("ab") == pytest.approx(target, abs=0.02)
    assert got.warm("back") == pytest.approx(back, abs=0.02)
    share = (target - back) / (70 - back)
    assert got.flow("hot") == pytest.approx(share * got.flow("ab"), rel=2e-3)
    assert got.flow("hot") + got.flow("back") == pytest.approx(got.flow("ab"), rel=1e-6)
    assert got.items["B-1"]["duty_w"] == pytest.approx(rate * (target - back), rel=2e-3)
    a_share = share if supply == "a" else 1 - share
    assert got.items["TV-1"]["a_share"] == pytest.approx(a_share, abs=2e-3)
    assert not got.noted("TV-1")


@pytest.mark.parametrize("supply", ["a", "b"])
@pytest.mark.parametrize("target", [30.0, 45.0, 65.0])
def test_holds_its_target_whichever_leg_is_warm(target: float, supply: str) -> None:
    check_held(mixed_circuit(target, supply).solve(), target, supply)


@pytest.mark.parametrize("supply", ["a", "b"])
@pytest.mark.parametrize("push", [5e3, 80e3])
def test_holds_its_target_against_a_pump_that_pushes_back(push: float, supply: str) -> None:
    check_held(mixed_circuit(45.0, supply, push).solve(), 45.0, supply)


def test_at_the_end_of_its_travel_it_says_so() -> None:
    got = mixed_circuit(85.0).solve()
    assert got.items["TV-1"]["a_share"] == pytest.approx(1.0, abs=1e-6)
    assert got.items["TV-1"]["position"] == 1.0
    assert got.warm("ab") == pytest.approx(70, abs=1e-3)
    assert abs(got.flow("back")) < 1e-9
    assert got.noted("TV-1", r"85.0 °C.*70.0 °C.*all from a")


def test_two_waters_that_are_both_too_warm() -> None:
    board = Board(use="potable")
    board.item("M-1", "cold_main", pressure="300 kPa", temperature="60 degC")
    board.item("M-2", "cold_main", pressure="300 kPa", temperature="50 degC")
    board.item("TV-1", "three_way_valve", cv=CV, target="40 degC")
    board.item("F-1", "fixture")
    for main, leg in (("M-1", "a"), ("M-2", "b")):
        board.pipe(f"{main}:at", f"TV-1:{leg}", leg)
    board.pipe("TV-1:ab", "F-1:cold", "ab")
    got = board.case(draws={"F-1": "0.2 L/s"}).solve()
    assert got.warm("ab") == pytest.approx(50, abs=1e-3)
    assert abs(got.flow("a")) < 1e-9
    assert got.noted("TV-1", "all from b")


def test_a_target_means_nothing_where_water_parts() -> None:
    board = Board()
    board.pump("P-1", 60e3, 1e-3)
    board.item("TV-1", "three_way_valve", cv=CV, target="40 degC")
    board.item("J-1", "joint")
    board.pipe("P-1:out", "TV-1:ab", "ab")
    board.pipe("TV-1:a", "J-1:at", "a")
    board.pipe("TV-1:b", "J-1:at", "b")
    board.pipe("J-1:at", "P-1:in")
    got = board.solve()
    assert got.converged
    assert got.flow("a") == pytest.approx(got.flow("b"), rel=1e-6)
    assert got.noted("TV-1", "nothing to mix")


def test_nothing_is_drawn_and_nothing_crosses_a_shut_leg() -> None:
    board = Board(use="potable")
    for main, pressure in (("M-1", 400e3), ("M-2", 200e3)):
        board.item(main, "cold_main", pressure=pa(pressure))
    board.item("TV-1", "three_way_valve", cv=CV, position=0.0)
    board.item("F-1", "fixture")
    board.pipe("M-1:at", "TV-1:a", "a")
    board.pipe("M-2:at", "TV-1:b", "b")
    board.pipe("TV-1:ab", "F-1:cold", "ab")
    got = board.case(draws={"F-1": "0 L/s"}).solve()
    assert got.converged
    assert abs(got.flow("a")) < 1e-9
    assert abs(got.flow("b")) < 1e-9
