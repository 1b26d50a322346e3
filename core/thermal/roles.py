"""What each element of a network does to the temperature of the water passing it. No temperatures here.

* `load` on an emitter without a conductance is taken whole, like a `load` item. A floor with area and
  construction but neither load nor output gets an estimate, with a note. `flux` times area is a load.
* Volume flow through an item counts at the mean of its inlet and outlet temperatures. Two boilers with
  nothing to heat stand at the higher set point.
"""

from __future__ import annotations

import weakref
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from core.hydraulics.elements import COIL, Element
from core.hydraulics.network import Network
from core.thermal.emitters import Emitter, emitter_of
from core.thermal.heat_pumps import Output, output_at
from core.thermal.pipes import pipe_conductance
from core.thermal.plates import exchanger_ua
from core.vocabulary import Trait
from core.vocabulary.heat_roles import HeatEmitter, HeatExchanger, HeatSource, HeatStore, MixedStore


@dataclass
class Losing:
    """A pipe that loses heat: conductance [W/K], surroundings [K]."""

    ua: float
    around: float


@dataclass
class Source:
    """A heater, boiler or heat pump.

    `set_at` [K] and `stated` capacity [W] are None where nothing is typed.
    `output` is what a heat pump can give in this weather, which falls with its own outlet's temperature.
    `share` is that of the time it heats, where a stat over its water lets it cycle: its mean heat is `scale`
    times what it would give, or what brings its water to a `level` [K]. One that `throttles` its flow leaves
    at its set point whatever is taken behind it: so it cuts no loads.
    """

    item: str
    set_at: float | None
    stated: float | None
    least_flow: float
    least_output: float
    on: bool = True
    output: Output | None = None
    scale: float = 1.0
    share: float = 1.0
    level: float | None = None
    throttles: bool = False

    @property
    def leaves_at(self) -> float | None:
        """Temperature that its outlet is held at, [K]."""
        return self.set_at if self.level is None else self.level

    @property
    def cycles(self) -> bool:
        """Whether a stat over its water lets it rest at times."""
        return self.scale < 1.0 or self.level is not None

    @property
    def capacity(self) -> float | None:
        """Most heat it gives with its outlet at the set temperature, [W]; None where nothing limits it."""
        if self.output is None or self.set_at is None:
            return self.stated
        return self.output.heat(self.set_at)


@dataclass
class Giving:
    """An emitter, the temperature it gives to [K], and the room item whose temperature that is, if any.

    `share` is the share of the time its water comes, where a stat elsewhere runs it. `least` is the
    temperature below which a plain load takes no heat from the water, [K], None for its room's; `wanted` the
    most heat it gives where a load limits it, `need` its part of what its room needs in this case, [W].
    """

    item: str
    emitter: Emitter
    room: float
    home: str = ""
    share: float = 1.0
    least: float | None = None
    wanted: float | None = None
    need: float | None = None

    def met(self, units: float) -> float:
        """Temperature that its water meets, [K], all along a way of so many transfer units."""
        return self.room

    def met_slope(self, units: float) -> float:
        """How that changes with the transfer units, [K]."""
        return 0.0

    @property
    def capped(self) -> bool:
        """Whether it gives no more than is wanted, though its surface could."""
        return self.wanted is not None and self.emitter.ua is not None and not self.emitter.takes_all

    @property
    def least_at(self) -> float:
        """Temperature below which it takes nothing, [K]."""
        return self.room if self.least is None else self.least


@dataclass(frozen=True)
class Holding:
    """A room or store held by a stat: at `set_at` [K], by warming it (`sense` 1) or cooling it (-1).

    `pinned` ones are not let go where the water brings too little.
    """

    by: str
    set_at: float
    sense: float = 1.0
    pinned: bool = False


@dataclass(frozen=True)
class Cycle:
    """A stat over flowing water that cycles: where it feels, the middle of its band [K], whether it warms (1)
    or cools (-1) its place, the sources it helps to run, and the names of all stats that act with it."""

    place: tuple[str, ...]
    middle: float
    sense: float
    sources: tuple[str, ...]
    stats: tuple[str, ...]


@dataclass(frozen=True)
class Regime:
    """What stats make of a case: holdings by room or store; shares of time by emitter, where not 1; cycles by
    stat."""

    holdings: Mapping[str, Holding] = field(default_factory=dict)
    shares: Mapping[str, float] = field(default_factory=dict)
    cycles: Mapping[str, Cycle] = field(default_factory=dict)


@dataclass
class Room:
    """A room: loss over outdoors [W/K], gain [W], outdoors and wanted [K], what holds it.

    What gives it heat.
    """

    item: str
    loss: float
    gain: float
    outdoor: float
    wanted: float = 0.0
    held: Holding | None = None
    emitters: list[Giving] = field(default_factory=list)

    @property
    def need(self) -> float:
        """Heat that keeps it at what it wants, [W]."""
        return max(0.0, self.loss * (self.wanted - self.outdoor) - self.gain)

    @property
    def rest(self) -> float:
        """Temperature it comes to without heat, [K]."""
        return self.outdoor + self.gain / self.loss


