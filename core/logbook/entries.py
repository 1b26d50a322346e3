"""Entries of the logbook as the plant file keeps them, read into plain records. Nothing is judged here.

`follows` names the entry whose place this one takes.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from core import units
from core.derivation.leaves import dimension_of
from core.errors import Refusal
from core.plant.model import Plant

SHARE = (
    0.10  # of the recorded figure, by which today's may differ where the entry states none (our own choice)
)
_SI = {
    "flow": "m3/s",
    "velocity": "m/s",
    "pressure": "Pa",
    "temperature": "degC",
    "power": "W",
    "head": "m_head",
}
# The endings of the solver's keys are understood as units too.
_SUFFIXES = {"m3_s": "m3/s", "m_s": "m/s", "pa": "Pa", "c": "degC", "w": "W", "m": "m_head"}


@dataclass(frozen=True)
class Figure:
    """One figure of the day.

    Attributes
    ----------
    path : str
        pipes.ID.KEY or items.ID.KEY of the solved case, or a place in the file such as pipes.L-9.tube.size
    value : float, str or bool
        In `unit`, or as typed
    unit : str
        A unit of the plant file's list; empty for text, states and shares
    case : str
        Case it was solved in; empty for what stands in the file
    """

    path: str
    value: float | str | bool
    unit: str = ""
    case: str = ""

    @property
    def place(self) -> tuple[str, str, str]:
        """Group ("items" or "pipes"), id and key; ids may hold dots, keys may not where they are solved."""
        group, _, rest = self.path.partition(".")
        for split in (".props.", ".tube.", ".system"):
            if split in rest:
                name, _, tail = rest.partition(split)
                return group, name, (split + tail).lstrip(".")
        name, _, key = rest.rpartition(".")
        return group, name, key

    @property
    def dimension(self) -> str:
        """Dimension of a solved figure; empty for others."""
        return dimension_of(self.place[2])

    def si(self) -> float | None:
        """The value in base SI; None where it is no number, or its unit measures something else."""
        if isinstance(self.value, str):
            if self.dimension:
                try:
                    return units.parse(self.value, self.dimension)
                except Refusal:
                    return None
            return None
        if isinstance(self.value, bool):
            return None
        if not self.unit:
            return float(self.value)
        unit = _SUFFIXES.get(self.unit, self.unit)
        try:
            return units.parse(f"{float(self.value)!r} {unit}", self.dimension)
        except Refusal:
            return None

    def as_raw(self) -> dict[str, Any]:
        """As the plant file has it."""
        raw: dict[str, Any] = {"path": self.path, "value": self.value}
        if self.unit:
            raw["unit"] = self.unit
        if self.case:
            raw["case"] = self.case
        return raw


@dataclass(frozen=True)
class Entry:
    """One decision: where, what was chosen and weighed, the figures of that day, the reason.

    `follows` names the earlier entry that this one takes the place of; `within` is the share by which figures
    may change before it asks to be looked at again.
    """

    id: str
    at: tuple[str, ...] = ()
    date: str = ""
    choice: str = ""
    weighed: tuple[str, ...] = ()
    figures: tuple[Figure, ...] = ()
    because: str = ""
    follows: str = ""
    within: float = SHARE


def entries(plant: Plant) -> tuple[Entry, ...]:
    """All entries, in the order they were written."""
    return tuple(_entry(raw) for raw in plant.logbook)


def _words(raw: Any) -> tuple[str, ...]:
    if raw is None or raw == "":
        return ()
    return (raw,) if isinstance(raw, str) else tuple(str(one) for one in raw)


def _entry(raw: Mapping[str, Any]) -> Entry:
    figures = tuple(
        Figure(f.get("path", ""), f["value"], f.get("unit", ""), f.get("case", ""))
        for f in raw.get("figures", ())
    )
    return Entry(
        raw["id"],
        _words(raw.get("at")),
        raw.get("date", ""),
        raw.get("choice", ""),
        _words(raw.get("weighed")),
        figures,
        raw.get("because", ""),
        raw.get("follows", ""),
        float(raw.get("within", SHARE)),
    )


def solved_unit(dimension: str) -> str:
    """The unit in which a solved figure is written down."""
    return _SI.get(dimension, "")
