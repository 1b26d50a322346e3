"""Circulators: what head the critical path asks, and how each curve at hand would do on it.

On the critical path a circuit's own balance valve counts wide open. A circulator serves if its curve meets
that path at 98 % of the flow; the one drawn stays up to 1.3 times the least power.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

from core import units
from core.figures import EmitterFigures, PumpFigures
from core.hydraulics.circulators import at_speed, flow_at_head
from core.hydraulics.curves import Curve, head_curve
from core.plant.model import Item
from core.sizing.context import Context, G, MissingInput
from core.sizing.curves.catalogue import INVENTED, Choice, at_hand
from core.sizing.curves.operating import FULL, Control, Point, operating_point
from core.sizing.demand import flows
from core.sizing.demand.demands import EVERY_CALL, demands
from core.sizing.demand.paths import CriticalPath, critical_path
from core.sizing.result import Option, Sized
from core.sizing.trial import solved_with
from core.vocabulary import Trait
from core.working import Working, derived

TOO_MUCH = 1.3  # times the flow needed, from which a curve counts as too large
NEAR_SHUT = 0.1  # share of its run-out flow below which a circulator works near shut-off
NAMED = 12  # ids of a path that a sentence names
EFFICIENCY = 0.25  # of small wet-rotor circulators, where no electric power is given; from memory
KWH = 3.6e6  # [J]
HALVINGS = 20
WORTH_CHANGING = 1.3  # times the least power, up to which the circulator drawn stays


@dataclass(frozen=True)
class Tried:
    """One curve on the critical path: where it works, its margin of head, its power [W], its verdict."""

    choice: Choice
    point: Point
    margin: float
    watts: float
    stated: bool
    serves: bool
    verdict: str
    working: Working


def size(context: Context) -> list[Sized]:
    """Every circulator: required flow and head, curves at hand, electricity."""
    names = [i.id for i in context.plant.with_trait(Trait.DRIVES)]
    return context.one_by_one(names, "circulator", lambda name: _of(context, name))


def curve_in_metres(item: Item, density: float) -> Curve | None:
    """A circulator's full-speed curve in metres of a fluid of some density [kg/m^3]; None without one."""
    points = item.si.get("curve")
    return head_curve([(float(q), lift.metres(density)) for q, lift in points]) if points else None


def control_of(item: Item, density: float) -> Control:
    """How a circulator is run, a target of pressure turned into head."""
    si = item.si
    target = si.get("target")
    held = target.metres(density) if target is not None and not isinstance(target, float) else None
    speed = si.get("speed")
    least = si.get("min_speed")
    return Control(
        str(si.get("control") or "fixed"),
        held,
        1.0 if speed is None else float(speed),
        0.2 if least is None else float(least),
    )


def _of(context: Context, name: str) -> Sized:
    path = critical_path(context, name)
    if path is None:
        raise MissingInput(
            f"{name}: no circuit that asks for heat sends its water through it in any case, so no flow can "
            "be asked of it; give loads, or a case in which they call"
        )
    density = float(path.steps[0].water.density.value)
    path = replace(path, today=_as_it_stands(context, name, path))
    tried = [t for c in at_hand(context.plant, name) for t in _tries(context, name, c, path, density)]
    chosen = _chosen([t for t in tried if t.serves])
    if chosen is not None and chosen.choice.name != "as drawn":
        proved = _proved(context, name, chosen, path)
        tried = [proved if t is chosen else t for t in tried]
        chosen = proved
    words = _sentence(context, name, path, tried, chosen)
    missing: tuple[str, ...] = ()
    if not context.plant.items[name].props.get("curve"):
        missing = (f"{name}: props.curve is not given, so what it does today is not known",)
    return Sized(
        name,
        "circulator",
        words,
        float(path.head.value),
        "m",
        "head",
        path.case,
        tuple(_option(context, name, t) for t in tried),
        chosen.choice.title if chosen else "",
        _verdict(context, name, path, tried, chosen),
        missing,
        _cautions(context, name, path, tried),
        fails=chosen is None or any(t.choice.name == "as drawn" and not t.serves for t in tried),
    )


