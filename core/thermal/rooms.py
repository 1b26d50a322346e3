"""Rooms: what they lose and gain, and the temperature at which that and the heat of their emitters balance.

A room that a stat holds stands at its set temperature while the water brings more than it needs, and below it
(for a stat that cools: above it) where the water brings too little.

A room of unknown loss stands at what it wants. One of loss 0 without gain stays at what it wants, and comes
to the water's temperature when heated. Kept off, a room drifts to outdoors + gain / loss.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from core.plant.model import Plant
from core.thermal.flowing import Flowing, Run, ThermalState
from core.thermal.holding import EDGE, HOLD, Cells
from core.thermal.roles import Giving, Holding, Regime, Roles, Room
from core.thermal.room_loss import loss_of
from core.vocabulary import Trait

NOTHING = 1e-6  # [W/K] stands for a loss of 0, so that a room without heat has a temperature

Array = npt.NDArray[np.float64]


def known_losses(plant: Plant) -> dict[str, float]:
    """Heat that each room loses per degree over outdoors, [W/K], where it is typed or can be estimated.

    A room that gains heat and loses none has no steady temperature: it counts as of unknown loss.
    """
    found = {}
    for item in plant.items.values():
        if item.has(Trait.ROOM) and item.stage != "to_remove":
            loss = loss_of(plant, item)
            if loss is not None and (float(loss.value) > 0.0 or not item.si.get("gain")):
                found[item.id] = max(float(loss.value), 0.0)
    return found


def rooms_of(plant: Plant, losses: Mapping[str, float], outdoor: float | None) -> dict[str, Room]:
    """Rooms of known losses [W/K] by id; outdoors as in the case [K], else of the site's design.

    One that loses nothing stays, left alone, at what it wants; heated it comes to the water's temperature.
    """
    out = plant.site_si.outdoor_design if outdoor is None else outdoor
    found = {}
    for key, loss in losses.items():
        si = plant.items[key].si
        wanted = float(plant.site_si.indoor if si.get("wanted") is None else si["wanted"])
        gain = float(si.get("gain") or 0.0)
        found[key] = (
            Room(key, loss, gain, out, wanted) if loss > 0.0 else Room(key, NOTHING, 0.0, wanted, wanted)
        )
    return found


def furnish(roles: Roles, rooms: dict[str, Room], regime: Regime) -> None:
    """Put rooms into the roles of a case, with what gives them heat and what holds them."""
    roles.rooms = rooms
    for role in roles.of.values():
        if isinstance(role, Giving) and role.home in rooms:
            rooms[role.home].emitters.append(role)
            role.share = regime.shares.get(role.item, 1.0)
    for key, room in rooms.items():
        room.held = regime.holdings.get(key)


def share_needs(roles: Roles, called: Callable[[int], bool], flowing: Flowing | None) -> float:
    """Part what each room of known loss needs among the called emitters that serve it, by what each can give.

    Parameters
    ----------
    roles : Roles
        Its emitters' `need` is set, and `wanted` of those that a load limits
    called : callable
        Whether anything that signals run lets water come to an element
    flowing : Flowing or None
        What flows, with its temperatures

    Returns
    -------
    float
        Greatest change of a limit, [W]
    """
    able: dict[str, list[tuple[Giving, float]]] = {key: [] for key in roles.rooms}
    for i, role in roles.of.items():
        if not isinstance(role, Giving) or role.home not in roles.rooms:
            continue
        role.need = 0.0
        if flowing is not None and i in flowing.loads:
            able[role.home].append((role, _possible(flowing, i, role)))
        elif called(i):
            able[role.home].append((role, 0.0))
    moved = 0.0
    for key, sharing in able.items():
        total = sum(most for _, most in sharing)
        for role, most in sharing:
            role.need = roles.rooms[key].need * (most / total if total > 0.0 else 1.0 / len(sharing))
            before = role.wanted
            if role.emitter.ua is None:
                role.wanted = min(role.emitter.wanted or 0.0, role.need)
            elif role.capped and total > 0.0:
                role.wanted = role.need
            moved = max(moved, abs((role.wanted or 0.0) - (before or 0.0)))
    return moved


def _possible(flowing: Flowing, i: int, role: Giving) -> float:
    """What an emitter could give at its inlet's temperature, a plain load what is typed, [W]."""
    if role.emitter.ua is None:
        return role.emitter.wanted or 0.0
    rate, t_in = flowing.rate(i), flowing.t_in[i]
    units = role.emitter.conductance(t_in, flowing.t_out[i], role.room) / rate
    return max(0.0, rate * -math.expm1(-units) * (t_in - role.room))


