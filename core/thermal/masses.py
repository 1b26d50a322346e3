"""Circuits whose heat goes into a mass between water and room: what temperature their water meets."""

from __future__ import annotations

import math
from dataclasses import dataclass

from core.thermal.roles import Giving


@dataclass
class GivingToMass(Giving):
    """An emitter whose heat goes into a mass spread along it, whose parts have given temperatures, [K]."""

    parts: tuple[float, ...] = ()

    def weights(self, units: float) -> list[float]:
        """Share that each part has in the temperature met: the last parts have the most."""
        each = units / len(self.parts)
        whole = -math.expm1(-units)
        if whole <= 0.0:
            return [1.0 / len(self.parts)] * len(self.parts)
        own = -math.expm1(-each)
        last = len(self.parts) - 1
        return [math.exp(-each * (last - k)) * own / whole for k in range(last + 1)]

    def met_slope(self, units: float) -> float:
        step = 1e-5 * units
        return (self.met(units + step) - self.met(units - step)) / (2.0 * step) if step > 0.0 else 0.0

    def met(self, units: float) -> float:
        return sum(t * share for t, share in zip(self.parts, self.weights(units), strict=True))
