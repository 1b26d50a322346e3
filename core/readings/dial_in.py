"""Dialing in: which setting to turn next, how far, and what each instrument should then show.

The proportional method of balancing: of the circuits behind one circulator, the one that gets the least share
of its design flow has its valve wide open; that with the greatest share is throttled until it gets the same
share; and so on until all get alike. Then the circulator's speed brings all of them to design flow. Each step
is worked out on the solved plant; where a flow was read, the plant's own is taken to differ from it by the
same factor after the turn, so that the next reading corrects the next step.

The method is common practice, no source; so is that a circuit counts as set within 5 % of its design flow.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

from core.plant.model import Case, Plant
from core.readings.measured import Reading, could_read, shown
from core.sizing.context import Context
from core.sizing.families.balance import Branch, branches
from core.solve.solution import Solution
from core.vocabulary import Trait

CLOSE = 0.05  # a circuit within this share of its design flow is set
ALIKE = 0.02  # shares of one circulator's circuits within this of another are alike
LEAST_SETTING = 0.05  # below it a setting is too fine to make by hand; common practice, no source
FINE = 1e-3  # settings are given to a thousandth
TRIES = 30
MOST_SPEED = 1.0
LOOP_POWER = 1.0 / 1.75  # flow at equal loss goes with length to this power in smooth tube (Blasius)


@dataclass(frozen=True)
class Dialed:
    """A circuit: design flow and what it gets now, [m^3/s]; `read` where a meter said so."""

    at: str
    valve: str
    circulator: str
    case: str
    design: float
    now: float
    read: bool

    @property
    def share(self) -> float:
        """Of its design flow."""
        return self.now / self.design


@dataclass(frozen=True)
class Expected:
    """What an instrument should show after a turn, [K], [Pa] or [m^3/s]."""

    at: str
    what: str
    case: str
    value: float


@dataclass(frozen=True)
class Turn:
    """The next thing to set: a valve's `setting`, or a circulator's `speed`."""

    at: str
    what: str
    before: float
    after: float
    case: str
    because: str
    expected: tuple[Expected, ...] = ()


@dataclass(frozen=True)
class DialIn:
    """Where dialing in stands.

    Attributes
    ----------
    circuits : list of Dialed
    next : Turn or None
        None where all is set, or where nothing that can be turned would help
    done : bool
        Whether every circuit is within 5 % of its design flow
    why : str
        Why it cannot go on, "" where it can or is done
    """

    circuits: list[Dialed]
    next: Turn | None
    done: bool
    why: str = ""


class _Bench:
    """Solves the plant with settings otherwise, with flows corrected by what was read."""

    def __init__(self, plant: Plant, readings: Sequence[Reading]) -> None:
        self.plant = plant
        self.readings = readings
        self.cases: Mapping[str, Case] = {case.name: case for case in plant.solve_cases}
        self._known: dict[tuple[str, tuple[tuple[str, str, float], ...]], Solution] = {}

    def solution(self, case: str, *turns: tuple[str, str, float]) -> Solution:
        from core.solve.solver import Solver

        key = (case, turns)
        if key not in self._known:
            plant = self.plant
            for at, what, value in turns:
                turned = plant.items[at].with_si(**{what: value})
                plant = replace(plant, items={**plant.items, at: turned})
            self._known[key] = Solver(plant).solve(self.cases[case])
        return self._known[key]

    def factor(self, branch: Branch) -> tuple[float, bool]:
        """Flow that was read over the plant's own, at the circuit or its valve; 1 where none was read."""
        names = {branch.demand.at, branch.valve.key, *self._run_of(branch)}
        solution = self.solution(branch.case)
        for one in self.readings:
            if one.what == "flow" and one.case == branch.case and one.at in names:
                own = shown(self.plant, solution, one.at, "flow")
                if own:
                    return one.value / own, True
        return 1.0, False

    def _run_of(self, branch: Branch) -> list[str]:
        """Pipes and meters in one run with the valve: all that carries the same flow."""
        flow = abs(self.solution(branch.case).flow(branch.valve.key))
        keys = [e.key for e in branch.rest]
        here = self.solution(branch.case)
        return [key for key in keys if flow > 0.0 and abs(abs(here.flow(key)) - flow) < 1e-6 * flow]


