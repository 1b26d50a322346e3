"""Valves in closed form: coefficients, limiters, checks, reducers, what parts two bodies, what is shut."""

from __future__ import annotations

import math
from typing import Any

import pytest

from tests.support.builders import GPM, PSI, RHO, Board, Solved, area, constant_fluid, flow, pa


def cv_loss(cv: float) -> float:
    """Loss in kPa at 1 L/s: SG (Q/Cv)^2 psi with SG against 999.0 kg/m3."""
    return PSI / 1e3 * (1e-3 / GPM / cv) ** 2 * RHO / 999.0


def straight(head: float, slope: float, bend: float) -> float:
    return (-slope + math.sqrt(slope**2 + 4 * bend * head)) / (2 * bend)


def in_ring(kind: str, **props: Any) -> tuple[Solved, list[str]]:
    """The valve in a ring of 60 - 60 q against 120 q^2 (kPa, L/s)."""
    board = Board()
    board.drive()
    board.item("V-1", kind, **props)
    pipes = board.ring("P-1", "S-1", "V-1")
    return board.solve(), pipes


@pytest.mark.parametrize(
    "kind", ["shutoff", "service_valve", "zone_valve", "balance_valve", "purge_set", "check_valve"]
)
def test_cv(kind: str) -> None:
    got, pipes = in_ring(kind, cv=3.0)
    assert got.flow(pipes[0]) * 1e3 == pytest.approx(straight(60, 60, 120 + cv_loss(3.0)), rel=2e-4)


@pytest.mark.parametrize("kind", ["shutoff", "strainer", "check_valve", "spacer", "backflow_preventer"])
def test_k_of_a_size(kind: str) -> None:
    """K 8 on the bore of 3/4 in as written: 19.05 mm."""
    got, pipes = in_ring(kind, k=8.0, size="3/4 in")
    bend = 8.0 * RHO / 2 * (1e-3 / area(0.01905)) ** 2 / 1e3
    assert got.flow(pipes[0]) * 1e3 == pytest.approx(straight(60, 60, 120 + bend), rel=2e-4)


@pytest.mark.parametrize(
    "kind", ["air_separator", "dirt_separator", "flow_meter", "strainer", "shutoff", "check_valve", "spacer"]
)
def test_no_loss_is_stated_no_loss_is_taken(kind: str) -> None:
    got, pipes = in_ring(kind)
    assert got.flow(pipes[0]) == pytest.approx(0.5e-3, rel=1e-4)


@pytest.mark.parametrize("setting", [1.0, 0.5, 0.1])
def test_setting_of_a_balance_valve(setting: float) -> None:
    got, pipes = in_ring("balance_valve", cv=4.0, setting=setting)
    assert got.flow(pipes[0]) * 1e3 == pytest.approx(straight(60, 60, 120 + cv_loss(4.0 * setting)), rel=3e-4)


def test_balance_valve_turned_shut() -> None:
    got, pipes = in_ring("balance_valve", cv=4.0, setting=0.0)
    assert abs(got.flow(pipes[0])) < 1e-9


@pytest.mark.parametrize("limit", [0.1, 0.3, 0.45, 0.6])
def test_limiter(limit: float) -> None:
    """At most its flow, wide open below."""
    got, pipes = in_ring("balance_valve", cv=8.0, set_flow=f"{limit} L/s")
    free = straight(60, 60, 120 + cv_loss(8.0))
    assert got.flow(pipes[0]) * 1e3 == pytest.approx(min(limit, free), rel=3e-4)
    assert got.converged


