"""Which limit each source, load and held place stands at, and whose loads are cut, for the temperatures
found.

Every element passes on water the warmer the warmer it comes, by at most one kelvin a kelvin, and by the
warmer or the colder of two straight laws: a source max(inlet, min(set point, inlet + capacity / C)), a
plain load max(inlet - f load / C, min(inlet, least)). Such a balance has one answer. It is found by
improving one kind of choice at a time: those for the warmer law until none changes, then those for the
colder one, and so on (policy iteration with two players: Hoffman and Karp, Management Science 12 (1966)
359). The share f of a group's plain loads is found outside both: the largest with which a running source
leaves at its set point; enclosed by halving where it goes round in circles.

* Plain loads are cut with the sources whose water reaches them; flow without a source counts with that
  whose exchangers heat it, and flow that nothing heats gives its loads nothing.
* Water of a main, or of a tank at a given temperature, makes up for its own users only: loads on the far
  side of an exchanger or coil are still cut with their sources.
* The cut counts a heat pump's capacity at its set temperature.
"""

from __future__ import annotations

import math

from core.thermal.flowing import Flowing, ThermalState
from core.thermal.holding import HoldRows
from core.thermal.roles import Giving
from core.thermal.rooms import RoomRows

WARMER = 1e-6  # [K] by which another law must differ before it is taken: both hold where they meet
CURVED = 0.003  # share of a temperature change by which the straight balance may be wrong
CIRCLES = 40  # rounds after which shares are enclosed
RESTING = 1.0 - 1e-6  # share of its heat below which a source is one that rests at times
ENCLOSED = 1e-7  # width of what encloses a share, from which the straight balance finds it
WILD = 50.0  # [K] change of temperature after which the balance is found anew before more is judged by it


def governing_source(flowing: Flowing, group: int, state: ThermalState) -> int | None:
    """The source whose set point decides what the plain loads of a group get; None while they get all."""
    return next((i for i in flowing.governed[group] if i in state.cut), None)


