"""Tube sizes of each pipe: what every size that could serve does with the flow, and which to take.

Not here: what flow a pipe must carry (`flows`), nor whether the pressure at a tap suffices (`potable`).
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

from core.media.tubes import Tube, material_of, sizes, tube_of
from core.plant.model import Pipe
from core.sizing.context import ZERO, Context, G
from core.sizing.demand.flows import design_flow, together
from core.sizing.demand.losses import (
    GRAVITY_LEAF,
    Water,
    pipe_loss,
    present_tube,
    tube_name,
    water_at,
    water_temperature,
)
from core.sizing.demand.returns import return_pipes
from core.sizing.families.limits import (
    AIR_CARRYING,
    AIR_SOURCE,
    COPPER_ELSEWHERE,
    GRADE,
    GRADE_SOURCE,
    Limit,
    family_of,
    limits_for,
)
from core.sizing.families.outlets import permissible
from core.sizing.result import Option, Sized
from core.working import Origin, Working, given

STILL = 1e-8  # [m^3/s]
SLOWEST = 0.15  # [m/s] sizes that run slower are too far off to be worth a line
HOT = 60.0 + ZERO  # [K] the 140 °F that the limits name
LEAST_POTABLE = 0.0119  # [m] bore below that of any 1/2 in tube, the usual least; common practice, no source
BEYOND = 1.1  # times the need of a return, from which it is said what the pump drawn moves
SELDOM = ("5/8 in", "3 1/2 in")  # copper and steel seldom stocked for this; common practice, no source


@dataclass(frozen=True)
class Asked:
    """What one pipe must do.

    Attributes
    ----------
    pipe : Pipe
    water : Water
        At the flow asked
    warmest : float
        Warmest water that flows in it in any case, [K]
    use : str
        closed, potable or recirculation
    driven : Water or None
        The part of it that circulators drive, where head costs and noise lasts; the rest is drawn at times
    """

    pipe: Pipe
    water: Water
    warmest: float
    use: str
    driven: Water | None

    @property
    def circulated(self) -> bool:
        """Whether circulators drive all of it."""
        return self.driven is self.water


@dataclass(frozen=True)
class Judged:
    """One size under the flow asked: velocity [m/s], loss per metre [Pa/m], total [Pa], content [m^3]."""

    tube: Tube
    name: str
    velocity: float
    per_metre: float
    grade: float
    total: float
    content: float
    breaks: tuple[str, ...]
    remarks: tuple[str, ...]
    working: Working


def size(context: Context) -> list[Sized]:
    """Tube options of every pipe that water flows in, in some case or by design."""
    pipes = [p.id for p in context.plant.pipes.values() if p.stage != "to_remove" and not p.joined]
    return context.one_by_one(pipes, "tube", lambda name: _of_pipe(context, name))


def _of_pipe(context: Context, name: str) -> Sized | None:
    flow = design_flow(context, name)
    if flow is None or float(flow.value) <= STILL:
        return None
    asked = _asked(context, context.plant.pipes[name], flow)
    present = present_tube(asked.pipe)
    table = [judge(context, asked, tube) for tube in _candidates(asked, present)]
    kept = _worth_a_line(table, present.nominal)
    fit = [j for j in table if not j.breaks]
    chosen = next((j for j in fit if not seldom(j.tube) or j.tube == present), fit[0] if fit else None)
    case = str(flow.extra.get("case", ""))
    return Sized(
        name,
        "tube",
        _sentence(context, asked, table, chosen, present) + _pump_moves(context, asked, chosen, present),
        chosen.tube.bore if chosen else None,
        "m",
        "length",
        case,
        tuple(_option(context, asked, judged) for judged in kept),
        chosen.name if chosen else "",
        chosen.working if chosen else kept[-1].working,
        () if chosen else (f"{name}: no size of {_words(asked)} keeps every limit at this flow",),
        _cautions(asked),
        fails=chosen is not None and present.bore < chosen.tube.bore and _drawn(table, present).breaks != (),
    )


def _drawn(table: list[Judged], present: Tube) -> Judged:
    """The tube drawn, as judged."""
    return next(judged for judged in table if judged.tube.nominal == present.nominal)


def _pump_moves(context: Context, asked: Asked, chosen: Judged | None, present: Tube) -> str:
    """What the pump drawn sends through a return beyond the need, and where that wears the tube."""
    worst = context.worst(asked.pipe.id, "flow_m3_s") if asked.use == "recirculation" else None
    if worst is None or abs(worst.value) <= BEYOND * float(asked.water.flow.value):
        return ""
    flow = abs(worst.value)
    text = f" The pump drawn moves {context.shown(flow, 'flow')} in {worst.case}"
    fast = False
    for tube in dict.fromkeys((chosen.tube if chosen else present, present)):
        velocity = flow / (math.pi * tube.bore**2 / 4.0)
        over = [limit for limit in _limits(asked, tube) if limit.firm and velocity > limit.value]
        text += f", {context.shown(velocity, 'velocity')} in {tube_name(tube)}"
        if over:
            fast = True
            least = min(over, key=lambda limit: limit.value)
            text += f" (over {context.shown(least.value, 'velocity')}: {_said(context, least)})"
    if fast:
        return text + ": throttle it or take a smaller one; hot water that runs so fast wears the tube away."
    return text + "."


def _asked(context: Context, pipe: Pipe, flow: Working) -> Asked:
    temperature = water_temperature(context, pipe, str(flow.extra.get("case", "")))
    use = use_of(context, pipe)
    water = water_at(context, pipe.system, temperature, flow)
    driven: Water | None = water
    if use == "potable":
        part = together(context, pipe.id)[0]
        if part is None:
            driven = None
        elif float(part.value) < float(flow.value):
            driven = water_at(context, pipe.system, temperature, part)
    return Asked(pipe, water, max(_warmest(context, pipe.id), float(temperature.value)), use, driven)


def use_of(context: Context, pipe: Pipe) -> str:
    """closed, potable, or recirculation where potable water runs round without being drawn."""
    if context.plant.systems[pipe.system].use != "potable":
        return "closed"
    return "recirculation" if pipe.id in return_pipes(context) else "potable"


def _warmest(context: Context, pipe: str) -> float:
    warm = [0.0]
    for _, solution in context.converged():
        figures = solution.pipes.get(pipe)
        if figures is not None and abs(figures.flow_m3_s) > STILL:
            warm.append(figures.warmest_c + ZERO)
    return max(warm)


# Sizes -----------------------------------------------------------------------------------------------------


def _material(asked: Asked) -> str:
    return str((asked.pipe.tube or {}).get("material", ""))


def _words(asked: Asked) -> str:
    material = _material(asked)
    return material_of(material).words if material else "tube"


def _candidates(asked: Asked, present: Tube) -> Iterator[Tube]:
    """Sizes of the material from small to large, of a metric tube the usual wall only, and the one drawn."""
    material = _material(asked)
    if not material:
        yield present
        return
    metric = material_of(material).family == "metric"
    for nominal in sizes(material):
        tube = tube_of(material, nominal)
        usual = not metric or tube_of(material, f"{tube.outside * 1000.0:g} mm").nominal == nominal
        if usual or nominal == present.nominal:
            yield tube


def judge(context: Context, asked: Asked, tube: Tube) -> Judged:
    """One tube under the flow asked.

    Notes
    -----
    v = Q / A; loss per metre f/d rho v^2/2; total with length and K of fittings at this bore (Crane n fT).
    Source: Darcy-Weisbach with Colebrook and White.
    """
    pipe = asked.pipe
    total = pipe_loss(context, pipe, tube, asked.water)
    by_symbol = {part.symbol: part for part in total.inputs}
    velocity, per_metre = float(by_symbol["v"].value), float(by_symbol["i"].value)
    grade = per_metre / (asked.water.rho * G)
    breaks, remarks = _verdicts(context, asked, tube, velocity, grade)
    area = math.pi * tube.bore**2 / 4.0
    return Judged(
        tube,
        tube_name(tube),
        velocity,
        per_metre,
        grade,
        float(total.value),
        area * pipe.si.length,
        breaks,
        remarks,
        _verdict(context, asked, tube, total, (*breaks, *remarks)),
    )


def _verdicts(
    context: Context, asked: Asked, tube: Tube, velocity: float, grade: float
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """What a size breaks, and what is worth saying beside it."""
    breaks: list[str] = []
    remarks: list[str] = []
    for limit in _limits(asked, tube):
        if velocity > limit.value:
            text = f"over {context.shown(limit.value, 'velocity')}: {_said(context, limit)}"
            (breaks if limit.firm else remarks).append(text)
    allowed = _allowed(context, asked)
    if allowed is not None and grade * asked.water.rho * G > float(allowed.value):
        breaks.append(f"over {_per_length(context, float(allowed.value))}, what the pressure at hand allows")
    if asked.use != "closed" and tube.bore < LEAST_POTABLE:
        breaks.append("under 1/2 in, the usual least for potable runs (common practice)")
    if asked.circulated:
        if grade > GRADE:
            breaks.append(f"over {_most_grade(context, asked)}")
        if velocity < AIR_CARRYING:
            remarks.append(f"under {context.shown(AIR_CARRYING, 'velocity')}: air may stay in downward runs")
    elif asked.driven is not None:
        breaks += _driven_breaks(context, replace(asked, water=asked.driven, use="closed"), tube)
    if seldom(tube):
        remarks.append("seldom stocked (common practice)")
    return tuple(breaks), tuple(remarks)


def _driven_breaks(context: Context, driven: Asked, tube: Tube) -> list[str]:
    """What the circulated part of a potable pipe's flow breaks alone, by the closed loop's limits."""
    by_symbol = {part.symbol: part for part in pipe_loss(context, driven.pipe, tube, driven.water).inputs}
    at = f" by the {context.shown(driven.water.flow.value, 'flow')} that circulate"
    found = [
        f"over {context.shown(limit.value, 'velocity')}{at}: {_said(context, limit)}"
        for limit in limits_for(tube.material, "closed", driven.warmest, tube.bore)
        if limit.what == "noise" and float(by_symbol["v"].value) > limit.value
    ]
    if float(by_symbol["i"].value) > GRADE * driven.water.rho * G:
        found.append(f"over {_most_grade(context, driven)}{at}")
    return found


def _most_grade(context: Context, asked: Asked) -> str:
    """The most head per length of what circulators drive, in words."""
    return "4 ft of head per 100 ft" if context.display == "us" else f"{GRADE * asked.water.rho * G:.0f} Pa/m"


def _limits(asked: Asked, tube: Tube) -> list[Limit]:
    """Limits of velocity that concern a tube; a circulated potable loop has the closed loop's too."""
    found = list(limits_for(tube.material, asked.use, asked.warmest, tube.bore))
    if asked.circulated and asked.use != "closed":
        closed = limits_for(tube.material, "closed", asked.warmest, tube.bore)
        found += [limit for limit in closed if limit.what == "noise"]
    return found


