"""Which values of a plant are guesses, so that what rests on them can say so."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from core.plant.model import Item, Pipe, Plant
from core.vocabulary.guesses import Spread, guesses_in, spread_of

PIPE_GUESSES = ("tube", "length", "k", "straight", "insulation", "around")
SITE = "site"


class PlantGuess(NamedTuple):
    """One guess: the id of its item or pipe, or "site", and its value with place and range in SI."""

    at: str
    spread: Spread


def guesses_of(part: Item | Pipe) -> tuple[Spread, ...]:
    """Guesses among the properties of an item or the values of a pipe."""
    raw = part.props if isinstance(part, Item) else {key: getattr(part, key) for key in PIPE_GUESSES}
    return tuple(spread_of(path, guess) for path, guess in guesses_in(raw))


def plant_guesses(plant: Plant) -> tuple[PlantGuess, ...]:
    """All guesses of a plant, in the order of its file."""
    return tuple(_found(plant))


def _found(plant: Plant) -> Iterator[PlantGuess]:
    for path, guess in guesses_in(plant.site):
        yield PlantGuess(SITE, spread_of(path, guess))
    parts: list[Item | Pipe] = [*plant.items.values(), *plant.pipes.values()]
    yield from (PlantGuess(part.id, spread) for part in parts for spread in guesses_of(part))
