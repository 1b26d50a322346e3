"""Which one thing, otherwise than drawn, explains readings best: weighted least squares on the solved plant.

For each suspect the plant is solved at a few factors; what each gauge would show is drawn through these
points by a shape-preserving curve over the factor's logarithm, the least weighted sum of squares is sought on
it, and the plant solved again there until the factor rests. By chance the sum falls by 9 or more for one
suspect in 370 (chi-square with one degree of freedom): what is named is worth a look at the place.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Literal

import numpy as np

from core.plant.model import Plant
from core.readings.faults import RANGE, Suspect, suspects, with_fault
from core.readings.measured import Reading, could_read, default_error, shown
from core.solve.solution import Solution

Verdict = Literal["named", "cannot_tell", "all_well"]

WORTH = 9.0  # the weighted sum must fall by this before anything is suspected (the plant file's contract)
APART = 6.0  # by which every other suspect must fit worse before one is named (the same)
LOOK_AGAIN = 40.0  # suspects whose curve comes within this of the best are solved again at their best factor
RESTS = 0.005  # change of the logarithm of a factor that counts as none
MOST_STEPS = 6
POINTS = 6  # factors solved for each suspect at first
FINE = 600  # points of the curve over which the least sum is sought
TWO_SIGMA = 4.0  # rise of the weighted sum at the ends of the span given
IMPOSSIBLE = 1e9  # weighted sum of a plant that does not settle
MOST_NEXT, MOST_RIVALS = 3, 4

Array = np.ndarray[tuple[int, ...], np.dtype[np.float64]]


@dataclass
class Explanation:
    """A suspect with the factor that fits best.

    Attributes
    ----------
    suspect : Suspect
    factor, low, high : float
        The best factor, and its span of two standard deviations
    fall : float
        By which the weighted sum of squares falls
    chance : float
        Share of the likelihood of all suspects and of the plant as drawn, 0..1
    """

    suspect: Suspect
    factor: float
    low: float
    high: float
    fall: float
    chance: float = 0.0
    states: Mapping[str, Solution] = field(default_factory=dict, repr=False)


@dataclass(frozen=True)
class Telling:
    """A further reading that would tell explanations apart: by how many standard deviations they differ."""

    at: str
    what: str
    parts: tuple[str, str]
    apart: float


@dataclass(frozen=True)
class Fit:
    """What the readings say.

    Attributes
    ----------
    verdict : {"named", "cannot_tell", "all_well"}
    readings : list of Reading
        Those that were looked at
    unseen : list of Reading
        Those at whose place a solved case shows nothing
    as_drawn : dict
        Solutions of the plant as drawn, by case
    explanations : list of Explanation
        Those that lower the weighted sum by `WORTH`, the best first
    likely : dict
        Solutions of the likeliest state, by case: as drawn where all is well
    sum_as_drawn : float
        Weighted sum of squares of the plant as drawn
    next : list of Telling
    """

    verdict: Verdict
    readings: list[Reading]
    unseen: list[Reading]
    as_drawn: Mapping[str, Solution]
    explanations: list[Explanation]
    likely: Mapping[str, Solution]
    sum_as_drawn: float
    next: list[Telling]


class _Model:
    """Solves the plant with one thing otherwise, and weighs what the gauges would show."""

    def __init__(self, plant: Plant, readings: Sequence[Reading]) -> None:
        names = dict.fromkeys(one.case for one in readings)
        self.plant, self.readings = plant, list(readings)
        self.cases = [case for case in plant.solve_cases if case.name in names]
        self.values = np.array([one.value for one in readings])
        self.weights = np.array([one.weight for one in readings])

    def states(self, plant: Plant) -> dict[str, Solution]:
        from core.solve.solver import Solver

        solver = Solver(plant)
        return {case.name: solver.solve(case) for case in self.cases}

    def shows(self, states: Mapping[str, Solution]) -> Array:
        """What each gauge shows; nan where the case did not settle or shows nothing there."""
        if not all(one.converged for one in states.values()):
            return np.full(len(self.readings), np.nan)
        found = [shown(self.plant, states[one.case], one.at, one.what) for one in self.readings]
        return np.array([np.nan if value is None else value for value in found], dtype=float)

    def sum(self, shows: Array) -> float:
        total = float(np.sum(((self.values - shows) * self.weights) ** 2))
        return total if math.isfinite(total) else IMPOSSIBLE


@dataclass
class _Curve:
    """A suspect's solved factors and what the gauges show at each."""

    suspect: Suspect
    states: dict[float, Mapping[str, Solution]]
    shows: dict[float, Array]

    def sums(self, model: _Model) -> tuple[Array, Array]:
        """Logarithms of factors over the suspect's range, and the weighted sum at each."""
        from scipy.interpolate import PchipInterpolator

        known = sorted(x for x, row in self.shows.items() if np.isfinite(row).all())
        if len(known) < 2:
            return np.array([0.0]), np.array([IMPOSSIBLE])
        rows = np.array([self.shows[x] for x in known])
        x = np.union1d(np.linspace(known[0], known[-1], FINE), known)
        rows = PchipInterpolator(known, rows)(x)
        return x, np.sum(((model.values - rows) * model.weights) ** 2, axis=1)


