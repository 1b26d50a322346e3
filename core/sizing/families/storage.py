"""Stored hot water: how long a peak lasts, what it gives in the first hour, how soon it is hot again.

The usable share is the published rule of seven tenths; a fully mixed tank of 140 °F gives four tenths of its
water above 110 °F, one in many layers nine tenths. Scald and Legionella ask for opposites; both are said.

A peak is taken to last ten minutes; longer ones stand among the options.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

from core import units
from core.figures import OutletFigures
from core.plant.model import Item, PortRef
from core.sizing.bodies import body_at
from core.sizing.context import ZERO, Context, MissingInput, symbol_of
from core.sizing.demand.stores import cold_water, store_temperature, stored_fluid
from core.sizing.families.heaters import combinations_of
from core.sizing.result import Option, Sized
from core.solve import Solution
from core.vocabulary import Trait
from core.working import Working, derived, given

USABLE = 0.70
USABLE_SOURCE = (
    "seven tenths of the volume and an hour's recovery: published rule; the rated figure is a test"
)
SOURCE = "heat balance"
PEAKS = {"10 min": 600.0, "20 min": 1200.0, "30 min": 1800.0, "60 min": 3600.0}
USUAL_PEAK = "10 min"
LEAST_HEAT = 50.0  # [W]
SAFE_STORE = 333.15  # [K] 60 °C
BURNS = 321.65  # [K] 48.5 °C
# Round sizes of our own, not a maker's list.
SIZES = {
    "us": tuple(f"{n} gal" for n in (20, 30, 40, 50, 65, 80, 100, 120, 160, 200, 250, 350, 500)),
    "si": tuple(f"{n} L" for n in (80, 120, 160, 200, 250, 300, 400, 500, 750, 1000, 1500, 2000)),
}
# Full-thickness burn of adult skin, [°C] and time in words; after Moritz and Henriques (published table).
SCALDS = (
    (60.0, "3 to 5 seconds"),
    (55.0, "17 to 30 seconds"),
    (51.0, "2 to 4 minutes"),
    (49.0, "8 to 10 minutes"),
)
LEGIONELLA = (
    "Stored below 60 °C (140 °F), Legionella may grow; most between 25 and 45 °C (OSHA, HSE, ASHRAE "
    "Guideline 12, WHO, published)."
)
CONFLICT = (
    "Hot enough against Legionella is hot enough to scald: store hot, mix down at a listed valve near taps, "
    "keep any circulation above 50 °C (122 °F). Local code and a licensed trade decide."
)


def recovery_flow(heat: Working, density: Working, capacity: Working, hot: Working, cold: Working) -> Working:
    """Cold water that a heat makes hot, [m^3/s]; P, ρ, c, T_s, T_c."""
    return derived(
        "r",
        "hot water made again",
        "flow",
        "P / (ρ * c * (T_s - T_c))",
        heat,
        density,
        capacity,
        hot,
        cold,
        source=SOURCE,
    )


def first_hour(volume: Working, recovery: Working) -> Working:
    """Hot water in the first hour, [m^3]: the usable share and an hour's recovery."""
    usable = given("u", "usable share of the volume", USABLE, "", "table", USABLE_SOURCE)
    words = "hot water in the first hour"
    return derived("F", words, "volume", "u * V + r * 3600", usable, volume, recovery, source=USABLE_SOURCE)


def recovery_time(
    volume: Working, density: Working, capacity: Working, hot: Working, cold: Working, heat: Working
) -> Working:
    """Time to heat a whole tank from cold, [s]."""
    return derived(
        "t",
        "time to heat it from cold",
        "time",
        "V * ρ * c * (T_s - T_c) / P",
        volume,
        density,
        capacity,
        hot,
        cold,
        heat,
        source=SOURCE,
    )


def peak_volume(drawn: Working, recovery: Working, lasting: Working) -> Working:
    """Volume that lasts a peak, [m^3]: what is drawn beyond what is made again, over the usable share."""
    usable = given("u", "usable share of the volume", USABLE, "", "table", USABLE_SOURCE)
    return derived(
        "V_n",
        "least volume for the peak",
        "volume",
        "max(0, q - r) * t_p / u",
        drawn,
        recovery,
        lasting,
        usable,
        source=USABLE_SOURCE,
    )


def from_the_store(mixed: Working, delivered: Working, hot: Working, cold: Working, symbol: str) -> Working:
    """Stored water in a mixed draw, [m^3/s]; q_m, T_m, T_s, T_c."""
    words = f"of {mixed.words}, from the store"
    formula = "q_m * (T_m - T_c) / (T_s - T_c)"
    return derived(symbol, words, "flow", formula, mixed, delivered, hot, cold, source=SOURCE)


