"""Laws of single kinds on a solved random plant, written again from the contract: what is off, in words."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

from tests.support.balance import Balance, lift, si


def kind_laws_broken(balance: Balance) -> list[str]:
    """Everything that heat pumps, coils, three-way valves, bypasses and humidifiers do against their law."""
    found = []
    for ident, item in balance.items.items():
        law = LAWS.get(item["kind"])
        if law is not None:
            found += [f"{ident} {text}" for text in law(balance, ident, item["props"])]
    return found


def _end(balance: Balance, ident: str, port: str) -> tuple[float, float]:
    """Mass that flows into an item at a port [kg/s], and its temperature [degC]."""
    pipe, sign = balance.touch[ident, port][0]
    return -sign * balance.mass[pipe], balance.warm_at(pipe, sign)


def _rate(balance: Balance, ident: str, port: str) -> float:
    pipe, _ = balance.touch[ident, port][0]
    return abs(balance.mass[pipe]) * balance.capacity(balance.pipe_of[pipe])


def heat_pump_laws(balance: Balance, ident: str, props: dict[str, Any]) -> Iterator[str]:
    """Heat at most what the bilinear grid gives at its own outlet; all of it where the outlet falls short."""
    figures = balance.solved.items[ident]
    if not figures["running"]:
        if figures["power_w"] or figures["duty_w"]:
            yield "rests, yet gives or takes"
        return
    outdoor = si(balance.case["outdoor"], "temperature") - 273.15
    outlet, set_at = figures["temperature_c"], si(props["set_temperature"], "temperature") - 273.15
    heat, power = grid(props["table"], outdoor, outlet)
    if figures["duty_w"] > heat * (1 + 1e-4) + 5:
        yield f"gives {figures['duty_w']:.1f} W of {heat:.1f}"
    if outlet > set_at + 1e-3:
        yield f"runs to {outlet:.3f} above its {set_at:.3f}"
    loads = any(one["kind"] in ("load", "fan_coil") for one in balance.items.values())
    if outlet < set_at - 0.01 and not loads and abs(figures["duty_w"] - heat) > 1e-4 * heat + 5:
        yield f"falls short with {figures['duty_w']:.1f} W of {heat:.1f}"
    if abs(figures["power_w"] - power * figures["duty_w"] / heat) > 1e-3 * power:
        yield f"takes {figures['power_w']:.2f} W"


def grid(table: list[list[str]], outdoor: float, supply: float) -> tuple[float, float]:
    """Heat and power by the bilinear rule, flat beyond the grid."""
    rows = {
        (round(si(r[0], "temperature") - 273.15, 6), round(si(r[1], "temperature") - 273.15, 6)): (
            si(r[2], "power"),
            si(r[3], "power"),
        )
        for r in table
    }
    share: list[tuple[tuple[float, float], float]] = []
    for values, at in ((sorted({k[0] for k in rows}), outdoor), (sorted({k[1] for k in rows}), supply)):
        at = min(max(at, values[0]), values[-1])
        low = max(v for v in values[:-1] if v <= at)
        high = min(v for v in values if v > low)
        share.append(((low, high), (at - low) / (high - low)))
    (outs, s), (sups, t) = share
    corners = [rows[o, u] for o in outs for u in sups]
    weights = [(1 - s) * (1 - t), (1 - s) * t, s * (1 - t), s * t]
    heat, power = (sum(g * one[k] for g, one in zip(weights, corners, strict=True)) for k in (0, 1))
    return heat, power


def coil_laws(balance: Balance, ident: str, props: dict[str, Any]) -> Iterator[str]:
    """C (1 - exp(-UA/C)) between the coil's inlet and its tank; the tank's loss is what it is brought."""
    figures = balance.solved.items[ident]
    w, _ = _end(balance, ident, "coil_in")
    rate = _rate(balance, ident, "coil_in")
    if rate > 0.05 * balance.capacity(balance.pipe_of[balance.touch[ident, "coil_in"][0][0]]) * 1e-3:
        _, inlet = _end(balance, ident, "coil_in" if w > 0 else "coil_out")
        want = rate * -math.expm1(-si(props["coil_ua"], "heat_per_kelvin") / rate)
        want *= inlet - figures["temperature_c"]
        if abs(figures["coil_duty_w"] - want) > 2e-3 * abs(want) + 0.5:
            yield f"coil gives {figures['coil_duty_w']:.2f} W, not {want:.2f}"
    moved = any(abs(_end(balance, ident, port)[0]) > 2e-6 for port in ("coil_in", "low"))
    if ident not in balance.case.get("tanks", {}) and moved:
        lost = si(props["ua_loss"], "heat_per_kelvin") * (figures["temperature_c"] - 20)
        if abs(figures["duty_w"] - lost) > 1e-3 * abs(lost) + 1:
            yield f"is brought {figures['duty_w']:.2f} W and loses {lost:.2f}"


def three_way_laws(balance: Balance, ident: str, props: dict[str, Any]) -> Iterator[str]:
    """Mass adds up at ab; what comes in mixes; a target is held, or a note says why not."""
    figures, solved = balance.solved.items[ident], balance.solved
    ends = {port: _end(balance, ident, port) for port in ("a", "b", "ab")}
    into = [(w, t) for w, t in ends.values() if w > 2e-6]
    if into:
        mixed = sum(w * t for w, t in into) / sum(w for w, _ in into)
        for port, (w, t) in ends.items():
            if w < -1e-5 and abs(t - mixed) > 0.02:
                yield f"lets out {t:.3f} at {port} where {mixed:.3f} comes in"
    if "target" in props and ends["ab"][0] < -1e-5 and not solved.noted(ident):
        target = si(props["target"], "temperature") - 273.15
        if abs(figures["temperature_c"] - target) > 0.06:
            yield f"stands at {figures['temperature_c']:.3f} instead of {target:.3f} and says nothing"


def bypass_laws(balance: Balance, ident: str, props: dict[str, Any]) -> Iterator[str]:
    """Shut, no more than its setting stands across it, unless a pump's shut-off head hides where it falls."""
    pipe, _ = balance.touch[ident, "in"][0]
    rho, _ = balance.fluids[balance.pipe_of[pipe]["system"]](balance.mean(pipe))
    across, setting = balance.solved.items[ident]["across_pa"], lift(props["set_pressure"], rho)
    shut = abs(balance.solved.items[ident]["flow_m3_s"]) < 1e-9
    hidden = any("shut-off" in text for _, text in balance.solved.notes)
    if shut and not hidden and across > setting * 1.02 + 2:
        yield f"is shut with {across:.1f} Pa across it of {setting:.1f}"


def humidifier_laws(balance: Balance, ident: str, props: dict[str, Any]) -> Iterator[str]:
    """What comes in and not out is used; all that it wants, nothing in a closed body, or a note."""
    figures = balance.solved.items[ident]
    pipe, _ = balance.touch[ident, "in"][0]
    rho, _ = balance.fluids[balance.pipe_of[pipe]["system"]](balance.mean(pipe))
    lost = -balance.out_of(ident) / rho
    if abs(lost - figures["uses_m3_s"]) > 1e-9:
        yield f"loses {lost:.3g} m3/s and says {figures['uses_m3_s']:.3g}"
    if abs(figures["uses_m3_s"] - si(props["uses"], "flow")) > 1e-9 and not balance.solved.noted(ident):
        yield "does not use what it wants and says nothing"


LAWS = {
    "heat_pump": heat_pump_laws,
    "coil_tank": coil_laws,
    "three_way_valve": three_way_laws,
    "dp_bypass": bypass_laws,
    "humidifier": humidifier_laws,
}
