"""Tanks and buffers that a stat holds at a temperature, and what they get beyond their needs."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
import numpy.typing as npt

from core.hydraulics.network import Network
from core.thermal.flowing import STILL, Flowing, ThermalState
from core.thermal.heat import HeatTable
from core.thermal.roles import Hold, Holding, Roles

Array = npt.NDArray[np.float64]
Cells = list[tuple[int, int, float]]

HOLD = 1e12  # [W/K] ties what is held to its temperature
EDGE = 1e-7  # [K] within which a held temperature counts as just reached
LEAST = 1e-3  # [W] within which a heat counts as none


class HoldRows:
    """Rows of the balance that tie held tanks and buffers to their temperature.

    Parameters
    ----------
    roles : Roles
    flowing : Flowing
    """

    def __init__(self, roles: Roles, flowing: Flowing) -> None:
        self.roles = roles
        self.flowing = flowing

    def balance(self, state: ThermalState, cells: Cells, right: Array) -> None:
        """Tie the nodes of all that is held and not let go."""
        for key, hold in self.roles.holds.items():
            if hold.held.pinned or not state.not_held.get(key, False):
                for row in self._rows(hold):
                    cells.append((row, row, -HOLD))
                    right[row] -= HOLD * hold.held.set_at

    def review(self, state: ThermalState, sense: float) -> bool:
        """Let go of what is held and gets too little, hold what has enough; whether any changed."""
        changed = False
        for key, hold in self.roles.holds.items():
            held = hold.held
            if held.pinned:
                state.not_held.pop(key, None)
                continue
            let_go = state.not_held.setdefault(key, False)
            if held.sense != sense:
                continue
            if not self._rows(hold):
                change = not let_go
            elif let_go:
                warm = held.sense * (state.node.get(hold.felt, held.set_at) - held.set_at) > EDGE
                change = warm and not self._cut(hold, state)
            else:
                change = held.sense * self._surplus(hold) < -LEAST
            if change:
                state.not_held[key] = not let_go
                changed = True
        return changed

    def _rows(self, hold: Hold) -> list[int]:
        return [self.flowing.row[n] for n in hold.nodes if n in self.flowing.row]

    def _cut(self, hold: Hold, state: ThermalState) -> bool:
        """Whether plain loads of its water get less than they want: then it has nothing to spare."""
        group, f = self.flowing.group.get(hold.felt), self.flowing
        loads = (i for i, (_, run) in f.plain.items() if f.group[run.start] == group)
        return any(state.given_share.get(i, 1.0) < 1.0 - EDGE for i in loads)

    def groups(self, state: ThermalState) -> set[int]:
        """Groups of water in which a tank or buffer is held, which makes up for any source at its limit."""
        holds, group = self.roles.holds, self.flowing.group
        held = (h for key, h in holds.items() if h.held.pinned or not state.not_held.get(key, False))
        return {group[n] for h in held for n in h.nodes if n in group}

    def _surplus(self, hold: Hold) -> float:
        f = self.flowing
        return surplus(self.roles, hold, f.w, f.t_in, f.t_out, f.table_at)


def hold_store(net: Network, item: str, held: Holding) -> Hold:
    """A tank or buffer as it is held; which of a buffer's ends counts makes no difference while it is."""
    ways = [e for e in net.standing[item] if e.part != "cross"]
    nodes = tuple(dict.fromkeys(e.end for e in ways))
    return Hold(item, held, nodes, nodes[0], tuple(e.index for e in ways))


def surplus(
    roles: Roles,
    hold: Hold,
    w: Sequence[float] | Array,
    t_in: Sequence[float] | Array,
    t_out: Sequence[float] | Array,
    table: Callable[[int], HeatTable],
) -> float:
    """Heat that reaches a held tank or buffer beyond its losses at its set temperature, [W]; as `brought`."""
    total = brought(roles, hold, w, t_in, t_out, table)
    for node in hold.nodes:
        store = roles.stores.get(node)
        if store is not None:
            total += store.element - store.ua * (hold.held.set_at - store.around)
    return total


def brought(
    roles: Roles,
    hold: Hold,
    w: Sequence[float] | Array,
    t_in: Sequence[float] | Array,
    t_out: Sequence[float] | Array,
    table: Callable[[int], HeatTable],
) -> float:
    """Heat that water and coils bring to a tank or buffer at its set temperature, [W].

    Parameters
    ----------
    roles, hold
    w : sequence, by element
        Mass flow from start to end, [kg/s]
    t_in, t_out : sequence, by element
        Temperature where the water enters and leaves, [K]
    table : callable
        Heat table of the water in an element
    """
    total = 0.0
    for i in hold.ways:  # they run inward
        if abs(w[i]) > STILL:
            t = t_in[i] if w[i] > 0.0 else hold.held.set_at
            total += float(w[i]) * table(i).content(float(t))
    for i, coil in roles.coils.items():
        if coil.node in hold.nodes and abs(w[i]) > STILL:
            given = table(i).content(float(t_in[i])) - table(i).content(float(t_out[i]))
            total += abs(float(w[i])) * given
    return total
