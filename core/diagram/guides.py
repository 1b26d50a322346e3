"""When something is being moved: which of its ports stand in line with ports of other items, and how near.

Only ports that look along the same line count: a pipe between them would be straight.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Collection, Iterable
from typing import NamedTuple

from core.diagram import symbols
from core.diagram.geometry import Point, Segment, length
from core.plant.model import Item, Plant

PULL = 7.0
"""Board units from which a port is drawn into line with another; a grid step alone draws from five."""
REACH = 700.0
"""Ports further away than this do not count."""
MOST = 4
"""Lines shown at once."""


class _Port(NamedTuple):
    at: Point
    axis: int  # 0: looks left or right, 1: up or down
    way: float  # -1 or 1 along that axis, 0: both ways

    def faces(self, other: Point) -> bool:
        """Whether a place in line lies before it and not too far away."""
        off = other[self.axis] - self.at[self.axis]
        return 0 < abs(off) < REACH and off * self.way >= 0


class Guides:
    """The ports of all items that stay, in rows and columns; made once a gesture."""

    def __init__(self, plant: Plant, moving: Collection[str]) -> None:
        self._lines: tuple[dict[float, list[_Port]], dict[float, list[_Port]]] = ({}, {})
        for name, ports in _all_ports(plant).items():
            if name not in moving:
                for port in ports:
                    self._lines[port.axis].setdefault(port.at[1 - port.axis], []).append(port)
        self._values = (sorted(self._lines[0]), sorted(self._lines[1]))

    def pulled(self, items: Iterable[Item], by: Point) -> Point:
        """A step so changed that ports near a line with others come to lie on it; else on the grid of ten."""
        out = [round(by[0] / 10.0) * 10.0, round(by[1] / 10.0) * 10.0]
        best = [PULL, PULL]
        for item in items:
            for port in _ports(item):
                across = 1 - port.axis  # a port that looks left or right lines up in height
                here = port._replace(at=(port.at[0] + by[0], port.at[1] + by[1]))
                value = self._nearest(port.axis, here.at[across])
                if value is None or abs(value - here.at[across]) >= best[across]:
                    continue
                if any(_face(here, other) for other in self._lines[port.axis][value]):
                    best[across] = abs(value - here.at[across])
                    out[across] = value - port.at[across]
        return out[0], out[1]

    def _nearest(self, axis: int, value: float) -> float | None:
        known = self._values[axis]
        place = bisect_left(known, value)
        near = known[max(place - 1, 0) : place + 1]
        return min(near, key=lambda one: abs(one - value), default=None)

    def lines(self, items: Iterable[Item]) -> list[Segment]:
        """From each port of these items to the nearest other port in line with it, shortest first."""
        found: set[Segment] = set()
        for item in items:
            for port in _ports(item):
                others = self._lines[port.axis].get(port.at[1 - port.axis], ())
                faced = [other.at for other in others if _face(port, other)]
                if faced:
                    near = min(faced, key=lambda at, port=port: length((at, port.at)))  # type: ignore[misc]
                    found.add((min(near, port.at), max(near, port.at)))
        return sorted(found, key=lambda line: (length(line), line))[:MOST]


def _face(one: _Port, other: _Port) -> bool:
    return one.faces(other.at) and other.faces(one.at)


def _ports(item: Item) -> list[_Port]:
    """The ports with the way they look; a joint looks every way."""
    out: list[_Port] = []
    for name in item.ports:
        at, (dx, dy) = symbols.port_place(item, name), symbols.outward(item, name)
        if dx or not dy:
            out.append(_Port(at, 0, dx))
        if dy or not dx:
            out.append(_Port(at, 1, dy))
    return out


_last: dict[str, tuple[Item, list[_Port]]] = {}
"""Of the plant last asked about, by its items: from one gesture to the next few of them change."""


def prepare(plant: Plant) -> None:
    """Look where all ports are, so that the next gesture begins without delay; from any thread."""
    _all_ports(plant)


def _all_ports(plant: Plant) -> dict[str, list[_Port]]:
    global _last
    known, fresh = _last, {}
    for name, item in plant.items.items():
        entry = known.get(name)
        fresh[name] = entry if entry is not None and entry[0] is item else (item, _ports(item))
    _last = fresh
    return {name: ports for name, (_, ports) in fresh.items()}
