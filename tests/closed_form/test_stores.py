"""Tanks, buffers and separators in closed form. Ring flow 0.5 L/s, C = 2000 W/K."""

from __future__ import annotations

import math

import pytest

from tests.support.builders import Board, Solved, w


def tank_ring(**tank: object) -> tuple[Board, list[str]]:
    """Boiler at 70 degC and 200 kW charging a tank. Pipes: P-S, S-B, B-T, T-P."""
    board = Board(use="potable")
    board.drive()
    board.item("B-1", "boiler", capacity="200 kW", set_temperature="70 degC")
    board.item("T-1", "tank", **{"volume": "300 L", "taps": {"top": "1.4 m", "low": "0.1 m"}, **tank})
    return board, board.ring("P-1", "S-1", "B-1", "T-1:top>low")


def test_tank_held_at_a_given_temperature() -> None:
    board, pipes = tank_ring()
    got = board.case(tanks={"T-1": "48 degC"}).solve()
    assert got.warm(pipes[3]) == pytest.approx(48, abs=1e-3)
    assert got.items["T-1"]["temperature_c"] == pytest.approx(48, abs=1e-6)
    assert got.items["T-1"]["duty_w"] == pytest.approx(2000 * 22, rel=2e-4)
    assert got.items["B-1"]["duty_w"] == pytest.approx(2000 * 22, rel=2e-4)


def test_tank_with_a_temperature_at_each_tap() -> None:
    board, pipes = tank_ring()
    got = board.case(tanks={"T-1": {"top": "62 degC", "low": "30 degC"}}).solve()
    assert got.warm(pipes[3]) == pytest.approx(30, abs=1e-3)
    assert got.items["T-1"]["duty_w"] == pytest.approx(2000 * 40, rel=2e-4)


def test_given_tank_drawn_and_charged_at_once() -> None:
    """Heat gained counts what both streams bring: the charge, and cold water in for hot water out."""
    board, pipes = tank_ring(taps={"top": "1.4 m", "low": "0.1 m", "hot": "1.5 m", "cold": "0 m"})
    board.item("M-1", "cold_main", pressure="300 kPa", temperature="10 degC")
    board.item("F-1", "fixture")
    board.pipe("M-1:at", "T-1:cold")
    board.pipe("T-1:hot", "F-1:hot", "hot")
    got = board.case(draws={"F-1": "0.1 L/s"}, tanks={"T-1": "55 degC"}).solve()
    assert got.warm("hot") == pytest.approx(55, abs=1e-3)
    assert got.items["T-1"]["duty_w"] == pytest.approx(2000 * 15 - 400 * 45, rel=5e-4)
    assert got.flow(pipes[3]) == pytest.approx(0.5e-3, rel=1e-4)


def test_mixed_tank_in_balance_with_its_room() -> None:
    """C (70 - T) = UA (T - 20) with the loss to the room of the site."""
    board, pipes = tank_ring(ua_loss="200 W/K")
    got = board.solve()
    want = (2000 * 70 + 200 * 20) / 2200
    assert got.warm(pipes[3]) == pytest.approx(want, abs=2e-3)
    assert got.items["T-1"]["temperature_c"] == pytest.approx(want, abs=2e-3)
    assert got.items["T-1"]["duty_w"] == pytest.approx(200 * (want - 20), rel=1e-3)


def test_element_and_loss_and_draw() -> None:
    """C 10 + element + UA 20 = (C + UA) T for a tank fed cold; its duty is what the loss carries off."""
    board = Board(use="potable")
    board.item("M-1", "cold_main", pressure="300 kPa", temperature="10 degC")
    board.item(
        "T-1",
        "tank",
        volume="200 L",
        taps={"cold": "0.1 m", "hot": "1.2 m"},
        ua_loss="5 W/K",
        element="3 kW",
    )
    board.item("F-1", "fixture")
    board.pipe("M-1:at", "T-1:cold")
    board.pipe("T-1:hot", "F-1:hot", "hot")
    got = board.case(draws={"F-1": "0.02 L/s"}).solve()
    want = (80 * 10 + 3000 + 5 * 20) / 85
    assert got.warm("hot") == pytest.approx(want, abs=2e-3)
    assert got.items["T-1"]["temperature_c"] == pytest.approx(want, abs=2e-3)
    assert got.items["T-1"]["duty_w"] == pytest.approx(5 * (want - 20), rel=1e-3)


