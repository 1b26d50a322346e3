"""Call sheets of one plant after another, as it is edited: only what an edit can have touched is solved anew.

An edit of place, label or note solves nothing; one of who runs what only the combinations in which something
else runs; any other starts each combination from what it was before the edit.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

from core.calls.called import Reach
from core.calls.combinations import all_calls, calls_of, place_in_gray
from core.calls.outlets import feeds
from core.calls.rows import CallRow, call_row
from core.controls.expressions import holds
from core.plant.model import Case, Plant
from core.solve import Solution, Solver
from core.solve.settle import Settled

KeepOn = Callable[[], bool] | None


@dataclass
class _Kept:
    """A combination as it was solved last: on which plant, what it read of it, and its figures."""

    case: Case
    physics: Any
    commands: dict[str, Any]
    row: CallRow
    settled: Settled | None

    @cached_property
    def runs(self) -> tuple[bool, ...]:
        """Whose signals let it run, in the order of the commands."""
        return _runs(self.commands, self.row.solution.signals)


class Keeper:
    """Keeps the solutions of the combinations, by their calls, between the edits of a plant."""

    def __init__(self) -> None:
        self._plant: Plant | None = None
        self._solver: Solver | None = None
        self._reach: Reach | None = None
        self._shape: Any = None
        self._kept: dict[tuple[str, str], _Kept] = {}
        self.solved = 0  # combinations solved, for checks of how little is

    def rows(
        self,
        plant: Plant,
        base: Case | None = None,
        first: Sequence[str] = (),
        keep_on: KeepOn = None,
    ) -> Iterator[CallRow]:
        """Rows of the call sheet as they become known.

        Those that stand come at once; then those named in `first`; then the others, each near the one before.

        Parameters
        ----------
        plant : Plant
        base : Case or None
            As of `all_calls`
        first : sequence of str
            Combinations in sight, by name
        keep_on : callable or None
            Asked during the solving; where it says False this raises core.solve.Dropped
        """
        base = plant.solve_cases[0] if base is None else base
        physics, commands, calls = _physics(plant), _commands(plant), calls_of(plant)
        waiting: list[Case] = []
        self._take(plant)
        fed = feeds(plant)
        alike = {id(kept.physics): kept.physics == physics for kept in _each(self._kept.values())}
        for case in all_calls(plant, base):
            kept = self._kept.get((base.name, case.name))
            if kept is None or kept.case != case or not alike[id(kept.physics)]:
                waiting.append(case)
            elif kept.commands == commands and kept.row.on == _on(case, calls):
                yield kept.row
            elif _runs_the_same(kept, commands):
                row = call_row(plant, case, kept.row.solution, calls, self._reach, fed)
                self._kept[base.name, case.name] = _Kept(case, physics, commands, row, kept.settled)
                yield row
            else:
                waiting.append(case)
        seen = set(first)
        waiting.sort(key=lambda case: (case.name not in seen, place_in_gray(case, calls)))
        for case in waiting:
            solution, settled = self._solve(case, self._start(base.name, case, commands), keep_on)
            row = call_row(plant, case, solution, calls, self._reach, fed)
            self._kept[base.name, case.name] = _Kept(case, physics, commands, row, settled)
            yield row

    def _take(self, plant: Plant) -> None:
        """Make the network anew; what was solved on one of another shape is no start for it."""
        if self._solver is not None and self._plant is plant:
            return
        self._plant = plant
        self._solver = Solver(plant)
        reach = Reach(plant, self._solver.net)
        shape = [(e.key, e.part, e.start, e.end) for e in self._solver.net.elements]
        if shape != self._shape:
            self._shape = shape
            for kept in self._kept.values():
                kept.settled = None
        elif self._reach is not None:
            reach.learn(self._reach)
        self._reach = reach

    def _start(self, base: str, case: Case, commands: dict[str, Any]) -> Settled | None:
        """Where to start from: where most nearly the same ran; where several did, its own former self."""
        own = self._kept.get((base, case.name))
        signals = {**(own.row.solution.signals if own is not None else {}), **case.signals}
        wanted = _runs(commands, signals)
        best, fewest = None, len(wanted) + 1
        for kept in [*([own] if own is not None else []), *self._kept.values()]:
            if kept.settled is not None and kept.commands.keys() == commands.keys():
                differing = sum(a != b for a, b in zip(wanted, kept.runs, strict=True))
                if differing < fewest:
                    best, fewest = kept.settled, differing
        return best

    def _solve(self, case: Case, start: Settled | None, keep_on: KeepOn) -> tuple[Solution, Settled | None]:
        """From a start, else from the combination just solved; afresh where that does not settle."""
        solver = self._solver
        assert solver is not None
        self.solved += 1
        if start is not None:
            solver.last = start
        solution = solver.solve(case, keep_on)
        if not solution.converged:
            solver.last = None
            solution = solver.solve(case, keep_on)
        return solution, solver.last


def _runs(commands: dict[str, Any], on: Mapping[str, bool]) -> tuple[bool, ...]:
    return tuple(holds(expression, on) for expression in commands.values())


def _each(kept: Iterable[_Kept]) -> Iterable[_Kept]:
    """One for each plant they were solved on."""
    return {id(each.physics): each for each in kept}.values()


def _on(case: Case, calls: tuple[str, ...]) -> tuple[str, ...]:
    """Calls that a combination has on."""
    return tuple(name for name in calls if case.signals.get(name))


def _runs_the_same(kept: _Kept, commands: dict[str, Any]) -> bool:
    """Whether the same runs as before, though by other expressions."""
    on = kept.row.solution.signals
    return all(
        holds(kept.commands.get(key), on) == holds(commands.get(key), on)
        for key in kept.commands.keys() | commands.keys()
    )


def _physics(plant: Plant) -> Any:
    """What the solver reads of a plant but for who runs when: no places, labels, notes and records."""
    items = {
        i.id: (i.kind, i.stage == "to_remove", {k: v for k, v in i.props.items() if k != "run_when"})
        for i in plant.items.values()
    }
    pipes = {
        p.id: replace(p, via=(), label="", note="", stage="to_remove" if p.stage == "to_remove" else "drawn")
        for p in plant.pipes.values()
    }
    return dict(plant.site), dict(plant.systems), items, pipes


def _commands(plant: Plant) -> dict[str, Any]:
    """Who runs when, by id."""
    return {i.id: i.si.get("run_when") for i in plant.items.values() if "run_when" in i.props}
