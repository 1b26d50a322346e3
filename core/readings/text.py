"""Readings as a small text: lines of date, case, at, what, value and error, as the phone page writes them."""

from __future__ import annotations

import csv
import io
from typing import Any

from core.errors import Refusal
from core.plant.changes import SetPlant
from core.plant.model import Plant
from core.plant.record_rules import check_reading

COLUMNS = ("date", "case", "at", "what", "value", "error")
NEEDED = ("at", "value")
MOST_LINES = 5000


def from_csv(text: str) -> list[dict[str, Any]]:
    """Readings as the plant file keeps them.

    Raises
    ------
    Refusal
        Naming the line: an unknown column, a missing place or value, or a value without its unit
    """
    rows = list(csv.reader(io.StringIO(text.lstrip("\ufeff"))))
    rows = [row for row in rows if any(cell.strip() for cell in row)]
    if not rows:
        raise Refusal("line 1", "nothing", f"a header: {','.join(COLUMNS)}")
    head = [cell.strip().lower() for cell in rows[0]]
    for name in head:
        if name not in COLUMNS:
            raise Refusal("line 1", name, f"columns {', '.join(COLUMNS)}")
    for name in NEEDED:
        if name not in head:
            raise Refusal("line 1", ",".join(head), f"a column {name}")
    if len(rows) > MOST_LINES:
        raise Refusal(f"line {MOST_LINES + 1}", "more lines", f"at most {MOST_LINES}")
    found = []
    for number, row in enumerate(rows[1:], start=2):
        given = {name: cell.strip() for name, cell in zip(head, row, strict=False) if cell.strip()}
        for name in NEEDED:
            if name not in given:
                raise Refusal(f"line {number}", ",".join(row), f"a value in column {name}")
        check_reading(given, f"line {number}")
        found.append(given)
    return found


def taken(plant: Plant, readings: list[dict[str, Any]]) -> SetPlant:
    """The change that adds readings to a plant; those that it has already are not added twice.

    Raises
    ------
    Refusal
        At a reading of what is not in the plant, or of a case it does not have
    """
    from dataclasses import replace

    from core.readings.measured import readings_of

    new = [one for one in readings if one not in [dict(raw) for raw in plant.readings]]
    readings_of(replace(plant, readings=tuple({**one, "date": ""} for one in new)))
    return SetPlant({"readings": (*plant.readings, *new)})