def dial_in(plant: Plant, readings: Sequence[Reading] = ()) -> DialIn:
    """Which setting to turn next.

    Parameters
    ----------
    plant : Plant
        With the settings as they stand now
    readings : sequence of Reading
        Those taken with these settings; without any the solved flows stand for them
    """
    found = list(branches(Context(plant)).values())
    bench = _Bench(plant, readings)
    found = [one for one in found if one.demand.at in plant.items]
    unsolved = dict.fromkeys(one.case for one in found if not bench.solution(one.case).converged)
    if unsolved:
        return DialIn([], None, False, f"{', '.join(unsolved)} is not solved, so nothing can be said of it.")
    circuits = [_dialed(bench, one) for one in found]
    if not circuits:
        return DialIn([], None, False, "No circuit with a design flow has a balance valve of its own.")
    if all(abs(one.share - 1.0) <= CLOSE for one in circuits):
        return DialIn(circuits, None, True)
    whys: list[str] = []
    for circulator in dict.fromkeys(one.circulator for one in circuits):
        group = [(b, c) for b, c in zip(found, circuits, strict=True) if c.circulator == circulator]
        turn, why = _next_of(bench, circulator, group)
        if turn is not None:
            return DialIn(circuits, turn, False)
        whys += [why] if why else []
    return DialIn(circuits, None, False, " ".join(whys))


def _dialed(bench: _Bench, branch: Branch) -> Dialed:
    factor, read = bench.factor(branch)
    own = abs(bench.solution(branch.case).flow(branch.valve.key))
    design = float(branch.demand.by_case[branch.case].value)
    return Dialed(
        branch.demand.at, branch.valve.key, branch.circulator, branch.case, design, own * factor, read
    )


def _next_of(
    bench: _Bench, circulator: str, group: Sequence[tuple[Branch, Dialed]]
) -> tuple[Turn | None, str]:
    """The next turn behind one circulator, or why there is none."""
    if all(abs(one.share - 1.0) <= CLOSE for _, one in group):
        return None, ""
    index = min(group, key=lambda pair: pair[1].share)
    opened = _opened(bench, *index, max(one.share for _, one in group))
    if opened is not None:
        return opened, ""
    rest = [pair for pair in group if pair[1].share > index[1].share + ALIKE]
    too_fine: list[str] = []
    for branch, one in sorted(rest, key=lambda pair: -pair[1].share):
        turn = _throttled(bench, branch, one, index)
        if turn is not None:
            return turn, ""
        too_fine.append(one.valve)
    turn = _speed(bench, circulator, group) if not too_fine else None
    if turn is not None:
        return turn, ""
    if too_fine:
        return (
            None,
            f"{', '.join(too_fine)} would have to be set finer than by hand: a smaller valve would do.",
        )
    return None, (
        f"All circuits of {circulator} get alike, {index[1].share:.0%} of design flow, and it has no speed "
        "left to give: a larger circulator, wider tube or less flow wanted would cure it."
    )


def _throttled(bench: _Bench, branch: Branch, one: Dialed, index: tuple[Branch, Dialed]) -> Turn | None:
    """The setting at which a circuit gets the same share as the one that gets least; None where too fine."""
    item = bench.plant.items[one.valve]
    before = float(item.si["setting"])
    factors = [bench.factor(b)[0] for b in (branch, index[0])]

    def over(setting: float) -> float:
        solution = bench.solution(one.case, (one.valve, "setting", setting))
        own = factors[0] * abs(solution.flow(one.valve)) / one.design
        least = factors[1] * abs(solution.flow(index[1].valve)) / index[1].design
        return own - least

    after = _where_nothing(over, LEAST_SETTING, before)
    if after is None:
        return None
    why = (
        f"{one.at} gets {one.share:.0%} of its design flow, {index[1].at} the least with {index[1].share:.0%}"
    )
    return _told(bench, Turn(one.valve, "setting", before, round(after / FINE) * FINE, one.case, why))


