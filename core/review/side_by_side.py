"""Branches side by side between two headers: which they are, and what each lets through, for balance."""

from __future__ import annotations

from dataclasses import dataclass

from core.plant.model import Item, PortRef
from core.review.study import Study
from core.solve.solution import Solution
from core.vocabulary import Trait
from core.water.no_flow import NO_FLOW
from core.water.numbers import grouped
from core.water.runs import Run

NO_HEADER = (
    Trait.DRIVES,
    Trait.MAKES_HEAT,
    Trait.GIVES_HEAT,
    Trait.EXCHANGES_HEAT,
    Trait.WATER_STANDS,
    Trait.MIXES,
    Trait.OPENS_BY_PRESSURE,
    Trait.BRINGS_WATER,
    Trait.DRAWS_WATER,
    Trait.USES_WATER,
)
G = 9.80665  # [m/s^2]


@dataclass(frozen=True, eq=False)
class Branch:
    """What lies on one run between two headers: the item asked about, its run, the place where it begins."""

    item: Item
    run: Run
    inlet: PortRef
    outlet: PortRef

    def has(self, study: Study, *traits: Trait) -> bool:
        """Whether anything on its run has any of some traits."""
        return any(one.has(*traits) for one in study.runs.items(self.run))


def groups(study: Study, *traits: Trait) -> list[list[Branch]]:
    """Branches through items with any of some traits, in groups of two and more between the same headers.

    A branch with a circulator of its own is none: nothing robs it.
    """
    header = headers(study)
    found: dict[tuple[PortRef, PortRef], list[Branch]] = {}
    for run in study.runs.all:
        items = study.runs.items(run)
        named = [one for one in items if one.has(*traits)]
        if not named or any(one.has(Trait.DRIVES) for one in items) or run.start == run.end:
            continue
        sign = run.sign(named[0].id)
        inlet, outlet = (run.start, run.end) if sign > 0 else (run.end, run.start)
        key = (header.get(inlet, inlet), header.get(outlet, outlet))
        found.setdefault(key, []).append(Branch(named[0], run, inlet, outlet))
    return [group for group in found.values() if len(group) > 1]


def headers(study: Study) -> dict[PortRef, PortRef]:
    """One place that stands for all that passive runs join, for each place where runs meet."""
    joined = [
        (run.start, run.end)
        for run in study.runs.all
        if not any(one.has(*NO_HEADER) for one in study.runs.items(run))
    ]
    return grouped(study.runs.ending_at, joined)


def flow_of(solution: Solution, branch: Branch) -> float:
    """Flow through a branch from its inlet to its outlet, [m^3/s]."""
    pipe = branch.run.pipes[0]
    sign = branch.run.sign(pipe) * branch.run.sign(branch.item.id)
    return sign * solution.flow(pipe)


def level_at(study: Study, solution: Solution, branch: Branch, inlet: bool) -> float:
    """Pressure at one end of a branch, its height counted as pressure of plain water, [Pa]."""
    place = branch.inlet if inlet else branch.outlet
    first = branch.run.start == place
    pipe = study.plant.pipes[branch.run.pipes[0 if first else -1]]
    pressure = solution.pipes[pipe.id].pressure_at(pipe.start == place)
    return pressure + 1000.0 * G * study.height(place)


def resistance(study: Study, solution: Solution, branch: Branch) -> float | None:
    """Loss over the square of the flow, [Pa s^2/m^6]; None where no water goes forward."""
    flow = flow_of(solution, branch)
    if flow <= 1e3 * NO_FLOW:
        return None
    loss = level_at(study, solution, branch, True) - level_at(study, solution, branch, False)
    return loss / flow**2 if loss > 0.0 else None


def reverse_return(study: Study, solution: Solution, group: list[Branch]) -> bool:
    """Whether the branch that the supply comes to first is the one whose return is farthest."""
    ends = [(level_at(study, solution, one, True), level_at(study, solution, one, False)) for one in group]
    high, low = max(ends), min(ends)
    span = high[0] - low[0]
    return span > 1.0 and high[1] - low[1] > 0.2 * span
