"""Boxes that must stay free of text, and a quick first answer to whether a place is taken."""

from __future__ import annotations

from collections.abc import Collection
from math import ceil, floor

from core.diagram.geometry import Box, Field

CELL = 1.5  # so small that the thinnest line covers a whole cell [u]
LARGEST = 6000.0  # of a wider drawing only the upper left part is kept in cells [u]


class Occupancy(Field):
    """A field that also keeps, as one number a row, which small cells of an area are covered wholly.

    Of tens of thousands of places tried for texts nearly all are taken, and that shows in a few of these
    numbers already; only the others are looked up box by box.
    """

    def __init__(self, area: Box) -> None:
        super().__init__()
        self._left, self._top = area.x0, area.y0
        self._right = min(area.x1, area.x0 + LARGEST)
        self._bottom = min(area.y1, area.y0 + LARGEST)
        self._covered = [0] * max(0, floor((self._bottom - self._top) / CELL))

    def add(self, box: Box, owner: str = "") -> None:
        super().add(box, owner)
        left = ceil((max(box.x0, self._left) - self._left) / CELL)
        right = floor((min(box.x1, self._right) - self._left) / CELL)
        if right <= left:
            return
        bits = ((1 << (right - left)) - 1) << left
        top = ceil((max(box.y0, self._top) - self._top) / CELL)
        bottom = floor((min(box.y1, self._bottom) - self._top) / CELL)
        for row in range(top, min(bottom, len(self._covered))):
            self._covered[row] |= bits

    def free(self, box: Box, owner: str = "\0") -> bool:
        if owner == "\0" and self._surely_taken(box):
            return False
        return super().free(box, owner)

    def _surely_taken(self, box: Box) -> bool:
        x0, y0, x1, y1 = box
        if x0 < self._left or y0 < self._top or x1 > self._right or y1 > self._bottom:
            return False
        left = int((x0 - self._left) / CELL)
        bits = ((1 << (int((x1 - self._left) / CELL) + 1 - left)) - 1) << left
        top, bottom = int((y0 - self._top) / CELL), int((y1 - self._top) / CELL)
        for covered in self._covered[top : bottom + 1]:  # noqa: SIM110  half the time of any()
            if covered & bits:
                return True
        return False


class Overlay(Field):
    """A field laid over another one, which is asked too but stays as it is."""

    def __init__(self, below: Field) -> None:
        super().__init__()
        self._below = below

    def free_but(self, box: Box, owners: Collection[str]) -> bool:
        return self._below.free_but(box, owners) and super().free_but(box, owners)
