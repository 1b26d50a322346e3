"""UA of an exchanger as it is described: typed, or from its rated point."""

from __future__ import annotations

from typing import Any

from core.hydraulics.network import Network
from core.media.fluids import Fluid
from core.plant.rated_point import rated_point
from core.thermal.exchanger import ua_from_rated
from core.thermal.heat import heat_table


def exchanger_ua(net: Network, key: str) -> float:
    """UA of an exchanger, typed or from its rated point, fouling taken off, [W/K]."""
    si = net.plant.items[key].si
    a, b = net.of_item[key]
    ua = si.get("ua")
    if ua is None and si.get("rated"):
        sides = [net.bodies[net.body_of[e.start]].fluid for e in (a, b)]
        ua = rated_ua(si["rated"], sides, si.get("arrangement") or "counter")
    return float(ua or 0.0) * (1.0 - float(si.get("fouling") or 0.0))


def rated_ua(rated: Any, fluids: list[Fluid], arrangement: str) -> float:
    """UA from a rated point, clean, [W/K].

    Parameters
    ----------
    rated : mapping
        As of `core.plant.rated_point.rated_point`
    fluids : list of Fluid
        Of sides a and b
    arrangement : str
        "counter" or "parallel"

    Notes
    -----
    Source: see `ua_from_rated`.
    """

    def content(fluid: Fluid, start: float, end: float) -> float:
        table = heat_table(fluid)
        return table.content(end) - table.content(start)

    point = rated_point(rated, fluids, content)
    return ua_from_rated(point.duty, point.a_in, point.a_out, point.b_in, point.b_out, arrangement)
