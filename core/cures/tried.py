"""Which changes would bring a circuit or tap more, each put into the plant, solved, and ranked.

The effect is that of the case in which it fares worst; what it harms is looked for in every case. First come
cures that reach what is needed and harm nobody, then those with fewer joints to open, then fewer watts, then
more gain. No cure runs anything above its max_temperature. Where no single one reaches what is needed without
harm, pairs of the ten that bring most are tried too, and the one that brings most with every other. Of steps
of one change the greatest is tried first; where it brings nothing, the lesser ones are not tried.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import Enum
from functools import partial
from itertools import combinations
from typing import Any, NamedTuple

from core.cures.beside import hotter, more_power
from core.cures.candidate import Candidate, NotTried, Surroundings
from core.cures.harms import harmed
from core.cures.inline import inline
from core.cures.mixing import stations
from core.cures.settings import not_tried, settings
from core.cures.structures import structures
from core.errors import WetsideError
from core.figures import EmitterFigures, OutletFigures, RoomFigures
from core.plant.as_set import plant_for
from core.plant.changes import Change, apply, fitted
from core.plant.model import Case, Plant
from core.questions.headlines import pair
from core.questions.intake import NO_FLOW, ZERO
from core.questions.shortness import shares_short
from core.questions.trials import KeepOn, OnProgress
from core.sizing.second_circulator.study import Bench
from core.solve import Solution, Solver
from core.vocabulary import Trait

ENOUGH = 0.99  # share of what is needed that counts as reached
LEAST_GAIN = 0.01  # share of what is needed below which a change is no cure
BEST = 10
UNORDERED = ("curve",)  # changes whose greatest step may bring less than a lesser one
TOO_WARM = 1.0  # [K] over its set temperature from which on a tap counts as too warm
TOO_MUCH = 1.2  # times what is needed, of a circuit whose room is not solved
DEFAULT_MIX = 313.7  # [K] of a fixture without a set temperature (common practice, no source)
UNKNOWN_WATTS = 1e6  # [W] ranks a circulator of unknown power behind all others
PAIR_TEXT = "together: {} and {}"


class Effect(NamedTuple):
    """What a cure does to the figure judged: before and after, in the unit of its key."""

    what: str
    before: float
    after: float
    unit: str

    def shown(self, system: str) -> str:
        """Before and after in words."""
        dimension, zero = ("power", 0.0) if self.unit == "W" else ("temperature", ZERO)
        return pair(self.before + zero, self.after + zero, dimension, system)


@dataclass(frozen=True)
class Cure:
    """One cure, or a pair of two."""

    candidate: Candidate
    case: str
    effect: Effect
    power: float | None
    harms: tuple[str, ...]
    reaches: bool
    gain: float
    pair: tuple[Candidate, Candidate] | None = None

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
    `unit`; `sign` is 1 where it gets too little, -1 where too much, 0 where all is well."""

    at: str
    case: str
    wanted: float | None
    before: float | None
    cures: tuple[Cure, ...]
    not_tried: tuple[NotTried, ...]
    tried: int = 0
    sign: float = 1.0
    unit: str = "W"

    def as_data(self, costs: Sequence[float | None] = ()) -> dict[str, Any]:
        """Plain data for --json; `costs` are those of the cures, where there is a price list."""
        each = costs or [None] * len(self.cures)
        return {
            "at": self.at,
            "wanted": self.wanted,
            "case": self.case,
            "cures": [cure.as_data(cost) for cure, cost in zip(self.cures, each, strict=True)],
            "not_tried": [one.as_data() for one in self.not_tried],
            "tried": self.tried,
        }


class _Judged(NamedTuple):
    """The figure that is judged in one solved case: its key, value, what is wanted, and 1 where more of it is
    wanted, -1 where less is, 0 where it is well."""

    what: str
    value: float
    wanted: float
    sign: float
    miss: float

    @property
    def unit(self) -> str:
        """Unit of the figure."""
        return "W" if self.what.endswith("_w") else "degC"


