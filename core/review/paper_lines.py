"""What every paper says of the punch list: stops that were accepted, why, and checked with whom.

Lines of text, without layout: whoever sets a paper puts them in a block of its own.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from core.plant.model import Plant
from core.review.finding import Finding, Severity
from core.review.punch_list import acceptances

HEAD = "Accepted stops"


def accepted_stops(findings: Sequence[Finding]) -> list[str]:
    """One paragraph for each stop that was accepted; none where none was."""
    return [
        f"{finding.at[0] if finding.at else 'plant'}: {finding.text} Accepted because: {given.because}"
        f"{f', by {given.by}' if given.by else ''}, checked with {given.checked_with}"
        f"{f', {given.date}' if given.date else ''}."
        for finding in findings
        if finding.severity is Severity.STOP and (given := finding.accepted) is not None
    ]


class OnFile(NamedTuple):
    """An accepted finding as the plant file keeps it: where, and what is said of it."""

    at: str
    words: str


def accepted_on_file(plant: Plant) -> list[OnFile]:
    """Accepted stops of a plant, read from its file alone: for papers that are made without a review."""
    from core.review.rules import BY_ID

    found = []
    for key, raw in acceptances(plant).items():
        name, _, at = key.partition("@")
        rule = BY_ID.get(name)
        checked = raw.get("checked_with", "")
        checked = checked if isinstance(checked, str) else ", ".join(map(str, checked))
        if not checked and (rule is None or rule.severity is not Severity.STOP):
            continue  # what is no stop needs nobody to check it with
        title = rule.title if rule is not None else name.replace("-", " ")
        by = f", by {raw['by']}" if raw.get("by") else ""
        date = f", {raw['date']}" if raw.get("date") else ""
        with_whom = f", checked with {checked}" if checked else ", checked with nobody"
        because = raw.get("because") or "no reason given"
        found.append(OnFile(at or "plant", f"{title}. Accepted because: {because}{by}{with_whom}{date}."))
    return found


def open_stops(findings: Sequence[Finding]) -> list[str]:
    """One paragraph for each stop that nobody accepted."""
    return [
        f"{finding.at[0] if finding.at else 'plant'}: {finding.text} {finding.cure}"
        for finding in findings
        if finding.severity is Severity.STOP and finding.accepted is None
    ]