def _allowed(context: Context, asked: Asked) -> Working | None:
    """Loss per metre that the pressure at hand allows a potable branch, [Pa/m]."""
    return None if asked.use != "potable" or asked.circulated else permissible(context).get(asked.pipe.id)


def _per_length(context: Context, value: float) -> str:
    if value <= 0.0:
        return "nothing"
    if context.display == "si":
        return f"{value:.0f} Pa/m"
    return f"{context.shown(value * 30.48, 'pressure')} per 100 ft"


def _said(context: Context, limit: Limit) -> str:
    """A limit in words, its temperature in the plant's own unit."""
    return limit.words.replace("140 °F", context.shown(HOT, "temperature"))


def seldom(tube: Tube) -> bool:
    """Whether a size is made but seldom stocked."""
    return tube.nominal in SELDOM and family_of(tube.material) in ("copper", "steel")


def _worth_a_line(table: list[Judged], present: str) -> list[Judged]:
    """Sizes that could serve, one neighbour on either side, and the one drawn."""
    serving = [k for k, j in enumerate(table) if not j.breaks and j.velocity >= SLOWEST]
    if not serving:
        serving = [min(range(len(table)), key=lambda k: abs(table[k].velocity - AIR_CARRYING))]
    first, last = max(0, serving[0] - 1), min(len(table) - 1, serving[-1] + 1)
    return [j for k, j in enumerate(table) if first <= k <= last or j.tube.nominal == present]


