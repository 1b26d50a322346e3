"""Pipes: losses, heat loss, heights and static pressure, water that goes round by its weight."""

from __future__ import annotations

import math

import pytest
from scipy.optimize import brentq

from tests.support.builders import CP, MU, RHO, Board, G, area, c, constant_fluid, flow, m, w


def through(draw: float, warm: float = 60.0, **pipe: object) -> tuple[float, float, dict[str, float]]:
    """One pipe from a main at 300 kPa to a fixture: start and end temperature [degC], the pipe's figures."""
    board = Board(use="potable")
    board.item("M-1", "cold_main", pressure="300 kPa", temperature=c(warm))
    board.item("F-1", "fixture")
    board.pipe("M-1:at", "F-1:hot", "L-1", **pipe)
    got = board.case(draws={"F-1": flow(draw)}).solve()
    assert got.converged
    return got.warm("L-1"), got.warm_end("L-1"), got.pipes["L-1"]


def test_laminar_loss() -> None:
    _, _, pipe = through(1e-5, bore=0.02, length=50.0)
    assert pipe["reynolds"] == pytest.approx(4 * RHO * 1e-5 / math.pi / 0.02 / MU, rel=1e-6)
    assert pipe["drop_pa"] == pytest.approx(128 * MU * 50 * 1e-5 / (math.pi * 0.02**4), rel=2e-3)
    assert pipe["velocity_m_s"] == pytest.approx(1e-5 / area(0.02), rel=1e-9)


def test_drop_adds_friction_and_k_and_carries_the_flows_sign() -> None:
    """Rough pipe at Re 63,662, f by Colebrook stepped until it stands."""
    draw, bore, rough = 1e-3, 0.02, 0.05e-3
    reynolds = 4 * RHO * draw / (math.pi * bore * MU)
    x = 7.0
    for _ in range(50):
        x = -2 * math.log10(rough / bore / 3.7 + 2.51 * x / reynolds)
    want = (x**-2 * 12 / bore + 3.5) * RHO / 2 * (draw / area(bore)) ** 2
    _, _, pipe = through(draw, bore=bore, roughness="0.05 mm", length=12.0, k=3.5)
    assert pipe["drop_pa"] == pytest.approx(want, rel=1e-5)
    assert pipe["pressure_in_pa"] - pipe["pressure_out_pa"] == pytest.approx(want, rel=1e-5)
    board = Board(use="potable")
    board.item("M-1", "cold_main", pressure="300 kPa")
    board.item("F-1", "fixture")
    board.pipe("F-1:cold", "M-1:at", "L-1", bore=bore, roughness="0.05 mm", length="12 m", k=3.5)
    back = board.case(draws={"F-1": flow(draw)}).solve().pipes["L-1"]
    assert back["flow_m3_s"] == pytest.approx(-draw, rel=1e-9)
    assert back["drop_pa"] == pytest.approx(-want, rel=1e-5)
    assert back["velocity_m_s"] == pytest.approx(-draw / area(bore), rel=1e-9)
    assert back["reynolds"] > 0


def test_flanged_faces_lose_nothing() -> None:
    board = Board()
    board.drive()
    board.pipe("P-1:out", "S-1:in", "face", joined="flanged")
    board.pipe("S-1:out", "P-1:in", "tube")
    got = board.solve()
    assert got.flow("face") == pytest.approx(0.5e-3, rel=1e-4)
    assert got.pipes["face"]["drop_pa"] == pytest.approx(0, abs=1)
    assert got.warm("face") == pytest.approx(got.warm("tube"), abs=1e-6)


@pytest.mark.parametrize("outside", [None, 0.0222])
@pytest.mark.parametrize("draw", [0.3e-3, 0.02e-3])
@pytest.mark.parametrize(("thick", "conductivity"), [(0.013, 0.04), (0.025, 0.035), (0.019, None)])
def test_insulated_pipe(draw: float, thick: float, conductivity: float | None, outside: float | None) -> None:
    """1 / (ln(r2/r1)/(2 pi k) + 1/(2 pi r2 h)), h 10, k 0.040 unless said."""
    inner = (outside or 0.02) / 2
    outer = inner + thick
    per_metre = 1 / (
        math.log(outer / inner) / (2 * math.pi * (conductivity or 0.040)) + 1 / (2 * math.pi * outer * 10)
    )
    insulation = {"thickness": m(thick)}
    if conductivity:
        insulation["conductivity"] = f"{conductivity} W/m/K"
    more = {"outside": m(outside)} if outside else {}
    start, end, _ = through(draw, bore=0.02, length=30.0, insulation=insulation, around="12 degC", **more)
    want = 12 + 48 * math.exp(-per_metre * 30 / (draw * RHO * CP))
    assert start == pytest.approx(60, abs=1e-3)
    assert end == pytest.approx(want, abs=2e-3)


def test_direct_loss_to_the_sites_indoor_temperature() -> None:
    _, end, _ = through(0.1e-3, bore=0.02, length=40.0, insulation={"loss": "0.5 W/m/K"})
    assert end == pytest.approx(20 + 40 * math.exp(-0.5 * 40 / 400), abs=2e-3)


