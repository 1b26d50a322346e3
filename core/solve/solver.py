"""Solves the cases of a plant: starts, and linked units. Nothing is kept from one case to the next.

* Of linked units the fewest run that hold the set point. A body that only gravity could drive is started by
  a push one way, then the other.
* A kind without a waterway leaves the whole body it belongs to at rest, with a note.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from types import MappingProxyType

from core.controls.resets import find_resets
from core.controls.signals import Signals, SignalStates
from core.controls.stats import Stat, as_reset, stats_of
from core.controls.wiring import Wiring
from core.hydraulics.balance import Balancer
from core.hydraulics.network_update import network_of
from core.hydraulics.pressures import find_pressures
from core.plant.as_set import plant_for
from core.plant.model import Case, Plant
from core.solve.boiling import boiling
from core.solve.laws import broken_laws
from core.solve.notes import find_notes
from core.solve.report import figures_of
from core.solve.settle import CaseRun, Settled
from core.solve.setup import CaseSetup
from core.solve.solution import Solution
from core.solve.thermostat_results import Pinned
from core.solve.thermostats import Thermostats
from core.solve.transient import Course
from core.solve.transient_notes import lasting_notes
from core.thermal.flowing import STILL
from core.thermal.roles import Regime, Source
from core.thermal.rooms import known_losses, rooms_of

KeepOn = Callable[[], bool] | None
"""Asked before every pass whether the answer is still wanted."""


class Solver:
    """Solves the cases of one plant on one network; each case stands alone, whatever was solved before it.

    Attributes
    ----------
    last : Settled or None
        All that is known of the case solved last
    """

    def __init__(self, plant: Plant) -> None:
        self.plant = plant
        self.net = network_of(plant)
        self.balancer = Balancer(self.net)
        self.wiring = Wiring(plant, Signals(plant))
        self.stats = stats_of(plant)
        self.losses = known_losses(plant)
        self.drives_nothing = frozenset(key for key in self.stats if not self.wiring.reached(key))
        self.last: Settled | None = None
        self._start: Settled | None = None  # what the case now being solved came to so far
        self._at_rest: set[str] = set()  # states of bodies in it that gravity was found not to drive
        self._other: Solver | None = None
        self.keep_on: KeepOn = None
        self._prepare: Callable[[CaseSetup], None] | None = None
        self._undriven: frozenset[int] = frozenset()
        self._ends: Mapping[str, float] = {}

    def solve(self, case: Case, keep_on: KeepOn = None, noted: bool = True) -> Solution:
        """The settled case as figures and notes; without notes where nobody will read them.

        Raises
        ------
        Dropped
            Where `keep_on`, asked before every pass, says False
        """
        seen = plant_for(self.plant, case)
        if seen is not self.plant:
            answer = self._seen(seen).solve(case, keep_on, noted)
            self.last = self._seen(seen).last
            return answer
        s = self.settle(case, keep_on)
        pressures = find_pressures(self.balancer, s.settings, s.balance, s.rho, s.mu, s.column)
        boils = any(boiling(s, pressures, body) for body in self.net.bodies)
        pipes, items = figures_of(s, pressures)
        converged = s.converged and not boils
        solution = Solution(
            case.name, dict(s.signals.on), converged, s.passes, s.balance.residual, pipes, items
        )
        if not noted:
            return solution
        notes = (*find_notes(s, pressures, solution), *lasting_notes(s, pressures, solution))
        return replace(solution, notes=notes)

    def settle(self, case: Case, keep_on: KeepOn = None) -> Settled:
        """The settled case, with its stats at rest; raises Dropped as `solve` does."""
        seen = plant_for(self.plant, case)
        if seen is not self.plant:
            self.last = self._seen(seen).settle(case, keep_on)
            return self.last
        self.keep_on, self._start, self._at_rest = keep_on, None, set()
        if case.si.lasts is None:
            settled = self._thermostats(case).settle()
        else:
            rooms = rooms_of(self.plant, self.losses, case.si.outdoor)
            settled = Course(
                self.net, case, rooms, self._stats(case), self.drives_nothing, self._thermostats
            ).settle()
        self.last = settled
        if settled.converged:
            settled.broken = broken_laws(settled)
            settled.converged = not settled.broken
        return settled

    def moment(
        self,
        case: Case,
        signals: SignalStates,
        prepare: Callable[[CaseSetup], None],
        start: Settled | None = None,
        undriven: frozenset[int] = frozenset(),
        ends: Mapping[str, float] = MappingProxyType({}),
    ) -> Settled:
        """The water at one moment of a course in time: all signals known, what stores heat prepared.

        Parameters
        ----------
        case : Case
            Its `set` is not read: the solver's plant is what the case sees
        signals : SignalStates
        prepare : callable
            Puts temperatures of tanks, rooms and masses into the roles of a case
        start : Settled or None
            An answer of the same state, to start from
        undriven : frozenset of int
            Bodies known not to be set going by any push, as `Settled.undriven` of about the same temperatures
        ends : mapping
            Ends of their travel, by control, short of which about these temperatures left nothing to hold
        """
        self._start, self._at_rest, self._prepare, self._undriven = start, set(), prepare, undriven
        self._ends = ends
        try:
            return self._with_units(case, signals, Regime())
        finally:
            self._prepare, self._undriven, self._ends = None, frozenset(), {}

    def _stats(self, case: Case) -> dict[str, Stat]:
        """Stats at the points of the case's weather."""
        outdoor = self.plant.site_si.outdoor_design if case.si.outdoor is None else case.si.outdoor
        return as_reset(self.stats, find_resets(self.plant, outdoor))

    def _thermostats(self, case: Case, pinned: Pinned | None = None) -> Thermostats:
        self._start, self._at_rest = None, set()  # every moment of a case that lasts starts cold
        stats, losses, drives_nothing = self._stats(case), self.losses, self.drives_nothing
        return Thermostats(
            self.net, case, self.wiring, stats, losses, drives_nothing, self._with_units, pinned
        )

    def _seen(self, plant: Plant) -> Solver:
        """The solver of this plant as a case sees it, kept for cases that set the same."""
        if self._other is None or self._other.plant is not plant:
            self._other = Solver(plant)
        return self._other

    def _with_units(self, case: Case, signals: SignalStates, regime: Regime) -> Settled:
        """Settle with the fewest units of each linked group that hold its set point."""
        groups = _linked_groups(self.plant, signals)
        counts = dict.fromkeys(groups, 1)
        while True:
            idle = {u: "linked" for name, units in groups.items() for u in units[counts[name] :]}
            answer = self._with_starts(case, signals, idle, regime)
            more = [
                name
                for name, units in groups.items()
                if counts[name] < len(units) and not (answer.converged and _holds_set_point(answer, units))
            ]
            if not more:
                return answer
            counts.update((name, counts[name] + 1) for name in more)

    def _run(self, case: Case, signals: SignalStates, idle: dict[str, str], regime: Regime) -> CaseRun:
        setup = CaseSetup(self.net, case, signals, idle, self.losses, regime)
        if self._prepare is not None:
            self._prepare(setup)
        run = CaseRun(setup, self.balancer, self._start, self.keep_on)
        run.skip_known_ends(self._ends)
        run.near = self._prepare is not None
        return run

    def _with_starts(
        self, case: Case, signals: SignalStates, idle: dict[str, str], regime: Regime
    ) -> Settled:
        """Settle from a quiet start; where only gravity could drive, from a push each way.

        A body that stood still from both is not pushed again in the same state.
        """
        run = self._run(case, signals, idle, regime)
        run.skip_known_still(self._at_rest, self._undriven)
        if not run.gravity_bodies:
            self._start = run.settle(0.0)
            self._start.undriven = self._undriven
            return self._start
        answer = self._start = run.settle(1.0)
        answer.undriven = self._undriven | run.standing(answer)
        if not run.stands_still(answer) or not run.could_be_driven(answer):
            return answer
        again = self._run(case, signals, idle, regime)
        again.skip_known_still(self._at_rest, self._undriven)
        second = again.settle(-1.0, again=True)
        if not again.stands_still(second):
            self._start = second
            second.undriven = self._undriven
            return second
        answer.undriven &= self._undriven | again.standing(second)
        self._at_rest |= run.at_rest(answer) & again.at_rest(second)
        return answer


