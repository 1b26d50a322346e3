"""Which solved figures rest on a guess: those that move when all guesses go to an end of their spans."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace

import numpy as np

from core.figures import Figures
from core.plant.guesses import SITE, plant_guesses
from core.plant.model import Case, Plant
from core.questions.sampling import Guessing
from core.questions.trials import KeepOn
from core.solve import Solution, Solver
from core.solve.solution import GUESSED
from core.working import Working

Place = tuple[str, str]
"""Id of an item or pipe, and key of a figure."""
NOTE = "~ rests on a guess."
LEAST_SHARE = 1e-5
# Two solves of one case agree within these by the plant file's contract; less is no difference.
LEAST = (("_m3_s", 1e-9), ("_c", 1e-3), ("_w", 0.1), ("_pa", 1.0))


def marked(plant: Plant, solutions: Iterable[Solution], keep_on: KeepOn | None = None) -> list[Solution]:
    """Solutions of a plant's cases, with which of their figures rest on a guess; the same ones without."""
    marks = Marks(plant, keep_on)
    cases = {case.name: case for case in plant.solve_cases}
    if not marks.ends:
        return list(solutions)
    return [replace(one, guessed=marks.figures(cases[one.case])) for one in solutions]


class Marks:
    """~ before what rests on a guess: the one place that says so, for every answer of a plant.

    Each case is solved twice more, with all guesses at either end, when first asked for; a plant without
    guesses costs nothing.

    Parameters
    ----------
    plant : Plant
    keep_on : callable or None
        Asked during the solving; where it says False this raises core.solve.Dropped
    """

    def __init__(self, plant: Plant, keep_on: KeepOn | None = None) -> None:
        self.plant, self.keep_on = plant, keep_on
        guesses = [guess for guess in plant_guesses(plant) if guess.spread.high > guess.spread.low]
        guessing = Guessing(plant, guesses)
        ends = [[getattr(one.spread, end) for one in guesses] for end in ("low", "high")]
        self.ends = [guessing.put(np.array(end))[0] for end in ends] if guesses else []
        self.typed = {f"items.{one.at}.props.{one.spread.path}" for one in guesses}
        self.typed |= {f"pipes.{one.at}.{one.spread.path}" for one in guesses}
        self.typed |= {f"site.{one.spread.path}" for one in guesses if one.at == SITE}
        self._solvers = [Solver(each) for each in (plant, *self.ends)] if guesses else []
        self._known: dict[int, tuple[Case, frozenset[Place]]] = {}

    def figures(self, case: Case) -> frozenset[Place]:
        """Figures of a case that rest on a guess; all of them where an end has no answer."""
        if not self.ends:
            return frozenset()
        if id(case) not in self._known:  # the case is kept too, so its identity cannot have gone to another
            typed, *there = (solver.solve(case, self.keep_on) for solver in self._solvers)
            found = set[Place]()
            for name, figures in (*typed.pipes.items(), *typed.items.items()):
                for end in there:
                    other = end.pipes.get(name) or end.items.get(name)
                    found |= {(name, key) for key in _moved(figures, other if end.converged else None)}
            self._known[id(case)] = case, frozenset(found)
        return self._known[id(case)][1]

    def at(self, case: Case | str, *ids: str, what: str = "") -> str:
        """~ where a figure of one of some items or pipes (of any where none is named) rests on a guess, that
        of `what` alone where it is given; else ""."""
        if not self.ends:
            return ""
        named = next((c for c in self.plant.solve_cases if c.name == case), None)
        known = case if isinstance(case, Case) else named
        found = frozenset() if known is None else self.figures(known)
        return GUESSED if any(at in (ids or (at,)) and what in ("", key) for at, key in found) else ""

    def of(self, working: Working | None) -> str:
        """~ where a working rests on a guess: one typed in it, or a solved figure that does."""
        if working is None or not self.ends:
            return ""
        return GUESSED if any(self._leaf(one) for one in working.leaves()) else ""

    def _leaf(self, one: Working) -> bool:
        if one.path:
            within = (f"{one.path}.", f"{one.path}[")
            return any(path == one.path or path.startswith(within) for path in self.typed)
        if one.origin != "solved" or not one.how.startswith("solved: "):
            return False
        at, _, what = one.how.removeprefix("solved: ").partition(" ")
        return any(self.at(case, at, what=what) for case in self.plant.solve_cases if case.name in one.words)

    def when(self, ask: Callable[[Plant], float | None]) -> str:
        """~ where an answer in one number is otherwise with guesses at an end."""
        typed = ask(self.plant) if self.ends else None
        return GUESSED if any(_differ("", typed, ask(end)) for end in self.ends) else ""


def _moved(figures: Figures, other: Figures | None) -> set[str]:
    """Keys of figures that are otherwise."""
    there = {} if other is None else other.as_data()
    return {key for key, value in figures.as_data().items() if _differ(key, value, there.get(key))}


def _differ(key: str, one: object, other: object) -> bool:
    if isinstance(one, bool) or not isinstance(one, (int, float)) or not isinstance(other, (int, float)):
        return one != other
    least = next((size for ending, size in LEAST if key.endswith(ending)), 1e-6)
    return abs(one - other) > max(least, LEAST_SHARE * max(abs(one), abs(other)))
