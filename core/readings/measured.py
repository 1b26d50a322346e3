"""Readings of gauges, thermometers and meters in SI, and what a solved case shows at the same places.

A flow is read without its direction: a meter shows no sign. Of a pipe its `from` end is read. Several dates
may stand in a file: the readings of the latest day are looked at together, those without a date with them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from core.errors import Refusal
from core.plant.model import Plant, PortRef
from core.plant.record_rules import read_measured
from core.solve.solution import Solution
from core.vocabulary import Trait

# What a reading without a stated error is taken to be good for, two standard deviations (common practice, no
# source): a contact thermometer, a gauge of 60 psi at 2 % of its range, a share of the flow.
ERROR = {"temperature": 0.5, "pressure": 8.3e3}
ERROR_OF_FLOW = 0.05
LEAST_FLOW_ERROR = 2e-6  # [m^3/s]


@dataclass(frozen=True)
class Reading:
    """One reading.

    Attributes
    ----------
    number : int
        Its place among the plant's readings
    at : str
        Id of an item or pipe
    what : {"temperature", "pressure", "flow"}
    value : float
        [K], [Pa gauge] or [m^3/s]
    error : float
        Two standard deviations, in the same unit
    case : str
    date : str
    assumed : bool
        Whether the error was not stated
    """

    number: int
    at: str
    what: str
    value: float
    error: float
    case: str
    date: str = ""
    assumed: bool = False

    @property
    def weight(self) -> float:
        """One over its standard deviation."""
        return 2.0 / self.error


def readings_of(plant: Plant, date: str | None = None) -> list[Reading]:
    """Readings of the latest date, or of the named one, with those that have none.

    Raises
    ------
    Refusal
        At a reading of what is not there, of a case there is not, or of a quantity nothing shows
    """
    dates = [raw["date"] for raw in plant.readings if raw.get("date")]
    day = date if date is not None else max(dates, default="")
    chosen = [(k, raw) for k, raw in enumerate(plant.readings) if raw.get("date", "") in ("", day)]
    return [_reading(plant, k, raw) for k, raw in chosen]


def _reading(plant: Plant, number: int, raw: Any) -> Reading:
    path = f"readings[{number}]"
    at = raw["at"] if isinstance(raw["at"], str) else (raw["at"][0] if raw["at"] else "")
    if at not in plant.items and at not in plant.pipes:
        raise Refusal(f"{path}.at", str(at), "the id of an item or pipe of this plant")
    what, value, error = read_measured(raw, path)
    names = [case.name for case in plant.solve_cases]
    case = raw.get("case") or names[0]
    if case not in names:
        raise Refusal(f"{path}.case", str(case), f"one of {', '.join(names)}")
    value = abs(value) if what == "flow" else value
    good_for = default_error(what, value) if error is None else error
    return Reading(number, at, what, value, good_for, case, raw.get("date", ""), error is None)


def default_error(what: str, value: float) -> float:
    """What a reading without a stated error is good for, two standard deviations."""
    return max(ERROR_OF_FLOW * abs(value), LEAST_FLOW_ERROR) if what == "flow" else ERROR[what]


def shown(plant: Plant, solution: Solution, at: str, what: str) -> float | None:
    """What a solved case shows at a place, [K], [Pa] or [m^3/s]; None where it shows none."""
    pipe = solution.pipes.get(at)
    if pipe is not None:
        return {
            "temperature": pipe.temperature_in_c + 273.15,
            "pressure": pipe.pressure_in_pa,
            "flow": abs(pipe.flow_m3_s),
        }[what]
    if what == "flow":
        figures = solution.items.get(at)
        flow = None if figures is None else figures.flow
        return None if flow is None else abs(flow)
    key = "temperature_c" if what == "temperature" else "pressure_pa"
    value = solution.value(at, key)
    if value is None or isinstance(value, bool):
        return _beside(plant, solution, at, what)
    return value + 273.15 if what == "temperature" else value


def _beside(plant: Plant, solution: Solution, at: str, what: str) -> float | None:
    """At the first pipe on an item: a meter or a joint shows what its pipe has there."""
    item = plant.items.get(at)
    for port in () if item is None else item.ports:
        for key in plant.pipes_at.get(PortRef(at, port), ()):
            figures = solution.pipes.get(key)
            if figures is None:
                continue
            start = plant.pipes[key].start == PortRef(at, port)
            if what == "temperature":
                return figures.temperature_at(start) + 273.15
            return figures.pressure_at(start)
    return None


def could_read(plant: Plant, read: Sequence[Reading]) -> list[tuple[str, str]]:
    """Places with an instrument, or where one is held on, that no reading names: id and what it shows."""
    known = {(one.at, one.what) for one in read}
    found: list[tuple[str, str]] = []
    for item in plant.items.values():
        if not item.stays:
            continue
        if item.has(Trait.SHOWS_PRESSURE):
            found.append((item.id, "pressure"))
        if item.has(Trait.SHOWS_TEMPERATURE):
            found.append((item.id, "temperature"))
        if item.has(Trait.SHOWS_FLOW):
            found.append((item.id, "flow"))
    found += [(key, "temperature") for key, pipe in plant.pipes.items() if pipe.stage != "to_remove"]
    return [one for one in found if one not in known]
