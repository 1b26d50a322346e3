"""Which notes of the solver are left to say once the punch list has spoken: one place says a thing once."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from core.review.finding import Finding
from core.solve.solution import Note, Severity, Solution

GRAVE = (Severity.DANGER, Severity.MISSING)


def without_findings(solution: Solution, findings: Iterable[Finding]) -> Solution:
    """A solved case without the notes that a finding at their place says.

    A danger whose finding was accepted is still noted.

    Returns
    -------
    Solution
        The same one where all its notes are left
    """
    is_open = {(one.rule.id, at): one.accepted is None for one in findings for at in one.at}

    def left(note: Note) -> bool:
        key = (note.rule, note.at)
        return key not in is_open or (note.severity in GRAVE and not is_open[key])

    notes = tuple(note for note in solution.notes if left(note))
    return solution if len(notes) == len(solution.notes) else replace(solution, notes=notes)
