"""What a finding says at a place, no note of the solver says there again."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

import core.solve
from core.files.read import from_data
from core.review import Finding, Found, review
from core.review.finding import Acceptance
from core.review.rules import BY_ID
from core.review.said_once import without_findings
from core.solve import solve_plant
from core.solve.solution import Note, Severity, Solution
from tests.plants.faults import FAULTS

TOLD_TWICE = ("call-runs-nothing", "idle-source-lets-water-by", "no-expansion-tank", "source-above-most-flow")


def noted(severity: Severity = Severity.NOTE) -> Solution:
    notes = (Note("P-1", "can never run", severity, "never-runs"), Note("P-1", "is noisy"))
    return Solution("", notes=notes)


def finding(rule: str, at: str, accepted: Acceptance | None = None) -> Finding:
    return Finding(BY_ID[rule], Found((at,), "text"), accepted)


def test_a_note_gives_way_to_the_finding_at_its_place():
    left = without_findings(noted(), [finding("never-runs", "P-1")])
    assert [note.text for note in left.notes] == ["is noisy"]


@pytest.mark.parametrize("other", [finding("never-runs", "P-2"), finding("no-curve", "P-1")])
def test_notes_of_another_place_or_matter_stay(other):
    solution = noted()
    assert without_findings(solution, [other]) is solution


@pytest.mark.parametrize(("severity", "left"), [(Severity.NOTE, 1), (Severity.DANGER, 2)])
def test_only_a_danger_is_noted_though_it_was_accepted(severity, left):
    accepted = finding("never-runs", "P-1", Acceptance("it is spare"))
    assert len(without_findings(noted(severity), [accepted]).notes) == left


@pytest.mark.parametrize("rule", TOLD_TWICE)
def test_solver_and_review_name_the_same_place(rule):
    plant = from_data(next(one for one in FAULTS if one.rule == rule).data())
    solutions = solve_plant(plant, [case.name for case in plant.solve_cases])
    findings = review(plant, solutions)
    before = [note for one in solutions for note in one.notes if note.rule == rule]
    after = [note for one in solutions for note in without_findings(one, findings).notes if note.rule == rule]
    assert before
    assert not after


def test_rules_that_notes_name_are_rules():
    folder = Path(core.solve.__file__).parent
    named = {
        name for file in folder.glob("*.py") for name in re.findall(r'rule="([a-z-]+)"', file.read_text())
    }
    assert named
    assert named <= BY_ID.keys()
