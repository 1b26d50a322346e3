"""Loss coefficients of the fittings that a pipe may carry: a closed list, each with one published method.

Method: K = n fT, after Crane Technical Paper 410 (2009), with fT the fully turbulent friction factor of
commercial steel at the pipe's own bore, whatever the tube's material (so the paper defines it). Couplings,
unions, entrances and exits have a constant K instead. All are referred to the velocity in that bore.

Left out on purpose: check valves (they stop water, so they are items) and reducers (their K needs two bores;
put it into `k`). Tees have one number each; how run and branch share the flow does not change it.

Fittings are Crane TP-410 K = n fT, fT of commercial steel at the pipe's own bore; a tee has one number for
its run and one for its branch.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

from core.errors import Refusal
from core.media.catalogue import nearest_word

CRANE = "Crane TP-410 (2009), K = n fT; n as in fluids 1.3.1"
CRANE_COPY = "Crane TP-410 (2009), K = n fT; n from memory, seen in a stored secondary copy"
CRANE_CONSTANT = "Crane TP-410 (2009), constant K, as in fluids 1.3.1"
HANDBOOK = "Perry's Chemical Engineers' Handbook, constant K; seen in a stored secondary copy"


@dataclass(frozen=True)
class Fitting:
    """A fitting: its name in files, trade words, K = n fT + k, and the source of n or k."""

    name: str
    words: str
    n: float
    source: str
    k: float = 0.0


FITTINGS: dict[str, Fitting] = {
    fitting.name: fitting
    for fitting in (
        Fitting("elbow_90", "90° elbow, standard", 30.0, CRANE),
        Fitting("elbow_90_long", "90° elbow, long radius (1.5 diameters)", 14.0, CRANE),
        Fitting("elbow_45", "45° elbow", 16.0, CRANE),
        Fitting("return_bend", "close return bend, 180°", 50.0, CRANE),
        Fitting("tee_run", "tee, flow straight through", 20.0, CRANE_COPY),
        Fitting("tee_branch", "tee, flow through the branch", 60.0, CRANE_COPY),
        Fitting("coupling", "coupling", 0.0, HANDBOOK, 0.04),
        Fitting("union", "union", 0.0, HANDBOOK, 0.04),
        Fitting("ball_valve", "ball valve, full bore, open", 3.0, CRANE),
        Fitting("gate_valve", "gate valve, open", 8.0, CRANE),
        Fitting("globe_valve", "globe valve, open", 340.0, CRANE),
        Fitting("angle_valve", "angle valve, open", 150.0, CRANE),
        Fitting("y_valve", "Y-pattern globe valve, open", 55.0, CRANE),
        Fitting("butterfly_valve", "butterfly valve, open", 45.0, CRANE),
        Fitting("plug_valve", "plug valve, straight way, open", 18.0, CRANE),
        Fitting("entrance", "sharp entrance from a vessel", 0.0, CRANE_CONSTANT, 0.5),
        Fitting("exit", "exit into a vessel", 0.0, CRANE_CONSTANT, 1.0),
    )
}


def fitting_k(name: str, bore: float) -> float:
    """Loss coefficient of one fitting, referred to the velocity in the bore.

    Parameters
    ----------
    name : str
        A key of FITTINGS
    bore : float
        Inside diameter of the pipe that carries it, [m]

    Returns
    -------
    float
        K, [-]

    Raises
    ------
    Refusal
        The fitting is not in the list

    Notes
    -----
    Source: the fitting's own `source`.

    Examples
    --------
    >>> round(fitting_k("elbow_90", 0.02664), 3)  # 1 in steel, schedule 40
    0.668
    """
    fitting = FITTINGS.get(name)
    if fitting is None:
        hint = nearest_word(name, FITTINGS)
        raise Refusal("fittings", name, f"one of {', '.join(FITTINGS)}", hint)
    if not fitting.n:
        return fitting.k
    return fitting.n * turbulent_friction(bore) + fitting.k


@lru_cache(maxsize=1024)
def turbulent_friction(bore: float) -> float:
    """Friction factor fT of fully turbulent flow in commercial steel, as the fittings' method wants it.

    Parameters
    ----------
    bore : float
        Inside diameter, [m]

    Returns
    -------
    float
        Darcy friction factor, [-]

    Notes
    -----
    Crane TP-410 (2009) prints fT by nominal size, rounded to 0.001. Between sizes the fit of fluids 1.3.1 is
    used: Colebrook-White at Re = 7.5e6 D with a relative roughness of 3.41268e-5 D**-1.0112, D in metres
    (bare carbon steel after Farshad), which gives the printed values when rounded.

    Examples
    --------
    >>> round(turbulent_friction(0.1), 5)
    0.01629
    """
    rough = 3.4126825352925e-5 * bore**-1.0112 / 3.7
    smooth = 2.51 / (7.5e6 * bore)
    root = -2.0 * math.log10(rough)  # 1/sqrt(f) of fully rough flow, a close start
    for _ in range(20):
        root = -2.0 * math.log10(rough + smooth * root)
    return 1.0 / (root * root)
