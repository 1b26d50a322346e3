"""Many cases balanced together come to what each comes to by itself, in as many passes."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt
import pytest

from core.files.read import from_data
from core.hydraulics.balance import Balance, Balancer
from core.hydraulics.laws import Settings
from core.hydraulics.together import balance_together
from core.plant.model import Plant
from core.solve import Solver
from core.solve.settle import Settled
from tests.benchmarks.networks import isothermal
from tests.support.builders import Board

Array = npt.NDArray[np.float64]
CASES = 24


def settled(plant: Plant) -> Settled:
    solver = Solver(plant)
    solver.solve(plant.solve_cases[0])
    assert solver.last is not None
    return solver.last


def varied(base: Settled, seed: int) -> list[Settings]:
    """Cases of other speeds, valve positions, bounds, and now and then another shut way."""
    rng = np.random.default_rng(seed)
    found = []
    for number in range(CASES):
        drives = {
            i: replace(drive, speed=float(rng.uniform(0.0, 1.0)), target=3.0 if number % 3 == 0 else None)
            for i, drive in base.settings.drives.items()
        }
        n = len(base.net.elements)
        upper = np.where(rng.random(n) < 0.05, rng.uniform(0.0, 0.2), base.settings.upper)
        square = base.settings.square * rng.uniform(0.5, 3.0, n)
        closed = base.settings.closed.copy()
        if number % 5 == 0:
            closed[int(rng.integers(n))] = True
        found.append(replace(base.settings, drives=drives, upper=upper, square=square, closed=closed))
    return found


def alike(apart: Balance, together: Balance) -> None:
    most = float(np.abs(apart.w).max(initial=0.0))
    assert together.w == pytest.approx(apart.w, rel=0.0, abs=1e-9 * most + 1e-12)
    assert together.branch_flow == pytest.approx(apart.branch_flow, rel=0.0, abs=1e-9 * most + 1e-12)
    assert (together.passes, together.converged) == (apart.passes, apart.converged)
    assert together.parts == apart.parts
    assert together.pressure == pytest.approx(apart.pressure, rel=1e-9, abs=1e-3)


@pytest.mark.parametrize("seed", range(4))
def test_cases_together_are_as_one_by_one(seed: int) -> None:
    base = settled(isothermal(40, seed))
    balancer, cases = Balancer(base.net), varied(base, seed)
    water = base.rho, base.mu, base.column
    for one, answer in zip(cases, balance_together(balancer, cases, *water), strict=True):
        alike(balancer.balance(one, *water), answer)


def test_friction_is_scaled_as_by_another_length() -> None:
    """Twice the friction of all tubes is twice their length."""
    base = settled(isothermal(40, 1))
    data = isothermal(40, 1)
    long = replace(
        data,
        pipes={
            k: replace(p, length=f"{2 * p.si.length!r} m") if p.si.length else p
            for k, p in data.pipes.items()
        },
    )
    n = len(base.net.elements)
    balancer, settings = Balancer(base.net), [base.settings] * CASES
    water = base.rho, base.mu, base.column
    factor = np.ones((CASES, n))
    factor[1:] = 2.0
    got = balance_together(balancer, settings, *water, factor)
    alike(balancer.balance(base.settings, *water), got[0])
    other = settled(long)
    twice = Balancer(other.net).balance(other.settings, *water)
    for answer in got[1:]:
        assert answer.w == pytest.approx(twice.w, rel=1e-9, abs=1e-12)


def test_a_network_with_a_pressure_reducer_is_solved_one_by_one() -> None:
    board = Board(use="potable")
    board.item("CM-1", "cold_main", pressure="6 bar", temperature="10 degC")
    board.item("PR-1", "pressure_reducer", set_pressure="3 bar")
    board.resistance("S-1", 0.3e-3, 1e5)
    board.item("F-1", "fixture", flow="0.3 L/s")
    board.chain("CM-1", "PR-1", "S-1", "F-1:cold")
    plant = from_data(board.case("c", draws={"F-1": "0.3 L/s"}).data())
    base = settled(plant)
    balancer = Balancer(base.net)
    cases = [replace(base.settings, square=base.settings.square * k) for k in (1.0, 2.0, 3.0, 4.0)]
    water = base.rho, base.mu, base.column
    for one, answer in zip(cases, balance_together(balancer, cases, *water), strict=True):
        alike(balancer.balance(one, *water), answer)


def test_no_cases_and_still_water_are_no_trouble() -> None:
    board = Board()
    board.item("J-1", "joint")
    board.item("J-2", "joint")
    board.chain("J-1", "J-2")
    base = settled(from_data(board.case("c").data()))
    balancer = Balancer(base.net)
    water = base.rho, base.mu, base.column
    assert balance_together(balancer, [], *water) == []
    assert [float(np.abs(b.w).max()) for b in balance_together(balancer, [base.settings] * 5, *water)] == [
        0.0
    ] * 5
