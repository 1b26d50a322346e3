"""Heaters that throttle their flow, and sources that a stat over their water lets cycle.

A heater that `throttles` lets pass at most what its capacity can bring to the set temperature.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from core.hydraulics.elements import Element
from core.hydraulics.laws import Settings
from core.solve.devices import KELVIN, NEAR, REST, Device
from core.solve.sensing import Answers, Look, Place
from core.thermal.heat import HeatTable
from core.thermal.roles import Source

Array = npt.NDArray[np.float64]

SMALL = 1e-7  # share of the time by which an answer is tried


@dataclass
class Throttle(Device):
    """A heater that lets pass what it can bring to its set point; `value` is the logarithm of that.

    Ln [kg/s].
    """

    element: Element
    role: Source
    table: HeatTable

    def __post_init__(self) -> None:
        self.low, self.high, self.value, self.longest = -20.0, 20.0, 20.0, 1.0

    def apply(self, settings: Settings) -> None:
        held = self.role.on and self.value < self.high
        settings.upper[self.element.index] = math.exp(self.value) if held else np.inf

    def look(self, look: Look) -> None:
        self.error, self.jump = 0.0, None
        i = self.element.index
        if not self.role.on or self.role.set_at is None or not self.role.capacity:
            return
        self.rise = self.table.content(self.role.set_at) - self.table.content(float(look.t_in[i]))
        most = math.log(self.role.capacity / self.rise) if self.rise > 0.0 else self.high
        most = min(self.high, max(self.low, most))
        w = float(look.w[i])
        if self.value < self.high and w >= math.exp(self.value) * (1.0 - 1e-9):
            self.error = most - self.value
            if self.error > 0.0 and self.value >= self.ceiling - REST:
                self.ceiling = math.inf  # by now more comes
        elif w > math.exp(most):
            self.jump = self.ceiling = math.log(w)  # from here on it holds the flow, at first where it is

    def bounds(self) -> list[tuple[int, float]]:
        return [(self.element.index, math.exp(self.value))]

    def slope(self, look: Look, answers: Answers) -> Array:
        if self.rise <= 0.0:
            return np.zeros(answers.changes)
        i = self.element.index
        return np.asarray(answers.t_in[i] * self.table.capacity(float(look.t_in[i])) / self.rise)

    @property
    def direct(self) -> float:
        return -1.0


@dataclass
class Cycling(Device):
    """A stat over flowing water that cycles; `value` is the share of the time it is on.

    The heat of the sources it runs is scaled until the water it senses stands in the middle of its band,
    which is the mean over time.
    """

    sources: Sequence[tuple[Element, Source, Callable[[Mapping[str, float]], float]]]
    shares: dict[str, float]  # of all stats of the case that cycle
    place: Place
    middle: float  # [K]
    sense: float

    def __post_init__(self) -> None:
        self.value = self.shares[self.key] = 0.5

    def apply(self, settings: Settings) -> None:
        self.shares[self.key] = self.value
        for _, role, scale in self.sources:
            role.scale = scale(self.shares)

    def look(self, look: Look) -> None:
        off = self.middle - self.place.temperature(look)
        self.error = self.sense * off / KELVIN if math.isfinite(off) else 0.0
        self.note = "cannot be held" if self.at_bound and abs(off) > NEAR else ""

    def heats(self, look: Look) -> list[tuple[int, float]]:
        found = []
        for e, role, scale in self.sources:
            more = scale({**self.shares, self.key: self.value + SMALL}) - scale(self.shares)
            if role.scale > SMALL:
                full = float(look.t_out[e.index] - look.t_in[e.index]) / role.scale
            else:
                full = max(0.0, (role.set_at or 0.0) - float(look.t_in[e.index]))
            found.append((e.index, more / SMALL * full))
        return found

    def slope(self, look: Look, answers: Answers) -> Array:
        return -self.sense * self.place.slope(look, answers) / KELVIN
