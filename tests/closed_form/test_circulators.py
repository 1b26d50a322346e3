"""Circulators in closed form: straight curves against square losses, so every answer is a quadratic."""

from __future__ import annotations

import math
from typing import Any

import pytest
from scipy.interpolate import PchipInterpolator
from scipy.optimize import brentq

from tests.support.builders import PSI, RHO, Board, G, Solved, c, flow, pa, w


def straight(head: float, slope: float, bend: float) -> float:
    """Flow where head - slope q = bend q^2 (kPa and L/s)."""
    return (-slope + math.sqrt(slope**2 + 4 * bend * head)) / (2 * bend)


def litres(got: Solved, ident: str) -> float:
    return float(got.items[ident]["flow_m3_s"]) * 1e3


def head_kpa(got: Solved, ident: str) -> float:
    return float(got.items[ident]["head_m"]) * RHO * 9.80665 / 1e3


@pytest.mark.parametrize("speed", [1.0, 0.7, 0.3, 1.2])
def test_speed_by_affinity(speed: float) -> None:
    """s^2 H1(Q/s): 60 s^2 - 60 s q = 120 q^2."""
    board = Board()
    board.pump("P-1", 60e3, 1e-3, speed=speed)
    board.resistance("S-1", 0.5e-3, 30e3)
    board.ring("P-1", "S-1")
    got = board.solve()
    want = straight(60 * speed**2, 60 * speed, 120)
    assert litres(got, "P-1") == pytest.approx(want, rel=1e-4)
    assert head_kpa(got, "P-1") == pytest.approx(120 * want**2, rel=2e-4)
    assert got.items["P-1"]["running"] is True
    assert got.items["P-1"]["speed"] == pytest.approx(speed)


def test_curve_between_and_beyond_its_points() -> None:
    """PCHIP through three points; beyond the last the end slope goes on."""
    flows, heads = [0.0, 0.4, 0.8], [60.0, 50.0, 20.0]
    curve = [[flow(q * 1e-3), pa(h * 1e3)] for q, h in zip(flows, heads, strict=True)]
    inside = PchipInterpolator(flows, heads)
    slope = float(inside.derivative()(0.8))

    def head(q: float) -> float:
        return float(inside(q)) if q <= 0.8 else 20 + slope * (q - 0.8)

    for bend in (500.0, 100.0, 20.0, 5.0):
        board = Board()
        board.item("P-1", "circulator", curve=curve)
        board.resistance("S-1", 0.5e-3, bend * 250)
        board.ring("P-1", "S-1")
        want = brentq(lambda q, bend=bend: head(q) - bend * q * q, 1e-6, 2.0)
        assert litres(board.solve(), "P-1") == pytest.approx(want, rel=2e-4), bend


def test_drops_between_and_beyond_their_points() -> None:
    """PCHIP through the origin and two points, beyond the last as the square through it."""
    points = PchipInterpolator([0.0, 0.2, 0.5], [0.0, 8.0, 30.0])
    for head in (5.0, 20.0, 80.0):
        board = Board()
        board.pump("P-1", head * 1e3, 2e-3)
        board.item("S-1", "flow_meter", drops=[["0.2 L/s", "8 kPa"], ["0.5 L/s", "30 kPa"]])
        board.ring("P-1", "S-1")

        def excess(q: float, head: float = head) -> float:
            loss = float(points(q)) if q <= 0.5 else 30 * (q / 0.5) ** 2
            return head * (1 - q / 2) - loss

        assert litres(board.solve(), "P-1") == pytest.approx(brentq(excess, 1e-6, 2.0), rel=2e-4)


def test_two_unlike_circulators_in_one_loop() -> None:
    """Heads add: (60 - 60 q) + (20 - 20 q) = 120 q^2."""
    board = Board()
    board.pump("P-1", 60e3, 1e-3)
    board.pump("P-2", 20e3, 1e-3)
    board.resistance("S-1", 0.5e-3, 30e3)
    board.ring("P-1", "S-1", "P-2")
    got = board.solve()
    want = straight(80, 80, 120)
    assert litres(got, "P-2") == pytest.approx(want, rel=1e-4)
    assert head_kpa(got, "P-1") == pytest.approx(60 - 60 * want, rel=1e-3)
    assert head_kpa(got, "P-2") == pytest.approx(20 - 20 * want, rel=1e-3)


