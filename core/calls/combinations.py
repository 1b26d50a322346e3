"""Every combination of calls as a case of its own, and their solutions."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import replace
from itertools import combinations

from core.plant.model import Case, Item, Plant
from core.solve import Solution, Solver
from core.vocabulary import Trait, signal_names

MOST_CALLS = 10  # with more, not all combinations are made: none, single calls, pairs, all but one, all


def calls_of(plant: Plant) -> tuple[str, ...]:
    """Ids of the stats and switches that are calls, in the order of the file.

    What says `call` is taken at its word; thermostats and switches that do not are calls where some run_when
    names them. In a plant in which that finds none, those count that switch an outlet or feed something.
    """
    here = [i for i in plant.items.values() if i.stage != "to_remove"]
    return _calls_by(here, ("run_when",)) or _calls_by(here, ("switched_by", "powered_by"))


def _calls_by(items: list[Item], properties: tuple[str, ...]) -> tuple[str, ...]:
    named = {name for item in items for p in properties for name in signal_names(item.si.get(p))}
    found = []
    for item in items:
        if item.has(Trait.SWITCHED_BY_HAND, Trait.STAT):
            said = item.si.get("call")
            usual = not item.has(Trait.FEELS_WATER) and item.id in named
            if usual if said is None else said:
                found.append(item.id)
    return tuple(found)


def all_calls(plant: Plant, base: Case | None = None) -> tuple[Case, ...]:
    """A case for every combination of calls, all else as in `base`.

    Parameters
    ----------
    plant : Plant
    base : Case or None
        Gives outdoor temperature, draws, tanks and the other signals; the plant's first case where None

    Returns
    -------
    tuple of Case
        With fewest calls first; each named by its calls that are on, joined by " + ", or "none". Beyond ten
        calls: none, single ones, pairs, all but one, and all.
    """
    base = plant.solve_cases[0] if base is None else base
    calls = calls_of(plant)
    return tuple(combination(base, calls, on) for on in _some_sets(calls))


def combination(base: Case, calls: tuple[str, ...], on: Collection[str]) -> Case:
    """A case with some of the calls on and the others off, all else as in `base`."""
    signals = {**base.signals, **{name: name in on for name in calls}}
    return replace(base, name=" + ".join(on) or "none", signals=signals, hours_per_year=None)


def every_set(calls: tuple[str, ...]) -> Iterator[tuple[str, ...]]:
    """Every set of calls, with fewest first."""
    for size in range(len(calls) + 1):
        yield from combinations(calls, size)


def _some_sets(calls: tuple[str, ...]) -> Iterator[tuple[str, ...]]:
    n = len(calls)
    if n <= MOST_CALLS:
        yield from every_set(calls)
    else:
        for size in (0, 1, 2, n - 1, n):
            yield from combinations(calls, size)


def solve_calls(
    plant: Plant,
    base: Case | None = None,
    keep_on: Callable[[], bool] | None = None,
    solved: Callable[[Solution], None] | None = None,
    cases: Sequence[Case] | None = None,
    noted: bool = True,
) -> list[Solution]:
    """Solutions of `all_calls`, or of the combinations given, in their order.

    Solved in the order of a Gray code.

    Parameters
    ----------
    plant, base
        As of `all_calls`
    keep_on : callable or None
        Asked before every pass; where it says False this raises core.solve.Dropped
    solved : callable or None
        Told of each solution as it comes, in the order of solving
    cases : sequence of Case or None
        Some combinations; all where None
    noted : bool
        Whether the solutions carry their notes

    Returns
    -------
    list of Solution
    """
    cases = all_calls(plant, base) if cases is None else cases
    calls = calls_of(plant)
    solver = Solver(plant)
    found: dict[str, Solution] = {}
    for case in sorted(cases, key=lambda case: place_in_gray(case, calls)):
        found[case.name] = solver.solve(case, keep_on, noted)
        if solved is not None:
            solved(found[case.name])
    return [found[case.name] for case in cases]


def place_in_gray(case: Case, calls: tuple[str, ...]) -> int:
    """Where a combination stands in the reflected Gray code."""
    code = sum(1 << k for k, name in enumerate(calls) if case.signals[name])
    place = 0
    while code:
        place ^= code
        code >>= 1
    return place
