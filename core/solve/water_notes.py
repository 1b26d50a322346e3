"""What the solver has to say of water that would boil where it stands or flows."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from core.hydraulics.network import Body
from core.media.vapour import atmosphere, vapour_pressure
from core.solve.saying import Sayer
from core.solve.solution import Note

WARM = 323.15  # [K] cooler water boils in a vacuum only: that is told as the suction margin of circulators
CAUTION = (
    "Steam bursts vessels and scalds: local code and a licensed trade decide on pressure, relief and limits."
)


class WaterNotes(Sayer):
    """Notes on the water of a settled case."""

    def found(self) -> Iterator[Note]:
        """One for each body of water that boils somewhere, at the place furthest beyond."""
        for body in self.net.bodies:
            if body.elements and body.fluid.kind != "custom":
                yield from self._boils(body)

    def _boils(self, body: Body) -> Iterator[Note]:
        """Water whose vapour pressure is above the pressure at its place; glycol counts as water: safe."""
        air, t = atmosphere(self.plant.site_si.altitude), self.s.thermal
        warmest = np.maximum(t.t_in, t.t_out)
        lowest = min((self.p.at[node] for node in body.nodes if node in self.p.at), default=math.inf)
        if vapour_pressure(float(warmest[body.elements].max())) < max(air + lowest, 1.0):
            return  # not even its warmest water at its lowest pressure
        worst: tuple[float, str, float, float] | None = None
        for i in body.elements:
            e, warm = self.net.elements[i], float(warmest[i])
            for node in (e.start, e.end):
                gauge = self.p.at.get(node)
                if gauge is None or warm < WARM:
                    continue
                beyond = vapour_pressure(warm) / max(air + gauge, 1.0)
                if beyond >= 1.0 and (worst is None or beyond > worst[0] * (1.0 + 1e-9)):
                    worst = (beyond, e.key, warm, gauge)
        if worst is None:
            return
        _, at, warm, gauge = worst
        cure = "Nothing sets its pressure: " if body.number in self.p.unpinned else ""
        cure += "a fill pressure and an expansion tank, or cooler water, would help."
        boils = "boils" if body.fluid.kind == "water" else "may boil"
        least = self.pressure(vapour_pressure(warm) - air)
        yield Note(
            at,
            f"its water of {self.warm(warm)} {boils} at {self.pressure(gauge)}; that takes {least} or more. "
            f"{cure[0].upper()}{cure[1:]} {CAUTION}",
        )
