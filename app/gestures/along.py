"""Going along a drawing by keys: from an item to the pipe that leaves it that way, and on to its end."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TypeVar

from app.board.pointer import Place
from core.diagram.geometry import Polyline
from core.diagram.symbols import port_place
from core.plant.model import Plant, PortRef

_Key = TypeVar("_Key")


def step(plant: Plant, lines: Mapping[str, Polyline], name: str, way: Place) -> str | None:
    """What one comes to from an item or pipe by a step that way; None where nothing lies there."""
    if name in plant.pipes and name in lines:
        line, pipe = lines[name], plant.pipes[name]
        start, end = line[0], line[-1]
        forward = (end[0] - start[0]) * way[0] + (end[1] - start[1]) * way[1]
        if not forward:  # a line that runs across the way: its nearer bend decides
            first = line[1] if len(line) > 1 else end
            forward = -((first[0] - start[0]) * way[0] + (first[1] - start[1]) * way[1])
        return pipe.end.item if forward > 0 else pipe.start.item if forward < 0 else None
    if name not in plant.items:
        return None
    leaving: dict[str, float] = {}
    item = plant.items[name]
    for port in item.ports:
        for pipe_id in plant.pipes_at.get(PortRef(name, port), ()):
            line = lines.get(pipe_id, ())
            if len(line) > 1:
                here = port_place(item, port)
                first = line[1] if line[0] == here else line[-2]
                dx, dy = first[0] - here[0], first[1] - here[1]
                far = abs(dx) + abs(dy) or 1.0
                leaving[pipe_id] = (dx * way[0] + dy * way[1]) / far
    best = max(leaving, key=lambda one: leaving[one], default=None)  # of equal ones that of the first port
    if best is not None and leaving[best] > 0.5:
        return best
    return nearest({other: its.at for other, its in plant.items.items() if other != name}, item.at, way)


def nearest(places: Mapping[_Key, Place], start: Place, way: Place) -> _Key | None:
    """Of some places the one that lies that way, near the straight line first."""
    scored = dict(_scores(places, start, way))
    return min(scored, key=lambda key: (scored[key], str(key)), default=None)


def _scores(places: Mapping[_Key, Place], start: Place, way: Place) -> Iterable[tuple[_Key, float]]:
    for key, (x, y) in places.items():
        dx, dy = x - start[0], y - start[1]
        along = dx * way[0] + dy * way[1]
        across = abs(dx * way[1]) + abs(dy * way[0])
        if along > 0 and across <= 2 * along:
            yield key, along + 2 * across
