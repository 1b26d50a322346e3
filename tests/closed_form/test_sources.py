"""Heaters and boilers, each answer worked out in the test. Ring flow 0.5 L/s, C = 2000 W/K."""

from __future__ import annotations

import math

import pytest

from tests.support.builders import Board, Solved, c, constant_fluid, w

C = 2000.0


def ring(load: float, **boiler: object) -> tuple[Board, list[str]]:
    """Boiler (60 degC, 30 kW unless said) and a load that is always taken. Pipes: P-S, S-B, B-FC, FC-P."""
    board = Board()
    board.drive()
    board.item("B-1", "boiler", **{"capacity": "30 kW", "set_temperature": "60 degC", **boiler})
    board.item("FC-1", "load", load=w(load))
    return board, board.ring("P-1", "S-1", "B-1", "FC-1")


def check(got: Solved, supply: tuple[str, float], back: tuple[str, float]) -> None:
    assert got.converged
    for pipe, want in (supply, back):
        assert got.warm(pipe) == pytest.approx(want, abs=2e-3)
        assert got.warm_end(pipe) == pytest.approx(want, abs=2e-3)


def test_boiler_at_its_set_temperature() -> None:
    board, pipes = ring(20e3)
    got = board.solve()
    assert got.flow(pipes[0]) == pytest.approx(0.5e-3, rel=1e-4)
    check(got, (pipes[2], 60.0), (pipes[3], 60 - 20e3 / C))
    boiler, load = got.items["B-1"], got.items["FC-1"]
    assert boiler["duty_w"] == pytest.approx(20e3, rel=1e-4)
    assert boiler["running"] is True
    assert boiler["short_w"] == pytest.approx(0, abs=20)
    assert load["delivered_w"] == pytest.approx(20e3, rel=1e-6)
    assert load["wanted_w"] == pytest.approx(20e3, rel=1e-6)
    assert load["short_w"] == pytest.approx(0, abs=1)
    assert got.items["FC-1"]["flow_m3_s"] == pytest.approx(0.5e-3, rel=1e-4)


def test_boiler_at_capacity_cuts_the_load() -> None:
    """The load gets what the boiler gives, the outlet stays at 60 degC; both say so."""
    board, pipes = ring(20e3, capacity="12 kW")
    got = board.solve()
    check(got, (pipes[2], 60.0), (pipes[3], 54.0))
    assert got.items["B-1"]["duty_w"] == pytest.approx(12e3, rel=1e-4)
    assert got.items["FC-1"]["delivered_w"] == pytest.approx(12e3, rel=1e-3)
    assert got.items["FC-1"]["wanted_w"] == pytest.approx(20e3, rel=1e-6)
    assert got.items["FC-1"]["short_w"] == pytest.approx(8e3, rel=2e-3)
    assert got.noted("B-1", "capacity|limit")


def test_two_loads_are_cut_by_the_same_fraction() -> None:
    board = Board()
    board.drive()
    board.item("B-1", "boiler", capacity="15 kW", set_temperature="60 degC")
    for name, heat in (("FC-1", 20e3), ("FC-2", 10e3)):
        board.item(name, "load", load=w(heat))
    board.ring("P-1", "S-1", "B-1", "FC-1", "FC-2")
    got = board.solve()
    assert got.items["FC-1"]["delivered_w"] == pytest.approx(10e3, rel=1e-3)
    assert got.items["FC-2"]["delivered_w"] == pytest.approx(5e3, rel=1e-3)
    assert got.items["B-1"]["duty_w"] == pytest.approx(15e3, rel=1e-3)


def test_a_radiator_is_not_cut_where_a_load_is() -> None:
    """Boiler 15 kW: the radiator takes what physics gives it, the load the rest of the capacity."""
    board = Board()
    board.drive()
    board.item("B-1", "boiler", capacity="15 kW", set_temperature="60 degC")
    board.item("RA-1", "radiator", ua="200 W/K", room_temperature="20 degC")
    board.item("FC-1", "load", load="20 kW")
    pipes = board.ring("P-1", "S-1", "B-1", "RA-1", "FC-1")
    got = board.solve()
    given = C * (1 - math.exp(-200 / C)) * 40
    check(got, (pipes[2], 60.0), (pipes[3], 60 - given / C))
    assert got.items["RA-1"]["delivered_w"] == pytest.approx(given, rel=1e-4)
    assert got.items["FC-1"]["delivered_w"] == pytest.approx(15e3 - given, rel=2e-3)


