"""Solves a plant again with something otherwise, and keeps each answer for whoever asks the same again."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any

from core.plant.model import Case, Overrides, Plant
from core.solve import Solution, Solver
from core.solve.thermostat_results import Moment

Changes = Mapping[str, Mapping[str, Any]]
KeepOn = Callable[[], bool]
OnProgress = Callable[[int, int], None]

NO_CHANGES: Changes = {}


def varied(case: Case, changes: Changes = NO_CHANGES, signals: Mapping[str, bool] | None = None) -> Case:
    """A case in which some properties [SI] and signals are otherwise; the case itself where nothing is."""
    if signals:
        case = replace(case, signals={**case.signals, **signals})
    return case.with_si(Overrides(parts=changes)) if changes else case


class Trials:
    """Answers of one plant, and of the same plant with something put in, by what is otherwise.

    Parameters
    ----------
    plant : Plant
    keep_on : callable or None
        Asked before every pass; where it says False any solving raises core.solve.Dropped

    Attributes
    ----------
    count : int
        Cases solved so far
    """

    def __init__(self, plant: Plant, keep_on: KeepOn | None = None) -> None:
        self.plant = plant
        self.keep_on = keep_on
        self.count = 0
        self._known: dict[object, Solution] = {}
        self._iced: set[int] = set()
        self._moments: dict[int, tuple[Moment, ...]] = {}
        self._solver = Solver(plant)

    def solve(
        self, case: Case, changes: Changes = NO_CHANGES, signals: Mapping[str, bool] | None = None
    ) -> Solution:
        """A case of the plant, with some properties [SI] and signals otherwise."""
        key = (case.name, repr(case.si), repr(changes), repr(signals))
        if key not in self._known:
            self.count += 1
            found = self._solver.solve(varied(case, changes, signals), self.keep_on)
            self._known[key] = found
            last = self._solver.last
            if last is not None and last.broken and all(b.law == "freezing" for b in last.broken):
                self._iced.add(id(found))
            if last is not None:
                self._moments[id(found)] = last.thermostats.moments
        return self._known[key]

    def moments(self, solution: Solution) -> tuple[Moment, ...]:
        """The moments that a case of minutes or hours was stepped through."""
        return self._moments[id(solution)]

    def stands(self, solution: Solution) -> bool:
        """Whether an answer's temperatures can be used: solved, or not solved only because water freezes."""
        return solution.converged or id(solution) in self._iced
