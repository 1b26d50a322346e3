"""Expansion tanks of closed and potable systems: the size they must have, and whether those drawn have it.

P2 is nine tenths of the lowest relief setting less the most by which the solved pressure there exceeds that
at the tank; all tubes and vessels count as steel. Items that do not say their water content are named.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

from core import units
from core.plant.model import PortRef
from core.sizing.bodies import (
    Body,
    atmosphere,
    bodies,
    height_leaf,
    heights,
    items_in,
    site_pressure,
    sources_in,
)
from core.sizing.context import Context, MissingInput, symbol_of
from core.sizing.families.expansion_formulas import (
    Cushion,
    absolute,
    code_volume,
    cushion_when_hot,
    fill_pressure,
    plain_volume,
    pressure_when_hot,
)
from core.sizing.families.expansion_task import HEATABLE, Task, filled_at, heated, still_pressure, task_of
from core.sizing.result import Option, Sized
from core.vocabulary import Trait
from core.working import Working, given

TOP_MARGIN = 4.0 * 6894.757293168361  # [Pa] 3 to 5 psi at the top, common practice
PRECHARGE_APART = 3.0 * 6894.757293168361  # [Pa] by which precharge and fill may differ; common practice
# Round sizes of our own, not a maker's list.
SIZES = {
    "us": tuple(f"{n} gal" for n in (2, 3, 5, 8, 12, 20, 30, 45, 60, 80, 120, 160, 250, 400, 600, 1000)),
    "si": tuple(f"{n} L" for n in (8, 12, 20, 35, 50, 80, 120, 200, 300, 500, 800, 1200, 2000, 4000)),
}
CAUTIONS = (
    "A closed system without working expansion bursts or opens its relief valve. Local code and a licensed "
    "trade decide on tank, valve and pressures; nothing that closes may stand between tank and heater.",
)


def size(context: Context) -> list[Sized]:
    """Expansion tank of every body with heat in it, and the fill pressure of each closed one."""
    found: list[Sized] = []
    for body in bodies(context):
        if not heated(context, body):
            continue
        tanks = items_in(context, body, Trait.EXPANDS)
        at = (tanks or sources_in(context, body) or items_in(context, body, *HEATABLE))[0]
        found += context.one_by_one([at], "expansion_tank", partial(_sized, context, body))
        found += _filled(context, body, tanks)
    return found


def fill_pressures(context: Context) -> list[Sized]:
    """The fill pressure of each closed body with heat in it and an expansion tank."""
    found: list[Sized] = []
    for body in bodies(context):
        if heated(context, body):
            found += _filled(context, body, items_in(context, body, Trait.EXPANDS))
    return found


def _filled(context: Context, body: Body, tanks: list[str]) -> list[Sized]:
    if not tanks or body.potable:
        return []
    return context.one_by_one(tanks[:1], "fill_pressure", partial(_fill_pressure, context, body))


def _sized(context: Context, body: Body, at: str) -> Sized:
    spec = context.plant.systems[body.system].fluid
    if spec.get("kind") == "custom" and "expansion" not in spec:
        raise MissingInput(
            f"systems.{body.system}.fluid.expansion is not given, so its swelling is not known"
        )
    task = task_of(context, body)
    needed = task.volume
    options = tuple(_options(context, task, at))
    drawn = next((one for one in options if one.name.startswith("drawn")), None)
    chosen = next((one.name for one in options if one.serves and one.props is not None), "")
    show = context.shown
    taken, least = _fine(context, float(task.taken.value)), _fine(context, float(needed.value))
    words = (
        f"{at}: {taken} to take in from {show(float(task.filled_at.value), 'temperature')} to "
        f"{show(float(task.warmest.value), 'temperature')}, between "
        f"{show(float(task.first.value) - site_pressure(context), 'pressure')} and "
        f"{show(float(task.last.value) - site_pressure(context), 'pressure')}: {least} at least"
    )
    if drawn is not None:
        words += f"; {drawn.verdict}"
        chosen = "" if drawn.serves else chosen
    elif chosen:
        words += f"; take {chosen}"
    words += f". {task.content.how}" if task.content.how else "."
    fluid = context.fluid(body.system)
    return Sized(
        at,
        "expansion_tank",
        words,
        float(needed.value),
        "m3",
        "volume",
        str(task.warmest.extra.get("case", "")),
        options,
        chosen,
        needed,
        task.missing,
        CAUTIONS + ((fluid.caution,) if fluid.caution else ()),
        fails=drawn is not None and not drawn.serves,
    )


def _fine(context: Context, volume: float) -> str:
    """A small volume with two digits."""
    unit = units.unit_for("volume", context.display)
    digits = 2 if units.to_unit(volume, unit) < 10.0 else None
    return units.show(volume, "volume", context.display, digits)


def _options(context: Context, task: Task, at: str) -> Iterator[Option]:
    """The tanks drawn, round sizes, and what other methods say."""
    system = context.display
    if task.tanks:
        yield _drawn(context, task)
    taken, air = task.taken, atmosphere(context)
    yield from _at_the_limit(context, task)
    past = 0
    for text in SIZES[system]:
        volume = units.parse(text, "volume")
        serves = volume >= float(task.volume.value)
        past += serves
        if past > 2 or volume < 0.25 * float(task.volume.value):
            continue
        option = _tank_option(context, task, text, volume, air)
        if len(task.tanks) != 1 or at not in task.tanks:
            option = Option(option.name, option.figures, option.serves, option.verdict, None, option.working)
        yield option
    plain = plain_volume(taken, task.first, task.last, air)
    yield Option(
        "plain tank without diaphragm",
        {"volume_m3": float(plain.value)},
        True,
        f"would have to hold {plain.shown(system)}; for comparison",
        None,
        plain,
    )
    if (
        context.plant.systems[task.body.system].fluid.get("kind", "water") == "water"
        and not task.body.potable
    ):
        code = code_volume(task.content, task.warmest, task.first, task.last)
        if code.within:
            yield Option(
                "short form of the code",
                {"volume_m3": float(code.value)},
                True,
                f"gives {code.shown(system)}; for comparison",
                None,
                code,
            )


def _at_the_limit(context: Context, task: Task) -> Iterator[Option]:
    """The size it would take if a source ran up to its independent high limit."""
    for source in sources_in(context, task.body):
        limit = context.plant.items[source].si.get("high_limit")
        if not isinstance(limit, float) or limit <= float(task.warmest.value):
            continue
        warmest = context.prop("T_h", f"high limit of {source}", source, "high_limit")
        volume = task_of(context, task.body, warmest).volume
        drawn = sum(float(context.plant.items[t].si.get("volume") or 0.0) for t in task.tanks)
        enough = drawn >= float(volume.value)
        if cushions := _cushions(context, task):
            swollen = task_of(context, task.body, warmest)
            hot = cushion_when_hot(swollen.taken, swollen.first, cushions, atmosphere(context))
            most = float(swollen.last.value) - site_pressure(context)
            enough = enough and hot is not None and float(hot.value) <= most * (1.0 + 1e-9)
        name = f"up to the high limit of {source}, {context.shown(limit, 'temperature')}"
        verdict = f"{_fine(context, float(volume.value))} at least"
        if drawn:
            verdict += "; drawn is enough" if enough else "; drawn is too small"
        yield Option(name, {"volume_m3": float(volume.value)}, enough, verdict, None, volume)


def _tank_option(context: Context, task: Task, text: str, volume: float, air: Working) -> Option:
    size_of = given("V_t", "volume of the tank", volume, "volume", "practice", "round size of our own")
    if volume <= float(task.taken.value):
        return Option(text, {"volume_m3": volume}, False, "holds less than swells out")
    hot = pressure_when_hot(task.taken, task.first, size_of, air)
    serves = volume >= float(task.volume.value)
    limit = float(task.last.value) - float(air.value)
    verdict = f"{hot.shown(context.display)} when hot, "
    verdict += f"{'below' if serves else 'over'} {context.shown(limit, 'pressure')}"
    cold = context.shown(float(task.first.value) - float(air.value), "pressure")
    props = {
        "volume": text,
        "acceptance": _volume_text(float(task.taken.value), context, volume),
        "precharge": _pressure_text(float(task.first.value) - float(air.value), context),
    }
    figures = {"volume_m3": volume, "hot_pa": float(hot.value)}
    return Option(text, figures, serves, f"{verdict}, precharged to {cold}", props, hot)


def _volume_text(least: float, context: Context, most: float) -> str:
    """A volume that is enough, a little rounded up, never above the tank's own."""
    unit = "L" if context.display == "si" else "gal"
    enough = -(-units.to_unit(least, unit) * 10 // 1) / 10
    return f"{min(enough, units.to_unit(most, unit)):.4g} {unit}"


def _pressure_text(value: float, context: Context) -> str:
    unit = "kPa" if context.display == "si" else "psi"
    return f"{round(units.to_unit(value, unit), 0 if unit == 'kPa' else 1):g} {unit}"


def _drawn(context: Context, task: Task) -> Option:
    """The verdict on the tanks in the drawing, together."""
    si = {name: context.plant.items[name].si for name in task.tanks}
    volumes = [values.get("volume") for values in si.values()]
    names = " and ".join(task.tanks)
    if any(volume is None for volume in volumes):
        lacking = next(name for name, values in si.items() if values.get("volume") is None)
        return Option(f"drawn: {names}", {}, False, f"{lacking}: props.volume is not given")
    volume = sum(float(v) for v in volumes if v is not None)
    name = f"drawn: {names}, {context.shown(volume, 'volume')}"
    problems = []
    if volume < float(task.volume.value) * (1.0 - 1e-9):
        problems.append("is too small")
    takes = [values.get("acceptance") for values in si.values()]
    if all(take is not None for take in takes):
        room = sum(float(take) for take in takes if take is not None)
        if room < float(task.taken.value):
            problems.append(f"accepts only {context.shown(room, 'volume')}")
    air = site_pressure(context)
    for tank, values in si.items():
        charge = values.get("precharge")
        wanted = float(task.first.value) - air
        if charge is None:
            problems.append(f"has no precharge given ({tank})")
        elif abs(float(charge) - wanted) > PRECHARGE_APART:
            problems.append(
                f"is precharged to {context.shown(float(charge), 'pressure')} where "
                f"{context.shown(wanted, 'pressure')} stand before heating"
            )
    figures = {"volume_m3": volume}
    cushions = _cushions(context, task)
    working = cushion_when_hot(task.taken, task.first, cushions, atmosphere(context)) if cushions else None
    if working is not None:
        figures["hot_pa"] = float(working.value)
        limit = float(task.last.value) - air
        if float(working.value) > limit * (1.0 + 1e-9):
            problems.append(
                f"reaches {working.shown(context.display)} when hot, over {context.shown(limit, 'pressure')}"
            )
    elif cushions:
        problems.append("has no room for what swells out at its precharge")
    shown = context.shown(volume, "volume")
    verdict = f"the {shown} drawn {' and '.join(problems)}" if problems else f"the {shown} drawn is enough"
    if not problems and working is not None:
        verdict += f", {working.shown(context.display)} when hot"
    return Option(name, figures, not problems, verdict, None, working)


def _cushions(context: Context, task: Task) -> list[Cushion]:
    """Volume and precharge of every tank drawn; empty where one of them lacks either."""
    found = []
    for tank in task.tanks:
        volume = context.prop(symbol_of("V", tank), f"volume of {tank}", tank, "volume")
        charge = context.prop("p_c", f"precharge of {tank}", tank, "precharge")
        if volume is None or charge is None or isinstance(volume.value, str) or isinstance(charge.value, str):
            return []
        words = f"precharge of {tank}, absolute"
        found.append(Cushion(volume, absolute(symbol_of("P", tank), words, charge, atmosphere(context))))
    return found


def _fill_pressure(context: Context, body: Body, at: str) -> Sized:
    """Whether the fill pressure reaches the top of a closed body."""
    standing = heights(context, body)
    top = max(standing, key=lambda port: (standing[port], port))
    filled = filled_at(context, body)
    tall = height_leaf(context, body, top, "z_t")
    tank = height_leaf(context, body, PortRef(at, "at"), "z_e")
    needed = fill_pressure(
        context.fluid_leaf("density", body.system, filled, "ρ"),
        tall,
        tank,
        given("p_t", "pressure wanted at the top", TOP_MARGIN, "pressure", "practice"),
    )
    there = still_pressure(context, body, [at])
    enough = float(there.value) >= float(needed.value) * (1 - 1e-9)
    words = f"{at}: {needed.shown(context.display)} reach the top at {top.item} with a margin; "
    words += f"{there.shown(context.display)} {'are enough' if enough else 'are too little'}."
    option = Option(
        f"{_pressure_text(max(float(needed.value), float(there.value)), context)}",
        {"pressure_pa": max(float(needed.value), float(there.value))},
        True,
        "precharge the tank to it before it is piped, and fill to it",
        {"precharge": _pressure_text(max(float(needed.value), float(there.value)), context)},
        needed,
    )
    return Sized(
        at,
        "fill_pressure",
        words,
        float(needed.value),
        "pa",
        "pressure",
        "",
        (option,),
        "" if enough else option.name,
        needed,
        (),
        CAUTIONS,
        fails=not enough,
    )