def test_boiler_at_capacity_with_an_emitter_of_given_size() -> None:
    """No load to cut: the water cools until the radiator takes what the boiler gives."""
    board = Board()
    board.drive()
    board.item("B-1", "boiler", capacity="10 kW", set_temperature="80 degC")
    board.item("RA-1", "radiator", ua="400 W/K", room_temperature="20 degC")
    pipes = board.ring("P-1", "S-1", "B-1", "RA-1")
    got = board.solve()
    share = 1 - math.exp(-400 / C)
    supply = 20 + 10e3 / (C * share)
    check(got, (pipes[2], supply), (pipes[3], supply - 5.0))
    assert got.items["B-1"]["short_w"] == pytest.approx(C * (80 - (supply - 5)) - 10e3, rel=2e-3)
    assert got.noted("B-1", "capacity|limit")
    assert got.items["RA-1"]["delivered_w"] == pytest.approx(10e3, rel=1e-3)
    assert got.items["RA-1"]["wanted_w"] == pytest.approx(10e3, rel=1e-3), (
        "without `load`, wanted = delivered"
    )


def test_need_below_the_least_output_is_met_on_average_with_a_note() -> None:
    board, pipes = ring(2e3, min_output="5 kW")
    got = board.solve()
    check(got, (pipes[2], 60.0), (pipes[3], 59.0))
    assert got.items["B-1"]["duty_w"] == pytest.approx(2e3, rel=1e-3)
    assert got.noted("B-1")


@pytest.mark.parametrize(("least", "runs"), [("0.4 L/s", True), ("0.6 L/s", False)])
def test_heater_runs_from_its_least_flow_on(least: str, runs: bool) -> None:
    board = Board()
    board.drive()
    board.item("WH-1", "heater", capacity="30 kW", set_temperature="50 degC", min_flow=least)
    board.item("RA-1", "radiator", ua="400 W/K", room_temperature="20 degC")
    pipes = board.ring("P-1", "S-1", "WH-1", "RA-1")
    got = board.solve()
    supply = 50.0 if runs else 20.0
    back = 20 + (supply - 20) * math.exp(-400 / C)
    check(got, (pipes[2], supply), (pipes[3], back))
    assert got.items["WH-1"]["running"] is runs
    assert got.items["WH-1"]["duty_w"] == pytest.approx(C * (supply - back), abs=1.0)
    assert got.items["WH-1"]["short_w"] == pytest.approx(0, abs=20), "0 while off"
    assert got.noted("WH-1", "flow") is not runs


@pytest.mark.parametrize("turned", [False, True])
def test_a_heater_that_throttles_leaves_at_its_set_point_and_cuts_no_load(turned: bool) -> None:
    """Each load takes what its water has above its least temperature: 60 to 50 degC, then 50 to 30."""
    board = Board()
    board.drive()
    board.item("H-1", "heater", capacity="12 kW", set_temperature="60 degC", throttles=True)
    for ident, least in (("FC-1", 50), ("FC-2", 30))[:: -1 if turned else 1]:
        board.item(ident, "load", load=w(20e3), least_return=c(least))
    pipes = board.ring("P-1", "S-1", "H-1", "FC-1", "FC-2")
    got = board.solve()
    assert got.converged
    assert got.flow(pipes[0]) == pytest.approx(12e3 / 4000 / 30 / 1000, rel=1e-4)
    assert got.items["FC-1"]["delivered_w"] == pytest.approx(4e3, rel=1e-4)
    assert got.items["FC-2"]["delivered_w"] == pytest.approx(8e3, rel=1e-4)
    assert got.noted("H-1", "throttles its water")


def test_more_than_the_largest_flow_is_noted_but_not_limited() -> None:
    board = Board()
    board.drive()
    board.item("WH-1", "heater", capacity="30 kW", set_temperature="50 degC", max_flow="0.2 L/s")
    board.item("RA-1", "radiator", ua="400 W/K", room_temperature="20 degC")
    pipes = board.ring("P-1", "S-1", "WH-1", "RA-1")
    got = board.solve()
    assert got.flow(pipes[0]) == pytest.approx(0.5e-3, rel=1e-4)
    check(got, (pipes[2], 50.0), (pipes[3], 20 + 30 * math.exp(-400 / C)))
    assert got.noted("WH-1", "flow")


