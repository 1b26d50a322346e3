"""Words the board and the gestures share: a place, where the mouse is, what lies under it."""

from __future__ import annotations

from typing import Literal, NamedTuple

Place = tuple[float, float]
"""Board units, y down."""

GRID = 10.0

Button = Literal["left", "right", "none"]


class Pointer(NamedTuple):
    """Where the mouse is, and what is held down with it."""

    place: Place
    shift: bool = False
    control: bool = False
    alt: bool = False
    button: Button = "none"
    clicks: int = 1


class Hit(NamedTuple):
    """The topmost thing at a place: a port before an item before a text before a pipe."""

    what: Literal["port", "item", "text", "pipe"]
    id: str
    place: Place
    port: str = ""
    share: float = 0.0
    """How far along a pipe's line, from its start, 0 to 1."""
    way: Place = (1.0, 0.0)
    """Which way a pipe's line runs there, as a unit step."""


def snapped(place: Place) -> Place:
    """The grid point nearest to a place."""
    return round(place[0] / GRID) * GRID, round(place[1] / GRID) * GRID
