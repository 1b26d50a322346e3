"""The bar of the limits: against the figures and verdicts of the options."""

from __future__ import annotations

import pytest

from core.files.read import load
from core.sizing.everything import size
from core.sizing.table import bars
from tests.plants.edits import file_of

FILE = file_of("two_heater_clinic")


@pytest.fixture(scope="module")
def tubes():
    shed = load(file_of("potting_shed"))
    return [one for one in size(shed) if one.what == "tube"]


def test_a_size_that_keeps_its_limits_stands_left_of_them_and_one_that_breaks_one_right_of_it(tubes):
    assert tubes
    for sized in tubes:
        _, found = bars(sized, "us")
        names = {mark.name for bar in found for mark in bar.marks}
        for option in sized.options:
            if option.name not in names:
                continue
            over = any(mark.share > 1.0 for bar in found for mark in bar.marks if mark.name == option.name)
            if over:
                assert not option.serves
            elif not option.serves:
                # what else can rule a size out: the usual least of potable runs
                assert "usual least" in option.verdict


def test_the_line_names_the_size_and_each_figure_with_its_limit():
    sized = next(one for one in size(load(FILE), ["L-1"]) if one.what == "tube")
    line, found = bars(sized, "us")
    assert line == "1 in Type L copper keeps its limits."
    assert found[0].words == "1.8 ft/s of 3.0 ft/s"
    assert [bar.title for bar in found] == ["velocity", "loss"]
    chosen = [mark for mark in found[0].marks if mark.chosen]
    assert [mark.name for mark in chosen] == ["1 in Type L copper"]
    assert chosen[0].share == pytest.approx(sized.options[1].figures["velocity_m_s"] / 0.9144, rel=1e-3)
    assert "ft/100 ft" in found[1].words
    assert "Pa/m" in bars(sized, "si")[1][1].words


def test_what_has_no_limits_has_no_bar():
    shed = load(file_of("potting_shed"))
    other = next(one for one in size(shed, ["P-1"]) if one.what == "circulator")
    assert bars(other, "us") == ("", ())
