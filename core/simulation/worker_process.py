"""Runs in time made in a process of its own beside the window: questions in, progress and the record out.

Both are pickles between this program and itself. A newer question ends the run of the one before it; one
without a plant does only that.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, BinaryIO

from core.calls import worker_loop
from core.errors import WetsideError
from core.plant.model import Plant

TELL_EVERY = 0.15  # [s]


@dataclass(frozen=True)
class Question:
    """Which run is wanted: its name in the plant, hours, and the folder its weather lies in."""

    ticket: int
    plant: Plant | None = None
    run: str = ""
    hours: float | None = None
    folder: str = ""


@dataclass(frozen=True)
class Answer:
    """What ("share" done, "record", "refused") and its load."""

    ticket: int
    what: str
    load: Any = None


def answers(asked: Question, keep_on: Callable[[], bool]) -> Iterator[Answer]:
    """How far the run is, now and then, and in the end its record."""
    if asked.plant is None:
        return
    from core.simulation.engine import Simulation
    from core.simulation.record import recorded
    from core.simulation.runs import chosen_run
    from core.simulation.summary import summary_of

    try:
        sim = Simulation(chosen_run(asked.plant, asked.run, asked.hours, Path(asked.folder)))
        recorder, times = recorded(sim)
        told = time.monotonic()
        for t in times:
            if not keep_on():
                return
            if time.monotonic() - told > TELL_EVERY:
                told = time.monotonic()
                yield Answer(asked.ticket, "share", t / sim.end)
        yield Answer(asked.ticket, "record", recorder.record(summary_of(sim.observer)))
    except WetsideError as refusal:
        yield Answer(asked.ticket, "refused", str(refusal))


def serve(source: BinaryIO, sink: BinaryIO) -> None:
    """Answer questions until the source ends."""

    def failed(asked: Question, said: str) -> Answer:
        return Answer(asked.ticket, "refused", f"The run failed in a way it did not foresee ({said}).")

    worker_loop.serve(source, sink, lambda: answers, failed)
