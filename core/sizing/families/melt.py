"""Melting snow and ice: the heat per area for the site, whether a circuit gives it, how warm its water is.

With the site's snow the handbook's balance; without it the classes of the trade, as ranges.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import partial

from core import units
from core.sizing.bodies import atmosphere
from core.sizing.context import Context, MissingInput
from core.sizing.families import snow
from core.sizing.families.circuits import area_of, inlet_in, supply_needed, surroundings_of, wanted_of
from core.sizing.result import Option, Sized
from core.vocabulary import Trait
from core.vocabulary.document import SITE
from core.working import Working, derived, given, typed

FLUX = 3.1545907  # [W/m^2] of 1 Btu/h/ft2
CLASS_SOURCE = "classes of snow melting: 1960 Guide, trade ranges (published)"
BACK_AND_EDGE = 0.10  # share lost below and at the edges of an insulated slab, common practice
# What is taken where the site says a snowfall but not the rest of its weather. Common practice, no source.
USUAL = {"snow_temperature": "25 degF", "snow_wind": "10 mph"}
DRIER = 3.0 / 1.8  # [K] of dew point below the air where it is not said
WIDEST = 0.3048  # [m] wider spacing leaves stripes; common practice
# Longest loops in copper: bore from [m], at 100 and at 200 Btu/h/ft2 [m]; the copper association, published.
LONGEST = (
    ("3/4 in", 0.018, 280 * 0.3048, 150 * 0.3048),
    ("1/2 in", 0.0, 140 * 0.3048, 60 * 0.3048),
)
CAUTIONS = (
    "What lies outdoors freezes: the fluid needs antifreeze for the site, which lowers what it carries. "
    "Local code and a licensed trade decide on glycol, its parting from drinking water, and gas or current.",
)


@dataclass(frozen=True)
class Class:
    """A class of the trade: its name, the share kept clear, and its range, [W/m^2]."""

    name: str
    clear: float
    low: float
    high: float


CLASSES = (
    Class("I, melts when the snow has fallen", 0.0, 80 * FLUX, 125 * FLUX),
    Class("II, slush while it falls", 0.5, 125 * FLUX, 250 * FLUX),
    Class("III, bare while it falls", 1.0, 250 * FLUX, 450 * FLUX),
)


def size(context: Context) -> list[Sized]:
    """Flux, and water temperature, of every melt circuit."""
    names = [i.id for i in context.plant.with_trait(Trait.MELTS_SNOW)]
    found = context.one_by_one(names, "melt_flux", partial(_flux, context))
    found += context.one_by_one(names, "melt_water", partial(_water, context))
    order = {name: place for place, name in enumerate(names)}
    return sorted(found, key=lambda sized: order[sized.at])


def whole_heat(flux: Working, area: Working) -> Working:
    """Heat a circuit must bring, [W]: flux times area and what is lost below and at the edges."""
    lost = given("b", "lost below and at the edges, of an insulated slab", BACK_AND_EDGE, "", "practice")
    return derived("Q_n", "heat the circuit must bring", "power", "q * A * (1 + b)", flux, area, lost)


# The flux --------------------------------------------------------------------------------------------------


def _flux(context: Context, item: str) -> Sized:
    area = area_of(context, item)
    missing: list[str] = []
    clear = _clear(context, item, missing)
    weather = context.plant.site_si.snowfall
    if weather is not None:
        needed = by_weather(context, item, clear, missing)
    else:
        missing.append("site.snowfall is not given, so the class of the trade is taken, not the weather")
        needed = by_class(float(clear.value))
    heat = whole_heat(needed, area)
    wanted = wanted_of(context, item)
    enough = float(wanted.value) >= float(heat.value) * (1.0 - 1e-9)
    words = (
        f"{item}: {needed.shown(context.display)} at the surface are {heat.shown(context.display)} with back "
    )
    words += f"and edge losses; {wanted.shown(context.display)} are asked of it, "
    words += "enough." if enough else "too little."
    words += _delivered(context, item, float(heat.value)) + _loops(context, item, float(needed.value))
    options = tuple(_options(context, item, area, missing))
    chosen = "" if enough else _nearest(options, float(heat.value))
    return Sized(
        item, "melt_flux", words, float(needed.value), "w_m2", "flux", "", options, chosen, needed,
        tuple(dict.fromkeys(missing)), CAUTIONS, not enough,
    )  # fmt: skip


def _clear(context: Context, item: str, missing: list[str]) -> Working:
    found = context.prop("A_r", f"share of {item} kept clear", item, "clear")
    if found is not None:
        return found
    missing.append(f"{item}: props.clear is not given; a cover of snow while it falls is taken (0)")
    return given("A_r", "share kept clear", 0.0, "", "practice")


def by_class(clear: float) -> Working:
    """Middle of the range of the class that keeps a share clear, [W/m^2]."""
    one = min(CLASSES, key=lambda c: abs(c.clear - clear))
    low = given("q_l", f"least of class {one.name}", one.low, "flux", "table", CLASS_SOURCE)
    high = given("q_u", f"most of class {one.name}", one.high, "flux", "table", CLASS_SOURCE)
    words = "heat wanted at the surface, by class"
    return derived("q", words, "flux", "(q_l + q_u) / 2", low, high, source=CLASS_SOURCE)


def by_weather(context: Context, item: str, clear: Working, missing: list[str]) -> Working:
    """Heat at the surface for the site's snow, [W/m^2]."""
    rate = _site(context, "s", "snowfall as water", "snowfall", missing)
    air = _site(context, "T_a", "air temperature while it snows", "snow_temperature", missing)
    surface = given("T_f", "wet surface", snow.SURFACE, "temperature", "memory", snow.SOURCE)
    parts = snow.warming(rate, air, surface), snow.melting(rate)
    return snow.melt_flux(parts, _clear_parts(context, item, air, surface, missing), clear)


