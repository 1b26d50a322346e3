"""The system curve a circulator sees, against hand sums and against the solved operating point."""

from __future__ import annotations

import math
from itertools import pairwise
from pathlib import Path

import pytest

import sample_plants
from core.files.read import from_data, load
from core.sizing.curves.system import (
    Point,
    in_parallel,
    in_series,
    pump_line,
    spread,
    system_curve,
)
from core.sizing.second_circulator.available import curve_of
from core.solve import Solver
from tests.plants.edits import file_of
from tests.support.builders import FT, GPM, Board

SAMPLES = Path(sample_plants.__file__).parent


def square(feet_at_ten: float) -> Board:
    board = Board()
    board.item("P-1", "circulator", curve=[["0 gpm", "20 ft_head"], ["20 gpm", "2 ft_head"]])
    board.item("S-1", "strainer", drops=[["10 gpm", f"{feet_at_ten!r} ft_head"]])
    board.ring("P-1", "S-1", length="0 m")
    return board


def test_closed_loop_is_the_square_law():
    plant = from_data(square(3.0).data())
    solver = Solver(plant)
    case = plant.solve_cases[0]
    solver.solve(case)
    flows = [2 * GPM, 5 * GPM, 10 * GPM, 18 * GPM, 30 * GPM]
    found = system_curve(solver, case, "P-1", flows)
    assert found.lost == 0
    assert [q for q, _ in found.points] == pytest.approx(flows, rel=2e-3)
    for q, h in found.points:
        assert h / FT == pytest.approx(0.03 * (q / GPM) ** 2, rel=2e-4)


def between(points: tuple[Point, ...], flow: float) -> float:
    (q0, h0), (q1, h1) = max((a, b) for a, b in pairwise(points) if a[0] <= flow)
    return h0 + (flow - q0) / (q1 - q0) * (h1 - h0)


@pytest.mark.parametrize("sample", ["potting_shed", "two_heater_clinic", "school_annex"])
def test_it_passes_through_the_operating_point(sample: str):
    """Where the circulator settles by its own curve, the rest must ask for just its head.

    Within 4 %: delta-T circulators and mixing valves beside it rest within a band, not at one point.
    """
    plant = load(file_of(sample))
    case = plant.solve_cases[0]
    solver = Solver(plant)
    solution = solver.solve(case)
    running = [i.id for i in plant.items.values() if i.kind == "circulator" and solution.items[i.id].running]
    for name in running[:3]:
        at = solution.items[name].flow_m3_s
        found = system_curve(solver, case, name, [0.98 * at, at, 1.02 * at])
        assert found.lost == 0, name
        head = solution.items[name].head_m
        low, high = found.points[0][1], found.points[-1][1]
        assert low < head < high, name
        if high < 2.0 * head:  # else a limiter (BV-2) holds the flow and asks for any head beyond it
            assert between(found.points, at) == pytest.approx(head, rel=0.04), name


def test_another_circulator_in_line_takes_over():
    """With one more in line that gives 10 ft whatever the flow, the first is asked for 10 ft less."""
    board = square(3.0)
    board.item("P-2", "circulator", curve=[["0 gpm", "10 ft_head"], ["40 gpm", "10 ft_head"]])
    board.pipes.clear()
    board.ring("P-1", "P-2", "S-1", length="0 m")
    plant = from_data(board.data())
    solver = Solver(plant)
    case = plant.solve_cases[0]
    solver.solve(case)
    for q, h in system_curve(solver, case, "P-1", [5 * GPM, 20 * GPM]).points:
        assert h / FT == pytest.approx(0.03 * (q / GPM) ** 2 - 10.0, abs=0.01)


def test_curves_of_two_are_sums():
    plant = from_data(square(3.0).data())
    curve = curve_of(plant.items["P-1"])
    assert curve is not None
    one = pump_line(curve, 1.0)
    assert one[0][1] / FT == pytest.approx(20.0)
    for q, h in in_series(one, one):
        assert h / FT == pytest.approx(2 * (20.0 - 0.9 * q / GPM), abs=1e-6)
    for q, h in in_parallel(one, one):
        assert h / FT == pytest.approx(20.0 - 0.9 * q / GPM / 2, abs=1e-6)
    weak = tuple((q, h - 5 * FT) for q, h in one if h > 5 * FT)
    both = in_parallel(one, weak)
    alone = [(q, h) for q, h in both if h > weak[0][1]]
    assert all(h / FT == pytest.approx(20.0 - 0.9 * q / GPM, abs=1e-6) for q, h in alone)


def test_half_speed_by_affinity():
    curve = curve_of(from_data(square(3.0).data()).items["P-1"])
    assert curve is not None
    for q, h in pump_line(curve, 0.5):
        assert h / FT == pytest.approx(0.25 * 20.0 - 0.5 * 0.9 * q / GPM, abs=1e-6)


def test_flows_are_spread_from_nearly_nothing():
    flows = spread(1.0, 0.4)
    assert flows == sorted(flows)
    assert 0.4 in flows
    assert flows[0] > 0.0
    assert math.isclose(flows[-1], 1.0)
