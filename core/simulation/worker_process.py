"""Runs in time made in a process of its own beside the window: questions in, progress and the record out.

Both are pickles between this program and itself. A newer question ends the run of the one before it; one
without a plant does only that.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, BinaryIO

from core.calls import worker_loop
from core.errors import WetsideError
from core.plant.model import Plant

TELL_EVERY = 0.15  # [s]


@dataclass(frozen=True)
class Question:
    """Which run is wanted: its name in the plant, hours, and the folder its weather lies in.

    `what` is "run", "year" (hours are not asked) or "sweep": `vary` then says what, as `read_varied` does,
    and `made` which runs are made already, by number.
    """

    ticket: int
    plant: Plant | None = None
    run: str = ""
    hours: float | None = None
    folder: str = ""
    what: str = "run"
    vary: tuple[str, ...] = ()
    made: Mapping[int, dict[str, Any]] = field(default_factory=dict)


@dataclass(frozen=True)
class Answer:
    """What ("share" done, "record", "year", "sweep", "refused") and its load.

    Of a sweep the answer as far as it is made, and the runs made, by number; every run that is made brings
    one.
    """

    ticket: int
    what: str
    load: Any = None


def answers(asked: Question, keep_on: Callable[[], bool]) -> Iterator[Answer]:
    """How far it is, now and then, and in the end what came of it."""
    if asked.plant is None:
        return
    told = 0.0
    ways = {"run": _run, "year": _year, "sweep": _sweep}
    try:
        for what, load in ways[asked.what](asked, asked.plant):
            if not keep_on():
                return
            if what == "share":
                if time.monotonic() - told < TELL_EVERY:
                    continue
                told = time.monotonic()
            yield Answer(asked.ticket, what, load)
    except WetsideError as refusal:
        yield Answer(asked.ticket, "refused", str(refusal))


def _run(asked: Question, plant: Plant) -> Iterator[tuple[str, Any]]:
    from core.simulation.engine import Simulation
    from core.simulation.record import recorded
    from core.simulation.runs import chosen_run
    from core.simulation.summary import summary_of

    sim = Simulation(chosen_run(plant, asked.run, asked.hours, Path(asked.folder)))
    recorder, times = recorded(sim)
    for t in times:
        yield "share", t / sim.end
    yield "record", recorder.record(summary_of(sim.observer))


def _year(asked: Question, plant: Plant) -> Iterator[tuple[str, Any]]:
    from core.simulation.runs import chosen_run
    from core.simulation.year import TWELFTHS, year_steps

    for found in year_steps(chosen_run(plant, asked.run, None, Path(asked.folder))):
        yield ("share", found / TWELFTHS) if isinstance(found, int) else ("year", found)


def _sweep(asked: Question, plant: Plant) -> Iterator[tuple[str, Any]]:
    from core.simulation.sweep import Sweep, read_varied

    varied = [read_varied(plant, text) for text in asked.vary]
    sweep = Sweep(plant, varied, asked.run, asked.hours, Path(asked.folder))
    sweep.made |= asked.made
    before = -1
    for made in sweep.steps():
        yield "share", made / len(sweep.values)
        if made != before:
            before = made
            yield "sweep", (sweep.answer(), dict(sweep.made))
    yield "sweep", (sweep.answer(), dict(sweep.made))


def serve(source: BinaryIO, sink: BinaryIO) -> None:
    """Answer questions until the source ends."""

    def failed(asked: Question, said: str) -> Answer:
        return Answer(asked.ticket, "refused", f"The run failed in a way it did not foresee ({said}).")

    worker_loop.serve(source, sink, lambda: answers, failed)
