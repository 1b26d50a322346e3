"""What every paper says of the punch list: stops that were accepted, why, and checked with whom.

Lines of text, without layout: whoever sets a paper puts them in a block of its own.
"""

from __future__ import annotations

from collections.abc import Sequence

from core.review.finding import Finding, Severity

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


def open_stops(findings: Sequence[Finding]) -> list[str]:
    """One paragraph for each stop that nobody accepted."""
    return [
        f"{finding.at[0] if finding.at else 'plant'}: {finding.text} {finding.cure}"
        for finding in findings
        if finding.severity is Severity.STOP and finding.accepted is None
    ]