class Limits:
    """Changes the states that do not fit the temperatures found, a kind at a time.

    Parameters
    ----------
    flowing : Flowing
    rooms : RoomRows
    holds : HoldRows
    """

    def __init__(self, flowing: Flowing, rooms: RoomRows, holds: HoldRows) -> None:
        self.flowing, self.rooms, self.holds = flowing, rooms, holds

    def review(self, state: ThermalState) -> bool:
        """Change states, which are kept in `state`; whether any was changed."""
        self.edge = WARMER + CURVED * state.moved
        if self._beyond(state) or self._warmer(state):
            return True
        return state.moved < WILD and (self._colder(state) or self._shares(state))

    def need(self, i: int) -> float:
        """Heat that would bring a source's flow to its set temperature, [W]."""
        role, run = self.flowing.sources[i]
        content = run.table.content
        return run.w * (content(float(role.leaves_at or 0.0)) - content(self.flowing.t_in[i]))

    def _beyond(self, state: ThermalState) -> bool:
        """Shares beyond all or none are no shares: nothing else is judged by them."""
        beyond = {i: share for i, share in state.cut.items() if not 0.0 <= share < 1.0}
        for i, share in beyond.items():
            if share < 0.0:
                state.cut[i] = 0.0
            else:
                del state.cut[i]
        return bool(beyond)

    def _warmer(self, state: ThermalState) -> bool:
        """Where the warmer law holds: water above a set point passes, loads take no more than there is."""
        changed = self.rooms.review(state, -1.0) | self.holds.review(state, -1.0)
        for i, (role, _) in self.flowing.sources.items():
            mode = state.source[i]
            if mode == "off" or state.cut.get(i, 0.0) > 0.0:
                continue
            above = self.flowing.t_in[i] - float(role.leaves_at or 0.0)
            if mode != "hot" and above > self.edge:
                state.source[i], changed = "hot", True
            elif mode == "hot" and above < -self.edge:
                state.source[i], changed = "set", True
        for i, (giving, _) in self.flowing.loads.items():
            if giving.emitter.ua is None:
                changed |= self._plain(i, giving, state)
            elif giving.capped:
                changed |= self._surface(i, giving, state)
        return changed

    def _plain(self, i: int, role: Giving, state: ThermalState) -> bool:
        """A plain load takes its share while that leaves the water above the least temperature."""
        flowing, mode = self.flowing, state.load.get(i, "full")
        t_in = flowing.t_in[i]
        t_full = t_in - state.given_share.get(i, 1.0) * (role.wanted or 0.0) / flowing.rate(i)
        if mode == "full" and t_full < role.least_at - self.edge:
            state.load[i] = "least"
        elif mode == "least" and t_full > role.least_at + self.edge:
            state.load[i] = "full"
        else:
            return False
        return True

    def _surface(self, i: int, role: Giving, state: ThermalState) -> bool:
        """A fan coil gives the lesser of what is wanted and what its surface can."""
        flowing = self.flowing
        rate = flowing.rate(i)
        units = role.emitter.conductance(flowing.t_in[i], flowing.t_out[i], role.room) / rate
        possible = rate * -math.expm1(-units) * (flowing.t_in[i] - role.room)
        more = (possible - (role.wanted or 0.0)) / rate
        mode = state.load.get(i, "full")
        if mode == "full" and more < -self.edge:
            state.load[i] = "surface"
        elif mode == "surface" and more > self.edge:
            state.load[i] = "full"
        else:
            return False
        return True

    def _colder(self, state: ThermalState) -> bool:
        """Where the colder law holds: sources at their capacity, nothing from water that is too cold."""
        changed = self.rooms.review(state, 1.0) | self.holds.review(state, 1.0)
        flowing = self.flowing
        governing = {i for i in state.cut if state.cut[i] > 0.0}
        for i, (role, run) in flowing.sources.items():
            mode, capacity = state.source[i], role.capacity
            if mode not in ("set", "limit") or capacity is None or i in governing:
                continue
            over = (self.need(i) - capacity) / (run.w * run.table.capacity(flowing.t_in[i]))
            if mode == "set" and over > self.edge:
                state.source[i], changed = "limit", True
            elif mode == "limit" and over < -self.edge:
                state.source[i], changed = "set", True
        for i, (giving, _) in flowing.plain.items():
            mode, above = state.load.get(i, "full"), flowing.t_in[i] - giving.least_at
            if mode == "least" and above < -self.edge:
                state.load[i], changed = "none", True
            elif mode == "none" and above > self.edge:
                state.load[i], changed = "least", True
        return changed

    def _shares(self, state: ThermalState) -> bool:
        """The largest share of its plain loads with which each group has a source at its set point."""
        changed = False
        held = self.holds.groups(state)
        for group, members in self.flowing.governed.items():
            if state.rounds >= CIRCLES and group not in held and self._loaded(group):
                changed |= self._enclose(group, members, state)
            else:
                changed |= self._share(group, members, group in held, state)
        return changed

    def _enclose(self, group: int, members: list[int], state: ThermalState) -> bool:
        """Halve what encloses the share of a group, all else at rest; then let its source find it."""
        if group not in state.enclosed:
            state.cut = {i: share for i, share in state.cut.items() if i not in members}
            state.enclosed[group] = (-1.0, 1.0, 1.0)
            return True
        low, high, share = state.enclosed[group]
        if high - low < ENCLOSED or state.moved > self.edge:
            return state.moved > self.edge
        below = {
            i: self.flowing.t_out[i] - float(self.flowing.sources[i][0].leaves_at or 0.0) for i in members
        }
        best = max(members, key=lambda i: below[i])
        if state.source[best] != "limit" or below[best] >= 0.0:
            low = share
        else:
            high = share
        state.enclosed[group] = (low, high, 0.0 if low < 0.0 else 0.5 * (low + high))
        if low == 1.0:
            state.enclosed[group] = (1.0, 1.0, 1.0)
        elif high == 0.0:
            state.enclosed[group], state.cut[best] = (0.0, 0.0, 0.0), 0.0
        elif high - low < ENCLOSED:
            state.cut[best], state.source[best] = high, "limit"
        return True

    def _share(self, group: int, members: list[int], held: bool, state: ThermalState) -> bool:
        flowing = self.flowing
        governing = governing_source(flowing, group, state)
        if held or any(flowing.sources[i][0].scale < RESTING for i in members):
            return self._uncut(governing, state)  # a source that cycles by its stat has more to give
        below = {i: flowing.t_out[i] - float(flowing.sources[i][0].leaves_at or 0.0) for i in members}
        best = max(members, key=lambda i: below[i])
        zero = governing is not None and state.cut[governing] == 0.0
        able = [i for i in members if (i != governing or zero) and state.source[i] != "limit"]
        if governing is None:
            if able or below[best] >= -self.edge or not self._loaded(group):
                return False
            return self._govern(best, None, group, state)
        if able:  # one that still could give more lets the loads have more
            return self._govern(able[0], governing, group, state)
        if (zero or best != governing) and below[best] > self.edge:
            return self._govern(best, governing, group, state)
        return False

    def _loaded(self, group: int) -> bool:
        flowing = self.flowing
        return any(
            flowing.cut_group(i) == group and (role.wanted or 0.0) > 0.0
            for i, (role, _) in flowing.plain.items()
        )

    def _govern(self, i: int, before: int | None, group: int, state: ThermalState) -> bool:
        """Let a source leave just at its set point, at its capacity, by what the loads of its group get."""
        if before is not None:
            del state.cut[before]
        state.cut[i], state.source[i] = 0.5, "limit"
        for k in self.flowing.plain:
            if self.flowing.cut_group(k) == group:
                state.load[k] = "full"
        return True

    @staticmethod
    def _uncut(governing: int | None, state: ThermalState) -> bool:
        if governing is None:
            return False
        del state.cut[governing]
        return True
