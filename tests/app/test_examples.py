"""Examples in the other system of units: round, and about the same."""

from __future__ import annotations

import pytest

from core import units
from core.errors import Refusal
from core.forms.rows import _placeholder
from core.vocabulary import KINDS
from core.vocabulary.examples import SI, US

WITHIN, DEGREES = 0.15, 3.0


def value(text: str) -> tuple[float, str]:
    """In base SI, and the dimension that it has."""
    for dimension in units.DIMENSIONS:
        try:
            return units.parse(text, dimension), dimension
        except Refusal:
            continue
    raise AssertionError(text)


PAIRS = [pair for pair in (*SI.items(), *US.items()) if not pair[0].endswith("ft_head")]  # by the fluid


@pytest.mark.parametrize(("one", "other"), PAIRS)
def test_an_example_in_the_other_system_is_about_the_same(one: str, other: str) -> None:
    first, dimension = value(one)
    second = units.parse(other, dimension)
    within = DEGREES if dimension == "temperature" else WITHIN * first
    assert second == pytest.approx(first, abs=within)


def test_no_field_shows_a_converted_figure_as_an_example() -> None:
    for kind in KINDS.values():
        for prop in kind.properties.values():
            if prop.default is not None or prop.dimension is None or prop.name == "uses":
                continue
            for system in ("us", "si"):
                said = _placeholder(prop, system)
                digits = said.removeprefix("e.g. ").split(" ")[0].replace(",", "").replace(".", "").strip("0")
                assert len(digits) <= 3, f"{kind.name} {prop.name}: {said}"
