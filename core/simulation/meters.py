"""Heat that sources give, that is drawn, lost and gained at a moment, each as a row to be summed."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from core.simulation.layout import Layout
from core.simulation.parts import Heats
from core.simulation.rows import Rows
from core.thermal.masses import GivingToMass
from core.thermal.roles import Giving, Losing, Source

Array = npt.NDArray[np.float64]


def meter_all(rows: Rows, layout: Layout) -> Heats:
    """Heat into every state, and all that is counted.

    Notes
    -----
    `heat` sources to water, `gain` of rooms, `loss` to surroundings (pipes, rooms to outdoors, vessels,
    floors without a room that is solved), `melt` to snow, `draw` what drawn water takes beyond what comes
    in, `emit` (not part of the balance) what each emitter takes from its water.
    """
    heats = Heats(rows)
    for part in layout.parts:
        part.heat(heats)
    homes = set(layout.rooms)
    for i, role in rows.s.roles.of.items():
        if not rows.flows(i):
            continue
        if isinstance(role, Losing):
            heats.meter("loss", rows.s.net.elements[i].key, rows.given(i))
        elif isinstance(role, Source):
            if role.item not in layout.boilers:
                heats.meter("heat", role.item, -rows.given(i))
        elif isinstance(role, Giving):
            given = rows.given(i)
            heats.meter("emit", role.item, given)
            if not isinstance(role, GivingToMass) and role.home not in homes:
                heats.meter("loss", role.item, given)
    _drawn(rows, heats)
    return heats


def _drawn(rows: Rows, heats: Heats) -> None:
    """Heat of what leaves into the air, less that of what mains bring."""
    net = rows.s.net
    for e in net.airs.values():
        if rows.flows(e.index):
            w = float(rows.w[e.index])
            heats.meter("draw", e.key, w * rows.content(e.index, rows.t_in[e.index]))
    for node, key in net.mains.items():
        main = rows.const(rows.s.roles.main_temperature[node])
        for e in net.touching[node]:
            if rows.flows(e.index):
                w = float(rows.w[e.index]) * (1.0 if e.start == node else -1.0)
                t = main if w > 0.0 else rows.t_out[e.index]
                heats.meter("draw", key, -w * rows.content(e.index, t))


def matrix_of(rows: list[Array], n: int) -> Array:
    """Rows one under another, shape (n rows, n + 2)."""
    return np.array(rows) if rows else np.zeros((0, n + 2))
