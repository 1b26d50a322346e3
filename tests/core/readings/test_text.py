"""Readings as text: taken once, refused at the line that is wrong."""

from __future__ import annotations

import pytest

from core.errors import Refusal
from core.plant.changes import apply
from core.readings.text import from_csv, taken
from tests.core.readings.test_fit import PLANT

HEAD = "date,case,at,what,value,error\n"
LINE = "2026-03-01,night,boiler-out,temperature,69 degC,0.5 K\n"


def test_the_same_text_taken_twice_adds_nothing():
    once = apply(PLANT, [taken(PLANT, from_csv(HEAD + LINE))])
    assert [raw["value"] for raw in once.readings] == ["69 degC"]
    assert apply(once, [taken(once, from_csv(HEAD + LINE))]).readings == once.readings


@pytest.mark.parametrize(
    ("text", "place"),
    [
        ("", "line 1"),
        ("date,where,value\n", "line 1"),
        ("date,case\n", "line 1"),
        (HEAD + "2026-03-01,night,,temperature,69 degC,\n", "line 2"),
        (HEAD + LINE + "2026-03-01,night,boiler-out,temperature,69,\n", "line 3"),
    ],
)
def test_what_is_wrong_is_refused_at_its_line(text, place):
    with pytest.raises(Refusal) as refused:
        from_csv(text)
    assert refused.value.path.startswith(place)


def test_a_place_that_is_not_there_is_refused():
    with pytest.raises(Refusal):
        taken(PLANT, from_csv(HEAD + LINE.replace("boiler-out", "nowhere")))
