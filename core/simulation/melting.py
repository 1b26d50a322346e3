"""Surfaces that melt snow: what lies on them, how long they take to begin, what their water comes back with.

The law: heat passes from the mass to a surface that stands at 0 °C while snow lies on it, or falls faster
than it melts, and the mass is warmer. Snow that melts as it falls takes its heat besides what the bare
surface loses to the air, as in `solve`. So the surface is free of snow or covered by it, the two ends of the
snow-free area ratio of the ASHRAE Handbook's chapter on snow melting (from memory); snow that lies keeps
wind off. Melting takes 334 kJ/kg, and 4.19 kJ/kg/K from the air's temperature (the contract's). The mass
between is an own simple model.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

FUSION = 334e3  # [J/kg]
WARMING = 4.19e3  # [J/kg/K]
MELTING = 273.15  # [K]
FIRST = 3600.0  # [s] the first hour of a melt


@dataclass
class Snow:
    """Snow that lies on a surface, [kg], and what falls, [kg/s]; melting it takes `heat`, [J/kg]."""

    lying: float = 0.0
    falling: float = 0.0
    heat: float = FUSION
    melted: float = 0.0

    @property
    def covers(self) -> bool:
        """Whether there is any."""
        return self.lying > 0.0 or self.falling > 0.0

    def fall(self, rate: float, outdoor: float) -> None:
        """What falls from now on, [kg/s], from air of a temperature [K]."""
        self.falling = rate
        self.heat = FUSION + WARMING * max(0.0, MELTING - outdoor)

    def pass_time(self, seconds: float, heat: float) -> bool:
        """Time goes by with some heat to the surface, [J]; whether the last snow is gone with that."""
        there = self.lying + self.falling * seconds
        gone = min(there, max(0.0, heat) / self.heat)
        before, self.lying = self.lying, there - gone
        self.melted += gone
        return before > 0.0 and self.lying <= 0.0


@dataclass
class Melting:
    """A surface in a run: since when its water flows, how long it took to melt, what came back at first."""

    since: float | None = None
    lead: float | None = None
    lead_at: float = 0.0
    back: float = math.inf
    back_at: float = 0.0
    events: list[float] = field(default_factory=list)

    def flow(self, t: float, flows: bool, mean: float) -> None:
        """Whether its water flows from now on; `mean` is its mass's temperature, [K]."""
        if flows and self.since is None:
            self.since = t
            self.events.append(t)
            self.reach(t, mean)
        elif not flows:
            self.since = None

    def reach(self, t: float, mean: float) -> None:
        """Its mass has come to a temperature, [K]."""
        if self.lead is None and self.since is not None and mean >= MELTING:
            self.lead, self.lead_at = t - self.since, self.since

    def see(self, t: float, back: float, mean: float) -> None:
        """Its water comes back at a temperature, [K]."""
        if self.since is not None and t - self.since <= FIRST and back < self.back:
            self.back, self.back_at = back, t
        self.reach(t, mean)
