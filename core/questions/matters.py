"""Which guess matters: the span of every answer over what guesses leave open, and each guess's part in it.

Every case is solved for the guesses as typed and for 200 or more plants with all of them put otherwise at
once (a Latin hypercube, the same each time). A straight fit of each answer to the guesses gives the parts:
the share of a guess is its slope squared times its variance over the answer's. Where the fit explains less
than 0.8 of the variance the parts do not tell much. A case that lasts minutes or hours is asked at its end.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt

from core.figures import EmitterFigures, OutletFigures, PumpFigures, RoomFigures
from core.plant.guesses import PlantGuess, plant_guesses
from core.plant.model import Plant, PortRef
from core.questions.compare import unit_of
from core.questions.sampling import SEED, Guessing, latin_hypercube
from core.questions.trials import KeepOn, OnProgress
from core.solve import Solution, Solver
from core.vocabulary import Trait

Array = npt.NDArray[np.float64]
LEAST_SAMPLES = 200
SAMPLES_PER_GUESS = 2
LOW, HIGH = 5.0, 95.0  # percentiles of the span
GOOD_FIT = 0.8
NOISE = {"W": 0.3, "degC": 3e-4, "Pa": 3.0, "m3/s": 3e-9}  # span within the solver's own error
NO_FLOW = 1e-8  # [m^3/s]

Key = tuple[str, str]


class GuessShare(NamedTuple):
    """The part of one guess in the variance of an answer."""

    at: str
    property: str
    share: float


class Answer(NamedTuple):
    """One figure in one case: with guesses as typed, its span, how well a straight fit holds, and the parts
    of the guesses, the greatest first."""

    what: str
    at: str
    case: str
    value: float
    low: float
    high: float
    unit: str
    r2: float
    guesses: tuple[GuessShare, ...]

    def as_data(self) -> dict[str, Any]:
        """Plain data for --json."""
        return {**self._asdict(), "guesses": [one._asdict() for one in self.guesses]}


class Matters(NamedTuple):
    """All answers; solved samples by case, of how many; cases that are not solved as typed."""

    answers: tuple[Answer, ...]
    guesses: tuple[PlantGuess, ...]
    solved: Mapping[str, int]
    samples: int
    unsolved: tuple[str, ...]


def matters(
    plant: Plant,
    samples: int = 0,
    keep_on: KeepOn | None = None,
    on_progress: OnProgress | None = None,
    seed: int = SEED,
) -> Matters:
    """The span of the answers of a plant over its guesses.

    Parameters
    ----------
    plant : Plant
    samples : int
        Plants to solve; 0 for 200, or two a guess where that is more
    keep_on : callable or None
        Asked during the solving; where it says False this raises core.solve.Dropped
    on_progress : callable or None
        Told how many samples are solved, of how many
    seed : int
    """
    guesses = tuple(g for g in plant_guesses(plant) if g.spread.high > g.spread.low)
    cases = list(plant.solve_cases)
    solver = Solver(plant)
    typed = {case.name: solver.solve(case, keep_on) for case in cases}
    unsolved = tuple(name for name, found in typed.items() if not found.converged)
    cases = [case for case in cases if case.name not in unsolved]
    count = samples or max(LEAST_SAMPLES, SAMPLES_PER_GUESS * len(guesses))
    if not guesses:
        count = 0
    guessing, drawn = Guessing(plant, guesses), latin_hypercube(guesses, count, seed)
    values: dict[str, list[dict[Key, float]]] = {case.name: [] for case in cases}
    rows: dict[str, list[Array]] = {case.name: [] for case in cases}
    for number in range(count):
        other, taken = guessing.put(drawn[number])
        each = Solver(other)
        for case in cases:
            found = each.solve(case, keep_on)
            if found.converged:
                values[case.name].append(dict(_answers(plant, found)))
                rows[case.name].append(taken)
        if on_progress is not None:
            on_progress(number + 1, count)
    answers: list[Answer] = []
    for case in cases:
        name = case.name
        for key, value in _answers(plant, typed[name]):
            y = np.array([one[key] for one in values[name] if key in one])
            x = np.array([r for r, one in zip(rows[name], values[name], strict=True) if key in one])
            answers.append(_answer(guesses, key, name, value, x, y))
    solved = {name: len(found) for name, found in values.items()}
    return Matters(tuple(answers), guesses, solved, count, unsolved)


def _answers(plant: Plant, solution: Solution) -> Iterator[tuple[Key, float]]:
    """What a user relies on: heat of circuits, temperatures of rooms and taps, pressure before circulators
    and at relief valves."""
    for key, figures in solution.items.items():
        if isinstance(figures, EmitterFigures):
            if abs(figures.flow_m3_s) > NO_FLOW:
                yield (key, "delivered_w"), figures.delivered_w
        elif isinstance(figures, RoomFigures):
            yield (key, "temperature_c"), figures.temperature_c
        elif isinstance(figures, OutletFigures):
            if figures.flow_m3_s > NO_FLOW:
                yield (key, "temperature_c"), figures.temperature_c
        elif isinstance(figures, PumpFigures) and figures.running:
            yield from _suction(plant, solution, key)
    for item in plant.with_trait(Trait.RELIEVES):
        pressure = solution.value(item.id, "pressure_pa")
        if pressure is not None:
            yield (item.id, "pressure_pa"), float(pressure)


def _suction(plant: Plant, solution: Solution, pump: str) -> Iterator[tuple[Key, float]]:
    ref = PortRef(pump, "in")
    for name in plant.pipes_at.get(ref, ()):
        if name in solution.pipes:
            start = plant.pipes[name].start == ref
            what = "pressure_in_pa" if start else "pressure_out_pa"
            yield (name, what), solution.pipes[name].pressure_at(start)


def _answer(guesses: tuple[PlantGuess, ...], key: Key, case: str, value: float, x: Array, y: Array) -> Answer:
    at, what = key
    unit = unit_of(what)
    if len(y) == 0 or float(np.ptp(y)) <= NOISE.get(unit, 0.0):
        return Answer(what, at, case, value, value, value, unit, 1.0, ())
    low, high = (float(p) for p in np.percentile(y, (LOW, HIGH)))
    r2, parts = straight_fit(x, y)
    shares = [GuessShare(g.at, g.spread.path, float(part)) for g, part in zip(guesses, parts, strict=True)]
    ranked = tuple(sorted(shares, key=lambda one: -one.share))
    return Answer(what, at, case, value, low, high, unit, r2, ranked)


def straight_fit(x: Array, y: Array) -> tuple[float, Array]:
    """Share of the variance that a straight fit explains, and the part of each column in it.

    Parameters
    ----------
    x : ndarray, shape (n, k)
        Guesses by sample
    y : ndarray, shape (n,)
        One answer by sample

    Returns
    -------
    float, ndarray of shape (k,)
        R², and slope² Var(x) / Var(y), [-]

    Notes
    -----
    Least squares with an intercept. Source: A. Saltelli and others, Global Sensitivity Analysis, The Primer
    (2008), on standardized regression coefficients.

    Examples
    --------
    >>> x = np.array([[0.0, 1.0], [1.0, 0.0], [0.0, -1.0], [-1.0, 0.0]])
    >>> r2, parts = straight_fit(x, 2.0 * x[:, 0] + x[:, 1])
    >>> round(r2, 6), [round(float(p), 6) for p in parts]
    (1.0, [0.8, 0.2])
    """
    spread = x.std(axis=0)
    scaled = (x - x.mean(axis=0)) / np.where(spread > 0.0, spread, 1.0)
    centered = y - y.mean()
    slopes, *_ = np.linalg.lstsq(scaled, centered, rcond=None)
    variance = float(centered @ centered) / len(y)
    missed = centered - scaled @ slopes
    r2 = 1.0 - float(missed @ missed) / len(y) / variance
    return max(0.0, r2), np.asarray(slopes**2 / variance)


def ranking(found: Matters) -> list[GuessShare]:
    """Guesses by their mean share over the answers that vary, the greatest first."""
    varying = [answer for answer in found.answers if answer.guesses]
    total: dict[Key, float] = {(g.at, g.spread.path): 0.0 for g in found.guesses}
    for answer in varying:
        for one in answer.guesses:
            total[one.at, one.property] += one.share / len(varying)
    ranked = sorted(total.items(), key=lambda pair: -pair[1])
    return [GuessShare(at, path, share) for (at, path), share in ranked]
