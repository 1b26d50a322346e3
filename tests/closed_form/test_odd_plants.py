"""Plants with something odd in them: solved as far as they go, with a note at the place, never a crash."""

from __future__ import annotations

import pytest

from core.vocabulary import KINDS
from tests.support.builders import Board, constant_fluid


def test_empty_plant() -> None:
    board = Board()
    got = board.solve()
    assert got.converged
    assert not got.pipes


def test_load_without_any_source_gets_nothing() -> None:
    board = Board()
    board.drive()
    board.item("FC-1", "load", load="20 kW")
    pipes = board.ring("P-1", "S-1", "FC-1")
    got = board.solve()
    assert got.converged
    assert got.items["FC-1"]["delivered_w"] == pytest.approx(0, abs=1)
    assert got.items["FC-1"]["short_w"] == pytest.approx(20e3, abs=1)
    assert got.noted("FC-1")
    assert got.flow(pipes[0]) == pytest.approx(0.5e-3, rel=1e-4)


def test_load_whose_source_is_off_for_want_of_flow() -> None:
    board = Board()
    board.drive()
    board.item("WH-1", "heater", capacity="30 kW", set_temperature="60 degC", min_flow="0.8 L/s")
    board.item("FC-1", "load", load="20 kW")
    board.ring("P-1", "S-1", "WH-1", "FC-1")
    got = board.solve()
    assert got.converged
    assert got.items["WH-1"]["running"] is False
    assert got.items["FC-1"]["delivered_w"] == pytest.approx(0, abs=1)
    assert got.noted("WH-1", "flow")


def test_two_systems_in_one_body_take_the_first_ones_fluid() -> None:
    board = Board(constant_fluid(900.0))
    board.drive()
    first = board.pipe("P-1:out", "S-1:in")
    board.body("other", constant_fluid(1100.0))
    second = board.pipe("S-1:out", "P-1:in")
    got = board.solve()
    assert got.converged
    assert got.flow(first) == pytest.approx(got.flow(second), rel=1e-9)
    assert any("loop" in text and "other" in text for _, text in got.notes)
    board.pipes.reverse()
    assert board.solve().items["P-1"]["head_m"] == got.items["P-1"]["head_m"]


@pytest.mark.parametrize("kind", ["three_way_valve", "dp_bypass"])
def test_a_kind_not_solved_is_said_and_its_body_left_at_rest(
    kind: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Every kind is solved by now; one that the table had before the solver is made up of these."""
    monkeypatch.setitem(KINDS, kind, KINDS[kind]._replace(waterway=None))
    board = Board()
    board.drive()
    board.item("X-1", kind, **({"cv": 4.0, "position": 0.5} if kind == "three_way_valve" else {}))
    ports = ("a", "ab") if kind == "three_way_valve" else ("in", "out")
    board.pipe("P-1:out", f"X-1:{ports[0]}", "one")
    board.pipe(f"X-1:{ports[1]}", "S-1:in", "two")
    board.pipe("S-1:out", "P-1:in")
    board.body("second", constant_fluid())
    board.drive("P-2", "S-2")
    other = board.ring("P-2", "S-2")
    got = board.solve()
    assert got.noted("X-1", "not solved|cannot")
    assert got.flow("one") == 0
    assert got.flow(other[0]) == pytest.approx(0.5e-3, rel=1e-4), "the rest is solved"


@pytest.mark.parametrize("what", ["pipe", "item"])
def test_what_is_to_be_removed_is_left_out(what: str) -> None:
    """A short cut beside the resistance, marked to go."""
    board = Board()
    board.drive()
    for name in ("J-1", "J-2"):
        board.item(name, "joint")
    pipes = board.chain("J-1", "S-1", "J-2", "P-1", "J-1")
    board.item("V-1", "shutoff")
    short = board.chain("J-1", "V-1", "J-2")
    if what == "pipe":
        board.pipes[-1]["stage"] = "to_remove"
    else:
        board.items["V-1"]["stage"] = "to_remove"
        for pipe in board.pipes[-2:]:
            pipe["stage"] = "to_remove"
    got = board.solve()
    assert got.flow(pipes[0]) == pytest.approx(0.5e-3, rel=1e-4)
    assert all(abs(got.pipes.get(pipe, {"flow_m3_s": 0.0})["flow_m3_s"]) < 1e-9 for pipe in short)


def test_open_drain_lets_nothing_out_of_a_port_without_pipe() -> None:
    board = Board()
    board.drive()
    board.item("PS-1", "purge_set", drain_open=True)
    pipes = board.ring("P-1", "S-1", "PS-1")
    got = board.solve()
    assert got.converged
    assert got.flow(pipes[0]) == pytest.approx(0.5e-3, rel=1e-4)


def test_circulator_that_stops_at_its_least_speed() -> None:
    """2 kW at 10 K would want 0.05 L/s, less than its least speed gives."""
    board = Board()
    board.pump("P-1", 60e3, 1e-3, control="delta_t", target="10 K", stops_at_min=True)
    board.resistance("S-1", 0.5e-3, 30e3)
    board.item("B-1", "boiler", capacity="100 kW", set_temperature="60 degC")
    board.item("FC-1", "load", load="2 kW")
    board.ring("P-1", "S-1", "B-1", "FC-1")
    got = board.solve()
    assert got.converged
    assert got.items["P-1"]["running"] is False
    assert got.items["P-1"]["flow_m3_s"] == pytest.approx(0, abs=1e-9)
    assert got.noted("P-1")


def test_several_bodies_are_solved_beside_a_dead_one() -> None:
    board = Board()
    board.drive()
    live = board.ring("P-1", "S-1")
    board.body("dead", constant_fluid())
    board.item("RA-1", "radiator", ua="100 W/K", load="1 kW")
    board.item("S-2", "strainer")
    dead = board.ring("RA-1", "S-2")
    got = board.solve()
    assert got.converged
    assert got.flow(live[0]) == pytest.approx(0.5e-3, rel=1e-4)
    assert got.flow(dead[0]) == 0
    assert got.noted("RA-1") or got.noted("S-2")


def test_tiny_and_huge_numbers_settle() -> None:
    """A capillary beside a great main: six orders of magnitude of flow in one body."""
    board = Board()
    board.pump("P-1", 60e3, 0.2)
    board.resistance("S-1", 0.1, 30e3)
    for name in ("J-1", "J-2"):
        board.item(name, "joint")
    main = board.chain("J-1", "P-1", "J-2", "S-1", "J-1", bore=0.3)
    hair = board.pipe("J-2:at", "J-1:at", bore=0.001, length=10.0)
    got = board.solve()
    assert got.converged
    assert got.flow(main[0]) == pytest.approx(0.1, rel=1e-3)
    laminar = 30e3 * 3.141592653589793 * 0.001**4 / (128 * 1e-3 * 10)
    assert got.flow(hair) == pytest.approx(laminar, rel=1e-2)
