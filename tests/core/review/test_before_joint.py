"""What must be settled before the next joint, by stage; what every paper says of accepted stops."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from core.commands import main
from core.files import read
from core.papers.accepted import accepted_blocks
from core.plant.changes import ReplaceItem, apply
from core.plant.model import Plant
from core.review import Finding, Found, Rule, Severity
from core.review.before_joint import IN_THE_PIPE, before_joint
from core.review.finding import Acceptance
from core.review.paper_lines import accepted_on_file
from core.review.punch_list import record
from core.review.rules import BY_ID
from tests.plants.edits import file_of

SAMPLES = Path(__file__).parents[3] / "sample_plants"


def found(rule: str, *at: str, severity: Severity = Severity.CONSIDER, insert: str = "") -> Finding:
    made = Rule(rule, "Title", severity, "why", "source", "Cure it.", lambda _study: iter(()), insert=insert)
    return Finding(made, Found(at, "Text."))


@pytest.fixture
def shed() -> Plant:
    """The pump dry-fitted between joined valves, all else still drawn."""
    plant = read.load(SAMPLES / "potting_shed.plant.json")
    for name, stage in (("P-1", "dry_fitted"), ("V-2", "joined"), ("V-3", "tested"), ("B-1", "bought")):
        plant = apply(plant, [ReplaceItem(replace(plant.items[name], stage=stage))])
    return plant


def test_stages_come_nearest_to_the_joint_first(shed: Plant):
    assert [one.stage for one in before_joint(shed, ())] == ["dry_fitted", "bought", "drawn", "joined"]
    dry, *_ = before_joint(shed, ())
    assert dry.parts == ("P-1",)


@pytest.mark.parametrize(
    ("finding", "settle"),
    [
        (found("some-stop", "P-1", severity=Severity.STOP), True),
        (found("no-strainer", "P-1", insert="strainer"), True),
        (found("inlet-not-straight", "P-1"), True),
        (found("no-curve", "P-1", severity=Severity.MEND), False),
    ],
)
def test_what_lies_in_the_pipe_is_settled_first_and_settings_can_wait(
    finding: Finding, settle: bool, shed: Plant
):
    dry, *_ = before_joint(shed, [finding])
    assert (dry.settle, dry.can_wait) == (((finding,), ()) if settle else ((), (finding,)))


def test_a_part_for_a_joined_valve_goes_into_its_pipe_that_is_not_joined_yet(shed: Plant):
    into_pipe = found("no-strainer", "V-2", insert="strainer")
    on_valve = found("check-twice", "V-2")
    by_stage = {one.stage: one.settle for one in before_joint(shed, [into_pipe, on_valve])}
    assert by_stage["drawn"] == (into_pipe,)
    assert by_stage["joined"] == (on_valve,)


def test_accepted_findings_ask_nothing_more(shed: Plant):
    done = replace(found("some-stop", "P-1", severity=Severity.STOP), accepted=Acceptance("seen", "", "me"))
    assert all(not one.settle and not one.can_wait for one in before_joint(shed, [done]))


def test_rules_named_there_are_rules():
    assert BY_ID.keys() >= IN_THE_PIPE


def test_papers_without_a_review_read_accepted_stops_from_the_file():
    stop = found("no-relief", "B-1", severity=Severity.STOP)
    mend = found("open-end", "V-2", severity=Severity.MEND)
    plant = Plant(
        accepted=(record(stop, "built in", "me", "the inspector", "2026-03-01"), record(mend, "a test tap"))
    )
    (one,) = accepted_on_file(plant)
    assert one.at == "B-1"
    assert "built in, by me, checked with the inspector, 2026-03-01." in one.words
    assert [block.text for block in accepted_blocks(plant)][1] == f"B-1: {one.words}"
    assert list(accepted_blocks(Plant())) == []


def test_the_command_lists_by_stage(capsys: pytest.CaptureFixture[str]):
    assert main(["review", str(file_of("two_heater_clinic")), "--by-stage"]) in (0, 1)
    out = capsys.readouterr().out
    assert "Still to buy (302 parts)" in out
    assert out.index("Settle first") < out.index("Can wait")
    assert all(len(line) <= 110 for line in out.splitlines())
