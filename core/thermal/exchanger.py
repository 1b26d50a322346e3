"""Plate and tube exchangers by effectiveness and number of transfer units. No flows are found here.

Source: Kays and London, Compact Heat Exchangers; Incropera et al., Fundamentals of Heat and Mass Transfer.

Counter-flow holds with both sides running as named, or both backward; with one turned round it is parallel
flow.
"""

from __future__ import annotations

import math


def effectiveness(ntu: float, cr: float, arrangement: str = "counter") -> float:
    """Share of the greatest possible heat that an exchanger passes.

    Parameters
    ----------
    ntu : float
        UA over the smaller capacity rate, [-]
    cr : float
        Smaller over larger capacity rate, 0..1, [-]
    arrangement : str
        "counter" or "parallel"

    Returns
    -------
    float
        Effectiveness, [-]

    Notes
    -----
    Kays and London, Compact Heat Exchangers; Incropera et al., Fundamentals of Heat and Mass Transfer,
    table 11.3. Written with expm1 so that cr near 1 keeps its digits.

    Examples
    --------
    >>> round(effectiveness(2.0, 0.5), 7)
    0.7746003
    >>> effectiveness(4.0, 1.0)
    0.8
    """
    if ntu <= 0.0:
        return 0.0
    if arrangement == "parallel":
        return -math.expm1(-ntu * (1.0 + cr)) / (1.0 + cr)
    x = ntu * (1.0 - cr)
    if x < 1e-9:
        return ntu / (1.0 + ntu)
    # (1 - e^-x) / (1 - cr e^-x) with 1 - cr e^-x = (1 - cr) + cr (1 - e^-x)
    gone = -math.expm1(-x)
    return gone / ((1.0 - cr) + cr * gone)


def log_mean(first: float, second: float) -> float:
    """Log-mean of two temperature differences.

    Parameters
    ----------
    first, second : float
        Differences at the two ends, both above 0, [K]

    Returns
    -------
    float
        Log-mean difference, [K]

    Notes
    -----
    Incropera et al., equation 11.15. Nearly equal ends use the series, which the quotient loses.

    Examples
    --------
    >>> round(log_mean(100 - 40.2, 60 - 30), 2)
    43.2
    """
    if first <= 0.0 or second <= 0.0:
        return 0.0
    r = first / second
    if abs(r - 1.0) < 1e-6:
        return 0.5 * (first + second)
    return (first - second) / math.log(r)


def ua_from_rated(
    duty: float, a_in: float, a_out: float, b_in: float, b_out: float, arrangement: str
) -> float:
    """Conductance from a rated point.

    Parameters
    ----------
    duty : float
        Heat passed, [W]
    a_in, a_out, b_in, b_out : float
        Temperatures at the ports, [K]
    arrangement : str
        "counter" or "parallel"

    Returns
    -------
    float
        UA, [W/K]; 0 where the temperatures cross and no UA could give them

    Notes
    -----
    UA = duty / log-mean difference (Incropera et al., equation 11.14).

    Examples
    --------
    >>> round(ua_from_rated(8524, 100, 60, 30, 40.2, "counter"), 1)
    197.3
    """
    if arrangement == "parallel":
        ends = (a_in - b_in, a_out - b_out)
    else:
        ends = (a_in - b_out, a_out - b_in)
    if duty < 0.0:
        ends = (-ends[0], -ends[1])
    mean = log_mean(*ends)
    return abs(duty) / mean if mean > 0.0 else 0.0
