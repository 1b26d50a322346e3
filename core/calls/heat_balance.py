"""Where the heat of one solved case comes from and where it goes; what is over must be nothing.

Worked out from the figures handed out, by item and pipe, not from the solver's own arrays.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from core.figures import EmitterFigures, SourceFigures, TankFigures
from core.media.fluids import Fluid, fluid_of
from core.plant.model import Pipe, Plant
from core.solve import Solution
from core.thermal.heat import ZERO, heat_table
from core.vocabulary import Trait

LEAST = 1e-9  # [W]


@dataclass(frozen=True)
class HeatBalance:
    """Heat flows of one case by id, [W].

    Attributes
    ----------
    sources : dict
        Heat that heaters, boilers, heat pumps and tanks' elements give
    circuits : dict
        Heat that emitters give away
    stores : dict
        Heat taken up by tanks and buffers; below 0 where they give it
    drawn : dict
        Heat in drawn water over the site's cold water, less what mains bring in
    pipes : dict
        Heat that insulated pipes lose
    """

    sources: Mapping[str, float]
    circuits: Mapping[str, float]
    stores: Mapping[str, float]
    drawn: Mapping[str, float]
    pipes: Mapping[str, float]

    @property
    def given(self) -> float:
        """Heat of all sources, [W]."""
        return sum(self.sources.values())

    @property
    def taken(self) -> float:
        """Heat that goes anywhere, [W]."""
        return sum(sum(part.values()) for part in (self.circuits, self.stores, self.drawn, self.pipes))

    @property
    def over(self) -> float:
        """What the sources give and nothing takes, [W]; 0 but for rounding."""
        return self.given - self.taken

    def as_data(self) -> dict[str, Any]:
        """Plain data for --json, [W]."""
        return {
            "sources_w": dict(self.sources),
            "circuits_w": dict(self.circuits),
            "stores_w": dict(self.stores),
            "drawn_w": dict(self.drawn),
            "pipes_w": sum(self.pipes.values()),
            "over_w": self.over,
        }


def heat_balance(plant: Plant, solution: Solution) -> HeatBalance:
    """The heat of one solved case, sorted by where it comes from and goes."""
    book = _Book(plant, solution)
    items = {k: i for k, i in plant.items.items() if k in solution.items and i.stage != "to_remove"}
    sources = {key: found.duty_w for key, found in solution.of(SourceFigures).items()}
    tanks = solution.of(TankFigures)
    stores: dict[str, float] = {}
    drawn: dict[str, float] = {}
    for key, item in items.items():
        if item.has(Trait.TANK):
            stores[key] = tanks[key].duty_w
            if element := float(item.si.get("element") or 0.0):
                sources[key] = element
        elif item.has(Trait.PARTS_FLOWS):
            stores[key] = book.into(key)
        elif item.has(Trait.DRAWS_WATER, Trait.USES_WATER, Trait.BRINGS_WATER):
            drawn[key] = book.into(key)
    return HeatBalance(
        sources,
        {key: found.delivered_w for key, found in solution.of(EmitterFigures).items()},
        _felt(stores),
        _felt(drawn),
        _felt({p.id: book.lost(p) for p in plant.pipes.values() if p.id in solution.pipes}),
    )


def _felt(flows: Mapping[str, float]) -> dict[str, float]:
    """Without what is only rounding."""
    return {key: watts for key, watts in flows.items() if abs(watts) > LEAST}


class _Book:
    """Heat carried by pipes."""

    def __init__(self, plant: Plant, solution: Solution) -> None:
        self.plant, self.figures = plant, solution.pipes
        self.base = plant.site_si.cold_water
        self._fluids: dict[str, Fluid] = {}

    def _fluid(self, pipe: Pipe) -> Fluid:
        if pipe.system not in self._fluids:
            system = self.plant.systems.get(pipe.system)
            self._fluids[pipe.system] = fluid_of(system.si.fluid if system else {"kind": "water"})
        return self._fluids[pipe.system]

    def _mass(self, pipe: Pipe) -> float:
        """Mass flow from start to end, [kg/s]."""
        f = self.figures[pipe.id]
        mean = 0.5 * (f.temperature_in_c + f.temperature_out_c) + ZERO
        return f.flow_m3_s * float(self._fluid(pipe).density(mean))

    def lost(self, pipe: Pipe) -> float:
        """Heat that a pipe's water loses on its way, [W]."""
        f, table = self.figures[pipe.id], heat_table(self._fluid(pipe))
        fall = table.content(f.temperature_in_c + ZERO) - table.content(f.temperature_out_c + ZERO)
        return self._mass(pipe) * fall

    def into(self, item: str) -> float:
        """Heat that pipes carry into an item, over the site's cold water, [W]."""
        total = 0.0
        for pipe in self.plant.pipes.values():
            if pipe.id not in self.figures or item not in (pipe.start.item, pipe.end.item):
                continue
            table, mass, f = heat_table(self._fluid(pipe)), self._mass(pipe), self.figures[pipe.id]
            ends = (pipe.start, -1.0, f.temperature_in_c), (pipe.end, 1.0, f.temperature_out_c)
            for ref, sign, t in ends:
                if ref.item == item:
                    total += sign * mass * (table.content(t + ZERO) - table.content(self.base))
        return total
