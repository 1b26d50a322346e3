"""Tanks with a coil in closed form. Coil ring 0.5 L/s, C = 2000 W/K, UA 800 W/K: K = C (1 - exp(-0.4))."""

from __future__ import annotations

import math

import pytest

from tests.support.builders import RHO, Board, G, constant_fluid

C, UA = 2000.0, 800.0
K = C * -math.expm1(-UA / C)


def coil_ring(**tank: object) -> tuple[Board, list[str]]:
    """Boiler at 70 degC on the coil; a main and a fixture on the tank. Pipes: P-S, S-B, B-CT, CT-P."""
    board = Board()
    board.drive()
    board.item("B-1", "boiler", capacity="200 kW", set_temperature="70 degC")
    taps = {"hot": "1.4 m", "cold": "0.1 m"}
    board.item("CT-1", "coil_tank", **{"volume": "300 L", "taps": taps, "coil_ua": f"{UA!r} W/K", **tank})
    pipes = board.ring("P-1", "S-1", "B-1", "CT-1:coil_in>coil_out")
    board.body("water", use="potable")
    board.item("M-1", "cold_main", pressure="300 kPa", temperature="10 degC")
    board.item("F-1", "fixture")
    board.pipe("M-1:at", "CT-1:cold", "cold")
    board.pipe("CT-1:hot", "F-1:hot", "hot")
    return board, pipes


def test_at_a_given_temperature_the_coil_gives_c_one_minus_e() -> None:
    board, pipes = coil_ring()
    got = board.case(tanks={"CT-1": "48 degC"}).solve()
    figures = got.items["CT-1"]
    assert got.converged
    assert got.warm(pipes[3]) == pytest.approx(70 - K * 22 / C, abs=1e-3)
    assert figures["temperature_c"] == pytest.approx(48, abs=1e-9)
    assert figures["coil_duty_w"] == pytest.approx(K * 22, rel=1e-4)
    assert figures["duty_w"] == pytest.approx(K * 22, rel=1e-4)
    assert figures["coil_flow_m3_s"] == pytest.approx(0.5e-3, rel=1e-4)
    assert got.items["B-1"]["duty_w"] == pytest.approx(K * 22, rel=1e-4)


def test_a_hotter_tank_heats_the_coil() -> None:
    board, pipes = coil_ring()
    board.items["B-1"]["props"]["run_when"] = False
    board.item("RA-1", "radiator", ua="400 W/K")
    board.pipes[3]["to"] = ["RA-1", "in"]
    board.body("loop")
    board.pipe("RA-1:out", "P-1:in", "back")
    got = board.case(tanks={"CT-1": "60 degC"}).solve()
    # (60 - t) K = (t' - 20) C (1 - e^-0.2), t' = t + (60 - t)(1 - e^-0.4)
    into, out = math.exp(-0.4), math.exp(-0.2)
    supply = (60 * (1 - into) + 20 * into * (1 - out)) / (1 - into * out)
    assert got.warm(pipes[3]) == pytest.approx(supply, abs=2e-3)
    given = C * (1 - out) * (supply - 20)
    assert got.items["CT-1"]["coil_duty_w"] == pytest.approx(-given, rel=1e-3)
    assert got.items["RA-1"]["delivered_w"] == pytest.approx(given, rel=1e-3)


def test_taps_of_given_temperatures_are_straight_by_height_at_the_coil() -> None:
    """Coil from 0.9 m to 0.3 m: its middle at 0.6 m, between 60 degC at 1.4 m and 20 degC at 0.1 m."""
    board, _ = coil_ring(coil_heights={"coil_in": "0.9 m", "coil_out": "0.3 m"})
    got = board.case(tanks={"CT-1": {"hot": "60 degC", "cold": "20 degC"}}, draws={"F-1": "0.1 L/s"}).solve()
    there = 20 + 40 * 0.5 / 1.3
    assert got.items["CT-1"]["coil_duty_w"] == pytest.approx(K * (70 - there), rel=1e-4)
    assert got.warm("hot") == pytest.approx(60, abs=1e-3)
    assert got.items["CT-1"]["duty_w"] == pytest.approx(K * (70 - there) - 400 * 50, rel=1e-3)