def test_no_insulation_key_means_no_loss() -> None:
    _, end, _ = through(0.01e-3, bore=0.02, length=100.0, around="0 degC")
    assert end == pytest.approx(60, abs=1e-3)


def test_losses_of_a_ring_are_what_the_boiler_gives() -> None:
    board = Board()
    board.drive()
    board.item("B-1", "boiler", capacity="50 kW", set_temperature="70 degC")
    pipes = board.ring("P-1", "S-1", "B-1", length=25.0, insulation={"loss": "2 W/m/K"}, around="15 degC")
    got = board.solve()
    carried = got.flow(pipes[0]) * RHO * CP  # a little less than 2000 W/K, for the friction of 75 m
    assert carried == pytest.approx(2000, rel=0.02)
    kept = math.exp(-2 * 25 / carried)
    temperatures = [15 + 55 * kept**n for n in (1, 2, 3)]
    assert got.warm_end(pipes[2]) == pytest.approx(temperatures[0], abs=3e-3)
    assert got.warm_end(pipes[0]) == pytest.approx(temperatures[1], abs=3e-3)
    assert got.warm_end(pipes[1]) == pytest.approx(temperatures[2], abs=3e-3)
    assert got.items["B-1"]["duty_w"] == pytest.approx(carried * (70 - temperatures[2]), rel=1e-3)


def test_static_pressure_by_height() -> None:
    """Gauge pressures at the ports' heights: the item's and its port's own."""
    board = Board(constant_fluid(980.0), use="potable")
    board.item("M-1", "cold_main", pressure="400 kPa", height="-2 m")
    board.item("S-1", "strainer", height="3 m", port_heights={"out": "1.5 m"})
    board.item("F-1", "fixture", height="7 m")
    board.pipe("M-1:at", "S-1:in", "up")
    board.pipe("S-1:out", "F-1:cold", "on")
    got = board.case(draws={"F-1": "1 L/h"}).solve()
    per_metre = 980.0 * G
    assert got.pipes["up"]["pressure_in_pa"] == pytest.approx(400e3, abs=1)
    assert got.pipes["up"]["pressure_out_pa"] == pytest.approx(400e3 - 5 * per_metre, abs=2)
    assert got.pipes["on"]["pressure_in_pa"] == pytest.approx(400e3 - 6.5 * per_metre, abs=2)
    assert got.pipes["on"]["pressure_out_pa"] == pytest.approx(400e3 - 9 * per_metre, abs=2)
    assert got.pipes["up"]["drop_pa"] == pytest.approx(0, abs=1), "no height in the drop"


def test_tank_taps_differ_by_height_only() -> None:
    board = Board(use="potable")
    board.item("M-1", "cold_main", pressure="300 kPa", height="0.5 m")
    board.item("T-1", "tank", volume="200 L", height="0.5 m", taps={"low": "0.1 m", "high": "1.6 m"})
    board.item("F-1", "fixture", height="0.5 m")
    board.pipe("M-1:at", "T-1:low", "in")
    board.pipe("T-1:high", "F-1:hot", "out")
    got = board.case(draws={"F-1": "1 L/h"}).solve()
    assert got.pipes["in"]["pressure_out_pa"] == pytest.approx(300e3 - 0.1 * RHO * G, abs=3)
    assert got.pipes["out"]["pressure_in_pa"] == pytest.approx(300e3 - 1.6 * RHO * G, abs=3)
    assert got.pipes["out"]["pressure_out_pa"] == pytest.approx(300e3, abs=3)


def test_height_alone_drives_nothing() -> None:
    """One density all round: no heat, no flow, and that is converged."""
    board = Board()
    board.item("J-1", "joint")
    board.item("J-2", "joint", height="9 m")
    one = board.pipe("J-1:at", "J-2:at", length=9.0, bore=0.02)
    board.pipe("J-2:at", "J-1:at", length=9.0, bore=0.03)
    got = board.solve()
    assert got.converged
    assert abs(got.flow(one)) < 1e-9


EXPANSION, REFERENCE, HEIGHT = 4.0e-4, 40.0, 3.0
SWELLING = constant_fluid(expansion=f"{EXPANSION} 1/K", reference=c(REFERENCE))


def density(celsius: float) -> float:
    return RHO * (1 - EXPANSION * (celsius - REFERENCE))


def siphon(bottom: float, top: float, **pipe: object) -> tuple[Board, str, str]:
    """Boiler at 60 degC at one level, radiator of 40 W/K at another, one riser, one drop."""
    board = Board(SWELLING)
    board.item("B-1", "boiler", capacity="50 kW", set_temperature="60 degC", height=m(bottom))
    board.item("RA-1", "radiator", ua="40 W/K", room_temperature="20 degC", height=m(top))
    up = board.pipe("B-1:out", "RA-1:in", "up", **pipe)
    down = board.pipe("RA-1:out", "B-1:in", "down", **pipe)
    return board, up, down