def test_limiters_balance_a_header() -> None:
    """Three arms of unlike loss, one limited: the others share what the pump still gives."""
    board = Board()
    board.pump("P-1", 60e3, 1e-3)
    for name in ("J-1", "J-2"):
        board.item(name, "joint")
    bends = {"S-1": 400.0, "S-2": 900.0, "S-3": 50.0}
    for number, (name, bend) in enumerate(bends.items(), 1):
        board.resistance(name, 0.2e-3, bend * 40)
        if number == 3:
            board.item("BV-3", "balance_valve", cv=30.0, set_flow="0.1 L/s")
            board.chain("J-1", "BV-3", name, "J-2")
        else:
            board.chain("J-1", name, "J-2")
    board.chain("J-2", "P-1", "J-1")
    got = board.solve()
    # 60 - 60 (x / 20 + x / 30 + 0.1) = x^2, with x the root of the pressure across
    x = straight(54, 60 * (1 / 20 + 1 / 30), 1)
    assert got.items["S-1"]["flow_m3_s"] * 1e3 == pytest.approx(x / 20, rel=1e-3)
    assert got.items["S-2"]["flow_m3_s"] * 1e3 == pytest.approx(x / 30, rel=1e-3)
    assert got.items["S-3"]["flow_m3_s"] * 1e3 == pytest.approx(0.1, rel=1e-3)


def test_limiter_does_not_push_backward() -> None:
    """Against its flow it is an open valve."""
    board = Board()
    board.drive()
    board.item("V-1", "balance_valve", cv=8.0, set_flow="0.1 L/s")
    pipes = board.ring("P-1", "S-1", "V-1:b>a")
    got = board.solve()
    assert got.flow(pipes[0]) * 1e3 <= straight(60, 60, 120) * 1.0001
    assert got.converged


@pytest.mark.parametrize("opens_at", [0.0, 10.0, 40.0])
def test_check_valve_takes_its_opening_pressure(opens_at: float) -> None:
    got, pipes = in_ring("check_valve", opens_at=f"{opens_at} kPa", cv=6.0)
    want = straight(60 - opens_at, 60, 120 + cv_loss(6.0))
    assert got.flow(pipes[0]) * 1e3 == pytest.approx(want, rel=3e-4)


def test_check_valve_stronger_than_the_pump() -> None:
    got, pipes = in_ring("check_valve", opens_at="70 kPa")
    assert abs(got.flow(pipes[0])) < 1e-9
    assert got.converged
    assert got.noted("V-1") or got.noted("P-1")


def test_check_valve_turned_round() -> None:
    board = Board()
    board.drive()
    board.item("CV-1", "check_valve")
    pipes = board.ring("P-1", "S-1", "CV-1:out>in")
    got = board.solve()
    assert all(abs(got.flow(pipe)) < 1e-9 for pipe in pipes)
    assert got.converged
    assert got.noted("CV-1"), "a check valve that holds a circulator's head is said"
    held = got.pipes[pipes[1]]["pressure_out_pa"] - got.pipes[pipes[2]]["pressure_in_pa"]
    assert held == pytest.approx(60e3, rel=1e-3)


def test_check_valve_keeps_a_second_loop_still() -> None:
    """P-1's loop would ghost through the second branch; its check holds, and the first does not notice."""
    board = Board()
    board.pump("P-1", 60e3, 1e-3)
    board.resistance("S-0", 0.5e-3, 10e3)
    board.resistance("S-1", 0.5e-3, 20e3)
    board.pump("P-2", 30e3, 1e-3, run_when=False)
    board.item("CV-2", "check_valve")
    for name in ("J-1", "J-2"):
        board.item(name, "joint")
    board.chain("J-1", "P-1", "S-1", "J-2", "S-0", "J-1")
    second = board.chain("J-1", "P-2", "CV-2", "J-2")
    got = board.solve()
    assert all(abs(got.flow(pipe)) < 1e-9 for pipe in second)
    assert got.items["P-1"]["flow_m3_s"] == pytest.approx(0.5e-3, rel=1e-4)


