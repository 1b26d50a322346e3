"""Room for one more symbol in a line: where it can sit, and what moves aside for it. Places, nothing painted.

What lies past a cut moves as one, as if the sheet were cut there and pulled apart: straight lines stay
straight, and nothing comes to lie on anything.

A symbol put into a run too short for it pulls apart what lies beyond, rightward or down first, so that 10
units of pipe show on both sides.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import ceil
from typing import NamedTuple

from core.diagram import symbols
from core.diagram.geometry import Point, Polyline, length, level, segments
from core.plant import texts
from core.plant.changes import Change, ReplaceItem, ReplacePipe
from core.plant.model import Plant

GRID = 10.0
STUB = 10.0
"""Least of a pipe that is left to see before each port [u]."""


class Seat(NamedTuple):
    """The middle of a symbol in a line, and what has to move first."""

    at: Point
    moves: list[Change]


def pulled_apart(plant: Plant, axis: int, cut: float, by: float) -> list[Change]:
    """Everything at or past a cut across an axis (0: level) moves along it; before it for a `by` below 0."""

    def moved(place: Sequence[float]) -> Point:
        x, y = float(place[0]), float(place[1])
        past = place[axis] >= cut if by > 0 else place[axis] <= cut
        return (x + by * past, y) if axis == 0 else (x, y + by * past)

    items = [replace(item, at=moved(item.at)) for item in plant.items.values()]
    pipes = [replace(pipe, via=tuple(moved(bend) for bend in pipe.via)) for pipe in plant.pipes.values()]
    past = [number for number, text in enumerate(plant.texts) if moved(text["at"]) != tuple(text["at"])]
    step = (by, 0.0) if axis == 0 else (0.0, by)
    return [
        *(ReplaceItem(item) for item in items if item.at != plant.items[item.id].at),
        *(ReplacePipe(pipe) for pipe in pipes if pipe.via != plant.pipes[pipe.id].via),
        *texts.move(plant, past, *step),
    ]


def seat(plant: Plant, pipe: str, line: Polyline, place: Point, long: float) -> Seat:
    """Where in a pipe's line a symbol so long can sit near a place of it.

    It slides along its run until something of the pipe is left on both sides. In a run too short for it what
    lies beyond moves away, rightward or down first.
    """
    runs = segments(line)
    if not runs:
        return Seat(_on_grid(place), [])
    number = min(range(len(runs)), key=lambda one: _away(runs[one], place))
    run = runs[number]
    axis = 0 if level(run) else 1
    low, high = sorted((run[0][axis], run[1][axis]))
    lacking = ceil((long + 2 * STUB - length(run)) / GRID) * GRID
    moves: list[Change] = []
    if lacking > 0:
        ends = [plant.items[ref.item].at[axis] for ref in (plant.pipes[pipe].start, plant.pipes[pipe].end)]
        upward = run[0][axis] <= run[1][axis]
        before, after = ends if upward else ends[::-1]
        if after >= high:
            moves, high = pulled_apart(plant, axis, high, lacking), high + lacking
        elif before <= low:
            moves, low = pulled_apart(plant, axis, low, -lacking), low - lacking
    least, most = low + STUB + long / 2, high - STUB - long / 2
    along = min(max(place[axis], least), most) if least <= most else (low + high) / 2
    along = round(along / GRID) * GRID
    return Seat((along, run[0][1]) if axis == 0 else (run[0][0], along), moves)


def ahead(plant: Plant, name: str, way: Point) -> float:
    """How far from an item's middle the next symbol begins that way, within its own lane."""
    item = plant.items[name]
    axis = 0 if way[0] else 1
    lane = symbols.body_box(item)
    sides = (lane.y0, lane.y1) if axis == 0 else (lane.x0, lane.x1)
    far = 1e6  # none: further than any sheet
    for other in plant.items.values():
        box = symbols.box(other)
        across = (box.y0, box.y1) if axis == 0 else (box.x0, box.x1)
        if other.id == name or across[1] <= sides[0] or across[0] >= sides[1]:
            continue
        along = (box.x0, box.x1) if axis == 0 else (box.y0, box.y1)
        edge = along[0] - item.at[axis] if way[axis] > 0 else item.at[axis] - along[1]
        if edge > 0:
            far = min(far, edge)
    return far


def _away(run: tuple[Point, Point], place: Point) -> float:
    (ax, ay), (bx, by) = run
    x, y = min(max(place[0], min(ax, bx)), max(ax, bx)), min(max(place[1], min(ay, by)), max(ay, by))
    return abs(x - place[0]) + abs(y - place[1])


def _on_grid(place: Point) -> Point:
    return round(place[0] / GRID) * GRID, round(place[1] / GRID) * GRID
