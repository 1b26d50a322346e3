"""Circulators held by a difference of temperature, or by a head that grows with their flow.

A delta-T circulator's own circuit is every way from its outlet back to its inlet that passes no place
twice, a separator or buffer being one place. Where nothing moves even at full speed, it rests at its least.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from core.hydraulics.circulators import Drive, G, flow_at_head, value_and_slope
from core.hydraulics.curves import Curve
from core.hydraulics.elements import Element
from core.hydraulics.laws import Settings
from core.solve.devices import REST, Device
from core.solve.sensing import Answers, Difference, Look
from core.thermal.flowing import STILL

Array = npt.NDArray[np.float64]

LEAST_DIFFERENCE = 0.02  # [K] below it no heat moves
WIDEST_ERROR = 3.0  # beyond it a difference tells no more
MOST_PROBES = 8  # times it looks whether less speed moves water by now
NARROW = 1e-4  # share of a speed between no flow and too much


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
