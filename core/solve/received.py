"""Heat that rooms, tanks and buffers receive in a settled case."""

from __future__ import annotations

from core.solve.settle import Settled
from core.thermal.flowing import STILL
from core.thermal.heat import HeatTable, heat_table
from core.thermal.holding import surplus
from core.thermal.roles import Giving, Hold, Holding


def table_at(s: Settled, i: int) -> HeatTable:
    """Heat table of the water in an element."""
    return heat_table(s.net.bodies[s.net.body_of[s.net.elements[i].start]].fluid)


def emitters_of(s: Settled, place: str) -> list[tuple[int, Giving]]:
    """Emitters whose heat goes to a room and whose water flows, by element."""
    return [
        (i, role)
        for i, role in s.roles.of.items()
        if isinstance(role, Giving) and role.home == place and abs(s.balance.w[i]) > STILL
    ]


def heat_of(s: Settled, i: int) -> float:
    """Heat that the water gives off in an element, [W]."""
    content, t = table_at(s, i).content, s.thermal
    return abs(float(s.balance.w[i])) * (content(float(t.t_in[i])) - content(float(t.t_out[i])))


def surplus_of(s: Settled, place: str, holding: Holding) -> float:
    """Heat that reaches a held room, tank or buffer of a settled case beyond what it loses there, [W]."""
    t = s.thermal
    hold: Hold | None = s.roles.holds.get(place)
    if hold is not None:
        return surplus(s.roles, hold, s.balance.w, t.t_in, t.t_out, lambda i: table_at(s, i))
    room = s.roles.rooms[place]
    heat = sum(role.share * heat_of(s, i) for i, role in emitters_of(s, place))
    return heat + room.gain - room.loss * (holding.set_at - room.outdoor)