@dataclass
class Hold:
    """A held tank or buffer: its nodes, the one whose temperature counts, its ways (they run inward)."""

    item: str
    held: Holding
    nodes: tuple[int, ...]
    felt: int
    ways: tuple[int, ...]


@dataclass
class Side:
    """One side of an exchanger."""

    item: str
    side: str


@dataclass
class Coil(Side):
    """A tank's coil: conductance [W/K], the tank's node, and the tank's temperature where given, [K]."""

    ua: float = 0.0
    node: int = -1
    given: float | None = None


@dataclass
class Tap:
    """A tap of a tank, or a port of a buffer, whose outflow has a given temperature, [K]."""

    item: str
    given: float


@dataclass
class Standing:
    """Water that leaves an item at a given temperature, [K]: that of its content; `back` where it flows
    backward, if that is another. `heating` is what the item brings its content meanwhile, [W]."""

    item: str
    given: float
    heating: float = 0.0
    back: float | None = None


@dataclass
class Plates:
    """An exchanger: its two elements, UA with fouling taken off [W/K], arrangement."""

    a: Element
    b: Element
    ua: float
    arrangement: str


@dataclass
class Store:
    """A fully mixed tank: its node, loss [W/K], electric element [W], surroundings [K]."""

    item: str
    node: int
    ua: float
    element: float
    around: float


Role = Losing | Source | Giving | Side | Tap | Standing


def acts(role: Role) -> bool:
    """Whether an element with this role heats or cools its water in this case."""
    if isinstance(role, Source):
        return role.on and role.set_at is not None
    if isinstance(role, Giving):
        return bool(role.wanted if role.emitter.ua is None else role.emitter.ua)
    return True


@dataclass
class Roles:
    """All that acts on temperature in one case.

    Attributes
    ----------
    of : dict
        Role by element index, for those that have one
    exchangers, stores, coils : dict
        By item id, by node, and by element
    main_temperature : dict
        Temperature of the water a main brings in, by node, [K]
    fixed : dict
        Temperatures that hold without flow (given tanks and buffers), by node, [K]
    mixed : dict
        Set temperature of the mixing valves, by the node where they mix, [K]
    stands : dict
        Set temperature of valves shut to the warm side with no heat leaving their water, as `mixed`, [K]
    rooms, holds : dict
        Rooms whose temperature is solved, and stores that a stat holds, by item id
    uncut : set of int
        Nodes of water that a state in time makes up for: its group cuts no load
    stored : dict
        By element: mean temperature of the water that lies in it, where that is a state in time, [K]
    """

    of: dict[int, Role] = field(default_factory=dict)
    exchangers: dict[str, Plates] = field(default_factory=dict)
    stores: dict[int, Store] = field(default_factory=dict)
    coils: dict[int, Coil] = field(default_factory=dict)
    main_temperature: dict[int, float] = field(default_factory=dict)
    fixed: dict[int, float] = field(default_factory=dict)
    mixed: dict[int, float] = field(default_factory=dict)
    stands: dict[int, float] = field(default_factory=dict)
    rooms: dict[str, Room] = field(default_factory=dict)
    holds: dict[str, Hold] = field(default_factory=dict)
    uncut: set[int] = field(default_factory=set)
    stored: dict[int, float] = field(default_factory=dict)


def home_of(net: Network, item: str, outdoor: float) -> tuple[float, str]:
    """Temperature an emitter gives to [K]: its own, what its room wants, or around it; and that room.

    Around a melt circuit is the weather, [K].
    """
    si = net.plant.items[item].si
    own = si.get("room_temperature")
    if own is not None:
        return float(own), ""
    if net.plant.items[item].has(Trait.MELTS_SNOW):
        return outdoor, ""
    room = net.plant.items.get(str(si.get("serves") or ""))
    if room is None or not room.has(Trait.ROOM) or room.stage == "to_remove":
        return float(net.plant.site_si.indoor), ""
    wanted = room.si.get("wanted")
    return float(net.plant.site_si.indoor if wanted is None else wanted), room.id


def least_of(net: Network, item: str) -> float | None:
    """Temperature below which a plain load takes nothing, [K]: its own or drinking water's, else None."""
    si = net.plant.items[item].si
    own = si.get("least_return")
    if own is not None:
        return float(own)
    body = net.bodies[net.body_of[net.of_item[item][0].start]]
    return float(net.plant.site_si.cold_water) if body.use == "potable" else None


@dataclass
class Lasting:
    """What acts on temperature in every case of a network alike.

    Attributes
    ----------
    losing : dict
        Pipes that lose heat, by element
    emitters : list of (int, str, Emitter)
        Element, item and law of each circuit that gives heat
    plates : dict
        Exchangers by item
    """

    losing: dict[int, Losing] = field(default_factory=dict)
    emitters: list[tuple[int, str, Emitter]] = field(default_factory=list)
    plates: dict[str, Plates] = field(default_factory=dict)


_LASTING: weakref.WeakKeyDictionary[Network, Lasting] = weakref.WeakKeyDictionary()


