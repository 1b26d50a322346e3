"""One writer a plant file: a small lock beside it names the process that has it.

Where the folder cannot be written, the lock lies in the user's state folder and holds among their windows.

Names process, machine, user and beginning. One of this machine counts as left when its process is gone; one
of another machine never does by itself.
"""

from __future__ import annotations

import contextlib
import json
import os
from dataclasses import dataclass
from pathlib import Path

from core.files.holder import Holder, myself, read_holder
from core.files.places import places_of

ENDING = ".lock"


@dataclass(frozen=True)
class Lock:
    """A lock that this process took; `place` None where none could be written at all."""

    place: Path | None
    holder: Holder

    def release(self) -> None:
        """Give it back, unless somebody else has taken it over meanwhile."""
        if self.place is not None and _read(self.place) == self.holder:
            with contextlib.suppress(OSError):
                self.place.unlink()


def take(file: Path, state: Path, over: Holder | None = None) -> Lock | Holder:
    """The lock of a plant file, or who has it.

    The lock of a process that has ended is taken over, and so is that of the holder `over`, whom the user
    has been asked about.
    """
    me = myself()
    for place in places_of(file, ENDING, state):
        holder = _read(place)
        if holder is not None and not holder.gone and holder != over:
            return holder
    for place in places_of(file, ENDING, state):
        try:
            if place.parent == state:
                state.mkdir(parents=True, exist_ok=True)
            taken = _write(place, me, over)
        except OSError:
            continue
        return Lock(place, me) if taken is None else taken
    return Lock(None, me)


def holder_of(file: Path, state: Path) -> Holder | None:
    """Who has a plant file open, if anybody who still runs."""
    for place in places_of(file, ENDING, state):
        holder = _read(place)
        if holder is not None and not holder.gone:
            return holder
    return None


def _write(place: Path, me: Holder, over: Holder | None) -> Holder | None:
    """Put a lock where none is, or where an old one is; the holder where somebody was quicker."""
    fresh = place.with_name(f"{place.name}-{me.pid}")
    fresh.write_text(json.dumps(me.data()) + "\n", encoding="utf-8")
    try:
        for _ in range(3):
            try:
                os.link(fresh, place)  # fails where one is there: two processes cannot both succeed
                return None
            except FileExistsError:
                pass
            holder = _read(place)
            if holder is not None and not holder.gone and holder != over:
                return holder
            with contextlib.suppress(FileNotFoundError):
                place.unlink()
        return _read(place)
    except OSError:
        # A disk without links: the last to write wins, which is still one.
        os.replace(fresh, place)
        return None
    finally:
        with contextlib.suppress(OSError):
            fresh.unlink()


def _read(place: Path) -> Holder | None:
    try:
        data = json.loads(place.read_text(encoding="utf-8"))
        return read_holder(data) if isinstance(data, dict) else None
    except (OSError, ValueError):
        return None
