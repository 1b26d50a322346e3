"""Electric power of what runs at one moment."""

from __future__ import annotations

from core.calls.power import electric_power
from core.figures import PumpFigures
from core.plant.model import Plant
from core.solve.settle import Settled
from core.thermal.roles import Source
from core.vocabulary import Trait


class Powers:
    """Power of circulators [W], and of heat pumps per heat they give [W/W]; `unknown` without watts."""

    def __init__(self, plant: Plant, items: list[str]) -> None:
        self.items = [plant.items[key] for key in items]
        self.unknown: set[str] = set()
        self.watts: dict[str, float] = {}
        self.per_heat: dict[str, float] = {}

    def take(self, s: Settled) -> None:
        """As the water is now."""
        self.watts, self.per_heat = {}, {}
        for item in self.items:
            e = s.net.of_item[item.id][0]
            role = s.roles.of.get(e.index)
            if item.has(Trait.DRIVES) and s.running.get(item.id):
                drive = s.settings.drives.get(e.index)
                flow = float(s.balance.w[e.index] / s.rho[e.index])
                speed = float(drive.speed_at(flow)) if drive is not None else 0.0
                power = electric_power(item, PumpFigures(flow, 0.0, True, speed))
                if power is None:
                    self.unknown.add(item.id)
                else:
                    self.watts[item.id] = float(power.value)
            elif item.has(Trait.LIFTS_HEAT) and isinstance(role, Source) and role.output is not None:
                self.per_heat[item.id] = role.output.power_for(1.0, float(s.thermal.t_out[e.index]))
