"""Where marks of findings lie beside items and pipes: on nothing else, and without moving any text."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from core.diagram.geometry import Box, Field, Point, Polyline, box_of, length, segments

RADIUS = 9.0  # [u]
AWAY = (14.0, 18.0, 24.0, 32.0, 44.0)  # [u] from what is marked to the middle of its mark


def spots(
    wanted: Mapping[str, Box], taken: Sequence[Box], lines: Sequence[Polyline], radius: float = RADIUS
) -> dict[str, Point]:
    """A place for each mark: below what it belongs to first, then round it, nearest first.

    Parameters
    ----------
    wanted : mapping
        Box of the item, or of the longest run of the pipe, by id
    taken : sequence of Box
        Symbols and texts
    lines : sequence of Polyline
        Routes of pipes; a mark lies on one only where there is no other place
    radius : float
        Of a mark, [u]
    """
    busy = Field()
    for box in taken:
        busy.add(box)
    crossed = Field()
    for line in lines:
        for run in segments(line):
            crossed.add(box_of(run).grown(1.5))
    found: dict[str, Point] = {}
    for name, box in wanted.items():
        tries = _tries(box, radius - RADIUS)
        second: Point | None = None
        for at in tries:
            room = _round(at, radius)
            if not busy.free(room):
                continue
            if crossed.free(room):
                break
            second = second or at
        else:
            at = second or tries[0]
        found[name] = at
        busy.add(_round(at, radius))
    return found


def _round(at: Point, radius: float) -> Box:
    return Box(at[0], at[1], at[0], at[1]).grown(radius + 1.0)


def _tries(box: Box, more: float) -> list[Point]:
    """Places round a box, ring by ring: below, above, right, left, then the corners."""
    x, y = box.centre
    out: list[Point] = []
    for away in (one + more for one in AWAY):
        low, high, left, right = box.y1 + away, box.y0 - away, box.x0 - away, box.x1 + away
        out += [(x, low), (x, high), (right, y), (left, y)]
        out += [(right, low), (left, low), (right, high), (left, high)]
        out += [(x + 20, low), (x - 20, low), (x + 20, high), (x - 20, high)]
    return out


def word_spots(
    wanted: Mapping[str, tuple[Polyline, float]], taken: Sequence[Box], high: float
) -> dict[str, Point]:
    """Where a word beside a line begins, at its baseline; absent where there is no room.

    Parameters
    ----------
    wanted : mapping
        Line and width of the word, by id; the longest run is tried along its length, on both sides
    taken : sequence of Box
        Symbols, texts and marks
    high : float
        Height of the word, [u]
    """
    busy = Field()
    for box in taken:
        busy.add(box)
    found: dict[str, Point] = {}
    for name, (line, wide) in wanted.items():
        runs = segments(line)
        if not runs:
            continue
        (ax, ay), (bx, by) = max(runs, key=length)
        for share in (0.5, 0.3, 0.7, 0.15, 0.85):
            x, y = ax + share * (bx - ax), ay + share * (by - ay)
            if ay == by:
                sides = ((x - wide / 2, y - 6.0), (x - wide / 2, y + 6.0 + high))
            else:
                sides = ((x + 7.0, y + high / 2), (x - 7.0 - wide, y + high / 2))
            boxes = [(at, Box(at[0], at[1] - high, at[0] + wide, at[1])) for at in sides]
            free = next(((at, box) for at, box in boxes if busy.free(box)), None)
            if free is not None:
                found[name] = free[0]
                busy.add(free[1])
                break
    return found
