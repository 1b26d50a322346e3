"""Exchangers: the UA that the calls need, what is passed, how near the sides come, what fouling takes.

The UA needed is looked for by solving the cases again with other sizes, so that what is promised here is
what the solver gives; the formula then shows how heat, temperatures and that UA hang together.
Source: Incropera et al., Fundamentals of Heat and Mass Transfer, chapter on exchangers.

UA is the least with which, in every case and combination of calls, no circuit on the cold side lacks more
than half a percent (a case within 0.2 % of the one first looked at does not displace it). Cases that no
size cures are named.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

from core import units
from core.errors import listed
from core.plant.model import PortRef
from core.sizing.bodies import Body, bodies
from core.sizing.context import ZERO, Context, MissingInput
from core.sizing.families.exchanger_cases import (
    SHORT,
    Passing,
    everywhere,
    gap,
    short,
    temperature_key,
    wanted,
)
from core.sizing.families.exchanger_least import least, tried
from core.sizing.result import Option, Sized
from core.vocabulary import Trait
from core.working import Working, derived, given

SOURCE = "Incropera et al., Fundamentals of Heat and Mass Transfer, log-mean difference"
FOULING_SOURCE = "1/U = 1/U_clean + R_f; 5e-5 m²K/W on a plate of 4000 W/m²K takes a sixth (Incropera 11.2)"
FOULED = 1.0 / 6.0  # share of UA lost
CLOSE = 5.0 / 1.8  # [K] nearer than that an exchanger grows out of proportion; common practice
STEPS = (0.5, 1.5, 2.0)
CAUTIONS = (
    "An exchanger that parts drinking water from anything else may need two walls with a vented gap. Local "
    "code and a licensed trade decide.",
)


def log_mean_difference(
    hot_in: Working, hot_out: Working, cold_in: Working, cold_out: Working, counter: bool
) -> Working:
    """Log-mean of the differences at the two ends, [K]; T_1, T_2 of the hot side, t_1, t_2 of the cold."""
    first = "T_1 - t_2" if counter else "T_1 - t_1"
    last = "T_2 - t_1" if counter else "T_2 - t_2"
    inputs = (hot_in, hot_out, cold_in, cold_out)
    one = derived("Δ_1", "difference at the hot inlet", "temperature_difference", first, *inputs)
    two = derived("Δ_2", "difference at the hot outlet", "temperature_difference", last, *inputs)
    a, b = float(one.value), float(two.value)
    if a <= 0.0 or b <= 0.0:
        raise MissingInput("temperatures cross: no exchanger, however large, gives these outlets")
    formula = "(Δ_1 - Δ_2) / ln(Δ_1 / Δ_2)" if abs(a / b - 1.0) > 1e-6 else "(Δ_1 + Δ_2) / 2"
    return derived("Δ_m", "log-mean difference", "temperature_difference", formula, one, two, source=SOURCE)


def conductance(duty: Working, mean: Working, fouling: Working) -> Working:
    """Clean UA that passes a heat at a log-mean difference with a share lost to fouling, [W/K]."""
    return derived(
        "UA", "UA needed, clean", "heat_per_kelvin", "Q / (Δ_m * (1 - f))", duty, mean, fouling, source=SOURCE
    )


def size(context: Context) -> list[Sized]:
    """UA, duty and approach of every exchanger."""
    names = [item.id for item in context.plant.with_trait(Trait.EXCHANGES_HEAT)]
    return context.one_by_one(names, "exchanger", partial(_sized, context))


def _sized(context: Context, item: str) -> list[Sized]:
    passings = everywhere(context, item)
    drawn = drawn_ua(context, passings[0])
    found = least(context, passings, drawn)
    passing, needed = found.asks, found.ua
    working = _working(context, found.found)
    show = context.shown

    need = show(float(working.value), "heat_per_kelvin")
    words = f"{item}: passes {show(passing.figures.duty_w, 'power')} in {passing.case}"
    words += f" with UA {show(drawn, 'heat_per_kelvin')}"
    chosen, fails = "", False
    options = list(_options(context, passing, drawn))
    lack = show(short(context, passing), "power")
    if wanted(context, passing) <= 0.0:
        words += "; nothing behind it says what is wanted of it"
    elif needed is None:
        words += f"; {lack} short, and no larger one cures it: flow or hot water lack"
        fails = True
    else:
        own = _option(context, passing, needed, "needed")
        if gap(context, passing) > SHORT:
            words += f"; {lack} short: UA {need} is needed"
            chosen, fails = own.name, True
        else:
            words += (
                f"; UA {need} would do, so the one drawn has {drawn / float(working.value):.2f} times that"
            )
        options.insert(0, own)
        if found.beyond:
            words += f"; no size helps in {listed(found.beyond, most=3)}, where flow or hot water lack"
    approach = _approach(context, passing)
    words += f"; approach {approach.shown(context.display)}."
    if float(approach.value) < CLOSE:
        words += " Nearer than usual: a little more costs much more surface."
    cautions = CAUTIONS if _touches_potable(context, item) else ()
    first = Sized(
        item, "exchanger", words, float(working.value), "w_k", "heat_per_kelvin", passing.case,
        tuple(options), chosen, working, (), cautions, fails,
    )  # fmt: skip
    second = Sized(
        item,
        "approach",
        f"{item}: the cold outlet comes within {approach.shown(context.display)} of the hot inlet in "
        f"{passing.case}.",
        float(approach.value),
        "k",
        "temperature_difference",
        passing.case,
        working=approach,
        cautions=cautions,
    )
    return [first, second]


def drawn_ua(context: Context, passing: Passing) -> float:
    """Clean UA of the exchanger drawn, typed or from its rated point, [W/K]."""
    si = context.plant.items[passing.item].si
    if si.get("ua") is not None:
        return float(si["ua"])
    fouling = 1.0 - float(si.get("fouling") or 0.0)
    if si.get("rated") is None or fouling <= 0.0:
        raise MissingInput(f"{passing.item}: neither props.ua nor props.rated is given")
    return float(_working(context, passing).value)


def _working(context: Context, passing: Passing) -> Working:
    """UA from what passes in a case and its temperatures."""
    hot = [
        _leaf(context, passing, port, letter)
        for port, letter in zip(passing.hot, ("T_1", "T_2"), strict=True)
    ]
    cold = [
        _leaf(context, passing, port, letter)
        for port, letter in zip(passing.cold, ("t_1", "t_2"), strict=True)
    ]
    mean = log_mean_difference(hot[0], hot[1], cold[0], cold[1], passing.counter)
    duty = Working(
        "Q", f"heat passed in {passing.case}", passing.figures.duty_w, "power",
        how=f"solved: {passing.item} duty_w", origin="solved",
    )  # fmt: skip
    fouling = context.prop("f", "share of UA lost to fouling", passing.item, "fouling")
    return conductance(duty, mean, fouling or given("f", "share of UA lost to fouling", 0.0))


def _leaf(context: Context, passing: Passing, port: PortRef, symbol: str) -> Working:
    pipe, key = temperature_key(context, port) or ("", "")
    value = float(passing.solution.value(pipe, key) or 0.0) + ZERO
    words = f"temperature at {port.port} in {passing.case}"
    return Working(symbol, words, value, "temperature", how=f"solved: {pipe} {key}", origin="solved")


def _approach(context: Context, passing: Passing) -> Working:
    """Hot inlet less cold outlet, [K]."""
    return derived(
        "ΔT",
        "approach: hot inlet less cold outlet",
        "temperature_difference",
        "T_1 - t_2",
        _leaf(context, passing, passing.hot[0], "T_1"),
        _leaf(context, passing, passing.cold[1], "t_2"),
        source=SOURCE,
    )


# Options ---------------------------------------------------------------------------------------------------


def _options(context: Context, passing: Passing, drawn: float) -> Iterator[Option]:
    for step in STEPS:
        yield _option(context, passing, drawn * step, "")
    own = float(context.plant.items[passing.item].si.get("fouling") or 0.0)
    fouled = tried(context, passing, drawn, 1.0 - (1.0 - own) * (1.0 - FOULED))
    if fouled is not None:
        lost = 1.0 - fouled.figures.duty_w / passing.figures.duty_w
        verdict = f"passes {100 * lost:.0f} % less"
        if gap(context, fouled) > SHORT:
            verdict += f", {context.shown(short(context, fouled), 'power')} short"

        yield Option(
            "drawn, a sixth of UA lost to fouling",
            _figures(context, fouled),
            gap(context, fouled) <= SHORT,
            verdict,
            None,
            given("f", "share lost", FOULED, "", "table", FOULING_SOURCE),
        )


def _option(context: Context, passing: Passing, ua: float, name: str) -> Option:
    """The worst case with one UA."""
    text = ua_text(context, ua)
    again = tried(context, passing, units.parse(text, "heat_per_kelvin"))
    shown = f"UA {context.shown(ua, 'heat_per_kelvin')}" + (f" ({name})" if name else "")
    if again is None:
        return Option(shown, {}, False, "passes nothing, or does not come to rest")
    serves = gap(context, again) <= SHORT
    verdict = f"{context.shown(again.figures.duty_w, 'power')} in {passing.case}"
    if not serves:
        verdict += f", {context.shown(short(context, again), 'power')} short"

    props = None if "rated" in context.plant.items[passing.item].props else {"ua": text}
    try:
        working = _working(context, again)
    except MissingInput:  # so large that its ends touch
        working = None
    return Option(shown, _figures(context, again), serves, verdict, props, working)


def ua_text(context: Context, ua: float) -> str:
    """A UA as one would type it, rounded up to three figures."""
    unit = units.unit_for("heat_per_kelvin", context.display)
    value = units.to_unit(ua, unit)
    step = 10.0 ** max(0, len(str(int(value))) - 3)
    return f"{-(-value // step) * step:g} {unit}" if value >= 100 else f"{value:.3g} {unit}"


def _figures(context: Context, passing: Passing) -> dict[str, float]:
    return {
        "duty_w": passing.figures.duty_w,
        "approach_k": float(_approach(context, passing).value),
        "short_w": short(context, passing),
        "effectiveness": passing.figures.effectiveness,
    }


def _touches_potable(context: Context, item: str) -> bool:
    sides: list[Body] = [body for body in bodies(context) if any(port.item == item for port in body.ports)]
    return any(body.potable for body in sides)
