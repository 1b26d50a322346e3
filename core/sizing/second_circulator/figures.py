"""What a second circulator does at one place: flows before and after, gain, heads, watts, verdict."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from core.figures import EmitterFigures, PumpFigures
from core.plant.model import Item, Plant, PortRef
from core.sizing.context import Context, G
from core.sizing.families import suction
from core.sizing.second_circulator.available import Pump, curve_of
from core.sizing.second_circulator.edit import Edit
from core.sizing.second_circulator.fit import Fit
from core.sizing.second_circulator.found import (
    Found,
    State,
    Wanted,
    circuits,
    flow_at,
    states_load,
)
from core.sizing.second_circulator.places import Place, Spot
from core.solve import Solution
from core.vocabulary import Trait
from core.water.no_flow import NO_FLOW
from core.working import Working, derived, given

WORTH = 0.05  # share of flow below which a gain is not worth a circulator (common practice, no source)
HARDLY = 0.01  # share of flow below which nobody would notice a gain
HEAT = 0.02  # share of the wanted heat below which more flow brings hardly more heat
LOST = 0.05  # share of its flow that another circuit may lose
STIRRED = 0.01  # share of the second circulator's flow from which what rested counts as driven
NEAR_SHUT_OFF = 0.10  # of the run-out flow: a circulator that pushes against a wall


def unsolved(
    plant: Plant,
    before: Solution,
    place: Place,
    spot: Spot | None,
    fit: Fit,
    opened: tuple[str, ...],
    pump: Pump,
    why: str,
) -> Found:
    """A place where nothing can be promised, with the reason."""
    flows = {name: (flow, flow) for name, flow in circuits(plant, before).items()}
    return Found(place, pump, spot, fit, opened, "blocked", why, flows, power=pump.watts)


def figures(
    context: Context,
    before: Solution,
    plant: Plant,
    after: Solution,
    place: Place,
    edit: Edit,
    pump: Pump,
    wanted: Wanted,
) -> Found:
    """Everything about one solved place; spot, fit and what is opened are put in by the caller."""
    own = after.role(edit.pump, PumpFigures)
    flow, head = own.flow_m3_s, own.head_m
    flows = _both(context.plant, before, plant, after, place, edit.pump)
    at, first, last = _gain_at(context.plant, before, plant, after, place, edit.pump, wanted)
    gained = _gained(at, first, last)
    gain, share = float(gained.value), (last - first) / first if first > NO_FLOW else None
    heat = _heats(before, after)
    rho, margin, pressure = _suction(plant, after, edit.pump)
    watts = pump.watts
    per_flow = None
    if watts is not None and gain > NO_FLOW:
        put = given("P", "electric power of the circulator", watts, "power", "typed")
        per_flow = derived("w", "power for each extra flow", "", "P / ΔQ", put, gained)
    stirred = _stirred(after, flows, at, STIRRED * abs(flow))
    state, verdict, worth = _verdict(context, after, flows, heat, wanted, at, gain, share, watts, stirred)
    pair = _pair(context.plant, after, place, pump, flow, head)
    checks = _checks(context.plant, place, edit, plant)
    found = Found(
        place, pump, None, Fit("unknown", ""), (), state, verdict, flows, heat, at, gain, share, watts,
        rho * G * flow * head, flow, head, *pair, pressure, margin, per_flow, gained, checks, (), worth, 0,
        _lacking(after, wanted, at), (), own.speed,
    )  # fmt: skip
    return _with_cautions(context, plant, found, rho, after, edit.pump)


def _pair(
    plant: Plant, after: Solution, place: Place, pump: Pump, flow: float, head: float
) -> tuple[float | None, float | None, float | None, float | None, float | None]:
    """Flow, head and power of both together, the first one's speed, and their head at no flow."""
    if place.how == "branch":
        return None, None, None, None, pump.shut_off
    own = after.role(place.at, PumpFigures)
    speed = own.speed
    first, second = watts_of(plant.items[place.at], speed), pump.watts
    power = None if first is None or second is None else first + second
    curve = curve_of(plant.items[place.at])
    top = 0.0 if curve is None else speed**2 * curve.at(0.0)
    if place.how == "series":
        return flow, head + own.head_m, power, speed, top + (pump.shut_off or 0.0)
    return flow + own.flow_m3_s, head, power, speed, max(top, pump.shut_off or 0.0)


