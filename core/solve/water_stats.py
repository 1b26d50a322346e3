"""Stats over flowing water: each on or off as the water passes its points, at rest or going round.

Each state of these stats has temperatures of its own, towards which the water moves straight from where it
is; the first stat whose point it passes on the way flips, alike ones together. That ends in a state with no
point on the way, or it goes round for ever: then what flips cycles, and controls
(`core.solve.heater_controls`) find the mean. Those that go round at one place cycle as one, in the widest of
their bands.

Water whose plain loads are cut warms no further while they are. Where that lets stats rest on, the first
that would break as it warmed holds the water in its band, on all the time.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping

from core.controls.stats import Stat
from core.solve.heater_controls import COLDEST, Cycling, Levelled
from core.solve.sensors import felt
from core.solve.settle import Settled
from core.thermal.roles import Cycle

MOST_EVENTS = 200  # on the way
SAME = 0.01  # [K] within which the water comes back to where one flip out of one state took place before
TOGETHER = 1e-9  # share of a way within which points are passed at once
UNCUT = 1.0 - 1e-9  # share of their loads from which these count as served
MOST_FLIPS = 2  # of a stat that follows the mean of others, before it cycles beside them


class WaterStats:
    """The stats over flowing water of one case.

    Parameters
    ----------
    stats : mapping
        Those that run something, by id
    lookers : mapping
        Those that run nothing: they follow what they feel, and nothing follows them
    calling : dict
        Whether each stat of the case is on; changed here
    sources : callable
        The sources that a stat helps to run
    running : callable
        How many of some sources run as `calling` stands

    Attributes
    ----------
    cycles : dict
        What cycles, stats that cycle as one under the first of their names
    shares : dict
        Of the time that each stat that cycles is on, 0..1
    hunts : dict
        Stats that come to no rest: what each feels on and off, [K]
    """

    def __init__(
        self,
        stats: Mapping[str, Stat],
        lookers: Mapping[str, Stat],
        calling: dict[str, bool],
        sources: Callable[[str], Iterable[str]],
        running: Callable[[Iterable[str]], int],
    ) -> None:
        self.stats, self.lookers, self.calling = stats, lookers, calling
        self.sources, self.running = sources, running
        self.cycles: dict[str, Cycle] = {}
        self.shares: dict[str, float] = {}
        self.hunts: dict[str, tuple[float, float]] = {}
        self.seen: dict[tuple[str, bool], float] = {}  # what each felt last, by its state, [K]

    def settle(self, run: Callable[[], Settled]) -> Settled:
        """The case with these stats at rest, as `run` settles it for `calling` and `cycles` as they stand."""
        self.run = run
        answer = self._mean() if self.cycles else None
        while answer is None:
            self.cycles = {}
            answer = self._follow()
        wrong = [
            k
            for k, stat in self.lookers.items()
            if k not in answer.signals.unpowered and stat.calls(felt(answer, stat.place)) != self.calling[k]
        ]
        self.calling |= {k: not self.calling[k] for k in wrong}
        answer = self.run() if wrong else answer
        self.shares = {k: d.share for d in _controls(answer) for k in self.cycles[d.key].stats}
        return answer

    # one state after the other -----------------------------------------------------------------------------

    def _follow(self) -> Settled | None:
        """Flip after flip from the state they stand in, to rest or a mean; None where some have no mean."""
        on = {k: self.calling[k] for k in self.stats if k not in self.hunts}
        known: dict[frozenset[str], tuple[Settled, dict[str, float]]] = {}
        trail: list[tuple[frozenset[str], frozenset[str], dict[str, float]]] = []
        at: dict[str, float] = {}
        while True:
            state = frozenset(k for k in on if on[k])
            self.calling |= on
            if state not in known:
                answer = self.run()
                known[state] = answer, {k: felt(answer, self.stats[k].place) for k in on}
                self.seen |= {(k, on[k]): t for k, t in known[state][1].items()}
            answer, feels = known[state]
            able = {k: on[k] for k in on if k not in answer.signals.unpowered}
            short = self._short(answer)
            to = {k: COLDEST if k in short else t for k, t in feels.items()}
            flips, at = self._first(able, at or to, to)
            if not flips:
                held = {k: on[k] for k in able if k in short}
                flips, _ = self._first(held, dict.fromkeys(on, COLDEST), feels)
                return self._go_round(flips) if flips else answer
            before = [n for n, (s, f, _) in enumerate(trail) if (s, f) == (state, flips)]
            trail.append((state, flips, at))
            on |= {k: not on[k] for k in flips}
            if len(trail) == MOST_EVENTS or (before and _alike(trail[before[-1]][2], at)):
                round_ = trail[before[-1] if before else 0 :]
                return self._go_round(frozenset[str]().union(*(flips for _, flips, _ in round_)))

    def _short(self, answer: Settled) -> set[str]:
        """Stats in whose water plain loads are cut: whatever it shows, it warms no further."""
        shares = answer.thermal.given_share
        ways = {k: [answer.net.of_item[key][0].index for key in self.sources(k)] for k in self.stats}
        return {k for k in ways if any(shares.get(i, 1.0) < UNCUT for i in ways[k])}

    def _first(
        self, on: Mapping[str, bool], at: Mapping[str, float], to: Mapping[str, float]
    ) -> tuple[frozenset[str], dict[str, float]]:
        """The stats whose point is passed first on the way, and where what they all feel is then, [K]."""
        ways = {k: self.stats[k].passes(state, at[k], to[k]) for k, state in on.items()}
        way = min(ways.values(), default=math.inf)
        if way > 1.0:
            return frozenset(), dict(to)
        there = {k: to[k] if math.isnan(at[k]) else at[k] + way * (to[k] - at[k]) for k in to}
        return frozenset(k for k in ways if ways[k] <= way + TOGETHER), there

    # what goes round ---------------------------------------------------------------------------------------

    def _go_round(self, flipping: Iterable[str]) -> Settled | None:
        """Let cycle what flips for ever; None where some of it has no mean, and hunts."""
        places: dict[tuple[str, ...], list[Stat]] = {}
        for key in sorted(flipping):
            places.setdefault(self.stats[key].place, []).append(self.stats[key])
        for several in places.values():
            widest = max(several, key=lambda stat: stat.differential)
            self.calling |= {stat.key: stat.calls(widest.middle) for stat in several}
            if not self._let_cycle([stat for stat in several if stat.sense == widest.sense], widest.middle):
                return None
        answer = self._mean()
        if answer is None:
            self._hunt(self.cycles[self.worst].stats)
        return answer

    def _let_cycle(self, alike: list[Stat], middle: float) -> bool:
        """Let stats cycle as one about a temperature [K]; where they run no source they hunt instead."""
        names = tuple(stat.key for stat in alike)
        sources = tuple(dict.fromkeys(source for key in names for source in self.sources(key)))
        if not sources:
            self._hunt(names)
            return False
        self.cycles[names[0]] = Cycle(alike[0].place, middle, alike[0].sense, sources, names)
        return True

    def _hunt(self, names: Iterable[str]) -> None:
        for key in names:
            on, off = (self.seen.get((key, state), math.nan) for state in (True, False))
            self.hunts[key] = on, off
            self.calling[key] = math.isnan(off) or self.stats[key].beyond_on(off)

    def _mean(self) -> Settled | None:
        """The mean of what cycles, the others following what they feel; None where there is none.

        What cannot be brought to its mean is on all the time, or off: it cycles no more while that fits.
        """
        flips, resigned = dict.fromkeys(self.stats, 0), set[str]()
        while True:
            for cycle in self.cycles.values():
                self._run_most(cycle)
            answer = self.run()
            controls = sorted(_controls(answer), key=lambda d: (not d.note, -abs(d.error), d.key))
            if controls and (controls[0].note or not answer.converged):
                self.worst = controls[0].key
                if not controls[0].note or self.worst in resigned:
                    return None
                resigned.add(self.worst)
                self._resign(self.cycles.pop(self.worst), controls[0].error > 0.0)
                continue
            wrong = self._wrong(answer)
            if not wrong:
                return answer
            for stat in wrong:
                flips[stat.key] += 1
                self.calling[stat.key] = not self.calling[stat.key]
                if flips[stat.key] == MOST_FLIPS and not self._let_cycle([stat], stat.middle):
                    return None

    def _wrong(self, answer: Settled) -> list[Stat]:
        """Stats that do not cycle, on past where they break, or off beyond where they make."""
        rest = {*self.hunts, *answer.signals.unpowered, *(k for c in self.cycles.values() for k in c.stats)}
        feels = {k: felt(answer, stat.place) for k, stat in self.stats.items() if k not in rest}
        return [self.stats[k] for k, t in feels.items() if self.stats[k].passes(self.calling[k], t, t) <= 1.0]

    def _resign(self, cycle: Cycle, warm: bool) -> None:
        """Leave stats on that want more heat than there is, or off (the other way where `not` leads)."""
        self.calling |= {k: self.calling[k] == warm for k in cycle.stats}

    def _run_most(self, cycle: Cycle) -> None:
        """Stats that cycle stand where more of their sources run: off where `not` leads to them."""
        counts = {}
        for on in (False, True):
            self.calling |= dict.fromkeys(cycle.stats, on)
            counts[on] = self.running(cycle.sources)
        self.calling |= dict.fromkeys(cycle.stats, counts[True] >= counts[False])


def _alike(at: Mapping[str, float], before: Mapping[str, float]) -> bool:
    return all(not abs(t - before[k]) > SAME for k, t in at.items())


def _controls(answer: Settled) -> list[Cycling | Levelled]:
    return [d for d in answer.devices if isinstance(d, Cycling | Levelled)]
