"""Solves the cases of a plant: starts, linked units, and what is kept between cases."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from core.controls.signals import Signals, SignalStates, runs
from core.controls.stats import stats_of
from core.controls.wiring import Wiring
from core.hydraulics.balance import Balancer
from core.hydraulics.pressures import find_pressures
from core.hydraulics.renewal import network_of
from core.plant.model import Case, Plant
from core.solve.follow import Following
from core.solve.notes import find_notes
from core.solve.report import figures_of
from core.solve.settle import CaseRun, Settled
from core.solve.setup import CaseSetup
from core.solve.solution import Solution
from core.thermal.flowing import STILL
from core.thermal.heat import heat_table
from core.thermal.roles import Regime, Source
from core.thermal.rooms import known_losses

KeepOn = Callable[[], bool] | None
"""Asked before every pass whether the answer is still wanted."""


class Solver:
    """Solves the cases of one plant, keeping its network and the last answer to start from."""

    def __init__(self, plant: Plant) -> None:
        self.plant = plant
        self.net = network_of(plant)
        self.balancer = Balancer(self.net)
        self.wiring = Wiring(plant, Signals(plant))
        self.stats = stats_of(plant)
        self.losses = known_losses(plant)
        self.moot = frozenset(key for key in self.stats if not self.wiring.reached(key))
        self.last: Settled | None = None
        self.at_rest: set[str] = set()  # cases that gravity was found not to drive
        self.counts: dict[str, int] = {}  # units of each linked group that ran last
        self.keep_on: KeepOn = None

    def solve(self, case: Case, keep_on: KeepOn = None) -> Solution:
        """The settled case as figures and notes.

        Raises
        ------
        Dropped
            Where `keep_on`, asked before every pass, says False
        """
        self.keep_on = keep_on
        s = self.settle(case)
        pressures = find_pressures(self.balancer, s.settings, s.balance, s.rho, s.mu, s.column)
        pipes, items = figures_of(s, pressures)
        return Solution(
            case.name,
            dict(s.signals.on),
            s.converged,
            s.passes,
            s.balance.residual,
            pipes,
            items,
            find_notes(s, pressures, items),
        )

    def settle(self, case: Case) -> Settled:
        """The settled case, with its stats at rest."""
        follow = Following(self.net, case, self.wiring, self.stats, self.losses, self.moot, self._with_units)
        settled = follow.settle()
        self.last = settled
        return settled

    def _with_units(self, case: Case, signals: SignalStates, regime: Regime) -> Settled:
        """Settle with the fewest units of each linked group that hold its set point."""
        groups = _linked_groups(self.plant, signals)
        counts = {name: min(self.counts.get(name, 1), len(m)) for name, m in groups.items()}
        tried: dict[tuple[int, ...], tuple[Settled, bool]] = {}
        while True:
            key = tuple(counts.values())
            idle = {u: "linked" for name, units in groups.items() for u in units[counts[name] :]}
            answer = self._with_starts(case, signals, idle, regime)
            self.last = answer
            fits = {
                name: answer.converged and _holds_set_point(answer, units) for name, units in groups.items()
            }
            tried[key] = (answer, all(fits.values()))
            wanted = {
                name: _next_count(answer, units, counts[name], fits[name]) for name, units in groups.items()
            }
            if tuple(wanted.values()) in tried:
                break
            counts = wanted
        held = {key: a for key, (a, fit) in tried.items() if fit}
        best = min(held) if held else max(tried, key=lambda k: _all_duty(tried[k][0], groups))
        self.counts.update(zip(groups, best, strict=True))
        self.last = tried[best][0]
        return self.last

    def _run(self, case: Case, signals: SignalStates, idle: dict[str, str], regime: Regime) -> CaseRun:
        before = self.last.devices if self.last else []
        return CaseRun(
            CaseSetup(self.net, case, signals, idle, before, self.losses, regime),
            self.balancer,
            self.last,
            self.keep_on,
        )

    def _with_starts(
        self, case: Case, signals: SignalStates, idle: dict[str, str], regime: Regime
    ) -> Settled:
        """Settle from a quiet start; where only gravity could drive, from a push each way.

        A case that stood still from both is not pushed again.
        """
        run = self._run(case, signals, idle, regime)
        run.hush(self.at_rest)
        if not run.gravity_bodies:
            return run.settle(0.0)
        known = repr((case, idle, signals.on, regime))
        if known in self.at_rest:
            return run.settle(0.0)
        answer = run.settle(1.0)
        if not run.stands_still(answer) or not run.could_be_driven(answer):
            return answer
        self.last = answer  # controls go on from where they stood
        again = self._run(case, signals, idle, regime)
        again.hush(self.at_rest)
        second = again.settle(-1.0)
        if not again.stands_still(second):
            return second
        self.at_rest |= {known, *(run.at_rest(answer) & again.at_rest(second))}
        return answer


def solve_case(plant: Plant, case: Case, start: Solver | None = None, keep_on: KeepOn = None) -> Solution:
    """Solve one case.

    Parameters
    ----------
    plant : Plant
    case : Case
    start : Solver or None
        A solver of the same plant, to reuse its network and last answer
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
        if linked and runs(item.si, signals.on):
            groups.setdefault(str(item.si["linked"]), []).append(item.id)
    return {k: v for k, v in groups.items() if len(v) > 1}


def _unit_duties(settled: Settled, members: list[str]) -> list[float]:
    duties = []
    for key in members:
        e = settled.net.of_item[key][0]
        table = heat_table(settled.net.bodies[settled.net.body_of[e.start]].fluid)
        t = settled.thermal
        rise = table.content(float(t.t_out[e.index])) - table.content(float(t.t_in[e.index]))
        duties.append(abs(float(settled.balance.w[e.index])) * max(0.0, rise))
    return duties


def _all_duty(settled: Settled, groups: dict[str, list[str]]) -> float:
    return sum(sum(_unit_duties(settled, units)) for units in groups.values())


def _next_count(settled: Settled, units: list[str], count: int, fits: bool) -> int:
    """One more unit where these do not hold the set point; one less where fewer could carry the heat."""
    if not fits:
        return min(count + 1, len(units))
    capacity = [float(settled.net.plant.items[u].si.get("capacity") or 0.0) for u in units[: count - 1]]
    enough = count > 1 and sum(capacity) * (1.0 + 1e-6) >= sum(_unit_duties(settled, units))
    return count - 1 if enough else count


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
