"""Relief valves: their setting against what they protect, their capacity against the heat that comes in.

Setting: published state rules (Maryland, Nevada: at or below the rated pressure of the vessel); capacity: at
least the greatest output of the sources (published city and state codes). Where the valve may stand, and what
may not stand before it, is for the review.

A valve's capacity is all that sources can give, also those on the other side of an exchanger.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import partial

from core import units
from core.errors import listed
from core.plant.model import PortRef
from core.sizing.bodies import (
    Body,
    above,
    bodies,
    body_at,
    capacity_of,
    heated_through,
    height_leaf,
    heights,
    items_in,
    sources_in,
)
from core.sizing.context import Context, G, MissingInput, symbol_of
from core.sizing.families.expansion_task import HEATABLE, SHARE_OF_RELIEF, USUAL_RELIEF, filled_at
from core.sizing.result import Option, Sized
from core.vocabulary import Trait
from core.water.numbers import reached
from core.working import Working, derived, given, show_value

SETTING_SOURCE = "set at or below the rated pressure of what it protects: state boiler rules, published"
CAPACITY_SOURCE = "passes at least the greatest output of the sources: city and state codes, published"
STEAM_SOURCE = "ASME BPVC Section IV HG-400: pounds of steam an hour are Btu/h over 1000 (from memory)"
HOTTEST_SETTING = 372.039  # [K] 210 °F, published practice; some places ask for 200 °F
HIGHEST_POTABLE = 1034213.6  # [Pa] 150 psi, published
# Usual settings; common practice, no source.
SETTINGS = {
    "us": ("15 psi", "30 psi", "45 psi", "60 psi", "75 psi", "100 psi", "125 psi", "150 psi"),
    "si": ("1.5 bar", "2.5 bar", "3 bar", "4 bar", "6 bar", "8 bar", "10 bar"),
}
SETTING_APART = 0.1  # share by which a round setting may differ from the usual one and count as it
PROTECTED = (Trait.MAKES_HEAT, Trait.TANK)
CAUTIONS = (
    "A relief valve that is too small, set too high, plugged or closed off lets a vessel burst. It gives off "
    "scalding water or steam: full size, downhill, open and seen at its end, not valved, capped or threaded. "
    "Local code and a licensed trade decide.",
)
HOT_WATER_CAUTION = (
    "Stored hot water wants a valve for temperature and pressure, its probe in the top 6 in of the tank."
)
ACCUMULATION = 0.1  # share of the rated pressure by which it may be passed while a valve blows (published)


def allowed_setting(parts: list[Working]) -> Working:
    """Highest setting that protects every part, [Pa]: the least of what each allows."""
    formula = f"min({', '.join(part.symbol for part in parts)})" if len(parts) > 1 else parts[0].symbol
    return derived(
        "p_a", "highest setting that protects all of it", "pressure", formula, *parts, source=SETTING_SOURCE
    )


def allowed_by(
    rated: Working, density: Working, valve: Working, part: Working, symbol: str, words: str
) -> Working:
    """Setting one part allows, [Pa]: its rated pressure less the column from it up to the valve.

    Parameters
    ----------
    rated, density, valve, part : Working
        p_r rated pressure [Pa], ρ [kg/m^3], z_v and z_p heights of valve and part [m]
    """
    gravity = given("g", "gravity, m/s²", G, "", "table", "standard gravity")
    formula = "p_r - ρ * g * (z_v - z_p)"
    return derived(
        symbol, words, "pressure", formula, rated, density, gravity, valve, part, source=SETTING_SOURCE
    )


def steam_rate(heat: Working) -> Working:
    """Steam that carries a heat off, [kg/s]: a pound an hour for each 1000 Btu/h."""
    return derived(
        "m",
        "the same as steam, kg/s",
        "",
        "P / 1055056 * 0.45359237",
        heat,
        source=STEAM_SOURCE,
    )


def size(context: Context) -> list[Sized]:
    """Setting of every relief valve, capacity of every body with heat in it, temperature relief of tanks."""
    found: list[Sized] = []
    for body in bodies(context):
        valves = items_in(context, body, Trait.RELIEVES)
        found += context.one_by_one(valves, "relief_valve", partial(_setting, context, body))
        if _heat_parts(context, body, []):
            at = min(valves or sources_in(context, body) or items_in(context, body, *HEATABLE))
            found += context.one_by_one([at], "relief_capacity", partial(_capacity, context, body, valves))
        if body.potable:
            tanks = items_in(context, body, Trait.TANK)
            found += context.one_by_one(
                tanks, "temperature_relief", partial(_temperature, context, body, valves)
            )
    return found


# Setting ---------------------------------------------------------------------------------------------------


def _setting(context: Context, body: Body, valve: str) -> Sized:
    missing: list[str] = []
    parts = list(_protected(context, body, valve, missing))
    if not parts:
        raise MissingInput(
            *missing, f"{body.system}: nothing in it has props.max_pressure, so {valve} cannot be judged"
        )
    allowed = allowed_setting(parts)
    weakest = min(parts, key=lambda part: float(part.value))
    unknown = _unrated(context, body, valve)
    busiest = _operating(context, valve)
    setting = context.prop("p_s", f"setting of {valve}", valve, "set_pressure")
    show = context.shown
    most = f"{allowed.shown(context.display)} (for {weakest.extra['item']})"
    chosen, fails = "", False
    options = tuple(_settings(context, body, allowed, busiest, unknown))
    if setting is None or isinstance(setting.value, str):
        state = "is unknown" if setting else "is not given"
        missing.append(f"{valve}: props.set_pressure {state}")
        verdict = "the setting is not known"
        ok = False
    else:
        value = float(setting.value)
        protects = "protects what says its rating" if unknown else "protects them"
        verdict, ok = f"set at {setting.shown(context.display)}: {protects}", True
        if value > float(allowed.value) * (1 + 1e-9):
            verdict, ok = f"set at {setting.shown(context.display)}: too high", False
        elif busiest is not None and SHARE_OF_RELIEF * value < float(busiest.value):
            verdict = (
                f"set at {setting.shown(context.display)}: too near the "
                f"{show(float(busiest.value), 'pressure')} solved there, it will weep"
            )
            ok = False
        elif unknown and value > _usual(context, body) * (1 + 1e-9):
            verdict += f", but it is above the usual {show(_usual(context, body), 'pressure')}"
            ok = False
        fails = not ok
    if not ok:
        chosen = _first_choice(options, _usual(context, body))
    words = f"{valve}: may be set up to {most}; {verdict}."
    if unknown:
        words += f" Rating unknown: {', '.join(unknown)}."
    if setting is not None and isinstance(setting.value, float):
        words += _driven(context, body, valve, setting.value)
    return Sized(
        valve, "relief_valve", words, float(allowed.value), "pa", "pressure", "", options, chosen, allowed,
        tuple(missing), CAUTIONS, fails,
    )  # fmt: skip


def _unrated(context: Context, body: Body, valve: str) -> list[str]:
    """Heat makers and tanks of a body whose rated pressure is not known."""
    items = context.plant.items
    return [
        name
        for name in body.items
        if name != valve
        and items[name].has(*PROTECTED)
        and not isinstance(items[name].si.get("max_pressure"), float)
    ]


def _usual(context: Context, body: Body) -> float:
    """The setting usual in such a body, [Pa]: common practice, no source."""
    return units.parse(USUAL_RELIEF[body.potable][0], "pressure")


def _first_choice(options: Sequence[Option], usual: float) -> str:
    """The least setting that serves, from the usual one up; where none does, the highest below it."""
    serving = [(one.figures["pressure_pa"], one.name) for one in options if one.serves]
    from_usual = [one for one in serving if one[0] >= usual * (1 - SETTING_APART)]
    return min(from_usual)[1] if from_usual else max(serving, default=(0.0, ""))[1]


def _protected(context: Context, body: Body, valve: str, missing: list[str]) -> Iterator[Working]:
    """What each part with a rated pressure allows at the valve."""
    standing = heights(context, body)
    place = PortRef(valve, "at")
    density = context.fluid_leaf("density", body.system, filled_at(context, body), "ρ")
    for item in body.items:
        if item == valve:
            continue
        found = context.plant.items[item]
        rated = context.prop("p_r", f"rated pressure of {item}", item, "max_pressure")
        if rated is None or isinstance(rated.value, str):
            if rated is not None or found.has(*PROTECTED):
                state = "is unknown" if rated is not None else "is not given"
                missing.append(f"{item}: props.max_pressure {state}, so it is not weighed")
            continue
        ports = [PortRef(item, port) for port in found.ports if PortRef(item, port) in body.ports]
        lowest = min(ports, key=lambda port: standing[port])
        one = allowed_by(
            rated,
            density,
            height_leaf(context, body, place, "z_v"),
            height_leaf(context, body, lowest, "z_p"),
            symbol_of("p", item),
            f"setting that {item} allows",
        )
        yield replace(one, extra={"item": item})


def _driven(context: Context, body: Body, valve: str, setting: float) -> str:
    """A word on parts that circulators would press far above their rating while the valve blows."""
    place, over = PortRef(valve, "at"), []
    others = [one for one in items_in(context, body, Trait.RELIEVES) if one != valve]
    for item in body.items:
        rated = context.plant.items[item].si.get("max_pressure")
        if not isinstance(rated, float) or rated <= 0.0:
            continue
        ports = [PortRef(item, p) for p in context.plant.items[item].ports if PortRef(item, p) in body.ports]
        apart = [more for port in ports if (more := above(context, port, place)) is not None]
        most = max(apart, default=(0.0, ""))
        if setting + most[0] > rated * (1.0 + ACCUMULATION) and not others:
            over.append(f"{item} ({context.shown(setting + most[0], 'pressure')} in {most[1]})")
    if not over:
        return ""
    return f" With circulators running, more would stand at {', '.join(over)}."


def _operating(context: Context, valve: str) -> Working | None:
    """Greatest solved pressure at the valve, [Pa]."""
    worst = context.worst(valve, "pressure_pa")
    return (
        None
        if worst is None
        else context.solved("p_o", f"pressure at {valve}", valve, "pressure_pa", worst.case)
    )


def _settings(
    context: Context, body: Body, allowed: Working, busiest: Working | None, unknown: Sequence[str]
) -> Iterator[Option]:
    usual = _usual(context, body)
    for text in SETTINGS[context.display]:
        value = units.parse(text, "pressure")
        verdict = "protects them, and keeps shut"
        serves = True
        if unknown:
            verdict = f"usual, and keeps shut; rating unknown: {', '.join(unknown)}"
        if value > float(allowed.value) * (1 + 1e-9):
            verdict, serves = "too high for what it protects", False
        elif busiest is not None and SHARE_OF_RELIEF * value < float(busiest.value):
            verdict, serves = "too near the pressure solved there", False
        elif unknown and value > usual * (1 + SETTING_APART):
            verdict, serves = f"not known to protect {', '.join(unknown)}: rating unknown", False
        yield Option(text, {"pressure_pa": value}, serves, verdict, {"set_pressure": text})


# Capacity --------------------------------------------------------------------------------------------------


def heat_into(context: Context, name: str) -> float:
    """All heat that sources can bring into the body of an item, those beyond exchangers too, [W]."""
    body = body_at(context, name)
    parts = [] if body is None else _heat_parts(context, body, [])
    return sum(float(part.value) for part in parts)


def _heat_parts(context: Context, body: Body, missing: list[str]) -> list[Working]:
    """Greatest heat of each source that can warm a body, its own or through exchangers, [W]."""
    parts: dict[str, Working] = {}
    for warm in reached([body], lambda one: [other for _, other in heated_through(context, one)]):
        for item in sources_in(context, warm):
            capacity = capacity_of(context, item)
            if capacity is None or isinstance(capacity.value, str):
                missing.append(f"{item}: its greatest heat is not given")
            else:
                parts[capacity.symbol] = capacity
        for item in items_in(context, warm, Trait.TANK):
            element = context.prop(symbol_of("P", item), f"electric element of {item}", item, "element")
            if element is not None and float(element.value) > 0.0:
                parts[element.symbol] = element
    return list(parts.values())


def needed_capacity(parts: list[Working], words: str) -> Working:
    """Heat that the relief valves of a body must carry off, [W]: all that its sources can give."""
    total = " + ".join(part.symbol for part in parts)
    return derived("P", words, "power", total, *parts, source=CAPACITY_SOURCE)


def _capacity(context: Context, body: Body, valves: list[str], at: str) -> Sized:
    missing: list[str] = []
    parts = _heat_parts(context, body, missing)
    needed = needed_capacity(parts, f"greatest heat that can come into {body.system}")
    show = context.shown
    steam = steam_rate(needed)
    given_by: list[Working] = []
    for valve in valves:
        capacity = context.prop(symbol_of("C", valve), f"capacity of {valve}", valve, "capacity")
        if capacity is None or isinstance(capacity.value, str):
            missing.append(f"{valve}: props.capacity {'is unknown' if capacity else 'is not given'}")
        else:
            given_by.append(capacity)
    if not valves:
        missing.append(f"{body.system}: no relief valve is drawn in this body")
    total = sum(float(one.value) for one in given_by)
    words = f"{at}: {needed.shown(context.display)} can come into {body.system}"
    if given_by:
        enough = total >= float(needed.value) * (1 - 1e-9)
        words += f"; {listed(valves)} carr{'y' if len(valves) > 1 else 'ies'} off {show(total, 'power')}, "
        words += "enough" if enough else "too little"
    unit = "power"
    option = Option(
        f"at least {needed.shown(context.display)}",
        {"capacity_w": float(needed.value), "steam_kg_s": float(steam.value)},
        True,
        f"as steam {float(steam.value) * 3600 / (0.45359237 if context.display == 'us' else 1.0):.0f} "
        f"{'lb/h' if context.display == 'us' else 'kg/h'}",
        None,
        steam,
    )
    inlet = _inlets(context, valves, float(needed.value))
    return Sized(
        at, "relief_capacity", words + "." + inlet, float(needed.value), "w", unit, "", (option,),
        "" if given_by and total >= float(needed.value) else option.name, needed, tuple(missing), CAUTIONS,
        total < float(needed.value) * (1 - 1e-9),
    )  # fmt: skip


USUAL_INLET = 0.01905  # [m] 3/4 in
SMALL_HEAT = 4396.07  # [W] 15,000 Btu/h, up to which a 1/2 in inlet is allowed (published state rules)


def _inlets(context: Context, valves: list[str], heat: float) -> str:
    """A word on inlets below 3/4 in."""
    small = [
        valve
        for valve in valves
        if isinstance(size_of := context.plant.items[valve].si.get("inlet_size"), float) and size_of < 0.0185
    ]
    if small and heat > SMALL_HEAT:
        least = show_value(USUAL_INLET, "length", context.display)
        most = context.shown(SMALL_HEAT, "power")
        return f" The inlet of {' and '.join(small)} is under {least}, allowed up to {most} only."
    return ""


# Temperature -----------------------------------------------------------------------------------------------


def _temperature(context: Context, body: Body, valves: list[str], tank: str) -> Sized:
    """Whether a potable tank has a valve that also opens on temperature."""
    limit = given("T_m", "highest setting of temperature", HOTTEST_SETTING, "temperature", "table",
                  "210 °F and 150 psi: plumbing code practice, published; some places 200 °F")  # fmt: skip
    items = context.plant.items
    sensing = [valve for valve in valves if items[valve].si.get("set_temperature") is not None]
    missing = []
    fails = True
    cautions = (*CAUTIONS, HOT_WATER_CAUTION)
    if not sensing:
        missing.append(f"{body.system}: no relief valve in it has props.set_temperature")
        words = (
            f"{tank}: wants a valve that opens by {limit.shown(context.display)} and on pressure; none is."
        )
    else:
        problems = []
        for valve in sensing:
            at = items[valve].si["set_temperature"]
            if at == "unknown":
                missing.append(f"{valve}: props.set_temperature is unknown")
            elif at > HOTTEST_SETTING + 0.05:
                problems.append(f"{valve} opens at {context.shown(at, 'temperature')} only")
            pressure = items[valve].si.get("set_pressure")
            if isinstance(pressure, float) and pressure > HIGHEST_POTABLE * 1.0001:
                problems.append(f"{valve} is set above {context.shown(HIGHEST_POTABLE, 'pressure')}")
            if items[valve].si.get("senses_tank_top") is False:
                problems.append(f"the probe of {valve} is not in the top of the tank")
            elif items[valve].si.get("senses_tank_top") is not True:
                missing.append(f"{valve}: props.senses_tank_top is not known")
        names = " and ".join(sensing)
        fails = bool(problems)
        words = f"{tank}: {names} {'; '.join(problems) if problems else 'opens in time on temperature'}."
        if problems:
            words = f"{tank}: {'; '.join(problems)}."
    return Sized(
        tank, "temperature_relief", words, HOTTEST_SETTING, "k", "temperature", "", (), "", limit,
        tuple(missing), cautions, fails,
    )  # fmt: skip
