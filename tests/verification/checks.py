"""One check against a published or independent value: asserted by a test, kept for the page.

A test asks for the fixture `agrees` and calls it in place of an assertion; its module names a `SUBJECT`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import pytest

KELVIN = {"degC": 1.0, "degF": 1 / 1.8}  # a deviation of temperatures is told in kelvin, never as a share


@dataclass(frozen=True)
class Check:
    """What was compared, with what, and how far ours lies from it; of many points the worst."""

    subject: str
    what: str
    source: str
    value: float
    ours: float
    unit: str
    allowed: float  # share of the value, or in the unit where `by_amount`
    by_amount: bool
    points: int
    test: str

    @property
    def in_kelvin(self) -> bool:
        return self.unit in KELVIN

    @property
    def deviation(self) -> float:
        """In kelvin for temperatures, else as a share of the value."""
        apart = abs(self.ours - self.value)
        return (
            apart * KELVIN[self.unit] if self.in_kelvin else apart / abs(self.value) if self.value else apart
        )


class Agrees:
    """Asserts that ours is the source's value, and keeps the check whether it holds or not."""

    def __init__(self, subject: str, test: str, kept: list[Check]) -> None:
        self.subject, self.test, self.kept = subject, test, kept

    def __call__(
        self,
        what: str,
        ours: Any,
        value: Any,
        unit: str = "",
        *,
        source: str,
        rel: float | None = None,
        within: float | None = None,
    ) -> None:
        """Allowed is `rel`, a share of the value, or `within`, in its unit."""
        assert (rel is None) != (within is None), "say either rel or within"
        assert source, f"{what}: a check names its source"
        got, want = np.broadcast_arrays(np.atleast_1d(np.asarray(ours, float)), np.asarray(value, float))
        reach = np.abs(want) * rel if rel is not None else np.full(want.shape, within)
        over = np.abs(got - want) / np.maximum(reach, 1e-300)
        worst = int(np.argmax(np.where(np.isfinite(got), over, np.inf)))
        allowed = float(rel if rel is not None else within or 0.0)
        check = Check(
            self.subject, what, source, float(want[worst]), float(got[worst]), unit,
            allowed, rel is None, got.size, self.test,
        )  # fmt: skip
        self.kept.append(check)
        if rel is not None:
            assert check.ours == pytest.approx(check.value, rel=rel, abs=1e-12), f"{what}: {source}"
        else:
            assert check.ours == pytest.approx(check.value, abs=within, rel=0.0), f"{what}: {source}"