def _as_it_stands(context: Context, name: str, path: CriticalPath) -> Curve:
    """The path's curve grown to meet the point at which the circulator works today, valves and all."""
    figures = demands(context).solution(path.case).at(name, PumpFigures)
    if figures is None or not figures.running or figures.flow_m3_s <= 0.0 or figures.head_m <= 0.0:
        return path.system
    asked = path.system.at(figures.flow_m3_s)
    if asked <= 0.0:
        return path.system
    grown = figures.head_m / asked
    y, slopes = (tuple(grown * one for one in values) for values in (path.system.y, path.system.slopes))
    return Curve(path.system.x, y, slopes, path.system.tail)


def _proved(context: Context, name: str, tried: Tried, path: CriticalPath) -> Tried:
    """The curve put in and the case solved: where it works then.

    One that holds a difference slows below the flow needed where the circuits take less in that case: its row
    keeps the flow it could give, to compare with the others.
    """
    if path.case == EVERY_CALL:
        return tried
    props = dict(_props(context, name, tried) or {})
    solution = solved_with(context, context.case(path.case), {name: props}, f"{name} {tried.choice.name}")
    figures = solution.role(name, PumpFigures)
    flow, head = figures.flow_m3_s, figures.head_m
    point = Point(flow, head, figures.speed)
    if context.plant.items[name].si.get("control") == "delta_t" and flow < FULL * tried.point.flow:
        slows = f"slows to {context.shown(flow, 'flow')} in {path.case}, solved with it"
        return replace(tried, verdict=f"{tried.verdict}; {slows}")
    how = f"put in and solved in {path.case}: {head:.2f} m, at {100.0 * point.speed:.0f} % speed"
    working = replace(tried.working, value=flow, how=how, origin="solved")
    return replace(tried, point=point, working=working, verdict=f"{tried.verdict}; solved with it")


def _chosen(serving: list[Tried]) -> Tried | None:
    """The one with the least power; the one drawn where it is not too large and takes little more."""
    least = min(serving, key=lambda t: t.watts, default=None)
    drawn = [t for t in serving if t.choice.name.startswith("as drawn") and not t.verdict.startswith("too")]
    if least is not None and drawn and drawn[0].watts <= WORTH_CHANGING * least.watts:
        return drawn[0]
    return least


def _tries(
    context: Context, name: str, choice: Choice, path: CriticalPath, density: float
) -> Iterator[Tried]:
    """A curve run as the circulator is run; where that holds too little head, raised too."""
    curve = curve_in_metres(choice.item, density)
    if curve is None:
        return
    control = control_of(context.plant.items[name], density)
    if choice.name != "as drawn" and control.kind == "fixed":
        control = Control()
    first = _try(choice, path, curve, control)
    raised = None if first.serves else raised_target(curve, path.system, control, float(path.flow.value))
    if raised is None or choice.name == "as drawn":
        yield first
    if raised is not None:
        unit = units.unit_for("head", context.display)
        head = f"{math.ceil(10.0 * units.to_unit(raised, unit)) / 10.0:g} {unit}"
        title = f"{choice.name} holding {head.replace('_head', '')}"
        more = replace(choice, name=title, props={**choice.props, "target": head})
        yield _try(more, path, curve, replace(control, target=units.parse(head, "head")))


def raised_target(curve: Curve, system: Curve, control: Control, wanted: float) -> float | None:
    """Least held head that brings the flow wanted, [m]; None where the curve cannot, or holds no head."""
    if not control.kind.startswith("delta_p") or control.target is None:
        return None
    low, high = control.target, curve.at(0.0) * control.speed**2
    if operating_point(curve, system, replace(control, target=high), wanted).flow < wanted:
        return None
    for _ in range(HALVINGS):
        middle = 0.5 * (low + high)
        short = operating_point(curve, system, replace(control, target=middle), wanted).flow < wanted
        low, high = (middle, high) if short else (low, middle)
    return high


def _try(choice: Choice, path: CriticalPath, curve: Curve, control: Control) -> Tried:
    wanted, asked = float(path.flow.value), float(path.head.value)
    density = float(path.steps[0].water.density.value)
    on_path = operating_point(curve, path.system, control, wanted)
    point = operating_point(curve, path.today or path.system, control, wanted)
    gives = at_speed(curve, control.speed, wanted)[0]
    margin = (gives - asked) / asked if asked > 0.0 else 0.0
    electric = choice.item.si.get("watts")
    if electric is None:
        watts = density * G * point.flow * point.head / EFFICIENCY
    else:
        watts = float(electric) * min(point.speed, 1.0) ** 3
    serves = on_path.flow >= FULL * wanted
    verdict = _judged(on_path, point, wanted, curve, control)
    working = _point_working(choice, path, point, gives, margin, watts)
    return Tried(choice, point, margin, watts, electric is not None, serves, verdict, working)