class Reached(NamedTuple):
    """The inlet of an emitter: a T + b + c f, with T and f unknowns by row (-1: f is no unknown)."""

    row: int
    a: float
    b: float
    share_row: int
    c: float


class RoomRows:
    """Rows of the balance for rooms, and for the outlets of what gives them heat.

    Parameters
    ----------
    roles : Roles
    flowing : Flowing
        Its unknowns are added to
    """

    def __init__(self, roles: Roles, flowing: Flowing) -> None:
        self.rooms = roles.rooms
        self.flowing = flowing
        first = flowing.unknowns
        self.row = {key: first + k for k, key in enumerate(self.rooms)}
        served = [i for i, (role, _) in flowing.loads.items() if role.home in self.rooms]
        first += len(self.rooms)
        self.out = {i: first + k for k, i in enumerate(served)}
        flowing.unknowns = first + len(served)
        self.givers: dict[str, list[tuple[int, Giving, Run]]] = {key: [] for key in self.rooms}
        for i in served:
            role, run = flowing.loads[i]
            self.givers[role.home].append((i, role, run))

    def balance(self, state: ThermalState, cells: Cells, right: Array) -> None:
        """Rows of the rooms themselves: loss over outdoors against gain, or what they are held at."""
        for key, room in self.rooms.items():
            row = self.row[key]
            cells.append((row, row, room.loss))
            right[row] += room.loss * room.outdoor + room.gain
            held = room.held
            if held is not None and (held.pinned or not state.not_held.get(key, False)):
                cells.append((row, row, HOLD))
                right[row] += HOLD * held.set_at

    def give(
        self,
        i: int,
        role: Giving,
        passed: tuple[float, float, float, float],
        reached: Reached,
        cells: Cells,
        right: Array,
    ) -> None:
        """Rows of one emitter: what it makes of its inlet goes to its room.

        Parameters
        ----------
        passed : (float, float, float, float)
            As of `passed_on`. A slope below 1 and above 0 gives toward its room's temperature; of 0 cools the
            water to a temperature; of 1 takes a fixed heat
        reached : Reached
            Its inlet
        """
        kept, offset, by_share, _ = passed
        row, room = self.out[i], self.row[role.home]
        rate = self.flowing.rate(i)
        cells += [(row, row, 1.0), (row, reached.row, -kept * reached.a)]
        right[row] += kept * reached.b
        if reached.share_row >= 0:
            cells.append((row, reached.share_row, -kept * reached.c - by_share))
        if kept == 1.0:
            right[row] += offset
            right[room] -= offset * rate * role.share
            if by_share:
                cells.append((room, reached.share_row, by_share * rate * role.share))
            return
        heat = rate * (1.0 - kept) * role.share
        cells.append((room, reached.row, -heat * reached.a))
        right[room] += heat * reached.b
        if reached.share_row >= 0:
            cells.append((room, reached.share_row, -heat * reached.c))
        if kept == 0.0 and role.emitter.ua is None and role.least is not None:
            right[row] += offset
            right[room] -= heat * offset
        else:  # toward the temperature of the room, itself an unknown
            cells += [(row, room, kept - 1.0), (room, room, heat)]

    def take(self, values: Array, state: ThermalState) -> float:
        """Give every room its temperature; by how much the most moved one moved, [K]."""
        moved = 0.0
        for key, row in self.row.items():
            t = float(values[row])
            moved = max(moved, abs(t - state.room.get(key, 0.0)))
            state.room[key] = t
            for role in self.rooms[key].emitters:
                role.room = t
        return moved

    def review(self, state: ThermalState, sense: float) -> bool:
        """Let go of held rooms that get too little, hold those with enough; whether any changed."""
        changed = False
        for key, room in self.rooms.items():
            held = room.held
            if held is None or held.pinned:
                state.not_held.pop(key, None)
                continue
            let_go = state.not_held.setdefault(key, False)
            if held.sense != sense:
                continue
            if let_go:
                change = held.sense * (state.room[key] - held.set_at) > EDGE
            else:
                change = held.sense * self._surplus(room, held) < -EDGE * room.loss
            if change:
                state.not_held[key] = not let_go
                changed = True
        return changed

    def _surplus(self, room: Room, held: Holding) -> float:
        """Heat that reaches a room beyond what it loses at its set temperature, [W]."""
        t_in, t_out = self.flowing.t_in, self.flowing.t_out
        heat = sum(
            role.share * run.w * (run.table.content(t_in[i]) - run.table.content(t_out[i]))
            for i, role, run in self.givers[room.item]
        )
        return heat + room.gain - room.loss * (held.set_at - room.outdoor)