def test_two_unlike_circulators_side_by_side() -> None:
    """At one head h: (60 - h)/60 + (40 - h)/80 through 120 q^2."""
    board = Board()
    board.pump("P-1", 60e3, 1e-3)
    board.pump("P-2", 40e3, 0.5e-3)
    board.resistance("S-1", 0.5e-3, 30e3)
    for name in ("J-1", "J-2"):
        board.item(name, "joint")
    board.chain("J-1", "P-1", "J-2", "S-1", "J-1")
    board.chain("J-1", "P-2", "J-2")
    got = board.solve()

    def excess(h: float) -> float:
        return math.sqrt(h / 120) - (60 - h) / 60 - (40 - h) / 80

    h = brentq(excess, 0.1, 40)
    assert litres(got, "P-1") == pytest.approx((60 - h) / 60, rel=3e-4)
    assert litres(got, "P-2") == pytest.approx((40 - h) / 80, rel=3e-4)


def beside(second: dict[str, Any], first_head: float = 60e3) -> Solved:
    """P-1 (60 - 60 q) runs, P-2 beside it as told (own curve 40 kPa to 0.5 L/s); loop loses 120 q^2."""
    board = Board()
    board.pump("P-1", first_head, 1e-3)
    board.pump("P-2", 40e3, 0.5e-3, **second)
    board.resistance("S-1", 0.5e-3, 30e3)
    for name in ("J-1", "J-2"):
        board.item(name, "joint")
    board.chain("J-1", "P-1", "J-2", "S-1", "J-1")
    board.chain("J-1", "P-2", "J-2")
    return board.solve()


@pytest.mark.parametrize("stopped_cv", [None, 1.5])
def test_stopped_circulator_lets_water_back(stopped_cv: float | None) -> None:
    """Its loss H1(0) Q|Q| / Q0^2 = 160 q^2 (kPa, L/s), or that of `stopped_cv`."""
    got = beside({"run_when": False, **({"stopped_cv": stopped_cv} if stopped_cv else {})})
    gpm = 1e-3 / (231 * 0.0254**3 / 60)
    loss = 160.0 if stopped_cv is None else PSI / 1e3 * (gpm / stopped_cv) ** 2 * RHO / 999.0

    def excess(h: float) -> float:
        return (60 - h) / 60 - math.sqrt(h / 120) - math.sqrt(h / loss)

    h = brentq(excess, 1e-6, 60)
    assert litres(got, "P-2") == pytest.approx(-math.sqrt(h / loss), rel=3e-4)
    assert litres(got, "P-1") == pytest.approx((60 - h) / 60, rel=3e-4)
    assert litres(got, "S-1") == pytest.approx(math.sqrt(h / 120), rel=3e-4)
    assert got.items["P-2"]["running"] is False


def test_integral_check_keeps_water_from_going_back() -> None:
    got = beside({"run_when": False, "integral_check": True})
    assert abs(got.items["P-2"]["flow_m3_s"]) < 1e-9
    assert litres(got, "P-1") == pytest.approx(0.5, rel=1e-4)


def test_running_circulator_pushed_backward() -> None:
    """P-1 at 300 kPa drives P-2 (40 kPa) back: its loss stands on top of its shut-off head."""
    got = beside({}, first_head=300e3)

    def excess(h: float) -> float:
        back = math.sqrt(max(0.0, h - 40) / 160)
        return (300 - h) / 300 - math.sqrt(h / 120) - back

    h = brentq(excess, 40, 300)
    assert litres(got, "P-2") == pytest.approx(-math.sqrt((h - 40) / 160), rel=1e-3)
    assert litres(got, "S-1") == pytest.approx(math.sqrt(h / 120), rel=3e-4)


def test_running_circulator_held_shut_by_its_check() -> None:
    got = beside({"integral_check": True}, first_head=300e3)
    assert abs(got.items["P-2"]["flow_m3_s"]) < 1e-9
    assert litres(got, "P-1") == pytest.approx(straight(300, 300, 120), rel=1e-4)
    assert got.noted("P-2", "held shut by what else drives"), "its check is no wrong way round"
    assert not any("Is it reversed" in text for _, text in got.notes)


def test_a_constant_head_beyond_the_curve_is_said_to_be_missed() -> None:
    for head, missed in ((1.0, False), (9.0, True)):
        board = Board()
        board.pump("P-1", 5.0 * RHO * G, 1.5e-3, control="delta_p_constant", target=f"{head} m_head")
        board.resistance("S-1", 1e-3, 20e3)
        board.ring("P-1", "S-1")
        assert board.solve().noted("P-1", "does not keep its") == missed


@pytest.mark.parametrize("check", [False, True])
def test_water_may_pass_forward_through_a_stopped_circulator(check: bool) -> None:
    board = Board()
    board.pump("P-1", 60e3, 1e-3)
    board.pump("P-2", 40e3, 0.5e-3, run_when=False, integral_check=check)
    board.resistance("S-1", 0.5e-3, 30e3)
    board.ring("P-1", "P-2", "S-1")
    got = board.solve()
    assert litres(got, "P-1") == pytest.approx(straight(60, 60, 120 + 160), rel=3e-4)


