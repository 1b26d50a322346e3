"""When water boils: its vapour pressure, and the air's pressure against it. Absolute pressures."""

from __future__ import annotations

import math

CRITICAL_TEMPERATURE = 647.096  # [K]
CRITICAL_PRESSURE = 22.064e6  # [Pa]
_TERMS = (
    (-7.85951783, 1.0),
    (1.84408259, 1.5),
    (-11.7866497, 3.0),
    (22.6807411, 3.5),
    (-15.9618719, 4.0),
    (1.80122502, 7.5),
)


def vapour_pressure(temperature: float) -> float:
    """Pressure at which water boils.

    Parameters
    ----------
    temperature : float
        From 273.16 to 647.096; held at these ends, [K]

    Returns
    -------
    float
        Absolute pressure, [Pa]

    Notes
    -----
    Source: W. Wagner and A. Pruss, J. Phys. Chem. Ref. Data 22 (1993) 783, equation 1 (coefficients from
    memory, checked against the published table). A glycol mix boils at a lower pressure than water at the
    same temperature, so that water's is the safe side for it.

    Examples
    --------
    >>> round(vapour_pressure(373.15))
    101418
    """
    t = min(max(temperature, 273.16), CRITICAL_TEMPERATURE)
    x = 1.0 - t / CRITICAL_TEMPERATURE
    total = sum(a * x**n for a, n in _TERMS)
    return CRITICAL_PRESSURE * math.exp(CRITICAL_TEMPERATURE / t * total)


def atmosphere(altitude: float) -> float:
    """Pressure of the air.

    Parameters
    ----------
    altitude : float
        Height above the sea, up to 11,000, [m]

    Returns
    -------
    float
        Absolute pressure, [Pa]

    Notes
    -----
    Source: U.S. Standard Atmosphere 1976, lowest layer.

    Examples
    --------
    >>> round(atmosphere(0.0)), round(atmosphere(1000.0))
    (101325, 89875)
    """
    h = min(max(altitude, -500.0), 11_000.0)
    return float(101_325.0 * (1.0 - 0.0065 * h / 288.15) ** 5.25588)
