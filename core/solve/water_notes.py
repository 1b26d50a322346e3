"""What the solver has to say of water that would boil where it stands or flows."""

from __future__ import annotations

from collections.abc import Iterator

from core.hydraulics.network import Body
from core.media.vapour import atmosphere, vapour_pressure
from core.solve.boiling import boiling
from core.solve.saying import Sayer
from core.solve.solution import Note

CAUTION = (
    "Steam bursts vessels and scalds: local code and a licensed trade decide on pressure, relief and limits."
)


class WaterNotes(Sayer):
    """Notes on the water of a settled case."""

    def found(self) -> Iterator[Note]:
        """One for each body of water that boils somewhere, at the place furthest beyond."""
        for body in self.net.bodies:
            yield from self._boils(body)

    def _boils(self, body: Body) -> Iterator[Note]:
        found = boiling(self.s, self.p, body)
        if found is None:
            return
        cure = "Nothing sets its pressure: " if body.number in self.p.unpinned else ""
        cure += "a fill pressure and an expansion tank, or cooler water, would help."
        boils = "boils" if body.fluid.kind == "water" else "may boil"
        least = self.pressure(vapour_pressure(found.temperature) - atmosphere(self.plant.site_si.altitude))
        yield Note(
            found.at,
            f"its water of {self.warm(found.temperature)} {boils} at {self.pressure(found.gauge)}; that "
            f"takes {least} or more. {cure[0].upper()}{cure[1:]} {CAUTION}",
        )
