"""Call sheets of one plant after another, as it is edited: only what an edit can have touched is solved anew.

An edit of place, label or note solves nothing; one of who runs what only the combinations in which something
else runs; any other solves each combination anew.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

from core.calls.called import Reach
from core.calls.choice import choice
from core.calls.combinations import calls_of, place_in_gray
from core.calls.receptacles import feeds
from core.calls.rows import CallRow, call_row
from core.controls.expressions import holds
from core.plant.model import Case, Plant
from core.solve import Solution, Solver

KeepOn = Callable[[], bool] | None


@dataclass
class _Kept:
    """A combination as it was solved last: on which plant, what it read of it, and its figures."""

    case: Case
    physics: Any
    commands: dict[str, Any]
    row: CallRow

    @cached_property
    def runs(self) -> tuple[bool, ...]:
        """Whose signals let it run, in the order of the commands."""
        return _runs(self.commands, self.row.solution.signals)


class IncrementalRows:
    """Rows of the call sheet, whose solutions are kept by their calls between the edits of a plant."""

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
            As of `choice`
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
        for case in choice(plant, base).cases:
            kept = self._kept.get((base.name, case.name))
            if kept is None or kept.case != case or not alike[id(kept.physics)]:
                waiting.append(case)
            elif kept.commands == commands and kept.row.on == _on(case, calls):
                yield kept.row
            elif _runs_the_same(kept, commands):
                row = call_row(plant, case, kept.row.solution, calls, self._reach, fed)
                self._kept[base.name, case.name] = _Kept(case, physics, commands, row)
                yield row
            else:
                waiting.append(case)
        seen = set(first)
        waiting.sort(key=lambda case: (case.name not in seen, place_in_gray(case, calls)))
        for case in waiting:
            solution = self._solve(case, keep_on)
            row = call_row(plant, case, solution, calls, self._reach, fed)
            self._kept[base.name, case.name] = _Kept(case, physics, commands, row)
            yield row

    def _take(self, plant: Plant) -> None:
        """Make the network anew; what is known of the reach of signals stays while its shape does."""
        if self._solver is not None and self._plant is plant:
            return
        self._plant = plant
        self._solver = Solver(plant)
        reach = Reach(plant, self._solver.net)
        shape = [(e.key, e.part, e.start, e.end) for e in self._solver.net.elements]
        if shape != self._shape:
            self._shape = shape
        elif self._reach is not None:
            reach.learn(self._reach)
        self._reach = reach

    def _solve(self, case: Case, keep_on: KeepOn) -> Solution:
        assert self._solver is not None
        self.solved += 1
        return self._solver.solve(case, keep_on)


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