def _judged(on_path: Point, point: Point, wanted: float, curve: Curve, control: Control) -> str:
    """In words: on the critical path, and with the valves as they stand."""
    if on_path.flow < FULL * wanted:
        return f"{100.0 * (1.0 - on_path.flow / wanted):.0f} % short of the flow"
    share = point.flow / wanted - 1.0
    run_out = control.speed * flow_at_head(curve, 0.0)
    text = (
        "gives the flow" if share < TOO_MUCH - 1.0 else f"too large: {100.0 * share:.0f} % more than needed"
    )
    if point.flow < FULL * wanted:
        text += " once the valves are set"
    if point.speed < 0.995 and control.kind != "fixed":
        text += f", at {100.0 * point.speed:.0f} % speed"
    if run_out > 0.0 and point.flow > 0.9 * run_out:
        text += ", near the end of its curve"
    return text


def _point_working(
    choice: Choice, path: CriticalPath, point: Point, gives: float, margin: float, watts: float
) -> Working:
    """How the operating point came about."""
    origin = f"curve of {choice.title}"
    curve = Working(
        "H_1",
        f"head of the {origin} at the flow needed",
        gives,
        "head",
        how="read from its curve: monotone through the points, at the speed it runs",
        source="Fritsch and Butland (1984)",
        origin="memory" if choice.invented else "table",
    )
    asked = path.head
    shown = (
        derived("m", "margin of head", "", "(H_1 - H) / H", curve, asked)
        if margin
        else Working("m", "margin of head", 0.0, how="as much as the path asks, or the path asks none")
    )
    how = (
        f"where the {origin} meets the head of the critical path, all flows on it growing alike; "
        f"{point.head:.2f} m there, at {100.0 * point.speed:.0f} % speed, {watts:.0f} W"
    )
    return Working("Q_p", f"flow with {choice.title}", point.flow, "flow", inputs=(path.flow, shown), how=how)


def _option(context: Context, name: str, tried: Tried) -> Option:
    figures = {
        "flow_m3_s": tried.point.flow,
        "head_m": tried.point.head,
        "margin_percent": 100.0 * tried.margin,
        "power_w": tried.watts,
    }
    if (year := energy(context, name, tried.watts)) is not None:
        figures["year_kwh"] = float(year.value) / KWH
    verdict = tried.verdict if tried.stated else f"{tried.verdict}; power estimated"
    props = _props(context, name, tried)
    return Option(tried.choice.title, figures, tried.serves, verdict, props, tried.working)


def _props(context: Context, name: str, tried: Tried) -> dict[str, Any] | None:
    """What taking it would set; None for the circulator as drawn."""
    if tried.choice.name == "as drawn":
        return None
    props = dict(tried.choice.props)
    if tried.choice.name.startswith("as drawn"):
        return {"target": props["target"]}
    if context.plant.items[name].props.get("invented") and not tried.choice.invented:
        props["invented"] = False
    return props


def energy(context: Context, name: str, watts: float) -> Working | None:
    """Electricity of a year at one power in every case that runs it, [J]; None without hours."""
    hours = [
        leaf
        for k, (case, _) in enumerate(context.converged())
        if context.solution(case.name).running(name)
        and (leaf := context.hours(case.name, f"t_{k}")) is not None
    ]
    if not hours:
        return None
    how = "as stated for this curve, at the speed it works at"
    power = Working("P", f"electric power of {name}", watts, "power", how=how)
    formula = f"P * ({' + '.join(leaf.symbol for leaf in hours)})"
    return derived("E", "electricity of a year", "energy", formula, power, *hours)


def energy_as_solved(context: Context, name: str) -> Working | None:
    """Electricity of a year with the speeds solved in each case, [J]."""
    power = context.prop("P", f"electric power of {name} at full speed", name, "watts")
    inputs, terms = [], []
    for k, (case, _) in enumerate(context.converged()):
        hours = context.hours(case.name, f"t_{k}")
        if power is None or hours is None or not context.solution(case.name).running(name):
            continue
        inputs += [context.solved(f"s_{k}", f"speed of {name}", name, "speed", case.name), hours]
        terms.append(f"min(s_{k}, 1)^3 * t_{k}")
    if power is None or not terms:
        return None
    formula = f"P * ({' + '.join(terms)})"
    source = "affinity law: power as the cube of the speed (on one system curve)"
    return derived("E", f"electricity of {name} in a year", "energy", formula, power, *inputs, source=source)