def test_mixed_tank_between_two_rings() -> None:
    """A source ring and a load ring through one mixed tank: both see its temperature."""
    board, first = tank_ring(taps=dict.fromkeys(("top", "low", "out", "back"), "1 m"))
    board.pump("P-2", 60e3, 1e-3)
    board.resistance("S-2", 0.25e-3, 45e3)  # 60 - 60 q = 720 q^2 at q = 0.25 L/s
    board.item("RA-1", "radiator", ua="500 W/K", room_temperature="20 degC")
    second = board.chain("T-1:out", "P-2", "S-2", "RA-1", "T-1:back")
    got = board.solve()
    drawn = 1000 * (1 - math.exp(-500 / 1000))
    want = (2000 * 70 + drawn * 20) / (2000 + drawn)
    assert got.flow(second[0]) == pytest.approx(0.25e-3, rel=1e-3)
    assert got.warm(second[0]) == pytest.approx(want, abs=5e-3)
    assert got.warm(first[3]) == pytest.approx(want, abs=5e-3)
    assert got.items["T-1"]["duty_w"] == pytest.approx(0, abs=20)
    assert got.items["RA-1"]["delivered_w"] == pytest.approx(drawn * (want - 20), rel=1e-3)


def crossing(kind: str, source: float, load: float, tanks: dict[str, str] | None = None) -> Solved:
    """Source ring at 80 degC and load ring of 30 kW through a separator or buffer, flows in L/s."""
    board = Board()
    board.item("B-1", "boiler", capacity="500 kW", set_temperature="80 degC")
    board.item("X-1", kind, volume="50 L")
    board.item("FC-1", "load", load=w(30e3))
    for name, flow in (("1", source), ("2", load)):
        board.pump(f"P-{name}", 60e3, 2 * flow * 1e-3)
        board.resistance(f"S-{name}", flow * 1e-3, 30e3)
    board.chain("X-1:a_out", "P-1", "S-1", "B-1")
    board.pipe("B-1:out", "X-1:a_in", "from-source")
    board.pipe("X-1:b_out", "P-2:in", "to-load")
    board.chain("P-2", "S-2", "FC-1")
    board.pipe("FC-1:out", "X-1:b_in", "from-load")
    return board.case(tanks=tanks or {}).solve()


@pytest.mark.parametrize("kind", ["separator", "buffer"])
@pytest.mark.parametrize(("source", "load"), [(0.5, 0.3), (0.3, 0.5), (0.4, 0.4)])
def test_flows_cross_by_balance(kind: str, source: float, load: float) -> None:
    """Each end mixes what reaches it; the difference goes down (positive) or up."""
    got = crossing(kind, source, load)
    back_drop = 30 / (4 * source)  # source sees all the heat
    if source >= load:
        supply = 80.0
        load_back = supply - 30 / (4 * load)
    else:
        load_back = 80 - back_drop  # upward crossing: the source return is the load return
        supply = load_back + 30 / (4 * load)
    assert got.converged
    assert got.warm("from-source") == pytest.approx(80, abs=2e-3)
    assert got.warm("to-load") == pytest.approx(supply, abs=0.01)
    assert got.warm("from-load") == pytest.approx(load_back, abs=0.01)
    assert got.items["X-1"]["cross_flow_m3_s"] * 1e3 == pytest.approx(source - load, abs=2e-4)
    assert got.items["B-1"]["duty_w"] == pytest.approx(30e3, rel=1e-3)
    assert got.flow("from-source") * 1e3 == pytest.approx(source, rel=1e-3)
    assert got.flow("to-load") * 1e3 == pytest.approx(load, rel=1e-3)


@pytest.mark.parametrize(("source", "load"), [(0.5, 0.3), (0.3, 0.5)])
def test_buffer_held_at_a_temperature_of_the_case(source: float, load: float) -> None:
    got = crossing("buffer", source, load, {"X-1": "55 degC"})
    assert got.warm("to-load") == pytest.approx(55, abs=2e-3)
    assert got.items["B-1"]["duty_w"] == pytest.approx(4000 * source * 25, rel=1e-3)
    assert got.warm("from-load") == pytest.approx(55 - 30 / (4 * load), abs=5e-3)


def test_rings_of_a_separator_do_not_drive_one_another() -> None:
    """Ends joined without loss: each pump sees its own ring alone."""
    got = crossing("separator", 0.5, 0.2)
    alone = Board()
    alone.pump("P-2", 60e3, 0.4e-3)
    alone.resistance("S-2", 0.2e-3, 30e3)
    pipes = alone.ring("P-2", "S-2")
    assert got.flow("to-load") == pytest.approx(alone.solve().flow(pipes[0]), rel=1e-5)
