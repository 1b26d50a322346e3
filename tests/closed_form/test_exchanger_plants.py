"""Exchangers between bodies: the coupled temperatures solved by hand. Ring flows 0.5 L/s."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI
from iapws import IAPWS97

from core.errors import Refusal
from tests.support.builders import Board, Solved, constant_fluid
from tests.verification.checks import Agrees

SUBJECT = "Whole plants by a second method"

Share = Callable[[float, float], float]


def share_counter(ntu: float, cr: float) -> float:
    if cr == 1:
        return ntu / (1 + ntu)
    decay = math.exp(-ntu * (1 - cr))
    return (1 - decay) / (1 - cr * decay)


def share_parallel(ntu: float, cr: float) -> float:
    return (1 - math.exp(-ntu * (1 + cr))) / (1 + cr)


def two_rings(cold_cp: float = 4000.0, **exchanger: object) -> tuple[Board, list[str], list[str]]:
    """Boiler at 70 degC on side a, a radiator of 400 W/K at 20 degC on side b."""
    board = Board()
    board.drive()
    board.item("B-1", "boiler", capacity="200 kW", set_temperature="70 degC")
    board.item("HX-1", "exchanger", **exchanger)
    first = board.ring("P-1", "S-1", "B-1", "HX-1:a_in>a_out")
    board.body("second", constant_fluid(1000.0, 1e-3, cold_cp))
    board.drive("P-2", "S-2")
    board.item("RA-1", "radiator", ua="400 W/K", room_temperature="20 degC")
    second = board.ring("P-2", "S-2", "HX-1:b_in>b_out", "RA-1")
    return board, first, second


def check(
    got: Solved, first: list[str], second: list[str], share: float, c_hot: float, c_cold: float
) -> None:
    """Three unknowns: hot outlet, cold supply, cold return."""
    least = min(c_hot, c_cold)
    kept = math.exp(-400 / c_cold)
    # c_hot (70 - th) = share least (70 - tr);  c_cold (ts - tr) = the same;  tr = 20 + (ts - 20) kept
    matrix = np.array([[c_hot, 0, -share * least], [0, c_cold, -c_cold + share * least], [0, -kept, 1]])
    right = np.array([c_hot * 70 - share * least * 70, share * least * 70, 20 - 20 * kept])
    hot_back, supply, back = np.linalg.solve(matrix, right)
    duty = share * least * (70 - back)
    assert got.converged
    assert got.items["HX-1"]["effectiveness"] == pytest.approx(share, rel=1e-4)
    assert got.items["HX-1"]["duty_w"] == pytest.approx(duty, rel=2e-4)
    assert got.items["B-1"]["duty_w"] == pytest.approx(duty, rel=2e-4)
    assert got.items["RA-1"]["delivered_w"] == pytest.approx(duty, rel=2e-4)
    assert got.warm(first[3]) == pytest.approx(hot_back, abs=5e-3)
    assert got.warm(second[2]) == pytest.approx(supply, abs=5e-3)
    assert got.warm(second[3]) == pytest.approx(back, abs=5e-3)


@pytest.mark.parametrize("cold_cp", [4000.0, 3000.0, 5000.0])
def test_counter_flow(cold_cp: float) -> None:
    board, first, second = two_rings(cold_cp, ua="3000 W/K")
    least, most = sorted((2000.0, cold_cp * 0.5))
    check(board.solve(), first, second, share_counter(3000 / least, least / most), 2000.0, cold_cp * 0.5)


@pytest.mark.parametrize("cold_cp", [4000.0, 3000.0])
def test_parallel_flow(cold_cp: float) -> None:
    board, first, second = two_rings(cold_cp, ua="3000 W/K", arrangement="parallel")
    least, most = sorted((2000.0, cold_cp * 0.5))
    check(board.solve(), first, second, share_parallel(3000 / least, least / most), 2000.0, cold_cp * 0.5)


@pytest.mark.parametrize(("arrangement", "share"), [("counter", share_parallel), ("parallel", share_counter)])
def test_a_side_piped_backward_turns_the_arrangement_round(arrangement: str, share: Share) -> None:
    """Counter-flow is with the ports as named: against them the same plates run in parallel."""
    board, first, second = two_rings(ua="3000 W/K", arrangement=arrangement)
    into, out = board.pipes[5], board.pipes[6]
    into["to"], out["from"] = ["HX-1", "b_out"], ["HX-1", "b_in"]
    check(board.solve(), first, second, share(1.5, 1.0), 2000.0, 2000.0)


@pytest.mark.parametrize("fouling", [0.25, 0.6])
def test_fouling_takes_a_share_of_ua(fouling: float) -> None:
    board, first, second = two_rings(ua="3000 W/K", fouling=fouling)
    check(board.solve(), first, second, share_counter(1.5 * (1 - fouling), 1), 2000.0, 2000.0)


def test_rated_point_with_its_redundant_outlet() -> None:
    """0.4 L/s 80 to 60 and 0.4 L/s from 40 (to 60): 20 K everywhere, UA = C = 1600 W/K."""
    rated = {
        "a_flow": "0.4 L/s",
        "a_in": "80 degC",
        "a_out": "60 degC",
        "b_flow": "0.4 L/s",
        "b_in": "40 degC",
        "b_out": "60 degC",
    }
    board, first, second = two_rings(rated=rated)
    check(board.solve(), first, second, share_counter(1600 / 2000, 1), 2000.0, 2000.0)


@pytest.mark.parametrize(
    "told",
    [
        {"a_out": "60 degC", "b_out": "60 degC"},
        {"a_out": "60 degC", "b_flow": "0.4 L/s"},
        {"a_flow": "0.4 L/s", "b_out": "60 degC"},
        {"a_flow": "0.4 L/s", "b_flow": "0.4 L/s"},
        {"a_flow": "0.4 L/s", "a_out": "60 degC", "b_flow": "0.4 L/s", "b_out": "60 degC"},
    ],
    ids=" ".join,
)
def test_duty_in_place_of_what_it_tells(told: dict[str, str]) -> None:
    """32 kW at 80 to 60 and 40 to 60 degC: 20 K everywhere, UA = 1600 W/K, whichever flows are left away."""
    rated = {"duty": "32 kW", "a_in": "80 degC", "b_in": "40 degC", **told}
    board, first, second = two_rings(rated=rated)
    check(board.solve(), first, second, share_counter(1600 / 2000, 1), 2000.0, 2000.0)


@pytest.mark.parametrize(
    ("told", "path", "words"),
    [
        ({"duty": "33 kW"}, "duty", "at most 2% apart"),
        ({"duty": "31.5 kW"}, "", ""),
        ({"duty": "32 kW", "a_out": "30 degC"}, "a_out", "a temperature between"),
        ({"duty": "32 kW", "b_out": "39 degC"}, "b_out", "a temperature between"),
        ({"duty": "0 kW"}, "duty", "above 0"),
        ({"duty": "60 degC"}, "duty", "a power"),
        ({"duty": "32 kW", "a_flow": None, "a_out": None}, "a_out", "a_flow or a_out beside duty"),
        ({"a_flow": None}, "a_flow", "or duty"),
        ({"duty": "80 kW", "a_flow": None, "a_out": None, "b_out": "79 degC"}, "a_out", "a_flow or a_out"),
        ({"duty": "32 kW", "a_in": "40 degC", "a_out": None}, "b_in", "another temperature"),
        ({"duty": "32 kW", "dutty": "1 kW"}, "dutty", "The nearest is duty"),
    ],
    ids=str,
)
def test_a_rated_point_that_says_two_things_or_too_little_is_refused(
    told: dict[str, str | None], path: str, words: str
) -> None:
    usual = {
        "a_flow": "0.4 L/s",
        "a_in": "80 degC",
        "a_out": "60 degC",
        "b_flow": "0.4 L/s",
        "b_in": "40 degC",
    }
    rated = {key: value for key, value in {**usual, **told}.items() if value is not None}
    board, *_ = two_rings(rated=rated)
    if not words:
        assert board.solve().converged
        return
    with pytest.raises(Refusal) as caught:
        board.solve()
    assert caught.value.path == f"items[3].props.rated.{path}"
    assert words in str(caught.value)


def test_exchanger_drops_of_both_sides() -> None:
    """10 kPa at 0.5 L/s more on side a: 60 - 60 q = 120 q^2 + 40 q^2."""
    board, first, second = two_rings(
        ua="3000 W/K", a_drops=[["0.5 L/s", "10 kPa"]], b_drops=[["0.25 L/s", "10 kPa"]]
    )
    got = board.solve()
    for pipe, bend in ((first[0], 160.0), (second[0], 280.0)):
        want = (-60 + math.sqrt(3600 + 240 * bend)) / (2 * bend)
        assert got.flow(pipe) * 1e3 == pytest.approx(want, rel=1e-4)


@pytest.mark.parametrize("still", ["P-1", "P-2"])
def test_a_still_side_passes_no_heat(still: str) -> None:
    board, first, second = two_rings(ua="3000 W/K")
    board.items[still]["props"]["run_when"] = False
    got = board.solve()
    assert got.converged
    assert got.items["HX-1"]["duty_w"] == pytest.approx(0, abs=1)
    assert got.items["HX-1"]["effectiveness"] == 0
    assert got.items["RA-1"]["delivered_w"] == pytest.approx(0, abs=1)
    assert got.warm(second[0]) == pytest.approx(20, abs=0.01)
    moving = second if still == "P-1" else first
    assert got.flow(moving[0]) == pytest.approx(0.5e-3, rel=1e-4)
    if still == "P-2":
        assert got.warm(first[0]) == pytest.approx(70, abs=0.01)


@pytest.mark.parametrize("most", [12e3, 100e3])
def test_load_behind_an_exchanger_is_cut_with_its_boiler(most: float) -> None:
    """20 kW wanted across the exchanger: with 12 kW of boiler it is cut, the outlet stays at 70 degC."""
    board, first, second = two_rings(ua="3000 W/K")
    board.items["B-1"]["props"]["capacity"] = f"{most} W"
    board.items["RA-1"] = {**board.items["RA-1"], "kind": "load", "props": {"load": "20 kW"}}
    got = board.solve()
    duty, share = min(most, 20e3), share_counter(1.5, 1)
    assert got.converged
    assert got.items["B-1"]["duty_w"] == pytest.approx(duty, rel=1e-3)
    assert got.items["HX-1"]["duty_w"] == pytest.approx(duty, rel=1e-3)
    assert got.items["RA-1"]["delivered_w"] == pytest.approx(duty, rel=1e-3)
    assert got.items["RA-1"]["short_w"] == pytest.approx(20e3 - duty, abs=20)
    assert got.warm(first[2]) == pytest.approx(70, abs=0.01)
    assert got.warm(first[3]) == pytest.approx(70 - duty / 2000, abs=0.02)
    assert got.warm(second[3]) == pytest.approx(70 - duty / share / 2000, abs=0.02)
    assert got.warm(second[2]) == pytest.approx(70 - duty / share / 2000 + duty / 2000, abs=0.02)


def test_loads_on_both_sides_of_an_exchanger_share_one_fraction() -> None:
    board, _, _ = two_rings(ua="3000 W/K")
    board.items["B-1"]["props"]["capacity"] = "15 kW"
    board.items["RA-1"] = {**board.items["RA-1"], "kind": "load", "props": {"load": "20 kW"}}
    board.item("LD-2", "load", load="10 kW")
    board.pipes[2]["to"] = ["LD-2", "in"]  # boiler, load, exchanger
    board.system = "loop"
    board.pipe("LD-2:out", "HX-1:a_in")
    got = board.solve()
    assert got.converged
    assert got.items["RA-1"]["delivered_w"] == pytest.approx(10e3, rel=2e-3)
    assert got.items["LD-2"]["delivered_w"] == pytest.approx(5e3, rel=2e-3)
    assert got.items["B-1"]["duty_w"] == pytest.approx(15e3, rel=1e-3)


def test_two_exchangers_in_series_on_one_source() -> None:
    """Boiler, then HX-1 to a cold stream once through, then HX-2 to another: two rating problems in turn."""
    board = Board()
    board.drive()
    board.item("B-1", "boiler", capacity="300 kW", set_temperature="75 degC")
    board.item("HX-1", "exchanger", ua="1000 W/K")
    board.item("HX-2", "exchanger", ua="1500 W/K")
    pipes = board.ring("P-1", "S-1", "B-1", "HX-1:a_in>a_out", "HX-2:a_in>a_out")
    for number in ("1", "2"):
        board.body(f"cold-{number}", constant_fluid(), "potable")
        board.item(f"M-{number}", "cold_main", pressure="300 kPa", temperature="10 degC")
        board.item(f"F-{number}", "fixture")
        board.pipe(f"M-{number}:at", f"HX-{number}:b_in")
        board.pipe(f"HX-{number}:b_out", f"F-{number}:cold", f"warm-{number}")
    got = board.case(draws={"F-1": "0.2 L/s", "F-2": "0.4 L/s"}).solve()
    first = share_counter(1000 / 800, 0.4) * 800 * (75 - 10)
    between = 75 - first / 2000
    second = share_counter(1500 / 1600, 0.8) * 1600 * (between - 10)
    assert got.items["HX-1"]["duty_w"] == pytest.approx(first, rel=2e-4)
    assert got.items["HX-2"]["duty_w"] == pytest.approx(second, rel=2e-4)
    assert got.warm(pipes[3]) == pytest.approx(between, abs=5e-3)
    assert got.warm("warm-1") == pytest.approx(10 + first / 800, abs=5e-3)
    assert got.warm("warm-2") == pytest.approx(10 + second / 1600, abs=5e-3)
    assert got.items["B-1"]["duty_w"] == pytest.approx(first + second, rel=2e-4)


def test_water_to_glycol_by_the_librarys_properties(agrees: Agrees) -> None:
    """Water 60 degC to 35 % propylene glycol, flows held at 0.3 L/s; CoolProp and IAPWS carry the heat.

    The glycol is by volume at 60 degF, which is how the ASHRAE-based table counts.
    """
    board = Board({"kind": "water"})
    board.pump("P-1", 200e3, 1e-3)
    board.item("V-1", "balance_valve", cv=20.0, set_flow="0.3 L/s")
    board.item("B-1", "boiler", capacity="100 kW", set_temperature="60 degC")
    board.item("HX-1", "exchanger", ua="1800 W/K")
    first = board.ring("P-1", "V-1", "B-1", "HX-1:a_in>a_out")
    board.body("melt", {"kind": "propylene_glycol", "fraction": 0.35})
    board.pump("P-2", 200e3, 1e-3)
    board.item("V-2", "balance_valve", cv=20.0, set_flow="0.3 L/s")
    board.item("MC-1", "melt_circuit", output_per_degree="600 W/K", room_temperature="0 degC")
    second = board.ring("P-2", "V-2", "HX-1:b_in>b_out", "MC-1")
    got = board.solve()
    hot_back, supply, back = got.warm(first[3]), got.warm(second[2]), got.warm(second[3])
    duty = got.items["HX-1"]["duty_w"]

    def water_heat(flow: float, at: float, hot: float, cold: float) -> float:
        mean = IAPWS97(T=(hot + cold) / 2 + 273.15, P=0.3)
        return flow * IAPWS97(T=at + 273.15, P=0.3).rho * mean.cp * 1e3 * (hot - cold)

    def glycol_heat(flow: float, at: float, hot: float, cold: float) -> float:
        name, mean = "INCOMP::APG[0.35]", (hot + cold) / 2 + 273.15
        rho = PropsSI("D", "T", at + 273.15, "P", 3e5, name)
        return flow * rho * PropsSI("C", "T", mean, "P", 3e5, name) * (hot - cold)

    by_water = water_heat(got.flow(first[0]), hot_back, 60.0, hot_back)
    by_glycol = glycol_heat(got.flow(second[0]), back, supply, back)
    agrees("water to glycol: heat out of the water", duty, by_water, "W", rel=3e-3, source="package iapws")
    agrees("water to glycol: heat into the glycol", duty, by_glycol, "W", rel=5e-3, source="package CoolProp")
    assert got.items["MC-1"]["delivered_w"] == pytest.approx(duty, rel=1e-3)
    c_hot, c_cold = duty / (60 - hot_back), duty / (supply - back)
    least, most = sorted((c_hot, c_cold))
    assert duty == pytest.approx(share_counter(1800 / least, least / most) * least * (60 - back), rel=2e-3)
    assert duty == pytest.approx(c_cold * (1 - math.exp(-600 / c_cold)) * supply, rel=2e-3)


@pytest.mark.parametrize("through", ["exchanger", "coil"])
def test_a_main_behind_a_wall_spares_no_load_before_it(through: str) -> None:
    """The boiler's 20 kW at 60 degC: the wall takes its part of 50 K to the main, the load the rest."""
    board = Board()
    board.drive()
    board.item("B-1", "boiler", capacity="20 kW", set_temperature="60 degC")
    board.item("LD-1", "load", load="15 kW")
    if through == "exchanger":
        board.item("HX-1", "exchanger", ua="300 W/K")
        ends, taps = "HX-1:a_in>a_out", ("b_in", "b_out")
    else:
        board.item("HX-1", "coil_tank", coil_ua="300 W/K", taps={"low": "0 m", "top": "0 m"})
        ends, taps = "HX-1:coil_in>coil_out", ("low", "top")
    board.ring("P-1", "S-1", "B-1", ends, "LD-1")
    board.body("water", use="potable")
    board.item("M-1", "cold_main", pressure="300 kPa", temperature="10 degC")
    board.item("F-1", "fixture")
    board.pipe("M-1:at", f"HX-1:{taps[0]}")
    board.pipe(f"HX-1:{taps[1]}", "F-1:hot")
    got = board.case(draws={"F-1": "0.2 L/s"}).solve()
    if through == "exchanger":
        passed = share_counter(300 / 800, 0.4) * 800 * 50
    else:
        per_kelvin = 2000 * (1 - math.exp(-300 / 2000))
        passed = per_kelvin * 50 * 800 / (per_kelvin + 800)
    figures = got.items["HX-1"]
    assert figures.get("coil_duty_w", figures["duty_w"]) == pytest.approx(passed, rel=1e-4)
    assert got.items["B-1"]["temperature_c"] == pytest.approx(60, abs=1e-2)
    assert got.items["LD-1"]["delivered_w"] == pytest.approx(20e3 - passed, rel=1e-3)