def _clear_parts(
    context: Context, item: str, air: Working, surface: Working, missing: list[str]
) -> tuple[Working, Working]:
    wind = _site(context, "v", "wind while it snows", "snow_wind", missing)
    dew = _dew(context, air, missing)
    pressure = atmosphere(context, "p")
    along = derived("L", "length the wind blows along", "length", "sqrt(A)", area_of(context, item))
    transfer = snow.convection(wind, along, snow.film_temperature(air, surface), pressure)
    around = derived(
        "T_r", "cloud and sky, as warm as the air", "temperature", "T_a", air, source="full cloud"
    )
    wet = snow.humidity("W_f", "moisture at the surface", surface, pressure)
    dry = snow.humidity("W_a", "moisture of the air", dew, pressure)
    return snow.losing(transfer, air, surface, around), snow.evaporating(transfer, wet, dry)


def _site(context: Context, symbol: str, words: str, name: str, missing: list[str]) -> Working:
    """Weather of the site, typed or as usual."""
    dimension = SITE[name].dimension or ""
    text = context.plant.site.get(name)
    if text is not None:
        return typed(symbol, words, units.parse(str(text), dimension), dimension, f"site.{name}", str(text))
    if name not in USUAL:
        raise MissingInput(f"site.{name} is not given")
    value = units.parse(USUAL[name], dimension)
    missing.append(f"site.{name} is not given; {context.shown(value, dimension)} is taken")
    return given(symbol, words, value, dimension, "practice")


def _dew(context: Context, air: Working, missing: list[str]) -> Working:
    if "snow_dew_point" in context.plant.site:
        return _site(context, "T_d", "dew point while it snows", "snow_dew_point", missing)
    drier = given("Δ", "dew point below the air", DRIER, "temperature_difference", "practice")
    found = derived("T_d", "dew point while it snows", "temperature", "T_a - Δ", air, drier)
    missing.append(f"site.snow_dew_point is not given; {found.shown(context.display)} is taken")
    return found


def _options(context: Context, item: str, area: Working, missing: list[str]) -> Iterator[Option]:
    """Shares kept clear in the site's weather, or the classes of the trade; the load each would set."""
    known = context.plant.site_si.snowfall is not None
    for one in CLASSES:
        if known:
            share = given("A_r", "share kept clear", one.clear, "", "practice")
            flux = by_weather(context, item, share, [])
            name = f"kept clear: {one.clear:g}"
        else:
            flux, name = by_class(one.clear), f"class {one.name}"
        heat = whole_heat(flux, area)
        yield _option(context, item, name, flux, heat, one if not known else None)
    if known:
        air = _site(context, "T_a", "air temperature while it snows", "snow_temperature", [])
        surface = given("T_f", "wet surface", snow.SURFACE, "temperature", "memory", snow.SOURCE)
        idle = snow.idling_flux(_clear_parts(context, item, air, surface, [])[0])
        yield Option(
            "idling, dry, no snow",
            {"flux_w_m2": float(idle.value), "heat_w": float(whole_heat(_as_q(idle), area).value)},
            True,
            f"{idle.shown(context.display)}; for comparison",
            None,
            idle,
        )


