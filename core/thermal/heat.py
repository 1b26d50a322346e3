"""Heat content of a fluid, quick for single temperatures, so that every balance adds up exactly."""

from __future__ import annotations

import weakref

import numpy as np

from core.media.fluids import Fluid

LOW, HIGH, STEP = 173.15, 573.15, 0.5  # [K]
ZERO = 273.15  # [K], where heat content counts as 0


class HeatTable:
    """Specific heat content h(T) of one fluid, [J/kg], its slope and its means.

    Trapezoids of the fluid's heat capacity on a half-kelvin grid; straight between and beyond. All heat
    flows of the solver are differences of this one function, so none is lost between them.
    """

    def __init__(self, fluid: Fluid) -> None:
        grid = np.arange(LOW, HIGH + STEP / 2.0, STEP)
        cp = np.asarray(fluid.heat_capacity(grid))
        means = 0.5 * (cp[1:] + cp[:-1])
        h = np.concatenate([[0.0], np.cumsum(means * STEP)])
        h -= np.interp(ZERO, grid, h)
        self._h: list[float] = h.tolist()
        self._cp: list[float] = means.tolist()
        self._last = len(self._cp) - 1

    def content(self, t: float) -> float:
        """Heat content at t [K], [J/kg]."""
        k = int((t - LOW) / STEP)
        k = 0 if k < 0 else min(k, self._last)
        return self._h[k] + self._cp[k] * (t - LOW - k * STEP)

    def capacity(self, t: float) -> float:
        """Slope of the heat content at t [K], [J/kg/K]."""
        k = int((t - LOW) / STEP)
        return self._cp[0 if k < 0 else min(k, self._last)]

    def mean_capacity(self, t1: float, t2: float) -> float:
        """Heat content difference over temperature difference, [J/kg/K]."""
        if abs(t1 - t2) < 1e-6:
            return self.capacity(0.5 * (t1 + t2))
        return (self.content(t1) - self.content(t2)) / (t1 - t2)

    def temperature(self, h: float) -> float:
        """Temperature at heat content h [J/kg], [K]."""
        t = ZERO + h / self.capacity(ZERO + h / 4000.0)
        for _ in range(4):
            t -= (self.content(t) - h) / self.capacity(t)
        return t


_TABLES: weakref.WeakKeyDictionary[Fluid, HeatTable] = weakref.WeakKeyDictionary()


def heat_table(fluid: Fluid) -> HeatTable:
    """The table of a fluid, made once."""
    if fluid not in _TABLES:
        _TABLES[fluid] = HeatTable(fluid)
    return _TABLES[fluid]
