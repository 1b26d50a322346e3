"""What is said of heaters: each note at its place, with its figures, and only where it holds."""

from __future__ import annotations

from typing import Any

import pytest

from tests.support.builders import Board, Solved, flow

C = 2000.0  # [W/K] of 0.5 L/s


def ring(kind: str = "heater", load: str = "20 kW", **unit: Any) -> Solved:
    """Heater at 60 degC and a load, 0.5 L/s round."""
    board = Board()
    board.drive()
    board.item("H-1", kind, **{"capacity": "30 kW", "set_temperature": "60 degC", **unit})
    board.item("LD-1", "load", load=load)
    board.ring("P-1", "S-1", "H-1", "LD-1")
    return board.solve()


def said(got: Solved, at: str = "H-1") -> list[str]:
    """Notes at an item; that these plants have no expansion tank is said of each and left out."""
    known = ("no expansion tank", "nothing sets the pressure")
    return [text for place, text in got.notes if place == at and not any(one in text for one in known)]


def test_nothing_is_said_of_a_heater_within_its_limits() -> None:
    got = ring(min_flow="0.4 L/s", max_flow="0.6 L/s", min_output="10 kW", max_inlet="55 degC")
    assert said(got) == []


def test_least_flow_to_light() -> None:
    assert ring(min_flow="0.6 L/s").noted("H-1", r"off for want of flow: 0\.500 L/s of the 0\.600 L/s")


def test_more_than_its_most_flow() -> None:
    assert ring(max_flow="0.4 L/s").noted("H-1", r"flow of 0\.500 L/s, more than its 0\.400 L/s")


def test_inlet_warmer_than_it_is_made_for() -> None:
    """60 less 20 kW / C = 50 degC comes back."""
    assert ring(max_inlet="45 degC").noted("H-1", r"at 50\.0 °C, warmer than the 45\.0 °C")


def test_rise_too_great_for_its_flow() -> None:
    """Fed at 10 degC with 0.2 L/s, 20 kW raise by 25 K; 50 K are wanted."""
    board = Board(use="potable")
    board.item("M-1", "cold_main", pressure="300 kPa", temperature="10 degC")
    board.item("H-1", "heater", capacity="20 kW", set_temperature="60 degC")
    board.item("F-1", "fixture")
    board.chain("M-1", "H-1")
    board.pipe("H-1:out", "F-1:hot")
    got = board.case(draws={"F-1": "0.2 L/s"}).solve()
    assert got.noted(
        "H-1", r"capacity of 20\.0 kW: outlet at 35\.0 °C instead of 60\.0 °C, short by 20\.0 kW"
    )
    assert got.noted("H-1", r"At 0\.200 L/s it raises water by 25\.0 K, not by the 50\.0 K wanted")


def test_less_than_its_least_output() -> None:
    got = ring(load="6 kW", min_output="8 kW")
    assert got.noted("H-1", r"gives 6\.00 kW on average, below its least output of 8\.00 kW.*lit 75 %")


def called_apart(small: str, large: str, store: bool = False, run_when: bool = True) -> Solved:
    """A boiler of at least 5 kW with two circuits, each behind a zone valve of its own call."""
    board = Board()
    for name in ("SW-1", "SW-2"):
        board.item(name, "switch")
    board.drive()
    board.item("B-1", "boiler", capacity="30 kW", min_output="5 kW", set_temperature="60 degC")
    for name in ("J-1", "J-2"):
        board.item(name, "joint")
    if store:
        board.item("BT-1", "buffer", volume="100 L")
    board.chain("J-2", *(["BT-1:b_out>b_in"] if store else []), "P-1", "S-1", "B-1", "J-1")
    for number, load in ((1, small), (2, large)):
        called = {"run_when": f"SW-{number}"} if run_when else {}
        board.item(f"ZV-{number}", "zone_valve", cv=6.0, **called)
        board.item(f"LD-{number}", "load", load=load)
        board.chain("J-1", f"ZV-{number}", f"LD-{number}", "J-2")
    return board.case(signals={"SW-1": True, "SW-2": True}).solve()


def test_least_output_against_the_smallest_call() -> None:
    got = called_apart("2 kW", "9 kW")
    assert got.noted("B-1", r"least output of 5\.00 kW is more than the 2\.00 kW that LD-1 takes")
    assert said(called_apart("6 kW", "9 kW"), "B-1") == []


def test_the_smallest_call_matters_neither_with_a_store_nor_where_circuits_call_together() -> None:
    assert said(called_apart("2 kW", "9 kW", store=True), "B-1") == []
    assert said(called_apart("2 kW", "9 kW", run_when=False), "B-1") == []


def combined(warm: bool = True, **heater: Any) -> Solved:
    """A heater on drinking water with a pump through an exchanger, and a radiator behind that."""
    board = Board(use="potable")
    board.item("M-1", "cold_main", pressure="300 kPa", temperature="10 degC")
    board.item("J-1", "joint")
    board.item("J-2", "joint")
    board.pump("P-1", 60e3, 1e-3)
    board.item("H-1", "heater", capacity="40 kW", set_temperature="60 degC", **heater)
    board.item("HX-1", "exchanger", ua="1500 W/K")
    board.resistance("S-1", 0.5e-3, 30e3)
    board.item("F-1", "fixture")
    board.chain("M-1", "J-1", "P-1", "H-1", "J-2", "HX-1:a_in>a_out", "S-1", "J-1")
    board.pipe("J-2:at", "F-1:hot")
    board.body("second")
    board.drive("P-2", "S-2")
    board.items["P-2"]["props"]["run_when"] = warm
    board.item("RA-1", "radiator", ua="200 W/K")
    board.ring("P-2", "S-2", "HX-1:b_in>b_out", "RA-1")
    return board.case(draws={"F-1": "0.1 L/s"}).solve()