def watts_of(item: Item, speed: float) -> float | None:
    """Electric power of a circulator at a speed, [W]: what is typed, by the cube of the speed.

    The cube is the affinity law of power; small circulators fall less, so that it is the lower side.
    """
    watts = item.si.get("watts")
    return None if watts is None else float(watts) * min(speed, 1.0) ** 3


def _both(
    old: Plant, before: Solution, new: Plant, after: Solution, place: Place, pump: str
) -> dict[str, tuple[float, float]]:
    """Flows of the circuits before and after; two circulators in parallel count as one line."""
    last = circuits(new, after)
    flows = {name: (flow, last.get(name, 0.0)) for name, flow in circuits(old, before).items()}
    if place.how == "parallel":
        flows[place.at] = (flows[place.at][0], last[place.at] + last[pump])
    return flows


def _gain_at(
    old: Plant, before: Solution, new: Plant, after: Solution, place: Place, pump: str, wanted: Wanted
) -> tuple[str, float, float]:
    """Where the gain is measured, and the flow there before and after."""
    at = wanted.at or (place.at if place.how != "branch" else "")
    if not at:
        first = flow_at(old, before, place.near) or 0.0
        giver = next(
            (name for name in place.run if name in old.items and old.items[name].has(Trait.GIVES_HEAT)), ""
        )
        return giver or place.near, first, abs(after.flow(pump))
    first, last = flow_at(old, before, at) or 0.0, flow_at(new, after, at) or 0.0
    if place.how == "parallel" and at == place.at:
        last += abs(after.flow(pump))
    return at, first, last


def _gained(at: str, first: float, last: float) -> Working:
    return derived(
        "ΔQ",
        f"gain at {at}",
        "flow",
        "Q_2 - Q_1",
        given("Q_2", f"flow at {at} with the second circulator", last, "flow", "solved"),
        given("Q_1", f"flow at {at} without it", first, "flow", "solved"),
    )


def _lacking(after: Solution, wanted: Wanted, at: str) -> float | None:
    """Share of its wanted heat that a circuit which was short still lacks."""
    at = at if at in wanted.short else max(wanted.short, key=lambda name: wanted.short[name], default="")
    found = after.at(at, EmitterFigures)
    return found.short_w / found.wanted_w if found is not None and found.wanted_w else None


def _heats(before: Solution, after: Solution) -> dict[str, tuple[float, float]]:
    """Heat delivered by each circuit before and after, [W]."""
    last = after.of(EmitterFigures)
    first = before.of(EmitterFigures)
    return {name: (first[name].delivered_w, last[name].delivered_w) for name in first if name in last}


def _suction(plant: Plant, after: Solution, pump: str) -> tuple[float, Working | None, float | None]:
    """Density at its inlet, the head there above boiling, and the gauge pressure."""
    margin = suction.margin(Context(plant, {after.case: after}), pump, after.case)
    if margin is None:
        return 998.0, None, None
    values = {part.symbol: float(part.value) for part in margin.inputs}
    return values["ρ"], margin, values["p"]


def _checks(old: Plant, place: Place, edit: Edit, new: Plant) -> tuple[str, ...]:
    """Which check valves it wants, in words."""
    if place.how == "series":
        return ()
    if place.how == "branch":
        if place.checked or new.items[edit.pump].si.get("integral_check"):
            return ()
        return ("one behind it, where other circulators could drive water through it while it rests",)
    out = []
    if not place.own_check:
        out.append(f"one behind {place.at}, which has none")
    elif place.own_check == place.at:
        out.append(f"none behind {place.at}: it has one inside")
    else:
        out.append(f"none behind {place.at}: {place.own_check} is there")
    inside = new.items[edit.pump].si.get("integral_check")
    out.append("none behind the second: it has one inside" if inside else "one behind the second")
    return tuple(out)


