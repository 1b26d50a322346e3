"""What of a run can be drawn over time, and the chart of what is chosen. No widgets."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Literal, NamedTuple

import numpy as np

from core import units
from core.diagram.timeline import Band, Bar, Course, TimeChart
from core.vocabulary.figures import PIPE_FIGURES

if TYPE_CHECKING:
    from core.plant.model import Plant
    from core.simulation.record import Record

ZERO = 273.15
ORDER = ("temperature", "flow", "power", "pressure", "velocity", "head")
TITLES = {"power": "heat"}
MOST_LINES, MOST_BANDS, MOST_BARS = 5, 3, 8
FIRST_LINES, FIRST_BARS, FIRST_STEADY = 4, 5, 3


class Drawable(NamedTuple):
    """A column of a run: "ID.key", what it is called, its dimension."""

    column: str
    words: str
    dimension: str


def drawables(plant: Plant, record: Record) -> list[Drawable]:
    """Every figure of a run that has a dimension, by dimension, items before pipes."""
    pipe = {figure.key: figure for figure in PIPE_FIGURES}
    found = []
    for column in record.columns:
        name, _, key = column.rpartition(".")
        item = plant.items.get(name)
        known = {figure.key: figure for figure in item.kind_info.figures} if item is not None else pipe
        if key in known and known[key].dimension in ORDER and (item is not None or name in plant.pipes):
            found.append(Drawable(column, f"{name} {known[key].title}", known[key].dimension))
    found.sort(key=lambda one: (ORDER.index(one.dimension), one.column.rpartition(".")[0] in plant.pipes))
    return found


def first_chosen(record: Record) -> tuple[list[str], list[str]]:
    """Columns and switches to begin with: tanks, rooms and sources, and what switches in the run."""
    data = record.summary
    heaters = [key for key, row in data["items"].items() if "coldest_return_c" in row]
    wanted = [*data["tanks"], *data["rooms"], *heaters, *data["fixtures"]]
    keys = ("temperature_c", "upper_temperature_c")
    columns = [f"{name}.{key}" for name in wanted for key in keys if f"{name}.{key}" in record.columns]
    changing = [key for key, on in record.switches.items() if bool(on.any()) and not bool(on.all())]
    steady = [key for key, on in record.switches.items() if bool(on.all())]
    return columns[:FIRST_LINES], changing[:FIRST_BARS] or steady[:FIRST_STEADY]


def shown(values: Sequence[float], dimension: str, system: Literal["us", "si"]) -> tuple[float, ...]:
    """Numbers of a column as they are read."""
    unit = units.unit_for(dimension, system)
    shift = ZERO if dimension == "temperature" else 0.0
    zero, one = (units.to_unit(x, unit) for x in (shift, shift + 1.0))
    return tuple((zero + (one - zero) * np.asarray(values)).tolist())


def chart_of(
    record: Record,
    known: Mapping[str, Drawable],
    columns: Sequence[str],
    switches: Sequence[str],
    span: tuple[float, float],
    system: Literal["us", "si"],
) -> TimeChart:
    """The chart of chosen columns, a band for each dimension, and of switches as bars."""
    times = tuple(record.times.tolist())
    bands = []
    for dimension in ORDER:
        chosen = [known[c] for c in columns if known[c].dimension == dimension]
        if chosen:
            unit = units.sign_of(units.unit_for(dimension, system))
            courses = tuple(
                Course(
                    _short(one, chosen), times, shown(record.columns[one.column].tolist(), dimension, system)
                )
                for one in chosen
            )
            bands.append(Band(f"{TITLES.get(dimension, dimension)}, {unit}", courses))
    bars = tuple(Bar(key, spans_of(record, key)) for key in switches)
    return TimeChart(tuple(bands), bars, span, record.starts)


def _short(one: Drawable, among: Sequence[Drawable]) -> str:
    """The id alone where it says which line this is."""
    name = one.column.rpartition(".")[0]
    alone = sum(other.column.rpartition(".")[0] == name for other in among) == 1
    return name if alone else one.words


def spans_of(record: Record, key: str) -> tuple[tuple[float, float], ...]:
    """When something was on, from and to, [s]."""
    found: list[tuple[float, float]] = []
    times, on = record.times.tolist(), record.switches[key].tolist()
    for k in range(len(times) - 1):
        if on[k] and times[k + 1] > times[k]:
            if found and found[-1][1] == times[k]:
                found[-1] = (found[-1][0], times[k + 1])
            else:
                found.append((times[k], times[k + 1]))
    return tuple(found)


def values_at(
    record: Record,
    known: Mapping[str, Drawable],
    columns: Sequence[str],
    switches: Sequence[str],
    t: float,
    system: Literal["us", "si"],
) -> str:
    """What the chosen lines say at a time, in words."""
    k = record.at(t)
    parts = [record.words(t)]
    for column in columns:
        value = float(record.columns[column][k])
        dimension = known[column].dimension
        shift = ZERO if dimension == "temperature" else 0.0
        words = units.show(value + shift, dimension, system) if value == value else "–"
        chosen = [known[c] for c in columns if known[c].dimension == dimension]
        parts.append(f"{_short(known[column], chosen)} {words}")
    on = [key for key in switches if record.switches[key][k]]
    parts.append(f"on: {', '.join(on)}" if on else "nothing on")
    return "   ".join(parts)
