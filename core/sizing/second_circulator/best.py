"""At most three places for a second circulator that bring what is asked and keep every limit; or why none.

Each is put in and solved in every case: no tube may newly run over a firm limit of velocity, no note of
danger (suction, boiling, heaters) and no unsolved case may come with it. Where nothing is short of heat and
no place is named, nothing is wanted, and nothing is offered.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import NamedTuple

from core.errors import WetsideError
from core.plant.changes import fitted
from core.plant.model import Case, Plant
from core.sizing.context import ZERO, Context
from core.sizing.demand.losses import present_tube
from core.sizing.families.limits import limits_for
from core.sizing.families.pipes import use_of
from core.sizing.second_circulator.edit import put_in
from core.sizing.second_circulator.found import Found, flow_at, wanted_of, wants
from core.sizing.second_circulator.study import CAUTIONS, Bench, KeepOn, study
from core.solve import Solution, Solver
from core.solve.solution import Severity

MOST = 3
LEAST_MORE = 0.05  # share of more flow from which it counts; common practice, no source


class Offer(NamedTuple):
    """One place: what was found of it, and the flow at what was asked before and after, [m^3/s]."""

    found: Found
    before: float
    after: float


@dataclass(frozen=True)
class Best:
    """The answer: `offers` best first; `none` says why there is none; `refused` who broke what."""

    case: str
    at: str
    offers: tuple[Offer, ...]
    none: str = ""
    refused: tuple[str, ...] = ()
    cautions: tuple[str, ...] = CAUTIONS


def best_places(plant: Plant, case: Case | None = None, at: str = "", keep_on: KeepOn = None) -> Best:
    """The best places for another circulator.

    Parameters
    ----------
    plant : Plant
    case : Case or None
        The case it is for; with no `at` that in which most heat is short
    at : str
        Item or pipe that is to have more flow; empty for the circuit that is shortest of heat
    keep_on : callable or None
        Asked often; False ends the run with `core.solve.Dropped`

    Raises
    ------
    Refusal
        Where `at` is unknown
    """
    solver = Solver(plant)
    before = {one.name: solver.solve(one, keep_on) for one in plant.solve_cases}
    chosen = case if at and case is not None else _shortest_case(plant, before)
    if not at:
        short = wanted_of(plant, before[chosen.name], "", "").short
        if not short:
            stated = any(wants(plant, solution) for solution in before.values())
            why = "no circuit is short of heat in any case" if stated else "no circuit states a heat it wants"
            return Best(chosen.name, "", (), f"None, because {why}.")
        at = max(short, key=lambda name: short[name])
    bench = Bench(plant, chosen, keep_on)
    tried = study(plant, chosen, circuit=at, keep_on=keep_on, others=False, bench=bench)
    was = flow_at(plant, before[chosen.name], at) or 0.0
    offers: list[Offer] = []
    refused: list[str] = []
    for found in tried.found:
        if not found.worth or len(offers) == MOST:
            continue
        try:
            after = fitted(plant, put_in(plant, found.place, found.spot, found.pump).changes)
        except (WetsideError, KeyError) as refusal:
            refused.append(f"{found.title}: cannot be put in ({refusal})")
            continue
        solved = {one.name: Solver(after).solve(one, keep_on) for one in plant.solve_cases}
        now = flow_at(after, solved[chosen.name], at)
        broken = next(_breaks(plant, before, after, solved), "")
        if not broken and (now is None or now < (1.0 + LEAST_MORE) * was):
            broken = f"brings {at} less than {LEAST_MORE:.0%} more flow"
        if broken or now is None:
            refused.append(f"{found.title}: {broken}")
        else:
            offers.append(Offer(found, was, now))
    none = "" if offers else f"None, because {'; '.join(refused) or _lowered(tried.summary)}."
    return Best(chosen.name, at, tuple(offers), none.replace("..", "."), tuple(refused), tried.cautions)


def _lowered(words: str) -> str:
    words = words.strip().removesuffix(".")
    return words[:1].lower() + words[1:]


def _shortest_case(plant: Plant, before: dict[str, Solution]) -> Case:
    def short(case: Case) -> float:
        return sum(wanted_of(plant, before[case.name], "", "").short.values())

    return max(plant.solve_cases, key=short)


def _breaks(
    plant: Plant, before: dict[str, Solution], after: Plant, solved: dict[str, Solution]
) -> Iterator[str]:
    """What it would break that is not broken already."""
    for name, solution in solved.items():
        if before[name].converged and not solution.converged:
            yield f"{name} would not settle"
        known = {(note.at, note.severity) for note in before[name].notes}
        for note in solution.notes:
            if note.severity is Severity.DANGER and (note.at, note.severity) not in known:
                yield f"in {name}: {note.text}"
    yield from sorted(_fast(after, solved) - _fast(plant, before))


def _fast(plant: Plant, solved: dict[str, Solution]) -> set[str]:
    """Pipes that run over a firm limit of velocity."""
    context = Context(plant, solved)
    found = set()
    for pipe in plant.pipes.values():
        if pipe.joined or not pipe.tube:
            continue
        tube = present_tube(pipe)
        for solution in solved.values():
            figures = solution.pipes.get(pipe.id)
            if figures is None:
                continue
            warm = max(figures.temperature_at(True), figures.temperature_at(False)) + ZERO
            limits = limits_for(tube.material, use_of(context, pipe), warm, tube.bore)
            over = [one for one in limits if one.firm and abs(figures.velocity_m_s) > one.value]
            if over:
                found.add(f"{pipe.id} would run too fast: {over[0].words}")
    return found
