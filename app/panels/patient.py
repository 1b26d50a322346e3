"""Long work in the background that gives way to what is wanted sooner, and begins again once nothing is."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, NamedTuple

from PySide6.QtCore import QObject, Signal

from app.background import Background, Job

KeepOn = Callable[[], bool]
OnProgress = Callable[[int, int], None]
Work = Callable[[KeepOn, OnProgress], Any]
"""Asks between its steps whether to keep on; raises core.solve.Dropped where it shall not."""


class _Done(NamedTuple):
    number: int
    of: int


class Patient(QObject):
    """One question at a time, in a lane of its own."""

    came = Signal(object)
    failed = Signal(object)
    progressed = Signal(int, int)

    def __init__(self, background: Background, lane: str, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._background, self._lane = background, lane
        self._work: Work | None = None
        self._ticket = 0
        self._again = False
        background.done.connect(self._take)
        background.failed.connect(self._fail)
        background.idle.connect(self._once_idle)

    @property
    def working(self) -> bool:
        """Whether an answer is awaited."""
        return self._work is not None

    def ask(self, work: Work) -> None:
        """Ask; a question before it is forgotten."""
        self._work, self._again = work, False
        self._begin()

    def forget(self) -> None:
        """Give up what is asked."""
        if self._work is not None:
            self._work, self._again = None, False
            self._ticket = self._background.ask(self._lane, lambda _job: None)

    def _begin(self) -> None:
        work = self._work
        assert work is not None

        def run(job: Job) -> None:
            from core.solve import Dropped

            try:
                job.report(
                    (
                        work(
                            lambda: not (job.stale() or job.others_wait()),
                            lambda number, of: job.report(_Done(number, of)),
                        ),
                    )
                )
            except Dropped:
                if not job.stale():
                    job.report(None)

        self._ticket = self._background.ask(self._lane, run)

    def _take(self, lane: str, ticket: int, result: object) -> None:
        if lane != self._lane or ticket != self._ticket or self._work is None:
            return
        if result is None:
            self._again = True  # asked at once, it would in turn keep others from their work
        elif isinstance(result, _Done):
            self.progressed.emit(result.number, result.of)
        elif isinstance(result, tuple):
            self._work = None
            self.came.emit(result[0])

    def _fail(self, lane: str, ticket: int, error: object) -> None:
        if lane == self._lane and ticket == self._ticket and self._work is not None:
            self._work = None
            self.failed.emit(error)

    def _once_idle(self) -> None:
        if self._again and self._work is not None:
            self._again = False
            self._begin()
