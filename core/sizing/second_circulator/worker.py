"""Curves and second circulators worked out in a process beside the window; questions and answers pickled.

A newer question ends the work on the one before it; the solved plant is kept while only the question changes.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import partial
from typing import Any, BinaryIO, Literal

from core.calls import worker_loop
from core.errors import WetsideError
from core.figures import PumpFigures
from core.hydraulics.circulators import flow_at_head
from core.plant.model import Plant
from core.sizing.curves.system import SystemCurve, spread, system_curve
from core.sizing.second_circulator.available import curve_of, named
from core.sizing.second_circulator.study import Bench, Study, study
from core.solve import Dropped
from core.vocabulary import Trait

Where = Literal["beside", "circuit", "all", "none"]


@dataclass(frozen=True)
class Question:
    """What is wanted of a circulator in a case.

    `where` says which places are to be tried: beside it, wherever `circuit` gains, or all; `curve` names
    another curve for the second one. `revision` tells plants apart.
    """

    ticket: int
    revision: int
    plant: Plant
    case: str
    pump: str
    where: Where = "beside"
    circuit: str = ""
    curve: str = ""


@dataclass(frozen=True)
class Answer:
    """A part of the answer: "system" (SystemCurve), "ghosts" and "study" (Study), "done", "refused" (str)."""

    ticket: int
    what: str
    load: Any = None


class Keeper:
    """The solved plant of the last question, and its system curves."""

    def __init__(self) -> None:
        self._key: tuple[int, str] | None = None
        self._bench: Bench | None = None
        self._curves: dict[str, SystemCurve] = {}

    def bench(self, asked: Question, keep_on: Callable[[], bool]) -> Bench:
        """The plant solved in the case; solved anew when either has changed."""
        key = (asked.revision, asked.case)
        if self._bench is None or key != self._key:
            cases = asked.plant.solve_cases
            case = next((case for case in cases if case.name == asked.case), cases[0])
            self._bench, self._key, self._curves = Bench(asked.plant, case, keep_on), key, {}
        self._bench.keep_on = keep_on
        self._bench.context.keep_on = keep_on
        return self._bench

    def system(self, bench: Bench, name: str) -> SystemCurve | None:
        """What the rest asks of a circulator; None where it rests or has no curve."""
        if name not in self._curves:
            found = system_seen(bench, name)
            if found is None:
                return None
            self._curves[name] = found
        return self._curves[name]


def system_seen(bench: Bench, name: str) -> SystemCurve | None:
    """The system curve over the flows worth drawing; None where the circulator rests or has no curve."""
    curve = curve_of(bench.plant.items[name])
    figures = bench.before.at(name, PumpFigures)
    if curve is None or figures is None or not figures.running:
        return None
    end = flow_at_head(curve, 0.0) or curve.x[-1]
    flow = abs(figures.flow_m3_s)
    flows = spread(min(1.3 * end, 2.4 * flow) if flow > 0.05 * end else 1.3 * end, flow)
    highest = 3.0 * max(curve.at(0.0), figures.head_m)
    return system_curve(bench.solver, bench.case, name, flows, bench.keep_on, highest)


def answers(keeper: Keeper, asked: Question, keep_on: Callable[[], bool]) -> Iterator[Answer]:
    """The parts as they are found, the quickest first; ends early where a newer question waits."""
    ticket = asked.ticket
    try:
        bench = keeper.bench(asked, keep_on)
        item = asked.plant.items.get(asked.pump)
        if item is not None and item.has(Trait.DRIVES):
            yield Answer(ticket, "system", keeper.system(bench, asked.pump))
        if asked.where != "none":
            yield from _places(bench, asked)
        yield Answer(ticket, "done")
    except Dropped:
        return
    except WetsideError as refusal:
        yield Answer(ticket, "refused", str(refusal))


def _places(bench: Bench, asked: Question) -> Iterator[Answer]:
    pump = named(bench.plant, asked.curve) if asked.curve else None
    beside = asked.pump if asked.where == "beside" else ""
    circuit = asked.circuit if asked.where == "circuit" else ""
    if asked.where != "beside" and asked.pump in bench.plant.items:  # the ghosts of the chart, first of all
        ghosts = study(bench.plant, beside=asked.pump, pump=pump, others=False, bench=bench)
        yield Answer(asked.ticket, "ghosts", light(ghosts))
    quick = study(bench.plant, pump=pump, others=False, bench=bench, beside=beside, circuit=circuit)
    yield Answer(asked.ticket, "study", light(quick))
    if pump is None:
        whole = study(bench.plant, bench=bench, ready=quick, beside=beside, circuit=circuit)
        yield Answer(asked.ticket, "study", light(whole))


def light(found: Study) -> Study:
    """A study without the solution it was read from, to be sent."""
    return replace(found, before=None)


def serve(source: BinaryIO, sink: BinaryIO) -> None:
    """Answer questions until the source ends."""

    def failed(asked: Question, said: str) -> Answer:
        return Answer(asked.ticket, "refused", f"The curves failed in a way nobody foresaw ({said}).")

    worker_loop.serve(source, sink, lambda: partial(answers, Keeper()), failed)


if __name__ == "__main__":
    # By its own name, not as __main__: what is pickled here is known by the module it came from.
    from core.sizing.second_circulator import worker

    worker.serve(sys.stdin.buffer, sys.stdout.buffer)
