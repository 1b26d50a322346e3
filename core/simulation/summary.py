"""What came of a run as plain data: the keys of `wetside simulate --json`."""

from __future__ import annotations

import hashlib
import math
from collections.abc import Mapping
from typing import Any

from core.calls.energy import electric_heat_of, fuel_of
from core.plant.heating import heats_by_electricity
from core.plant.model import Plant
from core.plant.run_rules import PRICED
from core.simulation.moments import moments_of
from core.simulation.observer import Observer
from core.thermal.heat import ZERO
from core.vocabulary import Trait
from core.working import given

KWH = 3.6e6  # [J]
SCALDS = 322.04  # [K] 120 °F: hotter water at a tap wants a word; common practice
BOILS = 273.15 + 99.0  # [K] a tank above it is out of hand


def summary_of(seen: Observer) -> dict[str, Any]:
    """All that is told of a run, in SI but for hours and kWh."""
    sim = seen.sim
    cautions = list(dict.fromkeys([*sim.cautions, *_assumed(seen)]))
    fuel, electricity = _fuel(seen, cautions), dict(seen.electricity)
    for key, item in seen.plant.items.items():
        heat = seen.sums.get(("heat", key), 0.0)
        if key in seen.items and heats_by_electricity(item):
            working = electric_heat_of(item, given("E", "heat", heat, "energy", "computed"))
            electricity[key] = float(working.value)
        elif item.si.get("element") and heat:
            electricity[key] = heat
    unknown = sorted(seen.powers.unknown)
    cautions += [f"{key}: watts is not set; its electricity is left out" for key in unknown]
    balance = seen.total("heat", "gain") - seen.total("loss", "melt", "draw") - seen.stored()
    energy = {
        "heat": seen.total("heat") / KWH,
        "fuel": sum(fuel.values()) / KWH,
        "electricity": sum(electricity.values()) / KWH,
        "imbalance": balance / KWH,
        "draws": seen.total("draw") / KWH,
        "losses": seen.total("loss", "melt") / KWH,
        "gains": seen.total("gain") / KWH,
        "stored": seen.stored() / KWH,
    }
    return {
        "run": sim.run.name,
        "hours": sim.end / 3600.0,
        "plant": plant_hash(seen.plant),
        "energy_kwh": energy,
        "cost": cost_of(energy, sim.run.prices, cautions),
        "items": {key: _item(seen, key) for key in seen.items},
        "rooms": {key: _room(seen, key) for key in seen.rooms},
        "fixtures": {key: _tap(seen, key) for key in seen.taps},
        "tanks": {key: _tank(seen, key) for key in seen.tanks},
        "pipes": {
            key: {"growth_h": content.span.growth / 3600.0} for key, content in seen.pipes.pipes.items()
        },
        "calls": {key: {"longest_s": call.longest} for key, call in seen.calls.items()},
        "melt": {key: _melt(seen, key, fuel) for key in seen.melting},
        "moments": moments_of(seen),
        "cautions": cautions,
    }


def cost_of(energy: Mapping[str, float], prices: Mapping[str, float], cautions: list[str]) -> float | None:
    """What fuel and electricity [kWh] cost; None without prices, or where a price of what is used lacks."""
    used = {key: energy[key] for key in PRICED}
    lacking = [key for key, kwh in used.items() if kwh > 0.0 and key not in prices]
    if not prices:
        return None
    if lacking:
        cautions.append(f"no cost: the run's prices say nothing of {' and '.join(lacking)}")
        return None
    return sum(kwh * prices.get(key, 0.0) for key, kwh in used.items())


def plant_hash(plant: Plant) -> str:
    """Tells one version of a plant from another: a hash of its file without runs' summaries."""
    from dataclasses import replace

    from core.files.write import dumps

    runs = tuple({k: v for k, v in run.items() if k != "summary"} for run in plant.runs)
    return hashlib.sha256(dumps(replace(plant, runs=runs)).encode()).hexdigest()[:16]


def _celsius(kelvin: float) -> float | None:
    return kelvin - ZERO if math.isfinite(kelvin) else None