def _opened(bench: _Bench, branch: Branch, one: Dialed, most: float) -> Turn | None:
    """The valve of the circuit that gets least opened, until it gets its design flow or as much as any."""
    before = float(bench.plant.items[one.valve].si["setting"])
    wanted = min(1.0, most)
    if one.share >= wanted - ALIKE or before > 1.0 - FINE:
        return None
    factor = bench.factor(branch)[0]

    def lacks(setting: float) -> float:
        flow = abs(bench.solution(one.case, (one.valve, "setting", setting)).flow(one.valve))
        return factor * flow / one.design - wanted

    after = 1.0 if lacks(1.0) <= 0.0 else _where_nothing(lacks, before, 1.0) or 1.0
    why = f"{one.at} gets the least, {one.share:.0%} of its design flow, and its valve is not wide open"
    return _told(bench, Turn(one.valve, "setting", before, round(after / FINE) * FINE, one.case, why))


def _where_nothing(of: Callable[[float], float], low: float, high: float) -> float | None:
    """Where a rising function is nothing between two ends; None where it is not within."""
    from scipy.optimize import brentq

    if of(low) > 0.0:
        return None
    return float(brentq(of, low, high, xtol=FINE / 4, maxiter=TRIES)) if of(high) > 0.0 else high


def _speed(bench: _Bench, circulator: str, group: Sequence[tuple[Branch, Dialed]]) -> Turn | None:
    """The speed at which the mean share is 1; None where the circulator cannot."""
    item = bench.plant.items[circulator]
    if item.si.get("control") not in (None, "fixed"):
        return None
    mean = sum(one.share for _, one in group) / len(group)
    before = float(item.si.get("speed") or 1.0)
    after = round(min(before / mean, MOST_SPEED) / FINE) * FINE
    if abs(after - before) < FINE or mean * after / before < 1.0 - CLOSE:
        return None
    why = f"all its circuits get alike, {mean:.0%} of their design flow"
    return _told(bench, Turn(circulator, "speed", before, after, group[0][1].case, why))


def _told(bench: _Bench, turn: Turn) -> Turn:
    """A turn with what the instruments should then show."""
    solution = bench.solution(turn.case, (turn.at, turn.what, turn.after))
    before = bench.solution(turn.case)
    expected = []
    for at, what in could_read(bench.plant, ()):
        if at in bench.plant.pipes:
            continue
        value, was = shown(bench.plant, solution, at, what), shown(bench.plant, before, at, what)
        if value is None:
            continue
        if what == "flow" and was:
            read = [r.value for r in bench.readings if (r.at, r.what, r.case) == (at, what, turn.case)]
            value *= read[-1] / was if read else 1.0
        expected.append(Expected(at, what, turn.case, value))
    return replace(turn, expected=tuple(expected))


@dataclass(frozen=True)
class Loop:
    """One loop in a floor: length [m], its share of the flow by length, what it gets left open [m^3/s]."""

    length: float
    wanted: float
    left_open: float


def loops_of(plant: Plant, name: str, flow: float) -> list[Loop]:
    """The loops of a floor circuit at its flow [m^3/s]: heat goes with length, so should the flow.

    Left open, loops share the flow by their losses: at equal loss it goes with length to the power of -1/1.75
    (Blasius). The difference is what the loop valves at the manifold have to take up.
    """
    item = plant.items[name]
    if not item.has(Trait.LOOPED) or not item.si.get("loops"):
        return []
    lengths = [float(length) for count, length in item.si["loops"] for _ in range(count)]
    total, open_ = sum(lengths), sum(one**-LOOP_POWER for one in lengths)
    return [Loop(one, flow * one / total, flow * one**-LOOP_POWER / open_) for one in lengths]
