"""Stats that follow what they feel, settled together with flows and temperatures.

Those over flowing water follow it (`core.solve.water_stats`). One over a room, tank or buffer holds its
place: the case is solved with the stat on and the place at its set temperature, and once more with the stat
off for the share of time it is on. Where the water brings too little the place is let go; where the place
needs nothing the stat is off.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Iterable, Mapping

from core.controls.signals import SignalStates
from core.controls.stats import Stat
from core.controls.wiring import Wiring
from core.hydraulics.network import Network
from core.plant.model import Case
from core.solve.received import emitters_of, heat_of, surplus_of
from core.solve.sensors import felt, given_temperature, place_of
from core.solve.settle import Settled
from core.solve.signal_off import stand_without, unheated_without
from core.solve.thermostat_results import Pinned, ThermostatResults, Turn
from core.solve.water_stats import WaterStats
from core.thermal.holding import LEAST
from core.thermal.roles import Holding, Regime
from core.thermal.rooms import rooms_of
from core.vocabulary import Trait

Run = Callable[[Case, SignalStates, Regime], Settled]

MOST_WAKINGS = 2  # times a stat put to rest may come back
FREE_ROUNDS = 3  # in which shares of time move all the way
MOST_ROUNDS = 25  # for shares of time that depend on one another
SHARE_STEP = 1e-7


class Thermostats:
    """The stats of one case on their way to rest.

    Parameters
    ----------
    net : Network
    case : Case
    wiring : Wiring
        Of the plant's signals
    stats : mapping
        Stats that feel something, by id
    losses : mapping
        Heat that rooms lose per degree, by id, [W/K]
    drives_nothing : frozenset of str
        Stats that run nothing, and so hold nothing
    run : callable
        Settles the case for given signals and holdings
    pinned : Pinned or None
        What is laid down of rooms and stats that do not settle
    """

    def __init__(
        self,
        net: Network,
        case: Case,
        wiring: Wiring,
        stats: Mapping[str, Stat],
        losses: Mapping[str, float],
        drives_nothing: frozenset[str],
        run: Run,
        pinned: Pinned | None = None,
    ) -> None:
        self.pinned = pinned
        signals = wiring.signals
        self.net, self.case, self.signals, self.run = net, case, signals, run
        self.wiring = wiring
        self.plant = net.plant
        self.rooms = rooms_of(self.plant, losses, case.si.outdoor)
        given = {k for k, v in case.signals.items() if isinstance(v, bool)} | signals.dead
        self.free = {k: s for k, s in stats.items() if k not in given}
        self.fixed = {k: s for k, s in stats.items() if k in given}
        self.calling: dict[str, bool] = {}
        self.watching: list[str] = []
        self.staged: dict[str, list[Stat]] = {}  # free stats by the place they may hold, first to act first
        self.resting: dict[str, list[Stat]] = {}  # those whose place was found to need nothing
        self.reactivated: dict[str, int] = {}
        self.drives_nothing = drives_nothing
        self.idle: set[str] = set()  # stats kept on by the case whose room needs nothing of them
        self.shares: dict[str, float] = {}  # of the time, by emitter that another room's stat switches
        self.result = ThermostatResults(stats=stats, wiring=wiring)
        for key, stat in self.free.items():
            self._begin(key, stat)
        for place in self.staged:
            self._stage(place)
        acting, lookers = (
            {key: self.free[key] for key in self.watching if (key in drives_nothing) is idle}
            for idle in (False, True)
        )
        self.water = WaterStats(acting, lookers, self.calling, self._sources, self._running)
        self.result.blind = tuple(
            k for k, i in signals.items.items() if i.has(Trait.STAT) and k not in given and k not in stats
        )

    def _begin(self, key: str, stat: Stat) -> None:
        """First guess of a stat; what it feels may be known before anything is solved."""
        place, name = place_of(self.plant, self.case, stat), stat.place[0]
        if self.pinned is not None and key in self.pinned.calling:
            self.calling[key] = self.pinned.calling[key]
        elif place == "fixed":
            self.calling[key] = stat.calls(given_temperature(self.plant, self.case, stat))
        elif place == "room" and name not in self.rooms:
            wanted = self.plant.items[name].si.get("wanted")
            self.calling[key] = stat.calls(float(self.plant.site_si.indoor if wanted is None else wanted))
        elif place == "room":
            self.calling[key] = stat.calls(self.rooms[name].rest)
            self._follow(stat)
        elif place == "store":
            self.calling[key] = True
            self._follow(stat)
        else:
            self.calling[key] = True
            self.watching.append(key)

    def _follow(self, stat: Stat) -> None:
        """Let a stat hold the place it feels; one that runs nothing looks on."""
        if stat.key in self.drives_nothing:
            self.watching.append(stat.key)
        else:
            self.staged.setdefault(stat.place[0], []).append(stat)

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
        """The case with its stats at rest; what became of them is in its `thermostats`."""
        rounds = 0
        while True:
            answer = self._water()
            if self._next_stage(answer):
                continue
            if self._sharing(answer) or self._reactivated(answer):
                continue
            shares = self._shared_emitters(answer)
            if rounds >= MOST_ROUNDS or _alike(shares, self.shares):
                if self._take_turns(answer):
                    continue
                break
            rounds += 1
            weight = 1.0 if rounds <= FREE_ROUNDS else 0.5  # shares that swing meet halfway
            both = {k: (shares.get(k, 1.0), self.shares.get(k, 1.0)) for k in {*shares, *self.shares}}
            self.shares = {k: old + weight * (new - old) for k, (new, old) in both.items()}
        for key, stat in {**self.free, **self.fixed}.items():
            place = place_of(self.plant, self.case, stat)
            if place == "store" and key in self.free:  # all its stats may be off
                self.result.share.setdefault(stat.place[0], 0.0)
            known = given_temperature(self.plant, self.case, stat) if place == "fixed" else None
            self.result.felt[key] = felt(answer, stat.place) if known is None else known
        for key in self.rooms:
            if key not in self.result.share:
                felt_here = any(s.place[0] == key for s in (*self.free.values(), *self.fixed.values()))
                self.result.share[key] = self._mean_share(answer, key, 0.0 if felt_here else 1.0)
        self.result.unpowered = answer.signals.unpowered
        answer.thermostats = self.result
        if self.result.hunts:
            answer.converged = False
        return answer

    def _next_stage(self, answer: Settled) -> bool:
        """Bring in the next stat of a place that the stats before cannot keep at that one's point."""
        for place, several in self.staged.items():
            waiting = [s for s in several if not self.calling[s.key] and s.key not in self.result.hunts]
            holding = self.result.holdings.get(place)
            if holding is None or not waiting or not answer.thermal.not_held.get(place, False):
                continue
            after = waiting[0]
            if several.index(after) > 0 and after.calls(felt(answer, after.place)):
                self.calling[after.key] = True
                return True
        return False

    def _reactivated(self, answer: Settled) -> bool:
        """Bring back a stat put to rest whose place has cooled since, because others went off too."""
        for place, several in self.resting.items():
            if several and several[0].calls(felt(answer, several[0].place)):
                if self.reactivated.get(place, 0) >= MOST_WAKINGS:
                    continue
                self.reactivated[place] = self.reactivated.get(place, 0) + 1
                self.staged[place], self.resting[place] = several, []
                self.calling[several[0].key] = True
                return True
        return False

    # stats over water --------------------------------------------------------------------------------------

    def _water(self) -> Settled:
        """The case with the stats over water at rest, or at the mean of those that cycle."""
        answer = self.water.settle(self._as_it_stands)
        self.result.hunts, self.result.cycles = self.water.hunts, self.water.shares
        return answer

    def _as_it_stands(self) -> Settled:
        states = self.signals.states(self.case, self.calling)
        self.result.holdings = self._holdings(states)
        return self.run(self.case, states, self._regime(self.result.holdings))

    def _running(self, sources: Iterable[str]) -> int:
        states = self.signals.states(self.case, self.calling)
        return sum(states.lets_run(key, self.plant.items[key].si) for key in sources)

    def _sources(self, stat: str) -> list[str]:
        """Sources that a stat helps to run."""
        items, found = self.plant.items, self.wiring.reached(stat)
        return [k for k in found if items[k].has(Trait.MAKES_HEAT) and k in self.net.of_item]

    def _regime(self, holdings: Mapping[str, Holding], shares: Mapping[str, float] | None = None) -> Regime:
        return Regime(holdings, self.shares if shares is None else shares, self.water.cycles)

    # stats that hold a place -------------------------------------------------------------------------------

    def _holdings(self, states: SignalStates) -> dict[str, Holding]:
        """What holds each room and store: the last stat brought in, or the highest the case keeps on."""
        if self.pinned is not None:
            return {key: Holding("", t, pinned=True) for key, t in self.pinned.rooms.items()}
        held: dict[str, Holding] = {}
        for key, stat in self.fixed.items():
            name = stat.place[0]
            warms = states.on[key] and key not in (self.idle | self.drives_nothing) and name in self.rooms
            if warms and place_of(self.plant, self.case, stat) == "room":
                if stat.sense * (self.rooms[name].rest - stat.set_at) > 0.0:
                    self.idle.add(key)
                    continue
                before = held.get(name)
                if before is None or stat.sense * (stat.set_at - before.set_at) > 0.0:
                    held[name] = Holding(key, stat.set_at, stat.sense)
        for name, several in self.staged.items():
            on = [stat for stat in several if states.on[stat.key]]
            if on:
                held[name] = Holding(on[-1].key, on[-1].set_at, on[-1].sense)
        for name, turn in self.result.turns.items():
            held[name] = Holding(held[name].by if name in held else "", turn.t, pinned=True)
        return held

    def _sharing(self, answer: Settled) -> bool:
        """Find the share of time each holding stat is on; True where one had to be put to rest for that.

        Of several that their places do not need, that goes first whose place is furthest from needing it, and
        none again before the others that had to come back.
        """
        self.result.share = {}
        if self.pinned is not None:
            return False
        idle: list[tuple[int, float, str]] = []
        for place, holding in self.result.holdings.items():
            if place in self.result.turns:
                self.result.share[place] = self.result.turns[place].share
                continue
            if answer.thermal.not_held.get(place, False):
                self.result.share[place] = self._mean_share(answer, place, 1.0)
                continue
            on = holding.sense * surplus_of(answer, place, holding)
            off = holding.sense * self._without(answer, place, holding)
            if off >= -LEAST:
                idle.append((-self.reactivated.get(place, 0), off / self._scale(place, holding), place))
            else:
                self.result.share[place] = min(1.0, -off / max(on - off, 1e-12))
        if not idle:
            return False
        place = max(idle)[2]
        by = self.result.holdings[place].by
        if by in self.free:
            self.calling[by] = False
            self.resting[place], self.staged[place] = self.staged[place], []
        else:
            self.idle.add(by)
        return True

    def _scale(self, place: str, holding: Holding) -> float:
        """Heat by which a surplus is measured, [W]."""
        room = self.rooms.get(place)
        return 1.0 if room is None else room.loss * abs(holding.set_at - room.outdoor) + 1.0

    def _states_without(self, keys: Iterable[str]) -> tuple[Case, SignalStates]:
        """The case with some stats off, and its signals."""
        off = dict.fromkeys((*self.idle, *keys), False)
        case = dataclasses.replace(self.case, signals={**self.case.signals, **off})
        return case, self.signals.states(case, self.calling)

    def _without(self, answer: Settled, place: str, holding: Holding) -> float:
        """Heat surplus of a held place while its stat is off, [W]."""
        case, states = self._states_without([holding.by])
        room = self.rooms.get(place)
        if room is not None:
            warming = [i for i, _ in emitters_of(answer, place)]
            if stand_without(answer, warming, states.on):
                return room.gain - room.loss * (holding.set_at - room.outdoor)
        holdings = {**self.result.holdings, place: dataclasses.replace(holding, pinned=True)}
        return surplus_of(self.run(case, states, self._regime(holdings)), place, holding)

    # rooms on circuits that other stats switch ----------------------------------------------

    def _shared_emitters(self, answer: Settled) -> dict[str, float]:
        """Share of the time the water of each emitter in a room comes, but for that room's own stat."""
        if self.pinned is not None:
            return {}
        shares, found = self.result.share, {}
        holdings = {k: h for k, h in self.result.holdings.items() if k not in self.result.turns}
        cycling = {h.by: shares[k] for k, h in holdings.items() if shares[k] < 1.0}
        if not cycling and not self.idle:
            return {}
        states: dict[tuple[str, ...], dict[str, bool]] = {}
        states |= {(key,): self._states_without([key])[1].on for key in cycling}
        for place in self.rooms:
            own = self.result.holdings.get(place)
            others = {key: share for key, share in cycling.items() if own is None or key != own.by}
            for together in ((), tuple(others)):
                states[together] = self._states_without(together)[1].on
            for i, role in emitters_of(answer, place):
                share = self._share_of(answer, i, others, states)
                if share < 1.0:
                    found[role.item] = share
        return found

    def _share_of(
        self,
        answer: Settled,
        i: int,
        cycling: Mapping[str, float],
        states: Mapping[tuple[str, ...], Mapping[str, bool]],
    ) -> float:
        """Share of the time one emitter's water comes: as long as whoever it cannot do without."""

        def stands(*keys: str) -> bool:
            return stand_without(answer, [i], states[keys], surely=False)

        if self.idle and (stands() or unheated_without(answer, i, states[()])):
            return 0.0
        needed = [share for key, share in cycling.items() if stands(key)]
        if needed:
            return min(needed)
        return max(cycling.values()) if cycling and stands(*cycling) else 1.0

    def _take_turns(self, answer: Settled) -> bool:
        """Find what rooms get whose circuits rest while a store is heated (priority); whether there are any.

        They are solved once more with the store's stat off, their heat weighted with the time that leaves.
        """
        if self.result.turns or self.pinned is not None:
            return False
        dry = [key for key in self.rooms if not emitters_of(answer, key)]
        for place, holding in self.result.holdings.items():
            share = self.result.share[place]
            if place in self.net.standing and share < 1.0 and any(k in self.result.holdings for k in dry):
                self._turns_beside(answer, place, holding, dry, 1.0 - share)
        return bool(self.result.turns)

    def _turns_beside(
        self, answer: Settled, place: str, holding: Holding, dry: list[str], left: float
    ) -> None:
        case, states = self._states_without([holding.by])
        holdings = {**self.result.holdings, place: dataclasses.replace(holding, pinned=True)}
        guests = {key: [g.item for g in answer.roles.rooms[key].emitters] for key in dry}
        shares = {**self.shares, **{item: left for items in guests.values() for item in items}}
        off = self.run(case, states, self._regime(holdings, shares))
        cycling: dict[str, float] = {}
        for key in dry:
            heat = sum(heat_of(off, i) for i, _ in emitters_of(off, key))
            own = self.result.holdings.get(key)
            if own is None or heat <= LEAST:
                continue
            t, room, share = off.thermal.room[key], self.rooms[key], left
            if not off.thermal.not_held.get(key, False):
                share = min(left, (room.loss * (t - room.outdoor) - room.gain) / heat)
            cycling[own.by] = share
            self.result.turns[key] = Turn(holding.by, t, share, heat)
        self._beside_them(off, case, states, self._regime(holdings, shares), cycling, dry, holding.by)

    def _beside_them(
        self,
        off: Settled,
        case: Case,
        states: SignalStates,
        regime: Regime,
        cycling: Mapping[str, float],
        dry: list[str],
        waits_for: str,
    ) -> None:
        """Rooms without a stat of their own on the circuits of those that take turns."""
        rooms = [k for k in dry if k not in self.result.holdings and emitters_of(off, k)]
        if not rooms or not cycling:
            return
        on: dict[tuple[str, ...], dict[str, bool]] = {(): states.on}
        for keys in [*((key,) for key in cycling), tuple(cycling)]:
            on[keys] = self._states_without([waits_for, *keys])[1].on
        shares = dict(regime.shares)
        for key in rooms:
            for i, role in emitters_of(off, key):
                shares[role.item] = min(shares[role.item], self._share_of(off, i, cycling, on))
        beside = self.run(case, states, self._regime(regime.holdings, shares))
        for key in rooms:
            heat = sum(heat_of(beside, i) for i, _ in emitters_of(beside, key))
            share = self._mean_share(beside, key, 0.0)
            self.result.turns[key] = Turn(waits_for, beside.thermal.room[key], share, heat)

    def _mean_share(self, answer: Settled, place: str, without: float) -> float:
        """Share of the time heat comes to a room; `without` where none comes at all."""
        heats = [(role.share, heat_of(answer, i)) for i, role in emitters_of(answer, place)]
        total = sum(heat for _, heat in heats)
        if abs(total) <= LEAST:
            return without
        return min(1.0, max(0.0, sum(share * heat for share, heat in heats) / total))


def _alike(new: Mapping[str, float], old: Mapping[str, float]) -> bool:
    """Whether no share has moved."""
    return all(abs(new.get(k, 1.0) - old.get(k, 1.0)) < SHARE_STEP for k in {*new, *old})
