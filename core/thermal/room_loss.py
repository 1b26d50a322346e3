"""Heat a room loses per degree, with its working: typed, from what encloses it, or from past fuel use.

For the solver and for sizing alike; no flows, no temperatures are solved here.

`loss` wins over `envelope` (with `floor`, `ceiling`, `air_changes`), that over `past_use`; degree days
count from 65 °F unless `base` is given.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from core import units
from core.plant.model import Item, Plant
from core.vocabulary.document import SITE
from core.vocabulary.surfaces import Surface
from core.working import Working, derived, given, typed

AIR_HEAT = 1207.0  # [J/m^3/K] 0.018 Btu/ft^3/degF
AIR_SOURCE = "ASHRAE Fundamentals, residential load: 0.018 Btu/h per ft³/h and °F at sea level (from memory)"
SURFACE_SOURCE = "ASHRAE Fundamentals, residential load: area, heat passed per area and degree, difference"
PAST_SOURCE = (
    "degree-day method (ASHRAE Fundamentals, energy estimating; Moaveni, Engineering Fundamentals, 11.31)"
)
ATMOSPHERE_SOURCE = "ISO 2533 standard atmosphere"
USUAL_BASE = "65 degF"


def loss_of(plant: Plant, item: Item) -> Working | None:
    """Heat a room loses per degree over outdoors, [W/K], with its working.

    Parameters
    ----------
    plant : Plant
        Gives the site
    item : Item
        A room; its `loss` as typed wins, then `envelope`, then `past_use`

    Returns
    -------
    Working or None
        None where none of the three is given; `extra["missing"]` names what an estimate had to leave out
    """
    return typed_loss(item) or by_envelope(plant, item) or by_past_use(item)


def typed_loss(item: Item) -> Working | None:
    """The loss as typed, [W/K]; None where it is not."""
    value = item.si.get("loss")
    if value is None:
        return None
    text = str(item.props["loss"])
    return typed("H", f"loss of {item.id}", value, "heat_per_kelvin", f"items.{item.id}.props.loss", text)


def indoor_of(plant: Plant, item: Item) -> Working:
    """Temperature wanted in a room, else the site's indoor, [K]."""
    value = item.si.get("wanted")
    if value is not None:
        path = f"items.{item.id}.props.wanted"
        return typed(
            "T_i", f"wanted in {item.id}", value, "temperature", path, str(item.props.get("wanted", ""))
        )
    return site_leaf(plant, "T_i", "indoor temperature", "indoor")


def site_leaf(plant: Plant, symbol: str, words: str, name: str) -> Working:
    """A value of the site as a leaf of a working: typed, or the program's default, [K] or [m]."""
    value = float(getattr(plant.site_si, name))
    dimension = SITE[name].dimension or ""
    if name in plant.site:
        return typed(symbol, words, value, dimension, f"site.{name}", str(plant.site[name]))
    source = f"no site.{name} given: {SITE[name].default}"
    return given(symbol, words, value, dimension, "default", source)


def air_share(plant: Plant) -> Working:
    """Pressure of the air at the site over that at sea level, [-]."""
    return derived(
        "r",
        "pressure of the air at the site over that at sea level",
        "",
        "(1 - 0.0000225577 * z)^5.25588",
        site_leaf(plant, "z", "altitude of the site", "altitude"),
        source=ATMOSPHERE_SOURCE,
    )


def by_envelope(plant: Plant, item: Item) -> Working | None:
    """Loss from the areas around a room and the air that finds its way in, [W/K]; None without `envelope`."""
    surfaces: tuple[Surface, ...] | None = item.si.get("envelope")
    if not surfaces:
        return None
    indoor = indoor_of(plant, item)
    outdoor = site_leaf(plant, "T_o", "outdoor design temperature", "outdoor_design")
    parts, missing = [], []
    for number, surface in enumerate(surfaces):
        if surface.beyond is not None and float(indoor.value) - float(outdoor.value) < 1.0:
            missing.append(
                f"{item.id}: {surface.name} is not counted; its loss per degree over outdoors has no meaning "
                "where outdoors is as warm as the room"
            )
            continue
        parts.append(_surface(item, number, surface, indoor, outdoor))
    lacking = [name for name in ("floor", "ceiling", "air_changes") if item.si.get(name) is None]
    if lacking:
        what = " and ".join(f"props.{name}" for name in lacking)
        missing.append(f"{item.id}: {what} not given, so the air that leaks in is not counted")
    else:
        parts.append(_leaking(plant, item))
    beyond = any(surface.beyond is not None for surface in surfaces)
    return derived(
        "H",
        f"loss of {item.id} from what encloses it",
        "heat_per_kelvin",
        " + ".join(part.symbol for part in parts) or "0",
        *parts,
        source=SURFACE_SOURCE,
        holds="the site's design outdoor temperature, as parts face something else" if beyond else "",
        extra={"missing": tuple(missing), "by": "envelope"},
    )


