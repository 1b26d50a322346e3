"""Lengths added and split: what was a guess stays one."""

from __future__ import annotations

import pytest

from core import units
from core.plant import lengths
from core.vocabulary.guesses import Guess


def _spread(length: str) -> float:
    """How far a length may be off [m]."""
    within = float(length.within) if isinstance(length, Guess) else 0.0
    return units.parse(str(length), "length") * within


def test_a_guess_is_halved_wherever_the_drawing_is_cut() -> None:
    whole = Guess("6 ft", 0.5)
    assert lengths.split(whole, 0.1) == (Guess("3 ft", 0.5), Guess("3 ft", 0.5))
    assert lengths.split("6 ft", 0.1) == ("0.6 ft", "5.4 ft")


@pytest.mark.parametrize("parts", [(Guess("6 ft", 0.5), "4 ft"), ("4 ft", Guess("1 m", 0.3))])
def test_a_sum_with_a_guess_is_off_by_as_much_as_its_parts(parts: tuple[str, str]) -> None:
    both = lengths.added(*parts)
    assert isinstance(both, Guess)
    assert _spread(both) == pytest.approx(sum(map(_spread, parts)), rel=1e-3)


def test_typed_lengths_add_to_a_typed_length() -> None:
    assert not isinstance(lengths.added("6 ft", "4 ft"), Guess)
