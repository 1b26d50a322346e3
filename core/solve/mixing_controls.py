"""Controls that mix waters to a temperature: mixing and three-way valves, fixtures.

* A mixing valve whose hot side is still cold opens to hot, so that the heater behind can start. With a
  `target` either leg of a three-way valve may be the warm one; where water parts at ab, or both waters come
  alike, it stands and says so; without `position` and `target` it stands halfway.
* A fixture without `set_temperature` that has both pipes mixes to 105 degF (common practice, no source).
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from core.hydraulics.elements import Element
from core.hydraulics.laws import Settings
from core.media.fluids import Fluid
from core.solve.devices import KELVIN, NARROWEST, NEAR, REST, Device
from core.solve.sensing import Answers, Look
from core.thermal.flowing import STILL
from core.thermal.heat import HeatTable

Array = npt.NDArray[np.float64]

PROBES = (0.25, 0.06)  # positions of a mixing valve
OFF_THE_END = 0.02  # of its travel, by which a valve first comes off its end
LEVEL = 1e-5  # error within which standing water is at its set point
ALIKE = 0.02  # [K] below it a and b of a three-way valve are one temperature


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
    sense: float = field(default=1.0, init=False)  # 1 where the leg named hot is the warmer, -1 where not

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
        total = look.w[self.hot.index] + look.w[self.cold.index]
        if total <= STILL:
            if self.value in (0.0, 1.0):
                self.note = "all hot" if self.value else "all cold"
            return
        t = look.node[self.hot.end]
        self.error = (self.set_at - t) / KELVIN
        if self._stays():
            return
        if self.at_bound and abs(self.set_at - t) > NEAR:
            self.note = "all hot" if self.value >= 1.0 else "all cold"
            self._look_elsewhere()
        self._leave_end()

    def _stays(self) -> bool:
        """Whether water stands at its set point behind it: then it moves no more, whatever others do."""
        shut = 0.0 if self.sense > 0.0 else 1.0
        self.stands = self.stands and self.value == shut
        stays = self.stands and abs(self.error) < LEVEL
        self.low, self.high = (shut, shut) if stays else (0.0, 1.0)
        return stays

    def _look_elsewhere(self) -> None:
        """A source at its limit gives less warm water the more is drawn: less open it may hold after all."""
        if self.probes < len(PROBES) and not self.sought:
            self.jump = PROBES[self.probes] if self.value >= 1.0 else 1.0 - PROBES[self.probes]
            self.probes += 1
        else:
            self.barren = self.value

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
            elif inward * self.sense > 0.0 and not self.stands:
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
        if self._stays():
            return
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