def _verdict(
    context: Context,
    after: Solution,
    flows: Mapping[str, tuple[float, float]],
    heat: Mapping[str, tuple[float, float]],
    wanted: Wanted,
    at: str,
    gain: float,
    share: float | None,
    watts: float | None,
    stirred: Mapping[str, float],
) -> tuple[State, str, bool]:
    """State, sentence, and whether it is worth a circulator."""
    if not after.converged:
        return "unsettled", "The case does not settle with it: controls answer one another", False
    shown = context.shown(abs(gain), "flow")
    if gain <= NO_FLOW or (share is not None and share < HARDLY):
        lost = f" loses {shown}" if gain < -1e-7 else " gains next to nothing"
        return "none", f"{at}{lost}{_held_by(context.plant, after)}", False
    much = f" ({share:.0%})" if share is not None else ", where nothing flowed"
    text = f"Adds {shown}{much} at {at}" + (f" for {watts:.0f} W" if watts is not None else "")
    if share is not None and share < WORTH:
        return "little", f"{text}: too little for a circulator{_held_by(context.plant, after)}", False
    turned = _turned(context.plant, flows)
    if turned:
        text += f"; turns the flow round in {', '.join(turned)}"
    if stirred:
        through = ", ".join(f"{context.shown(flow, 'flow')} through {name}" for name, flow in stirred.items())
        text += f"; drives {through}, which nobody calls: a check valve that opens this way does not hold it"
    heat_words, hardly = _heat_words(context, after, heat, wanted, at)
    losers = _losers(context.plant, after, flows, at)
    if losers:
        worst = max(losers, key=lambda name: losers[name])
        more = f" and {len(losers) - 1} more" if len(losers) > 1 else ""
        text += f"; takes {losers[worst]:.0%} of the flow from {worst}{more}"
    if heat_words:
        text += f"; {heat_words}"
    if wanted.met:
        text += "; every circuit has the heat it wants already"
    harm = bool(losers or turned or stirred)
    return ("takes" if harm else "helps"), text, not harm and not hardly and not wanted.met


def _turned(plant: Plant, flows: Mapping[str, tuple[float, float]]) -> list[str]:
    """Circuits through which water would run backward."""
    return [
        name
        for name, (first, last) in flows.items()
        if first > 1e-7 and last < -1e-7 and not plant.items[name.partition(".")[0]].has(Trait.DRIVES)
    ]


def _stirred(
    after: Solution, flows: Mapping[str, tuple[float, float]], at: str, least: float
) -> dict[str, float]:
    """What rested and is driven now though nobody calls it, with its flow: circulators before circuits."""
    found = {
        name: last
        for name, (first, last) in flows.items()
        if name != at
        and abs(first) <= 1e-7
        and last > max(least, 1e-7)
        and not after.running(name)
        and not ((gives := after.at(name, EmitterFigures)) is not None and gives.wanted_w > 0.0)
    }
    pumps = {name: flow for name, flow in found.items() if after.at(name, PumpFigures) is not None}
    return pumps or found


def _held_by(plant: Plant, after: Solution) -> str:
    """The limiters that stand at their limit, which more head cannot move."""
    held = [
        item.id
        for item in plant.items.values()
        if item.has(Trait.BALANCES)
        and item.si.get("set_flow")
        and abs(after.flow(item.id)) >= 0.999 * float(item.si["set_flow"])
    ]
    return f" ({', '.join(held)} at the set flow)" if held else ""


