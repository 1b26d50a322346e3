"""Controls that answer to what the water does: mixing valves, circulators held by temperature or pressure,
fixtures that mix, heaters that throttle, sources that cycle.

Each says how far it is from rest, what it does to the flow, and how its error answers; `joint_newton` moves
them together.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from core.hydraulics.circulators import Drive, G, flow_at_head, value_and_slope
from core.hydraulics.curves import Curve
from core.hydraulics.elements import Element
from core.hydraulics.laws import Settings
from core.media.fluids import Fluid
from core.solve.sensing import Answers, Difference, Look, Place
from core.thermal.flowing import STILL
from core.thermal.heat import HeatTable
from core.thermal.roles import Source

Array = npt.NDArray[np.float64]

NEAR = 0.05  # [K] a set temperature missed by less counts as held
KELVIN = 10.0  # [K] that count as an error of 1
LEAST_DIFFERENCE = 0.02  # [K] below it no heat moves
NARROWEST = 1e-6  # share of its travel below which a mixing leg counts as shut
WIDEST_ERROR = 3.0  # beyond it a difference tells no more
PROBES = (0.25, 0.06)  # positions of a mixing valve
OFF_THE_END = 0.02  # of its travel, by which a valve first comes off its end
MOST_PROBES = 8  # times it looks whether less speed moves water by now
NARROW = 1e-4  # share of a speed between no flow and too much
SMALL = 1e-7  # share of the time by which an answer is tried
REST = 1e-6  # error that counts as rest
ALIKE = 0.02  # [K] below it a and b of a three-way valve are one temperature


@dataclass
class Device:
    """A control with a position of its own.

    `value` is what it moves, between `low` and `high`, by at most `longest` at once; `error` how much more
    of it the last look wants (0 at rest). `jump` is set where it has to go elsewhere at once, whatever its
    error. `note` says why it rests short of its target.
    """

    key: str
    note: str = field(default="", init=False)
    error: float = field(default=0.0, init=False)
    jump: float | None = field(default=None, init=False)
    value: float = field(default=0.0, init=False)
    low: float = field(default=0.0, init=False)
    high: float = field(default=1.0, init=False)
    fence: float = field(default=-math.inf, init=False)  # a position below which it moves no water
    ceiling: float = field(default=math.inf, init=False)  # a position above which it holds nothing back
    longest: float = field(default=0.4, init=False)

    def apply(self, settings: Settings) -> None:
        """Put the position into the settings of the next pass."""

    def look(self, look: Look) -> None:
        """Compare with the last pass."""

    def losses(self, look: Look) -> list[tuple[int, float]]:
        """By how much a step of 1 raises the loss of elements at the same flow, [Pa]."""
        return []

    def bounds(self) -> list[tuple[int, float]]:
        """By how much a step of 1 raises the most that elements let pass, [kg/s]."""
        return []

    def heats(self, look: Look) -> list[tuple[int, float]]:
        """By how much a step of 1 warms the outlet of elements, [K]."""
        return []

    def slope(self, look: Look, answers: Answers) -> Array:
        """How the error answers to a step of 1 of every control, its own direct effect excepted."""
        return np.zeros(answers.changes)

    @property
    def direct(self) -> float:
        """How the error answers to a step of its own while no water changes."""
        return 0.0

    def state_at(self, error: float) -> float:
        """What it holds would be at an error: a temperature, or a difference of two, [K]."""
        return error

    @property
    def at_bound(self) -> bool:
        """Whether it stands at an end of its travel and its error would move it beyond."""
        return (self.value <= self.low and self.error <= 0.0) or (
            self.value >= self.high and self.error >= 0.0
        )


@dataclass
class MixingValve(Device):
    """Position x of a mixing valve: share of its travel open to hot."""

    hot: Element
    cold: Element
    set_at: float
    table: HeatTable
    leavings: int = field(default=0, init=False)  # times it came off an end of its travel
    probes: int = field(default=0, init=False)  # positions looked at where an end does not hold it
    stands: bool = field(default=False, init=False)  # shut, with water behind it that no heat leaves
    came_off: float = field(default=0.0, init=False)  # by how much the last time, and its error there
    error_off: float = field(default=0.0, init=False)

    def __post_init__(self) -> None:
        self.value = 0.5

    def state_at(self, error: float) -> float:
        return self.set_at - error * KELVIN

    @property
    def position(self) -> float:
        """Share of its travel open to hot."""
        return self.value

    def apply(self, settings: Settings) -> None:
        for leg, share in ((self.hot, self.value), (self.cold, 1.0 - self.value)):
            i = leg.index
            if share < NARROWEST:
                settings.upper[i] = 0.0
            else:
                settings.upper[i] = np.inf
                settings.square[i] = leg.square / (share * share)

    def look(self, look: Look) -> None:
        self.note, self.error, self.jump = "", 0.0, None
        self.stands = self.stands and self.value <= 0.0
        total = look.w[self.hot.index] + look.w[self.cold.index]
        if total <= STILL:
            if self.value in (0.0, 1.0):
                self.note = "all hot" if self.value else "all cold"
            return
        t = look.node[self.hot.end]
        self.error = (self.set_at - t) / KELVIN
        if self.at_bound and abs(self.set_at - t) > NEAR:
            self.note = "all hot" if self.value >= 1.0 else "all cold"
            self._look_elsewhere()
        self._leave_end()

    def _look_elsewhere(self) -> None:
        """A source at its limit gives less warm water the more is drawn: less open it may hold after all."""
        if self.probes < len(PROBES):
            self.jump = PROBES[self.probes] if self.value >= 1.0 else 1.0 - PROBES[self.probes]
            self.probes += 1

    def _leave_end(self) -> None:
        """From the very end of its travel nothing tells how far to go: come off it, each time by less.

        Where coming off it made nothing better, it belongs at the other end.
        """
        off = OFF_THE_END / 4.0**self.leavings
        inward = 1.0 if self.value <= 0.0 else -1.0 if self.value >= 1.0 else 0.0
        if inward == 0.0:
            if self.value in (self.came_off, 1.0 - self.came_off):
                self.error_off = self.error
        elif inward * self.error > REST:
            if inward * self.error_off > REST:
                self.jump, self.error_off = 1.0 - self.value, 0.0
            elif off > NARROWEST:
                self.leavings += 1
                self.came_off = off
                self.jump = off if inward > 0.0 else 1.0 - off
            elif inward > 0.0 and not self.stands:
                # Shut, its water cools; open by a hair, it is too warm and takes no heat: it stands as it is.
                self.stands, self.jump = True, self.value

    def losses(self, look: Look) -> list[tuple[int, float]]:
        found = []
        for leg, share, sense in ((self.hot, self.value, 1.0), (self.cold, 1.0 - self.value, -1.0)):
            if share >= NARROWEST:
                w = float(look.w[leg.index])
                loss = leg.square / (share * share) * w * abs(w) / float(look.rho[leg.index])
                found.append((leg.index, -2.0 * sense * loss / share))
        return found

    def slope(self, look: Look, answers: Answers) -> Array:
        return -answers.node(self.hot.end) / KELVIN


@dataclass
class ThreeWay(MixingValve):
    """Position x of a three-way valve: share of its travel open to a (`hot` here), the rest to b (`cold`).

    Either leg may be the warmer one, and water may run backward in either. Where it comes in at ab there is
    nothing to mix, and the valve rests where it stands.
    """

    sense: float = 1.0
    tries: int = 0
    known: bool = False  # which leg is the warmer
    blind: bool = False  # nothing tells yet what the other leg would bring

    def look(self, look: Look) -> None:
        self.note, self.error, self.jump = "", 0.0, None
        a, b = float(look.w[self.hot.index]), float(look.w[self.cold.index])
        if abs(a + b) <= STILL:
            return
        if a + b < 0.0:
            self.note = "parting"
            return
        t = look.node[self.hot.end]
        off = self.set_at - t
        self.blind = min(a, b) < -STILL and not self.known
        if self.blind:  # all of ab comes by one leg and more: close that one
            self.error = 0.0 if abs(off) <= NEAR else -1.0 if a > 0.0 else 1.0
            return
        if min(a, b) > STILL:
            t_a, t_b = float(look.t_in[self.hot.index]), float(look.t_in[self.cold.index])
            if abs(t_a - t_b) <= ALIKE:
                if abs(off) > NEAR:
                    self.note = "alike"
                    self._halfway()
                return
            self.sense, self.known = (1.0 if t_a > t_b else -1.0), True
        self.error = self.sense * off / KELVIN
        self._leave_end()
        if self.at_bound and abs(off) > NEAR:
            self._halfway()
            self.note = "all hot" if (self.value >= 1.0) else "all cold"

    def _halfway(self) -> None:
        """What stands behind a shut leg may be warmer or colder than it was: let both come, twice."""
        if self.tries < 2 and self.value != 0.5:
            self.tries += 1
            self.jump = 0.5

    def slope(self, look: Look, answers: Answers) -> Array:
        return np.zeros(answers.changes) if self.blind else self.sense * super().slope(look, answers)


@dataclass
class DeltaT(Device):
    """A circulator that holds a difference of temperature by its speed."""

    element: Element
    target: float
    least_speed: float
    most_speed: float
    stops: bool
    difference: Difference
    stopped: bool = False
    cold: bool = False  # water moved, but no heat with it
    dead: bool = False  # nothing moved even at full speed
    drive: Drive | None = None

    def __post_init__(self) -> None:
        self.low, self.high = math.log(self.least_speed), math.log(max(self.most_speed, self.least_speed))
        self.value, self.longest, self.flowed = self.high, 0.7, self.high
        self.error_flowing, self.probes = 0.0, 0

    def state_at(self, error: float) -> float:
        return self.target * math.exp(error)

    @property
    def speed(self) -> float:
        """Share of full speed."""
        return math.exp(self.value)

    def apply(self, settings: Settings) -> None:
        self.drive = settings.drives.get(self.element.index)
        if self.drive is not None:
            self.drive.speed = self.speed

    def look(self, look: Look) -> None:
        self.note, self.error, self.jump = "", 0.0, None
        if look.w[self.element.index] <= STILL:
            self._without_flow()
            return
        difference = self.difference(look)
        if not difference > LEAST_DIFFERENCE:
            self.cold = True
            self._rest_low()
            return
        self.cold = self.dead = False
        self.flowed = self.value
        if self.value - self.fence < NARROW and self.probes < MOST_PROBES:
            self.fence = -math.inf  # others may have made way
            self.probes += 1
        self.error = max(-WIDEST_ERROR, min(WIDEST_ERROR, math.log(difference / self.target)))
        self.error_flowing = self.error
        if self.at_bound and abs(self.error) > 1e-3:
            self.note = "at full speed" if self.error > 0.0 else "at least speed"

    def _without_flow(self) -> None:
        """Faster, in case a check valve wants more; low again where full speed moves nothing."""
        if self.cold or self.dead or self.value >= self.high:
            self.dead = True
            self._rest_low()
            return
        self.fence = max(self.fence, self.value)
        if 0.0 < self.flowed - self.fence < NARROW and self.error_flowing < 0.0:
            self.dead = True  # the least flow there can be is still too much
            self._rest_low()
            return
        reached = self.flowed if self.flowed > self.fence else self.value + 0.5
        self.jump = min(self.high, 0.5 * (self.fence + reached))
        if self.flowed - self.fence < REST:
            self.flowed = self.low  # what moved water once may not any more

    def _rest_low(self) -> None:
        self.note = "no heat"
        if self.value > self.low:
            self.jump = self.low

    def losses(self, look: Look) -> list[tuple[int, float]]:
        if self.drive is None:
            return []
        i, s = self.element.index, self.speed
        rho = float(look.rho[i])
        x = max(0.0, float(look.w[i])) / rho / s
        head, slope = value_and_slope(self.drive.curve, x)
        return [(i, -rho * G * s * s * (2.0 * head - x * slope))]

    def slope(self, look: Look, answers: Answers) -> Array:
        if abs(self.error) >= WIDEST_ERROR or self.note == "no heat" or self.jump is not None:
            return np.zeros(answers.changes)
        return self.difference.slope(look, answers) / max(self.difference(look), LEAST_DIFFERENCE)


@dataclass
class Proportional(Device):
    """A circulator whose head rises with its flow: half the target at rest, all of it at the curve."""

    element: Element
    target: float  # [m]
    curve: Curve

    def __post_init__(self) -> None:
        self.low, self.high, self.value = 0.5, 1.0, 0.75

    def apply(self, settings: Settings) -> None:
        drive = settings.drives.get(self.element.index)
        if drive is not None:
            drive.target = self.value * self.target

    def look(self, look: Look) -> None:
        i = self.element.index
        flow = max(0.0, float(look.w[i] / look.rho[i]))
        self.full = flow_at_head(self.curve, self.target)
        self.error = 0.5 + 0.5 * (min(flow / self.full, 1.0) if self.full > 0.0 else 1.0) - self.value

    def losses(self, look: Look) -> list[tuple[int, float]]:
        i = self.element.index
        return [(i, -float(look.rho[i]) * G * self.target)]

    def slope(self, look: Look, answers: Answers) -> Array:
        i = self.element.index
        if self.full <= 0.0 or look.w[i] / look.rho[i] >= self.full:
            return np.zeros(answers.changes)
        return np.asarray(0.5 * answers.w[i] / (float(look.rho[i]) * self.full))

    @property
    def direct(self) -> float:
        return -1.0


@dataclass
class Fixture(Device):
    """What a fixture draws through each piped port, mixing where both are; `value` is the share of hot."""

    hot: Element | None
    cold: Element | None
    draw: float  # [m^3/s]
    set_at: float
    fluid: Fluid
    table: HeatTable
    mass: float = 0.0

    def __post_init__(self) -> None:
        self.value = 0.5
        self.mass = self.draw * float(self.fluid.density(self.set_at))

    def apply(self, settings: Settings) -> None:
        if self.hot is not None and self.cold is not None:
            settings.upper[self.hot.index] = self.value * self.mass
            settings.upper[self.cold.index] = (1.0 - self.value) * self.mass
        elif (one := self.hot or self.cold) is not None:
            settings.upper[one.index] = self.mass

    def look(self, look: Look) -> None:
        self.note, self.error, self.span = "", 0.0, 0.0
        ends = [look.node[e.start] for e in (self.hot, self.cold) if e is not None]
        t = ends[0]
        if len(ends) == 2:
            self.span = ends[0] - ends[1]
            h = self.table.content
            t = self.table.temperature(self.value * h(ends[0]) + (1.0 - self.value) * h(ends[1]))
            self.error = (self.set_at - t) / KELVIN
            if self.value >= 1.0 and ends[0] < self.set_at - NEAR:
                self.note = "all hot"
        self.mass = self.draw * float(self.fluid.density(t))

    def state_at(self, error: float) -> float:
        return self.set_at - error * KELVIN

    def bounds(self) -> list[tuple[int, float]]:
        if self.hot is None or self.cold is None:
            return []
        return [(self.hot.index, self.mass), (self.cold.index, -self.mass)]

    def slope(self, look: Look, answers: Answers) -> Array:
        if self.hot is None or self.cold is None:
            return np.zeros(answers.changes)
        hot, cold = (answers.node(e.start) for e in (self.hot, self.cold))
        return np.asarray(-(self.value * hot + (1.0 - self.value) * cold) / KELVIN)

    @property
    def direct(self) -> float:
        return -self.span / KELVIN


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
