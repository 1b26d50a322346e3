"""Which changes would bring a circuit or tap more, each put into the plant, solved, and ranked.

The effect is that of the case in which it fares worst; what it harms is looked for in every case. First come
cures that reach what is needed and harm nobody, then those with fewer joints to open, then fewer watts, then
more gain. No cure runs anything above its max_temperature. Where no single one reaches what is needed without
harm, pairs of the ten that bring most are tried too, and the one that brings most with every other. Of steps
of one change the greatest is tried first; where it brings nothing, the lesser ones are not tried.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from enum import Enum
from functools import partial
from itertools import combinations
from typing import Any, NamedTuple

from core.cures.beside import hotter, more_power
from core.cures.calmer import longer, slower
from core.cures.candidate import LESS, Candidate, NotTried, Surroundings
from core.cures.harms import harmed
from core.cures.inline import inline
from core.cures.judged import HEAT, HEATS, RUN, SPEED, SWING, Judged, judge
from core.cures.mixing import stations
from core.cures.placing import Solve
from core.cures.settings import not_tried, settings
from core.cures.structures import structures
from core.errors import WetsideError
from core.plant.changes import Change, apply, fitted
from core.plant.model import Case, Plant
from core.questions.headlines import pair
from core.questions.intake import ZERO
from core.questions.resting import Marks
from core.questions.trials import KeepOn, OnProgress
from core.sizing.second_circulator.study import Bench
from core.solve import Solution, Solver

LEAST_GAIN = 0.01  # share of what is needed below which a change is no cure
BEST = 10
UNORDERED = ("curve",)  # changes whose greatest step may bring less than a lesser one
UNKNOWN_WATTS = 1e6  # [W] ranks a circulator of unknown power behind all others
SHOWN = {
    "W": ("power", 0.0),
    "degC": ("temperature", ZERO),
    "m/s": ("velocity", 0.0),
    "s": ("time", 0.0),
    "K": ("temperature_difference", 0.0),
}
PAIR_TEXT = "together: {} and {}"


class Effect(NamedTuple):
    """What a cure does to the figure judged: before and after, in the unit of its key."""

    what: str
    before: float
    after: float
    unit: str

    def shown(self, system: str) -> str:
        """Before and after in words."""
        dimension, zero = SHOWN[self.unit]
        return pair(self.before + zero, self.after + zero, dimension, system)


@dataclass(frozen=True)
class Cure:
    """One cure, or a pair of two; `mark` is ~ where its effect rests on a guess."""

    candidate: Candidate
    case: str
    effect: Effect
    power: float | None
    harms: tuple[str, ...]
    reaches: bool
    gain: float
    pair: tuple[Candidate, Candidate] | None = None
    mark: str = ""

    @property
    def cures(self) -> bool:
        """Whether it brings what is needed and harms nobody."""
        return self.reaches and not self.harms

    @property
    def rank(self) -> tuple[bool, int, float, float, float]:
        """The best first; of those that gain the same, the lesser step."""
        watts = UNKNOWN_WATTS if self.power is None else round(self.power, 1)
        return not self.cures, self.candidate.opens, watts, -float(f"{self.gain:.5g}"), self.candidate.step

    def as_data(self, cost: float | None = None) -> dict[str, Any]:
        """Plain data for --json."""
        pair = self.pair and [{"change": one.change, "at": one.at} for one in self.pair]
        return {
            "change": self.candidate.change,
            "at": self.candidate.at,
            "case": self.case,
            "effect": self.effect._asdict(),
            "power_w": self.power,
            "cost": cost,
            "opens": self.candidate.opens,
            "harms": list(self.harms),
            "pair": pair,
            "text": self.candidate.text,
            "trade": self.candidate.trade,
            "reaches": self.reaches,
        }


@dataclass(frozen=True)
class Cures:
    """What was found for one circuit or tap: what it needs and gets in the case in which it fares worst, in
    `unit`; `sign` is 1 where it gets too little, -1 where too much, 0 where all is well; `what` is the figure
    judged, `where` the pipe, source or stat it is of where that is not `at`."""

    at: str
    case: str
    wanted: float | None
    before: float | None
    cures: tuple[Cure, ...]
    not_tried: tuple[NotTried, ...]
    tried: int = 0
    sign: float = 1.0
    unit: str = "W"
    what: str = HEAT
    where: str = ""

    def as_data(self, costs: Sequence[float | None] = ()) -> dict[str, Any]:
        """Plain data for --json; `costs` are those of the cures, where there is a price list."""
        each = costs or [None] * len(self.cures)
        return {
            "at": self.at,
            "wanted": self.wanted,
            "case": self.case,
            "what": self.what,
            "where": self.where,
            "value": self.before,
            "unit": self.unit,
            "cures": [cure.as_data(cost) for cure, cost in zip(self.cures, each, strict=True)],
            "not_tried": [one.as_data() for one in self.not_tried],
            "tried": self.tried,
        }


def seek(
    plant: Plant, at: str, keep_on: KeepOn | None = None, on_progress: OnProgress | None = None
) -> Cures:
    """Cures of one circuit or tap.

    Parameters
    ----------
    plant : Plant
    at : str
        A circuit or tap
    keep_on : callable or None
        Asked during the solving; where it says False this raises core.solve.Dropped
    on_progress : callable or None
        Told how many changes are tried, of how many
    """
    search = _Search(plant, at, keep_on)
    worst = search.worst()
    if worst is None:
        return Cures(at, "", None, None, (), ())
    case, judged = worst
    if judged.sign == 0.0:
        return Cures(
            at, case.name, judged.wanted, judged.value, (), (), 0, 0.0, judged.unit, judged.what, judged.where
        )
    return search.run(case, judged, on_progress)


class Tried(Enum):
    """What came of a candidate that does not help."""

    NOT_SOLVED = "not solved, or too hot"
    IN_VAIN = "brings too little"


class _Helpful(NamedTuple):
    """A cure, the plant with it, and that plant solved in the case in which it was tried."""

    cure: Cure
    plant: Plant
    after: Solution


class _Search:
    """All that is solved for one circuit or tap."""

    def __init__(self, plant: Plant, at: str, keep_on: KeepOn | None) -> None:
        self.plant, self.at, self.keep_on = plant, at, keep_on
        self.cases = list(plant.solve_cases)
        solver = Solver(plant)
        self.before = {case.name: solver.solve(case, keep_on) for case in self.cases}
        self.tried = 0
        self.marks = Marks(plant, keep_on)
        self.steps: dict[
            tuple[str, str], list[Candidate]
        ] = {}  # of each change at each place, greatest first

    def worst(self) -> tuple[Case, Judged] | None:
        """The case in which it misses most, short ones first; None where it has no part in any."""
        found = [
            (case, judged)
            for case in self.cases
            if self.before[case.name].converged
            and (judged := judge(self.plant, self.before[case.name], case, self.at)) is not None
        ]
        return max(found, key=lambda pair: pair[1].weight, default=None)

    def run(self, case: Case, judged: Judged, on_progress: OnProgress | None) -> Cures:
        """Try every candidate in the worst case, then what the helpful ones harm."""
        before = self.before[case.name]
        more = 1.0 if judged.what == SWING else judged.sign  # more flow changes water less
        near = Surroundings(self.plant, self.at, case, before, more, judged.what, judged.where)
        near.lacks = judged.value if judged.what == SWING else 0.0
        if judged.what == SPEED:  # first just below the limit
            near.less = (round(0.99 * judged.wanted / judged.value, 3), *LESS)

        def solve(plant: Plant) -> Solution:
            return Solver(plant).solve(case, self.keep_on)

        offered = list(self.offered(near, case, solve))
        left_out = [one for one in offered if isinstance(one, NotTried)]
        found = [one for one in offered if isinstance(one, Candidate)]
        helpful, strongest = self.singles(found, case, judged, on_progress)
        best = self.first_checked(helpful, case)
        pairs: list[Cure] = []
        if not any(cure.cures for cure in best):
            gains = {id(one.cure.candidate): one.cure.gain for one in helpful}
            order = sorted(strongest, key=lambda one: -gains.get(id(one), 0.0))
            pairs = self.pairs(order, case, judged, on_progress)
        mark = self.marks.at(case, self.at, judged.where, what=judged.what if judged.what in HEATS else "")
        ranked = [replace(one, mark=mark) for one in sorted((*best, *pairs), key=lambda cure: cure.rank)]
        return Cures(
            self.at,
            case.name,
            judged.wanted,
            judged.value,
            tuple(ranked),
            tuple(dict.fromkeys(left_out)),
            self.tried,
            judged.sign,
            judged.unit,
            judged.what,
            judged.where,
        )

    def offered(self, near: Surroundings, case: Case, solve: Solve) -> Iterator[Candidate | NotTried]:
        """All that might help, and what is left out."""
        if near.what == SPEED:
            yield from slower(near)
        elif near.what in (RUN, SWING):
            yield from longer(near)
        else:
            yield from not_tried(near)
            yield from settings(near)
            yield from inline(near, Bench(self.plant, case, self.keep_on))
            yield from structures(near, solve)
            yield from stations(near, solve)

    def singles(
        self, found: Sequence[Candidate], case: Case, judged: Judged, on_progress: OnProgress | None
    ) -> tuple[list[_Helpful], list[Candidate]]:
        """Candidates that help, and the greatest step of each change; where that one is solved and brings
        nothing, the lesser steps are not tried."""
        families = self.steps
        for one in found:
            families.setdefault(one.family, []).append(one)
        helpful: list[_Helpful] = []
        strongest = []
        for number, members in enumerate(families.values(), 1):
            members.sort(key=lambda one: -one.step)
            strongest.append(members[0])
            for one in members:
                cure = self.tried_out(one, case, judged)
                if isinstance(cure, _Helpful):
                    helpful.append(cure)
                elif cure is Tried.IN_VAIN and one is members[0] and one.change not in UNORDERED:
                    break
            if on_progress is not None:
                on_progress(number, len(families))
        return helpful, strongest

    def first_checked(self, helpful: Sequence[_Helpful], worst: Case) -> list[Cure]:
        """The ten best with what they harm: first those that harm nobody in the worst case, then others."""
        seen = [self.with_harms(one, worst) for one in helpful]
        seen.sort(key=lambda one: one.cure.rank)
        checked: list[Cure] = []
        for one in seen:
            if len(checked) >= BEST and (one.cure.harms or not one.cure.reaches):
                break
            checked.append(self.checked(one, worst))
            if sum(cure.cures for cure in checked) >= BEST:
                break
        return sorted(checked, key=lambda cure: cure.rank)[:BEST]

    def tried_out(self, candidate: Candidate, case: Case, judged: Judged) -> _Helpful | Tried:
        """A candidate solved in the worst case; else whether it was solved and brings too little."""
        try:
            plant = apply(self.plant, candidate.make(self.plant))
            self.tried += 1
            after = Solver(plant).solve(case, self.keep_on)
        except (WetsideError, KeyError, StopIteration):
            return Tried.NOT_SOLVED
        before = self.before[case.name]
        if not after.converged or hotter((self.plant, before), (plant, after)):
            return Tried.NOT_SOLVED
        value = self.value(plant, after, case, judged)
        if value is None:
            return Tried.NOT_SOLVED
        gain = judged.sign * (value - judged.value)
        if judged.what not in HEATS:  # more than is wanted of it is no gain
            gain = min(gain, abs(judged.wanted - judged.value))
        if gain < LEAST_GAIN * judged.wanted or gain <= 0.0:
            return Tried.IN_VAIN
        effect = Effect(judged.what, judged.value, value, judged.unit)
        power = more_power((self.plant, before), (plant, after), case)
        now = judge(plant, after, case, self.at, judged.what)
        reaches = now is not None and (now.sign == 0.0 or (judged.what == HEAT and now.sign < judged.sign))
        return _Helpful(Cure(candidate, case.name, effect, power, (), reaches, gain), plant, after)

    def value(self, plant: Plant, after: Solution, case: Case, judged: Judged) -> float | None:
        """The figure judged, with a change in the plant; None where it has no part in the case any more."""
        if judged.what in HEATS:
            found = after.value(self.at, judged.what)
            return None if found is None else float(found)
        now = judge(plant, after, case, self.at, judged.what)
        return None if now is None else now.value

    def with_harms(self, one: _Helpful, case: Case) -> _Helpful:
        """With what it harms in the case in which it was tried."""
        harms = tuple(
            harmed((self.plant, self.before[case.name]), (one.plant, one.after), case, self.own(one.cure))
        )
        return one._replace(cure=replace(one.cure, harms=harms))

    def own(self, cure: Cure) -> str:
        """Whose heat the cure may change: that of the one cured where its heat is judged, else nobody's."""
        return self.at if cure.effect.what in HEATS else ""

    def checked(self, one: _Helpful, worst: Case) -> Cure:
        """The cure with what it harms in any case; it reaches what is needed where it does in every one.

        Cases that last take long to solve: they are asked last, and only of what is a cure until then.
        """
        harms, reaches = list(one.cure.harms), one.cure.reaches
        sign = 1.0 if one.cure.effect.after > one.cure.effect.before else -1.0
        for case in sorted(self.cases, key=lambda one: one.lasts is not None):
            before = self.before[case.name]
            if case is worst or not before.converged:
                continue
            if case.lasts is not None and (harms or not reaches):
                continue
            after = Solver(one.plant).solve(case, self.keep_on)
            if not after.converged:
                harms.append(f"{case.name} is not solved with it")
                continue
            states = (self.plant, before), (one.plant, after)
            if hotter(*states):
                harms.append(f"something is above its rated temperature in {case.name}")
            harms += harmed(*states, case, self.own(one.cure))
            was, now = (judge(*state, case, self.at, one.cure.effect.what) for state in states)
            if was is not None and was.sign * sign > 0.0 and (now is None or now.sign * sign > 0.0):
                reaches = False
        return replace(one.cure, harms=tuple(dict.fromkeys(harms)), reaches=reaches)

    def pairs(
        self, order: Sequence[Candidate], case: Case, judged: Judged, on_progress: OnProgress | None
    ) -> list[Cure]:
        """Two changes that together reach what is needed without harm: pairs of the ten that bring most, and
        the one that brings most with every other; each at its greatest step, and where that harms, at lesser
        ones."""
        both = [*combinations(order[:BEST], 2), *((order[0], other) for other in order[BEST:])]
        reaching: list[_Helpful] = []
        for number, (first, second) in enumerate(both, 1):
            found = self.together(first, second, case, judged)
            lesser = [(first, other) for other in self.lesser(second)]
            lesser += [(other, second) for other in self.lesser(first)]
            while found is not None and found.cure.harms and lesser:
                less = self.together(*lesser.pop(0), case, judged)
                found = less if less is not None and not less.cure.harms else found
            if found is not None and not found.cure.harms:
                reaching.append(found)
            if on_progress is not None:
                on_progress(number, len(both))
        reaching.sort(key=lambda one: one.cure.rank)
        return [cure for one in reaching[:BEST] if (cure := self.checked(one, case)).cures]

    def lesser(self, one: Candidate) -> list[Candidate]:
        """Lesser steps of a change, of which its greatest is the first."""
        return self.steps[one.family][1:] if one.change not in UNORDERED else []

    def together(self, first: Candidate, second: Candidate, case: Case, judged: Judged) -> _Helpful | None:
        """Two changes put in and solved, with whom they harm; None where they do not reach what is needed."""
        joint = Candidate(
            first.change,
            first.at,
            PAIR_TEXT.format(first.text, second.text),
            partial(_both, first, second),
            first.opens + second.opens,
            "; ".join(dict.fromkeys(t for t in (first.trade, second.trade) if t)),
        )
        one = self.tried_out(joint, case, judged)
        if not isinstance(one, _Helpful) or not one.cure.reaches:
            return None
        return self.with_harms(one._replace(cure=replace(one.cure, pair=(first, second))), case)


def _both(first: Candidate, second: Candidate, plant: Plant) -> list[Change]:
    changes = first.make(plant)
    return [*changes, *second.make(apply(plant, changes))]


def take(plant: Plant, cure: Cure) -> Plant:
    """The plant with a cure in it.

    Raises
    ------
    Refusal
        Where the outcome would not be valid
    """
    return fitted(plant, cure.candidate.make(plant))
