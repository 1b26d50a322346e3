"""Writing a decision down: an entry is only ever added, never changed or taken away."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from core.derivation.leaves import dimension_of, in_si
from core.logbook.entries import SHARE, Figure, entries, solved_unit
from core.plant.changes import SetPlant
from core.plant.model import Plant
from core.solve import Solution
from core.units import to_unit

_CHIEF = (
    "flow_m3_s",
    "velocity_m_s",
    "drop_pa",
    "head_m",
    "speed",
    "duty_w",
    "wanted_w",
    "delivered_w",
    "temperature_c",
    "hot_share",
)


def figures_of_the_day(plant: Plant, solutions: Mapping[str, Solution], at: Sequence[str]) -> list[Figure]:
    """The chief solved figures at some items and pipes, of the case that asks most of each.

    Parameters
    ----------
    plant : Plant
    solutions : Mapping
        Solved cases by name
    at : sequence of str
        Ids

    Returns
    -------
    list of Figure
        Besides the solved ones, the tube of each pipe as it is typed
    """
    found: list[Figure] = []
    for name in at:
        group = "pipes" if name in plant.pipes else "items"
        pipe = plant.pipes.get(name)
        if pipe is not None and pipe.tube is not None and "size" in pipe.tube:
            found.append(Figure(f"pipes.{name}.tube.size", str(pipe.tube["size"])))
        case = _deciding(solutions, name)
        if case is None:
            continue
        figures = solutions[case].figures(name)
        values = {} if figures is None else {key: figures.value(key) for key in _CHIEF}
        for key, value in values.items():
            if isinstance(value, (int, float)) and not isinstance(value, bool):
                found.append(_recorded(f"{group}.{name}.{key}", key, float(value), case))
    return found


def _deciding(solutions: Mapping[str, Solution], name: str) -> str | None:
    """The case in which most flows (or most heat passes) at an id; None where no case has figures of it."""

    def size(case: str) -> float:
        figures = solutions[case].figures(name)
        assert figures is not None
        keys = ("flow_m3_s", "delivered_w", "duty_w", "a_flow_m3_s")
        return next((abs(value) for key in keys if (value := figures.value(key)) is not None), 0.0)

    having = [c for c, s in solutions.items() if name in s.pipes or name in s.items]
    return max(having, key=size) if having else None


def _recorded(path: str, key: str, value: float, case: str) -> Figure:
    dimension = dimension_of(key)
    unit = solved_unit(dimension)
    stored = to_unit(in_si(key, value), unit) if unit else value
    return Figure(path, float(f"{stored:.6g}"), unit, case)


def write_down(
    plant: Plant,
    at: Sequence[str],
    choice: str,
    because: str,
    weighed: Iterable[str] = (),
    figures: Iterable[Figure] = (),
    follows: str = "",
    within: float = SHARE,
    date: str = "",
) -> SetPlant:
    """The change that adds an entry.

    Parameters
    ----------
    plant : Plant
    at : sequence of str
        Ids of what it is about; they may later be gone, the entry stays
    choice, because : str
        What was chosen, and the reason in the user's words
    weighed : iterable of str
        What else was weighed
    figures : iterable of Figure
    follows : str
        Id of the entry whose place it takes; that one is kept
    within : float
        Share by which the figures may change, [-]
    date : str
        ISO date; today where empty

    Returns
    -------
    SetPlant
    """
    taken = {entry.id for entry in entries(plant)}
    number = len(taken) + 1
    while f"D-{number}" in taken:
        number += 1
    raw: dict[str, Any] = {
        "id": f"D-{number}",
        "at": list(at),
        "date": date or datetime.date.today().isoformat(),
        "choice": choice,
        "weighed": list(weighed),
        "figures": [figure.as_raw() for figure in figures],
        "because": because,
    }
    if follows:
        raw["follows"] = follows
    if within != SHARE:
        raw["within"] = within
    return SetPlant({"logbook": (*plant.logbook, raw)})