@pytest.mark.parametrize(
    ("kind", "shut"),
    [
        ("shutoff", {"open": False}),
        ("service_valve", {"open": False}),
        ("purge_set", {"open": False}),
        ("zone_valve", {"run_when": False}),
        ("spacer", {"blind": True}),
    ],
)
def test_shut_branch(kind: str, shut: dict[str, Any]) -> None:
    """No flow in it, its heat user gets nothing, the branch beside it runs as if alone."""
    board = Board()
    board.drive()
    board.item("B-1", "boiler", capacity="100 kW", set_temperature="60 degC")
    board.item("V-1", kind, **shut)
    board.item("RA-1", "radiator", ua="200 W/K", room_temperature="20 degC")
    board.item("RA-2", "radiator", ua="400 W/K", room_temperature="20 degC")
    for name in ("J-1", "J-2"):
        board.item(name, "joint")
    shut_pipes = board.chain("J-1", "V-1", "RA-1", "J-2")
    pipes = board.chain("J-2", "P-1", "S-1", "B-1", "J-1", "RA-2", "J-2")
    got = board.solve()
    assert got.converged
    assert all(abs(got.flow(pipe)) < 1e-9 for pipe in shut_pipes)
    assert got.items["RA-1"]["delivered_w"] == 0
    assert got.flow(pipes[0]) == pytest.approx(0.5e-3, rel=1e-4)
    assert got.items["RA-2"]["delivered_w"] == pytest.approx(2000 * (1 - math.exp(-0.2)) * 40, rel=1e-4)


@pytest.mark.parametrize("powered", [True, False])
def test_zone_valve_follows_its_signal(powered: bool) -> None:
    board = Board()
    board.drive()
    board.item("ZV-1", "zone_valve", run_when="SW-1", powered_by="SW-2")
    for name in ("SW-1", "SW-2"):
        board.item(name, "switch")
    pipes = board.ring("P-1", "S-1", "ZV-1")
    got = board.case(signals={"SW-1": True, "SW-2": powered}).solve()
    assert got.flow(pipes[0]) == pytest.approx(0.5e-3 * powered, rel=1e-4, abs=1e-9)


@pytest.mark.parametrize(("main", "behind"), [(500e3, 300e3), (200e3, 200e3)])
@pytest.mark.parametrize("draw", [0.0, 0.3e-3])
def test_pressure_reducer(main: float, behind: float, draw: float) -> None:
    """Holds 300 kPa behind it; where the main has less, it stands open."""
    board = Board(use="potable")
    board.item("M-1", "cold_main", pressure=pa(main))
    board.item("PR-1", "pressure_reducer", set_pressure="300 kPa")
    board.item("F-1", "fixture")
    board.chain("M-1", "PR-1")
    board.pipe("PR-1:out", "F-1:cold", "out")
    got = board.case(draws={"F-1": flow(draw)}).solve()
    assert got.converged
    assert got.flow("out") == pytest.approx(draw, rel=1e-6, abs=1e-9)
    assert got.pressure("out") == pytest.approx(behind, abs=20)


def test_backflow_preventer_in_a_potable_line() -> None:
    """Cold water passes it, with its loss; nothing comes back when the main fails."""
    board = Board(use="potable")
    board.item("M-1", "cold_main", pressure="400 kPa")
    board.item("BF-1", "backflow_preventer", drops=[["0.5 L/s", "50 kPa"]])
    board.item("F-1", "fixture")
    board.chain("M-1", "BF-1")
    board.pipe("BF-1:out", "F-1:cold", "out")
    got = board.case(draws={"F-1": "0.25 L/s"}).solve()
    assert got.flow("out") == pytest.approx(0.25e-3, rel=1e-6)
    assert got.pressure("out") == pytest.approx(400e3 - 12.5e3, rel=1e-4)


