"""Stats that follow what they feel, settled together with flows and temperatures.

A stat over water flips until it agrees with what it feels. One over a room, tank or buffer holds that place:
the case is solved with the stat on and the place at its set temperature, and once more with the stat off for
the share of time it is on. Where the water brings too little the place is let go; where the place needs
nothing the stat is off.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable, Mapping

from core.controls.signals import STATS, Signals, SignalStates
from core.controls.stats import Stat
from core.hydraulics.network import Network
from core.plant.model import Case
from core.solve.feeling import felt, given_temperature, place_of
from core.solve.followed import Followed
from core.solve.gates import stand_without
from core.solve.settle import Settled
from core.thermal.flowing import STILL
from core.thermal.heat import HeatTable, heat_table
from core.thermal.holding import LEAST, surplus
from core.thermal.roles import Giving, Hold, Holding
from core.thermal.rooms import rooms_of

Run = Callable[[Case, SignalStates, Mapping[str, Holding]], Settled]

MOST_FLIPS = 4  # of a stat among others that flip too
MOST_WAKINGS = 2  # times a stat put to rest may come back
ALL_AT_ONCE = 2  # rounds in which all stats that disagree may flip together


class Following:
    """The stats of one case on their way to rest.

    Parameters
    ----------
    net : Network
    case : Case
    signals : Signals
    stats : mapping
        Stats that feel something, by id
    losses : mapping
        Heat that rooms lose per degree, by id, [W/K]
    run : callable
        Settles the case for given signals and holdings
    """

    def __init__(
        self,
        net: Network,
        case: Case,
        signals: Signals,
        stats: Mapping[str, Stat],
        losses: Mapping[str, float],
        run: Run,
    ) -> None:
        self.net, self.case, self.signals, self.run = net, case, signals, run
        self.plant = net.plant
        self.rooms = rooms_of(self.plant, losses, case.si.outdoor)
        given = {k for k, v in case.signals.items() if isinstance(v, bool)}
        self.free = {k: s for k, s in stats.items() if k not in given}
        self.fixed = {k: s for k, s in stats.items() if k in given}
        self.calling: dict[str, bool] = {}
        self.watching: list[str] = []
        self.staged: dict[str, list[Stat]] = {}  # free stats by the place they may hold, first to act first
        self.resting: dict[str, list[Stat]] = {}  # those whose place was found to need nothing
        self.woken: dict[str, int] = {}
        self.pinned: dict[str, float] = {}  # rooms whose stat is kept on though they need nothing, [K]
        self.result = Followed()
        for key, stat in self.free.items():
            self._begin(key, stat)
        for place in self.staged:
            self._stage(place)
        self.result.blind = tuple(
            k for k, i in signals.items.items() if i.kind in STATS and k not in given and k not in stats
        )

    def _begin(self, key: str, stat: Stat) -> None:
        """First guess of a stat; what it feels may be known before anything is solved."""
        place, name = place_of(self.plant, self.case, stat), stat.place[0]
        if place == "given":
            self.calling[key] = stat.calls(given_temperature(self.plant, self.case, stat))
        elif place == "room" and name not in self.rooms:
            wanted = self.plant.items[name].si.get("wanted")
            self.calling[key] = stat.calls(float(self.plant.site_si.indoor if wanted is None else wanted))
        elif place == "room":
            self.calling[key] = stat.calls(self.rooms[name].rest)
            self.staged.setdefault(name, []).append(stat)
        elif place == "store":
            self.calling[key] = True
            self.staged.setdefault(name, []).append(stat)
        else:
            self.calling[key] = True
            self.watching.append(key)

    def _stage(self, place: str) -> None:
        """Put the stats of a place in the order in which they act; only the first calls to begin with.

        Where some are to warm it and some to cool it, those that warm hold it, and the others look on.
        """
        several = self.staged[place]
        sense = max(stat.sense for stat in several)
        self.watching += [stat.key for stat in several if stat.sense != sense]
        several = [stat for stat in several if stat.sense == sense]
        several.sort(key=lambda stat: -stat.sense * stat.set_at)
        for stat in several[1:]:
            self.calling[stat.key] = False
        self.staged[place] = several

    # the whole ---------------------------------------------------------------------------------------------

    def settle(self) -> Settled:
        """The case with its stats at rest; what became of them is in its `followed`."""
        while True:
            answer = self._water()
            if self._next_stage(answer):
                continue
            self.result.share = {}
            if any(self._rests(answer, *pair) for pair in self.result.holdings.items()):
                continue
            if not self._woken(answer):
                break
        for key, stat in {**self.free, **self.fixed}.items():
            place = place_of(self.plant, self.case, stat)
            if place == "room" or (place == "store" and key in self.free):  # all its stats may be off
                self.result.share.setdefault(stat.place[0], 0.0)
            known = given_temperature(self.plant, self.case, stat) if place == "given" else None
            self.result.felt[key] = felt(answer, stat.place) if known is None else known
        self.result.unpowered = answer.signals.unpowered
        answer.followed = self.result
        return answer

    def _next_stage(self, answer: Settled) -> bool:
        """Bring in the next stat of a place that the stats before cannot keep at that one's point."""
        for place, several in self.staged.items():
            waiting = [s for s in several if not self.calling[s.key] and s.key not in self.result.hunts]
            holding = self.result.holdings.get(place)
            if holding is None or not waiting or not answer.thermal.loose.get(place, False):
                continue
            after = waiting[0]
            if several.index(after) > 0 and after.calls(felt(answer, after.place)):
                self.calling[after.key] = True
                return True
        return False

    def _woken(self, answer: Settled) -> bool:
        """Bring back a stat put to rest whose place has cooled since, because others went off too."""
        for place, several in self.resting.items():
            if several and several[0].calls(felt(answer, several[0].place)):
                if self.woken.get(place, 0) >= MOST_WAKINGS:
                    continue
                self.woken[place] = self.woken.get(place, 0) + 1
                self.staged[place], self.resting[place] = several, []
                self.calling[several[0].key] = True
                return True
        return False

    # stats over water --------------------------------------------------------------------------------------

    def _water(self) -> Settled:
        """Flip stats over water until each agrees with what it feels; those that never do are put to rest."""
        flips = dict.fromkeys(self.watching, 0)
        seen: dict[tuple[str, bool], float] = {}
        rounds = 0
        while True:
            states = self.signals.states(self.case, self.calling)
            self.result.holdings = self._holdings(states)
            answer = self.run(self.case, states, self.result.holdings)
            rounds += 1
            wrong = []
            for key in self.watching:
                if key in states.unpowered or key in self.result.hunts or flips[key] < 0:
                    continue
                t, on = felt(answer, self.free[key].place), states.on[key]
                seen[key, on] = t
                if self.free[key].calls(t) != on:
                    wrong.append(key)
            if not wrong:
                return answer
            for key in wrong if rounds <= ALL_AT_ONCE else wrong[:1]:
                flips[key] += 1
                self.calling[key] = not self.calling[key]
                if flips[key] >= (2 if len(wrong) == 1 else MOST_FLIPS) and (key, True) in seen:
                    flips[key] = -1
                    self._put_to_rest(key, seen[key, True], seen.get((key, False), float("nan")))

    def _put_to_rest(self, key: str, on: float, off: float) -> None:
        """A stat that is wrong on and wrong off: it hunts, or rests inside its band with nothing running."""
        self.calling[key] = math.isnan(off) or self.free[key].beyond_on(off)
        if self.calling[key]:
            self.result.hunts[key] = (on, off)

    # stats that hold a place -------------------------------------------------------------------------------

    def _holdings(self, states: SignalStates) -> dict[str, Holding]:
        """What holds each room and store: the last stat brought in, or the highest the case keeps on."""
        held: dict[str, Holding] = {}
        for key, stat in self.fixed.items():
            name = stat.place[0]
            if states.on[key] and name in self.rooms and place_of(self.plant, self.case, stat) == "room":
                before = held.get(name)
                if before is None or stat.sense * (stat.set_at - before.set_at) > 0.0:
                    held[name] = Holding(key, stat.set_at, stat.sense)
        for name, several in self.staged.items():
            on = [stat for stat in several if states.on[stat.key]]
            if on:
                held[name] = Holding(on[-1].key, on[-1].set_at, on[-1].sense)
        for name, holding in held.items():
            rest = self.rooms[name].rest if name in self.rooms else holding.set_at
            if holding.by in self.fixed and holding.sense * (rest - holding.set_at) > 0.0:
                self.pinned[name] = rest
            if name in self.pinned:
                held[name] = dataclasses.replace(holding, set_at=self.pinned[name], pinned=True)
        return held

    def _rests(self, answer: Settled, place: str, holding: Holding) -> bool:
        """Find the share of time a holding stat is on; True where its state had to change for that."""
        if holding.pinned:
            self.result.share[place] = 0.0
            return False
        if answer.thermal.loose.get(place, False):
            self.result.share[place] = 1.0
            return False
        on = holding.sense * surplus_of(answer, place, holding)
        off, resting = self._without(answer, place, holding)
        off *= holding.sense
        if off >= -LEAST:
            if holding.by in self.free:
                self.calling[holding.by] = False
                self.resting[place], self.staged[place] = self.staged[place], []
            else:
                self.pinned[place] = resting
            return True
        self.result.share[place] = min(1.0, -off / max(on - off, 1e-12))
        return False

    def _without(self, answer: Settled, place: str, holding: Holding) -> tuple[float, float]:
        """Heat surplus of a held place while its stat is off [W], and where it would come to rest [K]."""
        case = dataclasses.replace(self.case, signals={**self.case.signals, holding.by: False})
        states = self.signals.states(case, self.calling)
        room = self.rooms.get(place)
        if room is not None:
            warming = [
                i
                for i, role in answer.roles.of.items()
                if isinstance(role, Giving) and role.home == place and abs(answer.balance.w[i]) > STILL
            ]
            if stand_without(answer, warming, states.on):
                return room.gain - room.loss * (holding.set_at - room.outdoor), room.rest
        others = {k: h for k, h in self.result.holdings.items() if k != place}
        off = self.run(case, states, {**others, place: dataclasses.replace(holding, pinned=True)})
        left = surplus_of(off, place, holding)
        if holding.sense * left < -LEAST or room is None:
            return left, holding.set_at
        return left, felt(self.run(case, states, others), (place,))


def surplus_of(s: Settled, place: str, holding: Holding) -> float:
    """Heat that reaches a held room, tank or buffer of a settled case beyond what it loses there, [W]."""
    t, w = s.thermal, s.balance.w

    def table(i: int) -> HeatTable:
        return heat_table(s.net.bodies[s.net.body_of[s.net.elements[i].start]].fluid)

    hold: Hold | None = s.roles.holds.get(place)
    if hold is not None:
        return surplus(s.roles, hold, w, t.t_in, t.t_out, table)
    room = s.roles.rooms[place]
    heat = 0.0
    for i, role in s.roles.of.items():
        if isinstance(role, Giving) and role.home == place and abs(w[i]) > STILL:
            content = table(i).content
            heat += abs(float(w[i])) * (content(float(t.t_in[i])) - content(float(t.t_out[i])))
    return heat + room.gain - room.loss * (holding.set_at - room.outdoor)
