"""What each element of a network does to the temperature of the water passing it. No temperatures here."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from core.hydraulics.elements import Element
from core.hydraulics.network import Network
from core.media.fluids import Fluid
from core.thermal.emitters import Emitter, emitter_of
from core.thermal.exchanger import ua_from_rated
from core.thermal.heat import heat_table
from core.thermal.pipes import pipe_conductance


@dataclass
class Losing:
    """A pipe that loses heat: conductance [W/K], surroundings [K]."""

    ua: float
    around: float


@dataclass
class Source:
    """A heater or boiler; `set_at` [K] and `capacity` [W] may be None where nothing is typed."""

    item: str
    set_at: float | None
    capacity: float | None
    least_flow: float
    least_output: float
    on: bool = True


@dataclass
class Giving:
    """An emitter and the room it gives to, [K]."""

    item: str
    emitter: Emitter
    room: float


@dataclass
class Side:
    """One side of an exchanger."""

    item: str
    side: str


@dataclass
class Tap:
    """A tap of a tank, or a port of a buffer, whose outflow has a given temperature, [K]."""

    item: str
    given: float


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


Role = Losing | Source | Giving | Side | Tap


@dataclass
class Roles:
    """All that acts on temperature in one case.

    Attributes
    ----------
    of : dict
        Role by element index, for those that have one
    exchangers, stores : dict
        By item id and by node
    main_temperature : dict
        Temperature of the water a main brings in, by node, [K]
    fixed : dict
        Temperatures that hold without flow (given tanks and buffers), by node, [K]
    """

    of: dict[int, Role] = field(default_factory=dict)
    exchangers: dict[str, Plates] = field(default_factory=dict)
    stores: dict[int, Store] = field(default_factory=dict)
    main_temperature: dict[int, float] = field(default_factory=dict)
    fixed: dict[int, float] = field(default_factory=dict)


def rooms_temperature(net: Network, item: str) -> float:
    """Temperature an emitter gives to, [K]: its own, or the site's indoor."""
    si = net.plant.items[item].si
    own = si.get("room_temperature")
    return float(own if own is not None else net.plant.site_si.indoor)


def find_roles(net: Network, tanks: dict[str, Any]) -> Roles:
    """Roles of every element, with the tank and buffer temperatures of a case, [K]."""
    roles = Roles()
    plant = net.plant
    indoor = plant.site_si.indoor
    for pipe in plant.pipes.values():
        ua = pipe_conductance(pipe) if pipe.id in net.of_item else 0.0
        if ua > 0.0:
            around = pipe.si.around
            roles.of[net.of_item[pipe.id][0].index] = Losing(ua, indoor if around is None else around)
    for key, elements in net.of_item.items():
        item = plant.items.get(key)
        if item is None:
            continue
        fluid = net.bodies[net.body_of[elements[0].start]].fluid
        if item.kind in ("heater", "boiler"):
            roles.of[elements[0].index] = _source(key, item.si)
        elif item.kind in ("floor_circuit", "melt_circuit", "radiator", "fan_coil", "load"):
            main = next(e for e in elements if e.part == "")
            emitter = emitter_of(item, fluid)
            if emitter.ua is not None or emitter.wanted is not None:
                roles.of[main.index] = Giving(key, emitter, rooms_temperature(net, key))
        elif item.kind == "exchanger":
            a, b = elements
            roles.exchangers[key] = Plates(
                a, b, exchanger_ua(net, key), item.si.get("arrangement") or "counter"
            )
            roles.of[a.index], roles.of[b.index] = Side(key, "a"), Side(key, "b")
        elif item.kind == "tank":
            _tank(net, roles, key, elements, tanks.get(key))
        elif item.kind == "buffer" and key in tanks:
            _given(net, roles, key, elements, tanks[key])
    for node, key in net.mains.items():
        own = plant.items[key].si.get("temperature")
        roles.main_temperature[node] = float(own if own is not None else plant.site_si.cold_water)
    return roles


def _source(key: str, si: Any) -> Source:
    return Source(
        key,
        si.get("set_temperature"),
        si.get("capacity"),
        float(si.get("min_flow") or 0.0),
        float(si.get("min_output") or 0.0),
    )


def exchanger_ua(net: Network, key: str) -> float:
    """UA of an exchanger, typed or from its rated point, fouling taken off, [W/K]."""
    si = net.plant.items[key].si
    a, b = net.of_item[key]
    ua = si.get("ua")
    if ua is None and si.get("rated"):
        sides = [net.bodies[net.body_of[e.start]].fluid for e in (a, b)]
        ua = _rated_ua(si["rated"], sides, si.get("arrangement") or "counter")
    return float(ua or 0.0) * (1.0 - float(si.get("fouling") or 0.0))


def _rated_ua(rated: Any, fluids: list[Fluid], arrangement: str) -> float:
    a_table, b_table = (heat_table(f) for f in fluids)
    a_mean = 0.5 * (rated["a_in"] + rated["a_out"])
    duty = (
        rated["a_flow"]
        * float(fluids[0].density(a_mean))
        * (a_table.content(rated["a_in"]) - a_table.content(rated["a_out"]))
    )
    b_out = rated["b_in"]
    for _ in range(6):
        mass = rated["b_flow"] * float(fluids[1].density(0.5 * (rated["b_in"] + b_out)))
        b_out = rated["b_in"] + duty / (mass * b_table.mean_capacity(rated["b_in"], b_out))
    return ua_from_rated(duty, rated["a_in"], rated["a_out"], rated["b_in"], b_out, arrangement)


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
