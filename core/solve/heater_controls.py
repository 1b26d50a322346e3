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
COLDEST = 173.15  # [K] below any water
HALVINGS = 40


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
    stats: Sequence[str]  # that act as one
    shares: dict[str, float]  # of all stats of the case that cycle
    place: Place
    middle: float  # [K]
    sense: float

    def __post_init__(self) -> None:
        self.value = 0.5
        self.shares |= self._at(self.value)

    def _at(self, value: float) -> dict[str, float]:
        return dict.fromkeys(self.stats, value)

    def apply(self, settings: Settings) -> None:
        self.shares |= self._at(self.value)
        for _, role, scale in self.sources:
            role.scale = role.share = scale(self.shares)

    @property
    def share(self) -> float:
        """Share of the time it is on."""
        return self.value

    def look(self, look: Look) -> None:
        off = self.middle - self.place.temperature(look)
        self.error = self.sense * off / KELVIN if math.isfinite(off) else 0.0
        self.note = "cannot be held" if self.at_bound and abs(off) > NEAR else ""

    def heats(self, look: Look) -> list[tuple[int, float]]:
        found = []
        for e, role, scale in self.sources:
            more = scale({**self.shares, **self._at(self.value + SMALL)}) - scale(self.shares)
            if role.scale > SMALL:
                full = float(look.t_out[e.index] - look.t_in[e.index]) / role.scale
            else:
                full = max(0.0, (role.set_at or 0.0) - float(look.t_in[e.index]))
            found.append((e.index, more / SMALL * full))
        return found

    def slope(self, look: Look, answers: Answers) -> Array:
        return -self.sense * self.place.slope(look, answers) / KELVIN


@dataclass
class Levelled(Device):
    """A stat over flowing water that cycles and alone runs a source; `value` is its outlet's temperature [K].

    The mean over time is found by the outlet, not by the share of the time it is on: where plain loads take
    all that it gives, whatever the temperature of their water, the one share that feeds them fits any water.
    Of further sources that the stat runs each is on for the same share of the time: `followers` see to it.
    """

    element: Element
    role: Source
    table: HeatTable
    place: Place
    middle: float  # [K]
    stops: bool  # whether the source rests while the stat is on

    def __post_init__(self) -> None:
        self.high = float(self.role.set_at or 0.0)
        self.low, self.longest = min(self.high, COLDEST), 2.0 * KELVIN
        self.value = min(self.high, max(self.low, self.middle))

    def apply(self, settings: Settings) -> None:
        self.role.level = self.value

    @property
    def share(self) -> float:
        """Share of the time it is on."""
        return 1.0 - self.role.share if self.stops else self.role.share

    def look(self, look: Look) -> None:
        off = self.middle - self.place.temperature(look)
        self.error = off / KELVIN if math.isfinite(off) else 0.0
        self.note = "cannot be held" if self.at_bound and abs(off) > NEAR else ""
        i = self.element.index
        w, t_in, t_out = abs(float(look.w[i])), float(look.t_in[i]), float(look.t_out[i])
        content = self.table.content
        self.full = min(w * (content(self.high) - content(t_in)), self._capacity(w, t_in))
        self.heat = w * (content(t_out) - content(t_in))
        self.role.share = min(1.0, max(0.0, self.heat / self.full)) if self.full > 0.0 else 0.0

    def _capacity(self, w: float, t_in: float) -> float:
        """Most heat with water of `t_in`, of a heat pump with the outlet that this makes, [W]."""
        output, content = self.role.output, self.table.content
        if output is None:
            return math.inf if self.role.stated is None else self.role.stated
        low, high = t_in, self.high
        for _ in range(HALVINGS):
            middle = 0.5 * (low + high)
            warmer = output.heat(middle) > w * (content(middle) - content(t_in))
            low, high = (middle, high) if warmer else (low, middle)
        return float(output.heat(low))

    def heats(self, look: Look) -> list[tuple[int, float]]:
        moves = float(look.t_out[self.element.index]) >= self.value - NEAR and self.heat > 0.0
        return [(self.element.index, 1.0)] if moves else []

    def slope(self, look: Look, answers: Answers) -> Array:
        return -self.place.slope(look, answers) / KELVIN


@dataclass
class Follower(Device):
    """A source on for the same share of the time as the one whose outlet its stat's control moves."""

    element: Element
    role: Source
    leader: Levelled

    def __post_init__(self) -> None:
        self.value = 0.5

    def apply(self, settings: Settings) -> None:
        self.role.scale = self.role.share = self.value

    def look(self, look: Look) -> None:
        self.error = self.leader.role.share - self.value

    def heats(self, look: Look) -> list[tuple[int, float]]:
        i = self.element.index
        rise = float(look.t_out[i] - look.t_in[i])
        full = (
            rise / self.value if self.value > SMALL else float(self.role.set_at or 0.0) - float(look.t_in[i])
        )
        return [(i, max(0.0, full))]

    def slope(self, look: Look, answers: Answers) -> Array:
        i = self.leader.element.index
        rise = float(look.t_out[i] - look.t_in[i])
        if rise <= 0.0 or self.leader.full <= 0.0:
            return np.zeros(answers.changes)
        share = self.leader.role.share
        by_need = rise / share >= self.leader.high - float(look.t_in[i]) - NEAR if share > 0.0 else False
        warmer = np.asarray(answers.t_in[i])
        more = np.asarray(answers.t_out[i]) - warmer + (share * warmer if by_need else 0.0)
        return np.asarray(more * share / rise)

    @property
    def direct(self) -> float:
        return -1.0
