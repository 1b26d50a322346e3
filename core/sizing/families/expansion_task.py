"""What a body of water asks of its expansion tanks: how much to take in, between which pressures."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from core import units
from core.plant.model import PortRef
from core.sizing.bodies import (
    Body,
    above,
    atmosphere,
    hottest,
    items_in,
    pipe_extreme,
    sources_in,
    water_content,
    water_of,
)
from core.sizing.context import Context, MissingInput
from core.sizing.families.expansion_formulas import SOURCE, absolute, diaphragm_volume, net_expansion
from core.vocabulary import Trait
from core.water.connections import reach
from core.water.ways import Way
from core.working import Working, derived, given

STEEL = 11.7e-6  # [1/K] linear expansion, the least of the metals and plastics in use: to the safe side
SHARE_OF_RELIEF = 0.9  # published: ten in a hundred below the setting
USUAL_RELIEF = {False: ("30 psi", "closed"), True: ("150 psi", "potable")}
HEATABLE = (Trait.MAKES_HEAT, Trait.EXCHANGES_HEAT, Trait.TANK, Trait.HEATS_ROOM, Trait.MELTS_SNOW)
ONE_WAY = (Trait.ONE_WAY, Trait.HOLDS_OUTLET_PRESSURE)
HEATED = 5.0  # [K] above the cold water, from which water counts as heated


@dataclass(frozen=True)
class Task:
    """What one body asks of its expansion tanks; P_1 and P_2 absolute, V_e the water to take in."""

    body: Body
    tanks: tuple[str, ...]
    taken: Working
    first: Working
    last: Working
    filled_at: Working
    content: Working
    warmest: Working
    missing: tuple[str, ...]

    @property
    def volume(self) -> Working:
        """Least volume of all tanks together, [m^3]."""
        return diaphragm_volume(self.taken, self.first, self.last)


def task_of(context: Context, body: Body, warmest: Working | None = None) -> Task:
    """Water to take in and the pressures it may move between.

    Parameters
    ----------
    context, body
    warmest : Working or None
        T_h, hottest water [K]; None for the hottest that was solved
    """
    tanks = items_in(context, body, Trait.EXPANDS)
    missing = [] if tanks else [f"{body.system}: no expansion tank is drawn in this body"]
    warmest = warmest or hottest(context, body)
    if warmest is None:
        raise MissingInput(f"{body.system}: no case came to rest, so the hottest water is not known")
    filled = filled_at(context, body)
    content = _content(context, body)
    air = atmosphere(context)
    gauge = still_pressure(context, body, tanks)
    relief = _most_pressure(context, body, tanks, missing)
    if float(relief.value) <= float(gauge.value):
        raise MissingInput(
            f"{body.system}: the pressure before heating, {gauge.shown(context.display)}, leaves no room "
            f"below the {relief.shown(context.display)} that the relief valve allows at the tank"
        )
    swelling = net_expansion(
        content,
        context.fluid_leaf("density", body.system, filled, "ρ_f"),
        context.fluid_leaf("density", body.system, warmest, "ρ_h"),
        filled,
        warmest,
        given("α", "growth of tubes and vessels, each way, per kelvin", STEEL, "", "table", SOURCE),
    )
    return Task(
        body,
        tuple(tanks),
        _with_shrinking(context, body, swelling, filled),
        absolute("P_1", "pressure at the tank before heating, absolute", gauge, air),
        absolute("P_2", "greatest pressure at the tank, absolute", relief, air),
        filled,
        content,
        warmest,
        tuple(missing),
    )


def heated(context: Context, body: Body) -> bool:
    """Whether heat comes into a body that cannot push its water back into the main: it needs expansion."""
    if not items_in(context, body, *HEATABLE):
        return False  # a branch that only feeds another body
    if not items_in(context, body, Trait.EXPANDS) and open_to_the_main(context, body):
        return False
    if sources_in(context, body):
        return True
    warmest = hottest(context, body)
    return warmest is not None and float(warmest.value) > context.plant.site_si.cold_water + HEATED


def open_to_the_main(context: Context, body: Body) -> bool:
    """Whether water that swells can go back to a cold main, past nothing that lets it pass one way only."""
    mains = [PortRef(item, "at") for item in items_in(context, body, Trait.BRINGS_WATER)]
    if not mains:
        return False
    items = context.plant.items

    def lets_back(way: Way) -> bool:
        return way.is_pipe or not (way.parts or items[way.key].has(*ONE_WAY))

    wetted = {place.item for place in reach(water_of(context), mains, lets_back)}
    return any(item in wetted for item in items_in(context, body, *HEATABLE))


def filled_at(context: Context, body: Body) -> Working:
    """Temperature of the water that fills it, [K]: that of the cold main."""
    for item in context.plant.items.values():
        if item.has(Trait.BRINGS_WATER):
            own = context.prop("T_f", f"temperature of {item.id}", item.id, "temperature")
            if own is not None:
                return own
            break
    return context.site("T_f", "temperature of the cold water it is filled with", "cold_water")


def _content(context: Context, body: Body) -> Working:
    """All water of a closed body; of a potable one the water that gets warm."""
    if not body.potable:
        return water_content(context, body)
    cold = context.plant.site_si.cold_water
    warm = tuple(p for p in body.pipes if (pipe_extreme(context, p) or cold) > cold + HEATED)
    return water_content(context, body, warm)


def _with_shrinking(context: Context, body: Body, swelling: Working, filled: Working) -> Working:
    """Adds what loops outdoors lack at the design cold, which the tank must give back."""
    melting = items_in(context, body, Trait.MELTS_SNOW)
    coldest = context.plant.site_si.outdoor_design
    if not melting or coldest >= float(filled.value):
        return swelling
    inputs = [part for part in swelling.inputs[0].inputs if part.symbol.endswith(tuple(_ends(melting)))]
    if not inputs:
        return swelling
    total = " + ".join(part.symbol for part in inputs)
    outdoors = derived("V_o", "water in loops outdoors", "volume", total, *inputs)
    outdoor = context.site("T_c", "outdoor design temperature", "outdoor_design")
    shrinking = derived(
        "V_s",
        "water they lack when as cold as that",
        "volume",
        "V_o * (ρ_c / ρ_f - 1)",
        outdoors,
        context.fluid_leaf("density", body.system, outdoor, "ρ_c"),
        swelling.inputs[1],
        source="conservation of mass",
    )
    own = replace(swelling, symbol="V_w")
    return derived(
        "V_e",
        "water to take in, with what the loops outdoors lack when cold",
        "volume",
        "V_w + V_s",
        own,
        shrinking,
    )


def _ends(names: list[str]) -> Iterator[str]:
    for name in names:
        yield "".join(c if c.isalnum() else "_" for c in name)


def still_pressure(context: Context, body: Body, tanks: list[str]) -> Working:
    """Gauge pressure at the tank before anything is heated, [Pa]."""
    if body.potable:
        return _line_pressure(context, body, tanks)
    system = context.plant.systems[body.system]
    if system.si.fill_pressure is not None:
        return Working(
            "p_f",
            f"fill pressure of {body.system}",
            system.si.fill_pressure,
            "pressure",
            origin="typed",
            path=f"systems.{body.system}.fill_pressure",
            typed=system.fill_pressure or "",
        )
    for item in items_in(context, body, Trait.FILLS):
        if context.plant.items[item].si.get("open") and PortRef(item, "out") in body.ports:
            found = context.prop("p_f", f"pressure that {item} holds", item, "set_pressure")
            if found is not None:
                return found
    for tank in tanks:
        found = context.prop("p_f", f"precharge of {tank}", tank, "precharge")
        if found is not None:
            return found
    raise MissingInput(
        f"{body.system}: neither systems.{body.system}.fill_pressure nor a tank's props.precharge nor an "
        "open fill valve's props.set_pressure is given, so the pressure before heating is not known"
    )


def _line_pressure(context: Context, body: Body, tanks: list[str]) -> Working:
    """Greatest solved pressure at a potable body's tank, that of the still line, [Pa]."""
    places = [PortRef(tank, "at") for tank in tanks] or [
        port
        for item in items_in(context, body, *HEATABLE)
        for port in sorted(body.ports)
        if port.item == item
    ]
    for place in places:
        pipes = context.plant.pipes_at.get(place, ())
        for pipe in pipes:
            key = "pressure_in_pa" if context.plant.pipes[pipe].start == place else "pressure_out_pa"
            worst = context.worst(pipe, key)
            if worst is not None:
                return context.solved("p_f", f"line pressure at {place.item}", pipe, key, worst.case)
    raise MissingInput(f"{body.system}: the line pressure at its tank is not known")