def test_nothing_drawn_the_tank_is_in_balance_with_coil_and_room() -> None:
    """K (70 - T) = UA_loss (T - 20), though no water moves through the tank."""
    board, _ = coil_ring(ua_loss="60 W/K")
    got = board.case().solve()
    want = (K * 70 + 60 * 20) / (K + 60)
    figures = got.items["CT-1"]
    assert got.converged
    assert abs(got.flow("hot")) < 1e-9
    assert figures["temperature_c"] == pytest.approx(want, abs=2e-3)
    assert figures["coil_duty_w"] == pytest.approx(K * (70 - want), rel=1e-3)
    assert figures["duty_w"] == pytest.approx(60 * (want - 20), rel=1e-3)
    assert got.warm("hot") == pytest.approx(want, abs=2e-3), "still water shows its warmer end"


@pytest.mark.parametrize("draw", [0.05, 0.2])
def test_drawn_and_heated_at_once(draw: float) -> None:
    """K (70 - T) + element + C_d 10 + UA_loss 20 = (C_d + UA_loss) T."""
    board, _ = coil_ring(ua_loss="5 W/K", element="2 kW")
    got = board.case(draws={"F-1": f"{draw!r} L/s"}).solve()
    rate = draw * 4000
    want = (K * 70 + 2000 + rate * 10 + 5 * 20) / (K + rate + 5)
    figures = got.items["CT-1"]
    assert got.warm("hot") == pytest.approx(want, abs=2e-3)
    assert figures["coil_duty_w"] == pytest.approx(K * (70 - want), rel=1e-3)
    assert figures["duty_w"] == pytest.approx(5 * (want - 20), rel=2e-3), "what the loss carries off"
    assert got.items["B-1"]["duty_w"] == pytest.approx(figures["coil_duty_w"], rel=1e-5)


def test_a_source_at_its_limit_through_the_coil() -> None:
    """12 kW go into the tank, drawn at 0.2 L/s without loss: 10 + 12000/800; the coil's inlet follows."""
    board, pipes = coil_ring()
    board.items["B-1"]["props"]["capacity"] = "12 kW"
    got = board.case(draws={"F-1": "0.2 L/s"}).solve()
    tank = 10 + 12e3 / 800
    assert got.warm("hot") == pytest.approx(tank, abs=2e-3)
    assert got.warm(pipes[2]) == pytest.approx(tank + 12e3 / K, abs=2e-3)
    assert got.noted("B-1", "capacity")


def test_a_load_behind_the_tank_is_cut_with_the_source_before_the_coil() -> None:
    """A closed tank body with a load alone: its water is heated through the coil by a boiler of 5 kW."""
    board = Board()
    board.drive()
    board.item("B-1", "boiler", capacity="5 kW", set_temperature="70 degC")
    board.item("CT-1", "coil_tank", taps={"top": "1 m", "low": "0 m"}, coil_ua=f"{UA!r} W/K")
    pipes = board.ring("P-1", "S-1", "B-1", "CT-1:coil_in>coil_out")
    board.body("second")
    board.drive("P-2", "S-2")
    board.item("LD-1", "load", load="8 kW")
    board.ring("P-2", "S-2", "LD-1", "CT-1:low>top")
    got = board.solve()
    assert got.items["LD-1"]["delivered_w"] == pytest.approx(5e3, rel=1e-3)
    assert got.items["CT-1"]["coil_duty_w"] == pytest.approx(5e3, rel=1e-3)
    assert got.warm(pipes[2]) == pytest.approx(70, abs=1e-2)
    assert got.items["CT-1"]["temperature_c"] == pytest.approx(70 - 5e3 / K, abs=1e-2)