def size(context: Context) -> list[Sized]:
    """Volume, first hour and recovery of every tank of hot water."""
    names = [i.id for i in context.plant.with_trait(Trait.TANK)]
    return context.one_by_one(names, "storage", partial(_sized, context))


def _sized(context: Context, tank: str) -> list[Sized]:
    volume = context.wanted("V", f"volume of {tank}", tank, "volume", "nothing can be said of its size")
    hot, cold = store_temperature(context, tank), cold_water(context)
    if float(hot.value) - float(cold.value) < 1.0:
        raise MissingInput(f"{tank}: it stands no warmer than the cold water, so it stores no heat")
    heat = _heat(context, tank)
    fluid = stored_fluid(context, tank, hot, cold)
    recovery = recovery_flow(heat, *fluid, hot, cold)
    cautions = _cautions(context, tank, float(hot.value))
    found = [
        _first_hour(context, tank, volume, recovery, cautions),
        _recovery(context, tank, recovery_time(volume, *fluid, hot, cold, heat), heat),
    ]
    body = body_at(context, tank)
    if body is not None and body.potable:
        found.insert(0, _peak(context, tank, volume, recovery, (hot, cold), cautions))
    return found


# What it is made of ----------------------------------------------------------------------------------------


def _heat(context: Context, tank: str) -> Working:
    """Greatest heat that anything brings it, [W]: its coil, its element, or water through its taps."""
    best: tuple[float, str, str] | None = None
    for name, solution in _solutions(context):
        for key in ("coil_duty_w", "duty_w"):
            value = solution.value(tank, key) or 0.0
            if value > LEAST_HEAT and (best is None or value > best[0] * (1.0 + 1e-9)):
                best = (value, key, name)
    element = context.prop("P", f"electric element of {tank}", tank, "element")
    if element is not None and float(element.value) > (best[0] if best else 0.0):
        return element
    if best is None:
        raise MissingInput(
            f"{tank}: nothing heats it in any case and it has no element, so it does not recover"
        )
    value, key, name = best
    words = f"greatest heat brought to {tank}, in {name}"
    return Working("P", words, value, "power", how=f"solved: {tank} {key}", origin="solved")


def _solutions(context: Context) -> Iterator[tuple[str, Solution]]:
    for case, solution in context.converged():
        yield case.name, solution
    for solution in combinations_of(context):
        if solution.converged:
            yield solution.case, solution


# The answers -----------------------------------------------------------------------------------------------


def _peak(
    context: Context,
    tank: str,
    volume: Working,
    recovery: Working,
    ends: tuple[Working, Working],
    cautions: tuple[str, ...],
) -> Sized:
    drawn, case, missing = _drawn(context, *ends)
    show = context.shown
    lasting = given("t_p", "how long the peak lasts", PEAKS[USUAL_PEAK], "time", "practice")
    needed = peak_volume(drawn, recovery, lasting)
    words = f"{tank}: the greatest draw"
    words += f", in {case}," if case else ""
    words += f" takes {drawn.shown(context.display)} from the store, "
    words += f"{recovery.shown(context.display)} are made again"
    net = float(drawn.value) - float(recovery.value)
    if net <= 0.0:
        words += ": it lasts for ever"
    else:
        minutes = USABLE * float(volume.value) / net
        words += f": the {volume.shown(context.display)} drawn last {show(minutes, 'time')}"
        words += f"; {needed.shown(context.display)} would last {USUAL_PEAK}"
    enough = float(volume.value) >= float(needed.value) * (1.0 - 1e-9)
    options = tuple(_options(context, volume, drawn, recovery, float(needed.value)))
    chosen = "" if enough else next((o.name for o in options if o.serves and o.props is not None), "")
    return Sized(
        tank, "storage", words + ".", float(needed.value), "m3", "volume", case, options, chosen, needed,
        missing, cautions,
    )  # fmt: skip