def test_fill_valve_sets_the_level_of_a_closed_body() -> None:
    """An open fill valve's set pressure stands at the expansion tank; no water passes it."""
    board = Board()
    board.drive()
    board.item("T-1", "expansion_tank", volume="10 L", precharge="80 kPa")
    board.item("FV-1", "fill_valve", set_pressure="150 kPa")
    for name in ("J-1", "J-2"):
        board.item(name, "joint")
    pipes = board.ring("P-1", "J-1", "S-1", "J-2")
    board.pipe("J-2:at", "T-1:at", "to-tank")
    board.pipe("FV-1:out", "J-1:at", "from-fill")
    board.body("main", constant_fluid(), "potable")
    board.item("M-1", "cold_main", pressure="400 kPa")
    board.pipe("M-1:at", "FV-1:in", "to-fill")
    got = board.solve()
    assert got.converged
    assert got.pipes["to-tank"]["pressure_out_pa"] == pytest.approx(150e3, abs=1)
    assert got.pipes["to-fill"]["pressure_out_pa"] == pytest.approx(400e3, abs=1)
    assert abs(got.flow("from-fill")) < 1e-9
    assert got.pressure(pipes[1]) == pytest.approx(180e3, rel=1e-4)


@pytest.mark.parametrize(
    ("fill", "valve", "precharge", "want"),
    [
        ("200 kPa", "150 kPa", "80 kPa", 200e3),
        (None, "150 kPa", "80 kPa", 150e3),
        (None, None, "80 kPa", 80e3),
    ],
)
def test_order_of_pressure_levels(fill: str | None, valve: str | None, precharge: str, want: float) -> None:
    """fill_pressure, else the open fill valve, else the precharge; at the tank's port, wherever it hangs."""
    board = Board()
    board.body("loop", constant_fluid(), **({"fill_pressure": fill} if fill else {}))
    board.item("T-1", "expansion_tank", volume="10 L", precharge=precharge, height="1 m")
    board.item("J-1", "joint", height="3 m")
    board.item("G-1", "gauge", height="5 m")
    board.pipe("J-1:at", "T-1:at", "to-tank")
    board.pipe("J-1:at", "G-1:at", "to-gauge")
    if valve:
        board.item("FV-1", "fill_valve", set_pressure=valve, height="2 m")
        board.pipe("FV-1:out", "J-1:at")
    got = board.solve()
    assert got.pipes["to-tank"]["pressure_out_pa"] == pytest.approx(want, abs=1)
    assert got.pipes["to-gauge"]["pressure_out_pa"] == pytest.approx(want - RHO * 9.80665 * 4, abs=1)


def test_body_without_any_level_is_pinned_and_says_so() -> None:
    board = Board()
    board.drive()
    board.ring("P-1", "S-1")
    got = board.solve()
    assert got.converged
    assert any("pressure" in text or "level" in text for _, text in got.notes)


def test_shut_fill_valve_sets_nothing() -> None:
    board = Board()
    board.item("T-1", "expansion_tank", volume="10 L", precharge="80 kPa")
    board.item("FV-1", "fill_valve", set_pressure="150 kPa", open=False)
    board.pipe("FV-1:out", "T-1:at", "L-1")
    assert board.solve().pipes["L-1"]["pressure_out_pa"] == pytest.approx(80e3, abs=1)


def test_part_on_a_manifold() -> None:
    """Three branches of unlike Cv between two manifolds; each sees the same pressure."""
    board = Board()
    board.pump("P-1", 60e3, 1e-3)
    board.resistance("S-1", 0.5e-3, 10e3)
    board.item("M-1", "manifold", branches=3, cv=[2.0, 1.0, 0.5])
    board.item("M-2", "manifold", branches=3)
    board.chain("P-1", "S-1", "M-1:trunk>trunk")
    arms = [board.pipe(f"M-1:{n}", f"M-2:{n}") for n in (1, 2, 3)]
    board.pipe("M-2:trunk", "P-1:in")
    got = board.solve()
    total = straight(60, 60, 40 + cv_loss(3.5))
    for pipe, share in zip(arms, (2 / 3.5, 1 / 3.5, 0.5 / 3.5), strict=True):
        assert got.flow(pipe) * 1e3 == pytest.approx(total * share, rel=5e-4)
