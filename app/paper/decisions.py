"""The logbook as it stands on paper: what was chosen and why, and which entries ask to be looked at again."""

from __future__ import annotations

from collections.abc import Mapping

from core.errors import escaped
from core.logbook import Standing, standings
from core.plant.model import Plant
from core.solve import Solution

Row = tuple[str, str, str]
"""Id of the entry, place and date, text."""


def logbook_rows(plant: Plant, solutions: Mapping[str, Solution]) -> list[Row]:
    """Every entry that no later one follows, in order."""
    return [
        (
            escaped(each.entry.id),
            escaped(f"{', '.join(each.entry.at)} {each.entry.date}".strip()),
            _words(each),
        )
        for each in standings(plant, solutions)
        if each.state != "superseded"
    ]


def _words(standing: Standing) -> str:
    entry = standing.entry
    reason = f" “{entry.because}”" if entry.because else ""
    weighed = f" Weighed: {'; '.join(entry.weighed)}." if entry.weighed else ""
    today = f" {standing.words}" if standing.state in ("look again", "gone") else ""
    return escaped(f"{entry.choice.rstrip('.')}.{reason}{weighed}{today}").strip()
