"""Expressions of signals said in words and read back from them."""

import pytest

from core.calls.words import expression, plain_any, said
from core.errors import Refusal

EXPRESSIONS = [
    "A",
    False,
    {"any": ["A", "B"]},
    {"all": ["A", {"not": "B"}]},
    {"not": {"any": ["A", "B"]}},
    {"any": [{"all": ["A", "B"]}, {"not": {"all": ["C", {"any": ["D", "E"]}]}}]},
]


@pytest.mark.parametrize("each", EXPRESSIONS, ids=said)
def test_words_read_back_as_the_same_expression(each):
    assert expression(said(each)) == each


@pytest.mark.parametrize(
    ("text", "meaning"),
    [
        ("TH-1, TH-2", {"any": ["TH-1", "TH-2"]}),
        ("ANY OF TH-1,TH-2", {"any": ["TH-1", "TH-2"]}),
        ("not not A", {"not": {"not": "A"}}),
        ("always", None),
        ("  ", None),
        ("never", False),
    ],
)
def test_what_a_person_may_type(text, meaning):
    assert expression(text) == meaning


@pytest.mark.parametrize("text", ["A,", "any of", "(A", "A B", "A) B", "not", "A & B", ", A"])
def test_what_cannot_be_read_is_refused_in_words(text):
    with pytest.raises(Refusal, match="signals such as any of"):
        expression(text)


def test_which_expressions_a_click_can_change():
    assert plain_any({"any": ["A", "B"]}) == ("A", "B")
    assert plain_any(["A"]) == ("A",)
    assert plain_any({"any": ["A", {"not": "B"}]}) is None
    assert plain_any({"all": ["A", "B"]}) is None
    assert plain_any(None) is None
