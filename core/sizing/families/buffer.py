"""Buffer volume against short cycling: water that takes up what the least output of the sources is too much.

The balance V = t (Q_source - Q_load) / (ρ c ΔT) is published trade practice, with ten to twenty minutes of
running; so are the times of the two halves of a cycle and the most starts an hour, at half load.

A buffer keeps its source running ten minutes.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import partial

from core import units
from core.sizing.bodies import Body, bodies, items_in, sources_in
from core.sizing.context import Context, MissingInput, symbol_of
from core.sizing.families.heaters import LEAST, Asked, asked_working, demands_of, giving, least_of, unsaid
from core.sizing.result import Option, Sized
from core.vocabulary import Trait
from core.working import Working, derived, given

SOURCE = "buffer balance of published trade pages: run time, least output less load, temperature band"
RUN_TIME = 600.0  # [s] ten minutes, of the ten to twenty published
USUAL_BAND = {"us": 10.0 / 1.8, "si": 5.0}  # [K]
SIZES = {
    "us": tuple(f"{n} gal" for n in (10, 15, 20, 30, 40, 50, 65, 80, 120, 160, 250, 400)),
    "si": tuple(f"{n} L" for n in (30, 50, 80, 100, 150, 200, 300, 500, 750, 1000, 1500)),
}
CAUTIONS = ("A buffer stands full of hot water under pressure: relief, expansion and footing as code asks.",)


def buffer_volume(
    running: Working, least: Working, load: Working, density: Working, capacity: Working, band: Working
) -> Working:
    """Water that keeps a source running for a time, [m^3]; t_r, P_l, Q, ρ, c, ΔT."""
    return derived(
        "V_b",
        "least volume of water",
        "volume",
        "t_r * max(0, P_l - Q) / (ρ * c * ΔT)",
        running,
        least,
        load,
        density,
        capacity,
        band,
        source=SOURCE,
    )


def firing_time(
    volume: Working, least: Working, load: Working, fluid: Sequence[Working], band: Working
) -> Working:
    """How long it fires at a time, [s]."""
    formula = "ρ * c * V * ΔT / (P_l - Q)"
    return derived("t_on", "time it fires", "time", formula, *fluid, volume, band, least, load, source=SOURCE)


def resting_time(volume: Working, load: Working, fluid: Sequence[Working], band: Working) -> Working:
    """How long it rests at a time, [s]."""
    formula = "ρ * c * V * ΔT / Q"
    return derived("t_off", "time it rests", "time", formula, *fluid, volume, band, load, source=SOURCE)


def most_starts(volume: Working, least: Working, fluid: Sequence[Working], band: Working) -> Working:
    """Most starts an hour, at a load of half the least output, [-]."""
    formula = "3600 * P_l / (4 * ρ * c * V * ΔT)"
    return derived(
        "N", "most starts an hour, at half load", "", formula, least, *fluid, volume, band, source=SOURCE
    )


def size(context: Context) -> list[Sized]:
    """Buffer of every body with sources in it."""
    found: list[Sized] = []
    for body in bodies(context):
        group = sources_in(context, body)
        if group:
            stores = items_in(context, body, Trait.BUFFER) or group
            found += context.one_by_one(stores[:1], "buffer", partial(_sized, context, body, tuple(group)))
    return found


def _sized(context: Context, body: Body, group: tuple[str, ...], at: str) -> Sized:
    demands = [demand for demand in demands_of(context, group) if demand.heat > LEAST]
    if not demands:
        raise MissingInput(f"{at}: no case asks any heat, so nothing says the smallest load")
    smallest = max(demands, key=lambda d: _least_sum(context, d, group) - d.heat)
    least = _least_output(context, smallest, group)
    asked = asked_working(context, smallest, group)
    band = band_of(context, group, at)
    fluid = _fluid(context, body, group[0])
    running = given("t_r", "time it shall run at least", RUN_TIME, "time", "practice", SOURCE)
    needed = buffer_volume(running, least, asked, *fluid, band)
    held = held_in(context, body)
    unsaid_least = unsaid(context, giving(smallest, group))
    show = context.shown
    words = (
        f"{at}: {smallest.name} takes {asked.shown(context.display)} of the {least.shown(context.display)} "
    )
    words += "that the sources cannot go below"
    if float(needed.value) <= 0.0:
        words += f"; no buffer is needed against short cycling.{unsaid_least}"
        return Sized(at, "buffer", words, 0.0, "m3", "volume", smallest.name, working=needed)
    words += (
        f": {needed.shown(context.display)} keep them running {running.shown(context.display)} in a band of "
    )
    words += f"{band.shown(context.display)}"
    enough = held is not None and float(held.value) >= float(needed.value) * (1 - 1e-9)
    if held is not None:
        words += f"; {held.shown(context.display)} {'are held, enough' if enough else 'are held, too little'}"
    else:
        words += "; no buffer is drawn"
    mine = context.plant.items[at].has(Trait.BUFFER)
    options = tuple(_options(context, (least, asked, band), fluid, float(needed.value), mine))
    chosen = "" if enough else next((o.name for o in options if o.serves), "")
    if held is not None:
        starts = most_starts(held, least, fluid, band)
        words += f", at most {float(starts.value):.2g} starts an hour"
    else:
        words += f"; {show(float(needed.value), 'volume')} would do"
    return Sized(
        at,
        "buffer",
        f"{words}.{unsaid_least}",
        float(needed.value),
        "m3",
        "volume",
        smallest.name,
        options,
        chosen,
        needed,
        cautions=CAUTIONS,
        fails=held is not None and not enough,
    )


def _least_sum(context: Context, asked: Asked, group: Sequence[str]) -> float:
    return sum(float(least_of(context, asked, item, "P").value) for item in giving(asked, group))


def _least_output(context: Context, asked: Asked, group: Sequence[str]) -> Working:
    """Least heat of the sources that run together, [W]."""
    parts = [least_of(context, asked, item, symbol_of("P", item)) for item in giving(asked, group)]
    formula = " + ".join(part.symbol for part in parts)
    return derived("P_l", f"least output of what runs in {asked.name}", "power", formula, *parts)


def band_of(context: Context, group: Sequence[str], at: str) -> Working:
    """Temperature band in which the water may swing, [K]: a differential, or the usual one."""
    for item in context.plant.items.values():
        senses = item.si.get("senses")
        if item.has(Trait.FEELS_WATER) and senses and str(senses[0]) == at:
            found = context.prop("ΔT", f"differential of {item.id}", item.id, "differential")
            if found is not None and float(found.value) > 0.0:
                return found
    for name in group:
        if "differential" in context.plant.items[name].si:
            found = context.prop("ΔT", f"differential of {name}", name, "differential")
            if found is not None and float(found.value) > 0.0:
                return found
    return given(
        "ΔT",
        "band in which the water may swing",
        USUAL_BAND[context.display],
        "temperature_difference",
        "practice",
    )


def _fluid(context: Context, body: Body, source: str) -> tuple[Working, Working]:
    warm = context.prop("T", f"set temperature of {source}", source, "set_temperature")
    warm = warm or context.site("T", "indoor temperature", "indoor")
    return (
        context.fluid_leaf("density", body.system, warm),
        context.fluid_leaf("heat_capacity", body.system, warm),
    )


def held_in(context: Context, body: Body) -> Working | None:
    """Water in the stores of a body, [m^3]; not that in pipes, of which only some move in a small call."""
    parts = []
    for item in items_in(context, body, Trait.WATER_STANDS):
        if context.plant.items[item].has(Trait.HAS_COIL):
            continue
        volume = context.prop(symbol_of("V", item), f"volume of {item}", item, "volume")
        if volume is not None:
            parts.append(volume)
    for item in sources_in(context, body):
        if "water_content" in context.plant.items[item].si:
            volume = context.prop(symbol_of("V", item), f"water in {item}", item, "water_content")
            if volume is not None:
                parts.append(volume)
    if not parts:
        return None
    return derived(
        "V", "water that stores and sources hold", "volume", " + ".join(part.symbol for part in parts), *parts
    )


def _options(
    context: Context,
    balance: tuple[Working, Working, Working],
    fluid: tuple[Working, Working],
    needed: float,
    mine: bool,
) -> Iterator[Option]:
    least, asked, band = balance
    past = 0
    for text in SIZES[context.display]:
        value = units.parse(text, "volume")
        if past == 2 or value < 0.3 * needed:
            continue
        past += value >= needed
        volume = given("V", "volume of the buffer", value, "volume", "practice", "round size of our own")
        fires, rests = (
            firing_time(volume, least, asked, fluid, band),
            resting_time(volume, asked, fluid, band),
        )
        starts = most_starts(volume, least, fluid, band)
        verdict = f"fires {fires.shown(context.display)}, rests {rests.shown(context.display)}; at most "
        verdict += f"{float(starts.value):.2g} starts an hour"
        figures = {
            "volume_m3": value,
            "firing_s": float(fires.value),
            "resting_s": float(rests.value),
            "starts_h": float(starts.value),
        }
        yield Option(text, figures, value >= needed, verdict, {"volume": text} if mine else None, fires)