def _most_pressure(context: Context, body: Body, tanks: list[str], missing: list[str]) -> Working:
    """Most gauge pressure at the tank: each relief valve's setting less a margin and what it stands lower."""
    limits = []
    place = PortRef(tanks[0], "at") if tanks else None
    for number, valve in enumerate(items_in(context, body, Trait.RELIEVES), start=1):
        setting = context.prop("p_s", f"setting of {valve}", valve, "set_pressure")
        if setting is None or isinstance(setting.value, str):
            missing.append(f"{valve}: props.set_pressure is {'unknown' if setting else 'not given'}")
            continue
        more = above(context, PortRef(valve, "at"), place) if place is not None else None
        apart = Working(
            "Δp",
            f"by which the pressure at {valve} exceeds that at {tanks[0] if tanks else 'the source'}",
            more[0] if more else 0.0,
            "pressure",
            how=f"solved pressures in {more[1]}" if more else "not solved; taken as the same",
            origin="solved" if more else "practice",
        )
        limits.append(
            derived(
                f"p_{number}",
                f"most pressure at the tank for {valve}",
                "pressure",
                "0.9 * p_s - Δp",
                setting,
                apart,
                source="ten in a hundred below the setting keeps the valve shut: published practice",
            )
        )
    if not limits:
        text, use = USUAL_RELIEF[body.potable]
        usual_setting = units.parse(text, "pressure")
        words = f"usual setting in {use} systems"
        usual = given("p_s", words, usual_setting, "pressure", "practice", "common practice, no source")
        shown = usual.shown(context.display)
        missing.append(f"{body.system}: no relief valve with a known setting, so {shown} is taken")
        return derived("p_m", "most pressure at the tank", "pressure", "0.9 * p_s", usual)
    formula = f"min({', '.join(one.symbol for one in limits)})" if len(limits) > 1 else limits[0].symbol
    return derived("p_m", "most pressure at the tank", "pressure", formula, *limits)