def fit(plant: Plant, readings: Sequence[Reading], progress: Callable[[int, int], None] | None = None) -> Fit:
    """What explains some readings best.

    Parameters
    ----------
    plant : Plant
    readings : sequence of Reading
    progress : callable
        Told how many suspects of how many are looked at
    """
    drawn = _Model(plant, readings).states(plant)
    seen = [one for one in readings if shown(plant, drawn[one.case], one.at, one.what) is not None]
    unseen = [one for one in readings if one not in seen]
    model = _Model(plant, seen)
    as_drawn = model.shows(drawn)
    base = model.sum(as_drawn)
    curves = []
    listed = suspects(plant) if seen else []
    for k, suspect in enumerate(listed):
        curves.append(_curve(model, suspect, drawn, as_drawn))
        if progress is not None:
            progress(k + 1, len(listed))
    found = _explained(model, [c for c in curves if c is not None], base)
    worth = [one for one in found if one.fall >= WORTH]
    verdict: Verdict = "all_well"
    if worth:
        alone = len(found) == 1 or found[0].fall - found[1].fall >= APART
        verdict = "named" if alone else "cannot_tell"
    likely = worth[0].states if worth else drawn
    rivals = [one for one in worth if worth[0].fall - one.fall < APART][:MOST_RIVALS]
    further = _telling(model, rivals) if verdict == "cannot_tell" else []
    return Fit(verdict, seen, unseen, drawn, worth, likely, base, further)


def _curve(model: _Model, suspect: Suspect, drawn: Mapping[str, Solution], as_drawn: Array) -> _Curve | None:
    """The suspect solved at a few factors; None where no factor could lower the sum enough."""
    low, high = (math.log(x) for x in RANGE[suspect.what])
    curve = _Curve(suspect, {0.0: drawn}, {0.0: as_drawn})
    missed = math.sqrt(model.sum(as_drawn))
    for x in (low, high):
        _solved(model, curve, x)
    moved = [np.linalg.norm((row - as_drawn) * model.weights) for row in curve.shows.values()]
    if 2.0 * missed * max(map(float, moved)) < WORTH / 2.0:  # a sum of squares falls by no more than this
        return None
    for x in np.linspace(low, 0.0, POINTS)[1:-1]:
        _solved(model, curve, float(x))
    return curve


def _solved(model: _Model, curve: _Curve, x: float) -> None:
    states = model.states(with_fault(model.plant, curve.suspect, math.exp(x)))
    curve.states[x], curve.shows[x] = states, model.shows(states)


def _explained(model: _Model, curves: Sequence[_Curve], base: float) -> list[Explanation]:
    """Suspects with their best factors, the best first."""
    best = min((float(curve.sums(model)[1].min()) for curve in curves), default=base)
    found = []
    for curve in curves:
        x, sums = curve.sums(model)
        for _ in range(MOST_STEPS):
            if float(sums.min()) > best + LOOK_AGAIN:
                break
            at = float(x[sums.argmin()])
            if min(abs(at - known) for known in curve.shows) < RESTS:
                break
            _solved(model, curve, at)
            x, sums = curve.sums(model)
        k = int(sums.argmin())
        near = min(curve.shows, key=lambda known: abs(known - float(x[k])))
        total = model.sum(curve.shows[near])
        inside = x[sums <= sums[k] + TWO_SIGMA]
        low, high = math.exp(float(inside.min())), math.exp(float(inside.max()))
        states = curve.states[near]
        factor = math.exp(float(x[k]))  # not that of `near`, which may lie far off where none looked again
        found.append(Explanation(curve.suspect, factor, low, high, base - total, states=states))
    found.sort(key=lambda one: -one.fall)
    top = max([0.0, *(one.fall for one in found)])
    likelihoods = [math.exp((one.fall - top) / 2.0) for one in found]
    total = sum(likelihoods) + math.exp((0.0 - top) / 2.0)
    for one, likelihood in zip(found, likelihoods, strict=True):
        one.chance = likelihood / total
    return found


def _telling(model: _Model, rivals: Sequence[Explanation]) -> list[Telling]:
    """Places whose reading differs most between explanations that fit alike, the most telling first."""
    places = could_read(model.plant, model.readings)
    found = [one for place in places for one in _differences(model, rivals, *place)]
    found.sort(key=lambda one: -one.apart)
    kept: dict[tuple[str, str], Telling] = {}
    for one in found:
        if one.apart >= 1.0:
            kept.setdefault(one.parts, one)
    return list(kept.values())[:MOST_NEXT]


def _differences(model: _Model, rivals: Sequence[Explanation], at: str, what: str) -> Iterator[Telling]:
    case = model.cases[0].name
    for k, one in enumerate(rivals):
        for other in rivals[k + 1 :]:
            values = [shown(model.plant, each.states[case], at, what) for each in (one, other)]
            if values[0] is not None and values[1] is not None:
                sigma = default_error(what, values[0]) / 2.0
                parts = (one.suspect.at, other.suspect.at)
                yield Telling(at, what, parts, abs(values[0] - values[1]) / sigma)
