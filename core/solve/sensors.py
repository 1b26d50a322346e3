"""What the stats of a plant feel: rooms, stores and water, as solved or as the case gives them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Literal

import numpy as np

from core.controls.stats import Stat
from core.hydraulics.elements import port_height
from core.plant.model import Case, Item, Plant
from core.vocabulary import Trait

if TYPE_CHECKING:
    from core.solve.settle import Settled

Place = Literal["room", "store", "fixed", "water"]


def place_of(plant: Plant, case: Case, stat: Stat) -> Place:
    """What a stat feels: a room, a tank or buffer that the case leaves free or gives, or water."""
    item = plant.items.get(stat.place[0])
    if item is None or item.stage == "to_remove":
        return "water"
    if item.has(Trait.ROOM):
        return "room"
    if item.has(Trait.STORES_HEAT):
        coil = len(stat.place) > 1 and stat.place[1] in ("coil_in", "coil_out")
        return "water" if coil else "fixed" if item.id in case.si.tanks else "store"
    return "water"


def given_temperature(plant: Plant, case: Case, stat: Stat) -> float:
    """Temperature at a sensor of a tank that the case gives, [K]: straight by height between given taps."""
    item = plant.items[stat.place[0]]
    given: Any = case.si.tanks[item.id]
    if not hasattr(given, "items"):
        return float(given)
    height = sensor_height(item, stat.place[1] if len(stat.place) > 1 else "")
    known = sorted((port_height(item, tap), t) for tap, t in given.items())
    return float(np.interp(height, [z for z, _ in known], [t for _, t in known]))


def sensor_height(item: Item, name: str) -> float:
    """Height of a sensor or tap of a tank above the datum, [m]."""
    sensors = item.si.get("sensors") or {}
    if name in sensors:
        return float(item.si.get("height") or 0.0) + float(sensors[name])
    return port_height(item, name)


def felt(s: Settled, place: tuple[str, ...]) -> float:
    """Temperature at [item or pipe, port or sensor] of a settled case, [K]; nan where there is none."""
    net, (item, *rest) = s.net, place
    port = rest[0] if rest else ""
    if item in s.thermal.room:
        return s.thermal.room[item]
    node = net.drawing.nodes.get((item, port))
    if node is None and item in net.standing:
        node = net.drawing.nodes.get((item, "*"), net.drawing.nodes.get((item, "upper")))
    if node is not None:
        return float(s.node.get(node, np.nan))
    if item not in net.of_item:
        return float("nan")
    e = net.of_item[item][0]
    t_in, t_out = float(s.thermal.t_in[e.index]), float(s.thermal.t_out[e.index])
    if s.balance.w[e.index] < 0.0:
        t_in, t_out = t_out, t_in
    return t_in if port in ("in", "from") else t_out if port in ("out", "to") else 0.5 * (t_in + t_out)
