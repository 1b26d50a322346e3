"""Which signals ask for heat: the calls that a circuit may lose to, or be put before."""

from __future__ import annotations

from core.calls.combinations import calls_of
from core.plant.model import Plant
from core.vocabulary import Trait, signal_names


def asking(plant: Plant) -> tuple[str, ...]:
    """Ids of the calls that somebody may lose to: those of the call sheet, and the stats of tanks that run
    something and do not say that they are no call. In the order of the file."""
    named = {name for item in plant.items.values() for name in signal_names(item.si.get("run_when"))}
    found = set(calls_of(plant))
    for item in plant.with_trait(Trait.STAT):
        sensed = plant.items.get((item.si.get("senses") or ("",))[0])
        stores = sensed is not None and sensed.has(Trait.STORES_HEAT, Trait.HAS_COIL)
        if stores and item.id in named and item.si.get("call") is None:
            found.add(item.id)
    return tuple(key for key in plant.items if key in found)
