"""How the figures of rooms came about, and what the weather sets: loss, temperature, share of the time."""

from __future__ import annotations

from dataclasses import replace

from core.derivation.leaves import View, outdoor_of
from core.figures import RoomFigures
from core.plant.model import Item
from core.thermal.room_loss import loss_of
from core.vocabulary import Trait
from core.working import Working


def outdoor(view: View) -> Working:
    """Outdoor temperature of the case, else the site's."""
    case = next((c for c in view.plant.solve_cases if c.name == view.solution.case), None)
    return outdoor_of(view.plant, case)


def set_temperature(view: View, item: Item) -> Working | None:
    """What an item is set to: by an outdoor reset that names it, else as typed."""
    for reset in view.plant.items.values():
        sets = reset.si.get("sets") if reset.has(Trait.RESETS) else None
        names = (sets,) if isinstance(sets, str) else tuple(sets or ())
        if item.id in names and view.value(reset.id, "supply_c") is not None:
            found = view.solved("T_set", f"set by {reset.id}", reset.id, "supply_c")
            line = Working(
                "l", f"line of {reset.id}", _line(reset), origin="typed", path=f"items.{reset.id}.props.line"
            )
            return Working(
                "T_set",
                f"set by {reset.id} for the weather",
                found.value,
                "temperature",
                inputs=(outdoor(view), line),
                how="straight between the points of its line, flat beyond",
            )
    return view.prop("T_set", "set temperature", item.id, "set_temperature")


def _line(reset: Item) -> str:
    return ", ".join(f"{weather} → {supply}" for weather, supply in reset.props.get("line", ()))


def _loss_per_degree(view: View, item: Item) -> Working | None:
    found = loss_of(view.plant, item)
    return None if found is None else replace(found, symbol="H")


def _temperature(view: View, item: Item) -> Working:
    return view.solved("T_r", f"temperature of {item.id}", item.id, "temperature_c")


def loss(view: View, item: Item) -> Working | None:
    """Heat a room loses now."""
    per_degree = _loss_per_degree(view, item)
    if per_degree is None:
        return None
    t, o = _temperature(view, item), outdoor(view)
    value = float(per_degree.value) * (float(t.value) - float(o.value))
    return Working(
        "Φ",
        f"heat lost by {item.id}",
        value,
        "power",
        "H * (T_r - T_o)",
        (per_degree, t, o),
        source="steady heat balance of a room",
    )


def share(view: View, item: Item) -> Working | None:
    """Share of the time that heat is brought to a room."""
    figures = view.role(item.id, RoomFigures)
    lost = loss(view, item)
    gain = view.prop("Φ_g", f"gain of {item.id}", item.id, "gain")
    if lost is None or gain is None or figures.heat_w <= 0.0:
        return None
    heat = view.solved("Φ_on", "heat brought while its circuits run", item.id, "heat_w")
    value = (float(lost.value) - float(gain.value)) / float(heat.value)
    if abs(value - figures.duty_share) > 2e-3:
        return None  # at an end of its range: always, or never
    return Working(
        "s",
        f"share of the time {item.id} is heated",
        value,
        "",
        "(Φ - Φ_g) / Φ_on",
        (lost, gain, heat),
        source="heat balance over many cycles",
    )


def temperature(view: View, item: Item) -> Working | None:
    """Temperature of a room that nothing holds, from what comes in and what is lost."""
    figures = view.role(item.id, RoomFigures)
    per_degree = _loss_per_degree(view, item)
    gain = view.prop("Φ_g", f"gain of {item.id}", item.id, "gain")
    if per_degree is None or gain is None or float(per_degree.value) <= 0.0:
        return None
    o = outdoor(view)
    heat = view.solved("Φ_on", "heat brought while its circuits run", item.id, "heat_w")
    s = view.solved("s", "share of the time they run", item.id, "duty_share")
    value = float(o.value) + (float(s.value) * float(heat.value) + float(gain.value)) / float(
        per_degree.value
    )
    held = 0.0 < figures.duty_share < 1.0
    return Working(
        "T_r",
        f"temperature of {item.id}",
        value,
        "temperature",
        "T_o + (s * Φ_on + Φ_g) / H",
        (o, s, heat, gain, per_degree),
        how="held by its stat: the share of the time is what makes it so" if held else "nothing holds it",
        source="steady heat balance of a room",
    )
