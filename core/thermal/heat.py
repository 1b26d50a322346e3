"""Heat content of a fluid, quick for single temperatures, so that every balance adds up exactly.

All heat flows are differences of one heat content per fluid (the integral of its heat capacity), so they
add up exactly.
"""

from __future__ import annotations

import weakref
from collections.abc import Sequence
from typing import cast

import numpy as np
import numpy.typing as npt

from core.media.fluids import Fluid

Array = npt.NDArray[np.float64]

# [K]; no temperature that anybody types lies on an edge of this grid, where slopes would depend on round-off.
LOW, HIGH, STEP = 173.03, 573.03, 0.5
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
        self.columns = np.stack([h[:-1], means])
        self._h: list[float] = h.tolist()
        self._cp: list[float] = means.tolist()
        self._last = len(self._cp) - 1

    def content(self, t: float) -> float:
        """Heat content at t [K], [J/kg]."""
        k = int((t - LOW) / STEP)
        if not 0 <= k <= self._last:
            k = 0 if k < 0 else self._last
        return self._h[k] + self._cp[k] * (t - LOW - k * STEP)

    def capacity(self, t: float) -> float:
        """Slope of the heat content at t [K], [J/kg/K]."""
        k = int((t - LOW) / STEP)
        if not 0 <= k <= self._last:
            k = 0 if k < 0 else self._last
        return self._cp[k]

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


class HeatTables:
    """Heat content and its slope at many places at once, each by the table of its own fluid.

    Parameters
    ----------
    tables : sequence of HeatTable, length n
        The table of each place
    """

    def __init__(self, tables: Sequence[HeatTable]) -> None:
        distinct = list({id(table): table for table in tables}.values())
        self.columns = np.concatenate([table.columns for table in distinct] or [np.zeros((2, 1))], axis=1)
        self.last = self.columns.shape[1] // max(1, len(distinct)) - 1
        first = {id(table): k * (self.last + 1) for k, table in enumerate(distinct)}
        self.first = np.array([first[id(table)] for table in tables], np.intp)

    def capacity(self, t: Array) -> Array:
        """Slope of the heat content at t [K], shape (n,), [J/kg/K]."""
        return cast(Array, self.columns[1].take(self._cells(t) + self.first))

    def content_and_capacity(self, t: Array) -> tuple[Array, Array]:
        """Heat content [J/kg] at t [K], shape (n,), and its slope [J/kg/K]."""
        cells = self._cells(t)
        h, cp = self.columns.take(cells + self.first, axis=1)
        return h + cp * (t - LOW - cells * STEP), cp

    def _cells(self, t: Array) -> npt.NDArray[np.intp]:
        cells = np.minimum(np.maximum((t - LOW) * (1.0 / STEP), 0.0), self.last)
        return np.asarray(cells, np.intp)


_TABLES: weakref.WeakKeyDictionary[Fluid, HeatTable] = weakref.WeakKeyDictionary()


def heat_table(fluid: Fluid) -> HeatTable:
    """The table of a fluid, made once."""
    if fluid not in _TABLES:
        _TABLES[fluid] = HeatTable(fluid)
    return _TABLES[fluid]
