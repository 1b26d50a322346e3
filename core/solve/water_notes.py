"""What the solver has to say of water that would boil where it stands or flows."""

from __future__ import annotations

from collections.abc import Iterator

from core.hydraulics.network import Body
from core.media.vapour import atmosphere, vapour_pressure
from core.solve.boiling import boiling
from core.solve.saying import Sayer
from core.solve.solution import Note
from core.vocabulary import Trait

ALIKE = 2000.0  # [Pa] within which two pressures count as one

CAUTION = (
    "Steam bursts vessels and scalds: local code and a licensed trade decide on pressure, relief and limits."
)


class WaterNotes(Sayer):
    """Notes on the water of a settled case."""

    def found(self) -> Iterator[Note]:
        """One for each body of water that boils somewhere, at the place furthest beyond."""
        for body in self.net.bodies:
            yield from self._boils(body)
            yield from self._two_levels(body)
            yield from self._swells(body)

    def _two_levels(self, body: Body) -> Iterator[Note]:
        """Mains, or expansion tanks, that hold different pressures in one body."""
        there = sorted(key for key in body.items if not self.plant.items[key].out_of_service)
        for trait, prop, what in (
            (Trait.BRINGS_WATER, "pressure", "cold water supplies"),
            (Trait.EXPANDS, "precharge", "expansion tanks"),
        ):
            levels = {
                key: self.plant.items[key].si.get(prop) for key in there if self.plant.items[key].has(trait)
            }
            known = {key: float(level) for key, level in levels.items() if level is not None}
            if known and max(known.values()) - min(known.values()) > ALIKE:
                named = ", ".join(f"{key} {self.pressure(level)}" for key, level in known.items())
                first = next(iter(known))
                taken = f" Figures take that of {first}." if trait is Trait.EXPANDS else ""
                yield Note(
                    first,
                    f"{what} of different pressure hang on one body of water: {named}.{taken} "
                    "Make them alike.",
                )

    def _swells(self, body: Body) -> Iterator[Note]:
        """A closed body that is heated, with nothing that takes the water that swells."""
        items = [self.plant.items[key] for key in body.items]
        takes = any(i.has(Trait.EXPANDS, Trait.BRINGS_WATER, Trait.DRAWS_WATER) for i in items)
        heats = next((i.id for i in items if i.has(Trait.MAKES_HEAT)), "")
        if body.use == "closed" and heats and not takes:
            yield Note(
                heats,
                "danger: it heats a closed body of water that has no expansion tank: its pressure "
                "rises until a relief valve opens or a part bursts. An expansion tank and a relief "
                f"valve are needed. {CAUTION}",
            )

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
