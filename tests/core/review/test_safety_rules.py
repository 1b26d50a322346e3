"""Rules of safety: each finds its faults at their place in the good plant, and keeps silent beside them."""

from __future__ import annotations

import pytest

from core.files.read import from_data
from core.review import Finding, review
from core.review.rules import RULES
from core.solve import solve_plant
from tests.core.review.safety_faults import FAULTS, FINE, Fault, Fine
from tests.plants.edits import props
from tests.plants.good_plants import whole_house


def found(origin: str, edit) -> list[Finding]:
    """What the rules of one origin say of the good plant with an edit; solved only where they read that."""
    data = whole_house()
    edit(data)
    plant = from_data(data)
    rules = [rule for rule in RULES if rule.origin == origin]
    assert rules, origin
    solved = any(rule.solved for rule in rules)
    solutions = solve_plant(plant, [case.name for case in plant.solve_cases]) if solved else ()
    return review(plant, solutions, rules)


@pytest.mark.parametrize("fault", FAULTS, ids=lambda fault: f"{fault.origin}: {fault.name}")
def test_each_fault_is_found_at_its_place(fault: Fault):
    there = [one for one in found(fault.origin, fault.edit) if fault.at == one.at[0]]
    assert [one.severity.value for one in there] == [fault.severity]


@pytest.mark.parametrize("fine", FINE, ids=lambda fine: f"{fine.origin}: {fine.name}")
def test_what_is_near_a_fault_is_none(fine: Fine):
    assert [(one.at, one.text) for one in found(fine.origin, fine.edit)] == []


@pytest.mark.parametrize(
    "origin", sorted({fault.origin for fault in FAULTS} - {fine.origin for fine in FINE})
)
def test_without_a_near_miss_of_its_own_the_good_plant_is_one(origin):
    assert [(one.at, one.text) for one in found(origin, lambda data: None)] == []


def test_every_rule_of_safety_says_whom_to_ask_and_where_it_stands():
    graves = {fault.origin for fault in FAULTS if fault.severity == "stop"}
    for rule in RULES:
        if rule.origin in graves:
            assert rule.ask, rule.id


@pytest.mark.parametrize(
    ("words", "bad"),
    [
        ("full size, falling to 4 in above the floor drain, air gap", False),
        ("full size from the valve to a common floor drain, not trapped, no threads", False),
        ("to the tundish, full size, air gap", False),
        ("to a trapped drain, air gap", False),
        ("ball valve at its end", True),
        ("capped", True),
        ("threaded end over the floor", True),
        ("rises 2 ft to the drain", True),
        ("into a common pipe with RV-9", True),
        ("to the sewer without an air gap", True),
        ("1/2 in to the floor", True),
        ("not piped", True),
    ],
)
def test_words_on_a_discharge_are_understood(words, bad):
    said = found("rv-discharge", lambda data: props(data, "RV-2", discharge=words))
    assert bool([one for one in said if one.severity.value == "stop"]) == bad
