"""Heat wanted of a circuit: typed, by area and flux, by its room's loss, or what it delivers today."""

from __future__ import annotations

from core.sizing.context import Context, MissingInput
from core.sizing.demand.stores import recovery_heat
from core.vocabulary import Trait
from core.working import Working, derived


def load_of(context: Context, name: str) -> Working:
    """Heat wanted of a circuit.

    Typed; or area times typed flux; or what the room it serves loses; or, with none of them, what it delivers
    in the case that lets it deliver most.

    Raises
    ------
    MissingInput
        Nothing says how much
    """
    item = context.plant.items[name]
    if (typed := context.prop("Φ", f"load of {name}", name, "load")) is not None:
        return typed
    area, flux = (context.prop(s, w, name, w) for s, w in (("A", "area"), ("q", "flux")))
    if area is not None and flux is not None:
        value = float(area.value) * float(flux.value)
        return Working("Φ", f"load of {name}", value, "power", "A * q", (area, flux))
    if item.si.get("serves") and (lost := _room_load(context, name, str(item.si["serves"]))) is not None:
        return lost
    key = "coil_duty_w" if item.has(Trait.HAS_COIL) else "delivered_w"
    worst = context.worst(name, key)
    if worst is not None and worst.value > 1.0:
        leaf = context.solved("Φ_case", f"heat {name} delivers or takes", name, key, worst.case)
        if item.has(Trait.HAS_COIL) and (bounded := _within_recovery(context, name, worst.case, leaf)):
            return bounded
        how = "no load is typed: what it delivers or takes in the case that has most"
        return Working("Φ", f"load of {name}", leaf.value, "power", "Φ_case", (leaf,), how=how)
    if item.has(Trait.HAS_COIL):
        raise MissingInput(f"{name}: its coil takes no heat in any case, so its design flow cannot be found")
    raise MissingInput(f"{name}: props.load is not given, so its design flow cannot be found")


def _within_recovery(context: Context, tank: str, case: str, coil: Working) -> Working | None:
    """A coil's heat less what fills its tank beyond an hour's recovery, which grows with the source."""
    fills = context.solved("Φ_f", f"heat that fills {tank}", tank, "duty_w", case)
    hour = recovery_heat(context, tank)
    if hour is None or float(fills.value) <= float(hour.value):
        return None
    how = "what it takes in the case that has most, filling its tank no quicker than in an hour"
    return derived("Φ", f"load of {tank}", "power", "Φ_case - (Φ_f - Φ_h)", coil, fills, hour, how=how)


def _room_load(context: Context, name: str, room: str) -> Working | None:
    """Share of a room's loss on the design day, equal for each emitter that serves it."""
    if room not in context.plant.items:
        return None
    loss = context.prop("H", f"loss of {room}", room, "loss")
    wanted = context.prop("T_room", f"temperature wanted in {room}", room, "wanted")
    gain = context.prop("G", f"gains of {room}", room, "gain")
    if loss is None or gain is None:
        return None
    wanted = wanted or context.site("T_room", "indoor temperature", "indoor")
    outdoor = context.site("T_out", "outdoor design temperature", "outdoor_design")
    serving = sum(
        1 for i in context.plant.items.values() if i.si.get("serves") == room and i.stage != "to_remove"
    )
    how = "counted in the plant"
    count = Working("n", f"circuits that serve {room}", float(serving), how=how, origin="solved")
    value = (float(loss.value) * (float(wanted.value) - float(outdoor.value)) - float(gain.value)) / serving
    formula = "(H * (T_room - T_out) - G) / n"
    inputs = (loss, wanted, outdoor, gain, count)
    how = "what the room loses on the design day, in equal parts"
    return Working("Φ", f"load of {name}", max(value, 0.0), "power", f"max({formula}, 0)", inputs, how=how)
