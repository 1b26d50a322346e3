"""What brings somebody its heat in a solved case: its own way round, and the ways that heat that water."""

from __future__ import annotations

from core.plant.model import Plant
from core.questions.intake import NO_FLOW
from core.vocabulary import Trait
from core.water.numbers import reached
from core.water.stream import Stream

PASSES_HEAT = (Trait.EXCHANGES_HEAT, Trait.STORES_HEAT, Trait.PARTS_FLOWS, Trait.HAS_COIL)


def heat_way(plant: Plant, stream: Stream, at: str) -> list[str]:
    """Items and pipes on the ways round through a circuit, tank or tap, through what heats that water by
    exchangers, coils and the far side of separators, and so on; of a tap and a tank also what lies before it.

    Without itself, in the order of the file.
    """
    found: dict[str, None] = {}

    def onward(key: str) -> list[str]:
        near = [*stream.circuit(key), *before_of(plant, stream, key)]
        found.update(dict.fromkeys(near))
        return [other for other in near if other in plant.items and plant.items[other].has(*PASSES_HEAT)]

    reached([at], onward)
    return [key for key in (*plant.items, *plant.pipes) if key in found and key != at]


def before_of(plant: Plant, stream: Stream, key: str) -> list[str]:
    """What lies upstream of a tap or a tank."""
    if not plant.items[key].has(Trait.DRAWS_WATER, Trait.TANK):
        return []
    return [
        place
        for start in stream.graph.places_of[key]
        for ref in stream.upstream(start)
        for place in (ref.item, *plant.pipes_at.get(ref, ()))
        if place in plant.items or abs(stream.flows.get(place, 0.0)) > NO_FLOW
    ]