def _surface(item: Item, number: int, surface: Surface, indoor: Working, outdoor: Working) -> Working:
    """Heat through one surface per degree over outdoors, [W/K]."""
    raw: Any = item.props["envelope"][number]
    path = f"items.{item.id}.props.envelope[{number}]"
    area = typed("A", f"area of {surface.name}", surface.area, "area", f"{path}.area", raw["area"])
    if "u" in raw:
        passing = typed(
            "U", f"heat passed by {surface.name}", surface.u, "transmittance", f"{path}.u", raw["u"]
        )
        formula = "A * U"
    else:
        value = units.parse(raw["r"], "resistance")
        passing = typed("R", f"resistance of {surface.name}", value, "resistance", f"{path}.r", raw["r"])
        formula = "A / R"
    inputs = [area, passing]
    if surface.beyond is not None:
        beyond = typed(
            "T_b",
            f"temperature beyond {surface.name}",
            surface.beyond,
            "temperature",
            f"{path}.beyond",
            raw["beyond"],
        )
        formula += " * (T_i - T_b) / (T_i - T_o)"
        inputs += [indoor, beyond, outdoor]
    return derived(
        f"H_{number + 1}",
        f"{surface.name}, per degree over outdoors",
        "heat_per_kelvin",
        formula,
        *inputs,
        source=SURFACE_SOURCE,
    )


def _leaking(plant: Plant, item: Item) -> Working:
    """Heat that warms the air leaking in, per degree, [W/K]."""
    si = item.si
    base = f"items.{item.id}.props"
    return derived(
        "H_air",
        "outdoor air that finds its way in, per degree",
        "heat_per_kelvin",
        "c_a * r * A * h * n / 3600",
        given("c_a", "heat of a cubic metre of air per kelvin, J", AIR_HEAT, "", "memory", AIR_SOURCE),
        air_share(plant),
        typed("A", f"floor area of {item.id}", si["floor"], "area", f"{base}.floor", item.props["floor"]),
        typed("h", "height of the room", si["ceiling"], "length", f"{base}.ceiling", item.props["ceiling"]),
        typed(
            "n",
            "air changes an hour",
            si["air_changes"],
            "",
            f"{base}.air_changes",
            f"{item.props['air_changes']:g}",
        ),
        source=AIR_SOURCE,
    )


def by_past_use(item: Item) -> Working | None:
    """Loss from the fuel of a past season and its degree days, [W/K]; None without `past_use`."""
    used: dict[str, float] | None = item.si.get("past_use")
    if not used:
        return None
    raw = item.props["past_use"]

    def leaf(symbol: str, words: str, key: str, dimension: str, absent: float) -> Working:
        path = f"items.{item.id}.props.past_use.{key}"
        if key not in used:
            return given(symbol, words, absent, dimension, "default", f"no past_use.{key} given")
        text = raw[key] if isinstance(raw[key], str) else f"{raw[key]:g}"
        return typed(symbol, words, used[key], dimension, path, text)

    base = leaf(
        "T_b", "base of the degree days", "base", "temperature", units.parse(USUAL_BASE, "temperature")
    )
    if "base" not in used:
        base = replace(base, origin="practice", source="65 °F: common practice, no source")
    return derived(
        "H",
        f"loss of {item.id} from past fuel use",
        "heat_per_kelvin",
        "(E - E_w) * η * s / D",
        leaf("E", "energy in the fuel of the season", "fuel", "energy", 0.0),
        leaf("E_w", "of it not for heating rooms", "not_for_heat", "energy", 0.0),
        leaf("η", "share of it that reached the rooms", "efficiency", "", 1.0),
        leaf("s", f"share of the house's loss that is {item.id}'s", "share", "", 1.0),
        leaf("D", "degree days of the season", "degree_days", "degree_days", 1.0),
        base,
        how="The base of the degree days stands for the outdoor temperature at which sun, people and lamps "
        "alone keep the house warm, so those gains are in the figure already.",
        source=PAST_SOURCE,
        holds="a whole season, with the fuel and the degree days of the same months",
        extra={"missing": (), "by": "past_use"},
    )
