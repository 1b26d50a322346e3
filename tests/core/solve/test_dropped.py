"""A solve that nobody waits for any more ends within one pass, and leaves the solver usable."""

import pytest

from core.files.read import from_data
from core.solve import Dropped, Solver, solve_case, solve_plant
from tests.support.small_plant import small


def test_no_longer_wanted_ends_the_run():
    plant = from_data(small())
    asked = []

    def keep_on() -> bool:
        asked.append(1)
        return len(asked) < 2

    solver = Solver(plant)
    case = plant.solve_cases[0]
    with pytest.raises(Dropped):
        solver.solve(case, keep_on)
    assert len(asked) == 2
    assert solver.solve(case).pipes == solve_case(plant, case).pipes
    with pytest.raises(Dropped):
        solve_plant(plant, keep_on=lambda: False)


def test_asked_before_every_pass():
    plant = from_data(small())
    asked = []
    solution = solve_case(plant, plant.solve_cases[0], keep_on=lambda: not asked.append(1))
    assert len(asked) >= solution.passes > 1
