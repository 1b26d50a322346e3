"""What every control is that answers to what the water does: a position, its travel, and how far it is from
rest.

The kinds of control stand in `mixing_controls`, `pump_controls` and `heater_controls`; `joint_newton` moves
them together.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from core.hydraulics.laws import Settings
from core.solve.sensing import Answers, Look

Array = npt.NDArray[np.float64]

KELVIN = 10.0  # [K] that count as an error of 1
NEAR = 0.05  # [K] a set temperature missed by less counts as held
NARROWEST = 1e-6  # share of its travel below which a mixing leg counts as shut
REST = 1e-6  # error that counts as rest


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
    barren: float = field(default=math.nan, init=False)  # an end short of which nothing is known to hold it

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
    def sought(self) -> bool:
        """Whether it rests at an end of its travel short of which it looked in vain, now or before."""
        return self.value == self.barren

    @property
    def at_bound(self) -> bool:
        """Whether it stands at an end of its travel and its error would move it beyond."""
        return (self.value <= self.low and self.error <= 0.0) or (
            self.value >= self.high and self.error >= 0.0
        )
