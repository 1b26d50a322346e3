"""Friction of flow in round tubes: the law every pipe obeys. Fittings and valves are not here."""

from __future__ import annotations

import math
from functools import lru_cache
from typing import Any

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

LAMINAR_END = 2000.0
TURBULENT_START = 4000.0
_K = 2.0 / math.log(10.0)  # Colebrook's 2 lg(u) is _K ln(u)


def turbulent_number(reynolds: Array, relative_roughness: Array) -> tuple[Array, Array]:
    """f Re^2 of turbulent flow by Colebrook and White, and its slope.

    Parameters
    ----------
    reynolds : ndarray
        Reynolds number, at least 4000, [-]
    relative_roughness : ndarray
        Absolute roughness over bore, [-]

    Returns
    -------
    g, slope : ndarray
        f Re^2 and its derivative by Re, [-]

    Notes
    -----
    Colebrook, J. Inst. Civ. Eng. 11 (1939) 133. With c = 2.51 K/Re, K = 2/ln 10 and
    z = 1/(K sqrt f) + e/(3.7 c) his formula reads z + ln z = e/(3.7 c) - ln c, which Newton's method solves
    by z (1 + right side - ln z)/(1 + z). Two steps from z = right side - 1.9 leave f within 1e-9 at
    any Re above 4000.

    Examples
    --------
    >>> g, _ = turbulent_number(np.array([1e5]), np.array([1e-4]))
    >>> round(float(g[0]) / 1e10, 6)
    0.018514
    """
    scaled = reynolds * (1.0 / (2.51 * _K))
    log = np.log(scaled)
    scaled *= relative_roughness / 3.7
    right = scaled + log
    right += 1.0
    z = right - 2.9
    for _ in range(2):
        below = z + 1.0
        z *= right - np.log(z)
        z /= below
    # log - ln z is z - rough without its cancellation, which at the Re 1e16 of a wild step leaves nothing.
    log -= np.log(z)
    log *= _K
    g = reynolds / log
    g *= g
    slope = 2.0 * g
    slope *= z
    z += 1.0
    z *= reynolds
    slope /= z
    return g, slope


def bridge(relative_roughness: Array) -> tuple[Array, Array, Array]:
    """What `friction_number` needs of each pipe for laminar flow and for the cubic up to turbulent flow.

    Parameters
    ----------
    relative_roughness : ndarray, shape (n,)
        Absolute roughness over bore, [-]

    Returns
    -------
    terms : ndarray, shape (5, 2, n)
        In t = Re/2000 - 1: terms of (f Re^2 - 64 Re)/t, and of the slope of f Re^2 by Re, [-]
    g4, slope4 : ndarray, shape (n,)
        f Re^2 at Re 4000 and its slope, [-]

    Notes
    -----
    Cubic Hermite for f: value and slope of 64/Re at Re 2000 and of Colebrook at Re 4000 (our own choice; the
    transition has no published law). f Re^2 rises throughout for relative roughness 0 to 0.05.
    """
    start = np.full_like(relative_roughness, TURBULENT_START)
    g4, slope4 = turbulent_number(start, relative_roughness)
    f1 = 64.0 / LAMINAR_END
    f4 = g4 / TURBULENT_START**2
    m4 = LAMINAR_END * (slope4 - 2.0 * g4 / TURBULENT_START) / TURBULENT_START**2  # df/dt, as m1 below
    m1 = -f1
    c2, c3 = 3.0 * (f4 - f1) - 2.0 * m1 - m4, 2.0 * (f1 - f4) + m1 + m4
    # f (1 + t)^2, term by term, less f1 which is the laminar part's at Re 2000.
    number: tuple[float | Array, ...] = (
        2.0 * f1 + m1,
        f1 + 2.0 * m1 + c2,
        m1 + 2.0 * c2 + c3,
        c2 + 2.0 * c3,
        c3,
    )
    scale = LAMINAR_END**2
    terms = np.empty((5, 2, len(relative_roughness)))
    for k, value in enumerate(number):
        terms[k, 0] = scale * value
        terms[k, 1] = scale / LAMINAR_END * (k + 1) * value
    terms[0, 0] -= 64.0 * LAMINAR_END  # what 64 Re goes on to bring up to Re 4000
    return terms, g4, slope4


def friction_number(
    reynolds: Array, relative_roughness: Array, bridge_terms: tuple[Array, Array, Array]
) -> tuple[Array, Array]:
    """f Re^2 and its slope: the dimensionless pressure loss, without a hole at zero flow.

    Parameters
    ----------
    reynolds : ndarray, shape (n,)
        Reynolds number, at least 0, [-]
    relative_roughness : ndarray, shape (n,)
        Absolute roughness over bore, [-]
    bridge_terms : tuple of ndarray
        From `bridge`, made once per pipe, [-]

    Returns
    -------
    g, slope : ndarray
        f Re^2 and its derivative by Re, [-]

    Notes
    -----
    Laminar f = 64/Re (Hagen-Poiseuille) to Re 2000, Colebrook from Re 4000, the cubic between. Each range
    adds what it brings beyond the last, so no pipe need be sorted into one: half the time of choosing.
    """
    terms, g4, slope4 = bridge_terms
    g, slope = turbulent_number(np.maximum(reynolds, TURBULENT_START), relative_roughness)
    low = np.minimum(reynolds, TURBULENT_START)
    t = np.maximum(low * (1.0 / LAMINAR_END), 1.0)
    t -= 1.0
    cubic = terms[4] * t
    cubic += terms[3]
    for term in terms[2::-1]:
        cubic *= t
        cubic += term
    g -= g4
    g += t * cubic[0]
    low *= 64.0
    g += low
    slope -= slope4
    slope += cubic[1]
    return g, slope


@lru_cache(maxsize=256)
def _of_one(relative_roughness: float) -> tuple[Array, tuple[Array, Array, Array]]:
    """One roughness and its `bridge`, kept: a plant has a handful, and asks for each a hundred times."""
    roughness = np.array([relative_roughness])
    return roughness, bridge(roughness)


def friction_factor(reynolds: Any, relative_roughness: Any) -> Any:
    """Darcy friction factor over all regimes.

    Parameters
    ----------
    reynolds : float or ndarray
        Reynolds number, above 0, [-]
    relative_roughness : float or ndarray
        Absolute roughness over bore, [-]

    Returns
    -------
    float or ndarray
        Darcy friction factor, [-]

    Notes
    -----
    See `friction_number` for the regimes and `turbulent_number` for the source.

    Examples
    --------
    >>> round(friction_factor(1000.0, 0.0), 4)
    0.064
    """
    if isinstance(reynolds, float) and isinstance(relative_roughness, float):
        g, _ = friction_number(np.array([reynolds]), *_of_one(relative_roughness))
        return float(g[0]) / (reynolds * reynolds)
    re, rr = np.broadcast_arrays(np.asarray(reynolds, float), np.asarray(relative_roughness, float))
    flat_re, flat_rr = re.ravel(), rr.ravel()
    g, _ = friction_number(flat_re, flat_rr, bridge(flat_rr))
    f = (g / flat_re**2).reshape(re.shape)
    return f if f.ndim else float(f)
