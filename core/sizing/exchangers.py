"""Exchangers: the UA that the calls need, what is passed, how near the sides come, what fouling takes.

The UA needed is looked for by solving the worst case again with other sizes, so that what is promised here is
what the solver gives; the formula then shows how heat, temperatures and that UA hang together.
Source: Incropera et al., Fundamentals of Heat and Mass Transfer, chapter on exchangers.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import partial

from core import units
from core.calls.combinations import all_calls
from core.plant.model import Case, PortRef
from core.sizing.bodies import Body, bodies, body_at, kinds_in
from core.sizing.context import ZERO, Context, Lacking
from core.sizing.heaters import combinations_of
from core.sizing.result import Option, Sized
from core.sizing.trial import solved_with
from core.solve import Solution
from core.working import Working, derived, given

SOURCE = "Incropera et al., Fundamentals of Heat and Mass Transfer, log-mean difference"
FOULING_SOURCE = "1/U = 1/U_clean + R_f; 5e-5 m²K/W on a plate of 4000 W/m²K takes a sixth (Incropera 11.2)"
FOULED = 1.0 / 6.0  # share of UA lost
EMITTERS = ("floor_circuit", "melt_circuit", "radiator", "fan_coil", "load")
SHORT = 0.005  # share of what is wanted below which nothing counts as short
LEAST_DUTY = 10.0  # [W]
COARSE = 200.0  # [W] within which two cases want the same
CLOSE = 5.0 / 1.8  # [K] nearer than that an exchanger grows out of proportion; common practice
STEPS = (0.5, 1.5, 2.0)
REACH = 8.0  # times the drawn UA that is looked through
ROUNDS = 7
NEAR = 0.02  # of the logarithm of UA
NEAR_ENOUGH = 0.002  # of the share wanted
CAUTIONS = (
    "An exchanger that parts drinking water from anything else may need two walls with a vented gap. Local "
    "code and a licensed trade decide.",
)


@dataclass(frozen=True)
class Passing:
    """An exchanger in one solved case: ports where hot and cold water come in and go out."""

    item: str
    of: Case
    solution: Solution
    hot: tuple[PortRef, PortRef]
    cold: tuple[PortRef, PortRef]
    counter: bool

    @property
    def case(self) -> str:
        return self.of.name

    def figure(self, key: str) -> float:
        return float(self.solution.items[self.item][key])


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
        raise Lacking("temperatures cross: no exchanger, however large, gives these outlets")
    formula = "(Δ_1 - Δ_2) / ln(Δ_1 / Δ_2)" if abs(a / b - 1.0) > 1e-6 else "(Δ_1 + Δ_2) / 2"
    return derived("Δ_m", "log-mean difference", "temperature_difference", formula, one, two, source=SOURCE)


def conductance(duty: Working, mean: Working, fouling: Working) -> Working:
    """Clean UA that passes a heat at a log-mean difference with a share lost to fouling, [W/K]."""
    return derived(
        "UA", "UA needed, clean", "heat_per_kelvin", "Q / (Δ_m * (1 - f))", duty, mean, fouling, source=SOURCE
    )


def size(context: Context) -> list[Sized]:
    """UA, duty and approach of every exchanger."""
    names = [
        item.id
        for item in context.plant.items.values()
        if item.kind == "exchanger" and item.stage != "to_remove"
    ]
    return context.one_by_one(names, "exchanger", partial(_sized, context))


def _sized(context: Context, item: str) -> list[Sized]:
    passing = _worst(context, item)
    drawn = drawn_ua(context, passing)
    wanted = _wanted(context, passing)
    needed, found = _needed(context, passing, drawn, wanted)
    working = _working(context, found)
    short = _short(context, passing)
    show = context.shown

    duty = show(passing.figure("duty_w"), "power")
    need = show(float(working.value), "heat_per_kelvin")
    words = f"{item}: passes {duty} in {passing.case} with UA {show(drawn, 'heat_per_kelvin')}"
    chosen = ""
    options = list(_options(context, passing, drawn))
    if wanted <= 0.0:
        words += "; nothing behind it says what is wanted of it"
    elif needed is None:
        words += f"; {show(short, 'power')} short, and no larger one cures it: flow or hot water lack"
    else:
        own = _option(context, passing, needed, "needed")
        if _gap(context, passing) > SHORT:
            words += f"; {show(short, 'power')} short: UA {need} is needed"
            chosen = own.name
        else:
            words += (
                f"; UA {need} would do, so the one drawn has {drawn / float(working.value):.2f} times that"
            )
        options.insert(0, own)
    approach = _approach(context, passing)
    words += f"; approach {approach.shown(context.display)}."
    if float(approach.value) < CLOSE:
        words += " Nearer than usual: a little more costs much more surface."
    cautions = CAUTIONS if _touches_potable(context, item) else ()
    first = Sized(
        item, "exchanger", words, float(working.value), "w_k", "heat_per_kelvin", passing.case,
        tuple(options), chosen, working, (), cautions,
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


# The case that asks most -----------------------------------------------------------------------------------


def passing_in(context: Context, item: str, case: Case, solution: Solution) -> Passing | None:
    """How an exchanger passes heat in a case; None where it passes none."""
    figures = solution.items.get(item, {})
    if float(figures.get("duty_w", 0.0)) < LEAST_DUTY:
        return None
    ways = {}
    for side in ("a", "b"):
        forward = float(figures[f"{side}_flow_m3_s"]) >= 0.0
        ends = (PortRef(item, f"{side}_in"), PortRef(item, f"{side}_out"))
        ways[side] = ends if forward else ends[::-1]
    warm = {side: temperature(context, solution, ways[side][0]) for side in ways}
    if None in warm.values():
        return None
    hot, cold = ("a", "b") if (warm["a"] or 0.0) >= (warm["b"] or 0.0) else ("b", "a")
    named = context.plant.items[item].si.get("arrangement") or "counter"
    same = (ways["a"][0].port == "a_in") == (ways["b"][0].port == "b_in")
    counter = same if named == "counter" else not same
    return Passing(item, case, solution, ways[hot], ways[cold], counter)


def temperature(context: Context, solution: Solution, port: PortRef) -> float | None:
    """Solved temperature at a port, [K]; None where nothing is piped to it."""
    found = temperature_key(context, port)
    if found is None:
        return None
    pipe, key = found
    return float(solution.pipes[pipe][key]) + ZERO if pipe in solution.pipes else None


def temperature_key(context: Context, port: PortRef) -> tuple[str, str] | None:
    """Pipe and key of the solved temperature at a port."""
    for pipe in context.plant.pipes_at.get(port, ()):
        starts = context.plant.pipes[pipe].start == port
        return pipe, "temperature_in_c" if starts else "temperature_out_c"
    return None


def _worst(context: Context, item: str) -> Passing:
    """The case, or combination of calls, that wants most of what is behind an exchanger."""
    found = [
        one
        for case, solution in (*context.sound(), *_combined(context))
        if (one := passing_in(context, item, case, solution)) is not None
    ]
    if not found:
        raise Lacking(f"{item}: passes no heat in any case, so nothing says what it must do")
    # Coarse, so that of cases that want the same the plant's own, which come first, are named.
    return max(found, key=lambda one: (_coarse(_heat(context, one)), _coarse(_short(context, one))))


def _heat(context: Context, passing: Passing) -> float:
    return max(_wanted(context, passing), passing.figure("duty_w"))


def _coarse(watts: float) -> int:
    return round(watts / COARSE)


def _combined(context: Context) -> Iterator[tuple[Case, Solution]]:
    """Combinations of calls that came to rest, each as a case of its own."""
    solutions = {solution.case: solution for solution in combinations_of(context) if solution.converged}
    if solutions:
        for case in all_calls(context.plant):
            if case.name in solutions:
                yield case, solutions[case.name]


def _emitters(context: Context, passing: Passing) -> list[str]:
    body = body_at(context, passing.item, passing.cold[0].port)
    return kinds_in(context, body, *EMITTERS) if body is not None else []


def _called(context: Context, passing: Passing) -> Iterator[dict[str, float]]:
    """Figures of the circuits on the cold side through which water flows; the others are not asked."""
    for item in _emitters(context, passing):
        figures = passing.solution.items.get(item, {})
        if abs(float(figures.get("flow_m3_s", 0.0))) > 0.0 and "wanted_w" in figures:
            yield figures


def _wanted(context: Context, passing: Passing) -> float:
    """Heat wanted of the circuits on the cold side, [W]; 0 where none says."""
    return sum(float(figures["wanted_w"]) for figures in _called(context, passing))


def _short(context: Context, passing: Passing) -> float:
    return sum(float(figures["short_w"]) for figures in _called(context, passing))


# Other sizes, solved ---------------------------------------------------------------------------------------


def drawn_ua(context: Context, passing: Passing) -> float:
    """Clean UA of the exchanger drawn, typed or from its rated point, [W/K]."""
    si = context.plant.items[passing.item].si
    if si.get("ua") is not None:
        return float(si["ua"])
    fouling = 1.0 - float(si.get("fouling") or 0.0)
    if si.get("rated") is None or fouling <= 0.0:
        raise Lacking(f"{passing.item}: neither props.ua nor props.rated is given")
    return float(_working(context, passing).value)


def _tried(context: Context, passing: Passing, ua: float, fouling: float | None = None) -> Passing | None:
    """The same case with another UA; None where it then passes no heat or does not come to rest."""
    props: dict[str, object] = {"ua": f"{ua!r} W/K"}
    if fouling is not None:
        props["fouling"] = fouling
    found = context.plant.items[passing.item]
    if "rated" in found.props:
        props["rated"] = None
    solution = solved_with(context, passing.of, {passing.item: props}, f"{passing.item} {ua:.9g} {fouling}")
    return passing_in(context, passing.item, passing.of, solution) if solution.converged else None


def _gap(context: Context, passing: Passing) -> float:
    """Greatest share of what is wanted that a circuit on the cold side lacks; below 0 where all have more."""
    gaps = [
        1.0 - float(figures["delivered_w"]) / float(figures["wanted_w"])
        for figures in _called(context, passing)
        if float(figures["wanted_w"]) > LEAST_DUTY
    ]
    return max(gaps, default=-1.0)


def _needed(context: Context, passing: Passing, drawn: float, wanted: float) -> tuple[float | None, Passing]:
    """Least clean UA with which nothing behind the exchanger is short, and the case with it.

    False position on the logarithm of UA, kept within a bracket.
    """
    if wanted <= 0.0:
        return drawn, passing
    here = _gap(context, passing) - SHORT
    other = drawn / REACH if here <= 0.0 else drawn * REACH
    far = _tried(context, passing, other)
    there = 1.0 if far is None else _gap(context, far) - SHORT
    if here > 0.0 and (far is None or there > 0.0):
        return None, passing
    if here <= 0.0 and there <= 0.0 and far is not None:
        return other, far
    enough = passing if here <= 0.0 or far is None else far
    low, high = sorted((math.log(other), math.log(drawn)))
    lacking, ample = (there, here) if here <= 0.0 else (here, there)
    for _ in range(ROUNDS):
        if high - low < NEAR or ample > -NEAR_ENOUGH:
            break
        share = min(max(lacking / (lacking - ample), 0.1), 0.9)
        middle = low + share * (high - low)
        tried = _tried(context, passing, math.exp(middle))
        gap = 1.0 if tried is None else _gap(context, tried) - SHORT
        if tried is not None and gap <= 0.0:
            high, ample, enough = middle, gap, tried
        else:
            low, lacking = middle, gap
    return math.exp(high), enough


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
        "Q", f"heat passed in {passing.case}", passing.figure("duty_w"), "power",
        how=f"solved: {passing.item} duty_w", origin="solved",
    )  # fmt: skip
    fouling = context.prop("f", "share of UA lost to fouling", passing.item, "fouling")
    return conductance(duty, mean, fouling or given("f", "share of UA lost to fouling", 0.0))


def _leaf(context: Context, passing: Passing, port: PortRef, symbol: str) -> Working:
    pipe, key = temperature_key(context, port) or ("", "")
    value = float(passing.solution.pipes[pipe][key]) + ZERO
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
    fouled = _tried(context, passing, drawn, 1.0 - (1.0 - own) * (1.0 - FOULED))
    if fouled is not None:
        lost = 1.0 - fouled.figure("duty_w") / passing.figure("duty_w")
        verdict = f"passes {100 * lost:.0f} % less"
        if _gap(context, fouled) > SHORT:
            verdict += f", {context.shown(_short(context, fouled), 'power')} short"

        yield Option(
            "drawn, a sixth of UA lost to fouling",
            _figures(context, fouled),
            _gap(context, fouled) <= SHORT,
            verdict,
            None,
            given("f", "share lost", FOULED, "", "table", FOULING_SOURCE),
        )


def _option(context: Context, passing: Passing, ua: float, name: str) -> Option:
    """The worst case with one UA."""
    text = ua_text(context, ua)
    tried = _tried(context, passing, units.parse(text, "heat_per_kelvin"))
    shown = f"UA {context.shown(ua, 'heat_per_kelvin')}" + (f" ({name})" if name else "")
    if tried is None:
        return Option(shown, {}, False, "passes nothing, or does not come to rest")
    serves = _gap(context, tried) <= SHORT
    verdict = f"{context.shown(tried.figure('duty_w'), 'power')} in {passing.case}"
    if not serves:
        verdict += f", {context.shown(_short(context, tried), 'power')} short"

    props = None if "rated" in context.plant.items[passing.item].props else {"ua": text}
    return Option(shown, _figures(context, tried), serves, verdict, props, _working(context, tried))


def ua_text(context: Context, ua: float) -> str:
    """A UA as one would type it, rounded up to three figures."""
    unit = units.unit_for("heat_per_kelvin", context.display)
    value = units.to_unit(ua, unit)
    step = 10.0 ** max(0, len(str(int(value))) - 3)
    return f"{-(-value // step) * step:g} {unit}" if value >= 100 else f"{value:.3g} {unit}"


def _figures(context: Context, passing: Passing) -> dict[str, float]:
    return {
        "duty_w": passing.figure("duty_w"),
        "approach_k": float(_approach(context, passing).value),
        "short_w": _short(context, passing),
        "effectiveness": passing.figure("effectiveness"),
    }


def _touches_potable(context: Context, item: str) -> bool:
    sides: list[Body] = [body for body in bodies(context) if any(port.item == item for port in body.ports)]
    return any(body.potable for body in sides)
