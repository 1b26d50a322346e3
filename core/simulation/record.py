"""All of a run that a picture of it needs: every figure over time, and each moment as a solution."""

from __future__ import annotations

import pickle
import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, TextIO

import numpy as np
import numpy.typing as npt

from core.simulation.clock_words import clock_words
from core.simulation.course import Course, Stretch
from core.simulation.engine import Simulation
from core.simulation.trace import Row, figures_at, row_of, write_rows
from core.solve.solution import Note, Solution

Array = npt.NDArray[np.float64]

MOMENT = "Moment in time"  # stands where the name of a case does
MOST_MOMENTS = 6000  # kept at a time; of a longer run every second one goes, and again


@dataclass(frozen=True)
class Record:
    """A run that is over.

    Attributes
    ----------
    name, case : str
    starts : float
        Time 0, counted from Monday 00:00, [s]
    times : ndarray, shape (n moments,)
        Since time 0, [s]; two at each event, before and after it
    columns : dict
        By "ID.key": values with the keys and units of `solve --json`, nan where there is none
    switches : dict
        By id: whether it is on, of signals, pumps and sources
    thinned : int
        Of how many moments one was kept
    summary : dict
        What `summary_of` gives
    """

    name: str
    case: str
    starts: float
    times: Array
    columns: dict[str, Array]
    flags: frozenset[str]
    switches: dict[str, npt.NDArray[np.bool_]]
    frames: tuple[bytes, ...]
    thinned: int
    summary: dict[str, Any]

    def at(self, t: float) -> int:
        """The moment that holds at a time: the last one not after it."""
        return max(0, int(np.searchsorted(self.times, t + 1e-6, "right")) - 1)

    def words(self, t: float) -> str:
        """Day and time of day of a moment."""
        return clock_words(self.starts + t)

    def moment(self, number: int) -> Solution:
        """The figures of a moment."""
        pipes, items, signals = pickle.loads(zlib.decompress(self.frames[number]))
        at = self.words(float(self.times[number]))
        said = f"Figures of {at} in the run {self.name}. Notes and dangers are told of steady cases only."
        return Solution(MOMENT, signals, pipes=pipes, items=items, notes=(Note("", said),))

    def write(self, sink: TextIO) -> None:
        """Every figure over time, as `wetside simulate --csv` writes it."""
        write_rows(["time_s", *self.columns], self._rows(), sink)

    def _rows(self) -> Iterator[Row]:
        for number, t in enumerate(self.times.tolist()):
            row: Row = {"time_s": t}
            for name, values in self.columns.items():
                value = float(values[number])
                row[name] = bool(value) if name in self.flags and value == value else value
            yield row


class Recorder:
    """Keeps a run's moments as they come: `sim.observer.trace = Recorder(sim).see`."""

    def __init__(self, sim: Course) -> None:
        self.sim = sim
        self._rows: list[Row] = []
        self._on: list[dict[str, bool]] = []
        self._frames: list[bytes] = []
        self._every, self._count = 1, 0

    def see(self, stretch: Stretch, z: Array, t: float) -> None:
        """One moment, as `Trace.see` takes it."""
        self._count += 1
        if (self._count - 1) % self._every:
            return
        pipes, items = figures_at(self.sim, stretch, z)
        signals = dict(self.sim.machine.states.on)
        switches = {key: bool(items[key].value("running")) for key in items if _runs(items[key])}
        self._rows.append(row_of(t, pipes, items))
        self._on.append({**signals, **switches})
        self._frames.append(zlib.compress(pickle.dumps((pipes, items, signals), -1), 1))
        if len(self._rows) > MOST_MOMENTS:
            self._every *= 2
            self._rows, self._on, self._frames = self._rows[::2], self._on[::2], self._frames[::2]

    def record(self, summary: dict[str, Any]) -> Record:
        """All that was kept, with what came of the run."""
        run, rows = self.sim.run, self._rows
        names = dict.fromkeys(name for row in rows for name in row if name != "time_s")
        columns = {name: np.array([row.get(name, np.nan) for row in rows], float) for name in names}
        flags = frozenset(name for row in rows for name, value in row.items() if isinstance(value, bool))
        ids = dict.fromkeys(key for states in self._on for key in states)
        switches = {key: np.array([states.get(key, False) for states in self._on], bool) for key in ids}
        times = np.array([row["time_s"] for row in rows], float)
        frames = tuple(self._frames)
        return Record(
            run.name, run.case.name, run.weather.starts, times, columns, flags, switches, frames,
            self._every, summary,
        )  # fmt: skip


def _runs(figures: Any) -> bool:
    return isinstance(figures.value("running"), bool)


def recorded(sim: Simulation) -> tuple[Recorder, Iterator[float]]:
    """A recorder, and the times that the run comes to, until it is over."""
    recorder = Recorder(sim)
    sim.observer.trace = recorder.see
    return recorder, sim.times()
