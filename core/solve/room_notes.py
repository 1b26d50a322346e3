"""What the solver has to say about rooms: which are too warm or too cool, and what would cure it.

Rooms within 1 K get no note.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from core.figures import RoomFigures
from core.plant.model import Item
from core.solve.note_text import NoteWriter
from core.solve.solution import Note
from core.solve.thermostat_results import Turn
from core.thermal.heat import ZERO, heat_table
from core.thermal.roles import Giving, Holding, Room
from core.thermal.room_loss import loss_of
from core.thermal.temperatures import STILL
from core.vocabulary import Trait

GAINS = "it gains heat and loses none, so nothing keeps it from growing ever warmer"
OFF = 1.0  # [K] by which a room may miss what is wanted without a word
HOTTEST = 355.4  # [K] 180 degF: hotter supply is no cure (common practice, no source)
FLOOR_HOTTEST = 328.15  # [K] 55 degC in screed around the tube (EN 1264-4, from memory)
FLOW_SHARES = (0.1, 3.0)  # of the flow there is, within which balancing is a cure
ROUNDS = 40


@dataclass
class _Warmer:
    """An emitter that gives to a room: inlet and outlet [K], capacity rate [W/K], flow [m^3/s]."""

    giving: Giving
    floor: bool
    t_in: float
    t_out: float
    rate: float
    flow: float

    def heat(self, t_in: float, room: float, share: float = 1.0) -> float:
        """Mean heat to a room [K] from an inlet [K], at a share of the flow it has, [W]."""
        rate = self.rate * share
        t_out = min(self.t_out, t_in)
        for _ in range(ROUNDS if self.giving.emitter.exponent != 1.0 else 1):
            ua = self.giving.emitter.conductance(t_in, t_out, room)
            t_out = room + (t_in - room) * math.exp(-ua / rate)
        return self.giving.share * rate * (t_in - t_out)


class RoomNotes(NoteWriter):
    """Notes on the rooms of a settled case."""

    def found(self) -> Iterator[Note]:
        """All of them."""
        assert self.s.thermostats.wiring is not None
        self.wiring, self.stats = self.s.thermostats.wiring, self.s.thermostats.stats
        for item in self.plant.items.values():
            if item.has(Trait.ROOM) and item.stage != "to_remove":
                yield from self._room(item)

    def _room(self, item: Item) -> Iterator[Note]:
        room = self.s.roles.rooms.get(item.id)
        served = [i for i, r in self.s.roles.of.items() if isinstance(r, Giving) and r.home == item.id]
        if room is None:
            if served:
                at = self.warm(self.solution.role(item.id, RoomFigures).temperature_c + ZERO)
                why = "its loss is not known" if loss_of(self.plant, item) is None else GAINS
                yield Note(item.id, f"{why}: held at {at} here. Type its loss or envelope.")
            return
        if item.si.get("loss") is None:
            yield from self._estimate(item)
        turn = self.s.thermostats.turns.get(item.id)
        if turn is not None:
            yield Note(item.id, self._in_turn(item, turn))
            return
        if self.s.thermostats.moved:  # of minutes or hours: `core.solve.transient_notes`
            return
        held = self.s.thermostats.holdings.get(item.id)
        wanted = self._wanted(item, held)
        if wanted is None or self._kept_off(item):
            return
        t = self.s.thermal.room[item.id]
        if t > wanted + OFF and (
            room.outdoor < wanted or self._warmers(room)
        ):  # else it is but warm outdoors
            yield Note(item.id, self._too_warm(room, wanted, t))
        elif t < wanted - OFF:
            yield Note(item.id, self._too_cool(room, wanted, t, bool(served)))

    def _in_turn(self, item: Item, turn: Turn) -> str:
        """Said of a room that is heated while a store is not."""
        points = [s.set_at for s in self.stats.values() if s.place[0] == item.id]
        wanted = max(points) if points else item.si.get("wanted")
        text = (
            f"is heated while {turn.waits_for} is off, {100.0 * turn.share:.0f} % of the time, with "
            f"{self.heat(turn.heat)}; shown are the flows while {turn.waits_for} is on."
        )
        if wanted is not None and turn.t < float(wanted) - OFF:
            text += f" That brings it to {self.warm(turn.t)} where {self.warm(float(wanted))} is wanted."
        return text

    def _kept_off(self, item: Item) -> bool:
        """Whether the case itself says that no stat of this room calls: then nothing is amiss."""
        stats = [stat.key for stat in self.stats.values() if stat.place[0] == item.id]
        states = self.s.signals
        return bool(stats) and all(key in states.given and not states.on[key] for key in stats)

    def _estimate(self, item: Item) -> Iterator[Note]:
        working = loss_of(self.plant, item)
        missing = () if working is None else working.extra.get("missing", ())
        for words in missing:
            said = str(words).removeprefix(f"{item.id}: ")
            yield Note(item.id, f"its loss is estimated: {said}.")

    def _wanted(self, item: Item, held: Holding | None) -> float | None:
        """What the room is to have, [K]: the point of its stat, else what is typed."""
        if held is not None and not held.pinned:
            return held.set_at
        wanted = item.si.get("wanted")
        return None if wanted is None else float(wanted)

    def _warmers(self, room: Room) -> list[_Warmer]:
        found = []
        t = self.s.thermal
        for i, role in self.s.roles.of.items():
            w = abs(float(self.s.balance.w[i]))
            if not isinstance(role, Giving) or role.home != room.item or w <= STILL:
                continue
            if role.emitter.ua is None:
                continue
            table = heat_table(self.body_at(i).fluid)
            t_in, t_out = float(t.t_in[i]), float(t.t_out[i])
            rate = w * table.mean_capacity(t_in, t_out)
            flow = w / float(self.body_at(i).fluid.density(0.5 * (t_in + t_out)))
            floor = self.plant.items[role.item].has(Trait.IN_FLOOR)
            found.append(_Warmer(role, floor, t_in, t_out, rate, flow))
        return found

    # too warm, too cool ------------------------------------------------------------------------------------

    def _too_warm(self, room: Room, wanted: float, t: float) -> str:
        what = f"comes to {self.warm(t)} where {self.warm(wanted)} is wanted"
        need = room.loss * (wanted - room.outdoor) - room.gain
        warmers = self._warmers(room)
        if not warmers:
            return f"{what}, by its gain of {self.heat(room.gain)} and the weather: no heat reaches it."
        if need <= 0.0:
            return f"{what}: at {self.warm(room.outdoor)} outdoors it needs no heat. Let its circuits rest."
        cures = [self._supply_cure(warmers, wanted, need), self._flow_cure(warmers, wanted, need)]
        return f"{what}. {self._either(cures)} Or let a stat hold it."

    def _too_cool(self, room: Room, wanted: float, t: float, served: bool) -> str:
        what = f"comes to {self.warm(t)} where {self.warm(wanted)} is wanted"
        if not served:
            return f"{what}: no emitter serves it."
        need = room.loss * (wanted - room.outdoor) - room.gain
        if not any(
            isinstance(role, Giving) and role.home == room.item and abs(float(self.s.balance.w[i])) > STILL
            for i, role in self.s.roles.of.items()
        ):
            return self._unheated(room, what, need)
        given = self._given(room)
        if self._source_short():
            return (
                f"{what}, short by {self.heat(max(0.0, need - given))}: "
                "what heats its water is at its capacity."
            )
        warmers = self._warmers(room)
        if not warmers:  # plain loads alone
            return f"{what}: it needs {self.heat(need)}, and its emitters take {self.heat(given)} as typed."
        cures = [self._supply_cure(warmers, wanted, need), self._flow_cure(warmers, wanted, need)]
        most = sum(w.rate * max(0.0, w.t_in - wanted) for w in warmers)  # all that its water brings
        surface = " alone: it wants more surface" if most > need else ", nor more surface, alone"
        said = self._either(cures) or f"Neither hotter water nor more of it would do{surface}."
        return f"{what}. {said}"

    def _unheated(self, room: Room, what: str, need: float) -> str:
        """No water comes: said with whom it waits for, and how fast it cools at first."""
        waits = ""
        for stat in self.stats.values():
            if stat.place[0] == room.item and self.s.signals.on.get(stat.key):
                found = self.wiring.waits_for(self.wiring.reached(stat.key), self.s.signals.on)
                if found is not None and not found[2]:
                    waits = f" while {found[1]} is on"
        mass = self.plant.items[room.item].si.get("mass")
        pace = f", {self.span(3600.0 * need / float(mass))} in the first hour" if mass else ""
        return f"left so, it {what}{pace}: no water flows to it{waits}. It needs {self.heat(need)}."

    def _given(self, room: Room) -> float:
        return self.solution.role(room.item, RoomFigures).heat_w

    def _source_short(self) -> bool:
        return any(mode == "limit" for mode in self.s.thermal.source.values())

    def _either(self, cures: list[str]) -> str:
        kept = [cure for cure in cures if cure]
        if not kept:
            return ""
        text = ", or ".join(kept)
        return f"{text[0].upper()}{text[1:]} would hold it."

    def _supply_cure(self, warmers: list[_Warmer], wanted: float, need: float) -> str:
        """Supply temperature that would just do, all inlets raised or lowered alike over the room."""

        def surplus(share: float) -> float:
            heats = (w.heat(wanted + share * (w.t_in - wanted), wanted) for w in warmers)
            return sum(heats) - need

        share = _root(surplus, 1e-3, 20.0)
        main = max(warmers, key=lambda w: w.rate * (w.t_in - w.t_out))
        supply = wanted + share * (main.t_in - wanted) if share is not None else math.inf
        if supply > (FLOOR_HOTTEST if main.floor else HOTTEST):
            return ""
        how = "by outdoor reset or mixing" if supply < main.t_in else "instead"
        return f"a supply of {self.warm(supply)} to {main.giving.item} {how} ({self.warm(main.t_in)} now)"

    def _flow_cure(self, warmers: list[_Warmer], wanted: float, need: float) -> str:
        """Flow that would just do at the supply there is, all emitters alike."""

        def surplus(share: float) -> float:
            return sum(w.heat(w.t_in, wanted, share) for w in warmers) - need

        share = _root(surplus, *FLOW_SHARES)
        if share is None:
            return ""
        main = max(warmers, key=lambda w: w.rate * (w.t_in - w.t_out))
        return f"{self.flow(share * main.flow)} through it by balancing ({self.flow(main.flow)} now)"


def _root(f: Callable[[float], float], low: float, high: float) -> float | None:
    """Where a rising function passes zero between two arguments above 0; None where it does not."""
    if not (f(low) < 0.0 < f(high)):
        return None
    for _ in range(ROUNDS):
        middle = math.sqrt(low * high)
        low, high = (middle, high) if f(middle) < 0.0 else (low, middle)
    return math.sqrt(low * high)
