"""Rows of a run's CSV: every figure of `solve --json` at both ends of each stretch and every 10 min."""

from __future__ import annotations

import csv
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from typing import TextIO

import numpy as np
import numpy.typing as npt

from core.figures import Figures, PipeFigures, TankFigures
from core.hydraulics.pressures import find_pressures
from core.simulation.course import Course, Stretch
from core.solve.report import figures_of
from core.solve.thermostat_results import ThermostatResults
from core.thermal.heat import ZERO

Array = npt.NDArray[np.float64]

Row = dict[str, float | bool]


class Trace:
    """Rows as they come; `write` puts them into a file."""

    def __init__(self, sim: Course) -> None:
        self.sim = sim
        self.rows: list[Row] = []

    def see(self, stretch: Stretch, z: Array, t: float) -> None:
        """One moment: `z` is the change of the states since the stretch began, 1, seconds since."""
        pipes, items = figures_at(self.sim, stretch, z)
        self.rows.append(row_of(t, pipes, items))

    def write(self, sink: TextIO) -> None:
        """All rows; a figure that is not there at a time is left empty."""
        columns = list(dict.fromkeys(name for row in self.rows for name in row))
        write_rows(columns, self.rows, sink)


def row_of(t: float, pipes: Mapping[str, Figures], items: Mapping[str, Figures]) -> Row:
    """The figures of a time by "ID.key"."""
    row: Row = {"time_s": t}
    for key, figures in (*pipes.items(), *items.items()):
        row |= {f"{key}.{name}": value for name, value in figures.as_data().items()}
    return row


def write_rows(columns: Sequence[str], rows: Iterable[Row], sink: TextIO) -> None:
    """Rows as CSV under the names of their columns."""
    writer = csv.writer(sink, lineterminator="\n")
    writer.writerow(columns)
    for row in rows:
        writer.writerow([_cell(row.get(name)) for name in columns])


def _cell(value: float | bool | None) -> str:
    if value is None or (isinstance(value, float) and not math.isfinite(value)):
        return ""
    if isinstance(value, bool):
        return str(int(value))
    return f"{value:.9g}"


def figures_at(sim: Course, stretch: Stretch, z: Array) -> tuple[dict[str, PipeFigures], dict[str, Figures]]:
    """Figures of pipes and items at a time within a stretch."""
    rows, s, n = stretch.rows, stretch.settled, stretch.rows.n
    x = stretch.x + z[:n]
    whole = np.concatenate([x, [1.0, z[n + 1]]])
    thermal = s.thermal.copy()
    thermal.t_in, thermal.t_out = rows.t_in @ whole, rows.t_out @ whole
    node = {**s.node, **{key: float(row @ whole) for key, row in rows.nodes.items()}}
    thermal.room |= {key: float(x[room.first]) for key, room in sim.layout.rooms.items()}
    sim.layout.prepare(s.setup, x)
    stats = {key: sim.places.felt(key, x) for key in sim.machine.stats}
    seen = replace(s, thermal=thermal, node=node, thermostats=ThermostatResults(felt=stats))
    for room in s.roles.rooms.values():
        if room.outdoor != room.wanted or room.loss > 1e-3:
            room.outdoor = sim.run.weather.at(sim.time)
    pressures = find_pressures(sim.solver.balancer, s.settings, s.balance, s.rho, s.mu, s.column)
    pipes, items = figures_of(seen, pressures)
    for key, vessel in sim.layout.vessels.items():  # in time a tank's temperature is its mean by volume
        found = items.get(key)
        if isinstance(found, TankFigures):
            items[key] = replace(found, temperature_c=vessel.mean(x) - ZERO)
    return pipes, items
