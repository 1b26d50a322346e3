"""What belongs together on a drawing: all that is connected, all of a system, all of a kind."""

from __future__ import annotations

from collections.abc import Collection

from core.plant.model import Plant


def connected(plant: Plant, ids: Collection[str]) -> frozenset[str]:
    """Everything one comes to from some items and pipes along pipes, those themselves included."""
    at: dict[str, list[str]] = {}
    for pipe in plant.pipes.values():
        for end in (pipe.start, pipe.end):
            at.setdefault(end.item, []).append(pipe.id)
    found: set[str] = set()
    next_ones = [name for name in ids if name in plant.items or name in plant.pipes]
    while next_ones:
        name = next_ones.pop()
        if name in found:
            continue
        found.add(name)
        if name in plant.pipes:
            pipe = plant.pipes[name]
            next_ones += [pipe.start.item, pipe.end.item]
        else:
            next_ones += at.get(name, [])
    return frozenset(found)


def systems_of(plant: Plant, ids: Collection[str]) -> frozenset[str]:
    """Systems of the named pipes, and of the pipes on the named items."""
    return frozenset(
        pipe.system
        for pipe in plant.pipes.values()
        if pipe.id in ids or pipe.start.item in ids or pipe.end.item in ids
    )


def of_systems(plant: Plant, systems: Collection[str]) -> frozenset[str]:
    """All pipes of some systems, and the items they end at."""
    pipes = [pipe for pipe in plant.pipes.values() if pipe.system in systems]
    return frozenset(name for pipe in pipes for name in (pipe.id, pipe.start.item, pipe.end.item))


def alike(plant: Plant, ids: Collection[str]) -> frozenset[str]:
    """All items of the kinds named among `ids`; with a pipe among them all pipes too."""
    kinds = {plant.items[name].kind for name in ids if name in plant.items}
    items = {name for name, item in plant.items.items() if item.kind in kinds}
    pipes = set(plant.pipes) if any(name in plant.pipes for name in ids) else set()
    return frozenset(items | pipes)
