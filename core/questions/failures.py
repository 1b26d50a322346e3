"""What goes cold, and how far, when a heater, a circulator or the power fails, or the weather is colder.

Each failure is the case of the lowest outdoor temperature solved again. Heaters and circulators fail by
`run_when` false: water passes them. Without power everything electric is off, receptacles too. Where heat is
no longer made, a tank that the case holds at a temperature is no longer held. Rooms start at the temperature
they have with all well; the hours count from the failure with the same weather.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Any, NamedTuple

from core.figures import EmitterFigures, OutletFigures, RoomFigures
from core.plant.guesses import guesses_of
from core.plant.model import Case, Item, Overrides, Plant
from core.questions.trials import NO_CHANGES, Changes, KeepOn, OnProgress, Trials
from core.solve import Note, Solution
from core.solve.thermostat_results import Moment
from core.thermal.heat import ZERO
from core.thermal.rooms import known_losses
from core.vocabulary import Trait

POWER = "power"
COLD_SNAP = "cold_snap"
SNAP = 10.0  # [K] under the outdoor design temperature
FREEZING_NEAR = 40.0  # [degF] the temperature that is waited for: 4.44 degC
LIMIT_C = (FREEZING_NEAR - 32.0) / 1.8
FELT = 0.05  # [K] by which a room or tap must be colder to be named
LESS = 0.01  # share of its heat that a circuit must lose to be named
SECONDS = 3600.0
MOST_COURSES = 4  # of the plant on its way, where some heat still comes, each twice as long
LONGER = 1.2  # times the slowest exponential: some heat that still comes
BISECTIONS = 50
NO_HEAT = 0.5  # [K] by which heat that still comes must warm a room for its course to be solved


class ColdRoom(NamedTuple):
    """A room that gets colder: its end temperature [degC], hours until 40 degF (None: never, or without
    mass), whether those hours rest on a guess, and its temperature before [degC]."""

    room: str
    temperature_c: float
    hours_to_40f: float | None
    guess: bool
    before_c: float
    has_mass: bool


class Fall(NamedTuple):
    """A circuit [W] or tap [degC] that gets less: before and after."""

    at: str
    before: float
    after: float


@dataclass(frozen=True)
class Failure:
    """One failure: what fails ("power", "cold_snap" or an id), in which case, who is the worse for it, and
    the dangers that were not there before."""

    at: str
    case: str
    solved: bool
    cold: tuple[ColdRoom, ...] = ()
    circuits: tuple[Fall, ...] = ()
    taps: tuple[Fall, ...] = ()
    dangers: tuple[Note, ...] = ()

    def as_data(self) -> dict[str, Any]:
        """Plain data for --json."""
        return {
            "at": self.at,
            "case": self.case,
            "solved": self.solved,
            "cold": [
                {
                    "room": c.room,
                    "temperature_c": c.temperature_c,
                    "hours_to_40f": c.hours_to_40f,
                    "guess": c.guess,
                    "before_c": c.before_c,
                }
                for c in self.cold
            ],
            "circuits": [{"at": f.at, "before_w": f.before, "after_w": f.after} for f in self.circuits],
            "taps": [{"at": f.at, "before_c": f.before, "after_c": f.after} for f in self.taps],
            "dangers": [note.as_data() for note in self.dangers],
        }


class _Trial(NamedTuple):
    at: str
    case: Case
    changes: Changes
    signals: Mapping[str, bool]


def coldest_case(plant: Plant) -> Case:
    """The case of the lowest outdoor temperature, the first of several."""
    design = plant.site_si.outdoor_design
    return min(plant.solve_cases, key=lambda c: design if c.si.outdoor is None else c.si.outdoor)


def failures(
    plant: Plant, keep_on: KeepOn | None = None, on_progress: OnProgress | None = None
) -> tuple[Failure, ...]:
    """Every failure of a plant: heaters and circulators in the order of the file, power, cold snap.

    Parameters
    ----------
    plant : Plant
    keep_on : callable or None
        Asked during the solving; where it says False this raises core.solve.Dropped
    on_progress : callable or None
        Told how many failures are solved, of how many
    """
    base = replace(coldest_case(plant), lasts=None)
    trials = Trials(plant, keep_on)
    before = trials.solve(base)
    every = list(_trials(plant, base))
    found = []
    for number, trial in enumerate(every, 1):
        found.append(_failure(trials, before, trial))
        if on_progress is not None:
            on_progress(number, len(every))
    return tuple(found)


def _trials(plant: Plant, base: Case) -> Iterator[_Trial]:
    off = {"run_when": False}
    unheld = replace(base, tanks={})
    for item in plant.with_trait(Trait.MAKES_HEAT, Trait.DRIVES):
        case = unheld if item.has(Trait.MAKES_HEAT) else base
        yield _Trial(item.id, case, {item.id: off}, {})
    changes: dict[str, dict[str, Any]] = {i.id: off for i in plant.with_trait(Trait.ELECTRIC)}
    changes |= {i.id: {"element": 0.0} for i in plant.with_trait(Trait.TANK)}
    outlets = {i.id: False for i in plant.with_trait(Trait.FEEDS_POWER)}
    yield _Trial(POWER, unheld, changes, outlets)
    snap = Overrides(outdoor=plant.site_si.outdoor_design - SNAP)
    yield _Trial(COLD_SNAP, base.with_si(snap), NO_CHANGES, {})


def _failure(trials: Trials, before: Solution, trial: _Trial) -> Failure:
    after = trials.solve(trial.case, trial.changes, trial.signals)
    if not (trials.stands(before) and trials.stands(after)):
        return Failure(trial.at, before.case, False)
    plant = trials.plant
    cold = []
    losses = known_losses(plant)
    cooling: dict[str, float] = {}
    for key, was in before.of(RoomFigures).items():
        now = after.role(key, RoomFigures)
        if now.temperature_c < was.temperature_c - FELT:
            mass = _mass(plant.items[key])
            if mass and losses[key] > 0.0 and now.temperature_c < LIMIT_C:
                cooling[key] = losses[key]
            guess = mass > 0.0 and _guessed(plant.items[key])
            cold.append(ColdRoom(key, now.temperature_c, None, guess, was.temperature_c, mass > 0.0))
    hours = _hours(trials, trial, before, after, cooling)
    cold = [room._replace(hours_to_40f=hours.get(room.room)) for room in cold]
    falls, taps = tuple(_falls(before, after)), tuple(_taps(before, after))
    known = {(note.at, note.text) for note in before.dangers}
    dangers = tuple(note for note in after.dangers if (note.at, note.text) not in known)
    return Failure(trial.at, before.case, True, tuple(cold), falls, taps, dangers)


def _falls(before: Solution, after: Solution) -> Iterator[Fall]:
    for key, was in before.of(EmitterFigures).items():
        now = after.role(key, EmitterFigures)
        if now.delivered_w < was.delivered_w * (1.0 - LESS) - 1.0:
            yield Fall(key, was.delivered_w, now.delivered_w)


def _taps(before: Solution, after: Solution) -> Iterator[Fall]:
    for key, was in before.of(OutletFigures).items():
        now = after.role(key, OutletFigures)
        if was.flow_m3_s > 0.0 and now.temperature_c < was.temperature_c - 10.0 * FELT:
            yield Fall(key, was.temperature_c, now.temperature_c)


def _mass(room: Item) -> float:
    return float(room.si.get("mass") or 0.0)


def _guessed(room: Item) -> bool:
    return any(spread.path.split("[")[0] in ("mass", "loss", "gain") for spread in guesses_of(room))


def exponential_time(start: float, end: float, level: float, constant: float) -> float:
    """Time in which a mass that nears `end` from `start` exponentially comes to `level` between them.

    Parameters
    ----------
    start, end, level : float
        Temperatures, [K] or [degC] alike
    constant : float
        Time constant: mass over loss, [s]

    Returns
    -------
    float
        Time; 0 where it starts at or beyond the level, [s]

    Notes
    -----
    Holds for one well mixed mass with a loss in proportion to its excess. Source: Newton's law of cooling.

    Examples
    --------
    >>> round(exponential_time(20.0, -20.0, 4.44, 3600.0))
    1774
    """
    if start <= level:
        return 0.0
    return constant * math.log((start - end) / (level - end))


def _hours(
    trials: Trials, trial: _Trial, before: Solution, after: Solution, losses: Mapping[str, float]
) -> dict[str, float]:
    """Hours until rooms stand at 40 degF, by room; those that never do are left out.

    Where no heat comes any more, by the exponential: heat left in pipes and tanks is not counted, to the safe
    side. Else from the course of the plant after the failure, one for all rooms.
    """
    found: dict[str, float] = {}
    waiting: dict[str, float] = {}
    for key, loss in losses.items():
        start, end = before.role(key, RoomFigures).temperature_c, after.role(key, RoomFigures)
        constant = _mass(trials.plant.items[key]) / loss
        at = exponential_time(start, end.temperature_c, LIMIT_C, constant)
        if at <= 0.0 or end.heat_w * end.duty_share <= NO_HEAT * loss:
            found[key] = at / SECONDS
        else:
            waiting[key] = at
    rooms = {k: f.temperature_c + ZERO for k, f in before.of(RoomFigures).items()}
    starts = {**trial.case.si.start, **rooms}
    lasts = LONGER * max(waiting.values(), default=0.0)
    for _ in range(MOST_COURSES if waiting else 0):
        case = trial.case.with_si(Overrides(lasts=lasts, start=starts))
        way = trials.solve(case, trial.changes, trial.signals)
        if not trials.stands(way):
            break
        moments = trials.moments(way)
        for key in list(waiting):
            at_level = passes(moments, key, LIMIT_C, _mass(trials.plant.items[key]) / losses[key])
            if at_level is not None:
                found[key] = at_level / SECONDS
            if at_level is not None or moments[-1].rates.get(key, 0.0) >= 0.0:
                del waiting[key]
        if not waiting:
            break
        lasts *= 2.0
    return found


def passes(moments: Sequence[Moment], room: str, level: float, constant: float) -> float | None:
    """When a room that cools comes to a level [degC] on a course, [s]; None if it does not.

    Between two moments by the exponentials of both, each with the heat that then comes, the one passing into
    the other; `constant` is the room's mass over its loss, [s].
    """
    for one, other in pairwise(moments):
        if not one.at[room] - ZERO > level >= other.at[room] - ZERO:
            continue
        step = other.time - one.time

        def at(share: float, one: Moment = one, other: Moment = other, step: float = step) -> float:
            ahead = _nears(one, room, constant, share * step)
            back = _nears(other, room, constant, (share - 1.0) * step)
            weight = share * share * (3.0 - 2.0 * share)
            return (1.0 - weight) * ahead + weight * back - ZERO

        low, high = 0.0, 1.0
        for _ in range(BISECTIONS):
            middle = 0.5 * (low + high)
            low, high = (middle, high) if at(middle) > level else (low, middle)
        return one.time + high * step
    return None


def _nears(moment: Moment, room: str, constant: float, later: float) -> float:
    """Temperature of a room some time after (or before) a moment, with the heat that comes then, [K]."""
    end = moment.at[room] + moment.rates.get(room, 0.0) * constant
    return end + (moment.at[room] - end) * math.exp(-later / constant)


def worst_first(found: Sequence[Failure]) -> list[Failure]:
    """Failures with the coldest room first; those that leave no room colder last, in their order."""
    return sorted(found, key=lambda f: min((c.temperature_c for c in f.cold), default=math.inf))
