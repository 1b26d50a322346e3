"""A run under way: its plant, what stores heat and how warm that is, what is on, and what time it is."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from core.controls.resets import find_resets
from core.controls.signals import Signals
from core.controls.stats import Stat, as_reset, stats_of
from core.plant.model import Item
from core.simulation.clock import profile_value
from core.simulation.guards import Guards
from core.simulation.layout import lay_out
from core.simulation.machine import Machine
from core.simulation.meters import matrix_of
from core.simulation.parts import Heats
from core.simulation.rows import Rows
from core.simulation.runs import Run
from core.simulation.sensors import place_stats
from core.simulation.stepping import SHORTEST, Ladder
from core.simulation.stores import BoilerPart
from core.solve.settle import Settled
from core.solve.solver import Solver
from core.vocabulary import CaseSets, Trait

Array = npt.NDArray[np.float64]


@dataclass
class Stretch:
    """What holds from one moment on: the water, its rows, the exact steps, what bounds it."""

    began: float
    x: Array
    settled: Settled
    rows: Rows
    heats: Heats
    ladder: Ladder
    guards: Guards
    guard_rows: Array = field(init=False)
    low: Array = field(init=False)
    high: Array = field(init=False)
    slack: Array = field(init=False)

    def __post_init__(self) -> None:
        n = self.rows.n
        self.guard_rows = self.shifted(matrix_of(self.guards.rows, n))
        self.low, self.high = np.array(self.guards.low), np.array(self.guards.high)
        self.slack = np.array(self.guards.slack)

    def shifted(self, rows: Array) -> Array:
        """Rows by (change since the moment, 1, seconds since) instead of (states, 1, seconds)."""
        n = self.rows.n
        moved = rows.copy()
        moved[:, n] += rows[:, :n] @ self.x
        return moved


class Course:
    """One run of a plant on its way.

    Parameters
    ----------
    run : Run

    Attributes
    ----------
    time, end : float
        Since the start, [s]
    x, capacity : ndarray, shape (n states,)
        Temperatures of all states [K], and what each stores, [J/K]
    """

    def __init__(self, run: Run) -> None:
        self.run = run
        self.solver = Solver(run.plant)
        self.plant, self.net = run.plant, self.solver.net
        self.time, self.end = 0.0, max(SHORTEST, round(run.hours * 3600.0 / SHORTEST) * SHORTEST)
        losses, outdoor = self.solver.losses, run.weather.at(0.0)
        self.resets = bool(self.plant.with_trait(Trait.RESETS))
        stats = as_reset(stats_of(self.plant), find_resets(self.plant, outdoor))
        snows = any(run.weather.snow)
        self.layout = lay_out(self.net, losses, stats, run.start, outdoor, self._gain_of, snows)
        self.places = place_stats(self.net, self.layout, stats)
        self.cautions = [*self.layout.cautions, *self.places.cautions]
        own = {key: _control_of(boiler) for key, boiler in self.layout.boilers.items()}
        felt = {key: stat for key, stat in stats.items() if key in self.places.of}
        free = self._free(stats)
        self.machine = Machine(Signals(self.plant), run.case, felt, free, run.weather.starts, own)
        for key, bulb in self.places.bulbs.items():
            bulb.state = self.machine.stats.get(key)
        self.x = self.layout.start()
        self.capacity = self.layout.capacity()

    def _gain_of(self, key: str) -> Callable[[], float] | None:
        profile = self.run.gains.get(key)
        if profile is None:
            return None
        return lambda: profile_value(profile, self.clock)

    @property
    def clock(self) -> float:
        """Time since Monday 00:00, [s]."""
        return self.run.weather.starts + self.time

    def _free(self, stats: dict[str, Stat]) -> set[str]:
        """Signals of the case that follow all the same: stats that it keeps on over rooms, as in `solve`;
        all stats, timers and what they switch where the file has no case."""
        said = self.run.case.signals
        items = self.plant.items
        if self.run.implied:
            return {
                k for k in said if k in stats or items[k].has(Trait.TIMED) or items[k].si.get("switched_by")
            }
        return {k for k, on in said.items() if on and k in stats and stats[k].place[0] in self.layout.rooms}

    def draws(self) -> dict[str, float]:
        """What each fixture draws now, [m^3/s]."""
        found = dict(self.run.case.si.draws)
        for key, profile in self.run.draws.items():
            found[key] = profile_value(profile, self.clock)
        return {k: q for k, q in found.items() if q > 0.0 and _may_draw(self.plant.items[k])}


def _control_of(boiler: BoilerPart) -> Callable[[], bool]:
    return lambda: boiler.fires


def _may_draw(item: Item) -> bool:
    return item.stays and item.kind_info.cases_set is CaseSets.DRAW
