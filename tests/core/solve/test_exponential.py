"""The exponential of a matrix against scipy's, and against closed forms."""

import numpy as np
import pytest
from scipy.linalg import expm

from core.solve.exponential import exponential


@pytest.mark.parametrize("size", [1, 4, 24])
@pytest.mark.parametrize("norm", [1e-6, 1.0, 5.0, 60.0])
def test_it_agrees_with_scipy(size: int, norm: float):
    raw = np.random.default_rng(7).normal(size=(size, size))
    matrix = raw * norm / np.abs(raw).sum(axis=0).max()
    known = expm(matrix)
    assert exponential(matrix) == pytest.approx(known, rel=1e-9, abs=1e-12 * np.abs(known).max())


def test_decay_turning_and_a_matrix_that_cannot_be_made_diagonal():
    assert exponential(np.array([[-700.0]]))[0, 0] == pytest.approx(np.exp(-700.0), rel=1e-9)
    turn = exponential(np.array([[0.0, -np.pi], [np.pi, 0.0]]))
    assert turn == pytest.approx(-np.eye(2), abs=1e-13)
    assert exponential(np.array([[2.0, 1.0], [0.0, 2.0]])) == pytest.approx(
        np.exp(2.0) * np.array([[1, 1], [0, 1]])
    )
    assert exponential(np.zeros((0, 0))).shape == (0, 0)
