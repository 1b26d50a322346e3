"""Points, boxes and segments in board units (y down); knows nothing of plants."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Iterator
from itertools import pairwise
from typing import NamedTuple

Point = tuple[float, float]
Polyline = tuple[Point, ...]
Segment = tuple[Point, Point]


class Box(NamedTuple):
    """An upright rectangle, `x0 <= x1` and `y0 <= y1`, in board units."""

    x0: float
    y0: float
    x1: float
    y1: float

    @property
    def width(self) -> float:
        return self.x1 - self.x0

    @property
    def height(self) -> float:
        return self.y1 - self.y0

    @property
    def centre(self) -> Point:
        return (self.x0 + self.x1) / 2, (self.y0 + self.y1) / 2

    def grown(self, by: float) -> Box:
        return Box(self.x0 - by, self.y0 - by, self.x1 + by, self.y1 + by)

    def moved(self, dx: float, dy: float) -> Box:
        return Box(self.x0 + dx, self.y0 + dy, self.x1 + dx, self.y1 + dy)

    def overlaps(self, other: Box) -> bool:
        """Whether the insides meet; boxes that only share an edge do not overlap."""
        return self.x0 < other.x1 and other.x0 < self.x1 and self.y0 < other.y1 and other.y0 < self.y1

    def holds(self, other: Box) -> bool:
        return self.x0 <= other.x0 and self.y0 <= other.y0 and self.x1 >= other.x1 and self.y1 >= other.y1

    def gap(self, other: Box) -> float:
        """How far apart two boxes are; 0 where they meet."""
        across = max(self.x0 - other.x1, other.x0 - self.x1, 0.0)
        down = max(self.y0 - other.y1, other.y0 - self.y1, 0.0)
        return math.hypot(across, down)

    def has(self, point: Point) -> bool:
        return self.x0 <= point[0] <= self.x1 and self.y0 <= point[1] <= self.y1


def hull(boxes: list[Box]) -> Box:
    """The smallest box round all of `boxes`; an empty list gives a box of no size at the origin."""
    if not boxes:
        return Box(0.0, 0.0, 0.0, 0.0)
    return Box(
        min(b.x0 for b in boxes), min(b.y0 for b in boxes), max(b.x1 for b in boxes), max(b.y1 for b in boxes)
    )


def box_of(points: Polyline | list[Point]) -> Box:
    """The smallest box round some points."""
    if len(points) == 2:  # asked thousands of times a drawing, for single runs
        (ax, ay), (bx, by) = points
        return Box(ax if ax < bx else bx, ay if ay < by else by, bx if ax < bx else ax, by if ay < by else ay)
    return Box(
        min(p[0] for p in points),
        min(p[1] for p in points),
        max(p[0] for p in points),
        max(p[1] for p in points),
    )


def segments(points: Polyline) -> list[Segment]:
    """Straight pieces of a line, those without length left out."""
    return [(a, b) for a, b in pairwise(points) if a != b]


def length(segment: Segment) -> float:
    """Length of an upright or level segment."""
    (ax, ay), (bx, by) = segment
    return abs(bx - ax) + abs(by - ay)


def level(segment: Segment) -> bool:
    """Whether the segment runs left-right."""
    return segment[0][1] == segment[1][1]


def tidy(points: Polyline | list[Point]) -> Polyline:
    """The same line without repeated points and without bends that do not bend."""
    out: list[Point] = []
    for point in points:
        if out and point == out[-1]:
            continue
        while len(out) > 1 and _between(out[-2], out[-1], point):
            out.pop()
        out.append(point)
    return tuple(out)


def _between(a: Point, b: Point, c: Point) -> bool:
    """Whether b lies on the straight run from a to c."""
    if a[0] == b[0] == c[0]:
        return (b[1] - a[1]) * (c[1] - b[1]) >= 0
    if a[1] == b[1] == c[1]:
        return (b[0] - a[0]) * (c[0] - b[0]) >= 0
    return False


class Field:
    """Boxes in a coarse grid of cells, so that asking what is near a place does not look at everything."""

    CELL = 80.0
    FAR = 400 * CELL  # longer boxes, lines as a rule, are kept by the row or column they lie in

    def __init__(self) -> None:
        self._cells: dict[tuple[int, int], list[tuple[Box, str]]] = {}
        self._rows: dict[int, list[tuple[Box, str]]] = {}
        self._columns: dict[int, list[tuple[Box, str]]] = {}

    def _keys(self, box: Box) -> list[tuple[int, int]]:
        left, right = int(box.x0 // self.CELL), int(box.x1 // self.CELL)
        top, bottom = int(box.y0 // self.CELL), int(box.y1 // self.CELL)
        if left == right and top == bottom:
            return [(left, top)]
        return [(i, j) for i in range(left, right + 1) for j in range(top, bottom + 1)]

    def add(self, box: Box, owner: str = "") -> None:
        x0, y0, x1, y1 = box
        if x1 - x0 > self.FAR or y1 - y0 > self.FAR:
            for shelf in self._shelves(box):
                shelf.append((box, owner))
            return
        cell, cells, entry = self.CELL, self._cells, (box, owner)  # a thousand times a picture: the short way
        top, bottom = int(y0 // cell), int(y1 // cell)
        for i in range(int(x0 // cell), int(x1 // cell) + 1):
            for j in range(top, bottom + 1):
                if (i, j) in cells:
                    cells[i, j].append(entry)
                else:
                    cells[i, j] = [entry]

    def remove(self, box: Box, owner: str = "") -> None:
        """Take away what was added with the same box and owner."""
        for shelf in self._shelves(box):
            shelf.remove((box, owner))

    def _shelves(self, box: Box) -> Iterator[list[tuple[Box, str]]]:
        """The lists that hold boxes like this one."""
        if box.width > self.FAR:
            for row in self._span(box.y0, box.y1):
                yield self._rows.setdefault(row, [])
        elif box.height > self.FAR:
            for column in self._span(box.x0, box.x1):
                yield self._columns.setdefault(column, [])
        else:
            for key in self._keys(box):
                yield self._cells.setdefault(key, [])

    def free(self, box: Box, owner: str = "\0") -> bool:
        """Whether `box` overlaps nothing but what belongs to `owner`."""
        return self.free_but(box, (owner,))

    def free_but(self, box: Box, owners: Collection[str]) -> bool:
        """Whether `box` overlaps nothing but what belongs to one of the owners."""
        x0, y0, x1, y1 = box
        cell = self.CELL  # this is asked tens of thousands of times a picture, so it takes the short way
        left, top = int(x0 // cell), int(y0 // cell)
        one = x1 // cell == left and y1 // cell == top
        for key in ((left, top),) if one else self._near(box):
            for (a0, b0, a1, b1), whose in self._cells.get(key, ()):
                if a0 < x1 and x0 < a1 and b0 < y1 and y0 < b1 and whose not in owners:
                    return False
        if not self._rows and not self._columns:
            return True
        return not any(far.overlaps(box) and whose not in owners for far, whose in self._long(box))

    def hits(self, box: Box) -> set[tuple[Box, str]]:
        """The boxes that overlap `box`, with their owners."""
        found = {entry for entry in self._long(box) if entry[0].overlaps(box)}
        for key in self._near(box):
            for entry in self._cells.get(key, ()):
                if entry[0].overlaps(box):
                    found.add(entry)
        return found

    def _near(self, box: Box) -> Iterable[tuple[int, int]]:
        """Cells that a box may touch: its own, or all there are where it is very long."""
        return list(self._cells) if max(box.width, box.height) > self.FAR else self._keys(box)

    def _long(self, box: Box) -> Iterator[tuple[Box, str]]:
        """Very long boxes in the rows and columns that a box touches."""
        for span, kept in (((box.y0, box.y1), self._rows), ((box.x0, box.x1), self._columns)):
            if kept:
                for line in kept if span[1] - span[0] > self.FAR else self._span(*span):
                    yield from kept.get(line, ())

    def _span(self, low: float, high: float) -> range:
        return range(int(low // self.CELL), int(min(high, low + 10 * self.FAR) // self.CELL) + 1)
