"""Which combinations of calls a call sheet shows: those that can be, and of very many a choice."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from core.calls.combinations import calls_of, combination, every_set
from core.controls.expressions import holds
from core.controls.signals import Signals
from core.plant.model import Case, Plant

MOST_WHOLE = 6  # calls of which every combination is shown
MOST_PAIRS = 12  # calls of which every pair is shown


@dataclass(frozen=True)
class Choice:
    """The combinations of a call sheet.

    Attributes
    ----------
    cases : tuple of Case
        "none" first, then with fewest calls first
    complete : bool
        Whether these are all that can be
    words : str
        Which are shown where not all are; "" where all are
    impossible : tuple of str
        Combinations left out: a stat in them would call without power
    unable : tuple of str
        Calls without power even with all calls on, or out of service: off in every combination
    """

    cases: tuple[Case, ...]
    complete: bool
    words: str
    impossible: tuple[str, ...]
    unable: tuple[str, ...] = ()


def choice(plant: Plant, base: Case | None = None) -> Choice:
    """The combinations to show, all else as in `base` (the first case where None)."""
    base = plant.solve_cases[0] if base is None else base
    calls, signals = calls_of(plant), Signals(plant)
    unable = without_power(signals, combination(base, calls, calls), calls)
    able = tuple(call for call in calls if call not in unable)
    whole = len(able) <= MOST_WHOLE
    sets = every_set(able) if whole else _few(able)
    possible: list[Case] = []
    impossible: list[str] = []
    for on in sets:
        case = combination(base, calls, on)
        if without_power(signals, case, on):
            impossible.append(case.name)
        else:
            possible.append(case)
    words = "" if whole else _words(able, len(possible))
    return Choice(tuple(possible), whole, words, tuple(impossible), unable)


def without_power(signals: Signals, case: Case, calls: Iterable[str]) -> tuple[str, ...]:
    """Which calls of a combination cannot be on: their receptacle is off, or they are out of service."""
    on = signals.states(case, {}).on
    return tuple(
        call
        for call in calls
        if call in signals.dead or not holds(signals.items[call].si.get("powered_by"), on)
    )


def _few(calls: tuple[str, ...]) -> Iterable[tuple[str, ...]]:
    """None, each alone, of not too many each two, all but one, all."""
    sets: list[tuple[str, ...]] = [(), *((call,) for call in calls)]
    if len(calls) <= MOST_PAIRS:
        sets += [(one, other) for k, one in enumerate(calls) for other in calls[k + 1 :]]
    sets += [tuple(c for c in calls if c != call) for call in reversed(calls)]
    return dict.fromkeys([*sets, calls])


def _words(calls: tuple[str, ...], shown: int) -> str:
    pairs = "each two together, " if len(calls) <= MOST_PAIRS else ""
    return (
        f"{len(calls)} calls make {2 ** len(calls):,} combinations. Shown are {shown}: none, each call "
        f"alone, {pairs}all but one, and all. In others a circuit may get less."
    )