def test_inlet_above_the_set_temperature_passes_unchanged() -> None:
    board = Board()
    board.drive()
    board.item("B-1", "boiler", capacity="100 kW", set_temperature="70 degC")
    board.item("B-2", "boiler", capacity="100 kW", set_temperature="60 degC")
    board.item("FC-1", "load", load="8 kW")
    pipes = board.ring("P-1", "S-1", "B-1", "B-2", "FC-1")
    got = board.solve()
    check(got, (pipes[3], 70.0), (pipes[4], 66.0))
    assert got.items["B-2"]["duty_w"] == pytest.approx(0, abs=1)
    assert got.items["B-1"]["duty_w"] == pytest.approx(8e3, rel=1e-3)


def test_two_boilers_in_series_share_the_lift() -> None:
    """The first stands at its capacity, the second makes up the rest to its set temperature."""
    board = Board()
    board.drive()
    board.item("B-1", "boiler", capacity="6 kW", set_temperature="80 degC")
    board.item("B-2", "boiler", capacity="50 kW", set_temperature="60 degC")
    board.item("RA-1", "radiator", ua="500 W/K", room_temperature="20 degC")
    pipes = board.ring("P-1", "S-1", "B-1", "B-2", "RA-1")
    got = board.solve()
    back = 20 + 40 * math.exp(-500 / C)
    check(got, (pipes[3], 60.0), (pipes[4], back))
    assert got.warm(pipes[2]) == pytest.approx(back + 3, abs=5e-3)
    assert got.items["B-2"]["duty_w"] == pytest.approx(C * (57 - back), rel=1e-3)


def test_two_boilers_and_nothing_that_takes_heat() -> None:
    """Water stands at the higher set temperature, nothing is given."""
    board = Board()
    board.drive()
    board.item("B-1", "boiler", capacity="2 kW", set_temperature="43 degC")
    board.item("B-2", "boiler", capacity="2 kW", set_temperature="51 degC")
    pipes = board.ring("P-1", "S-1", "B-1", "B-2")
    got = board.solve()
    check(got, (pipes[3], 51.0), (pipes[0], 51.0))
    assert got.items["B-1"]["duty_w"] == pytest.approx(0, abs=1)
    assert got.items["B-2"]["duty_w"] == pytest.approx(0, abs=1)


def bank(load: float, units: int, **heater: object) -> Solved:
    """Linked heaters side by side, each losing 10 kPa at 0.25 L/s, on the ring."""
    board = Board()
    board.drive()
    board.item("J-1", "joint")
    board.item("J-2", "joint")
    for number in range(1, units + 1):
        board.item(
            f"WH-{number}",
            "heater",
            **{
                "capacity": "20 kW",
                "set_temperature": "60 degC",
                "linked": "bank",
                "shut_when_idle": True,
                "drops": [["0.25 L/s", "10 kPa"]],
                **heater,
            },
        )
        board.chain("J-1", f"WH-{number}", "J-2")
    board.item("FC-1", "load", load=w(load))
    board.chain("J-2", "FC-1", "P-1", "S-1", "J-1")
    return board.solve()


@pytest.mark.parametrize(
    ("load", "units", "running"), [(15e3, 2, 1), (15e3, 3, 1), (30e3, 3, 2), (50e3, 3, 3)]
)
def test_the_fewest_linked_heaters_run(load: float, units: int, running: int) -> None:
    got = bank(load, units)
    states = [got.items[f"WH-{number}"]["running"] for number in range(1, units + 1)]
    assert sum(states) == running
    duties = [got.items[f"WH-{number}"]["duty_w"] for number in range(1, units + 1)]
    assert sum(duties) == pytest.approx(load, rel=1e-3)
    flows = [got.items[f"WH-{number}"]["flow_m3_s"] for number in range(1, units + 1)]
    for on, duty, through in zip(states, duties, flows, strict=True):
        assert duty == pytest.approx(load / running if on else 0.0, rel=2e-3, abs=1.0)
        assert through > 1e-5 if on else abs(through) < 1e-9
    total = sum(flows)  # pump line 60 - 60 q against 120 q^2 + 10 (4 q / running)^2, kPa and L/s
    bend = 120 + 160 / running**2
    want = (-60 + math.sqrt(60**2 + 4 * bend * 60)) / (2 * bend)
    assert total * 1e3 == pytest.approx(want, rel=1e-3)


