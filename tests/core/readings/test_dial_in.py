"""Dialing in: step after step, with readings of a plant not as drawn, every circuit comes to its flow."""

from __future__ import annotations

from dataclasses import replace

import pytest

from core.files.read import from_data
from core.plant.model import Plant
from core.readings.dial_in import DialIn, dial_in, loops_of
from core.readings.measured import Reading, shown
from core.solve.solver import Solver
from tests.support.builders import Board, flow, w


def three_circuits(head: float = 60e3) -> Plant:
    """Three radiators at 0.1 L/s each by their load and difference, behind one circulator."""
    board = Board()
    board.item("B-1", "boiler", capacity=w(60e3), set_temperature="60 degC")
    board.pump("P-1", head, 0.8e-3)
    board.item("ET-1", "expansion_tank", volume="20 L", precharge="100 kPa")
    for joint in ("J-1", "J-2", "J-3"):
        board.item(joint, "joint")
    board.pipe("B-1:out", "J-3:at", "supply")
    board.pipe("J-3:at", "ET-1:at", "to-tank")
    board.pipe("J-3:at", "P-1:in", "suction")
    board.pipe("P-1:out", "J-1:at", "header")
    for k, drop in ((1, 6e3), (2, 12e3), (3, 24e3)):
        board.item(f"BV-{k}", "balance_valve", cv=1.5)
        board.item(f"FM-{k}", "flow_meter")
        board.item(
            f"R-{k}",
            "radiator",
            load=w(4e3),
            ua="200 W/K",
            room_temperature="20 degC",
            drops=[[flow(0.1e-3), f"{drop} Pa"]],
        )
        board.pipe("J-1:at", f"BV-{k}:a", f"to-{k}")
        board.pipe(f"BV-{k}:b", f"FM-{k}:in", f"meter-{k}")
        board.pipe(f"FM-{k}:out", f"R-{k}:in", f"in-{k}")
        board.pipe(f"R-{k}:out", "J-2:at", f"out-{k}")
    board.pipe("J-2:at", "B-1:in", "return")
    return from_data(board.case("night").data())


def turned(plant: Plant, at: str, what: str, value: float) -> Plant:
    item = plant.items[at]
    return replace(plant, items={**plant.items, at: replace(item, props={**item.props, what: value})})


def spoiled(plant: Plant) -> Plant:
    """The plant as it really is: two radiators resist otherwise than drawn."""
    for name, drop in (("R-1", 9e3), ("R-3", 20e3)):
        item = plant.items[name]
        drops = {**item.props, "drops": [[flow(0.1e-3), f"{drop} Pa"]]}
        plant = replace(plant, items={**plant.items, name: replace(item, props=drops)})
    return plant


def read(truth: Plant) -> list[Reading]:
    solution = Solver(truth).solve(truth.solve_cases[0])
    values = [(f"FM-{k}", shown(truth, solution, f"FM-{k}", "flow")) for k in (1, 2, 3)]
    return [Reading(k, at, "flow", value or 0.0, 1e-6, "night") for k, (at, value) in enumerate(values)]


def dialed(plant: Plant, truth: Plant, most: int) -> tuple[DialIn, int]:
    for step in range(most):
        found = dial_in(plant, read(truth))
        if found.next is None:
            return found, step
        turn = found.next
        plant, truth = (turned(one, turn.at, turn.what, turn.after) for one in (plant, truth))
    return dial_in(plant, read(truth)), most


def test_readings_of_a_plant_that_is_otherwise_than_drawn_lead_to_design_flow():
    plant = three_circuits()
    found, steps = dialed(plant, spoiled(plant), 10)
    assert found.done, found
    assert steps <= 8
    assert [one.read for one in found.circuits] == [True] * 3


def test_the_first_turn_throttles_the_circuit_that_gets_most_and_says_what_then_shows():
    plant = three_circuits()
    turn = dial_in(plant).next
    assert turn is not None
    assert (turn.at, turn.what) == ("BV-1", "setting")
    assert turn.after < turn.before
    then = Solver(turned(plant, "BV-1", "setting", turn.after)).solve(plant.solve_cases[0])
    expected = {one.at: one.value for one in turn.expected if one.what == "flow"}
    assert expected["FM-2"] == pytest.approx(abs(then.flow("FM-2")), rel=1e-9)


def test_a_valve_that_stands_half_shut_in_the_circuit_that_gets_least_is_opened_first():
    plant = turned(three_circuits(), "BV-3", "setting", 0.2)
    turn = dial_in(plant).next
    assert turn is not None
    assert turn.at == "BV-3"
    assert turn.after > 0.2


def test_a_circulator_too_weak_is_said_with_its_reason():
    plant = three_circuits(head=14e3)
    found, _ = dialed(plant, plant, 8)
    assert not found.done
    assert "no speed left" in found.why


def test_loops_share_the_flow_by_length_and_the_short_one_would_take_more_left_open():
    board = Board()
    board.item("FC-1", "floor_circuit", output_per_degree="100 W/K", loops=[["60 m"][0], [2, "90 m"]])
    loops = loops_of(from_data(board.data()), "FC-1", 240e-6)
    assert [one.wanted for one in loops] == pytest.approx([60e-6, 90e-6, 90e-6])
    assert sum(one.left_open for one in loops) == pytest.approx(240e-6)
    assert loops[0].left_open / loops[1].left_open == pytest.approx((90 / 60) ** (4 / 7))
