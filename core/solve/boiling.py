"""Where water is hotter than its pressure lets it stay liquid.

Water from 50 °C up is told to boil where its vapour pressure exceeds the local absolute pressure, by the
site's altitude.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from core.hydraulics.network import Body
from core.hydraulics.pressures import Pressures
from core.media.vapour import atmosphere, vapour_pressure

if TYPE_CHECKING:
    from core.solve.settle import Settled

WARM = 323.15  # [K] cooler water boils in a vacuum only: that is told as the suction margin of circulators


class Boiling(NamedTuple):
    """The worst place: an id, its temperature [K] and gauge pressure [Pa]."""

    at: str
    temperature: float
    gauge: float


def boiling(s: Settled, pressures: Pressures, body: Body) -> Boiling | None:
    """Where a body of water boils furthest beyond its pressure; glycol counts as water.

    Which is the safe side.
    """
    if not body.elements or body.fluid.kind == "custom":
        return None
    net, air, t = s.net, atmosphere(s.net.plant.site_si.altitude), s.thermal
    warmest = np.maximum(t.t_in, t.t_out)
    lowest = min((pressures.at[node] for node in body.nodes if node in pressures.at), default=math.inf)
    if vapour_pressure(float(warmest[body.elements].max())) < max(air + lowest, 1.0):
        return None  # not even its warmest water at its lowest pressure
    worst: tuple[float, Boiling] | None = None
    for i in body.elements:
        e, warm = net.elements[i], float(warmest[i])
        for node in (e.start, e.end):
            gauge = pressures.at.get(node)
            if gauge is None or warm < WARM:
                continue
            beyond = vapour_pressure(warm) / max(air + gauge, 1.0)
            if beyond >= 1.0 and (worst is None or beyond > worst[0] * (1.0 + 1e-9)):
                worst = (beyond, Boiling(e.key, warm, gauge))
    return None if worst is None else worst[1]
