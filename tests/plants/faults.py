"""Single faults put into good plants, and where the review must find each: the rule's id and the place.

A fault is one edit. `rule` is the id of the rule that must find it, `at` an id that its finding must name.
"""

from __future__ import annotations

from core.review.rules import BY_ID
from tests.plants import faults_flow, faults_heat, faults_safety
from tests.plants.fault_edits import Fault

READ_CASES = ("precharge-wrong", "floor-water-too-hot")
"""Rules that read cases where there are any, though they say something without."""

FAULTS: tuple[Fault, ...] = (
    *(
        Fault(*row, needs_cases=BY_ID[row[1]].solved)
        for row in (*faults_flow.faults(), *faults_heat.faults())
    ),
    *(
        Fault(*row, needs_cases=row[1] in READ_CASES or BY_ID[row[1]].solved)
        for row in faults_safety.faults()
    ),
)