def _options(
    context: Context, volume: Working, drawn: Working, recovery: Working, needed: float
) -> Iterator[Option]:
    for name, seconds in PEAKS.items():
        lasting = given("t_p", "how long the peak lasts", seconds, "time", "practice")
        least = peak_volume(drawn, recovery, lasting)
        yield Option(
            f"peak of {name}",
            {"volume_m3": float(least.value), "lasting_s": seconds},
            float(volume.value) >= float(least.value),
            f"{least.shown(context.display)} at least",
            None,
            least,
        )
    net = float(drawn.value) - float(recovery.value)
    past = 0
    for text in SIZES[context.display]:
        value = units.parse(text, "volume")
        if past == 2 or value < 0.5 * needed:
            continue
        past += value >= needed
        lasts = USABLE * value / net if net > 0.0 else float(PEAKS["60 min"])
        verdict = f"lasts {context.shown(lasts, 'time')}" if net > 0.0 else "lasts for ever"
        yield Option(
            text, {"volume_m3": value, "lasting_s": lasts}, value >= needed, verdict, {"volume": text}
        )


def _drawn(context: Context, hot: Working, cold: Working) -> tuple[Working, str, tuple[str, ...]]:
    """Stored water that the greatest draw takes, the case it is in, and what is missing."""
    best: tuple[float, list[Working], str] = (0.0, [], "")
    for case, solution in context.converged():
        parts = [
            from_the_store(
                context.solved("q_m", f"draw of {name}", name, "flow_m3_s", case.name),
                context.solved("T_m", f"temperature at {name}", name, "temperature_c", case.name),
                hot,
                cold,
                symbol_of("q", name),
            )
            for name in case.si.draws
            if _is_warm(solution, name, float(cold.value))
        ]
        total = sum(float(part.value) for part in parts)
        if total > best[0]:
            best = (total, parts, case.name)
    if best[1]:
        words = f"stored water drawn in {best[2]}"
        formula = " + ".join(part.symbol for part in best[1])
        return derived("q", words, "flow", formula, *best[1], source=SOURCE), best[2], ()
    return _by_fixtures(context, hot, cold)


def _is_warm(solution: Solution, name: str, cold: float) -> bool:
    figures = solution.at(name, OutletFigures)
    return figures is not None and figures.flow_m3_s > 1e-9 and figures.temperature_c + ZERO > cold + 1.0


def _by_fixtures(context: Context, hot: Working, cold: Working) -> tuple[Working, str, tuple[str, ...]]:
    """Where no case draws: every fixture's flow for sizing at once, at its own temperature or the store's."""
    parts = []
    for item in context.plant.items.values():
        if item.has(Trait.DRAWS_WATER) and item.stage != "to_remove" and _has_hot(context, item):
            flow = context.prop("q_m", f"flow of {item.id}", item.id, "flow")
            if flow is not None:
                warm = context.prop("T_m", f"temperature at {item.id}", item.id, "set_temperature")
                mixed = warm or Working("T_m", hot.words, hot.value, "temperature", "T_s", (hot,))
                parts.append(from_the_store(flow, mixed, hot, cold, symbol_of("q", item.id)))
    if not parts:
        raise MissingInput(
            "no case draws hot water and no fixture says its props.flow, so the peak is not known"
        )
    formula = " + ".join(part.symbol for part in parts)
    missing = ("no case draws hot water; every fixture is taken to run at once",)
    return derived("q", "stored water with every fixture open", "flow", formula, *parts), "", missing


def _has_hot(context: Context, item: Item) -> bool:
    return PortRef(item.id, "hot") in context.plant.pipes_at


def _first_hour(
    context: Context, tank: str, volume: Working, recovery: Working, cautions: tuple[str, ...]
) -> Sized:
    hour = first_hour(volume, recovery)
    words = f"{tank}: {hour.shown(context.display)} of hot water in the first hour, by the rule."
    return Sized(
        tank, "first_hour", words, float(hour.value), "m3", "volume", working=hour, cautions=cautions
    )


def _recovery(context: Context, tank: str, time: Working, heat: Working) -> Sized:
    words = f"{tank}: {time.shown(context.display)} to heat it from cold with {heat.shown(context.display)}."
    return Sized(tank, "recovery_time", words, float(time.value), "s", "time", working=time)


def _cautions(context: Context, tank: str, hot: float) -> tuple[str, ...]:
    """Scald and Legionella, and that they contradict one another."""
    body = body_at(context, tank)
    if body is None or not body.potable:
        return ()
    found = []
    if hot < SAFE_STORE - 0.05:
        found.append(LEGIONELLA)
    if hot >= BURNS:
        celsius = hot - ZERO
        time = next((words for at, words in SCALDS if celsius >= at - 0.6), SCALDS[-1][1])
        shown = context.shown(hot, "temperature")
        found.append(f"Water of {shown} burns adult skin in about {time} (after Moritz and Henriques).")
    return (*found, CONFLICT)
