"""Which system new pipes belong to: drinking water is known by mains, fixtures, and what goes with them."""

from __future__ import annotations

from core.plant.changes import Change
from core.plant.model import Plant, PortRef
from core.plant.similar import neighbour, on_one_water
from core.plant.systems import assign
from core.vocabulary import Trait

_KNOWN_BY = (Trait.BRINGS_WATER, Trait.DRAWS_WATER)
_NOT_IF = (Trait.MAKES_HEAT, Trait.GIVES_HEAT)


def system_for(plant: Plant, start: PortRef, end: PortRef) -> dict[str, str]:
    """System of a first pipe, where no pipe near it tells: potable at a main, closed at a boiler."""
    if neighbour(plant, start) or neighbour(plant, end):
        return {}
    traits = plant.items[start.item].kind_info.traits | plant.items[end.item].kind_info.traits
    use = ""
    if not traits.isdisjoint(_KNOWN_BY):
        use = "potable"
    elif Trait.CLOSED_CIRCUIT in traits:
        use = "closed"
    elif Trait.DRINKING_WATER in traits:
        use = "potable"
    fitting = next((name for name, system in plant.systems.items() if system.use == use), None)
    return {} if fitting is None else {"system": fitting}


def recognized(plant: Plant, pipe: str) -> list[Change]:
    """All pipes on one water with a pipe as drinking water, where a main or a fixture is on it.

    Nothing where one of these pipes was potable from the start and closed ones were joined to it with a
    source or an emitter: that is a cross-connection, for the review to speak of.
    """
    potable = next((name for name, system in plant.systems.items() if system.use == "potable"), None)
    names = on_one_water(plant, pipe)
    if potable is None or all(plant.systems[plant.pipes[name].system].use == "potable" for name in names):
        return []
    if any(plant.systems[plant.pipes[name].system].fluid.get("kind", "water") != "water" for name in names):
        return []
    ends = [end for name in names for end in (plant.pipes[name].start, plant.pipes[name].end)]
    items = [plant.items[end.item] for end in ends]
    closed = [item for item in items if item.has(*_NOT_IF) and item.has(Trait.CLOSED_CIRCUIT)]
    if closed or not any(item.has(*_KNOWN_BY) for item in items):
        return []
    return assign(plant, pipe, potable)
