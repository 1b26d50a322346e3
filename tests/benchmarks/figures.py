"""One measured figure, and how a time is taken so that two of one run can be compared."""

import gc
import statistics
import time
from collections.abc import Callable
from dataclasses import dataclass


@dataclass(frozen=True)
class Figure:
    """A measured value beside what it should be at most; `target` None: told, not judged."""

    what: str
    value: float
    unit: str
    target: float | None = None

    @property
    def held(self) -> bool:
        """Whether the target is met (true where there is none)."""
        return self.target is None or self.value <= self.target

    def __str__(self) -> str:
        wanted = (
            "" if self.target is None else f"  (at most {self.target:g}{'' if self.held else ': MISSED'})"
        )
        return f"{self.what:<64} {self.value:10.3g} {self.unit:<7}{wanted}"


def seconds(job: Callable[[], object], repeats: int = 7) -> float:
    """Median time of one call after a first one that warms up, [s]."""
    job()
    times = []
    gc.disable()
    try:
        for _ in range(repeats):
            start = time.perf_counter()
            job()
            times.append(time.perf_counter() - start)
    finally:
        gc.enable()
    return statistics.median(times)
