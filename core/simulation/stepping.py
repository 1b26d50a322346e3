"""Exact steps of a straight system x' = A x + b + d t, of lengths that double, all from one small one.

Method: the exponential of the system's matrix by its series for a short step, then by squaring (scaling and
squaring; Moler and Van Loan, SIAM Review 45 (2003) 3). The integral of the states comes by the same doubling.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

SHORTEST = 1.0 / 16.0  # [s] times are told apart to this
LEVELS = 11  # the longest step is SHORTEST * 2**(LEVELS - 1): 64 s
TERMS = 9
SMALL = 0.25  # norm of the matrix times the step up to which the series is taken


class Ladder:
    """Steps of SHORTEST, twice that, and so on.

    Parameters
    ----------
    system : ndarray, shape (n, n + 2)
        Rows of x' by (x, 1, t)
    """

    def __init__(self, system: Array) -> None:
        n = len(system)
        self.matrix = np.zeros((n + 2, n + 2))
        self.matrix[:n] = system
        self.matrix[n + 1, n] = 1.0
        self.made: list[tuple[Array, Array]] = []

    def step(self, level: int) -> tuple[Array, Array]:
        """What a step makes of (x, 1, t), and their integral over it, both as matrices."""
        while len(self.made) <= level:
            self.made.append(self._double(*self.made[-1]) if self.made else self._first())
        return self.made[level]

    def _first(self) -> tuple[Array, Array]:
        norm = float(np.abs(self.matrix).sum(axis=1).max(initial=0.0)) * SHORTEST
        halvings = 0
        while norm > SMALL:
            norm, halvings = norm / 2.0, halvings + 1
        step = SHORTEST / 2.0**halvings
        own = self.matrix * step
        term = np.eye(len(own))
        moved, summed = term.copy(), term.copy()
        for k in range(1, TERMS + 1):
            term = term @ own / k
            moved += term
            summed += term / (k + 1)
        found = moved, step * summed
        for _ in range(halvings):
            found = self._double(*found)
        return found

    @staticmethod
    def _double(moved: Array, summed: Array) -> tuple[Array, Array]:
        return moved @ moved, summed + summed @ moved


def seconds(level: int) -> float:
    """Length of the step of a level, [s]."""
    return float(SHORTEST * 2.0**level)
