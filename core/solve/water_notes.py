"""What the solver has to say of water that freezes or boils where it stands or flows.

Circuits that rest for one reason share one note, at the first of them.
"""

from __future__ import annotations

from collections.abc import Iterator

from core.hydraulics.network import Body
from core.media.vapour import atmosphere, vapour_pressure
from core.solve.boiling import boiling
from core.solve.note_text import NEAR, NoteWriter
from core.solve.solution import Note, Severity
from core.thermal.roles import Giving
from core.vocabulary import Trait

ALIKE = 2000.0  # [Pa] within which two pressures count as one
ADVICE = "Local code and a licensed plumber can advise."
CAUTION = (
    "Steam bursts vessels and scalds: local code and a licensed trade decide on pressure, relief and limits."
)


class WaterNotes(NoteWriter):
    """Notes on the water of a settled case."""

    def found(self) -> Iterator[Note]:
        """One for each body of water that freezes or boils somewhere, at the place furthest beyond."""
        for body in self.net.bodies:
            yield from self._freezes(body)
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
        heats = next((i.id for i in items if i.has(Trait.MAKES_HEAT)), "") or self._heated_through(body)
        if body.use == "closed" and heats and not takes:
            yield Note(
                heats,
                "danger: it heats a closed body of water that has no expansion tank: its pressure "
                "rises until a relief valve opens or a part bursts. An expansion tank and a relief "
                f"valve are needed. {CAUTION}",
                Severity.MISSING,
                "no-expansion-tank",
            )

    def _heated_through(self, body: Body) -> str:
        """An exchanger that heats a body in this case; empty where none does."""
        t = self.s.thermal
        for key, plates in self.s.roles.exchangers.items():
            for side in (plates.a, plates.b):
                i = side.index
                if self.net.body_of[side.start] == body.number and self.moves[i] and t.t_out[i] > t.t_in[i]:
                    return key
        return ""

    def _freezes(self, body: Body) -> Iterator[Note]:
        fluid = body.fluid
        if not body.elements or fluid.kind == "custom" or body.unsolved:
            return
        es, t = body.elements, self.s.thermal
        low = float(min(t.t_in[es].min(), t.t_out[es].min()))
        cold = sorted((t, k, at, beside) for k, (t, at, beside) in enumerate(self._beside(body)))
        stands = bool(cold) and cold[0][0] < fluid.low - NEAR and not self.moves[es].any()
        if low < fluid.low - NEAR and not stands:
            what = f"danger: {fluid.name} at {self.warm(low)} freezes"
            yield self._freezing(body, self.extreme(body, False), what)
        elif cold and cold[0][0] < fluid.low - NEAR:
            at_cold, _, at, beside = cold[0]
            what = f"danger: its {fluid.name} has no flow beside {beside} at {self.warm(at_cold)} and freezes"
            others = dict.fromkeys(key for t, _, key, _ in cold[1:] if t < fluid.low - NEAR and key != at)
            more = f" So it does at {', '.join(others)}." if others else ""
            yield self._freezing(body, at, what, more)

    def _freezing(self, body: Body, at: str, what: str, more: str = "") -> Note:
        fluid = body.fluid
        if self._drinking(body):
            cure = "Drinking water takes no antifreeze: keep it warm, or drain it."
        elif fluid.kind == "water":
            cure = "Antifreeze, or more heat, would keep it liquid."
        else:
            cure = "A stronger mixture, or more heat, would keep it liquid."
        text = f"{what} (at {self.warm(fluid.low)}): ice bursts what holds it.{more} {cure}"
        return Note(at, f"{text} {ADVICE}", Severity.DANGER, "zone-freezes")

    def _drinking(self, body: Body) -> bool:
        """Whether it is drinking water, or a main or a system of drinking water meets it."""
        systems = [self.plant.systems[key] for key in (body.system, *body.mixed) if key in self.plant.systems]
        fed = any(n in self.net.mains for n in body.nodes)
        return fed or body.use == "potable" or any(system.use == "potable" for system in systems)

    def _beside(self, body: Body) -> Iterator[tuple[float, str, str]]:
        """What stands beside the still water of a body: a temperature [K], the place, and in words what."""
        s, t = self.s, self.s.thermal
        still = {i for i in body.elements if not self.moves[i]}
        for key, plates in s.roles.exchangers.items():
            for one, other in ((plates.a.index, plates.b.index), (plates.b.index, plates.a.index)):
                if plates.ua > 0.0 and one in still and self.moves[other]:
                    yield float(min(t.t_in[other], t.t_out[other])), key, "water of its other side"
        for i in still:
            role = s.roles.of.get(i)
            if isinstance(role, Giving):
                where = "the outdoors" if self.plant.items[role.item].has(Trait.MELTS_SNOW) else "its room"
                yield role.room, role.item, where
            e = self.net.elements[i]
            around = self.plant.pipes[e.key].si.around if e.is_pipe and e.key in self.plant.pipes else None
            if around is not None:
                yield around, e.key, "surroundings"
        for i, coil in s.roles.coils.items():
            if coil.ua <= 0.0 or not self.moves[i] or self.net.body_of[coil.node] != body.number:
                continue
            if not any(self.moves[e.index] for e in self.net.touching[coil.node]):
                yield float(min(t.t_in[i], t.t_out[i])), coil.item, "its coil"

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
            Severity.DANGER,
            "water-boils",
        )
