"""Controls that answer to what the water does: mixing valves, circulators held by temperature or pressure,
outlets that mix. Each looks at one pass and says how far it is from rest."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from core.hydraulics.circulators import flow_at_head
from core.hydraulics.curves import Curve
from core.hydraulics.elements import Element
from core.hydraulics.laws import Settings
from core.media.fluids import Fluid
from core.solve.patient import Patient
from core.thermal.heat import HeatTable
from core.thermal.temperatures import STILL

Array = npt.NDArray[np.float64]

NEAR = 0.05  # [K] a set temperature missed by less counts as held
LEAST_WIDTH = 1e-8  # width at which an enclosure that holds no zero is given up
MOST_COLLAPSES = 2  # enclosures without a zero after which the error is taken to jump over it
HELD = 1e-4  # error of a share within which a mixing valve at an edge holds all the same
LEAST_STEP = 1e-4  # share of a speed below which a circulator cannot be set finer
LEAST_DIFFERENCE = 0.02  # [K] below it no heat moves
CIRCLES = 2  # changes of sign without headway after which a zero is enclosed
NARROWEST = 1e-6  # share of its travel below which a mixing leg counts as shut


@dataclass
class Look:
    """What a device sees after a pass: flows [kg/s], temperatures where water enters each element [K]."""

    w: Array
    t_in: Array
    t_out: Array
    rho: Array
    node: dict[int, float]


@dataclass
class Seeker:
    """Finds the position at which a falling error becomes zero, while everything around still settles.

    Secant steps as long as they make headway. Once the error keeps changing sign without shrinking, the zero
    is enclosed and the enclosure halved; an enclosure that other controls have made false is dropped again.
    """

    gain: float
    least: float
    most: float
    last: tuple[float, float] | None = None
    low: tuple[float, float] | None = None  # position and error, error above 0: more is wanted
    high: tuple[float, float] | None = None
    best: float = math.inf
    circling: int = 0
    stale: int = 0
    collapses: int = 0
    edge: bool = False  # the error jumps over zero here: no position holds it

    def next(self, position: float, error: float, longest: float) -> float:
        """Next position, at most `longest` away while the zero is not enclosed."""
        self.learn(position, error)
        candidate = position + max(-longest, min(longest, self.gain * error))
        if self.circling < CIRCLES or self.low is None or self.high is None:
            return candidate
        a, b = self.low[0], self.high[0]
        if b - a < LEAST_WIDTH * max(1.0, abs(a)):
            self.collapses += 1
            self.edge = self.collapses >= MOST_COLLAPSES
            if self.edge:
                return min(self.low, self.high, key=lambda seen: abs(seen[1]))[0]
            self.start_again()
            return candidate
        if self.stale >= 4:  # always the same side: look whether the other side still holds
            self.stale = 0
            return b if position == a else a
        inside = a + 0.05 * (b - a) < candidate < b - 0.05 * (b - a)
        return candidate if inside and abs(error) < 0.02 else _middle(a, b)

    def start_again(self) -> None:
        """Forget what was enclosed; what surrounds this control has changed."""
        self.last = self.low = self.high = None
        self.circling = self.stale = 0
        self.best = math.inf

    def learn(self, position: float, error: float) -> None:
        """Take note of the error at a position."""
        if self.last is not None:
            moved, before = position - self.last[0], self.last[1]
            slope = (before - error) / moved if abs(moved) > 1e-15 else 0.0
            if slope > 0.0:
                self.gain = min(self.most, max(self.least, 1.0 / slope))
            if abs(error) <= 0.5 * self.best:
                self.circling, self.best = 0, abs(error)
            elif before * error < 0.0:
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
class Device:
    """A control with a position of its own.

    `value` is what it moves, `error` how much more of it the last look wants (0 at rest), `active` whether it
    can still move towards that. `note` says why it rests short of its target.
    """

    key: str
    note: str = field(default="", init=False)
    error: float = field(default=0.0, init=False)
    active: bool = field(default=False, init=False)
    seeker: Seeker = field(default_factory=lambda: Seeker(1.0, 0.1, 3.0), init=False)

    def apply(self, settings: Settings) -> None:
        """Put the position into the settings of the next pass."""

    def look(self, look: Look) -> float:
        """Compare with the last pass; the distance from rest, [-]."""
        return 0.0

    @property
    def value(self) -> float:
        """Position in the measure that is sought."""
        return 0.0

    def put(self, value: float) -> None:
        """Take a position, within bounds."""

    def seek(self) -> None:
        """Move by what this control alone has learnt."""


@dataclass
class MixingValve(Device):
    """Position x of a mixing valve: share of its travel open to hot."""

    hot: Element
    cold: Element
    set_at: float
    table: HeatTable
    position: float = 0.5
    seen: dict[str, float] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.seeker = Seeker(0.8, 1e-4, 4.0)

    def apply(self, settings: Settings) -> None:
        for leg, share in ((self.hot, self.position), (self.cold, 1.0 - self.position)):
            i = leg.index
            if share < NARROWEST:
                settings.upper[i] = 0.0
            else:
                settings.upper[i] = np.inf
                settings.square[i] = leg.square / (share * share)

    def look(self, look: Look) -> float:
        hot, cold = look.w[self.hot.index], look.w[self.cold.index]
        t_hot, t_cold = self._arriving(self.hot, look), self._arriving(self.cold, look)
        wanted = self.wanted_share(t_hot, t_cold)
        self.note, self.active, self.error = "", False, 0.0
        if hot + cold <= STILL:
            if self.seeker.last is None:
                self.position = wanted
            elif self.position in (0.0, 1.0):
                self.note = "all hot" if self.position else "all cold"
            return 0.0
        self.error = wanted - float(hot / (hot + cold))
        if self.seeker.edge:
            self.note = "edge" if abs(self.error) > HELD else ""
            return 0.0
        if (self.position <= 0.0 and self.error <= 0.0) or (self.position >= 1.0 and self.error >= 0.0):
            warm = t_hot if self.position >= 1.0 else t_cold
            if abs(warm - self.set_at) > NEAR:
                self.note = "all hot" if self.position >= 1.0 else "all cold"
            return 0.0
        if wanted in (0.0, 1.0) and abs(self.error) < 1e-5:  # the pressures do it already: go to the end
            self.position = wanted
            return 1.0
        high, low = self.seeker.high, self.seeker.low
        if self.position == NARROWEST and high is not None and high[0] <= NARROWEST and low is not None:
            return 0.0  # less than this it cannot open: what is wanted lies between shut and here
        self.active = True
        if min(hot, cold) <= STILL:
            return max(abs(self.error), 1e-3)  # one side stands: its temperature is a guess, look again
        if not 0.0 < wanted < 1.0:
            return abs(self.error)
        return abs(self.error) * min(1.0, abs(t_hot - t_cold) / 20.0)

    @property
    def value(self) -> float:
        return self.position

    def put(self, value: float) -> None:
        self.position = min(1.0, max(0.0, value))

    def seek(self) -> None:
        self.put(self.seeker.next(self.position, self.error, 0.3))
        high, low = self.seeker.high, self.seeker.low
        if high is not None and low is not None and high[0] <= NARROWEST * 1.5:
            self.position = NARROWEST

    def _arriving(self, leg: Element, look: Look) -> float:
        """Temperature of the water at an inlet, [K]; while it stands, that with which it last came."""
        if look.w[leg.index] > STILL:
            self.seen[leg.part] = float(look.t_in[leg.index])
        return self.seen.get(leg.part, float(look.node[leg.start]))

    def wanted_share(self, t_hot: float, t_cold: float) -> float:
        """Share of hot water that gives the set temperature, 0..1."""
        h = self.table.content
        if max(t_hot, t_cold) <= self.set_at:
            return 1.0
        if min(t_hot, t_cold) >= self.set_at:
            return 0.0
        return (h(self.set_at) - h(t_cold)) / (h(t_hot) - h(t_cold))


@dataclass
class DeltaT(Device):
    """A circulator that holds a difference of temperature by its speed."""

    element: Element
    target: float
    least_speed: float
    most_speed: float
    stops: bool
    difference: Callable[[Look], float]  # [K]; nan where nothing warms or cools
    speed: float = 1.0
    stopped: bool = False
    cold: bool = False  # water moved, but no heat with it
    dead: bool = False  # nothing moved even at full speed

    def __post_init__(self) -> None:
        self.seeker = Seeker(0.8, 1e-5, 3.0)

    def apply(self, settings: Settings) -> None:
        drive = settings.drives.get(self.element.index)
        if drive is not None:
            drive.speed = self.speed

    def look(self, look: Look) -> float:
        difference = self.difference(look)
        self.note, self.active, self.error = "", False, 0.0
        if look.w[self.element.index] <= STILL:
            return self._standing()
        if not difference > LEAST_DIFFERENCE:
            self.cold = True
            return self._rest_low()
        self.cold = self.dead = False
        self.error = math.log(difference / self.target)
        if self.error > 0.0 and self.speed >= self.most_speed:
            self.note = "at full speed" if self.error > 1e-3 else ""
            return 0.0
        if self.error < 0.0 and self.speed <= self.least_speed:
            self.note = "at least speed" if self.error < -1e-3 else ""
            return 0.0
        if self.seeker.edge:
            self.note = "hunting: just there its flow jumps"
            return 0.0
        self.active = True
        return abs(self.error)

    def _standing(self) -> float:
        """Without flow: faster, in case a check valve wants more.

        Low again where full speed moves nothing, or where the least flow there can be is still too much.
        """
        if self.cold or self.dead:
            return self._rest_low()
        high = self.seeker.high
        if self.speed >= self.most_speed or (high is not None and high[0] - self.value < LEAST_STEP):
            self.dead = True
            return self._rest_low()
        self.error, self.active = 1.0, True
        return 1.0

    def _rest_low(self) -> float:
        self.note = "no heat"
        moved = self.speed - self.least_speed
        self.speed = self.least_speed
        return abs(moved)

    @property
    def value(self) -> float:
        return math.log(self.speed)

    def put(self, value: float) -> None:
        self.speed = min(self.most_speed, max(self.least_speed, math.exp(min(value, 1.0))))

    def seek(self) -> None:
        self.put(self.seeker.next(self.value, self.error, 0.5))


@dataclass
class Proportional(Device):
    """A circulator whose head rises with its flow: half the target at rest, all of it at the curve."""

    element: Element
    target: float  # [m]
    curve: Curve
    share: float = 0.75  # head over target

    def apply(self, settings: Settings) -> None:
        drive = settings.drives.get(self.element.index)
        if drive is not None:
            drive.target = self.share * self.target

    def look(self, look: Look) -> float:
        i = self.element.index
        flow = max(0.0, float(look.w[i] / look.rho[i]))
        full = flow_at_head(self.curve, self.target)
        self.error = 0.5 + 0.5 * (min(flow / full, 1.0) if full > 0.0 else 1.0) - self.share
        self.active = True
        return abs(self.error)

    @property
    def value(self) -> float:
        return self.share

    def put(self, value: float) -> None:
        self.share = min(1.0, max(0.5, value))

    def seek(self) -> None:
        self.put(self.seeker.next(self.share, self.error, 0.5))


@dataclass
class Outlet(Device):
    """A fixture: what it draws through each piped port, mixing for itself where both are."""

    hot: Element | None
    cold: Element | None
    draw: float  # [m^3/s]
    set_at: float
    fluid: Fluid
    table: HeatTable
    share: float = 0.5
    mass: float = 0.0

    def apply(self, settings: Settings) -> None:
        if self.mass <= 0.0:
            self.mass = self.draw * float(self.fluid.density(self.set_at))
        if self.hot is not None and self.cold is not None:
            settings.upper[self.hot.index] = self.share * self.mass
            settings.upper[self.cold.index] = (1.0 - self.share) * self.mass
        elif (one := self.hot or self.cold) is not None:
            settings.upper[one.index] = self.mass

    def look(self, look: Look) -> float:
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


class Joint:
    """Moves several controls together near their rest, where each disturbs the others.

    Broyden's method (Math. Comp. 19 (1965) 577) on the vector of errors, started from what each control has
    learnt alone. Left again when four passes bring no headway. After many passes `Patient` takes over.
    """

    NEAR = 0.05
    PATIENCE = 4
    PATIENT_AFTER = 50  # moves

    def __init__(self) -> None:
        self.keys: tuple[str, ...] = ()
        self.last: tuple[Array, Array] | None = None
        self.inverse: Array = np.zeros((0, 0))
        self.best = math.inf
        self.failures = 0
        self.banned = 0
        self.moves = 0
        self.patient = Patient()

    def move(self, devices: Sequence[Device]) -> None:
        """Give every active control its next position."""
        self.moves += 1
        if self.moves > self.PATIENT_AFTER:
            if self.moves == self.PATIENT_AFTER + 1:
                for d in devices:  # an edge found while others hunted may be none
                    d.seeker.edge, d.seeker.collapses = False, 0
            self.patient.move([d for d in devices if d.active])
            return
        enclosed = [d for d in devices if d.active and d.seeker.circling >= CIRCLES]
        for d in enclosed:
            d.seek()
        moving = [d for d in devices if d.active and d not in enclosed]
        errors = np.array([d.error for d in moving])
        worst = float(np.abs(errors).max(initial=0.0))
        self.banned = max(0, self.banned - 1)
        if len(moving) < 2 or worst > self.NEAR or self.banned:
            self.last = None
            for d in moving:
                d.seek()
            return
        for d in moving:
            d.seeker.learn(d.value, d.error)
        values = np.array([d.value for d in moving])
        keys = tuple(d.key for d in moving)
        if keys != self.keys or self.last is None:
            self.keys, self.best, self.failures = keys, math.inf, 0
            self.inverse = np.diag([d.seeker.gain for d in moving])
        else:
            self._learn(values, errors)
        self.failures = 0 if worst < 0.9 * self.best else self.failures + 1
        self.best = min(self.best, worst)
        if self.failures >= self.PATIENCE:
            self.banned, self.last = 6, None
            for d in moving:
                d.seek()
            return
        self.last = (values, errors)
        step = np.clip(self.inverse @ errors, -0.1, 0.1)
        for d, value in zip(moving, values + step, strict=True):
            d.put(float(value))

    def _learn(self, values: Array, errors: Array) -> None:
        assert self.last is not None
        s, y = values - self.last[0], self.last[1] - errors
        by = self.inverse @ y
        scale = float(s @ by)
        if abs(scale) > 1e-30:
            self.inverse += np.outer(s - by, s @ self.inverse) / scale
