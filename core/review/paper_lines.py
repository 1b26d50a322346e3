"""What every paper says of the punch list: stops that were accepted, why, and checked with whom.

Lines of text, without layout: whoever sets a paper puts them in a block of its own.
"""

from __future__ import annotations

from typing import NamedTuple

from core.plant.model import Plant
from core.review.finding import Severity
from core.review.punch_list import acceptances

HEAD = "Accepted stops"


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
