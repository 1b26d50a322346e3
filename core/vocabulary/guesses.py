"""Values typed as guesses: used like the text or number, but remembered with how far off they may be.

In a file a guess is ``{"guess": "6 ft", "within": 0.3}``: uniform within that share of the value either way;
for a temperature `within` is a difference such as "3 K". Not for what rests on guesses.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any, NamedTuple

from core import units
from core.errors import Refusal, value_text
from core.unit_table import UNITS

GUESSABLE = frozenset(
    {
        *("quantity", "lift", "target", "number", "flag_or_quantity", "points", "table"),
        *("rated", "heights", "number_list", "loops", "surfaces", "tube"),
    }
)
"""Types of properties that are or hold quantities or numbers."""
_KEYS = ("guess", "within")


class Guess(str):
    """A guessed quantity: the text itself, so that it is read like one; never equal to a text that was meant.

    `within` stands as typed.
    """

    __slots__ = ("within",)

    def __new__(cls, text: str, within: Any) -> Guess:
        made = super().__new__(cls, text)
        made.within = within
        return made

    within: Any

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Guess) and str.__eq__(self, other) and self.within == other.within

    def __ne__(self, other: object) -> bool:
        return not self == other

    def __hash__(self) -> int:
        return hash((str(self), str(self.within)))

    def __reduce__(self) -> tuple[Any, ...]:
        return (Guess, (str(self), self.within))

    def as_data(self) -> dict[str, Any]:
        """As it stands in a file."""
        return {"guess": str(self), "within": self.within}


class GuessedNumber(float):
    """A guessed number, with the number as typed; never equal to one that was meant."""

    __slots__ = ("typed", "within")

    def __new__(cls, number: float, within: Any) -> GuessedNumber:
        made = super().__new__(cls, number)
        made.typed, made.within = number, within
        return made

    typed: float
    within: Any

    def __eq__(self, other: object) -> bool:
        return isinstance(other, GuessedNumber) and (self.typed, self.within) == (other.typed, other.within)

    def __ne__(self, other: object) -> bool:
        return not self == other

    def __hash__(self) -> int:
        return hash((self.typed, str(self.within)))

    def __reduce__(self) -> tuple[Any, ...]:
        return (GuessedNumber, (self.typed, self.within))

    def as_data(self) -> dict[str, Any]:
        """As it stands in a file."""
        return {"guess": self.typed, "within": self.within}


Guessed = Guess | GuessedNumber


def read_guesses(raw: Any, path: str) -> Any:
    """JSON data with its guesses, at whatever depth, as `Guess` and `GuessedNumber`.

    Raises
    ------
    Refusal
        A guess with a key too many, or without its `within`
    """
    if isinstance(raw, Mapping):
        if "guess" in raw:
            return _guess(raw, path)
        return {key: read_guesses(value, f"{path}.{key}") for key, value in raw.items()}
    if isinstance(raw, (list, tuple)):
        return [read_guesses(value, f"{path}[{number}]") for number, value in enumerate(raw)]
    return raw


def _guess(raw: Mapping[str, Any], path: str) -> Guessed:
    for key in raw:
        if key not in _KEYS:
            raise Refusal(f"{path}.{key}", f"key {value_text(key)}", "guess and within")
    if "within" not in raw:
        raise Refusal(f"{path}.within", "nothing", "how far off it may be, such as 0.3")
    value, within = raw["guess"], raw["within"]
    if isinstance(value, str):
        return Guess(value, within)
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        return GuessedNumber(value, within)
    raise Refusal(f"{path}.guess", value_text(value), "a quantity or a number")


def plain_data(value: Any) -> Any:
    """A value as it stands in a file, guesses as objects."""
    if isinstance(value, (Guess, GuessedNumber)):
        return value.as_data()
    if isinstance(value, Mapping):
        return {key: plain_data(one) for key, one in value.items()}
    if isinstance(value, (list, tuple)):
        return [plain_data(one) for one in value]
    return value


def check_within(guess: Guessed, dimension: str, path: str) -> None:
    """Refuse a guess whose `within` is not what its dimension takes; `path` is that of the guess."""
    within, place = guess.within, f"{path}.within"
    if dimension == "temperature":
        expected = 'a difference of temperature from 0 to 200 K such as "3 K"'
        if not isinstance(within, str):
            raise Refusal(place, value_text(within), expected)
        try:
            apart = units.parse(within, "temperature_difference")
        except Refusal as refusal:
            raise refusal.located(place) from None
        if not 0.0 <= apart <= 200.0:
            raise Refusal(place, value_text(within), expected, "Out of range")
    elif isinstance(within, bool) or not isinstance(within, (int, float)) or not 0.0 <= within <= 1.0:
        raise Refusal(place, value_text(within), "a share of the value, a number from 0 to 1")


class Spread(NamedTuple):
    """A guess in SI: its place inside what holds it, dimension ("" for a number), value, least, greatest."""

    path: str
    dimension: str
    value: float
    low: float
    high: float


def guesses_in(raw: Any, path: str = "") -> Iterator[tuple[str, Guessed]]:
    """Guesses inside a raw value, each with its place, such as ``curve[0][1]``."""
    if isinstance(raw, (Guess, GuessedNumber)):
        yield path, raw
    elif isinstance(raw, Mapping):
        for key, value in raw.items():
            yield from guesses_in(value, f"{path}.{key}" if path else str(key))
    elif isinstance(raw, Sequence) and not isinstance(raw, str):
        for number, value in enumerate(raw):
            yield from guesses_in(value, f"{path}[{number}]")


def spread_of(path: str, guess: Guessed) -> Spread:
    """A guess that was found valid, in SI.

    Examples
    --------
    >>> spread_of("length", Guess("2 m", 0.25))
    Spread(path='length', dimension='length', value=2.0, low=1.5, high=2.5)
    """
    if isinstance(guess, GuessedNumber):
        value, dimension = float(guess), ""
    else:
        dimension = UNITS[units.split_quantity(guess)[1]].dimension
        value = units.parse(guess, dimension)
    if isinstance(guess.within, str):
        off = units.parse(guess.within, "temperature_difference")
    else:
        off = abs(value) * float(guess.within)
    return Spread(path, dimension, value, value - off, value + off)