def test_two_circulators_against_each_other() -> None:
    """Head to head, the weaker is overrun: 60 - 60 q = 40 + 160 q^2 + 120 q^2."""
    board = Board()
    board.pump("P-1", 60e3, 1e-3)
    board.pump("P-2", 40e3, 0.5e-3)
    board.resistance("S-1", 0.5e-3, 30e3)
    board.ring("P-1", "S-1", "P-2:out>in")
    got = board.solve()
    want = straight(20, 60, 280)
    assert litres(got, "P-1") == pytest.approx(want, rel=1e-3)
    assert litres(got, "P-2") == pytest.approx(-want, rel=1e-3)


def test_constant_pressure() -> None:
    """Holds 20 kPa over its own ports while its curve reaches that; beyond, its full curve."""
    for bend, want in (
        (200.0, math.sqrt(20 / 200)),
        (800.0, math.sqrt(20 / 800)),
        (10.0, straight(60, 60, 10)),
    ):
        board = Board()
        board.pump("P-1", 60e3, 1e-3, control="delta_p_constant", target="20 kPa")
        board.resistance("S-1", 0.5e-3, bend * 250)
        board.ring("P-1", "S-1")
        got = board.solve()
        assert litres(got, "P-1") == pytest.approx(want, rel=1e-3), bend
        if bend > 100:
            assert head_kpa(got, "P-1") == pytest.approx(20, rel=2e-3)
            speed = brentq(lambda s, q=want: 60 * s * s - 60 * s * q - 20, 0.1, 1.5)
            assert got.items["P-1"]["speed"] == pytest.approx(speed, rel=5e-3)
        else:
            assert got.noted("P-1")


def test_constant_pressure_by_head() -> None:
    board = Board()
    board.pump("P-1", 60e3, 1e-3, control="delta_p_constant", target="2 m_head")
    board.resistance("S-1", 0.5e-3, 50e3)
    board.ring("P-1", "S-1")
    got = board.solve()
    assert got.items["P-1"]["head_m"] == pytest.approx(2.0, rel=2e-3)
    assert litres(got, "P-1") == pytest.approx(math.sqrt(2 * RHO * 9.80665 / 200e3), rel=1e-3)


@pytest.mark.parametrize("bend", [100.0, 400.0, 3000.0])
def test_proportional_pressure(bend: float) -> None:
    """Half of 30 kPa at rest, all of it at 0.5 L/s, where 60 - 60 q meets it: 15 + 30 q = bend q^2."""
    board = Board()
    board.pump("P-1", 60e3, 1e-3, control="delta_p_proportional", target="30 kPa")
    board.resistance("S-1", 0.5e-3, bend * 250)
    board.ring("P-1", "S-1")
    got = board.solve()
    want = straight(15, -30, bend) if bend > 120 else straight(60, 60, bend)
    assert got.converged
    assert litres(got, "P-1") == pytest.approx(want, rel=1e-3)


def heat_loop(load: float, **pump: Any) -> tuple[Solved, list[str]]:
    """delta_t pump on a boiler at 60 degC; loop loses 120 q^2."""
    board = Board()
    board.pump("P-1", 60e3, 1e-3, control="delta_t", target="10 K", **pump)
    board.resistance("S-1", 0.5e-3, 30e3)
    board.item("B-1", "boiler", capacity="200 kW", set_temperature=c(60.0))
    board.item("FC-1", "load", load=w(load))
    pipes = board.ring("P-1", "S-1", "B-1", "FC-1")
    return board.solve(), pipes


def speed_for(q: float, bend: float = 120.0) -> float:
    return brentq(lambda s: 60 * s * s - 60 * s * q - bend * q * q, 0.0, 3.0)


@pytest.mark.parametrize("senses", [None, [["B-1", "out"], ["B-1", "in"]], [["FC-1", "in"], ["FC-1", "out"]]])
@pytest.mark.parametrize("load", [8e3, 12e3, 18e3])
def test_delta_t_held(load: float, senses: list[list[str]] | None) -> None:
    """Flow = load / (rho cp 10 K), speed from the affinity law."""
    got, pipes = heat_loop(load, **({"senses": senses} if senses else {}))
    want = load / 4e6 / 10 * 1e3
    assert got.converged
    assert litres(got, "P-1") == pytest.approx(want, rel=2e-3)
    assert got.warm(pipes[2]) - got.warm(pipes[3]) == pytest.approx(10, abs=0.02)
    assert got.items["P-1"]["speed"] == pytest.approx(speed_for(want), rel=3e-3)
    assert got.items["FC-1"]["delivered_w"] == pytest.approx(load, rel=1e-4)