def test_without_ua_the_coil_passes_no_heat_and_says_so() -> None:
    board, _ = coil_ring(coil_ua="0 W/K")
    got = board.case(tanks={"CT-1": "48 degC"}).solve()
    assert got.items["CT-1"]["coil_duty_w"] == pytest.approx(0, abs=1e-6)
    assert got.noted("CT-1", "coil_ua")


def test_the_coil_has_its_own_body_and_its_own_drops() -> None:
    board, pipes = coil_ring(coil_drops=[["0.5 L/s", "12 kPa"]])
    board.items["S-1"]["props"]["drops"] = [["0.5 L/s", "18 kPa"]]
    got = board.case(tanks={"CT-1": "48 degC"}).solve()
    assert got.flow(pipes[0]) == pytest.approx(0.5e-3, rel=1e-4)
    assert got.pressure("hot") == pytest.approx(300e3 - 1.4 * RHO * G, abs=5)
    fall = got.pipes[pipes[2]]["pressure_out_pa"] - got.pressure(pipes[3])
    assert fall == pytest.approx(12e3, rel=1e-3)


def test_warm_water_rises_through_a_coil_above_its_boiler() -> None:
    """No pump: rho beta dT g dz over the hot leg equals the coil's drop; dz between boiler and coil middles.

    Fluid of constant heat capacity whose density falls 0.0004 per kelvin; pipes lose nothing, so the hot leg
    stands at 70 degC, the cold one at the coil's outlet, the boiler and the coil at means of theirs.
    """
    beta, drop = 4e-4, 3e3
    board = Board(constant_fluid(expansion=f"{beta!r} 1/K", reference="20 degC"))
    board.item("B-1", "boiler", capacity="200 kW", set_temperature="70 degC")
    heights = {"coil_in": "3.2 m", "coil_out": "2.8 m"}
    board.item(
        "CT-1",
        "coil_tank",
        taps={"hot": "1 m"},
        coil_ua=f"{UA!r} W/K",
        coil_heights=heights,
        coil_drops=[["0.5 L/s", f"{drop!r} Pa"]],
    )
    pipes = board.ring("B-1", "CT-1:coil_in>coil_out")
    got = board.case(tanks={"CT-1": "40 degC"}).solve()
    assert got.converged
    flow, out = got.flow(pipes[0]), got.warm(pipes[1])
    assert flow > 1e-5
    mass = flow * RHO * (1 - beta * 50)
    assert out == pytest.approx(40 + 30 * math.exp(-UA / (mass * 4000)), abs=0.01)
    mean = (70 + out) / 2
    column = RHO * beta * G * (70 * 3.2 - mean * 0.4 - out * 2.8)
    lost = drop * (mass / (RHO * (1 - beta * (mean - 20))) / 0.5e-3) ** 2
    assert lost == pytest.approx(column, rel=2e-3)


def test_a_stat_holds_the_tank_by_its_coil() -> None:
    """K (70 - 55) for its share of the time is what draw and room take at 55 degC, C_d 45 + UA_loss 35."""
    board, _ = coil_ring(ua_loss="20 W/K", sensors={"mid": "0.7 m"})
    board.item("AQ-1", "aquastat", senses=["CT-1", "mid"], set_temperature="55 degC", differential="4 K")
    board.items["P-1"]["props"]["run_when"] = "AQ-1"
    got = board.case(draws={"F-1": "0.05 L/s"}).solve()
    assert got.converged
    assert got.warm("hot") == pytest.approx(55, abs=1e-2)
    assert got.items["CT-1"]["coil_duty_w"] == pytest.approx(K * 15, rel=1e-3)
    assert got.items["CT-1"]["duty_share"] == pytest.approx((200 * 45 + 20 * 35) / (K * 15), rel=1e-3)
