"""What a comparison says at one glance: for each circuit, tap, room, source and pump its chief figure, before
and after, short enough to stand beside it."""

from __future__ import annotations

from collections.abc import Iterable

from core import units
from core.plant.model import Plant
from core.questions.compare import Effect
from core.vocabulary import Trait

CHIEF = (
    (Trait.GIVES_HEAT, "delivered_w", "power"),
    (Trait.DRAWS_WATER, "temperature_c", "temperature"),
    (Trait.ROOM, "temperature_c", "temperature"),
    (Trait.MAKES_HEAT, "duty_w", "power"),
    (Trait.DRIVES, "flow_m3_s", "flow"),
)
LEAST = 0.01  # share of a figure below which nothing is said
LEAST_WARM = 0.3  # [K]
ZERO = 273.15


def pair(before: float, after: float, dimension: str, system: str) -> str:
    """Two figures in SI, and the unit once.

    Examples
    --------
    >>> pair(1000.0, 2000.0, "power", "si")
    '1.00 → 2.00 kW'
    """
    shown = [units.show(value, dimension, system) for value in (before, after)]
    number, _, unit = shown[0].rpartition(" ")
    return f"{number if shown[1].endswith(f' {unit}') else shown[0]} → {shown[1]}"


def headlines(plant: Plant, effects: Iterable[Effect]) -> dict[str, str]:
    """Words by id, of effects in one case; ids in neither plant's list are left out."""
    found: dict[str, str] = {}
    for effect in effects:
        item = plant.items.get(effect.at)
        if item is None or effect.before is None or effect.after is None:
            continue
        for trait, what, dimension in CHIEF:
            if effect.what == what and item.has(trait) and _matters(effect, dimension):
                warm = ZERO if dimension == "temperature" else 0.0
                found[effect.at] = pair(
                    float(effect.before) + warm, float(effect.after) + warm, dimension, plant.units
                )
    return found


def _matters(effect: Effect, dimension: str) -> bool:
    one, other = float(effect.before or 0.0), float(effect.after or 0.0)
    if dimension == "temperature":
        return abs(one - other) >= LEAST_WARM
    return abs(one - other) >= LEAST * max(abs(one), abs(other))