def _option(context: Context, asked: Asked, judged: Judged) -> Option:
    tube = judged.tube
    props = {"tube": {"material": tube.material, "size": tube.nominal}} if tube.material else None
    figures = {
        "bore_m": tube.bore,
        "velocity_m_s": judged.velocity,
        "loss_pa_m": judged.per_metre,
        "loss_ft_100ft": 100.0 * judged.grade,
        "drop_pa": judged.total,
        "content_m3": judged.content,
    }
    verdict = "; ".join((*judged.breaks, *judged.remarks)) or "meets every limit"
    limits = _kept(context, asked, tube)
    return Option(judged.name, figures, not judged.breaks, verdict, props, judged.working, limits)


def _kept(context: Context, asked: Asked, tube: Tube) -> dict[str, float]:
    """The limits a size must keep, by the keys of its figures."""
    found = {}
    firm = [limit.value for limit in _limits(asked, tube) if limit.firm]
    if firm:
        found["velocity_m_s"] = min(firm)
    allowed = _allowed(context, asked)
    weight = asked.water.rho * G
    most = [float(allowed.value)] if allowed is not None else []
    if asked.circulated:
        most.append(GRADE * weight)
    if most:
        found |= {"loss_pa_m": min(most), "loss_ft_100ft": 100.0 * min(most) / weight}
    return found


