"""Work on many graphics put between the frames: a few milliseconds at a time, or when the hand has rested.

From 40 pipes an edit lays only the lines that it touches; those of the plant alone come at rest, after the
figures (`scene.figures_stand`, then `scene.up_to_date`). From 400 pipes a hand on its way moves simple
lines; those with all care come once it has rested 80 ms. Words reach the graphics in slices between frames
(`scene.up_to_date` waits for them).
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable

from PySide6.QtCore import QObject, QTimer

SLICE = 0.003
"""Seconds that a frame can spare."""
PART = 50
"""Things taken at once."""


def after(parent: QObject, milliseconds: int, do: Callable[[], object]) -> QTimer:
    """A timer that does something once, so long after its last start."""
    timer = QTimer(parent)
    timer.setSingleShot(True)
    timer.setInterval(milliseconds)
    timer.timeout.connect(do)
    return timer


class TimeSliced:
    """Does the same for each of many names, a part of them between any two events."""

    def __init__(self, parent: QObject, do: Callable[[set[str]], object]) -> None:
        self._do = do
        self._left: list[str] = []
        self._next = QTimer(parent)
        self._next.setInterval(0)
        self._next.timeout.connect(self._go_on)

    @property
    def busy(self) -> bool:
        return bool(self._left)

    def begin(self, names: Iterable[str]) -> None:
        """Take these, and forget those that are left from before."""
        self._left = list(names)[::-1]
        self._next.start()

    def finish(self) -> None:
        """Do at once what is left."""
        left, self._left = self._left, []
        self._next.stop()
        if left:
            self._do(set(left))

    def _go_on(self) -> None:
        end = time.perf_counter() + SLICE
        while self._left and time.perf_counter() < end:
            part = set(self._left[-PART:])
            del self._left[-PART:]
            self._do(part)
        if not self._left:
            self._next.stop()
