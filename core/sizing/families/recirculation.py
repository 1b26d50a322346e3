"""Hot water recirculation: what each recirculation pump must move, and how warm its water returns."""

from __future__ import annotations

from core.sizing.context import Context
from core.sizing.demand.returns import (
    DROP_SOURCE,
    FAHRENHEIT,
    Loop,
    loops,
    needed_flow,
    pipes_on_way,
    supply_temperature,
)
from core.sizing.result import Option, Sized
from core.working import given

OTHERS = {"us": (5.0 * FAHRENHEIT, 10.0 * FAHRENHEIT), "si": (3.0, 5.0)}
SAFE_RETURN = 51.0 + 273.15  # [K]
CAUTION = (
    "Water that returns below about 51 °C (124 °F) lets Legionella live (ASHRAE Guideline 12-2000, quoted: "
    "return at least 124 °F), and water at 60 °C scalds in seconds: temperatures at tank and taps are for "
    "the local code and a licensed plumber."
)


def size(context: Context) -> list[Sized]:
    """Flow each return circulator must move."""
    return context.one_by_one(
        [loop.circulator for loop in loops(context)], "recirculation", lambda name: _of(context, name)
    )


def _of(context: Context, name: str) -> Sized | None:
    loop = next(loop for loop in loops(context) if loop.circulator == name)
    flow = needed_flow(context, loop)
    if flow is None:
        return None
    drop, heat = flow.inputs[3], flow.inputs[0]
    moved = abs(context.solution(loop.case).flow(name))
    words = (
        f"{name} must move {context.shown(flow.value, 'flow')}: its way round loses "
        f"{context.shown(heat.value, 'power')} and may cool by {drop.shown(context.display)}; it moves "
        f"{context.shown(moved, 'flow')} in {loop.case}"
    )
    if moved > 2.0 * float(flow.value):
        words += ", more than twice that: throttle it or let it run by temperature"
    elif moved < 0.98 * float(flow.value):
        words += ", too little"
    bare = [pipe for pipe in pipes_on_way(loop) if context.plant.pipes[pipe].insulation is None]
    options = tuple(filter(None, (_at_drop(context, loop, kelvin) for kelvin in OTHERS[context.display])))
    cautions = (CAUTION,) + (
        (f"Counted as bare, for no insulation is given: {', '.join(bare)}.",) if bare else ()
    )
    return Sized(
        name, "recirculation", words + ".", float(flow.value), "m3_s", "flow", loop.case, options,
        working=flow, cautions=cautions, fails=moved < 0.98 * float(flow.value),
    )  # fmt: skip


def _at_drop(context: Context, loop: Loop, kelvin: float) -> Option | None:
    drop = given("ΔT", "drop from supply to return", kelvin, "temperature_difference", "table", DROP_SOURCE)
    flow = needed_flow(context, loop, drop)
    if flow is None:
        return None
    returned = float(supply_temperature(context, loop, pipes_on_way(loop)).value) - kelvin
    safe = returned >= SAFE_RETURN
    verdict = "" if safe else f"returns at {context.shown(returned, 'temperature')}, below 51 °C (124 °F)"
    figures = {"flow_m3_s": float(flow.value), "difference_k": kelvin, "return_c": returned - 273.15}
    return Option(f"at {drop.shown(context.display)} drop", figures, safe, verdict, working=flow)