# Words -----------------------------------------------------------------------------------------------------


def _sentence(
    context: Context, asked: Asked, table: list[Judged], chosen: Judged | None, present: Tube
) -> str:
    """The sentence that decides between the two neighbouring sizes, and how the one drawn stands to it."""
    flow = context.shown(asked.water.flow.value, "flow")
    if chosen is None:
        largest = table[-1]
        return (
            f"{asked.pipe.id} must carry {flow}; even {largest.name} runs "
            f"{context.shown(largest.velocity, 'velocity')}: {'; '.join(largest.breaks)}."
        )
    apart = [j for j in table if j.tube.outside != chosen.tube.outside and not seldom(j.tube)]
    usual = sorted([chosen, *apart], key=lambda j: j.tube.bore)
    place = usual.index(chosen)
    text = f"{asked.pipe.id}: {chosen.name} carries {flow} at {_runs(context, chosen)}"
    if place > 0:
        smaller = usual[place - 1]
        text += f"; {smaller.name} would run {_runs(context, smaller)}: {'; '.join(smaller.breaks)}"
    elif len(table) > 1:
        text += "; it is the smallest size there is"
    if place + 1 < len(usual):
        larger = usual[place + 1]
        text += f"; {larger.name} would run {_runs(context, larger)}"
    if present.nominal != chosen.tube.nominal:
        drawn = _drawn(table, present)
        state = "does not keep the limits" if drawn.breaks else "keeps them too"
        text += f". Drawn is {drawn.name}, which {state} ({_runs(context, drawn)})"
    return text + "."


def _runs(context: Context, judged: Judged) -> str:
    speed = context.shown(judged.velocity, "velocity")
    if context.display == "si":
        return f"{speed} and {judged.per_metre:.0f} Pa/m"
    return f"{speed} and {100.0 * judged.grade:.1f} ft per 100 ft"


def _verdict(context: Context, asked: Asked, tube: Tube, total: Working, said: tuple[str, ...]) -> Working:
    """Verdict on a size, with its loss and the limits it was held against beneath it."""

    def leaf(limit: Limit) -> Working:
        origin: Origin = "memory" if "from memory" in limit.source else "table"
        if "no source" in limit.source:
            origin = "practice"
        return given(f"v_{limit.what}", _said(context, limit), limit.value, "velocity", origin, limit.source)

    by_symbol = {part.symbol: part for part in total.inputs}
    limits = [leaf(limit) for limit in _limits(asked, tube)]
    if (allowed := _allowed(context, asked)) is not None:
        limits.append(replace(allowed, symbol="i_allowed"))
    if asked.circulated:
        limits.append(given("j_most", "head per length at most", GRADE, "", "memory", GRADE_SOURCE))
        limits.append(given("v_air", "velocity that carries air along", AIR_CARRYING, "velocity", "practice"))
    inputs = (by_symbol["i"], asked.water.density, GRAVITY_LEAF)
    value = float(by_symbol["i"].value) / (asked.water.rho * G)
    grade = Working("j", "head per length", value, "", "i / (ρ * g)", inputs)
    words = f"{tube_name(tube)} for {asked.pipe.id}"
    how = "each limit that concerns this material, use and temperature, beside what the size does"
    text = "; ".join(said) or "meets every limit"
    return Working("verdict", words, text, inputs=(total, grade, *limits), how=how)


def _cautions(asked: Asked) -> tuple[str, ...]:
    found = []
    if family_of(_material(asked)) == "copper" and asked.use != "closed":
        found.append(f"Published limits for copper differ: {COPPER_ELSEWHERE}.")
    if asked.use == "closed":
        found.append(f"Limits: {GRADE_SOURCE}; {AIR_SOURCE}.")
    if asked.use != "closed":
        found.append("Potable pipe sizes are set by local code; a licensed plumber decides.")
    return tuple(found)
