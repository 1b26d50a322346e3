"""The call sheet: every combination of calls, what runs, who goes short, and the worst of all."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from core.calls import combinations
from core.calls.called import Reach
from core.calls.choice import Choice, choice
from core.calls.duty import with_tank_shares
from core.calls.receptacles import CAUTION, feeds
from core.calls.rows import CallRow, call_row, equal
from core.calls.short import Short, short_circuits
from core.calls.worst import Worst, find_worst
from core.plant.model import Case, Plant
from core.vocabulary import Trait


@dataclass(frozen=True)
class CallSheet:
    """Which call runs what.

    Attributes
    ----------
    base : str
        Case that gives outdoor temperature, draws, tanks and the other signals
    calls : tuple of str
        Ids of the signals that are calls, in the order of the file
    rows : tuple of CallRow
        One a combination, fewest calls first
    worst : tuple of Worst
    cautions : tuple of str
    choice : Choice
        Which combinations these are
    short : tuple of Short
        Circuits that are short, and why
    """

    base: str
    calls: tuple[str, ...]
    rows: tuple[CallRow, ...]
    worst: tuple[Worst, ...]
    cautions: tuple[str, ...]
    choice: Choice
    short: tuple[Short, ...] = ()

    @cached_property
    def folded(self) -> tuple[tuple[CallRow, tuple[str, ...]], ...]:
        """Rows of which no two are equal, each with the names of those that are equal to it."""
        found: list[tuple[CallRow, list[str]]] = []
        for row in self.rows:
            like = next((names for first, names in found if equal(first, row)), None)
            if like is None:
                found.append((row, []))
            else:
                like.append(row.name)
        return tuple((row, tuple(names)) for row, names in found)

    def worst_of(self, case: str) -> tuple[Worst, ...]:
        """What a combination is worst in."""
        return tuple(w for w in self.worst if w.case == case)

    def as_data(self) -> dict[str, Any]:
        """Plain data for --json."""
        return {
            "base": self.base,
            "calls": list(self.calls),
            "complete": self.choice.complete,
            "left_out": self.choice.words,
            "impossible": list(self.choice.impossible),
            "unable": list(self.choice.unable),
            "combinations": [{**row.as_data(), "also": list(also)} for row, also in self.folded],
            "short": [s.as_data() for s in self.short],
            "worst": [w.as_data() for w in self.worst],
            "cautions": list(self.cautions),
        }


def call_sheet(
    plant: Plant, keep_on: Callable[[], bool] | None = None, base: Case | None = None
) -> CallSheet:
    """Solve every combination of calls and sort the figures.

    Parameters
    ----------
    plant : Plant
    keep_on : callable or None
        Asked during the solving; where it says False this raises core.solve.Dropped
    base : Case or None
        Gives outdoor temperature, draws, tanks and the other signals; the first case where None
    """
    base = plant.solve_cases[0] if base is None else base
    cases = choice(plant, base).cases
    solutions = combinations.solve_calls(plant, base, keep_on, cases=cases)
    calls = combinations.calls_of(plant)
    reach, fed = Reach(plant), feeds(plant)
    rows = [call_row(plant, case, s, calls, reach, fed) for case, s in zip(cases, solutions, strict=True)]
    return assembled(plant, base, calls, rows)


def assembled(plant: Plant, base: Case, calls: tuple[str, ...], rows: Sequence[CallRow]) -> CallSheet:
    """A call sheet of rows that are already solved."""
    rows = with_tank_shares(plant, rows)
    outlets = bool(plant.with_trait(Trait.FEEDS_POWER))
    return CallSheet(
        base.name,
        calls,
        tuple(rows),
        find_worst(rows),
        (CAUTION,) if outlets else (),
        choice(plant, base),
        short_circuits(plant, rows),
    )