def test_linked_heaters_together_at_their_limit() -> None:
    got = bank(100e3, 3)
    assert sum(got.items[f"WH-{number}"]["duty_w"] for number in (1, 2, 3)) == pytest.approx(60e3, rel=1e-3)
    assert got.items["FC-1"]["delivered_w"] == pytest.approx(60e3, rel=2e-3)
    assert any(got.noted(f"WH-{number}", "capacity|limit") for number in (1, 2, 3))


def test_boiler_switched_off_passes_water() -> None:
    board, pipes = ring(0.0, run_when="SW-1")
    board.item("SW-1", "switch")
    board.case("on", signals={"SW-1": True}).case("off", signals={"SW-1": False}).case("as drawn")
    assert board.solve("on").items["B-1"]["running"] is True
    for name in ("off", "as drawn"):
        got = board.solve(name)
        assert got.items["B-1"]["running"] is False
        assert got.items["B-1"]["duty_w"] == pytest.approx(0, abs=1)
        assert got.flow(pipes[0]) == pytest.approx(0.5e-3, rel=1e-4)


def test_pump_and_boiler_by_nested_signals() -> None:
    """any, all, not and powered_by: one truth table over two switches."""
    board = Board()
    board.pump("P-1", 60e3, 1e-3, run_when={"any": ["SW-1", {"all": ["SW-2", {"not": "SW-1"}]}]})
    board.resistance("S-1", 0.5e-3, 30e3)
    board.pump("P-2", 60e3, 1e-3, run_when=True, powered_by={"not": "SW-2"})
    board.resistance("S-2", 0.5e-3, 30e3)
    first = board.ring("P-1", "S-1")
    board.body("second", constant_fluid())
    second = board.ring("P-2", "S-2")
    for name in ("SW-1", "SW-2"):
        board.item(name, "switch")
    for one in (False, True):
        for two in (False, True):
            board.case(f"{one} {two}", signals={"SW-1": one, "SW-2": two})
    for one in (False, True):
        for two in (False, True):
            got = board.solve(f"{one} {two}")
            assert got.flow(first[0]) == pytest.approx(0.5e-3 * (one or two), rel=1e-4, abs=1e-9)
            assert got.flow(second[0]) == pytest.approx(0.5e-3 * (not two), rel=1e-4, abs=1e-9)
            assert got.converged


def test_boiler_heats_a_cold_stream_once_through() -> None:
    board = Board(use="potable")
    board.item("M-1", "cold_main", pressure="300 kPa", temperature=c(8.0))
    board.item("WH-1", "heater", capacity="60 kW", set_temperature="48 degC", min_flow="0.03 L/s")
    board.item("F-1", "fixture")
    board.chain("M-1", "WH-1")
    board.pipe("WH-1:out", "F-1:hot", "hot")
    got = board.case(draws={"F-1": "0.25 L/s"}).solve()
    assert got.warm("hot") == pytest.approx(48, abs=1e-3)
    assert got.items["WH-1"]["duty_w"] == pytest.approx(0.25 * 4000 * 40, rel=1e-5)
    assert got.items["F-1"]["temperature_c"] == pytest.approx(48, abs=1e-3)


def test_a_load_whose_flow_never_passes_the_boiler_gets_nothing() -> None:
    """Two pumped rings of one body, joined by one pipe that carries nothing."""
    board = Board()
    board.drive()
    board.item("J-1", "joint")
    board.item("B-1", "boiler", capacity="20 kW", set_temperature="60 degC")
    board.item("RA-1", "radiator", ua="300 W/K", room_temperature="20 degC")
    board.ring("P-1", "S-1", "J-1", "B-1", "RA-1")
    board.item("P-9", "circulator", curve=[["0 L/s", "3 m_head"], ["0.6 L/s", "1 m_head"]])
    board.item("FC-9", "load", load="5 kW", drops=[["0.3 L/s", "15 kPa"]])
    board.item("J-9", "joint")
    board.ring("P-9", "FC-9", "J-9")
    board.pipe("J-1:at", "J-9:at")
    got = board.solve()
    assert got.converged
    assert got.items["FC-9"]["flow_m3_s"] > 1e-4
    assert got.items["FC-9"]["delivered_w"] == pytest.approx(0, abs=1e-6)
    assert got.items["FC-9"]["short_w"] == pytest.approx(5e3)
    assert got.items["RA-1"]["delivered_w"] == pytest.approx(C * 40 * -math.expm1(-300 / C), rel=1e-4)
