"""Bypass valves, humidifiers and heat traps in closed form."""

from __future__ import annotations

import math

import pytest

from tests.support.builders import GPM, PSI, RHO, Board, G, Solved, constant_fluid

HEAD, RUN_OUT = 60e3, 1e-3  # the pump's straight curve: 60 kPa at rest, nothing at 1 L/s


def bypassed(
    set_to: str | None, open_: bool = False, turned: bool = False, density: float = RHO, **more: float
) -> Solved:
    """A pump with a bypass across it and a resistance (0.5 L/s at 30 kPa) behind a valve. Pipe: by."""
    board = Board(constant_fluid(density))
    board.drive()
    board.item("DP-1", "dp_bypass", **({} if set_to is None else {"set_pressure": set_to}), **more)
    board.item("V-1", "shutoff", open=open_)
    for name in ("J-1", "J-2"):
        board.item(name, "joint")
    board.ring("P-1", "J-1", "V-1", "S-1", "J-2")
    ends = ("J-2", "J-1") if turned else ("J-1", "J-2")
    board.pipe(f"{ends[0]}:at", "DP-1:in", "by")
    board.pipe("DP-1:out", f"{ends[1]}:at")
    return board.solve()


def test_shut_below_its_setting() -> None:
    """30 kPa stand across it, it opens at 35: nothing passes."""
    got = bypassed("35 kPa", open_=True)
    assert got.converged
    assert abs(got.flow("by")) < 1e-9
    assert got.items["DP-1"]["across_pa"] == pytest.approx(30e3, rel=1e-4)


def test_open_it_holds_its_setting() -> None:
    """Without cv: the pump gives what its curve gives at 20 kPa; the resistance takes its share at 20 kPa."""
    got = bypassed("20 kPa", open_=True)
    pumped, used = RUN_OUT * (1 - 20 / 60), 0.5e-3 * math.sqrt(20 / 30)
    assert got.items["P-1"]["flow_m3_s"] == pytest.approx(pumped, rel=1e-4)
    assert got.items["S-1"]["flow_m3_s"] == pytest.approx(used, rel=1e-4)
    assert got.flow("by") == pytest.approx(pumped - used, rel=1e-4)
    assert got.items["DP-1"]["flow_m3_s"] == pytest.approx(pumped - used, rel=1e-4)
    assert got.items["DP-1"]["across_pa"] == pytest.approx(20e3, rel=1e-4)


@pytest.mark.parametrize("density", [1000.0, 900.0])
def test_open_it_loses_its_setting_and_its_cv(density: float) -> None:
    """All valves shut: 60 kPa (1 - Q/Q0) = 2 m of the water there + SG (Q/Cv)^2."""
    got = bypassed("2 m_head", density=density, cv=3.0)
    quad, line = PSI * density / 999.0 / (3.0 * GPM) ** 2, HEAD / RUN_OUT
    over = HEAD - 2 * density * G
    want = (-line + math.sqrt(line**2 + 4 * quad * over)) / (2 * quad)
    assert got.flow("by") == pytest.approx(want, rel=1e-6)
    assert got.items["DP-1"]["across_pa"] == pytest.approx(HEAD - line * want, rel=1e-5)


def test_it_passes_nothing_backward() -> None:
    got = bypassed("5 kPa", turned=True)
    assert abs(got.flow("by")) < 1e-9
    assert got.items["DP-1"]["across_pa"] == pytest.approx(-HEAD, rel=1e-4)


def test_without_a_setting_it_opens_at_once_and_says_so() -> None:
    got = bypassed(None)
    assert got.flow("by") == pytest.approx(RUN_OUT, rel=1e-4)
    assert got.noted("DP-1", "no set pressure")


def humid(draw: str = "0.1 L/s", pressure: str = "300 kPa", **draws: str) -> Solved:
    """Main at 12 degC, humidifier that loses 20 kPa at 0.1 L/s, a fixture behind it."""
    board = Board(use="potable")
    board.item("M-1", "cold_main", pressure=pressure, temperature="12 degC")
    board.item("HU-1", "humidifier", uses="36 L/h", drops=[["0.1 L/s", "20 kPa"]])
    board.item("F-1", "fixture")
    board.pipe("M-1:at", "HU-1:in", "to")
    board.pipe("HU-1:out", "F-1:cold", "on")
    return board.case(draws={"F-1": draw, **{name.replace("_", "-"): q for name, q in draws.items()}}).solve()


@pytest.mark.parametrize("draw", [0.1e-3, 0.0])
def test_what_it_uses_leaves_at_its_inlet(draw: float) -> None:
    got = humid(f"{draw!r} m3/s")
    assert got.converged
    assert got.flow("to") == pytest.approx(draw + 1e-5, rel=1e-6)
    assert got.flow("on") == pytest.approx(draw, rel=1e-6, abs=1e-12)
    assert got.items["HU-1"]["uses_m3_s"] == pytest.approx(1e-5, rel=1e-6)
    assert got.items["HU-1"]["flow_m3_s"] == pytest.approx(draw + 1e-5, rel=1e-6)
    assert got.pressure("on") == pytest.approx(300e3 - (20e3 if draw else 0), rel=1e-4)
    assert got.warm("to") == pytest.approx(12, abs=1e-6)
    assert not got.noted("HU-1")


def test_a_case_may_say_what_it_uses() -> None:
    assert humid(HU_1="0 L/h").flow("to") == pytest.approx(0.1e-3, rel=1e-6)
    got = humid(HU_1="72 L/h")
    assert got.items["HU-1"]["uses_m3_s"] == pytest.approx(2e-5, rel=1e-6)
    assert got.items["HU-1"]["temperature_c"] == pytest.approx(12, abs=1e-6)


def test_without_pressure_it_stays_dry_and_says_so() -> None:
    got = humid("0 L/s", pressure="0 kPa")
    assert got.items["HU-1"]["uses_m3_s"] == pytest.approx(0, abs=1e-9)
    assert got.noted("HU-1", "no pressure")


@pytest.mark.parametrize("fill", [False, True])
def test_in_a_closed_body_nothing_is_lost_and_it_says_what_it_would_drain(fill: bool) -> None:
    board = Board()
    board.drive()
    board.item("HU-1", "humidifier", uses="36 L/h")
    board.item("J-1", "joint")
    pipes = board.ring("P-1", "S-1", "HU-1", "J-1")
    if fill:
        board.item("FV-1", "fill_valve", set_pressure="100 kPa")
        board.pipe("FV-1:out", "J-1:at")
    got = board.solve()
    assert {round(got.flow(pipe) / 0.5e-3, 4) for pipe in pipes} == {1.0}
    assert got.items["HU-1"]["uses_m3_s"] == 0
    assert got.noted("HU-1", "864 L a day.*" + ("FV-1 would make up" if fill else "drain"))


def test_a_heat_trap_only_loses_pressure() -> None:
    """Its two kilopascals at 0.5 L/s and the resistance's 28 leave 0.5 L/s, either way round."""
    for turned in (False, True):
        board = Board()
        board.pump("P-1", HEAD, RUN_OUT)
        board.resistance("S-1", 0.5e-3, 28e3)
        board.item("HT-1", "heat_trap", drops=[["0.5 L/s", "2 kPa"]])
        pipes = board.ring("P-1", "S-1", "HT-1:out>in" if turned else "HT-1")
        got = board.solve()
        assert got.flow(pipes[0]) == pytest.approx(0.5e-3, rel=1e-4)
        assert abs(got.items["HT-1"]["flow_m3_s"]) == pytest.approx(0.5e-3, rel=1e-4)