@pytest.mark.parametrize("kind", ["load", "radiator"])
@pytest.mark.parametrize("opens_at", [2.0, 5.0])
def test_delta_t_behind_a_weighted_check(opens_at: float, kind: str) -> None:
    """Its least speed (2.4 kPa) may not open the check; it runs: 60 s^2 - 60 s q = p + 120 q^2."""
    board = Board()
    board.pump("P-1", 60e3, 1e-3, control="delta_t", target="10 K")
    board.resistance("S-1", 0.5e-3, 30e3)
    board.item("CV-1", "check_valve", opens_at=f"{opens_at} kPa")
    board.item("B-1", "boiler", capacity="200 kW", set_temperature="60 degC")
    if kind == "load":
        board.item("E-1", "load", load="4 kW")
        want = 0.1
    else:
        board.item("E-1", "radiator", ua="100 W/K", room_temperature="20 degC")
        want = 100 / math.log(40 / 30) / 4e3
    pipes = board.ring("P-1", "CV-1", "S-1", "B-1", "E-1")
    got = board.solve()
    speed = brentq(lambda s: 60 * s * s - 60 * s * want - opens_at - 120 * want**2, 0.0, 3.0)
    assert got.converged
    assert litres(got, "P-1") == pytest.approx(want, rel=3e-3)
    assert got.warm(pipes[3]) - got.warm(pipes[4]) == pytest.approx(10, abs=0.05)
    assert got.items["P-1"]["speed"] == pytest.approx(speed, rel=5e-3)


def test_delta_t_out_of_reach_at_full_speed() -> None:
    got, pipes = heat_loop(30e3)
    assert litres(got, "P-1") == pytest.approx(0.5, rel=1e-3)
    assert got.items["P-1"]["speed"] == pytest.approx(1.0, rel=1e-4)
    assert got.warm(pipes[2]) - got.warm(pipes[3]) == pytest.approx(15, abs=0.02)
    assert got.noted("P-1")


@pytest.mark.parametrize(("least", "want"), [(None, 0.2), (0.4, 0.4)])
def test_delta_t_out_of_reach_at_least_speed(least: float | None, want: float) -> None:
    """2 kW would want 0.05 L/s; the least speed s gives 60 s^2 - 60 s q = 120 q^2, that is q = s / 2."""
    got, pipes = heat_loop(2e3, **({} if least is None else {"min_speed": least}))
    assert got.items["P-1"]["speed"] == pytest.approx(want, rel=1e-4)
    assert litres(got, "P-1") == pytest.approx(want / 2, rel=1e-3)
    assert got.warm(pipes[2]) - got.warm(pipes[3]) == pytest.approx(2e3 / (4e3 * want / 2), abs=0.01)
    assert got.noted("P-1")


def test_delta_t_with_no_heat_moving_runs_at_its_least_speed() -> None:
    got, _ = heat_loop(0.0)
    assert got.items["P-1"]["speed"] == pytest.approx(0.2, rel=1e-4)
    assert got.noted("P-1")


def test_delta_t_on_a_radiator() -> None:
    """No given load: C = UA / ln((60 - 20) / (50 - 20)) makes the drop 10 K."""
    board = Board()
    board.pump("P-1", 60e3, 1e-3, control="delta_t", target="10 K")
    board.resistance("S-1", 0.5e-3, 30e3)
    board.item("B-1", "boiler", capacity="200 kW", set_temperature="60 degC")
    board.item("RA-1", "radiator", ua="300 W/K", room_temperature="20 degC")
    pipes = board.ring("P-1", "S-1", "B-1", "RA-1")
    got = board.solve()
    carried = 300 / math.log(40 / 30)
    assert litres(got, "P-1") == pytest.approx(carried / 4e3, rel=5e-3)
    assert got.warm(pipes[3]) == pytest.approx(50, abs=0.05)
    assert got.items["RA-1"]["delivered_w"] == pytest.approx(carried * 10, rel=5e-3)


@pytest.mark.parametrize("kind", ["fixed", "stopped"])
def test_still_circulators(kind: str) -> None:
    board = Board()
    board.pump("P-1", 60e3, 1e-3, **({"run_when": False} if kind == "stopped" else {}))
    board.item("V-1", "shutoff", open=False)
    board.resistance("S-1", 0.5e-3, 30e3)
    pipes = board.ring("P-1", "S-1", "V-1")
    got = board.solve()
    assert got.converged
    assert all(abs(got.flow(pipe)) < 1e-9 for pipe in pipes)
    if kind == "fixed":
        assert got.noted("P-1"), "a circulator at shut-off is said"
        rise = got.pipes[pipes[0]]["pressure_in_pa"] - got.pipes[pipes[2]]["pressure_out_pa"]
        assert rise == pytest.approx(60e3, rel=1e-3)
    else:
        assert got.notes
