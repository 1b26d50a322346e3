"""What one pane hands to another when a choice is to be written down."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class EntryDraft:
    """An entry of the logbook still to be written: where, what was chosen, what else was weighed."""

    at: tuple[str, ...]
    choice: str = ""
    weighed: tuple[str, ...] = ()
    follows: str = ""
