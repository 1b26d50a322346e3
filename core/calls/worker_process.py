"""The call sheet made in a process of its own: questions on standard input, answers on standard output.

Both are pickles between this program and itself. A newer question ends the work on the one before it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import partial
from typing import Any, BinaryIO

from core.calls import worker_loop
from core.calls.incremental import IncrementalRows
from core.errors import WetsideError
from core.plant.model import Plant
from core.solve import Dropped


@dataclass(frozen=True)
class Question:
    """Which sheet is wanted: `base` names the case that gives the rest; `first` the combinations in sight."""

    ticket: int
    plant: Plant
    base: str
    first: tuple[str, ...] = ()
    wants: tuple[str, ...] = ()  # what else, after the rows: "fewer", "energy"
    circulator: str = ""  # whose circuit at part load is wanted too


@dataclass(frozen=True)
class Answer:
    """One part of it: what ("row", "done", "part", "energy", "fewer", "refused") and its load."""

    ticket: int
    what: str
    load: Any = None


def answers(keeper: IncrementalRows, asked: Question, keep_on: Callable[[], bool]) -> Iterator[Answer]:
    """Parts of a sheet as they are made; ends early where a newer question waits."""
    from core.calls.energy import yearly_energy
    from core.calls.one_unit_out import one_unit_out
    from core.calls.part_load import part_load

    plant, ticket = asked.plant, asked.ticket
    base = next((case for case in plant.solve_cases if case.name == asked.base), plant.solve_cases[0])
    try:
        for row in keeper.rows(plant, base, asked.first, keep_on):
            yield Answer(ticket, "row", row)
        yield Answer(ticket, "done")
        if asked.circulator in plant.items:
            yield Answer(ticket, "part", part_load(plant, asked.circulator, keep_on=keep_on))
        if "energy" in asked.wants:
            yield Answer(ticket, "energy", yearly_energy(plant, keep_on=keep_on))
        if "fewer" in asked.wants:
            yield Answer(ticket, "fewer", one_unit_out(plant, keep_on))
    except Dropped:
        return
    except WetsideError as refusal:
        yield Answer(ticket, "refused", str(refusal))


def serve(source: BinaryIO, sink: BinaryIO) -> None:
    """Answer questions until the source ends."""

    def failed(asked: Question, said: str) -> Answer:
        return Answer(asked.ticket, "refused", f"The call sheet failed in a way it did not foresee ({said}).")

    worker_loop.serve(source, sink, lambda: partial(answers, IncrementalRows()), failed)
