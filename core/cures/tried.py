"""Which changes would bring a circuit or tap more, each put into the plant, solved, and ranked.

The effect is that of the case in which it fares worst; what it harms is looked for in every case. First come
cures that reach what is needed and harm nobody, then those with fewer joints to open, then fewer watts, then
more gain. No cure runs anything above its max_temperature. Where no single one reaches what is needed without
harm, pairs of the ten that bring most are tried too, and the one that brings most with every other. Of steps
of one change the greatest is tried first; where it brings nothing, the lesser ones are not tried.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import partial
from itertools import combinations
from typing import Any, NamedTuple

from core.calls.power import electric_power
from core.controls.expressions import runs
from core.cures.candidate import Candidate, NotTried, Surroundings
from core.cures.inline import inline
from core.cures.settings import not_tried, settings
from core.cures.structures import structures
from core.errors import WetsideError
from core.figures import EmitterFigures, OutletFigures, PumpFigures, RoomFigures
from core.plant.as_set import plant_for
from core.plant.changes import Change, apply, fitted
from core.plant.model import Case, Plant, PortRef
from core.questions.intake import NO_FLOW
from core.questions.shortness import shares_short, taps_colder
from core.questions.stops import stream_of
from core.questions.trials import KeepOn, OnProgress
from core.sizing.second_circulator.study import Bench
from core.solve import Solution, Solver
from core.vocabulary import Trait
from core.water.ways import water_graph

ENOUGH = 0.99  # share of what is needed that counts as reached
LEAST_GAIN = 0.01  # share of what is needed below which a change is no cure
HARM = 0.01  # share of its need by which another may not become shorter
BEST = 10
MOST_CHECKED = 20  # cures whose harm is looked for
TOO_WARM = 1.0  # [K] over its set temperature from which on a tap counts as too warm
TOO_MUCH = 1.2  # times what is needed, of a circuit whose room is not solved
DEFAULT_MIX = 313.7  # [K] of a fixture without a set temperature (common practice, no source)
UNKNOWN_WATTS = 1e6  # [W] ranks a circulator of unknown power behind all others
HOT = 0.05  # [K] over a max_temperature
PAIR_TEXT = "together: {} and {}"


class Effect(NamedTuple):
    """What a cure does to the figure judged: before and after, in the unit of its key."""

    what: str
    before: float
    after: float
    unit: str


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
    def rank(self) -> tuple[bool, int, float, float]:
        """The best first."""
        watts = UNKNOWN_WATTS if self.power is None else round(self.power, 1)
        return not (self.reaches and not self.harms), self.candidate.opens, watts, -self.gain

    def as_data(self) -> dict[str, Any]:
        """Plain data for --json."""
        pair = self.pair and [{"change": one.change, "at": one.at} for one in self.pair]
        return {
            "change": self.candidate.change,
            "at": self.candidate.at,
            "case": self.case,
            "effect": self.effect._asdict(),
            "power_w": self.power,
            "cost": None,
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

    def as_data(self) -> dict[str, Any]:
        """Plain data for --json."""
        return {
            "at": self.at,
            "wanted": self.wanted,
            "case": self.case,
            "cures": [cure.as_data() for cure in self.cures],
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


class _Search:
    """All that is solved for one circuit or tap."""

    def __init__(self, plant: Plant, at: str, keep_on: KeepOn | None) -> None:
        self.plant, self.at, self.keep_on = plant, at, keep_on
        self.cases = [case for case in plant.solve_cases if case.lasts is None]
        solver = Solver(plant)
        self.before = {case.name: solver.solve(case, keep_on) for case in self.cases}
        self.tried = 0
        self.graph = water_graph(plant)

    def worst(self) -> tuple[Case, _Judged] | None:
        """The case in which it misses most, short ones first; None where it has no part in any."""
        found = [
            (case, judged)
            for case in self.cases
            if self.before[case.name].converged
            and (judged := self.judged(self.plant, case, self.before[case.name])) is not None
        ]
        if not found:
            return None
        return max(found, key=lambda pair: (pair[1].sign > 0.0, pair[1].sign != 0.0, pair[1].miss))

    def judged(self, plant: Plant, case: Case, solution: Solution) -> _Judged | None:
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
        for one in (*settings(near), *inline(near, bench), *structures(near, solve)):
            if isinstance(one, NotTried):
                left_out.append(one)
            else:
                found.append(one)
        helpful, strongest = self.singles(found, case, judged, on_progress)
        helpful.sort(key=lambda pair: (not pair[0].reaches, *pair[0].rank[1:]))
        best = sorted(self.first_checked(helpful, case), key=lambda cure: cure.rank)
        pairs: list[Cure] = []
        if not any(cure.reaches and not cure.harms for cure in best):
            gains = {id(cure.candidate): cure.gain for cure, _ in helpful}
            order = sorted(strongest, key=lambda one: -gains.get(id(one), 0.0))
            pairs = self.pairs(order, case, judged, on_progress)
        ranked = sorted((*best[:BEST], *pairs), key=lambda cure: cure.rank)
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
    ) -> tuple[list[tuple[Cure, Plant]], list[Candidate]]:
        """Candidates that help, and the greatest step of each change; where that one brings nothing, the
        lesser steps are not tried."""
        families: dict[tuple[str, str], list[Candidate]] = {}
        for one in found:
            families.setdefault(one.family, []).append(one)
        helpful: list[tuple[Cure, Plant]] = []
        strongest = []
        for number, members in enumerate(families.values(), 1):
            members.sort(key=lambda one: -one.step)
            strongest.append(members[0])
            for one in members:
                cure = self.tried_out(one, case, judged)
                if cure is not None:
                    helpful.append(cure)
                elif one is members[0]:
                    break
            if on_progress is not None:
                on_progress(number, len(families))
        return helpful, strongest

    def first_checked(self, helpful: Sequence[tuple[Cure, Plant]], case: Case) -> list[Cure]:
        """The first of them with what they harm, until ten harm nobody."""
        checked: list[Cure] = []
        for cure, plant in helpful[:MOST_CHECKED]:
            checked.append(self.checked(cure, plant, case))
            if sum(one.reaches and not one.harms for one in checked) >= BEST:
                break
        return checked

    def tried_out(self, candidate: Candidate, case: Case, judged: _Judged) -> tuple[Cure, Plant] | None:
        """A candidate solved in the worst case; None where it cannot be, or brings too little."""
        try:
            plant = apply(self.plant, candidate.make(self.plant))
            self.tried += 1
            after = Solver(plant).solve(case, self.keep_on)
        except (WetsideError, KeyError, StopIteration):
            return None
        if not after.converged or self.too_hot(plant, case, after):
            return None
        value = after.value(self.at, judged.what)
        if value is None:
            return None
        now = self.judged(plant, case, after)
        gain = judged.sign * (float(value) - judged.value)
        if gain < LEAST_GAIN * judged.wanted:
            return None
        reaches = now is not None and (
            now.value >= ENOUGH * now.wanted if judged.sign > 0.0 else now.sign == 0.0
        )
        effect = Effect(judged.what, judged.value, float(value), judged.unit)
        before = self.before[case.name]
        power = _more_power((self.plant, before), (plant, after), case)
        cure = Cure(candidate, case.name, effect, power, (), reaches, gain)
        return cure, plant

    def too_hot(self, plant: Plant, case: Case, after: Solution) -> bool:
        """Whether anything stands above its max_temperature that did not before, or further above it."""
        before = self.before[case.name]
        for item in plant.items.values():
            limit = item.si.get("max_temperature")
            if not isinstance(limit, float):
                continue
            now, then = (_warmest(p, s, item.id) for p, s in ((plant, after), (self.plant, before)))
            if now + 273.15 > max(limit, then + 273.15) + HOT:
                return True
        return False

    def checked(self, cure: Cure, plant: Plant, worst: Case) -> Cure:
        """The same cure with what it harms in any case."""
        harms: list[str] = []
        for case in self.cases:
            before = self.before[case.name]
            if not before.converged:
                continue
            after = Solver(plant).solve(case, self.keep_on)
            if not after.converged:
                harms.append(f"{case.name} is not solved with it")
                continue
            if case is not worst and self.too_hot(plant, case, after):
                harms.append(f"something is above its rated temperature in {case.name}")
            harms += self._harmed(plant, case, before, after)
        return _with(cure, tuple(dict.fromkeys(harms)))

    def _harmed(self, plant: Plant, case: Case, before: Solution, after: Solution) -> Iterable[str]:
        then, now = (shares_short(p, case, s) for p, s in ((self.plant, before), (plant, after)))
        stopped = _stopped(self.plant, plant, before, after)
        for key, was in then.items():
            if key not in now and key != self.at and self._runs_on(before, key) & stopped:
                yield f"{key} gets nothing in {case.name}"
            elif now.get(key, 0.0) > was + HARM and key != self.at:
                yield f"{key} is short by {now[key]:.0%} instead of {was:.0%} in {case.name}"
        for key, share in taps_colder(self.plant, before, after).items():
            if share > HARM and key != self.at:
                yield f"{key} is colder in {case.name}"
        known = {note.at for note in before.dangers}
        for note in after.dangers:
            if note.at not in known and note.at in self.plant.items:
                yield f"{note.at}: {note.text}"

    def _runs_on(self, before: Solution, key: str) -> set[str]:
        return set(stream_of(self.graph, before).circuit(key))

    def pairs(
        self, order: Sequence[Candidate], case: Case, judged: _Judged, on_progress: OnProgress | None
    ) -> list[Cure]:
        """Two changes, each at its greatest step, that together reach what is needed without harm: pairs of
        the ten that bring most, and the one that brings most with every other."""
        both = [*combinations(order[:BEST], 2), *((order[0], other) for other in order[BEST:])]
        reaching: list[tuple[Cure, Plant]] = []
        for number, (first, second) in enumerate(both, 1):
            joint = Candidate(
                first.change,
                first.at,
                PAIR_TEXT.format(first.text, second.text),
                partial(_both, first, second),
                first.opens + second.opens,
                "; ".join(dict.fromkeys(t for t in (first.trade, second.trade) if t)),
            )
            cure = self.tried_out(joint, case, judged)
            if cure is not None and cure[0].reaches:
                reaching.append((_with(cure[0], (), (first, second)), cure[1]))
            if on_progress is not None:
                on_progress(number, len(both))
        reaching.sort(key=lambda pair: pair[0].rank)
        checked = [self.checked(cure, plant, case) for cure, plant in reaching[:BEST]]
        return [cure for cure in checked if not cure.harms]


def _with(cure: Cure, harms: tuple[str, ...], pair: tuple[Candidate, Candidate] | None = None) -> Cure:
    return Cure(
        cure.candidate, cure.case, cure.effect, cure.power, harms, cure.reaches, cure.gain, pair or cure.pair
    )


def _both(first: Candidate, second: Candidate, plant: Plant) -> list[Change]:
    changes = first.make(plant)
    return [*changes, *second.make(apply(plant, changes))]


def _more_power(one: tuple[Plant, Solution], other: tuple[Plant, Solution], case: Case) -> float | None:
    """Electric power of the circulators of another plant beyond that of one, [W]; None where the power of one
    that is new or otherwise is not known."""
    known, unknown = zip(*(_power(plant, case, solution) for plant, solution in (one, other)), strict=True)
    return float(known[1] - known[0]) if unknown[0] == unknown[1] else None


def _power(plant: Plant, case: Case, solution: Solution) -> tuple[float, list[Any]]:
    """Electric power of running circulators, [W], and those whose watts are not known."""
    seen = plant_for(plant, case)
    total, unknown = 0.0, []
    for key, figures in solution.of(PumpFigures).items():
        if not figures.running:
            continue
        found = electric_power(seen.items[key], figures)
        if found is not None and not isinstance(found.value, str):
            total += float(found.value)
        else:
            unknown.append((key, seen.items[key].props.get("curve"), round(figures.speed, 2)))
    return total, unknown


def _stopped(one: Plant, other: Plant, before: Solution, after: Solution) -> set[str]:
    """Circulators and zone valves that signals let run in one plant, and no longer in the other."""
    return {
        item.id
        for item in one.with_trait(Trait.DRIVES, Trait.OPENS_BY_SIGNAL)
        if item.id in other.items
        and runs(item.si, before.signals)
        and not runs(other.items[item.id].si, after.signals)
    }


def _warmest(plant: Plant, solution: Solution, key: str) -> float:
    """The warmest water at an item's ports, [degC]."""
    item = plant.items.get(key)
    found = [-273.15]
    for port in item.ports if item is not None else ():
        for name in plant.pipes_at.get(PortRef(key, port), ()):
            if name in solution.pipes:
                start = plant.pipes[name].start == PortRef(key, port)
                found.append(solution.pipes[name].temperature_at(start))
    return max(found)


def take(plant: Plant, cure: Cure) -> Plant:
    """The plant with a cure in it.

    Raises
    ------
    Refusal
        Where the outcome would not be valid
    """
    return fitted(plant, cure.candidate.make(plant))