def solve_case(plant: Plant, case: Case, start: Solver | None = None, keep_on: KeepOn = None) -> Solution:
    """Solve one case.

    Parameters
    ----------
    plant : Plant
    case : Case
    start : Solver or None
        A solver of the same plant, to reuse its network
    keep_on : callable or None
        Asked before every pass: whether the answer is still wanted

    Returns
    -------
    Solution

    Raises
    ------
    Dropped
        Where `keep_on` says False
    """
    solver = start if start is not None and start.plant is plant else Solver(plant)
    return solver.solve(case, keep_on)


def solve_plant(plant: Plant, names: Iterable[str] | None = None, keep_on: KeepOn = None) -> list[Solution]:
    """Solve the named cases, or all, in the plant's order; raises Dropped where `keep_on` says False."""
    solver = Solver(plant)
    wanted = None if names is None else set(names)
    return [solver.solve(c, keep_on) for c in plant.solve_cases if wanted is None or c.name in wanted]


def _linked_groups(plant: Plant, signals: SignalStates) -> dict[str, list[str]]:
    groups: dict[str, list[str]] = {}
    for item in plant.items.values():
        linked = item.si.get("linked") and item.stage != "to_remove"
        if linked and signals.lets_run(item.id, item.si):
            groups.setdefault(str(item.si["linked"]), []).append(item.id)
    return {k: v for k, v in groups.items() if len(v) > 1}


def _holds_set_point(settled: Settled, members: list[str]) -> bool:
    for key in members:
        e = settled.net.of_item[key][0]
        if settled.thermal.given_share.get(e.index, 1.0) < 1.0 - 1e-9:
            return False
        if abs(float(settled.balance.w[e.index])) <= STILL:
            continue
        role = settled.roles.of[e.index]
        set_at = role.set_at if isinstance(role, Source) else None
        if set_at is not None and float(settled.thermal.t_out[e.index]) < set_at - 1e-3:
            return False
    return True
