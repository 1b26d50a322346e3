"""Plain values as they stand in a file, checked: names, texts, numbers, quantities, lists, objects.

Every refusal names its place. Not for the types of the vocabulary (`readers`).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from functools import cache
from typing import Any

from core import units
from core.errors import Refusal, value_text
from core.vocabulary.guesses import Guess, GuessedNumber, check_within
from core.vocabulary.words import Lift

LONGEST_TEXT = 20_000
LONGEST_LABEL = 200
LONGEST_LIST = 1000
LONGEST_NUMBER = 30  # digits
NAME_RULE = "1 to 40 of A-Z a-z 0-9 _ . -"
_NAME_CHARACTERS = frozenset("ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789_.-")


def nearest(word: str, known: Iterable[str]) -> str:
    """Hint that names the nearest known word, empty where none is near."""
    if len(word) > 60:
        return ""
    folded = {name.lower(): name for name in known}
    import difflib  # slow to import, and only for what cannot be read

    near = difflib.get_close_matches(word.lower(), folded, n=1, cutoff=0.5)
    return f"The nearest is {folded[near[0]]}" if near else ""


def is_name(text: Any) -> bool:
    """Whether `text` may be an id."""
    return isinstance(text, str) and 1 <= len(text) <= 40 and _NAME_CHARACTERS.issuperset(text)


def read_name(raw: Any, path: str) -> str:
    """An id or name."""
    if not is_name(raw):
        raise Refusal(path, value_text(raw), f"a name of {NAME_RULE}")
    return str(raw)


def read_text(raw: Any, path: str, longest: int = LONGEST_TEXT) -> str:
    """Plain text up to a length."""
    if not isinstance(raw, str) or isinstance(raw, Guess):
        hint = "Write it between double quotes" if isinstance(raw, (int, float)) else ""
        raise Refusal(path, value_text(raw), f"text of at most {longest} characters", hint)
    if len(raw) > longest:
        raise Refusal(path, f"{len(raw)} characters", f"text of at most {longest} characters")
    if not raw.isascii() and any("\ud800" <= char <= "\udfff" for char in raw):
        raise Refusal(path, value_text(raw), "whole characters", "Half of a pair stands alone")
    return raw


def read_flag(raw: Any, path: str) -> bool:
    """A JSON true or false."""
    if not isinstance(raw, bool):
        hint = ""
        if isinstance(raw, str) and raw.lower() in ("true", "false", "yes", "no"):
            hint = "Write it without quotes"
        raise Refusal(path, value_text(raw), "true or false", hint)
    return raw


def read_number(
    raw: Any, path: str, low: float | None = None, high: float | None = None, whole: bool = False
) -> float:
    """A JSON number within a range, both ends taken."""
    expected = ("a whole number" if whole else "a number") + _range_words(low, high)
    if isinstance(raw, GuessedNumber):
        check_within(raw, "", path)
        path = f"{path}.guess"
    if isinstance(raw, bool) or not isinstance(raw, (int, float)):
        raise Refusal(path, value_text(raw), expected, _number_hint(raw))
    if not (math.isfinite(raw) if isinstance(raw, float) else abs(raw) < 10**LONGEST_NUMBER):
        raise Refusal(path, value_text(raw), expected)
    if whole and raw != int(raw):
        raise Refusal(path, value_text(raw), expected)
    if (low is not None and raw < low) or (high is not None and raw > high):
        raise Refusal(path, value_text(raw), expected, "Out of range")
    return int(raw) if whole else float(raw)


def _number_hint(raw: Any) -> str:
    if not isinstance(raw, str):
        return ""
    try:
        number = units.parse_number(raw)
    except Refusal as refusal:
        try:
            share, unit = units.split_quantity(raw)
        except Refusal:
            return refusal.hint
        return f"Write {share / 100.0:g}" if unit == "percent" else "It takes no unit"
    return f"Write {number:g} without quotes"


def _range_words(low: Any, high: Any) -> str:
    if low is not None and high is not None:
        return f" from {_bound_text(low)} to {_bound_text(high)}"
    if low is not None:
        return f" of at least {_bound_text(low)}"
    return f" of at most {_bound_text(high)}" if high is not None else ""


def _bound_text(bound: Any) -> str:
    return str(int(bound)) if isinstance(bound, float) and bound == int(bound) else str(bound)


def read_choice(raw: Any, choices: Sequence[str], path: str) -> str:
    """One word of a closed list."""
    if not isinstance(raw, str) or raw not in choices:
        hint = nearest(raw, choices) if isinstance(raw, str) else ""
        raise Refusal(path, value_text(raw), "one of " + ", ".join(choices), hint)
    return raw


@cache
def _bound(text: str, dimension: str) -> float:
    return units.parse(text, dimension)


def read_quantity(raw: Any, dimension: str, path: str, low: Any = None, high: Any = None) -> float:
    """Text with a unit, [SI], within a range given as texts."""
    if not isinstance(raw, str):
        raise Refusal(path, value_text(raw), units.expectation(dimension), quantity_hint(raw, dimension))
    if isinstance(raw, Guess):
        check_within(raw, dimension, path)
        path = f"{path}.guess"
    try:
        value = units.parse(raw, dimension)
    except Refusal as refusal:
        raise refusal.located(path) from None
    below = low is not None and value < _bound(low, dimension)
    if below or (high is not None and value > _bound(high, dimension)):
        expected = units.words(dimension) + _range_words(low, high)
        raise Refusal(path, value_text(raw), expected, "Out of range")
    return value


def quantity_hint(raw: Any, dimension: str) -> str:
    """What to write in place of a bare number."""
    if isinstance(raw, bool) or not isinstance(raw, (int, float)):
        return "Write a text with number and unit"
    if not math.isfinite(raw) or abs(raw) >= 10**12:
        return "Write it as text with its unit"
    return f'Write "{raw:g} {units.unit_for(dimension, "us")}" with its unit'


def read_lift(raw: Any, path: str) -> Lift:
    """A head or a pressure, never below 0."""
    if not isinstance(raw, str):
        raise Refusal(path, value_text(raw), units.expectation("lift"), quantity_hint(raw, "lift"))
    if isinstance(raw, Guess):
        check_within(raw, "lift", path)
        path = f"{path}.guess"
    try:
        lift = Lift(*units.parse_lift(raw))
    except Refusal as refusal:
        raise refusal.located(path) from None
    if not 0.0 <= lift.value <= (3000.0 if lift.is_head else 1e7):
        raise Refusal(
            path,
            value_text(raw),
            "a head from 0 to 3000 m_head, or a pressure from 0 to 10 MPa",
            "Out of range",
        )
    return lift


def read_object(
    raw: Any, path: str, known: Iterable[str], required: Iterable[str] = (), what: str = "key"
) -> Mapping[str, Any]:
    """An object of known keys only."""
    if not isinstance(raw, Mapping):
        raise Refusal(path, value_text(raw), "an object {…}")
    names = known if isinstance(known, (set, frozenset, dict)) else list(known)
    for key in raw:
        if key not in names:
            raise Refusal(
                under(path, key), f"{what} {value_text(key)}", _keys_words(names), nearest(key, names)
            )
    for key in required:
        if key not in raw:
            raise Refusal(under(path, key), "nothing", f"the {what} {key}", _given(raw))
    return raw


def _keys_words(names: Iterable[str]) -> str:
    words = ", ".join(names)
    return f"one of {words}" if words else "no keys here"


def _given(raw: Mapping[str, Any]) -> str:
    return "Given are " + ", ".join(raw) if raw and len(raw) < 12 else ""


def under(path: str, key: str) -> str:
    """Path of a key below another path."""
    shown = key if is_name(key) and "." not in key else f"[{value_text(key)}]"
    if not path:
        return shown
    return f"{path}{shown}" if shown.startswith("[") else f"{path}.{shown}"


def read_list(
    raw: Any, path: str, shortest: int = 0, longest: int = LONGEST_LIST, of: str = ""
) -> Sequence[Any]:
    """A list of bounded length."""
    what = f"a list of {of}" if of else "a list"
    if not isinstance(raw, (list, tuple)):
        raise Refusal(path, value_text(raw), what)
    if not shortest <= len(raw) <= longest:
        count = f"{shortest}" if shortest == longest else f"{shortest} to {longest}"
        raise Refusal(path, f"{len(raw)} entries", f"{what}, {count} of them")
    return raw
