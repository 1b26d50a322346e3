"""What stores heat in a plant, laid out as states, with where each starts. What is not typed is guessed."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import numpy.typing as npt

from core import units
from core.controls.stats import Stat
from core.hydraulics.elements import COIL, Element
from core.hydraulics.network import Network
from core.plant.model import Item
from core.simulation.circuit_water import CircuitWater, circuit_waters, waited_for
from core.simulation.parts import FASTEST, SLICES, MassPart, Part, RoomPart
from core.simulation.stores import BoilerPart, Vessel
from core.solve.setup import CaseSetup
from core.thermal.emitters import Emitter
from core.thermal.heat import heat_table
from core.thermal.roles import Giving, Side, find_roles, home_of, lasting_roles
from core.thermal.rooms import rooms_of
from core.vocabulary import Trait

Array = npt.NDArray[np.float64]

# Heat stored per area of floor, [J/m^2/K]: 4 in of concrete (2300 kg/m^3, 880 J/kg/K); plates and wood.
PER_AREA = {"slab": 206e3, "suspended": 25e3}
FLOOR_SOURCE = "4 in of concrete, or wood with plates; handbook densities from memory"
USUAL_OUTPUT = {"slab": 6.0, "suspended": 3.0}  # [W/m^2/K] to guess an area by; as core.thermal.emitters
ROOM_PER_FLOOR = 110e3  # [J/m^2/K] light building of EN ISO 13790, from memory
ROOM_HOURS = 24.0  # [h] of its loss, where no floor area is typed: common practice, no source
VOLUMES = {  # [m^3] common practice, no source
    Trait.TANK: 0.3,
    Trait.BUFFER: 0.15,
    Trait.PARTS_FLOWS: 0.01,
}
BOILER_PER_KW = 0.2e-3  # [m^3] per kW of output, common practice, no source
QUICKEST = 20.0  # [s] a floor that follows its water faster counts as none, a surface under snow as this
LEAST_VOLUME = 1e-3  # [m^3] stands for 0
USUAL_RHO = 990.0


@dataclass
class Layout:
    """Parts in the order of their states; rooms, vessels, masses by id, waters by body; what was guessed."""

    parts: list[Part] = field(default_factory=list)
    cautions: list[str] = field(default_factory=list)
    rooms: dict[str, RoomPart] = field(default_factory=dict)
    vessels: dict[str, Vessel] = field(default_factory=dict)
    boilers: dict[str, BoilerPart] = field(default_factory=dict)
    masses: dict[str, MassPart] = field(default_factory=dict)
    waters: list[CircuitWater] = field(default_factory=list)
    count: int = 0

    def place(self, part: Part) -> None:
        """Put a part behind the others."""
        part.first = self.count
        self.count += len(part.start)
        self.parts.append(part)

    def start(self) -> Array:
        """Where all states start, [K]."""
        return np.array([t for part in self.parts for t in part.start])

    def capacity(self) -> Array:
        """What each state stores, [J/K]."""
        return np.array([c for part in self.parts for c in part.capacity])

    def prepare(self, setup: CaseSetup, x: Array) -> None:
        """Put all temperatures into the roles of a case."""
        for part in self.parts:
            part.prepare(setup, x)


class _Builder:
    def __init__(
        self,
        net: Network,
        losses: Mapping[str, float],
        stats: Mapping[str, Stat],
        start: Mapping[str, Any],
        outdoor: float,
        gains: Callable[[str], Callable[[], float] | None],
        snows: bool,
    ) -> None:
        self.snows = snows
        self.net, self.plant = net, net.plant
        self.losses, self.stats, self.given = losses, stats, start
        self.outdoor, self.gains = outdoor, gains
        self.system = "si" if net.plant.units == "si" else "us"
        self.found = Layout()

    def build(self) -> Layout:
        for key, room in rooms_of(self.plant, self.losses, self.outdoor).items():
            self._room(key, room.loss, room.outdoor, room.wanted)
        for item in self.plant.with_trait(Trait.ROOM):
            if item.id not in self.found.rooms:
                self.say(f"{item.id}: its loss is not known, so it is not followed: its gain is left out")
        prompt = waited_for(self.net)
        for item in self.plant.items.values():
            if item.stays and item.has(Trait.WATER_STANDS) and item.id in self.net.standing:
                body = self.net.body_of[self.net.standing[item.id][0].start]
                if body not in prompt or item.has(Trait.TANK, Trait.BUFFER):
                    self._vessel(item)
        for i, key, emitter in lasting_roles(self.net).emitters:
            if self.plant.items[key].has(Trait.LOOPED):
                self._mass(self.net.elements[i], key, emitter)
        for item in self.plant.with_trait(Trait.KEEPS_OWN_WATER_HOT):
            self._boiler(item)
        self._waters()
        return self.found

    def say(self, words: str) -> None:
        self.found.cautions.append(words)

    def shown(self, value: float, dimension: str) -> str:
        return units.show(value, dimension, self.system)

    # rooms -------------------------------------------------------------------------------------------------

    def _room(self, key: str, loss: float, outdoor: float, wanted: float) -> None:
        item = self.plant.items[key]
        mass = item.si.get("mass")
        if mass is None:
            floor = item.si.get("floor")
            mass = ROOM_PER_FLOOR * floor if floor else ROOM_HOURS * 3600.0 * max(loss, 1.0)
            how = (
                "a light building by floor area (EN ISO 13790, from memory)"
                if floor
                else ("a day of its loss (common practice, no source)")
            )
            self.say(f"{key}: mass is not set; {self.shown(mass, 'heat_storage')} taken, {how}")
        mass = max(float(mass), loss * FASTEST)
        lossless = loss < 1e-3
        typed = float(item.si.get("gain") or 0.0)
        part = RoomPart(
            key, 0, [self._start(key, wanted)], [mass], loss,
            self.gains(key) or (lambda: typed), outdoor if lossless else None, wanted,
        )  # fmt: skip
        self.found.place(part)
        self.found.rooms[key] = part

    def _start(self, key: str, otherwise: float) -> float:
        value = self.given.get(key)
        if isinstance(value, Mapping):
            return float(np.mean(list(value.values())))
        if value is not None:
            return float(value)
        stat = next((s for s in self.stats.values() if s.place[0] == key), None)
        return otherwise if stat is None else stat.set_at

    # vessels -----------------------------------------------------------------------------------------------

    def _vessel(self, item: Item) -> None:
        si, ways = item.si, [e for e in self.net.standing[item.id] if e.part != "cross"]
        fluid = self.net.bodies[self.net.body_of[ways[0].start]].fluid
        volume = si.get("volume")
        if volume is None:
            volume = next(v for trait, v in VOLUMES.items() if item.has(trait))
            words = self.shown(volume, "volume")
            self.say(f"{item.id}: volume is not set; {words} taken (common practice, no source)")
        volume = max(float(volume), LEAST_VOLUME)
        tank, buffer = item.has(Trait.TANK), item.has(Trait.BUFFER)
        many = int(si.get("nodes") or 12) if tank else 1 if buffer else 2
        begun = self._start(item.id, self.plant.site_si.indoor)
        start = [begun] * many
        bottom, tall = float(si.get("height") or 0.0), float(si.get("tall") or 0.0)
        typed = self.given.get(item.id)
        if isinstance(typed, Mapping) and tank:
            known = sorted((float(si["taps"][tap]), float(t)) for tap, t in typed.items())
            middles = (np.arange(many) + 0.5) / many * tall
            start = np.interp(middles, [z for z, _ in known], [t for _, t in known]).tolist()
        table = heat_table(fluid)
        cp = table.capacity(begun)
        weight = float(fluid.density(begun)) * volume / many
        part = Vessel(
            item.id, 0, start, [weight * cp] * many,
            table=table, cp=cp, ua=float(si.get("ua_loss") or 0.0) / many,
            around=self.plant.site_si.indoor, element=float(si.get("element") or 0.0), stacked=tank,
        )  # fmt: skip
        if tank:
            part.ways = [(e, part.layer_at(e.z_start, bottom, tall)) for e in ways]
            part.inner = (self.net.node(item.id, "*"),)
            self._coil(item, part, bottom, tall)
        else:
            upper, lower = (self.net.node(item.id, end) for end in ("upper", "lower"))
            layer = {lower: 0, upper: many - 1}
            part.ways = [(e, layer[e.end]) for e in ways]
            part.inner = (upper, lower) if many == 1 else ()
        self.found.place(part)
        self.found.vessels[item.id] = part

    def _coil(self, item: Item, part: Vessel, bottom: float, tall: float) -> None:
        coil = next((e for e in self.net.of_item[item.id] if e.part == COIL), None)
        if coil is None or not item.has(Trait.HAS_COIL):
            return
        part.coil = coil
        many = len(part.start)
        if not item.si.get("coil_heights") and many > 1:
            part.coiled = tuple(range(max(1, many // 2)))
            self.say(f"{item.id}: coil_heights is not set; the coil is taken in the lower half (no source)")
            return
        ends = sorted(part.layer_at(z, bottom, tall) for z in (coil.z_start, coil.z_end))
        part.coiled = tuple(range(ends[0], ends[1] + 1))

    # masses ------------------------------------------------------------------------------------------------

    def _mass(self, e: Element, key: str, emitter: Emitter) -> None:
        item = self.plant.items[key]
        si, mass = item.si, item.si.get("mass")
        self._snow(item, emitter)
        if emitter.ua is None:
            if mass != 0.0:
                self.say(f"{key}: its mass is left out: output_per_degree, or area without load, is not set")
            return
        if mass is None:
            built = si.get("construction") or "slab"
            area = si.get("area") or emitter.ua / USUAL_OUTPUT[built]
            mass = PER_AREA[built] * area
            self.say(f"{key}: mass is not set; {self.shown(mass, 'heat_storage')} taken: {FLOOR_SOURCE}")
        if float(mass) < QUICKEST * emitter.ua and not item.has(Trait.MELTS_SNOW):
            return
        mass = max(float(mass), QUICKEST * emitter.ua)
        around, home = home_of(self.net, key, self.outdoor)
        room = self.found.rooms.get(home)
        outdoors = item.has(Trait.MELTS_SNOW) and si.get("room_temperature") is None
        begun = room.start[0] if room is not None else around
        share, stands = float(si.get("mass_at") or 0.3), None if outdoors or room else around
        each, melts = [float(mass) / SLICES] * SLICES, item.has(Trait.MELTS_SNOW)
        part = MassPart(key, 0, [begun] * SLICES, each, e, emitter, share, room, stands, melts)
        self.found.place(part)
        self.found.masses[key] = part

    def _snow(self, item: Item, emitter: Emitter) -> None:
        if not self.snows or not item.has(Trait.MELTS_SNOW):
            return
        if emitter.ua is None:
            self.say(
                f"{item.id}: snow on it is left out: output_per_degree, or area without load, is not set"
            )
        elif not item.si.get("area"):
            self.say(f"{item.id}: area is not set, so no snow falls on it")

    # boilers -----------------------------------------------------------------------------------------------

    def _boiler(self, item: Item) -> None:
        si = item.si
        if not si.get("differential") or si.get("set_temperature") is None or item.id not in self.net.of_item:
            return
        e = self.net.of_item[item.id][0]
        fluid = self.net.bodies[self.net.body_of[e.start]].fluid
        volume, most = si.get("water_content"), si.get("capacity")
        if volume is None:
            volume = max(1e-3, BOILER_PER_KW * float(most or 2e4) / 1e3)
            words = self.shown(volume, "volume")
            self.say(f"{item.id}: water_content is not set; {words} taken (common practice, no source)")
        volume, indoor = max(float(volume), LEAST_VOLUME), self.plant.site_si.indoor
        stored = volume * float(fluid.density(330.0)) * heat_table(fluid).capacity(330.0)
        part = BoilerPart(
            item.id, 0, [indoor], [stored], e, float(si["set_temperature"]), float(si["differential"]),
            float(si.get("min_output") or 0.0), float(most) if most else 1e9, takers=self._takers(e),
        )  # fmt: skip
        self.found.place(part)
        self.found.boilers[item.id] = part

    def _takers(self, boiler: Element) -> tuple[int, ...]:
        """Elements of its water in which heat leaves that: emitters, exchangers, coils, ways of tanks
        and buffers."""
        net, roles = self.net, find_roles(self.net, {})
        body = net.bodies[net.body_of[boiler.start]]
        giving = [i for i in body.elements if isinstance(roles.of.get(i), (Giving, Side))]
        stores = (Trait.TANK, Trait.BUFFER)
        tanks = [ways for key, ways in net.standing.items() if self.plant.items[key].has(*stores)]
        return (*giving, *(e.index for ways in tanks for e in ways if net.body_of[e.start] == body.number))

    # water -------------------------------------------------------------------------------------------------

    def _waters(self) -> None:
        found = self.found
        parts = (*found.vessels.values(), *found.masses.values(), *found.boilers.values())
        held = {e.index for part in parts for e in part.elements()}
        waters, said = circuit_waters(self.net, held)
        found.cautions += said
        for water in waters:
            found.place(water)
            water.moved_to(water.first)
            found.waters.append(water)


def lay_out(
    net: Network,
    losses: Mapping[str, float],
    stats: Mapping[str, Stat],
    start: Mapping[str, Any],
    outdoor: float,
    gains: Callable[[str], Callable[[], float] | None],
    snows: bool = False,
) -> Layout:
    """The states of a plant.

    Parameters
    ----------
    net : Network
    losses : mapping
        Heat that rooms lose per degree, by id, [W/K]
    stats : mapping
        Stats that feel something
    start : mapping
        Where rooms and tanks start, [K]
    outdoor : float
        At the start, [K]
    gains : callable
        By room: gives its gain of the hour [W], None where the room's own stands
    snows : bool
        Whether it ever does
    """
    return _Builder(net, losses, stats, start, outdoor, gains, snows).build()
