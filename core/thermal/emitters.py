"""What gives heat to rooms, floors and snow: conductances from what is typed. No flows are found here."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from core.media.fluids import Fluid
from core.plant.model import Item
from core.thermal.exchanger import log_mean
from core.vocabulary.heat_roles import Gives, HeatEmitter

# Heat per area and kelvin between mean water and room, [W/m^2/K], at 150 mm spacing: slab with thin cover,
# joist bays with plates. From memory of EN 1264 type A tables and trade practice; a typed value wins.
PER_AREA = {"slab": 6.0, "suspended": 3.0}
PER_SPACING = 1.4  # [1/m] share by which each further metre of spacing weakens the logarithm, from memory
REFERENCE_SPACING = 0.15  # [m]


@dataclass
class Emitter:
    """One circuit that gives heat.

    `ua` is None where only a load is typed; `wanted` None where none is typed; `takes_all` marks kinds that
    give all they can even where less is wanted.
    """

    ua: float | None
    wanted: float | None
    takes_all: bool
    exponent: float = 1.0
    rated_mean: float = 0.0
    estimated: bool = False

    def conductance(self, t_in: float, t_out: float, room: float) -> float:
        """UA as it is now, [W/K]: scaled by the log-mean difference where the exponent is not 1.

        Source: characteristic equation of EN 442, heat ~ (log-mean difference)^n.
        """
        if self.ua is None:
            return 0.0
        if self.exponent == 1.0 or self.rated_mean <= 0.0:
            return self.ua
        mean = log_mean(abs(t_in - room), abs(t_out - room))
        return float(self.ua * (max(mean, 1e-3) / self.rated_mean) ** (self.exponent - 1.0))


def emitter_of(item: Item, fluid: Fluid) -> Emitter:
    """The emitter that an item is, from its typed values."""
    si = item.si
    wanted = si.get("load")
    area, flux = si.get("area"), si.get("flux")
    if wanted is None and area and flux:
        wanted = area * flux
    role = item.kind_info.heat
    takes_all = isinstance(role, HeatEmitter) and role.gives is Gives.ALL_POSSIBLE
    ua = si.get("output_per_degree")
    if ua is None:
        ua = si.get("ua")
    if ua is not None:
        return Emitter(ua, wanted, takes_all)
    if si.get("rated"):
        return _rated(si["rated"], wanted, takes_all, fluid)
    if wanted is None and area:
        return Emitter(_by_area(si, area), None, takes_all, estimated=True)
    return Emitter(None, wanted, takes_all)


def floor_conductance(item: Item) -> float | None:
    """What a floor gives per degree of water over its room by area and construction alone, [W/K].

    Returns
    -------
    float or None
        None of other kinds, and where either is not typed
    """
    area, construction = item.si.get("area"), item.si.get("construction")
    role = item.kind_info.heat
    by_area = isinstance(role, HeatEmitter) and role.by_area
    return _by_area(item.si, area) if by_area and area and construction else None


def _by_area(si: Any, area: float) -> float:
    per_area = PER_AREA[si.get("construction") or "slab"]
    spacing = si.get("spacing") or REFERENCE_SPACING
    return float(area * per_area * math.exp(-PER_SPACING * (spacing - REFERENCE_SPACING)))


def _rated(rated: Any, wanted: float | None, takes_all: bool, fluid: Fluid) -> Emitter:
    """UA = -C ln(1 - heat / (C (supply - room))) at the rated point, from the emitter law itself."""
    supply, room = rated["supply"], rated["room"]
    mean = supply
    capacity = outlet = 0.0
    for _ in range(3):
        capacity = rated["flow"] * float(fluid.density(mean)) * float(fluid.heat_capacity(mean))
        outlet = supply - rated["heat"] / capacity
        mean = 0.5 * (supply + outlet)
    share = (supply - outlet) / (supply - room)
    ua = -capacity * math.log1p(-share) if share < 1.0 else math.inf
    exponent = rated.get("exponent") or 1.0
    return Emitter(ua, wanted, takes_all, exponent, log_mean(supply - room, outlet - room))
