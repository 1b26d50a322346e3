"""A case of minutes or hours: rooms and tanks move from where they start, and the water keeps up with them.

Between events the temperatures follow an exponential Rosenbrock method of third order (exprb32: Hochbruck,
Ostermann and Schweitzer, SIAM Journal on Numerical Analysis 47, 2009, 786-803), exact where heat depends
straight on the temperatures. An event is a stat's place reaching its set temperature, or a held one that can
no longer be held. Not for the end state: that is `core.solve.thermostats`.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt

from core.controls.stats import Stat
from core.hydraulics.network import Network
from core.plant.model import Case, Overrides
from core.solve.received import surplus_of, table_at
from core.solve.sensors import felt, place_of
from core.solve.settle import Settled
from core.solve.thermostat_results import Moment, Moved, Pinned
from core.solve.thermostats import Thermostats
from core.thermal.heat import ZERO, heat_table
from core.thermal.holding import brought, hold_store
from core.thermal.roles import Holding, Room
from core.vocabulary import Trait

Array = npt.NDArray[np.float64]

CLOSE = 2e-3  # [K] by which a step may be wrong
NUDGE = 0.1  # [K] by which temperatures are moved to see how heat answers
SHORTEST = 1.0 / 4000.0  # of the whole, below which a step is taken as it is
LOOKS = 8  # places inside a step where a stat's point may be passed
BISECTIONS = 40
MOST_STEPS = 4000
FIRST = 1.0 / 16.0  # of the whole: the first step
GROWTH = 4.0
SAME = 1e-7  # [K]
NOTHING = 1e-6  # [W]

Begin = Callable[[Case, Pinned | None], Thermostats]
"""Makes the stats of a case ready, with what is laid down of places that do not settle."""


@dataclass
class _Place:
    """A room or tank: what it stores per degree [J/K], infinite where it stays; stats that may hold it."""

    key: str
    room: Room | None
    storage: Callable[[float], float]
    stats: list[Stat]

    @property
    def stays(self) -> bool:
        return math.isinf(self.storage(ZERO))


class _Look(NamedTuple):
    """One moment: the case with its stats on; by moving place how fast it warms [K/s]; by held place the
    heat it has to spare with its stat on and off, and the share of the time that is on."""

    answer: Settled
    rates: dict[str, float]
    spare: dict[str, tuple[float, float]]
    share: dict[str, float]


class Course:
    """Rooms and tanks of one case on their way from start to end.

    Parameters
    ----------
    net : Network
    case : Case
        With `lasts`
    rooms : mapping
        Rooms whose loss is known, by id
    stats : mapping
        Stats that feel something, by id
    drives_nothing : frozenset of str
        Stats that run nothing, and so hold nothing
    begin : callable
    """

    def __init__(
        self,
        net: Network,
        case: Case,
        rooms: Mapping[str, Room],
        stats: Mapping[str, Stat],
        drives_nothing: frozenset[str],
        begin: Begin,
    ) -> None:
        self.net, self.plant, self.case, self.stats = net, net.plant, case, stats
        self.begin, self.drives_nothing = begin, drives_nothing
        self.lasts = float(case.si.lasts or 0.0)
        self.fixed = {k: v for k, v in case.signals.items() if isinstance(v, bool)}
        self.places = {key: self._room(key, room) for key, room in rooms.items()}
        for item in self.plant.with_trait(Trait.STORES_HEAT):
            if item.id in net.standing:
                self.places[item.id] = self._store(item.id)
        self.at = self._start()
        self.began = dict(self.at)
        self.on: dict[str, bool] = {}
        self.held: dict[str, Stat] = {}
        self.unsound: Settled | None = None  # the first moment without an answer
        self.passes = 0
        self.moments: list[Moment] = []
        self._sort_stats()
        for place in self.places.values():
            for stat in place.stats:
                off = stat.sense * (self.at[place.key] - stat.set_at)
                self.on[stat.key] = off < SAME
                if abs(off) <= SAME:
                    self.held[place.key] = stat

    # what is there -----------------------------------------------------------------------------------------

    def _room(self, key: str, room: Room) -> _Place:
        mass = self.plant.items[key].si.get("mass")
        storage = math.inf if not mass else float(mass)
        return _Place(key, room, lambda t: storage, [])

    def _store(self, key: str) -> _Place:
        volume = float(self.plant.items[key].si.get("volume") or 0.0)
        fluid = self.net.bodies[self.net.body_of[self.net.standing[key][0].start]].fluid

        def storage(t: float) -> float:
            return volume * float(fluid.density(t)) * heat_table(fluid).capacity(t)

        return _Place(key, None, storage if volume else lambda t: math.inf, [])

    def _sort_stats(self) -> None:
        """Give each place the stats that may hold it, those that the case keeps on included for rooms."""
        given = self._case(self.at)
        for stat in self.stats.values():
            place = self.places.get(stat.place[0])
            if (
                place is None
                or stat.key in self.drives_nothing
                or place_of(self.plant, given, stat) == "water"
            ):
                continue
            if stat.key not in self.fixed or (self.fixed[stat.key] and place.room is not None):
                place.stats.append(stat)

    def _start(self) -> dict[str, float]:
        """Where every place starts: as the case says, else as it is held or wanted, else at the end state."""
        si = self.case.si
        found: dict[str, float] = {}
        ends: Settled | None = None
        for key, place in self.places.items():
            given: Any = si.start.get(key, si.tanks.get(key))
            if given is not None:
                found[key] = self._mean(key, given) if isinstance(given, Mapping) else float(given)
            elif place.room is not None:
                found[key] = place.room.wanted
            else:
                stat = next((s for s in self.stats.values() if s.place[0] == key), None)
                if stat is None and ends is None:
                    still = replace(self.case, lasts=None, start={})
                    ends = self.begin(still, None).settle()
                if stat is not None:
                    found[key] = stat.set_at
                elif ends is not None:
                    found[key] = felt(ends, (key,))
        return found

    def _mean(self, key: str, taps: Mapping[str, float]) -> float:
        """Mean of a tank whose taps have temperatures, straight by height between them, [K]."""
        si = self.plant.items[key].si
        known = sorted((float(si["taps"][tap]), t) for tap, t in taps.items())
        heights = np.linspace(0.0, float(si["tall"]), 101)
        return float(np.mean(np.interp(heights, [z for z, _ in known], [t for _, t in known])))

    # a moment ----------------------------------------------------------------------------------------------

    def _case(self, at: Mapping[str, float], calling: Mapping[str, bool] | None = None) -> Case:
        """The case with its tanks at some temperatures; a stat it keeps on is off in a warm room."""
        tanks = {key: at[key] for key, place in self.places.items() if place.room is None}
        dead = {key: False for key, on in (calling or {}).items() if not on and key in self.fixed}
        case = replace(self.case, start={}, signals={**self.case.signals, **dead})
        return case.with_si(Overrides(tanks=tanks))

    def _settled(self, at: Mapping[str, float], off: Iterable[str] = ()) -> Settled:
        """The water with its rooms and tanks at some temperatures, some stats off that are on."""
        calling = {key: on and key not in off for key, on in self.on.items()}
        for key, stat in self.stats.items():
            if key not in calling and stat.place[0] in self.places:
                calling[key] = stat.calls(at[stat.place[0]])
        case = self._case(at, calling)
        kept = {k for k, s in self.stats.items() if place_of(self.plant, case, s) != "water"}
        rooms = {key: at[key] for key, place in self.places.items() if place.room is not None}
        pinned = Pinned(rooms, {key: on for key, on in calling.items() if key in kept})
        answer = self.begin(case, pinned).settle()
        self.passes += answer.passes
        if not answer.converged and self.unsound is None:
            self.unsound = answer
        return answer

    def _spare(self, answer: Settled, place: _Place, t: float) -> float:
        """Heat that reaches a place beyond what it loses, [W]."""
        if place.room is not None:
            return surplus_of(answer, place.key, Holding("", t))
        return store_surplus(answer, place.key, t)

    def _look(self, at: Mapping[str, float]) -> _Look:
        answer = self._settled(at)
        spare: dict[str, tuple[float, float]] = {}
        share: dict[str, float] = {}
        heat = {key: self._spare(answer, place, at[key]) for key, place in self.places.items()}
        mean = dict(heat)
        for key, stat in self.held.items():
            without = self._settled(at, (stat.key,))
            on, off = stat.sense * heat[key], stat.sense * self._spare(without, self.places[key], at[key])
            spare[key] = (on, off)
            share[key] = 1.0 if on <= 0.0 else 0.0 if off >= 0.0 else -off / (on - off)
            for other in mean:
                less = self._spare(without, self.places[other], at[other]) - heat[other]
                mean[other] += (1.0 - share[key]) * less
        rates = {key: mean[key] / self.places[key].storage(at[key]) for key in self._moving()}
        return _Look(answer, rates, spare, share)

    def _moving(self) -> list[str]:
        return [key for key, place in self.places.items() if not place.stays and key not in self.held]

    # the way -----------------------------------------------------------------------------------------------

    def settle(self) -> Settled:
        """The case at its end."""
        gone, step = 0.0, FIRST * self.lasts
        look = self._released(self._look(self.at))
        for _ in range(MOST_STEPS):
            self.moments.append(Moment(gone, dict(self.at), look.rates))
            if gone >= self.lasts * (1.0 - 1e-12):
                return self._ended(look)
            step = min(step, self.lasts - gone)
            moving = self._moving()
            slopes = self._slopes(look, moving) if moving else np.zeros((0, 0))
            look, taken, step = self._stepped(look, moving, slopes, step)
            gone += taken
        self.unsound = self.unsound or look.answer
        return self._ended(look)

    def _stepped(
        self, look: _Look, moving: list[str], slopes: Array, step: float
    ) -> tuple[_Look, float, float]:
        """One step that is close enough: what is seen at its end, the time taken, the step to try next."""
        shortest = SHORTEST * self.lasts
        while True:
            y = np.array([self.at[key] for key in moving])
            f = np.array([look.rates[key] for key in moving])
            first, bend = _exponential(slopes, step, f)
            there = {**self.at, **dict(zip(moving, (y + first).tolist(), strict=True))}
            probe = self._look(there) if moving else look
            defect = np.array([probe.rates[key] for key in moving]) - f - slopes @ first
            change = 2.0 * bend @ defect if moving else defect
            wrong = float(np.abs(change).max(initial=0.0))
            if wrong > CLOSE and step > shortest:
                step = max(shortest, step * max(0.1, 0.8 * (CLOSE / wrong) ** (1.0 / 3.0)))
                continue
            grown = step * min(GROWTH, 0.8 * (CLOSE / max(wrong, 1e-12)) ** (1.0 / 3.0))
            passed = self._passed(moving, y, slopes, f, change, step)
            if passed is not None:
                key, stat, share = passed
                step *= share
                first, _ = _exponential(slopes, step, f)
                change = change * share**3
            reached = dict(zip(moving, (y + first + change).tolist(), strict=True))
            after = {**self.at, **reached}
            held = dict(self.held)
            if passed is not None:
                after[key], self.held[key] = stat.set_at, stat
                self.on[stat.key] = True
            seen = self._look(after)
            if self._lost(seen, held) and step > 2.0 * shortest:
                self.held = held
                if passed is not None:
                    self.on[stat.key] = stat.sense * (self.at[key] - stat.set_at) < 0.0
                step *= 0.5
                continue
            self.at = after
            return self._released(seen), step, max(grown, shortest)

    def _slopes(self, look: _Look, moving: list[str]) -> Array:
        """How fast each moving place warms [K/s] per degree of each."""
        slopes = np.zeros((len(moving), len(moving)))
        for column, key in enumerate(moving):
            nudged = self._look({**self.at, key: self.at[key] + NUDGE})
            for row, other in enumerate(moving):
                slopes[row, column] = (nudged.rates[other] - look.rates[other]) / NUDGE
        return slopes

    def _passed(
        self, moving: list[str], y: Array, slopes: Array, f: Array, change: Array, step: float
    ) -> tuple[str, Stat, float] | None:
        """The first place to reach the point of a stat within a step, and at which share of it."""

        def at(share: float) -> Array:
            first, _ = _exponential(slopes, share * step, f)
            return np.asarray(y + first + change * share**3)

        before = 0.0
        for count in range(1, LOOKS + 1):
            share = count / LOOKS
            found = self._beyond(moving, at(share))
            if found is None:
                before = share
                continue
            low, high = before, share
            for _ in range(BISECTIONS):
                middle = 0.5 * (low + high)
                sooner = self._beyond(moving, at(middle))
                if sooner is None:
                    low = middle
                else:
                    high, found = middle, sooner
            return (*found, high)
        return None

    def _beyond(self, moving: list[str], values: Array) -> tuple[str, Stat] | None:
        """A place that has passed the point of one of its stats, [K]."""
        for key, t in zip(moving, values.tolist(), strict=True):
            for stat in self.places[key].stats:
                past = stat.sense * (t - stat.set_at)
                if past > SAME if self.on[stat.key] else past < -SAME:
                    return key, stat
        return None

    def _lost(self, look: _Look, held: Mapping[str, Stat]) -> bool:
        """Whether a place that was held before can no longer be."""
        return any(
            key in held and not self.places[key].stays and (on < -NOTHING or off > NOTHING)
            for key, (on, off) in look.spare.items()
        )

    def _released(self, look: _Look) -> _Look:
        """Let places go that their stat cannot hold, or that need nothing of it; what is then seen."""
        for _ in range(len(self.stats) + 1):
            changed = False
            for key, (on, off) in look.spare.items():
                stat = self.held.get(key)
                if stat is None or self.places[key].stays:
                    continue
                if off > NOTHING or on < -NOTHING:
                    self.on[stat.key] = off <= NOTHING
                    del self.held[key]
                    changed = True
            if not changed:
                return look
            look = self._look(self.at)
        return look

    def _ended(self, look: _Look) -> Settled:
        """The last moment, with its stats as they then are."""
        shares = look.share.items()
        idle = [key for key, share in shares if share == 0.0 and self.held[key].key not in self.fixed]
        if idle:
            for key in idle:
                self.on[self.held[key].key] = False
            look = self._look(self.at)._replace(share=look.share)
        answer, thermostats = look.answer, look.answer.thermostats
        for key, place in self.places.items():
            on = [stat.key for stat in place.stats if self.on[stat.key]]
            if key in look.share:
                thermostats.share[key] = look.share[key]
            elif place.stats:
                thermostats.share[key] = 1.0 if on else 0.0
        for key, stat in self.held.items():
            thermostats.holdings[key] = Holding(stat.key, stat.set_at, stat.sense, pinned=True)
        thermostats.moved = {
            key: Moved(self.began[key], self.at[key], place.stays) for key, place in self.places.items()
        }
        thermostats.moments = tuple(self.moments)
        answer.passes = self.passes
        if self.unsound is not None:
            answer.converged = False
            answer.stuck, answer.swing = self.unsound.stuck, self.unsound.swing
        return answer


def store_surplus(s: Settled, key: str, t: float) -> float:
    """Heat that reaches a tank or buffer of given temperature [K] beyond what it loses there, [W]."""
    hold = hold_store(s.net, key, Holding("", t))
    came = brought(s.roles, hold, s.balance.w, s.thermal.t_in, s.thermal.t_out, lambda i: table_at(s, i))
    si = s.net.plant.items[key].si
    loss = float(si.get("ua_loss") or 0.0) * (t - s.net.plant.site_si.indoor)
    return came + float(si.get("element") or 0.0) - loss


def _exponential(slopes: Array, step: float, rates: Array) -> tuple[Array, Array]:
    """h φ1(hJ) f and h φ3(hJ), from one matrix exponential (the functions φ stand in its first row)."""
    from scipy.linalg import expm

    n = len(rates)
    if n == 0:
        return np.zeros(0), np.zeros((0, 0))
    whole = np.zeros((4 * n, 4 * n))
    whole[:n, :n] = step * slopes
    for k in range(3):
        whole[k * n : (k + 1) * n, (k + 1) * n : (k + 2) * n] = np.eye(n)
    top = expm(whole)[:n]
    return np.asarray(step * top[:, n : 2 * n] @ rates), np.asarray(step * top[:, 3 * n :])
