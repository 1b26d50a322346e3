"""Notes on what mixes, bypasses or uses water up: mixing and three-way valves, bypasses, humidifiers."""

from __future__ import annotations

from collections.abc import Iterator

from core.figures import MixingFigures, SharingFigures, UseFigures
from core.hydraulics.elements import USE
from core.plant.model import Item
from core.solve.mixing_controls import MixingValve, ThreeWay
from core.solve.note_text import SCALDS, NoteWriter
from core.solve.solution import Note
from core.thermal.heat import ZERO
from core.thermal.temperatures import STILL
from core.vocabulary import Trait

DAY = 86400.0  # [s]


class ValveNotes(NoteWriter):
    """Notes on valves that blend water, and on pieces that let it by or out."""

    def found(self) -> Iterator[Note]:
        """All of them."""
        for d in self.s.devices:
            if isinstance(d, ThreeWay):
                yield from self._three_way(d)
            elif isinstance(d, MixingValve):
                yield from self._mixing(d)
        for key in self.net.of_item:
            item = self.plant.items.get(key)
            if item is None:
                continue
            if item.has(Trait.USES_WATER):
                yield from self._humidifier(item)
            elif item.has(Trait.SHARES) and {"position", "target"}.isdisjoint(item.props):
                yield Note(key, "has neither position nor target: taken as standing halfway. Type one.")
            elif item.has(Trait.OPENS_BY_PRESSURE) and item.si.get("set_pressure") is None:
                yield Note(key, "has no set pressure, so it opens at once. Type one.")

    def _mixing(self, d: MixingValve) -> Iterator[Note]:
        yield from self._least_mix(d)
        if not d.note:
            return
        valve = self.solution.role(d.key, MixingFigures)
        t = self.warm(valve.temperature_c + ZERO)
        reach = {
            "all hot": "all hot, its hot water is too cool",
            "all cold": "all cold, its cold water is too warm",
            "edge": "hunting, just there its flows jump",
        }[d.note]
        text = f"does not hold {self.warm(d.set_at)}: {t}, {reach}."
        if valve.flow_m3_s == 0.0:
            text = f"is turned {d.note}, but no water comes that way: nothing flows."
        if valve.temperature_c > SCALDS:
            text += " Water this hot can scald; local code and a licensed plumber set the limit."
        yield Note(d.key, text)

    def _least_mix(self, d: MixingValve) -> Iterator[Note]:
        least = float(self.plant.items[d.key].si.get("min_flow") or 0.0)
        flow = self.solution.flow(d.key)
        if STILL / 1000.0 < flow < least:
            yield Note(
                d.key,
                f"passes {self.flow(flow)}, less than the {self.flow(least)} it needs to hold "
                "its temperature. Too hot water scalds; local code and a licensed plumber decide.",
            )

    def _three_way(self, d: ThreeWay) -> Iterator[Note]:
        if not d.note:
            return
        valve, target = self.solution.role(d.key, SharingFigures), self.warm(d.set_at)
        t = valve.temperature_c
        if d.note == "parting":
            yield Note(
                d.key,
                f"{self.flow(-valve.flow_m3_s)} comes in at ab and parts: there is nothing to mix, so "
                f"its target of {target} means nothing here. A position would share the flow.",
            )
            return
        leg = "a" if d.position >= 1.0 else "b"
        want = "warm" if t + ZERO < d.set_at else "cool"
        reach = {
            "edge": "hunting, just there its flows jump",
            "alike": "a and b come alike",
        }.get(d.note, f"all from {leg}, and no water {want} enough comes")
        text = f"does not hold {target}: {self.warm(t + ZERO)}, {reach}."
        if valve.flow_m3_s == 0.0:
            text = f"is turned all to {leg}, but no water comes that way: nothing flows."
        if t > SCALDS and self.body_at(d.hot.index).use == "potable":
            text += " Water this hot can scald; local code and a licensed plumber set the limit."
        yield Note(d.key, text)

    def _humidifier(self, item: Item) -> Iterator[Note]:
        uses = float(self.s.case.si.draws.get(item.id, item.si.get("uses") or 0.0))
        if uses <= 0.0:
            return
        use = next(e for e in self.net.of_item[item.id] if e.part == USE)
        if use.end in self.net.airs:
            got = self.solution.role(item.id, UseFigures).uses_m3_s
            if got < uses * (1.0 - 1e-3):
                yield Note(
                    item.id,
                    f"gets {self.volume(got * DAY)} a day of the {self.volume(uses * DAY)} it uses: "
                    "no pressure is left at it.",
                )
            return
        body = self.body_at(use.index)
        behind = [k for k, e in self.net.parted.items() if self.net.body_of[e.end] == body.number]
        valves = [self.plant.items[k] for k in behind]
        fills = [v.id for v in valves if v.has(Trait.FILLS) and v.si["open"]]
        lost = f"uses {self.volume(uses * DAY)} a day, "
        if fills:
            text = (
                f"{lost}which {fills[0]} would make up for with fresh water and the air and lime in it; "
                "it is left out here."
            )
        else:
            text = f"{lost}which would drain this body of water: nothing feeds it. It is left out here."
        yield Note(
            item.id,
            f"{text} Feed it from drinking water; local code and a licensed plumber decide how it is "
            "kept apart.",
        )
