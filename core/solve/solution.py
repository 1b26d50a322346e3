"""What the solver hands out: plain figures by id, and notes."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any, NamedTuple

from core.figures import (
    ExchangerFigures,
    Figures,
    PipeFigures,
    PumpFigures,
    Role,
    SourceFigures,
    TankFigures,
    Value,
)


class Dropped(Exception):
    """Whoever asked for a solution no longer wants it. Nothing to tell anybody, so not a `WetsideError`."""


class Broken(NamedTuple):
    """A law that an answer does not keep: its name, the place, and by how much, in words."""

    law: str
    at: str
    text: str


class Severity(StrEnum):
    """How much a note matters, the gravest first."""

    DANGER = "danger"  # what it says can hurt someone or burst something
    MISSING = "missing"  # a part that safety needs is not drawn; the figures stand all the same
    UNSOLVED = "unsolved"  # there is no answer, or none that keeps the laws
    NOTE = "note"


GUESSED = "~"
"""Before a figure that rests on a guess."""


@dataclass(frozen=True)
class Note:
    """Something the solver says, at an id.

    Attributes
    ----------
    at, text : str
    severity : Severity
    rule : str
        The rule of the review whose finding at the same place says the same, "" where none does
    """

    at: str
    text: str
    severity: Severity = Severity.NOTE
    rule: str = ""

    def as_data(self) -> dict[str, str]:
        """Plain data for --json."""
        return {"at": self.at, "text": self.text, "severity": self.severity.value}


@dataclass(frozen=True)
class Solution:
    """Figures of one case.

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
    guessed : frozenset of (str, str)
        Figures by id and key that rest on a guess, where that was asked (`core.questions.resting`)
    """

    case: str
    signals: dict[str, bool] = field(default_factory=dict)
    converged: bool = True
    passes: int = 0
    residual_kg_s: float = 0.0
    pipes: dict[str, PipeFigures] = field(default_factory=dict)
    items: dict[str, Figures] = field(default_factory=dict)
    notes: tuple[Note, ...] = ()
    guessed: frozenset[tuple[str, str]] = frozenset()

    def mark(self, key: str, figure: str) -> str:
        """What stands before a figure of a pipe or item: ~ where it rests on a guess, else nothing."""
        return GUESSED if (key, figure) in self.guessed else ""

    @property
    def dangers(self) -> tuple[Note, ...]:
        """What can hurt someone or burst something."""
        return tuple(note for note in self.notes if note.severity is Severity.DANGER)

    def of(self, role: type[Role]) -> dict[str, Role]:
        """Figures of the items of one role, by id, in the order of the file."""
        return {key: found for key, found in self.items.items() if isinstance(found, role)}

    def at(self, key: str, role: type[Role]) -> Role | None:
        """Figures of an item in one role; None where it has none."""
        found = self.items.get(key)
        return found if isinstance(found, role) else None

    def figures(self, key: str) -> Figures | None:
        """Figures of a pipe or item; None where it has none."""
        return self.pipes.get(key) or self.items.get(key)

    def role(self, key: str, role: type[Role]) -> Role:
        """Figures of an item that is known to have that role."""
        found = self.items[key]
        assert isinstance(found, role), f"{key} is no {role.__name__}"
        return found

    def value(self, key: str, figure: str) -> Value | None:
        """One figure of a pipe or item by its key; None where there is none."""
        found = self.figures(key)
        return None if found is None else found.value(figure)

    def duty(self, key: str) -> float:
        """Heat that a source gives, a store takes up or an exchanger passes, [W]; 0 of all else."""
        found = self.items.get(key)
        return found.duty_w if isinstance(found, SourceFigures | TankFigures | ExchangerFigures) else 0.0

    def flow(self, key: str) -> float:
        """Flow along a pipe or the one way of an item, [m^3/s]; 0 where it has none."""
        found = self.figures(key)
        return 0.0 if found is None else found.flow or 0.0

    def running(self, key: str) -> bool:
        """Whether a circulator or source runs."""
        found = self.items.get(key)
        return isinstance(found, PumpFigures | SourceFigures) and found.running

    def as_json(self) -> dict[str, Any]:
        """Plain data for --json."""
        return {
            "case": self.case,
            "signals": self.signals,
            "converged": self.converged,
            "passes": self.passes,
            "residual_kg_s": self.residual_kg_s,
            "pipes": {key: found.as_data() for key, found in self.pipes.items()},
            "items": {key: found.as_data() for key, found in self.items.items()},
            "notes": [note.as_data() for note in self.notes],
        }
