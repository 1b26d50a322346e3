"""Lengths as typed, added and split without losing the unit the user chose."""

from __future__ import annotations

from core import units
from core.vocabulary.guesses import Guess

_DECIMALS = {"ft": 2, "in": 1, "m": 2, "cm": 1, "mm": 0}


def added(first: str, second: str) -> str:
    """Sum of two lengths as text, in the unit of the first; with a guess in it the sum is one.

    Examples
    --------
    >>> added("6 ft", "3 1/2 ft"), added("2 m", "50 cm")
    ('9.5 ft', '2.5 m')
    """
    number, unit = units.split_quantity(first)
    other, other_unit = units.split_quantity(second)
    if other_unit != unit:
        other = units.to_unit(units.parse(second, "length"), unit)
    text = f"{number + other:.6g} {unit}"
    off = number * _within(first) + other * _within(second)
    return Guess(text, round(off / (number + other), 4)) if off else text


def split(length: str, share: float) -> tuple[str, str]:
    """A length as two texts, the first about `share` of it; together they are the whole.

    A guess is halved: where on the drawing it is cut says nothing of lengths that nobody measured.

    Examples
    --------
    >>> split("10 ft", 0.3333)
    ('3.33 ft', '6.67 ft')
    """
    number, unit = units.split_quantity(length)
    if isinstance(length, Guess):
        half = Guess(f"{number / 2:.6g} {unit}", length.within)
        return half, half
    part = min(round(number * share, _DECIMALS[unit]), number)
    return f"{part:.6g} {unit}", f"{number - part:.6g} {unit}"


def _within(length: str) -> float:
    """Share by which a length may be off; 0 for one that was typed."""
    return float(length.within) if isinstance(length, Guess) else 0.0
