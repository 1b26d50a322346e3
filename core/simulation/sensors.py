"""What stats feel in time: a layer of a tank, a room, a boiler's water, a cell of a circuit's water.

Water that stores nothing of its own, or that taps draw from, is felt through a bulb.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import ClassVar

import numpy as np
import numpy.typing as npt

from core.controls.stats import Stat
from core.hydraulics.network import Network
from core.simulation.guards import Edges
from core.simulation.layout import Layout
from core.simulation.machine import StatState
from core.simulation.parts import Heats, Part
from core.simulation.rows import Rows
from core.simulation.stores import BoilerPart, Vessel
from core.solve.sensing import Place, place_at
from core.solve.sensors import sensor_height
from core.vocabulary import Trait

Array = npt.NDArray[np.float64]

SWING = 4.0  # [K] within a narrower band a bulb moves as much slower, so that it swings no faster
SOON = 3600.0  # [s] within which water on its way past a point counts as swinging
NEAR = 0.02  # [K] by which it may pass a point
BULB = 20.0  # [s] in which a bulb in a well follows its water by 63 %: common practice, no source


@dataclass
class BulbPart(Part):
    """The bulb of a stat in flowing water: it follows with a lag, and stores no heat worth counting.

    Where the water stands past the point at which the stat changes, or past the middle and within the hour on
    its way there, the bulb goes there straight, as fast as the water is from the middle of the band. So water
    that swings stands in the middle on the average, as `solve` has it, whatever the lag is; only how often it
    swings depends on that. Water that rests between the middle and the point leaves the stat as it is.
    """

    place: Place | None = None
    state: StatState | None = None  # None where the case holds the stat
    layout: Layout | None = None
    stores: ClassVar[bool] = False
    straight: ClassVar[bool] = True

    def water(self, rows: Rows) -> Array | None:
        """What flows about it, [K]."""
        assert self.place is not None
        nodes = self.place.nodes
        return sum((rows.node(n) for n in nodes), rows.const(0.0)) / len(nodes) if nodes else None

    def heat(self, heats: Heats) -> None:
        rows = heats.rows
        water = self.water(rows)
        if water is None:
            return
        state, bulb = self.state, rows.state(self.first)
        if state is None or not self._swings(heats, water, state):
            heats.add(self.first, water - bulb)
            return
        inside = abs(rows.value(bulb) - state.middle) <= 0.5 * state.band + NEAR
        slowed = max(1.0, SWING / state.band) if inside else 1.0
        heats.add(self.first, (water - rows.const(state.middle)) / slowed)

    def _swings(self, heats: Heats, water: Array, state: StatState) -> bool:
        """Whether the water is past the point at which the stat changes, or soon will be.

        What warms all other parts is in `heats` by now: bulbs stand behind them.
        """
        rows = heats.rows
        value = rows.value(water)
        ahead = state.way * (state.point - value)
        if ahead < 0.0 or state.way * (value - state.middle) <= 0.0:
            return ahead < 0.0
        assert self.layout is not None
        n = rows.n
        rates = (heats.into[:, :n] @ rows.x + heats.into[:, n]) / self.layout.capacity()
        rates[self.first :] = 0.0
        return state.way * float(water[:n] @ rates + water[n + 1]) * SOON > ahead

    def edges(self, rows: Rows) -> Edges | None:
        """Between what its water may move before it follows otherwise."""
        water = self.water(rows)
        if water is None or self.state is None:
            return None
        value, points = rows.value(water), (self.state.middle, self.state.point)
        below, above = [p for p in points if p <= value], [p for p in points if p > value]
        return Edges(water, max(below, default=-math.inf), min(above, default=math.inf))


@dataclass
class Places:
    """Where each stat that is followed feels: a state, or a temperature that stands, [K]."""

    of: dict[str, int | float] = field(default_factory=dict)
    boilers: dict[str, BoilerPart] = field(default_factory=dict)
    bulbs: dict[str, BulbPart] = field(default_factory=dict)
    tees: dict[str, int] = field(default_factory=dict)  # nodes where waters meet, by stat
    cautions: list[str] = field(default_factory=list)

    def felt(self, key: str, x: Array) -> float:
        """What a stat feels, [K]; nan where it is not followed."""
        place = self.of.get(key, math.nan)
        return float(x[place]) if isinstance(place, int) else place

    def row(self, key: str, rows: Rows) -> Array | None:
        """The same as a row; None where it stands."""
        place = self.of[key]
        if key in self.boilers:
            return self.boilers[key].outlet(rows)
        if self.tees.get(key) in rows.nodes:
            return rows.nodes[self.tees[key]]
        return rows.state(place) if isinstance(place, int) else None


def place_stats(net: Network, layout: Layout, stats: Mapping[str, Stat]) -> Places:
    """Find what each stat feels; bulbs in flowing water become parts of the layout."""
    found = Places()
    for key, stat in stats.items():
        name, sensor = stat.place[0], stat.place[1] if len(stat.place) > 1 else ""
        item = net.plant.items.get(name)
        if name in layout.rooms:
            found.of[key] = layout.rooms[name].first
        elif item is not None and item.has(Trait.ROOM):
            wanted = item.si.get("wanted")
            found.of[key] = float(net.plant.site_si.indoor if wanted is None else wanted)
            found.cautions.append(f"{key}: {name} has no loss, so it stays as warm as it is wanted")
        elif name in layout.vessels and sensor not in ("coil_in", "coil_out"):
            found.of[key] = layout.vessels[name].first + _layer(net, layout.vessels[name], name, sensor)
        elif name in layout.boilers and sensor in ("", "out"):
            found.of[key] = layout.boilers[name].first
            found.boilers[key] = layout.boilers[name]
        else:
            place = place_at(net, stat.place)
            pipe = next((e for e in net.of_item.get(name, ()) if e.is_pipe), None)
            cells = {k for water in layout.waters for k in water.cells(net, place.nodes, pipe)}
            if cells:
                found.of[key] = min(cells)
                if len(cells) > 1:
                    found.tees[key] = place.nodes[0]
                continue
            bulb = BulbPart(key, 0, [net.plant.site_si.indoor], [BULB], place, layout=layout)
            layout.place(bulb)
            found.of[key] = bulb.first
            found.bulbs[key] = bulb
            found.cautions.append(
                f"{key}: senses flowing water; its bulb is taken to follow within {BULB:g} s (common "
                "practice, no source). The water in its pipes is not counted to swing along: what it runs "
                "starts more often and runs shorter than it would, and is on for longer where its source "
                "comes to its set temperature; its mean heat is as told"
            )
        if stat.differential <= 0.0:
            found.cautions.append(f"{key}: differential is not set; 0.1 K is taken (no stat has none)")
    return found


def _layer(net: Network, part: Vessel, name: str, sensor: str) -> int:
    """The layer at a sensor or tap of a tank, or the end of a separator that a port stands at."""
    item = net.plant.items[name]
    if not item.has(Trait.TANK):
        node = net.drawing.nodes.get((name, sensor))
        ways = [layer for e, layer in part.ways if e.start == node]
        return ways[0] if ways else len(part.start) - 1
    bottom, tall = float(item.si.get("height") or 0.0), float(item.si.get("tall") or 0.0)
    if not sensor:
        return len(part.start) // 2
    return part.layer_at(sensor_height(item, sensor), bottom, tall)
