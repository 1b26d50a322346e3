"""Expressions of signals said in words, which the fields read back."""

import pytest

from core.controls.words import plain, said
from core.forms import typed
from core.vocabulary import KINDS

RUN_WHEN = KINDS["circulator"].properties["run_when"]
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
    assert typed.from_text(RUN_WHEN, said(each)) == each


def test_which_expressions_are_names_joined_in_one_way():
    assert plain({"any": ["A", "B"]}) == ("A", "B")
    assert plain(["A"]) == ("A",)
    assert plain({"any": ["A", {"not": "B"}]}) is None
    assert plain({"all": ["A", "B"]}) is None
    assert plain({"all": ["A", "B"]}, "all") == ("A", "B")
    assert plain(None) is None
