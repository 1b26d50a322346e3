"""What a step asks for: numbers with a first guess in each units, read as the trade spells them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

from core import units
from core.errors import Refusal
from core.plant.model import Plant
from core.vocabulary.spellings import ask_of_comma, quantity


class Wish(NamedTuple):
    """One thing asked for. `first` is what stands in it at first, in US and in SI units.

    `dimension` is empty for a name or a choice; one that is `open` may stay empty. `choices` are keys, each
    with its words.
    """

    key: str
    label: str
    dimension: str = ""
    first: tuple[str, str] = ("", "")
    hint: str = ""
    choices: tuple[tuple[str, str], ...] = ()
    open: bool = False
    bare: tuple[str, str] = ("", "")

    def begin(self, plant: Plant) -> str:
        """The first guess, in the plant's units."""
        return self.first[plant.units == "si"]


@dataclass(frozen=True)
class Answers:
    """What was answered: texts as a file spells them, and rows of such."""

    texts: Mapping[str, str] = field(default_factory=dict)
    rows: Sequence[Mapping[str, str]] = ()

    def __getitem__(self, key: str) -> str:
        return self.texts.get(key, "")

    def si(self, key: str, dimension: str) -> float:
        """An answer as a number in base SI; 0 where it is left empty."""
        return units.parse(self[key], dimension) if self[key] else 0.0


def answer(wish: Wish, text: str, plant: Plant) -> str:
    """What is written into the plant for a text as typed.

    Raises
    ------
    Refusal
        What cannot be read, or is left empty and must not be
    """
    plain = " ".join(text.split())
    if not plain:
        if wish.open:
            return ""
        raise Refusal("", "nothing", f"{wish.label.lower()}, such as {wish.begin(plant) or 'a name'}")
    if wish.choices:
        return next(key for key, words in wish.choices if plain in (key, words))
    if not wish.dimension:
        return plain[:60]
    system = "si" if plant.units == "si" else "us"
    ask_of_comma(plain, system)
    read = quantity(plain, wish.dimension, system=system, bare=wish.bare[system == "si"])
    value = units.parse(read, wish.dimension)
    if wish.dimension != "temperature" and not value > 0.0:
        raise Refusal("", f'"{plain}"', f"{wish.label.lower()} over 0, such as {wish.begin(plant)}")
    return read
