"""Which pipes are on the same water, and which of them a new one should be like. Looks, changes nothing."""

from __future__ import annotations

from core.plant.model import Item, Pipe, Plant, PortRef
from core.vocabulary import joined_ports


def like_at(plant: Plant, ref: PortRef) -> Pipe | None:
    """A pipe to be like at a port: the next one with a tube, beyond parts joined face to face if need be."""
    first = pipe = neighbour(plant, ref)
    seen: set[str] = set()
    while pipe is not None and not pipe.tube and pipe.id not in seen:
        seen.add(pipe.id)
        here = pipe.start if pipe.end.item == ref.item else pipe.end
        item = plant.items[here.item]
        names = (
            name for port in _wet(item, here.port) for name in plant.pipes_at.get(PortRef(item.id, port), ())
        )
        ref, pipe = here, next((plant.pipes[name] for name in names if name not in seen), None)
    return pipe if pipe is not None and pipe.tube else first


def neighbour(plant: Plant, ref: PortRef) -> Pipe | None:
    """A pipe on the same body of water as a port, at the same item, if possible one with a tube."""
    item = plant.items[ref.item]
    ports = (ref.port, *_wet(item, ref.port))
    names = [name for port in ports for name in plant.pipes_at.get(PortRef(item.id, port), ())]
    pipes = [plant.pipes[name] for name in names]
    return next((pipe for pipe in pipes if pipe.tube), pipes[0] if pipes else None)


def on_one_water(plant: Plant, name: str) -> list[str]:
    """The pipes of the body of water that a pipe belongs to, itself included, in the order of the file."""
    seen: set[PortRef] = set()
    wet = [plant.pipes[name].start, plant.pipes[name].end]
    found = {name}
    while wet:
        ref = wet.pop()
        if ref in seen:
            continue
        seen.add(ref)
        wet += [PortRef(ref.item, port) for port in _wet(plant.items[ref.item], ref.port)]
        for pipe in plant.pipes_at.get(ref, ()):
            found.add(pipe)
            wet += [plant.pipes[pipe].start, plant.pipes[pipe].end]
    return [pipe for pipe in plant.pipes if pipe in found]


def _wet(item: Item, port: str) -> tuple[str, ...]:
    """Ports of an item that hold the same water as one of them."""
    groups = joined_ports(item.kind, item.props)
    return next((tuple(group) for group in groups if port in group), (port,))