def can_cure(plant: Plant, at: str) -> bool:
    """Whether an id is a circuit or tap that cures can be sought for."""
    item = plant.items.get(at)
    return item is not None and item.stays and item.has(Trait.GIVES_HEAT, Trait.DRAWS_WATER)


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
        return Cures(at, case.name, judged.wanted, judged.value, (), (), sign=0.0, unit=judged.unit)
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

    def worst(self) -> tuple[Case, _Judged] | None:
        """The case in which it misses most, short ones first; None where it has no part in any."""
        found = [
            (case, judged)
            for case in self.cases
            if self.before[case.name].converged
            and (judged := self.judged(self.plant, self.before[case.name], case)) is not None
        ]
        if not found:
            return None
        return max(found, key=lambda pair: (pair[1].sign > 0.0, pair[1].sign != 0.0, pair[1].miss))

    def judged(self, plant: Plant, solution: Solution, case: Case) -> _Judged | None:
        """How it fares in a solved case; None where it is not called or draws nothing."""
        figures = solution.items.get(self.at)
        if isinstance(figures, OutletFigures):
            if figures.flow_m3_s <= NO_FLOW:
                return None
            set_at = plant_for(plant, case).items[self.at].si.get("set_temperature")
            wanted = float(DEFAULT_MIX if set_at is None else set_at) - 273.15
            miss = wanted - figures.temperature_c
            sign = 1.0 if miss > (1.0 - ENOUGH) * wanted else -1.0 if miss < -TOO_WARM else 0.0
            return _Judged("temperature_c", figures.temperature_c, wanted, sign, abs(miss))
        if isinstance(figures, EmitterFigures):
            if abs(figures.flow_m3_s) <= NO_FLOW and self.at not in shares_short(plant, case, solution):
                return None
            short = figures.short_w > (1.0 - ENOUGH) * figures.wanted_w
            over = not short and self._overheats(plant, solution, figures)
            sign = 1.0 if short else -1.0 if over else 0.0
            miss = abs(figures.wanted_w - figures.delivered_w) / max(figures.wanted_w, 1.0)
            return _Judged("delivered_w", figures.delivered_w, figures.wanted_w, sign, miss)
        return None

    def _overheats(self, plant: Plant, solution: Solution, figures: EmitterFigures) -> bool:
        """Whether it makes its room too warm, or gives much more than is needed where no room is solved."""
        room = solution.at(str(plant.items[self.at].si.get("serves") or ""), RoomFigures)
        if room is not None:
            return room.temperature_c > room.wanted_c + TOO_WARM
        item = plant.items[self.at]
        return bool(item.si.get("load")) and figures.delivered_w > TOO_MUCH * figures.wanted_w > 0.0

    def run(self, case: Case, judged: _Judged, on_progress: OnProgress | None) -> Cures:
        """Try every candidate in the worst case, then what the helpful ones harm."""
        near = Surroundings(self.plant, self.at, case, self.before[case.name], judged.sign)
        bench = Bench(self.plant, case, self.keep_on)

        def solve(plant: Plant) -> Solution:
            return Solver(plant).solve(case, self.keep_on)

        found: list[Candidate] = []
        left_out = list(not_tried(near))
        for one in (*settings(near), *inline(near, bench), *structures(near, solve), *stations(near, solve)):
            if isinstance(one, NotTried):
                left_out.append(one)
            else:
                found.append(one)
        helpful, strongest = self.singles(found, case, judged, on_progress)
        best = self.first_checked(helpful, case)
        pairs: list[Cure] = []
        if not any(cure.cures for cure in best):
            gains = {id(one.cure.candidate): one.cure.gain for one in helpful}
            order = sorted(strongest, key=lambda one: -gains.get(id(one), 0.0))
            pairs = self.pairs(order, case, judged, on_progress)
        ranked = sorted((*best, *pairs), key=lambda cure: cure.rank)
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
        )

    def singles(
        self, found: Sequence[Candidate], case: Case, judged: _Judged, on_progress: OnProgress | None
    ) -> tuple[list[_Helpful], list[Candidate]]:
        """Candidates that help, and the greatest step of each change; where that one is solved and brings
        nothing, the lesser steps are not tried."""
        families: dict[tuple[str, str], list[Candidate]] = {}
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

    def tried_out(self, candidate: Candidate, case: Case, judged: _Judged) -> _Helpful | Tried:
        """A candidate solved in the worst case; else whether it was solved and brings too little."""
        try:
            plant = apply(self.plant, candidate.make(self.plant))
            self.tried += 1
            after = Solver(plant).solve(case, self.keep_on)
        except (WetsideError, KeyError, StopIteration):
            return Tried.NOT_SOLVED
        before = self.before[case.name]
        value = after.value(self.at, judged.what)
        if not after.converged or value is None or hotter((self.plant, before), (plant, after)):
            return Tried.NOT_SOLVED
        gain = judged.sign * (float(value) - judged.value)
        if gain < LEAST_GAIN * judged.wanted:
            return Tried.IN_VAIN
        effect = Effect(judged.what, judged.value, float(value), judged.unit)
        power = more_power((self.plant, before), (plant, after), case)
        reaches = self.reaches(plant, case, after, judged.sign)
        return _Helpful(Cure(candidate, case.name, effect, power, (), reaches, gain), plant, after)

    def reaches(self, plant: Plant, case: Case, after: Solution, sign: float) -> bool:
        """Whether it gets what it needs in a solved case of a changed plant."""
        now = self.judged(plant, after, case)
        if now is None:
            return False
        return now.value >= ENOUGH * now.wanted if sign > 0.0 else now.sign == 0.0

    def with_harms(self, one: _Helpful, case: Case) -> _Helpful:
        """With what it harms in the case in which it was tried."""
        harms = tuple(harmed((self.plant, self.before[case.name]), (one.plant, one.after), case, self.at))
        return one._replace(cure=replace(one.cure, harms=harms))

    def checked(self, one: _Helpful, worst: Case) -> Cure:
        """The cure with what it harms in any case; it reaches what is needed where it does in every one.

        Cases that last take long to solve: they are asked last, and only of what is a cure until then.
        """
        harms, reaches = list(one.cure.harms), one.cure.reaches
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
            harms += harmed(*states, case, self.at)
            was, now = (self.judged(*state, case) for state in states)
            if was is not None and was.sign > 0.0 and (now is None or now.sign > 0.0):
                reaches = False
        return replace(one.cure, harms=tuple(dict.fromkeys(harms)), reaches=reaches)

    def pairs(
        self, order: Sequence[Candidate], case: Case, judged: _Judged, on_progress: OnProgress | None
    ) -> list[Cure]:
        """Two changes, each at its greatest step, that together reach what is needed without harm: pairs of
        the ten that bring most, and the one that brings most with every other."""
        both = [*combinations(order[:BEST], 2), *((order[0], other) for other in order[BEST:])]
        reaching: list[_Helpful] = []
        for number, (first, second) in enumerate(both, 1):
            joint = Candidate(
                first.change,
                first.at,
                PAIR_TEXT.format(first.text, second.text),
                partial(_both, first, second),
                first.opens + second.opens,
                "; ".join(dict.fromkeys(t for t in (first.trade, second.trade) if t)),
            )
            one = self.tried_out(joint, case, judged)
            if isinstance(one, _Helpful) and one.cure.reaches:
                pair = one._replace(cure=replace(one.cure, pair=(first, second)))
                reaching.append(self.with_harms(pair, case))
            if on_progress is not None:
                on_progress(number, len(both))
        clean = sorted((one for one in reaching if not one.cure.harms), key=lambda one: one.cure.rank)
        return [cure for one in clean[:BEST] if (cure := self.checked(one, case)).cures]


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