def _losers(
    plant: Plant, after: Solution, flows: Mapping[str, tuple[float, float]], at: str
) -> dict[str, float]:
    """Circuits that lose flow, and what share: those that then lack heat, or of unknown want."""
    out = {}
    for name, (first, last) in flows.items():
        found = after.at(name, EmitterFigures)
        if name == at or found is None:
            continue
        lost = 1.0 - abs(last) / abs(first) if abs(first) > 1e-7 else 0.0
        lacks = found.short_w > HEAT * found.wanted_w
        if lost > LOST and (lacks or not states_load(plant, name)):
            out[name] = lost
    return out


def _heat_words(
    context: Context, after: Solution, heat: Mapping[str, tuple[float, float]], wanted: Wanted, at: str
) -> tuple[str, bool]:
    """What the flow brings in heat, in words, and whether that is hardly anything."""
    if at not in heat:
        at = max(wanted.short, key=lambda name: wanted.short[name], default="")
    if at not in heat:
        return "", False
    first, last = heat[at]
    if states_load(context.plant, at):
        lacked = wanted.short.get(at, 0.0)
        if not lacked:
            return ("", False) if wanted.met else (f"{at} has all the heat it wants already", True)
        brought, whole = lacked - after.role(at, EmitterFigures).short_w, first + lacked
    else:
        brought, whole = last - first, abs(first)
    shown = context.shown(max(brought, 0.0), "power")
    if brought < HEAT * whole:
        return f"hardly more heat at {at} ({shown})", True
    return f"{shown} more heat at {at}", False


def _with_cautions(
    context: Context, plant: Plant, found: Found, rho: float, after: Solution, pump: str
) -> Found:
    """Notes on where on its curve it works, boiling at its suction, pressure at shut-off, drinking water."""
    out = []
    run_out, flow = found.pump.run_out, found.flow or 0.0
    if run_out and flow > run_out * 1.0001:
        out.append(f"pushed past the end of its curve ({context.shown(run_out, 'flow')}): it only resists")
    elif run_out and flow < NEAR_SHUT_OFF * run_out:
        out.append(f"works near shut-off, below {NEAR_SHUT_OFF:.0%} of its run-out: noise and wear")
    curve = found.pump.curve
    if curve is not None and curve.x[-1] * found.pump.speed < flow <= (run_out or 0.0):
        out.append("works beyond the last point of its curve, where the curve is only continued")
    if found.margin is not None and float(found.margin.value) < suction.ENOUGH:
        out.append(
            f"only {found.margin.shown(context.display)} at its suction above boiling: it may cavitate; "
            "raise the fill pressure or pump away from the expansion tank"
        )
    body = _relief(plant, pump)
    if body and found.suction is not None and found.pair_shut_off is not None:
        top = found.suction + rho * G * found.pair_shut_off
        name, set_at = min(body.items(), key=lambda pair: pair[1])
        if top > set_at:
            out.append(
                f"against a closed valve it would reach {context.shown(top, 'pressure')}, above the "
                f"{context.shown(set_at, 'pressure')} of {name}: hot water would be let out there"
            )
    item = plant.items[pump]
    pipe = plant.pipes[plant.pipes_at[PortRef(pump, "in")][0]]
    if plant.systems[pipe.system].use == "potable" and item.si.get("body") not in ("bronze", "stainless"):
        out.append("drinking water: only a bronze or stainless circulator listed for it may be used")
    return replace(found, cautions=tuple(out))


def _relief(plant: Plant, pump: str) -> dict[str, float]:
    """Set pressures of the relief valves on the same system, [Pa]."""
    system = plant.pipes[plant.pipes_at[PortRef(pump, "in")][0]].system
    out: dict[str, Any] = {}
    for pipe in plant.pipes.values():
        for ref in (pipe.start, pipe.end):
            item = plant.items[ref.item]
            if pipe.system == system and item.has(Trait.RELIEVES) and item.si.get("set_pressure"):
                out[item.id] = float(item.si["set_pressure"])
    return out
