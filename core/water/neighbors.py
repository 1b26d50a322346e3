"""What stands beside an item along its pipes: for words such as "between H-1 and V-4"."""

from __future__ import annotations

from collections.abc import Iterable

from core.plant.model import Item, Pipe, Plant, PortRef
from core.vocabulary import Trait

PASSED = (Trait.JOINS, Trait.SHOWS_PRESSURE, Trait.SHOWS_TEMPERATURE, Trait.RELIEVES, Trait.VENTS)


def pipes_of(plant: Plant, item: Item, ports: Iterable[str] | None = None) -> list[Pipe]:
    """Pipes that end at an item, at all its ports or at some."""
    wanted = item.ports if ports is None else ports
    return [plant.pipes[name] for port in wanted for name in plant.pipes_at.get(PortRef(item.id, port), ())]


def next_part(plant: Plant, item: Item, ports: Iterable[str] | None = None) -> str:
    """The nearest part beyond an item's ports that is more than a joint or a gauge; empty without."""
    seen, edge = {item.id}, [(item.id, pipe) for pipe in pipes_of(plant, item, ports)]
    while edge:
        at, along = edge.pop(0)
        there = along.end.item if along.start.item == at else along.start.item
        if there in seen or there not in plant.items:
            continue
        seen.add(there)
        found = plant.items[there]
        if not found.has(*PASSED):
            return there
        edge += [(there, each) for each in pipes_of(plant, found) if each.id != along.id]
    return ""
