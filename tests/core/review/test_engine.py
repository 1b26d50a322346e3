"""The engine of the review: one finding a rule and place, the gravest first; when acceptance lapses."""

from __future__ import annotations

from dataclasses import replace

import pytest

from core.plant.model import Plant
from core.review import Figure, Finding, Found, Rule, Severity, review
from core.review.punch_list import record
from core.review.rules import BY_ID, RULES
from tests.support.printed import foreign_units


def a_rule(*found: Found, severity: Severity = Severity.MEND, name: str = "a-rule") -> Rule:
    return Rule(
        name, "A rule", severity, "why", "common practice, no source", "cure", lambda _study: iter(found)
    )


def found_by(plant: Plant, *rules: Rule) -> list[Finding]:
    return review(plant, (), rules)


def test_one_finding_a_place_keeps_the_case_in_which_it_is_worst():
    cold = Found(("B-1",), "48", (Figure("return_c", 48.0, -1),), case="mild")
    colder = Found(("B-1",), "31", (Figure("return_c", 31.0, -1),), case="night")
    for order in ((cold, colder), (colder, cold)):
        (one,) = found_by(Plant(), a_rule(*order))
        assert one.text == "31"
        assert one.found.case == "night"


def test_the_gravest_come_first():
    mend, stop = a_rule(Found(("A",), "a")), a_rule(Found(("B",), "b"), severity=Severity.STOP, name="b-rule")
    assert [f.at for f in found_by(Plant(), mend, stop)] == [("B",), ("A",)]


@pytest.mark.parametrize(("now", "open_again"), [(41.0, False), (38.1, False), (37.9, True)])
def test_an_acceptance_lapses_when_its_figure_worsens_by_a_twentieth(now, open_again):
    (was,) = found_by(Plant(), a_rule(Found(("B-1",), "x", (Figure("return_c", 40.0, -1),))))
    plant = Plant(accepted=(record(was, "seen"),))
    (one,) = found_by(plant, a_rule(Found(("B-1",), "x", (Figure("return_c", now, -1),))))
    assert (one.accepted is None) == open_again
    assert bool(one.reopened) == open_again


def test_an_acceptance_lapses_when_it_names_other_things():
    (was,) = found_by(Plant(), a_rule(Found(("B-1", "V-1"), "x")))
    plant = Plant(accepted=(record(was, "seen"),))
    (one,) = found_by(plant, a_rule(Found(("B-1", "V-2"), "x")))
    assert one.accepted is None


def test_a_stop_is_accepted_only_checked_with_somebody():
    (one,) = found_by(Plant(), a_rule(Found(("B-1",), "x"), severity=Severity.STOP))
    with pytest.raises(ValueError, match="checked"):
        record(one, "seen")
    unchecked = {**record(one, "seen", checked_with="inspector"), "checked_with": ""}
    (still,) = found_by(Plant(accepted=(unchecked,)), a_rule(one.found, severity=Severity.STOP))
    assert still.accepted is None
    (fine,) = found_by(Plant(accepted=(record(one, "seen", checked_with="the inspector"),)), one.rule)
    assert fine.accepted is not None


def test_rules_are_told_apart_and_full():
    assert len(BY_ID) == len(RULES)
    for rule in RULES:
        assert rule.title
        assert rule.reason.endswith(".")
        assert rule.cure.endswith(".")
        assert rule.source
        assert rule.find.__doc__
        assert replace(rule) == rule


@pytest.mark.parametrize("system", ["si", "us"])
def test_words_of_rules_keep_to_the_units_of_the_plant(system):
    foreign = {}
    for rule in RULES:
        said = rule.in_units(system)
        found = foreign_units(" ".join((said.reason, said.cure, said.ask)), system)
        if found or "|" in said.reason + said.cure + said.ask:
            foreign[rule.id] = found
    assert foreign == {}
