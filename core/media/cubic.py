"""Smooth cubic pieces through values on a uniform grid; for the property tables; knows no fluids."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Values = NDArray[np.float64]


def spline_slopes(values: Values) -> Values:
    """Slopes per grid step that make the cubic pieces twice smooth (end conditions: not-a-knot).

    Parameters
    ----------
    values : ndarray, shape (nodes, ...)
        Values at the nodes, at least four

    Returns
    -------
    ndarray
        Slopes at the nodes, same shape, [per step]

    Notes
    -----
    Source: cubic spline in terms of its first derivatives, textbook identity.

    Examples
    --------
    >>> spline_slopes(np.array([0.0, 1.0, 8.0, 27.0, 64.0])).round(9).tolist()
    [0.0, 3.0, 12.0, 27.0, 48.0]
    """
    nodes = len(values)
    flat = values.reshape(nodes, -1)
    matrix = np.zeros((nodes, nodes))
    right = np.empty_like(flat)
    inner = np.arange(1, nodes - 1)
    matrix[inner, inner - 1] = 1.0
    matrix[inner, inner] = 4.0
    matrix[inner, inner + 1] = 1.0
    right[1:-1] = 3.0 * (flat[2:] - flat[:-2])
    matrix[0, :2] = 1.0, 2.0
    matrix[-1, -2:] = 2.0, 1.0
    right[0] = (-5.0 * flat[0] + 4.0 * flat[1] + flat[2]) / 2.0
    right[-1] = (5.0 * flat[-1] - 4.0 * flat[-2] - flat[-3]) / 2.0
    solved = np.asarray(np.linalg.solve(matrix, right), dtype=np.float64)
    return solved.reshape(values.shape)


def faded(values: Values, slopes: Values, steps: int, fade: float) -> tuple[Values, Values]:
    """Values and slopes with `steps` nodes added at both ends, where the end's slope dies away.

    Parameters
    ----------
    values, slopes : ndarray, shape (nodes, ...)
        At the nodes; slopes [per step]
    steps : int
        Nodes to add at either end
    fade : float
        Length over which the slope falls to 1/e, [steps]

    Returns
    -------
    tuple of ndarray, shape (nodes + 2 steps, ...)
        Values and slopes; beyond the given nodes value = end + slope fade (1 - exp(-distance/fade)), which
        goes one way only and stays within slope x fade of the end. Source: our own choice.
    """
    shape = (steps,) + (1,) * (values.ndim - 1)
    decay = np.exp(-np.arange(1, steps + 1) / fade).reshape(shape)
    above = values[-1] + slopes[-1] * fade * (1.0 - decay)
    below = values[0] - slopes[0] * fade * (1.0 - decay[::-1])
    return (
        np.concatenate([below, values, above]),
        np.concatenate([slopes[0] * decay[::-1], slopes, slopes[-1] * decay]),
    )


def pieces(values: Values, slopes: Values) -> Values:
    """Coefficients of 1, u, u^2, u^3 on each interval, u = 0..1 (Hermite); shape (4, nodes - 1, ...)."""
    rise = values[1:] - values[:-1]
    first, last = slopes[:-1], slopes[1:]
    return np.stack([values[:-1], first, 3.0 * rise - 2.0 * first - last, first + last - 2.0 * rise])


def spline_at(values: Values, place: float) -> Values:
    """The spline through `values` (shape (nodes, ...)) at `place`, counted in steps from the first node."""
    index = min(max(int(place), 0), len(values) - 2)
    u = place - index
    c = pieces(values, spline_slopes(values))[:, index]
    value: Values = c[0] + u * (c[1] + u * (c[2] + u * c[3]))
    return value
