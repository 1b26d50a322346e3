"""The rated point of an exchanger, with what its maker left to be worked out. No judgment of it here."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from core.media.fluids import Fluid

ROUNDS = 8
Content = Callable[["Fluid", float, float], float]
"""Heat that a fluid takes from one temperature [K] to another, [J/kg]."""


class RatedPoint(NamedTuple):
    """Heat that side a gives to side b [W], negative where b is the warmer; temperatures at the ports [K].

    `a_rate`, `b_rate`: heat per kelvin that each flow carries, [W/K]; `a_duty`, `b_duty` the heat by each
    side's own flow and temperatures and `stated` the one typed, [W], None where they do not tell.
    """

    duty: float
    a_in: float
    a_out: float
    b_in: float
    b_out: float
    a_rate: float
    b_rate: float
    a_duty: float | None
    b_duty: float | None
    stated: float | None


def mean_content(fluid: Fluid, start: float, end: float) -> float:
    """Heat taken from one temperature [K] to another at the heat capacity halfway, [J/kg]."""
    return float(fluid.heat_capacity(0.5 * (start + end))) * (end - start)


def rated_point(
    rated: Mapping[str, float], fluids: Sequence[Fluid], content: Content = mean_content
) -> RatedPoint:
    """The whole point, from any flows and temperatures that tell it.

    Parameters
    ----------
    rated : mapping
        a_in, b_in [K] and some of a_flow, b_flow [m^3/s], a_out, b_out [K], duty [W], as
        `core.vocabulary.item_checks.check_exchanger` lets pass
    fluids : sequence of Fluid
        Of sides a and b
    content : callable
        Heat content of a fluid between two temperatures

    Returns
    -------
    RatedPoint
        Its duty is that of side a where flow and temperatures tell it, else the one typed, else side b's
    """
    a, b = fluids
    a_duty = _own(rated, "a", a, content)
    b_duty = _own(rated, "b", b, content)
    b_duty = None if b_duty is None else -b_duty
    stated = rated.get("duty")
    if stated is not None and _warmer_b(rated):
        stated = -stated
    duty = next(one for one in (a_duty, stated, b_duty) if one is not None)
    a_out, a_rate = _side(rated, "a", a, -duty, content)
    b_out, b_rate = _side(rated, "b", b, duty, content)
    return RatedPoint(
        duty, rated["a_in"], a_out, rated["b_in"], b_out, a_rate, b_rate, a_duty, b_duty, stated
    )


def _warmer_b(rated: Mapping[str, float]) -> bool:
    if rated["a_in"] != rated["b_in"]:
        return rated["b_in"] > rated["a_in"]
    return rated.get("b_out", rated["b_in"]) < rated["b_in"]


def _own(rated: Mapping[str, float], side: str, fluid: Fluid, content: Content) -> float | None:
    """Heat that a side gives by its own flow and temperatures, [W]."""
    if f"{side}_flow" not in rated or f"{side}_out" not in rated:
        return None
    t_in, t_out = rated[f"{side}_in"], rated[f"{side}_out"]
    mass = rated[f"{side}_flow"] * float(fluid.density(0.5 * (t_in + t_out)))
    return mass * content(fluid, t_out, t_in)


def _side(
    rated: Mapping[str, float], side: str, fluid: Fluid, taken: float, content: Content
) -> tuple[float, float]:
    """Where a side leaves [K], and what its flow carries per kelvin [W/K], as it takes some heat [W]."""
    t_in = rated[f"{side}_in"]
    if f"{side}_flow" not in rated:
        t_out = rated[f"{side}_out"]
        return t_out, (abs(taken / (t_out - t_in)) if t_out != t_in else 0.0)
    t_out, rate = t_in, 0.0
    for _ in range(ROUNDS):
        middle = 0.5 * (t_in + t_out)
        mass = rated[f"{side}_flow"] * float(fluid.density(middle))
        step = content(fluid, t_in, t_out) / (t_out - t_in) if abs(t_out - t_in) > 1e-6 else 0.0
        rate = mass * (step or float(fluid.heat_capacity(middle)))
        t_out = t_in + taken / rate
        if not 1.0 < t_out < 5000.0:  # more heat than the flow could carry: judged by who asked
            break
    return t_out, rate
