"""Whether a heater burns fuel or is heated by electricity."""

from __future__ import annotations

from core.plant.model import Item
from core.vocabulary import Trait

ENOUGH = 0.98  # share of a heater's output that its electric power must cover for it to need no fuel


def heats_by_electricity(item: Item) -> bool:
    """Whether a heater or boiler is electric: what it draws covers its full output, and no fuel is typed.

    Source: heat balance of the heater; a fan and controls draw a hundredth of a burner's output.
    """
    watts, full = item.si.get("watts"), item.si.get("capacity")
    if not isinstance(watts, (int, float)) or not isinstance(full, (int, float)) or full <= 0.0:
        return False
    if not item.has(Trait.FIRED) or item.si.get("fuel_input"):
        return False
    return float(watts) * float(item.si.get("efficiency") or 1.0) >= ENOUGH * float(full)
