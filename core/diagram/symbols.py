"""Where an item's symbol lies on the board: its box, its ports, which way they look."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING, NamedTuple

from core.diagram.drawing import Part, fitted, of_heat, of_size
from core.diagram.geometry import Box, Point, box_of, hull
from core.plant.heating import heats_by_electricity
from core.vocabulary import Trait

if TYPE_CHECKING:
    from core.plant.model import Item

__all__ = ["Box", "Part", "Shape", "box", "outward", "place", "port_place", "shape"]


class Shape(NamedTuple):
    """A symbol about its own origin, before mirroring and turning."""

    box: Box
    body: Box  # without the stubs
    ports: dict[str, Point]
    outward: dict[str, Point]
    parts: tuple[Part, ...]


def shape(item: Item) -> Shape:
    """The symbol of `item` in its own units: strokes, box, ports and the way each port looks."""
    heights: tuple[tuple[str, float], ...] = ()
    if item.has(Trait.TANK):
        heights = _tap_shares(item)
    return _shape(item.kind, tuple(item.ports), heights, heats_by_electricity(item))


def place(item: Item, point: Point) -> Point:
    """A point of the symbol, on the board: mirrored first, then turned clockwise, then moved to `at`."""
    x, y = turned(item, point)
    return item.at[0] + x, item.at[1] + y


def turned(item: Item, point: Point) -> Point:
    """A direction or point of the symbol, mirrored and turned but not moved."""
    return _turned(point, item.turn, item.flip)


def _turned(point: Point, turn: int, flip: bool) -> Point:
    x, y = point
    if flip:
        x = -x
    for _ in range(int(turn) // 90 % 4):
        x, y = -y, x
    return x + 0.0, y + 0.0


def same_place(old: Item | None, new: Item) -> bool:
    """Whether a symbol looks the same and lies where it lay."""
    if old is new:
        return True
    looks = old is not None and shape(old) is shape(new)
    return looks and old is not None and (old.at, old.turn, old.flip) == (new.at, new.turn, new.flip)


def port_place(item: Item, port: str) -> Point:
    """Where a port lies on the board; a port the drawing does not have lies at the symbol's middle."""
    return place(item, shape(item).ports.get(port, (0.0, 0.0)))


def outward(item: Item, port: str) -> Point:
    """The way a pipe leaves a port, as a unit step; (0, 0) where any way is good (a joint)."""
    return turned(item, shape(item).outward.get(port, (0.0, 0.0)))


def box(item: Item) -> Box:
    """The symbol's box on the board, stubs and letters within."""
    return _on_board(shape(item).box, item.at, item.turn, item.flip)


def body_box(item: Item) -> Box:
    """The symbol's box on the board without the stubs of its ports."""
    return _on_board(shape(item).body, item.at, item.turn, item.flip)


@lru_cache(maxsize=20000)
def _on_board(area: Box, at: Point, turn: int, flip: bool) -> Box:
    corners = [_turned(corner, turn, flip) for corner in ((area.x0, area.y0), (area.x1, area.y1))]
    return box_of([(at[0] + x, at[1] + y) for x, y in corners])


@lru_cache(maxsize=2000)
def _shape(
    kind: str, ports: tuple[str, ...], heights: tuple[tuple[str, float], ...], electric: bool
) -> Shape:
    drawn = fitted(kind, ports, heights)
    parts = of_size(of_heat(drawn.parts, electric), small=False)
    body = hull([box_of(part.points) for part in parts if not part.port])
    whole = hull([box_of(part.points) for part in parts])
    ways: dict[str, Point] = {}
    for part in parts:
        if part.port:
            (ax, ay), (bx, by) = part.points[0], part.points[-1]
            ways[part.port] = (_sign(bx - ax), _sign(by - ay))
    for name, (x, y) in drawn.ports.items():
        if name not in ways:
            ways[name] = (0.0, 0.0) if (x, y) == (0, 0) else (_sign(x), 0.0)
    return Shape(whole, body, dict(drawn.ports), ways, parts)


def _sign(value: float) -> float:
    return float((value > 0) - (value < 0))


def _tap_shares(item: Item) -> tuple[tuple[str, float], ...]:
    """Heights of a tank's taps as shares of its own height, as far as they are given."""
    taps: dict[str, float] = dict(item.si.get("taps") or {})
    tall = item.si.get("tall") or max(taps.values(), default=0.0) or 1.0
    coil = item.si.get("coil_heights") or {}
    return tuple(sorted((name, min(max(h / tall, 0.0), 1.0)) for name, h in {**taps, **coil}.items()))