def cooled(mass: float) -> float:
    return 20 + 40 * math.exp(-40 / (mass * CP))


@pytest.mark.parametrize("regime", ["laminar", "k only"])
def test_thermosiphon(regime: str) -> None:
    """Weight of the cold leg less that of the hot one = losses of both pipes; one unknown, the mass flow."""
    pipe: dict[str, object] = (
        {"bore": 0.02, "length": 20.0} if regime == "laminar" else {"bore": 0.02, "k": 60.0}
    )
    board, up, down = siphon(0.0, HEIGHT, **pipe)

    def excess(mass: float) -> float:
        back = cooled(mass)
        push = (density(back) - density(60)) * G * HEIGHT
        if regime == "laminar":
            lost = sum(128 * MU * 20 * mass / density(t) / (math.pi * 0.02**4) for t in (60, back))
        else:
            lost = sum(60 * mass**2 / 2 / density(t) / area(0.02) ** 2 for t in (60, back))
        return push - lost

    mass = brentq(excess, 1e-6, 1.0)
    back = cooled(mass)
    got = board.solve()
    assert got.converged
    assert got.flow(up) * density(60) == pytest.approx(mass, rel=3e-3)
    assert got.flow(down) * density(back) == pytest.approx(mass, rel=3e-3)
    assert got.warm(down) == pytest.approx(back, abs=0.1)
    assert got.items["RA-1"]["delivered_w"] == pytest.approx(mass * CP * (60 - back), rel=3e-3)
    if regime == "laminar":
        assert got.pipes[up]["reynolds"] < 2000


def test_no_thermosiphon_with_the_heat_on_top() -> None:
    board, up, _ = siphon(HEIGHT, 0.0, bore=0.02, k=60.0)
    got = board.solve()
    assert got.converged
    assert abs(got.flow(up)) < 1e-7
    assert got.items["RA-1"]["delivered_w"] == pytest.approx(0, abs=5)
    assert got.notes


def test_no_thermosiphon_through_a_check_valve_that_needs_more() -> None:
    """A 10 ft riser does not open a weighted check of 2 kPa."""
    board = Board(SWELLING)
    board.item("B-1", "boiler", capacity="50 kW", set_temperature="60 degC")
    board.item("RA-1", "radiator", ua="40 W/K", room_temperature="20 degC", height=m(HEIGHT))
    board.item("CV-1", "check_valve", opens_at="2 kPa", height=m(HEIGHT))
    board.pipe("B-1:out", "CV-1:in", "up", bore=0.02)
    board.pipe("CV-1:out", "RA-1:in", "on", bore=0.02)
    board.pipe("RA-1:out", "B-1:in", "down", bore=0.02)
    got = board.solve()
    assert got.converged
    assert abs(got.flow("up")) < 1e-9


def test_weight_helps_a_pump() -> None:
    """Load of 20 kW three metres up: 60 - 60 q + weight = 120 q^2 (kPa, L/s of the cold leg)."""
    board = Board(SWELLING)
    board.drive()
    board.item("B-1", "boiler", capacity="50 kW", set_temperature="60 degC")
    board.item("FC-1", "load", load=w(20e3), height=m(HEIGHT))
    pipes = board.ring("P-1", "S-1", "B-1", "FC-1")
    got = board.solve()

    def excess(mass: float) -> float:
        back = 60 - 20e3 / (mass * CP)
        q = mass / density(back) * 1e3
        push = (density(back) - density(60)) * G * HEIGHT / 1e3
        return 60 - 60 * q + push - 120 * q * q

    mass = brentq(excess, 0.1, 1.0)
    assert got.flow(pipes[2]) * density(60) == pytest.approx(mass, rel=1e-3)
    assert got.warm(pipes[3]) == pytest.approx(60 - 20e3 / mass / CP, abs=0.05)


def test_still_water_is_at_its_surroundings() -> None:
    board = Board(indoor="17 degC")
    board.item("J-1", "joint")
    board.item("J-2", "joint")
    board.pipe("J-1:at", "J-2:at", "indoors", length=2.0, bore=0.02)
    got = board.solve()
    assert got.warm("indoors") == pytest.approx(17, abs=1e-3)
    assert got.warm_end("indoors") == pytest.approx(17, abs=1e-3)


def test_dead_leg_shows_the_warmer_end() -> None:
    """A capped branch off a hot main: no flow, the temperature of where it leaves."""
    board = Board()
    board.drive()
    board.item("B-1", "boiler", capacity="50 kW", set_temperature="55 degC")
    board.item("FC-1", "load", load="10 kW")
    board.item("J-1", "joint")
    board.item("PL-1", "plug")
    board.ring("P-1", "S-1", "B-1", "J-1", "FC-1")
    board.pipe("J-1:at", "PL-1:at", "dead", length=1.0, bore=0.02)
    got = board.solve()
    assert abs(got.flow("dead")) < 1e-9
    assert got.warm("dead") == pytest.approx(55, abs=0.01)
    assert got.warm_end("dead") == pytest.approx(55, abs=0.01)
