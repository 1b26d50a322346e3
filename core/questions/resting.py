"""Which solved figures rest on a guess: those that move when all guesses go to an end of their spans."""

from __future__ import annotations

import numpy as np

from core.figures import Figures
from core.plant.guesses import plant_guesses
from core.plant.model import Case, Plant
from core.questions.sampling import Guessing
from core.solve import Solution, Solver

Place = tuple[str, str]
"""Id of an item or pipe, and key of a figure."""
LEAST_SHARE = 1e-5
# Two solves of one case agree within these by the plant file's contract; less is no difference.
LEAST = (("_m3_s", 1e-9), ("_c", 1e-3), ("_w", 0.1), ("_pa", 1.0))


def resting(plant: Plant, case: Case, typed: Solution) -> frozenset[Place]:
    """Figures of a solved case that rest on a guess of the plant; all of them where an end has no answer.

    Parameters
    ----------
    plant : Plant
    case : Case
    typed : Solution
        Of that case, with the guesses as typed
    """
    guesses = [guess for guess in plant_guesses(plant) if guess.spread.high > guess.spread.low]
    found: set[Place] = set()
    guessing = Guessing(plant, guesses)
    for ends in ("low", "high") if guesses else ():
        other, _ = guessing.put(np.array([getattr(guess.spread, ends) for guess in guesses]))
        there = Solver(other).solve(case)
        for name, figures in (*typed.pipes.items(), *typed.items.items()):
            with_it = there.pipes.get(name) or there.items.get(name)
            found |= {(name, key) for key in _moved(figures, with_it if there.converged else None)}
    return frozenset(found)


def _moved(figures: Figures, other: Figures | None) -> set[str]:
    """Keys of figures that are otherwise."""
    there = {} if other is None else other.as_data()
    return {key for key, value in figures.as_data().items() if _differ(key, value, there.get(key))}


def _differ(key: str, one: object, other: object) -> bool:
    if isinstance(one, bool) or not isinstance(one, (int, float)) or not isinstance(other, (int, float)):
        return one != other
    least = next((size for ending, size in LEAST if key.endswith(ending)), 1e-6)
    return abs(one - other) > max(least, LEAST_SHARE * max(abs(one), abs(other)))