def _assumed(seen: Observer) -> list[str]:
    run = seen.sim.run
    found = [run.weather.said] if run.weather.said else []
    if not any((seen.items, seen.rooms, seen.tanks, seen.taps, seen.sim.layout.parts)):
        found.append("nothing in this plant moves, makes or stores heat: there is nothing to see")
    if not run.draws and not run.case.si.draws:
        found.append("nothing is drawn: the run names no draws")
    for key, on in run.case.signals.items():
        item = seen.plant.items[key]
        if item.has(Trait.STAT, Trait.TIMED) and key not in seen.sim.machine.stats and not run.implied:
            found.append(f"{key} stays {'on' if on else 'off'}: the case says so")
    stats = [item.id for item in seen.plant.with_trait(Trait.STAT) if item.id not in run.case.signals]
    found += [f"{key} senses nothing, so it stays off" for key in stats if key not in seen.sim.machine.stats]
    if seen.pipes.pipes:
        found.append(
            "water in pipes to taps starts at what is around them; bare pipes cool while nothing is drawn"
        )
        found.append("what a draw leaves in the pipes counts as drawn")
    for key, span in seen.tanks.items():
        if span.high > BOILS:
            found.append(
                f"{key}: up to {span.high - ZERO:.0f} °C: nothing drawn holds what heats it, and such a tank "
                "bursts; it wants a thermostat, a high limit and a relief valve, and a licensed trade"
            )
    for key, tap in seen.taps.items():
        if tap.high > SCALDS:
            found.append(
                f"{key}: up to {tap.high - ZERO:.0f} °C at the tap, which scalds; local code and a licensed "
                "plumber decide on its mixing valve"
            )
    found.append(
        "hours at 25 to 45 °C, where Legionella grows, go by temperature alone: they never prove that water "
        "is safe; local code and a licensed professional decide"
    )
    return found


def _fuel(seen: Observer, cautions: list[str]) -> dict[str, float]:
    """Heat in the fuel of each heater that burns some, [J]."""
    found = {}
    for key, item in seen.plant.items.items():
        heat = seen.sums.get(("heat", key), 0.0)
        if key not in seen.items or not item.has(Trait.FIRED) or heats_by_electricity(item):
            continue
        fuel = fuel_of(item, given("E", "heat", heat, "energy", "computed"))
        if fuel is not None:
            found[key] = float(fuel.value)
        elif heat > 0.0:
            found[key] = heat
            cautions.append(f"{key}: efficiency is not set; its fuel is counted as its heat")
    return found


def _item(seen: Observer, key: str) -> dict[str, Any]:
    item = seen.items[key]
    found: dict[str, Any] = {
        "starts": len(item.starts),
        "shortest_run_s": item.shortest if math.isfinite(item.shortest) else None,
        "on_h": item.seconds / 3600.0,
        "heat_kwh": seen.sums.get(("heat", key), 0.0) / KWH,
    }
    back = seen.returns.get(key)
    if back is not None:
        found["coldest_return_c"] = _celsius(back.low)
        if key in seen.alone:  # of all heat that was made, stretch by stretch up to its capacity
            whole = seen.total("heat")
            found["alone_share"] = min(1.0, seen.alone[key] / whole) if whole > 0.0 else None
        found["limit_h"] = seen.at_limit.get(key, 0.0) / 3600.0
    return found


def _room(seen: Observer, key: str) -> dict[str, Any]:
    span = seen.rooms[key]
    return {
        "min_c": _celsius(span.low),
        "mean_c": _celsius(span.mean),
        "max_c": _celsius(span.high),
        "short_kh": seen.short[key].total / 3600.0,
        "longest_short_s": seen.short[key].longest,
    }


def _tap(seen: Observer, key: str) -> dict[str, Any]:
    tap = seen.taps[key]
    return {
        "min_c": _celsius(tap.span.low),
        "max_c": _celsius(tap.high),
        "longest_wait_s": tap.wait if tap.draws and not tap.cold else None,
        "short_k_min": tap.short / 60.0,
        "draws": tap.draws,
    }


def _tank(seen: Observer, key: str) -> dict[str, Any]:
    span, recovery = seen.tanks[key], seen.recovery[key]
    return {
        "min_c": _celsius(span.low),
        "mean_c": _celsius(span.mean),
        "max_c": _celsius(span.high),
        "recovery_s": recovery.longest,
        "growth_h": span.growth / 3600.0,
    }


def _melt(seen: Observer, key: str, fuel: dict[str, float]) -> dict[str, Any]:
    melting = seen.melting[key]
    taken, heat = seen.sums.get(("emit", key), 0.0), seen.total("heat")
    share = taken / heat if heat > 0.0 else 0.0
    return {
        "lead_s": melting.lead,
        "heat_kwh": taken / KWH,
        "fuel_kwh": share * sum(fuel.values()) / KWH,
        "first_hour_return_c": _celsius(melting.back),
        "melt_kwh": seen.sums.get(("melt", key), 0.0) / KWH,
    }
