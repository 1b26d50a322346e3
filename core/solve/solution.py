"""What the solver hands out: plain figures by id, and notes."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

Figures = dict[str, Any]


class Dropped(Exception):
    """Whoever asked for a solution no longer wants it. Nothing to tell anybody, so not a `WetsideError`."""


@dataclass(frozen=True)
class Note:
    """Something the solver says, at an id."""

    at: str
    text: str


@dataclass(frozen=True)
class Solution:
    """Figures of one case; the inner dictionaries carry the unit in each key.

    Attributes
    ----------
    case : str
        Name of the case
    signals : dict
        State of every signal
    converged : bool
        Whether flows, temperatures and controls came to rest
    passes : int
        Passes over flows, temperatures and controls
    residual_kg_s : float
        Largest mass imbalance at a junction, [kg/s]
    pipes, items : dict
        Figures by id
    notes : tuple of Note
    """

    case: str
    signals: dict[str, bool] = field(default_factory=dict)
    converged: bool = True
    passes: int = 0
    residual_kg_s: float = 0.0
    pipes: dict[str, Figures] = field(default_factory=dict)
    items: dict[str, Figures] = field(default_factory=dict)
    notes: tuple[Note, ...] = ()

    def as_json(self) -> dict[str, Any]:
        """Plain data for --json."""
        return {
            "case": self.case,
            "signals": self.signals,
            "converged": self.converged,
            "passes": self.passes,
            "residual_kg_s": self.residual_kg_s,
            "pipes": self.pipes,
            "items": self.items,
            "notes": [{"at": n.at, "text": n.text} for n in self.notes],
        }
