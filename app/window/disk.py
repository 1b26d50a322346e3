"""The plant's file on the disk: who may write it, and whether somebody else has."""

from __future__ import annotations

import os
import time
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, QTimer, Signal

from core.files.places import Stamp, stamp_of

if TYPE_CHECKING:
    from core.files.holder import Holder
    from core.files.lock import Lock

LOOK_EVERY = 2000
"""Milliseconds between two looks at the file while the window is in front."""


NEVER = "never told"


class Disk(QObject):
    """One plant file of one window.

    Parameters
    ----------
    state : Path or None
        Where locks are kept
    may_look : callable
        Whether now is a time to look at the file
    parent : QObject
    """

    changed = Signal(object, object)
    """By others, once for each change: the file, and its stamp or None where it is gone."""

    def __init__(self, state: Path | None, may_look: Callable[[], bool], parent: QObject) -> None:
        super().__init__(parent)
        self._state, self._may_look = state, may_look
        self._lock: Lock | None = None
        self._locked = ""
        self._file: Path | None = None
        self._known: Stamp | None = None
        self._mark = ""
        self._told: Stamp | str | None = NEVER
        self._timer = QTimer(self)
        self._timer.setInterval(LOOK_EVERY)
        self._timer.timeout.connect(self.look)

    @property
    def known(self) -> Stamp | None:
        """What the file was when it was last read or written here."""
        return self._known

    def follow(self, file: Path | None, known: Stamp | None) -> None:
        """Watch a file that was just read or written."""
        self._file, self._known, self._told = file, known, NEVER
        self._mark = _mark_of(file) if file is not None and known is not None else ""
        if file is None:
            self._timer.stop()
        else:
            self._timer.start()

    def accept(self, stamp: Stamp | None) -> None:
        """What others wrote may be written over."""
        self._known = stamp

    def look(self) -> None:
        """See whether somebody else has written the file; the same content again is no change."""
        if self._file is None or not self._may_look():
            return
        there = stamp_of(self._file)
        if there in (self._known, self._told):
            return
        if there is not None and _mark_of(self._file) == self._mark:
            self._known = there
            return
        self._told = there
        self.changed.emit(self._file, there)

    # ---- the lock -----------------------------------------------------------------------

    def take(self, file: Path, over: Holder | None = None) -> Holder | None:
        """The right to write a file, in place of the one held; or who has it."""
        real = os.path.realpath(file)
        if self._state is None or (self._lock is not None and self._locked == real):
            return None
        from core.files import lock

        answer = lock.take(file, self._state, over)
        if not isinstance(answer, lock.Lock):
            return answer
        self.release()
        self._lock, self._locked = answer, real
        return None

    def holder_of(self, file: Path) -> Holder | None:
        """Who else has a file open."""
        if self._state is None:
            return None
        from core.files import lock

        holder = lock.holder_of(file, self._state)
        return None if self._lock is not None and holder == self._lock.holder else holder

    def release(self) -> None:
        if self._lock is not None:
            self._lock.release()
            self._lock = None


def clock(at: float) -> str:
    """A time as one says it: today's by the clock, an earlier one with its day."""
    then, now = time.localtime(at), time.localtime()
    same_day = (then.tm_year, then.tm_yday) == (now.tm_year, now.tm_yday)
    return time.strftime("%H:%M" if same_day else "%H:%M on %Y-%m-%d", then)


def _mark_of(file: Path) -> str:
    import hashlib

    try:
        return hashlib.sha256(file.read_bytes()).hexdigest()
    except OSError:
        return ""
