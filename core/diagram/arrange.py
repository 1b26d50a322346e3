"""Putting items in order: aligned, spread evenly, turned and mirrored as one. Changes, nothing painted.

Places stay on the grid, so that what was joined in a straight line can be again.
"""

from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import replace
from typing import Literal

from core.diagram import symbols
from core.diagram.geometry import Box, Point
from core.plant.changes import Change, ReplaceItem, ReplacePipe, SetPlant
from core.plant.model import Item, Plant

GRID = 10.0
Side = Literal["left", "centre", "right", "top", "middle", "bottom"]
SIDES: tuple[Side, ...] = ("left", "centre", "right", "top", "middle", "bottom")


def align(plant: Plant, ids: Collection[str], side: Side) -> list[Change]:
    """Items with their edges on one line, or with their origins: then their ports can meet straight."""
    items = _items(plant, ids)
    if len(items) < 2:
        return []
    if side in ("centre", "middle"):
        axis = 0 if side == "centre" else 1
        places = sorted(item.at[axis] for item in items)
        line = _on_grid((places[0] + places[-1]) / 2)
        return [_shifted(item, axis, line - item.at[axis]) for item in items]
    axis = 0 if side in ("left", "right") else 1
    low = side in ("left", "top")
    edges = [_edge(symbols.body_box(item), axis, low) for item in items]
    line = min(edges) if low else max(edges)
    return [_shifted(item, axis, line - edge) for item, edge in zip(items, edges, strict=True)]


def distribute(plant: Plant, ids: Collection[str], across: bool) -> list[Change]:
    """Items at even steps between the first and the last, left to right or top to bottom."""
    axis = 0 if across else 1
    items = sorted(_items(plant, ids), key=lambda item: (item.at[axis], item.at[1 - axis], item.id))
    if len(items) < 3:
        return []
    first, last = items[0].at[axis], items[-1].at[axis]
    step = (last - first) / (len(items) - 1)
    return [
        _shifted(item, axis, first + _on_grid(step * number) - item.at[axis])
        for number, item in enumerate(items)
        if 0 < number < len(items) - 1
    ]


def turned(plant: Plant, ids: Collection[str], texts: Collection[int] = ()) -> list[Change]:
    """Items as one group a quarter turned, clockwise; bends of the pipes between them go along.

    Texts move with the items and stay level; alone they have nothing to turn.
    """
    if not _items(plant, ids):
        return []
    centre = _pivot(plant, ids)

    def move(at: Point) -> Point:
        return centre[0] - (at[1] - centre[1]), centre[1] + (at[0] - centre[0])

    return _mapped(
        plant, ids, texts, move, lambda item: replace(item, at=move(item.at), turn=(item.turn + 90) % 360)
    )


def mirrored(plant: Plant, ids: Collection[str], texts: Collection[int] = ()) -> list[Change]:
    """Items as one group mirrored left to right."""
    xs = [item.at[0] for item in _items(plant, ids)]
    if not xs:
        return []
    twice = min(xs) + max(xs)

    def move(at: Point) -> Point:
        return twice - at[0], at[1]

    return _mapped(
        plant,
        ids,
        texts,
        move,
        lambda item: replace(item, at=move(item.at), flip=not item.flip, turn=-item.turn % 360),
    )


def _mapped(
    plant: Plant,
    ids: Collection[str],
    texts: Collection[int],
    move: Callable[[Point], Point],
    change: Callable[[Item], Item],
) -> list[Change]:
    changes: list[Change] = [ReplaceItem(change(item)) for item in _items(plant, ids)]
    for pipe in plant.pipes.values():
        inside = pipe.start.item in ids and pipe.end.item in ids
        if pipe.via and inside:
            changes.append(ReplacePipe(replace(pipe, via=tuple(move(bend) for bend in pipe.via))))
    if texts:
        moved = [
            {**text, "at": list(move((text["at"][0], text["at"][1])))} if number in texts else text
            for number, text in enumerate(plant.texts)
        ]
        changes.append(SetPlant({"texts": tuple(moved)}))
    return changes


def _pivot(plant: Plant, ids: Collection[str]) -> Point:
    """The middle, where a quarter turn about it leaves all on the grid; else the item nearest to it.

    Chosen so that four quarter turns lead back to the start.
    """
    items = _items(plant, ids)
    xs, ys = [item.at[0] for item in items], [item.at[1] for item in items]
    x, y = (min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2
    if (x - y) % GRID == 0:
        return x, y
    nearest = min(items, key=lambda item: ((item.at[0] - x) ** 2 + (item.at[1] - y) ** 2, item.id))
    return nearest.at


def _items(plant: Plant, ids: Collection[str]) -> list[Item]:
    return [item for name, item in plant.items.items() if name in ids]


def _shifted(item: Item, axis: int, by: float) -> Change:
    by = _on_grid(by)
    x, y = item.at
    return ReplaceItem(replace(item, at=(x + by, y) if axis == 0 else (x, y + by)))


def _edge(box: Box, axis: int, low: bool) -> float:
    return (box.x0, box.y0)[axis] if low else (box.x1, box.y1)[axis]


def _on_grid(value: float) -> float:
    return round(value / GRID) * GRID
