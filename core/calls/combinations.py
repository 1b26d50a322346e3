"""Every combination of calls as a case of its own, and their solutions, each started from its neighbour's."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from itertools import combinations

from core.plant.model import Case, Item, Plant
from core.solve import Solution, Solver
from core.vocabulary import Trait, signal_names

MOST_CALLS = 10  # with more, not all combinations are made: single calls, pairs, all, and all but one


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
        calls: single ones, pairs, all, and all but one.
    """
    base = plant.solve_cases[0] if base is None else base
    calls = calls_of(plant)
    return tuple(
        replace(
            base,
            name=" + ".join(on) or "none",
            signals={**base.signals, **{name: name in on for name in calls}},
            hours_per_year=None,
        )
        for on in _combinations(calls)
    )


def _combinations(calls: tuple[str, ...]) -> Iterator[tuple[str, ...]]:
    n = len(calls)
    sizes = range(n + 1) if n <= MOST_CALLS else (1, 2, n - 1, n)
    for size in sizes:
        yield from combinations(calls, size)


def solve_calls(
    plant: Plant,
    base: Case | None = None,
    keep_on: Callable[[], bool] | None = None,
    solved: Callable[[Solution], None] | None = None,
) -> list[Solution]:
    """Solutions of `all_calls`, in its order.

    Solved in the order of a Gray code, so that each starts from one that differs by a single call.

    Parameters
    ----------
    plant, base
        As of `all_calls`
    keep_on : callable or None
        Asked before every pass; where it says False this raises core.solve.Dropped
    solved : callable or None
        Told of each solution as it comes, in the order of solving

    Returns
    -------
    list of Solution
    """
    cases = all_calls(plant, base)
    calls = calls_of(plant)
    solver = Solver(plant)
    found: dict[str, Solution] = {}
    for case in sorted(cases, key=lambda case: place_in_gray(case, calls)):
        found[case.name] = solver.solve(case, keep_on)
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
