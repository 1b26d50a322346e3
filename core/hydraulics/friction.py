"""Friction of flow in round tubes: the law every pipe obeys. Fittings and valves are not here."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

LAMINAR_END = 2000.0
TURBULENT_START = 4000.0
_LN10 = math.log(10.0)


def colebrook(reynolds: Array, relative_roughness: Array) -> tuple[Array, Array]:
    """Friction factor of turbulent flow and how strongly it depends on Reynolds number.

    Parameters
    ----------
    reynolds : ndarray
        Reynolds number, at least 4000, [-]
    relative_roughness : ndarray
        Absolute roughness over bore, [-]

    Returns
    -------
    f : ndarray
        Darcy friction factor, [-]
    b : ndarray
        Slope term: d ln f / d ln Re = -2 b / (1 + b), [-]

    Notes
    -----
    Colebrook, J. Inst. Civ. Eng. 11 (1939) 133. Start of Swamee and Jain, J. Hydraul. Div. ASCE 102
    (1976) 657, then two Newton steps on x = 1/sqrt(f): within 5e-12 of the converged root.

    Examples
    --------
    >>> f, _ = colebrook(np.array([1e5]), np.array([1e-4]))
    >>> round(float(f[0]), 6)
    0.018513
    """
    r = relative_roughness / 3.7
    c = 2.51 / reynolds
    x = (-2.0 / _LN10) * np.log(r + 5.74 / reynolds**0.9)
    for _ in range(2):
        u = r + c * x
        x = x - (x + (2.0 / _LN10) * np.log(u)) / (1.0 + (2.0 / _LN10) * c / u)
    b = (2.0 / _LN10) * c / (r + c * x)
    return 1.0 / (x * x), b


def bridge(relative_roughness: Array) -> Array:
    """Coefficients of the cubic between laminar and turbulent flow, in t = Re/2000 - 1.

    Parameters
    ----------
    relative_roughness : ndarray, shape (n,)
        Absolute roughness over bore, [-]

    Returns
    -------
    ndarray, shape (4, n)
        f = c0 + c1 t + c2 t^2 + c3 t^3, [-]

    Notes
    -----
    Cubic Hermite: value and slope of 64/Re at Re 2000 and of Colebrook at Re 4000 (our own choice; the
    transition has no published law). f Re^2 rises throughout for relative roughness 0 to 0.05.
    """
    f4, b4 = colebrook(np.full_like(relative_roughness, TURBULENT_START), relative_roughness)
    m1 = -64.0 / LAMINAR_END
    m4 = -b4 / (1.0 + b4) * f4  # df/dt = Re_laminar_end * df/dRe, and Re = 2 * Re_laminar_end here
    f1 = 64.0 / LAMINAR_END
    c2 = 3.0 * (f4 - f1) - 2.0 * m1 - m4
    c3 = 2.0 * (f1 - f4) + m1 + m4
    return np.stack([np.full_like(f4, f1), np.full_like(f4, m1), c2, c3])


def friction_number(reynolds: Array, relative_roughness: Array, bridge_terms: Array) -> tuple[Array, Array]:
    """f Re^2 and its slope: the dimensionless pressure loss, without a hole at zero flow.

    Parameters
    ----------
    reynolds : ndarray, shape (n,)
        Reynolds number, at least 0, [-]
    relative_roughness : ndarray, shape (n,)
        Absolute roughness over bore, [-]
    bridge_terms : ndarray, shape (4, n)
        From `bridge`, made once per pipe, [-]

    Returns
    -------
    g, slope : ndarray
        f Re^2 and its derivative by Re, [-]

    Notes
    -----
    Laminar f = 64/Re (Hagen-Poiseuille) to Re 2000, Colebrook from Re 4000, the cubic between.
    """
    high = np.maximum(reynolds, TURBULENT_START)
    f, b = colebrook(high, relative_roughness)
    g = f * high * high
    slope = 2.0 * f * high / (1.0 + b)
    low = reynolds < TURBULENT_START
    if low.any():
        t = np.clip(reynolds / LAMINAR_END - 1.0, 0.0, 1.0)
        c0, c1, c2, c3 = bridge_terms
        fb = c0 + t * (c1 + t * (c2 + t * c3))
        dfb = c1 + t * (2.0 * c2 + t * 3.0 * c3)
        laminar = reynolds <= LAMINAR_END
        g = np.where(low, np.where(laminar, 64.0 * reynolds, fb * reynolds * reynolds), g)
        bridged = reynolds * (2.0 * fb + reynolds * dfb / LAMINAR_END)
        slope = np.where(low, np.where(laminar, 64.0, bridged), slope)
    return g, slope


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
    See `friction_number` for the regimes and `colebrook` for the source.

    Examples
    --------
    >>> round(friction_factor(1000.0, 0.0), 4)
    0.064
    """
    re, rr = np.broadcast_arrays(np.asarray(reynolds, float), np.asarray(relative_roughness, float))
    flat_re, flat_rr = re.ravel(), rr.ravel()
    g, _ = friction_number(flat_re, flat_rr, bridge(flat_rr))
    f = (g / flat_re**2).reshape(re.shape)
    return f if f.ndim else float(f)
