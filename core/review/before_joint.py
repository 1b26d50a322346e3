"""What must be settled before the next joint is made, and what can wait: the punch list by stage of the work.

A part in the pipe, a straight length, a union or a drain that is missing costs one fitting today and a cut
pipe once it is soldered; a setting can be changed any day. Common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from core.plant.model import Plant
from core.review.finding import Finding, Severity

NEXT = ("dry_fitted", "bought", "drawn")
"""Stages at which nothing is joined yet, the nearest to the joint first."""
DONE = ("joined", "tested", "existing")
HEADS = {
    "dry_fitted": "Dry-fitted, to join next",
    "bought": "Bought, to fit",
    "drawn": "Still to buy",
    "joined": "Joined already: a cure now means cutting a joint",
}
# Rules whose cure lies in the pipe though it is no part that can be inserted by itself.
IN_THE_PIPE = frozenset(
    {
        # which way a part lies, and between which others
        *("open-end", "outlet-without-water", "against-the-arrow", "source-backward", "pushed-backward"),
        *("check-twice", "exchanger-in-parallel-flow", "every-way-shut", "circulators-in-series"),
        *("reverse-return-does-not-balance", "sources-share-unevenly", "tanks-share-unevenly"),
        *("parted-twice", "separator-dilutes", "make-up-away-from-tank", "make-up-unreduced"),
        *("expansion-not-at-suction", "two-expansion-tanks", "drinking-water-tank-placed-wrong"),
        *("air-separator-in-the-wrong-place", "tank-taps-at-the-wrong-height", "sensor-too-high"),
        # straight lengths, heights, how it lies
        *("check-in-stirred-water", "inlet-not-straight", "tees-in-stirred-water", "tees-too-far-apart"),
        *("shaft-not-horizontal", "circulator-lowest-or-highest", "return-without-trap"),
        # tube, unions, drains, vents and ports that cannot be added later
        *("water-too-fast", "copper-meets-steel", "no-union-at-circulator", "no-flushing-ports"),
        *("tube-lets-oxygen-in", "melt-loops-too-long", "melt-loop-not-apart"),
        *("high-point-without-vent", "low-point-without-drain", "no-thermometer-behind-mixing-valve"),
    }
)


@dataclass(frozen=True)
class BeforeJoint:
    """One stage.

    Attributes
    ----------
    stage : str
        One of `NEXT`, or "joined" for all that is joined, tested or was there
    parts : tuple of str
        Items and pipes at that stage
    settle : tuple of Finding
        To be settled before any of them is joined
    can_wait : tuple of Finding
        Settings, ratings, records: as well later
    """

    stage: str
    parts: tuple[str, ...]
    settle: tuple[Finding, ...]
    can_wait: tuple[Finding, ...]


def before_joint(plant: Plant, findings: Sequence[Finding]) -> list[BeforeJoint]:
    """The open findings by stage, the stage nearest to its joint first; stages without parts are left out."""
    stages = {item.id: item.stage for item in plant.items.values()}
    stages |= {pipe.id: pipe.stage for pipe in plant.pipes.values()}
    by_stage: dict[str, list[str]] = {stage: [] for stage in (*NEXT, DONE[0])}
    for name, stage in stages.items():
        if stage in NEXT:
            by_stage[stage].append(name)
        elif stage in DONE:
            by_stage[DONE[0]].append(name)
    settle: dict[str, list[Finding]] = {}
    wait: dict[str, list[Finding]] = {}
    for finding in findings:
        if finding.accepted is None:
            stage = _stage_of(plant, finding, stages)
            (settle if must_be_settled(finding) else wait).setdefault(stage, []).append(finding)
    return [
        BeforeJoint(stage, tuple(parts), tuple(settle.get(stage, ())), tuple(wait.get(stage, ())))
        for stage, parts in by_stage.items()
        if parts or stage in settle or stage in wait
    ]


def must_be_settled(finding: Finding) -> bool:
    """Whether a finding has to be settled before the pipe is joined."""
    return finding.severity is Severity.STOP or bool(finding.rule.insert) or finding.rule.id in IN_THE_PIPE


def _stage_of(plant: Plant, finding: Finding, stages: dict[str, str]) -> str:
    """The stage nearest to its joint among what a finding names and the pipes on it."""
    places = [name for name in finding.at if name in stages]
    near = {stages[name] for name in places}
    if finding.rule.insert:  # the part goes into the pipes on it
        ends = [pipe for pipe in plant.pipes.values() if {pipe.start.item, pipe.end.item} & set(places)]
        near |= {pipe.stage for pipe in ends}
    return next((stage for stage in NEXT if stage in near), DONE[0] if near else NEXT[0])
