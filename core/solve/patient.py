"""Newton's method on controls that disturb one another, for where each by itself came to no rest.

Every look waits until flows and temperatures have answered the last move. The slopes of the errors are
measured by moving one control at a time; steps are halved until the errors shrink, and the slopes corrected
from each step by the rule of Broyden (Math. Comp. 19 (1965) 577) until that no longer helps.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

if TYPE_CHECKING:
    from core.solve.devices import Device

Array = npt.NDArray[np.float64]

WAIT = 3  # passes between a move and the look at what it did
PROBE = 0.01  # of a control's travel, to measure slopes
LONGEST = 0.2  # step of any control
LEAST_PART = 1.0 / 32.0  # of a step; where less would be needed the slopes are measured anew
ENOUGH = 0.9  # share to which a step must bring the errors down


class Patient:
    """Moves active controls together; what it has learnt is dropped when the set of them changes."""

    def __init__(self) -> None:
        self.keys: tuple[str, ...] = ()
        self.waited = 0
        self.probing: int | None = None
        self.part = 0.0
        self.base: Array = np.zeros(0)
        self.errors: Array = np.zeros(0)
        self.step: Array = np.zeros(0)
        self.slopes: Array = np.zeros((0, 0))

    def move(self, active: Sequence[Device]) -> None:
        """Give the active controls their next positions, once they have been waited for."""
        keys = tuple(d.key for d in active)
        if keys != self.keys:
            self.keys, self.waited, self.part = keys, 0, 0.0
            self.probing = None
            return
        self.waited += 1
        if self.waited < WAIT or not active:
            return
        self.waited = 0
        errors = np.array([d.error for d in active])
        if self.probing is not None:
            self._probe(active, errors)
        elif self.part > 0.0:
            self._judge(active, errors)
        else:
            self._begin(active, errors)

    def _begin(self, active: Sequence[Device], errors: Array) -> None:
        self.base, self.errors = np.array([d.value for d in active]), errors
        self.slopes = np.zeros((len(active), len(active)))
        self.probing = 0
        self._push(active[0], errors[0])

    def _push(self, device: Device, error: float) -> None:
        device.put(device.value + (PROBE if error >= 0.0 else -PROBE))

    def _probe(self, active: Sequence[Device], errors: Array) -> None:
        k = self.probing
        assert k is not None
        moved = active[k].value - self.base[k]
        self.slopes[:, k] = (errors - self.errors) / moved if abs(moved) > 1e-12 else 0.0
        if abs(moved) <= 1e-12 or self.slopes[k, k] == 0.0:
            self.slopes[k, k] = -1.0
        active[k].put(float(self.base[k]))
        if k + 1 < len(active):
            self.probing = k + 1
            self._push(active[k + 1], self.errors[k + 1])
            return
        self.probing = None
        self._aim(active)

    def _aim(self, active: Sequence[Device]) -> None:
        """Take the step that would bring all errors to nothing if their slopes held."""
        step = np.linalg.lstsq(self.slopes, -self.errors, rcond=1e-9)[0]
        self.step = np.asarray(step) * min(1.0, LONGEST / max(float(np.abs(step).max()), 1e-12))
        self.part = 1.0
        self._take(active)

    def _take(self, active: Sequence[Device]) -> None:
        for d, value in zip(active, self.base + self.part * self.step, strict=True):
            d.put(float(value))

    def _judge(self, active: Sequence[Device], errors: Array) -> None:
        before, now = float(np.abs(self.errors).max()), float(np.abs(errors).max())
        values = np.array([d.value for d in active])
        if now <= ENOUGH * before:
            moved = values - self.base
            length = float(moved @ moved)
            if length > 0.0:
                off = errors - self.errors - self.slopes @ moved
                self.slopes += np.outer(off, moved) / length
            self.base, self.errors = values, errors
            self._aim(active)
            return
        self.part *= 0.5
        if self.part < LEAST_PART:
            self.part = 0.0
            for d, value in zip(active, self.base, strict=True):
                d.put(float(value))
            return
        self._take(active)
