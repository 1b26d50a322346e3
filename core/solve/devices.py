"""Controls that answer to what the water does: mixing valves, circulators held by temperature or pressure,
outlets that mix. Each looks at one pass and says how far it is from rest."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Any, Protocol

import numpy as np
import numpy.typing as npt

from core.hydraulics.circulators import flow_at_head
from core.hydraulics.curves import Curve
from core.hydraulics.elements import Element
from core.hydraulics.laws import Settings
from core.media.fluids import Fluid
from core.thermal.heat import HeatTable
from core.thermal.temperatures import STILL

Array = npt.NDArray[np.float64]

NEAR = 0.05  # [K] a set temperature missed by less counts as held
NARROWEST = 1e-6  # share of its travel below which a mixing leg counts as shut


@dataclass
class Look:
    """What a device sees after a pass: flows [kg/s], temperatures where water enters each element [K]."""

    w: Array
    t_in: Array
    t_out: Array
    rho: Array
    node: dict[int, float]


class Device(Protocol):
    """A control with a position of its own."""

    key: str
    note: str

    def apply(self, settings: Settings) -> None: ...

    def update(self, look: Look) -> float: ...


@dataclass
class Seeker:
    """Finds the position at which a falling error becomes zero, while everything around still settles.

    Secant steps as long as they make headway. Once the error keeps changing sign without shrinking, the zero is
    enclosed and the enclosure halved; an enclosure that other controls have made false is dropped again.
    """

    gain: float
    least: float
    most: float
    last: tuple[float, float] | None = None
    low: tuple[float, float] | None = None  # position and error, error above 0: more is wanted
    high: tuple[float, float] | None = None
    circling: int = 0
    stale: int = 0

    def next(self, position: float, error: float, longest: float) -> float:
        """Next position, at most `longest` away while the zero is not enclosed."""
        self._learn(position, error)
        candidate = position + max(-longest, min(longest, self.gain * error))
        if self.circling < 2 or self.low is None or self.high is None:
            return candidate
        a, b = self.low[0], self.high[0]
        if b - a < 1e-14 * max(1.0, abs(a)):
            self.low = self.high = None
            self.circling = self.stale = 0
            return candidate
        if self.stale >= 4:  # always the same side: look whether the other side still holds
            self.stale = 0
            return b if position == a else a
        inside = a + 0.05 * (b - a) < candidate < b - 0.05 * (b - a)
        return candidate if inside and abs(error) < 0.02 else _middle(a, b)

    def _learn(self, position: float, error: float) -> None:
        if self.last is not None:
            moved, before = position - self.last[0], self.last[1]
            slope = (before - error) / moved if abs(moved) > 1e-15 else 0.0
            if slope > 0.0:
                self.gain = min(self.most, max(self.least, 1.0 / slope))
            if before * error < 0.0 and abs(error) > 0.5 * abs(before):
                self.circling += 1
            same = before * error > 0.0
            self.stale = self.stale + 1 if same and abs(error) > 0.8 * abs(before) else 0
        self.last = (position, error)
        if error > 0.0:
            self.low = (position, error)
            if self.high is not None and self.high[0] <= position:
                self.high = None
        else:
            self.high = (position, error)
            if self.low is not None and self.low[0] >= position:
                self.low = None


def _middle(a: float, b: float) -> float:
    """Middle of a bracket, geometric where it spans orders of magnitude above zero."""
    if a >= 0.0 and b > 8.0 * max(a, NARROWEST):
        return math.sqrt(max(a, NARROWEST) * b)
    return 0.5 * (a + b)


@dataclass
class MixingValve:
    """Position x of a mixing valve: share of its travel open to hot."""

    key: str
    hot: Element
    cold: Element
    set_at: float
    table: HeatTable
    position: float = 0.5
    note: str = ""
    seeker: Seeker = field(default_factory=lambda: Seeker(0.8, 1e-4, 4.0))

    def apply(self, settings: Settings) -> None:
        for leg, share in ((self.hot, self.position), (self.cold, 1.0 - self.position)):
            i = leg.index
            if share < NARROWEST:
                settings.upper[i] = 0.0
            else:
                settings.upper[i] = np.inf
                settings.square[i] = leg.square / (share * share)

    def update(self, look: Look) -> float:
        hot, cold = look.w[self.hot.index], look.w[self.cold.index]
        t_hot = look.t_in[self.hot.index] if hot > STILL else look.node[self.hot.start]
        t_cold = look.t_in[self.cold.index] if cold > STILL else look.node[self.cold.start]
        wanted = self.wanted_share(float(t_hot), float(t_cold))
        self.note = ""
        if hot + cold <= STILL:
            if self.seeker.last is None:
                self.position = min(1.0, max(0.0, wanted))
            return 0.0
        error = wanted - float(hot / (hot + cold))
        before = self.position
        if (before <= 0.0 and error <= 0.0) or (before >= 1.0 and error >= 0.0):
            warm = t_hot if before >= 1.0 else t_cold
            if abs(warm - self.set_at) > NEAR:
                self.note = "all hot" if before >= 1.0 else "all cold"
            return 0.0
        self.position = min(1.0, max(0.0, self.seeker.next(before, error, 0.3)))
        high = self.seeker.high
        if high is not None and high[0] <= NARROWEST * 1.5 and self.seeker.low is not None:
            self.position = NARROWEST  # less than this it cannot open: the zero lies between shut and here
            return 0.0 if before == NARROWEST else abs(error)
        if min(hot, cold) <= STILL:
            return max(abs(error), 1e-3)  # one side stands: its temperature is a guess, look again
        return abs(error) * min(1.0, abs(float(t_hot - t_cold)) / 20.0)

    def wanted_share(self, t_hot: float, t_cold: float) -> float:
        """Share of hot water that gives the set temperature, 0..1."""
        h = self.table.content
        if max(t_hot, t_cold) <= self.set_at:
            return 1.0
        if min(t_hot, t_cold) >= self.set_at:
            return 0.0
        return (h(self.set_at) - h(t_cold)) / (h(t_hot) - h(t_cold))


@dataclass
class DeltaT:
    """A circulator that holds a difference of temperature by its speed."""

    key: str
    element: Element
    target: float
    least_speed: float
    most_speed: float
    stops: bool
    difference: Any  # callable Look -> difference [K], nan where nothing warms or cools
    speed: float = 1.0
    note: str = ""
    stopped: bool = False
    seeker: Seeker = field(default_factory=lambda: Seeker(0.8, 0.05, 3.0))

    def apply(self, settings: Settings) -> None:
        drive = settings.drives.get(self.element.index)
        if drive is not None:
            drive.speed = self.speed

    def update(self, look: Look) -> float:
        difference = self.difference(look)
        self.note = ""
        if look.w[self.element.index] <= STILL or not difference > 0.02:
            self.note = "no heat"
            moved = self.speed - self.least_speed
            self.speed = self.least_speed
            return abs(moved)
        error = math.log(difference / self.target)
        before = self.speed
        wanted = math.exp(self.seeker.next(math.log(before), error, 0.5))
        self.speed = min(self.most_speed, max(self.least_speed, wanted))
        if self.speed == before and abs(error) > 1e-3:
            self.note = "at full speed" if error > 0.0 else "at least speed"
            return 0.0
        return abs(error)


@dataclass
class Proportional:
    """A circulator whose head rises with its flow: half the target at rest, all of it at the curve."""

    key: str
    element: Element
    target: float  # [m]
    curve: Curve
    head: float
    note: str = ""
    seeker: Seeker = field(default_factory=lambda: Seeker(1.0, 0.1, 3.0))

    def apply(self, settings: Settings) -> None:
        drive = settings.drives.get(self.element.index)
        if drive is not None:
            drive.target = self.head

    def update(self, look: Look) -> float:
        i = self.element.index
        flow = max(0.0, float(look.w[i] / look.rho[i]))
        full = flow_at_head(self.curve, self.target)
        share = 0.5 + 0.5 * (min(flow / full, 1.0) if full > 0.0 else 1.0)
        error = self.target * share - self.head
        wanted = self.seeker.next(self.head, error, self.target)
        self.head = min(self.target, max(0.5 * self.target, wanted))
        return abs(error) / self.target


@dataclass
class Outlet:
    """A fixture: what it draws through each piped port, mixing for itself where both are."""

    key: str
    hot: Element | None
    cold: Element | None
    draw: float  # [m^3/s]
    set_at: float
    fluid: Fluid
    table: HeatTable
    share: float = 0.5
    mass: float = 0.0
    note: str = ""

    def apply(self, settings: Settings) -> None:
        if self.mass <= 0.0:
            self.mass = self.draw * float(self.fluid.density(self.set_at))
        if self.hot is not None and self.cold is not None:
            settings.upper[self.hot.index] = self.share * self.mass
            settings.upper[self.cold.index] = (1.0 - self.share) * self.mass
        elif (one := self.hot or self.cold) is not None:
            settings.upper[one.index] = self.mass

    def update(self, look: Look) -> float:
        before = (self.share, self.mass)
        self.note = ""
        ends = [look.node[e.start] for e in (self.hot, self.cold) if e is not None]
        if len(ends) == 2:
            h = self.table.content
            hot, cold = ends
            if hot - cold > 1e-6:
                self.share = min(1.0, max(0.0, (h(self.set_at) - h(cold)) / (h(hot) - h(cold))))
            if hot < self.set_at - NEAR and self.draw > 0.0:
                self.share, self.note = 1.0, "all hot"
            t = self.table.temperature(self.share * h(hot) + (1.0 - self.share) * h(cold))
        else:
            t = ends[0]
        self.mass = self.draw * float(self.fluid.density(t))
        return abs(self.share - before[0]) + (abs(self.mass / before[1] - 1.0) if before[1] > 0.0 else 0.0)