# Words -----------------------------------------------------------------------------------------------------


def path_words(context: Context, path: CriticalPath) -> str:
    """The critical path by its items; pipes and joints only count."""
    found = [context.plant.items[name] for name in path.ids if name in context.plant.items]
    items = [item.id for item in found if not item.has(Trait.JOINS)]
    pipes = len(path.ids) - len(found)
    shown = items if len(items) <= NAMED else [*items[: NAMED - 1], "…", items[-1]]
    return f"{', '.join(shown)} and {pipes} pipes"


def _sentence(
    context: Context, name: str, path: CriticalPath, tried: list[Tried], chosen: Tried | None
) -> str:
    need = f"{context.shown(path.flow.value, 'flow')} against {context.shown(path.head.value, 'head')}"
    text = f"{name} must move {need} (critical path in {path.case}: {path_words(context, path)})"
    drawn = next((t for t in tried if t.choice.name == "as drawn"), None)
    if drawn is not None:
        at = f"{context.shown(drawn.point.flow, 'flow')} at {context.shown(drawn.point.head, 'head')}"
        text += f"; as drawn it gives {at}: {drawn.verdict}"
        if not drawn.serves and _all_warm(context, name):
            text += (
                ", though all it serves get their heat in every case, with a greater temperature difference"
            )
        year = energy_as_solved(context, name)
        if year is not None:
            slows = context.plant.items[name].si.get("control") not in (None, "fixed")
            text += f", {float(year.value) / KWH:.0f} kWh a year"
            text += " at the speeds of its cases" if slows else ""
    if chosen is None:
        text += "; no curve at hand gives that: a larger one, or a second circulator, is needed"
    elif chosen.choice.name.startswith("as drawn holding"):
        text += f"; {chosen.choice.name} it gives the flow"
    elif chosen is not drawn:
        text += f"; of the curves at hand {chosen.choice.title} gives it with the least power"
        text += f", {chosen.watts:.0f} W"
    return text + "."


def _all_warm(context: Context, name: str) -> bool:
    """Whether every circuit served gives heat, and its full heat, in each case that runs the circulator."""
    figures = [
        solution.at(circuit, EmitterFigures)
        for _, solution in context.converged()
        if solution.running(name)
        for circuit in flows.serves(context, name)
    ]
    return bool(figures) and all(f is not None and f.short_w <= 0.0 for f in figures)


def _verdict(
    context: Context, name: str, path: CriticalPath, tried: list[Tried], chosen: Tried | None
) -> Working:
    """Flow, head, and the point of the curve drawn and of the one chosen, as one tree."""
    shown = [t.working for t in tried if t.choice.name == "as drawn" or t is chosen]
    year = energy_as_solved(context, name)
    inputs = (path.flow, path.head, *shown, *([year] if year is not None else []))
    value = chosen.choice.title if chosen else "none of the curves at hand"
    return Working(
        "verdict",
        f"circulator for {name}",
        value,
        inputs=inputs,
        how="least electric power of those that serve",
    )


def _cautions(context: Context, name: str, path: CriticalPath, tried: list[Tried]) -> tuple[str, ...]:
    found = []
    if any(t.choice.invented for t in tried):
        found.append(
            f"Sizes called generic are each an {INVENTED}: check the choice against a real maker's curve."
        )
    least = context.worst(name, "flow_m3_s", least=True)
    running = [
        (context.solution(case.name).flow(name), case.name)
        for case, _ in context.converged()
        if context.solution(case.name).running(name)
    ]
    curve = curve_in_metres(context.plant.items[name], float(path.steps[0].water.density.value))
    if least is not None and running and curve is not None:
        flow, case = min(running)
        if flow < NEAR_SHUT * flow_at_head(curve, 0.0):
            found.append(
                f"{name} works near shut-off in {case} ({context.shown(flow, 'flow')}): it heats its own "
                "water; under a tenth of the run-out flow is common practice for a least flow, no source."
            )
    system = context.system_at(name)
    if system is not None and "glycol" in context.fluid(system).kind:
        found.append(
            f"{name} moves glycol: makers' curves hold for water, a thicker fluid lowers them a little."
        )
    return tuple(found)
