"""The exponential of a small matrix, without loading scipy for it."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
# Coefficients of the diagonal Padé approximant of degree 13, and the 1-norm up to which it is exact to 1e-16
# (Higham, SIAM J. Matrix Anal. Appl. 26, 2005, 1179-1193).
PADE = (
    *(64764752532480000.0, 32382376266240000.0, 7771770303897600.0, 1187353796428800.0, 129060195264000.0),
    *(
        10559470521600.0,
        670442572800.0,
        33522128640.0,
        1323241920.0,
        40840800.0,
        960960.0,
        16380.0,
        182.0,
        1.0,
    ),
)
NORM = 5.371920351148152


def exponential(matrix: Array) -> Array:
    """e to the power of a square matrix: scaled down, approximated, squared up again.

    Parameters
    ----------
    matrix : array, (n, n)

    Returns
    -------
    array, (n, n)
    """
    one = np.eye(len(matrix))
    norm = float(np.abs(matrix).sum(axis=0).max(initial=0.0))
    halvings = max(0, int(np.ceil(np.log2(norm / NORM)))) if norm > 0.0 else 0
    a = matrix / 2.0**halvings
    a2 = a @ a
    a4 = a2 @ a2
    a6 = a2 @ a4
    b = PADE
    odd = a6 @ (b[13] * a6 + b[11] * a4 + b[9] * a2) + b[7] * a6 + b[5] * a4 + b[3] * a2 + b[1] * one
    even = a6 @ (b[12] * a6 + b[10] * a4 + b[8] * a2) + b[6] * a6 + b[4] * a4 + b[2] * a2 + b[0] * one
    found = np.linalg.solve(even - a @ odd, even + a @ odd)
    for _ in range(halvings):
        found = found @ found
    return np.asarray(found, dtype=np.float64)
