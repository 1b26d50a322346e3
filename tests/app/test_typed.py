"""Values to field text and back."""

from __future__ import annotations

import json

import pytest

from core.errors import Refusal
from core.forms.rows import typical_text
from core.forms.typed import from_text, to_text
from core.vocabulary import KINDS, Property, to_si


def typical(prop: Property) -> object:
    try:
        return json.loads(prop.typical)
    except ValueError:
        return prop.typical


def readable(prop: Property) -> bool:
    """Some typical values are ranges in words."""
    try:
        to_si(prop, typical(prop))
    except Refusal:
        return False
    return True


PROPERTIES = {
    (prop.name, prop.typical): pytest.param(prop, id=f"{kind.name}.{prop.name}")
    for kind in KINDS.values()
    for prop in kind.properties.values()
    if prop.typical and readable(prop)
}
SIGNALS = KINDS["circulator"].properties["run_when"]


@pytest.mark.parametrize("prop", PROPERTIES.values())
def test_typical_values_survive_the_field(prop: Property) -> None:
    raw = typical(prop)
    assert from_text(prop, to_text(prop, raw)) == raw
    assert typical_text(prop, "us")


@pytest.mark.parametrize(
    ("text", "raw"),
    [
        ("AQ-1", "AQ-1"),
        ("AQ-1 or TH-2", {"any": ["AQ-1", "TH-2"]}),
        ("AQ-1 and TH-2 and SW-1", {"all": ["AQ-1", "TH-2", "SW-1"]}),
        ("AQ-1 or (TH-2 and not SW-1)", {"any": ["AQ-1", {"all": ["TH-2", {"not": "SW-1"}]}]}),
        ("not (A or B)", {"not": {"any": ["A", "B"]}}),
        ("always", True),
        ("never", False),
    ],
)
def test_signals_read_as_words(text: str, raw: object) -> None:
    assert from_text(SIGNALS, text) == raw
    assert to_text(SIGNALS, raw) == text


def test_signals_may_be_listed() -> None:
    assert from_text(SIGNALS, "any: A, B C") == {"any": ["A", "B", "C"]}


@pytest.mark.parametrize(
    "text", ["A or", "A B", "(A or B", "A or B and C", "or A", ")", "not", "(" * 40 + "A"]
)
def test_signals_that_make_no_sense_are_refused(text: str) -> None:
    with pytest.raises(Refusal):
        from_text(SIGNALS, text)


def test_an_empty_field_takes_the_value_away() -> None:
    assert from_text(SIGNALS, "  ") is None


def test_numbers_keep_their_kind() -> None:
    branches = KINDS["manifold"].properties["branches"]
    assert from_text(branches, "4") == 4
    assert isinstance(from_text(branches, "4"), int)
    assert from_text(KINDS["circulator"].properties["speed"], "1/2") == 0.5
