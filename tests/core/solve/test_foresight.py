"""Passes begin where the step of the controls before leads, so that errors fall as the square."""

import numpy as np
import pytest

from core.files.read import load
from core.solve import Solver
from core.solve.foresight import FAR, foresee
from core.thermal.heat_response import Response
from tests.plants.edits import SAMPLES


@pytest.mark.parametrize("name", ["kennel_clinic", "school_annex"])
def test_controls_come_to_rest_in_a_handful_of_passes(name: str) -> None:
    plant = load(SAMPLES / f"{name}.plant.json")
    settled = Solver(plant).settle(plant.solve_cases[0])
    assert settled.converged
    assert settled.passes <= 9  # 10 and 8 where properties followed a pass behind


def test_a_step_too_far_foresees_nothing() -> None:
    response = Response(np.array([[2.0]]), np.array([[4.0]]), [7], np.array([[3.0]]))
    near = foresee(np.array([0.5]), np.array([[0.1]]), response)
    assert near is not None
    assert (near.flow[0], near.t_in[0], near.t_out[0], near.node[7]) == (0.05, 1.0, 2.0, 1.5)
    for far in (FAR, np.nan):
        assert foresee(np.array([far]), np.array([[0.1]]), response) is None
