"""Letters for the stage of the work, beside items and in pipes; angles tell them from system letters.

A plant all drawn and nothing begun carries none.

Letters are E, R, D, B, F, J, T between angles; a plant all drawn carries none.
"""

from __future__ import annotations

from collections.abc import Sequence

from core.diagram.geometry import Point, Polyline, length, segments
from core.diagram.marks import Letter, along
from core.plant.model import Item, Pipe, Plant
from core.vocabulary.document import STAGES

LETTERS = {
    "existing": "E",
    "to_remove": "R",
    "drawn": "D",
    "bought": "B",
    "dry_fitted": "F",
    "joined": "J",
    "tested": "T",
}
WORDS = {
    "existing": "existing",
    "to_remove": "to be removed (left out of the sums)",
    "drawn": "drawn",
    "bought": "bought",
    "dry_fitted": "dry-fitted",
    "joined": "joined",
    "tested": "tested",
}
LEAST_RUN = 50.0
"""Board units: a shorter run has no room for a letter; hovering tells then."""


def used(plant: Plant) -> list[str]:
    """The stages there are, in the order of the work; none where all is only drawn."""
    found = {item.stage for item in plant.items.values()} | {pipe.stage for pipe in plant.pipes.values()}
    return [stage for stage in STAGES if stage in found] if found - {"drawn"} else []


def sign(thing: Item | Pipe) -> str:
    """The letter between angles."""
    return f"‹{LETTERS[thing.stage]}›"


def in_line(line: Polyline, pipe: Pipe, crossed: Sequence[Point], marks: Sequence[Letter]) -> list[Letter]:
    """The letter in a gap of the longest run, clear of hops and of the system's letter."""
    run = max(segments(line), key=length, default=None)
    if run is None or length(run) < LEAST_RUN:
        return []
    busy = [*crossed, *(mark.at for mark in marks)]
    room = 0.5 * (length(run) - LEAST_RUN + 16.0) / length(run)
    for share in (0.5, 0.35, 0.65, 0.8):
        at = along(run, share)
        if abs(share - 0.5) <= room and all(_apart(at, other) >= 26 for other in busy):
            return [Letter(at, sign(pipe))]
    return []


def _apart(a: Point, b: Point) -> float:
    return abs(a[0] - b[0]) + abs(a[1] - b[1])