def _as_q(flux: Working) -> Working:
    return Working("q", flux.words, flux.value, "flux", flux.symbol, (flux,))


def _option(context: Context, item: str, name: str, flux: Working, heat: Working, of: Class | None) -> Option:
    wanted = wanted_of(context, item)
    serves = float(wanted.value) >= float(heat.value) * (1 - 1e-9)
    verdict = f"{flux.shown(context.display)}, {heat.shown(context.display)} in all"
    if of is not None:
        verdict += f" (class from {context.shown(of.low, 'flux')} to {context.shown(of.high, 'flux')})"
    unit = units.unit_for("power", context.display)
    props = {"load": f"{units.to_unit(float(heat.value), unit) + 0.05:.1f} {unit}"}
    figures = {"flux_w_m2": float(flux.value), "heat_w": float(heat.value)}
    return Option(name, figures, serves, verdict, props, heat)


def _nearest(options: tuple[Option, ...], heat: float) -> str:
    found = [option for option in options if option.props is not None]
    return min(found, key=lambda option: abs(option.figures["heat_w"] - heat)).name


def _delivered(context: Context, item: str, heat: float) -> str:
    """What the circuit gives in the solved case that gives it most."""
    worst = context.worst(item, "delivered_w")
    if worst is None or worst.value <= 0.0:
        return " No case runs it."
    share = 100 * worst.value / heat
    return f" Solved, {worst.case} gives {context.shown(worst.value, 'power')}, {share:.0f} % of it."


def _loops(context: Context, item: str, flux: float) -> str:
    """Words on spacing and on the length of loops."""
    si = context.plant.items[item].si
    found = ""
    if isinstance(si.get("spacing"), float) and si["spacing"] > WIDEST + 1e-6:
        found += f" Tubes wider than {context.shown(WIDEST, 'length')} leave stripes (common practice)."
    tube, loops = si.get("tube"), si.get("loops")
    if tube is None or not loops:
        return found
    longest = max(length for _, length in loops)
    for name, bore, at_low, at_high in LONGEST:
        if tube.bore >= bore:
            share = min(max((flux / FLUX - 100.0) / 100.0, 0.0), 1.0)
            most = at_low + share * (at_high - at_low)
            if longest > most:
                found += (
                    f" Its longest loop, {context.shown(longest, 'length')}, passes the "
                    f"{context.shown(most, 'length')} that the copper association gives {name} at this heat."
                )
            break
    return found


# Water -----------------------------------------------------------------------------------------------------


def _water(context: Context, item: str) -> Sized:
    surface = surroundings_of(context, item)
    wanted = wanted_of(context, item)
    needed = supply_needed(context, item, wanted, surface)
    case = str(needed.extra["case"])
    there = inlet_in(context, item, case)
    flux = derived("q", "heat per area", "flux", "Q / A", wanted, area_of(context, item))
    wet = given("T_f", "wet surface", snow.SURFACE, "temperature", "memory", snow.SOURCE)
    rule = snow.fluid_by_rule(flux, wet)
    words = (
        f"{item}: {wanted.shown(context.display)} take water of {needed.shown(context.display)} at the flow "
    )
    words += f"of {case}, where {context.shown(there, 'temperature')} come"
    words += "; too cool." if there < float(needed.value) - 0.5 else "."
    option = Option(
        "rule for 3/4 in at 12 in",
        {"water_c": float(rule.value) - 273.15},
        True,
        f"mean water of {rule.shown(context.display)}; for comparison",
        None,
        rule,
    )
    return Sized(
        item, "melt_water", words, float(needed.value), "k", "temperature", case, (option,), "", needed, (),
        CAUTIONS,
    )  # fmt: skip