@pytest.mark.parametrize("typed", [{}, {"combined_use": "unknown"}, {"combined_use": False}])
def test_drinking_water_and_heating_from_one_heater(typed: dict[str, Any]) -> None:
    got = combined(**typed)
    heat = got.items["HX-1"]["duty_w"]
    words = "not made for both" if typed.get("combined_use") is False else "not known"
    assert got.noted("H-1", rf"through HX-1, {heat / 1e3:.2f} kW of heating: .*{words}.*licensed plumber")


def test_combined_use_is_no_matter_where_it_is_allowed_or_nothing_is_heated() -> None:
    assert not combined(combined_use=True).noted("H-1", "drinking")
    assert not combined(warm=False).noted("H-1", "drinking")


def beside(
    first: dict[str, Any], second: dict[str, Any], draw: str = "0.2 L/s", series: bool = False
) -> Solved:
    """Two heaters of 40 kW side by side (or one behind the other) between a main at 10 degC and a fixture."""
    board = Board(use="potable")
    board.item("M-1", "cold_main", pressure="300 kPa", temperature="10 degC")
    board.item("F-1", "fixture")
    for number, props in ((1, first), (2, second)):
        made = {"capacity": "40 kW", "set_temperature": "60 degC", "drops": [["0.2 L/s", "20 kPa"]]}
        board.item(f"H-{number}", "heater", **{**made, **props})
    if series:
        board.chain("M-1", "H-1", "H-2")
        board.pipe("H-2:out", "F-1:hot", "out")
    else:
        for name in ("J-1", "J-2"):
            board.item(name, "joint")
        board.chain("M-1", "J-1")
        for number in (1, 2):
            board.chain("J-1", f"H-{number}", "J-2")
        board.pipe("J-2:at", "F-1:hot", "out")
    return board.case(draws={"F-1": draw}).solve()


def test_an_idle_unit_passes_cold_water_into_the_mix() -> None:
    """Half of 0.2 L/s passes the idle unit at 10 degC: 60 becomes 35."""
    got = beside({}, {"run_when": False})
    assert got.warm("out") == pytest.approx(35, abs=0.1)
    assert got.noted("H-2", r"idle, yet 0\.100 L/s passes it at 10\.0 °C .* from 60\.0 °C to 35\.0 °C")
    assert not got.noted("H-1", "idle")


@pytest.mark.parametrize("second", [{"run_when": False, "shut_when_idle": True}, {}])
def test_no_cold_water_passes_a_unit_that_shuts_or_runs(second: dict[str, Any]) -> None:
    got = beside({}, second)
    assert got.warm("out") == pytest.approx(60, abs=0.01)
    assert not got.noted("H-2", "idle")


def test_an_idle_unit_in_line_cools_no_mix() -> None:
    assert not beside({}, {"run_when": False}, series=True).noted("H-2", "idle")


def test_a_linked_group_lets_its_idle_unit_pass_cold_water_too() -> None:
    got = beside({"linked": "A"}, {"linked": "A"}, draw=flow(0.1e-3))
    running = [name for name in ("H-1", "H-2") if got.items[name]["running"]]
    if len(running) == 1:
        other = {"H-1": "H-2", "H-2": "H-1"}[running[0]]
        assert got.noted(other, "idle, yet")
    else:
        assert got.warm("out") == pytest.approx(60, abs=0.01), "both run where one cannot hold the mix"


def test_linked_and_unlinked_side_by_side() -> None:
    got = beside({"linked": "A"}, {"min_flow": "0.02 L/s"})
    heat = 400 * 50 / 1e3
    assert got.noted(
        "H-2",
        rf"not linked.*beside H-1, linked as A.*itself at 0\.020 L/s.*gives {heat:.1f} kW, they {heat:.1f}",
    )
    assert not got.noted("H-1", "linked")


def test_two_linked_groups_side_by_side_speak_once() -> None:
    got = beside({"linked": "A"}, {"linked": "B"})
    assert got.noted("H-2", "is linked as B, but stands beside H-1, linked as A")
    assert not got.noted("H-1", "linked")


@pytest.mark.parametrize(
    ("second", "series"), [({"linked": "A"}, False), ({}, True), ({"linked": "A", "run_when": False}, False)]
)
def test_linked_alike_or_in_line_is_well(second: dict[str, Any], series: bool) -> None:
    got = beside({"linked": "A"}, second, series=series)
    assert not got.noted("H-1", "linked")
    assert not got.noted("H-2", "linked")


@pytest.mark.parametrize(("second", "passes"), [("55 degC", True), ("60 degC", False), ("65 degC", False)])
def test_water_warmer_than_a_set_point_passes_unheated(second: str, passes: bool) -> None:
    """Two heaters in line, the first at 60 degC."""
    board = Board()
    board.drive()
    board.item("H-1", "heater", capacity="30 kW", set_temperature="60 degC")
    board.item("H-2", "heater", capacity="30 kW", set_temperature=second)
    board.item("LD-1", "load", load="20 kW")
    board.ring("P-1", "S-1", "H-1", "H-2", "LD-1")
    got = board.solve()
    assert got.noted("H-2", r"takes in water at 60.* above its set point.*passes unheated") is passes
    assert not got.noted("H-1", "unheated")