def lasting_roles(net: Network) -> Lasting:
    """What acts in every case of a network, found once."""
    if net not in _LASTING:
        _LASTING[net] = _find_lasting(net)
    return _LASTING[net]


def _find_lasting(net: Network) -> Lasting:
    found = Lasting()
    plant, indoor = net.plant, net.plant.site_si.indoor
    for pipe in plant.pipes.values():
        ua = pipe_conductance(pipe) if pipe.id in net.of_item else 0.0
        if ua > 0.0:
            around = pipe.si.around
            found.losing[net.of_item[pipe.id][0].index] = Losing(ua, indoor if around is None else around)
    for key, elements in net.of_item.items():
        item = plant.items.get(key)
        if item is None:
            continue
        heat = item.kind_info.heat
        if isinstance(heat, HeatEmitter):
            main = next(e for e in elements if e.part == "")
            emitter = emitter_of(item, net.bodies[net.body_of[elements[0].start]].fluid)
            if emitter.ua is not None or emitter.wanted is not None:
                found.emitters.append((main.index, key, emitter))
        elif isinstance(heat, HeatExchanger):
            a, b = elements
            found.plates[key] = Plates(a, b, exchanger_ua(net, key), item.si.get("arrangement") or "counter")
    return found


def find_roles(net: Network, tanks: dict[str, Any], outdoor: float | None = None) -> Roles:
    """Roles of every element, with the tank and buffer temperatures and the weather of a case, [K]."""
    lasting = lasting_roles(net)
    plant = net.plant
    outdoor = plant.site_si.outdoor_design if outdoor is None else outdoor
    roles = Roles(dict(lasting.losing), dict(lasting.plates))
    for i, key, emitter in lasting.emitters:
        room, home = home_of(net, key, outdoor)
        roles.of[i] = Giving(key, emitter, room, home, least=least_of(net, key), wanted=emitter.wanted)
    for key, plates in lasting.plates.items():
        roles.of[plates.a.index], roles.of[plates.b.index] = Side(key, "a"), Side(key, "b")
    for key, elements in net.of_item.items():
        item = plant.items.get(key)
        if item is None:
            continue
        heat = item.kind_info.heat
        if isinstance(heat, HeatSource):
            roles.of[elements[0].index] = _source(key, item.si, outdoor)
        elif isinstance(heat, HeatStore):
            _tank(net, roles, key, net.standing[key], tanks.get(key))
            if heat.coil:
                _coil(net, roles, key, elements[-1])
        elif isinstance(heat, MixedStore) and key in tanks:
            _given(net, roles, key, elements, tanks[key])
    for node, key in net.mains.items():
        own = plant.items[key].si.get("temperature")
        roles.main_temperature[node] = float(own if own is not None else plant.site_si.cold_water)
    return roles


def _source(key: str, si: Any, outdoor: float) -> Source:
    rows = si.get("table")
    return Source(
        key,
        si.get("set_temperature"),
        si.get("capacity"),
        float(si.get("min_flow") or 0.0),
        float(si.get("min_output") or 0.0),
        output=output_at(rows, outdoor) if rows else None,
    )


def _tank(net: Network, roles: Roles, key: str, elements: list[Element], given: Any) -> None:
    si = net.plant.items[key].si
    star = net.node(key, "*")
    if given is None:
        roles.stores[star] = Store(
            key,
            star,
            float(si.get("ua_loss") or 0.0),
            float(si.get("element") or 0.0),
            net.plant.site_si.indoor,
        )
        return
    _given(net, roles, key, elements, given)


def _coil(net: Network, roles: Roles, key: str, e: Element) -> None:
    """A coil in a tank: between taps of given temperatures the tank's is straight by height, flat beyond."""
    taps = sorted(
        (w.z_start, r.given) for w in net.standing[key] if isinstance(r := roles.of.get(w.index), Tap)
    )
    given = None
    if taps:
        middle = 0.5 * (e.z_start + e.z_end)
        given = float(np.interp(middle, [z for z, _ in taps], [t for _, t in taps]))
    ua = float(net.plant.items[key].si.get("coil_ua") or 0.0)
    coil = Coil(key, COIL, ua, net.node(key, "*"), given)
    roles.of[e.index] = roles.coils[e.index] = coil


def _given(net: Network, roles: Roles, key: str, elements: list[Element], given: Any) -> None:
    """Hold a tank or buffer at the case's temperature, or its taps at those of the nearest given tap."""
    heights = {e.part: e.z_start for e in elements}
    for e in elements:
        if e.part == "cross":
            continue
        if isinstance(given, dict):
            known = [tap for tap in given if tap in heights]
            tap = (
                e.part
                if e.part in given
                else min(known, key=lambda k: abs(heights[k] - heights[e.part]), default="")
            )
            value = float(given[tap]) if tap else net.plant.site_si.indoor
        else:
            value = float(given)
        roles.of[e.index] = Tap(key, value)
        roles.fixed[e.start] = value
        roles.fixed.setdefault(e.end, value)
