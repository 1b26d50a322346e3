"""What a tank of hot water asks: how warm it is kept, and the heat that an hour's recovery takes.

A tank that fills with heat takes whatever there is: what it takes grows with the source, and would ask for a
larger one for ever. It counts with no more than makes it hot again in an hour, and with what is drawn.
"""

from __future__ import annotations

from core.sizing.bodies import body_at
from core.sizing.context import Context, MissingInput
from core.vocabulary import Trait
from core.working import Working, derived

HOUR = "an hour's recovery, as the rated first hour counts it; what a tank takes beyond it is no need"


def store_temperature(context: Context, tank: str) -> Working:
    """Temperature a tank is held at, [K]: its stat's, else the warmest given or solved."""
    for item in context.plant.items.values():
        senses = item.si.get("senses")
        if item.has(Trait.STAT) and senses and str(senses[0]) == tank:
            found = context.prop("T_s", f"set temperature of {item.id}, which feels {tank}", item.id,
                                 "set_temperature")  # fmt: skip
            if found is not None:
                return found
    worst = context.worst(tank, "temperature_c")
    if worst is None:
        raise MissingInput(f"{tank}: no stat feels it and no case solves it, so its temperature is not known")
    return context.solved("T_s", f"temperature of {tank}", tank, "temperature_c", worst.case)


def cold_water(context: Context) -> Working:
    """Temperature of the water that comes in cold, [K]."""
    for item in context.plant.items.values():
        if item.has(Trait.BRINGS_WATER) and item.stage != "to_remove":
            own = context.prop("T_c", f"temperature of {item.id}", item.id, "temperature")
            if own is not None:
                return own
    return context.site("T_c", "temperature of the cold water", "cold_water")


def stored_fluid(context: Context, tank: str, hot: Working, cold: Working) -> tuple[Working, Working]:
    """Density and heat capacity of its water, half way between hot and cold."""
    body = body_at(context, tank)
    if body is None:
        raise MissingInput(f"{tank}: no pipe is on it")
    mean = derived("T_m", "mean of hot and cold", "temperature", "(T_s + T_c) / 2", hot, cold)
    return (
        context.fluid_leaf("density", body.system, mean),
        context.fluid_leaf("heat_capacity", body.system, mean),
    )


def recovery_heat(context: Context, tank: str, symbol: str = "Φ_h") -> Working | None:
    """Heat that makes a tank hot from cold in an hour, [W]; None where its volume or water is not known."""
    volume = context.prop("V", f"volume of {tank}", tank, "volume")
    if volume is None or body_at(context, tank) is None:
        return None
    try:
        hot, cold = store_temperature(context, tank), cold_water(context)
    except MissingInput:
        return None
    if float(hot.value) <= float(cold.value):
        return None
    fluid = stored_fluid(context, tank, hot, cold)
    words = f"heat that makes {tank} hot from cold in an hour"
    formula = "V * ρ * c * (T_s - T_c) / 3600"
    return derived(symbol, words, "power", formula, volume, *fluid, hot, cold, source=HOUR)
