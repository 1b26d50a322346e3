"""Plants with their guesses put otherwise: where a guess stands, and a spread of values for all of them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np
import numpy.typing as npt

from core import units
from core.errors import Refusal
from core.plant.guesses import PIPE_GUESSES, SITE, PlantGuess
from core.plant.model import Item, Pipe, Plant
from core.vocabulary.guesses import Guess, Guessed, guesses_in

Array = npt.NDArray[np.float64]
SEED = 20011
HALVINGS = 8  # of the way to a value that its range does not take


def latin_hypercube(guesses: Sequence[PlantGuess], count: int, seed: int = SEED) -> Array:
    """Values for every guess: each span in `count` equal parts, one value in each, in an order of its own.

    Parameters
    ----------
    guesses : sequence of PlantGuess
    count, seed : int

    Returns
    -------
    ndarray, shape (count, n guesses)
        [SI]; the same for the same seed

    Notes
    -----
    The orders are those of random scores that were made uncorrelated, so that no two guesses go together by
    chance. Source: McKay, Beckman and Conover, Technometrics 21 (1979) 239; Iman and Conover, Communications
    in Statistics B11 (1982) 311.
    """
    rng = np.random.default_rng(seed)
    n = len(guesses)
    if not n or not count:
        return np.zeros((count, n))
    scores = rng.standard_normal((count, n))
    if count > n + 1:
        scores -= scores.mean(axis=0)
        correlation = scores.T @ scores / count
        scores = scores @ np.linalg.inv(np.linalg.cholesky(correlation)).T
    ranks = scores.argsort(axis=0).argsort(axis=0)
    shares = (ranks + rng.random((count, n))) / count
    low = np.array([guess.spread.low for guess in guesses])
    high = np.array([guess.spread.high for guess in guesses])
    return np.asarray(low + shares * (high - low))


class Guessing:
    """The guesses of a plant, and the plant with others in their place.

    Parameters
    ----------
    plant : Plant
    guesses : sequence of PlantGuess
        Those to be put otherwise
    """

    def __init__(self, plant: Plant, guesses: Sequence[PlantGuess]) -> None:
        self.plant = plant
        self.guesses = list(guesses)
        self.typed = [self._typed(guess) for guess in self.guesses]

    def _typed(self, guess: PlantGuess) -> Guessed:
        raw = self._raw(guess.at)
        return next(found for path, found in guesses_in(raw) if path == guess.spread.path)

    def _raw(self, at: str) -> Mapping[str, Any]:
        if at == SITE:
            return self.plant.site
        if at in self.plant.items:
            return self.plant.items[at].props
        pipe = self.plant.pipes[at]
        return {key: getattr(pipe, key) for key in PIPE_GUESSES}

    def put(self, values: Array) -> tuple[Plant, Array]:
        """The plant with values [SI] for its guesses, and those it took: one beyond a range is brought nearer
        to what is typed."""
        items, pipes = dict(self.plant.items), dict(self.plant.pipes)
        site: Mapping[str, Any] = self.plant.site
        taken = values.copy()
        for k, (guess, typed) in enumerate(zip(self.guesses, self.typed, strict=True)):
            value, path = float(values[k]), guess.spread.path
            for _ in range(HALVINGS):
                try:
                    text = _text(typed, value)
                    if guess.at == SITE:
                        site = _put(site, path, text)
                    elif guess.at in items:
                        items[guess.at] = _item(items[guess.at], path, text)
                    else:
                        pipes[guess.at] = _pipe(pipes[guess.at], path, text)
                    break
                except Refusal:
                    value = 0.5 * (value + guess.spread.value)
            taken[k] = value
        return replace(self.plant, items=items, pipes=pipes, site=site), taken


def _text(typed: Guessed, value: float) -> str | float:
    if not isinstance(typed, Guess):
        return value
    unit = units.split_quantity(typed)[1]
    return f"{units.to_unit(value, unit)!r} {unit}"


def _item(item: Item, path: str, text: str | float) -> Item:
    changed = replace(item, props=_put(item.props, path, text))
    _ = changed.si  # refuses a value out of its range
    return changed


def _pipe(pipe: Pipe, path: str, text: str | float) -> Pipe:
    name = path.split(".")[0].split("[")[0]
    changed = replace(pipe, **{name: _put({name: getattr(pipe, name)}, path, text)[name]})
    _ = changed.si
    return changed


def _put(raw: Any, path: str, value: Any) -> Any:
    """Data with a value at a path such as ``curve[0][1]`` or ``tube.bore``."""
    keys = path.replace("[", ".[").split(".")
    return _put_at(raw, [key for key in keys if key], value)


def _put_at(raw: Any, keys: list[str], value: Any) -> Any:
    if not keys:
        return value
    key, rest = keys[0], keys[1:]
    if key.startswith("["):
        number = int(key[1:-1])
        return [_put_at(one, rest, value) if n == number else one for n, one in enumerate(raw)]
    return {name: _put_at(one, rest, value) if name == key else one for name, one in raw.items()}
