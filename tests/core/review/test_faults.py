"""Single faults put into good plants are each found by the right rule at the right place; near misses not.

The good plants raise no stop, and at the place of a fault not the finding that the fault brings.
"""

from __future__ import annotations

from functools import cache
from typing import Any

import pytest

from core.files.read import from_data
from core.review import Finding, Rule, Severity, review
from core.review.rules import BY_ID, RULES
from core.solve import solve_plant
from core.solve.solution import Solution
from tests.plants.fault_edits import PLANTS, Fault
from tests.plants.faults import FAULTS
from tests.plants.near_misses import NEAR_MISSES

NO_STOP = ("house", "tees", "tanks")

# The list of rules that outside checks know: S stop, E at least mend, W and I at least consider.
ORIGINS = {
    "E": """
        check-parallel-pumps tees-too-far air-vent-negative circ-horizontal circ-direction dead-head
        source-min-flow source-max-dt ondemand-recirc noncond-return cold-start-mass reset-vs-dhw recirc-check
        hx-counterflow hx-pump-both
    """,
    "W": """
        check-spring-not-swing ghost-both-legs thermosiphon-tank sep-double sep-flow-order series-loads-temp
        air-sep-place air-high-point purge-points iso-both-sides hx-flush strainer-hx circ-series-conflict
        ondemand-flow-restrict parallel-sources source-off-flow zone-balance buffer-short-cycle
        aquastat-vs-dt dtpump-endcharge dtpump-minflow dhw-priority-limit recirc-balance recirc-sizing
        tank-ports tank-series-parallel tank-sensor hx-approach zone-valve-direction
    """,
    "I": """
        tees-straight drain-low-point dirt-sep-source circ-straight circ-check-distance circ-not-lowest
        reverse-return-false dtpump-emitter wait-time insulation dielectric
    """,
}


def found(data: dict[str, Any], rules: tuple[Rule, ...], solved: bool) -> list[Finding]:
    plant = from_data(data)
    solutions: list[Solution] = []
    if solved:
        solutions = solve_plant(plant, [case.name for case in plant.solve_cases])
    return review(plant, solutions, rules)


@cache
def in_good_plant(name: str) -> tuple[Finding, ...]:
    return tuple(found(PLANTS[name](), RULES, True))


def named(fault: Fault) -> str:
    return f"{fault.rule} at {fault.at} in {fault.plant}: {fault.what}"


@pytest.mark.parametrize("fault", FAULTS, ids=named)
def test_a_fault_is_found_by_its_rule_at_its_place(fault: Fault):
    assert not any(one.rule.id == fault.rule and fault.at in one.at for one in in_good_plant(fault.plant))
    rule = BY_ID[fault.rule]
    hits = [one for one in found(fault.data(), (rule,), fault.needs_cases) if fault.at in one.at]
    assert hits
    assert all(one.found.text and one.cure for one in hits)


@pytest.mark.parametrize("near", NEAR_MISSES, ids=named)
def test_a_near_miss_is_not_found(near: Fault):
    hits = found(near.data(), (BY_ID[near.rule],), near.needs_cases)
    assert not [one.text for one in hits if near.at in one.at and not one.found.guess]


@pytest.mark.parametrize("name", NO_STOP)
def test_a_good_plant_raises_no_stop(name: str):
    assert [one.text for one in in_good_plant(name) if one.severity is Severity.STOP] == []


def test_there_are_enough_faults_and_no_two_alike():
    assert len({(one.plant, one.rule, one.at, one.what) for one in FAULTS}) == len(FAULTS) >= 150


@pytest.mark.parametrize(("letter", "ids"), ORIGINS.items())
def test_every_known_rule_is_there_and_grave_enough(letter: str, ids: str):
    least = {"E": Severity.MEND}.get(letter, Severity.CONSIDER)
    for origin in ids.split():
        rules = [rule for rule in RULES if rule.origin == origin]
        assert rules, origin
        assert all(rule.severity.rank <= least.rank for rule in rules), origin


def test_a_rule_that_rests_on_a_guessed_length_only_asks():
    (fault,) = (one for one in FAULTS if one.rule == "tees-too-far-apart" and "guess" in one.what)
    (hit,) = found(fault.data(), (BY_ID[fault.rule],), False)
    assert hit.found.guess
    assert hit.severity is Severity.CONSIDER
