"""Work off the window's thread: one thread, and in each lane only the newest job counts.

Knows nothing of plants. A job is called with a `Job` handle: it reports results (as many as it likes), and
asks now and then whether a newer job has made it stale.

Work in the background stands back while the board is painted (`Background.first`).
"""

from __future__ import annotations

import sys
import threading
from collections import OrderedDict
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import partial
from typing import Any, NamedTuple

from PySide6.QtCore import QObject, Signal

from core.errors import WetsideError

TURN = 0.0005
"""Seconds until background work lets the window's thread go on."""
COURTESY = 0.05
"""Seconds that it stands back at most, for what must be quick."""


class Job(NamedTuple):
    """What running work may ask and tell."""

    lane: str
    ticket: int
    report: Callable[[Any], None]
    stale: Callable[[], bool]
    others_wait: Callable[[], bool]
    """Whether work of another lane is asked for: who only tidies up had better give way."""


Work = Callable[[Job], None]


class Background(QObject):
    """Latest-wins runner.

    Signals arrive on the thread that made the runner, in the order of the reports. Results of a job that a
    newer one of its lane has overtaken are thrown away here, so a receiver never sees an old answer after a
    new question.
    """

    done = Signal(str, int, object)
    """lane, ticket, result"""
    failed = Signal(str, int, object)
    """lane, ticket, the exception"""
    idle = Signal()
    stopping = Signal()
    """The window goes: who has work elsewhere shall end it."""
    _came = Signal(str, str, int, object)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        # Painting goes back and forth between Qt and Python for each symbol; at Python's own pace each of
        # these would wait 5 ms for work in the background.
        sys.setswitchinterval(min(sys.getswitchinterval(), TURN))
        self._wake = threading.Condition()
        self._waiting: OrderedDict[str, tuple[int, Work]] = OrderedDict()
        self._newest: dict[str, int] = {}
        self._running: str | None = None
        self._stopped = False
        self._free = threading.Event()
        self._free.set()
        self._thread: threading.Thread | None = None
        self._came.connect(self._arrive)

    def ask(self, lane: str, work: Work) -> int:
        """Put a job in its lane, over whatever waits there; returns its ticket."""
        with self._wake:
            ticket = self._newest.get(lane, 0) + 1
            self._newest[lane] = ticket
            if self._stopped:
                return ticket
            self._waiting[lane] = (ticket, work)
            if self._thread is None:
                # Daemon, so that a crash of the window never leaves a process behind; `stop` joins it.
                self._thread = threading.Thread(target=self._run, name="wetside-background", daemon=True)
                self._thread.start()
            self._wake.notify()
            return ticket

    @contextmanager
    def first(self) -> Iterator[None]:
        """Meanwhile work in the background stands back from its next look on: for what must be quick."""
        self._free.clear()
        try:
            yield
        finally:
            self._free.set()

    def newest(self, lane: str) -> int:
        return self._newest.get(lane, 0)

    @property
    def busy(self) -> bool:
        with self._wake:
            return bool(self._waiting) or self._running is not None

    def stop(self, patience: float = 30.0) -> None:
        """Drop what waits, let the running job end at its next look, and join the thread."""
        self.stopping.emit()
        with self._wake:
            self._stopped = True
            self._waiting.clear()
            self._wake.notify()
        if self._thread is not None:
            self._thread.join(patience)
            self._thread = None

    def _run(self) -> None:
        while True:
            with self._wake:
                self._running = None
                if not self._waiting and not self._stopped:
                    self._tell("idle", "", 0, None)
                while not self._waiting and not self._stopped:
                    self._wake.wait()
                if self._stopped:
                    return
                lane, (ticket, work) = self._waiting.popitem(last=False)
                self._running = lane
            self._perform(lane, ticket, work)

    def _perform(self, lane: str, ticket: int, work: Work) -> None:
        def stale() -> bool:
            self._free.wait(COURTESY)
            return self._stopped or self._newest.get(lane) != ticket

        try:
            report = partial(self._tell, "done", lane, ticket)
            work(Job(lane, ticket, report, stale, lambda: bool(self._waiting)))
        except WetsideError as refusal:
            self._tell("failed", lane, ticket, refusal)
        except Exception as broken:  # the window must live on, and say so
            self._tell("failed", lane, ticket, broken)

    def _tell(self, what: str, lane: str, ticket: int, load: Any) -> None:
        if not self._stopped:
            self._came.emit(what, lane, ticket, load)

    def _arrive(self, what: str, lane: str, ticket: int, load: Any) -> None:
        if self._stopped:
            return
        if what == "idle":
            if not self.busy:
                self.idle.emit()
        elif self._newest.get(lane) == ticket:
            (self.done if what == "done" else self.failed).emit(lane, ticket, load)
