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

NARROWEST = 1e-4  # share of its travel below which a mixing leg counts as shut


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
class Secant:
    """Step towards a zero of a falling or rising measure, with the slope learnt on the way.

    The gain starts at the stated one and follows the secant of the last two looks, within bounds; it is halved
    when the error changes sign without shrinking.
    """

    gain: float
    least: float
    most: float
    last: tuple[float, float] | None = None

    def step(self, position: float, error: float) -> float:
        """Next change of position for an error that should become zero."""
        if self.last is not None:
            moved, was = position - self.last[0], self.last[1]
            slope = (was - error) / moved if abs(moved) > 1e-12 else 0.0
            if slope > 0.0:
                self.gain = min(self.most, max(self.least, 1.0 / slope))
            elif was * error < 0.0:
                self.gain = max(self.least, 0.5 * self.gain)
        self.last = (position, error)
        return self.gain * error


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
    secant: Secant = field(default_factory=lambda: Secant(0.8, 0.05, 4.0))

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
        flowing = hot + cold > STILL
        if flowing and wanted >= 1.0 - 1e-9:
            reached = t_hot >= self.set_at - 0.05
            self.note = "" if reached else "all hot"
        elif flowing and wanted <= 1e-9:
            self.note = "" if abs(t_cold - self.set_at) < 0.05 else "all cold"
        if not flowing:
            self.position = min(1.0 - 2 * NARROWEST, max(2 * NARROWEST, wanted))
            return 0.0
        if wanted <= NARROWEST or wanted >= 1.0 - NARROWEST:
            new = 0.0 if wanted <= 0.5 else 1.0
            moved = abs(new - self.position)
            self.position = new
            return moved
        error = wanted - float(hot / (hot + cold))
        before = self.position
        step = min(0.3, max(-0.3, self.secant.step(before, error)))
        self.position = min(1.0 - NARROWEST, max(NARROWEST, before + step))
        if abs(self.position - before) < 1e-12:  # at the end of its travel
            self.note = "cannot"
            return 0.0
        return abs(error)

    def wanted_share(self, t_hot: float, t_cold: float) -> float:
        """Share of hot water that gives the set temperature, 0..1."""
        h = self.table.content
        if abs(t_hot - t_cold) < 1e-6:
            return 0.5 if abs(t_hot - self.set_at) < 1e-3 else (1.0 if t_hot < self.set_at else 0.0)
        share = (h(self.set_at) - h(t_cold)) / (h(t_hot) - h(t_cold))
        if t_hot < t_cold:
            # crossed supplies: more of the hot port cools; hold what can be held, else the nearer end
            share = share if 0.0 <= share <= 1.0 else (1.0 if self.set_at <= t_hot else 0.0)
        return min(1.0, max(0.0, share))


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
    secant: Secant = field(default_factory=lambda: Secant(0.8, 0.1, 3.0))

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
        step = min(0.5, max(-0.5, self.secant.step(math.log(before), error)))
        self.speed = min(self.most_speed, max(self.least_speed, before * math.exp(step)))
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
    secant: Secant = field(default_factory=lambda: Secant(1.0, 0.1, 3.0))

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
        self.head += self.secant.step(self.head, error)
        self.head = min(self.target, max(0.5 * self.target, self.head))
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
            if hot < self.set_at - 0.05 and self.draw > 0.0:
                self.share, self.note = 1.0, "all hot"
            t = self.table.temperature(self.share * h(hot) + (1.0 - self.share) * h(cold))
        else:
            t = ends[0]
        self.mass = self.draw * float(self.fluid.density(t))
        return abs(self.share - before[0]) + (abs(self.mass / before[1] - 1.0) if before[1] > 0.0 else 0.0)
