"""What counts while a typed text waits refused: the last good value, told at the figures that rest on it."""

from __future__ import annotations

from collections.abc import Iterable

from app.panels.form_parts import NotTaken
from core.forms import sheet_rows
from core.forms.pipe_rows import pipe_sections
from core.forms.rows import Row, item_sections
from core.plant.model import Plant
from core.water.resting import resting


def kept_words(plant: Plant, case: str, one: NotTaken, here: str = "") -> str:
    """`140 °F for Set temperature of B-1 ("20 psi" was not taken)`; without the tag where it is in sight."""
    row = next((row for row in _rows(plant, case, one.subject) if row.key == one.key), None)
    value = " / ".join(row.read(plant).split("\n")) if row is not None else ""
    value = value or (row.empty if row is not None else "") or "nothing"
    where = f" of {one.subject}" if one.subject and one.subject != here else ""
    return f"{value} for {one.name.lower()}{where} (“{' '.join(one.text.split())}” was not taken)"


def resting_words(plant: Plant, case: str, waiting: Iterable[NotTaken], here: str) -> str:
    """What the figures of a thing rest on that was not taken; empty where all that matters was."""
    told = [kept_words(plant, case, one, here) for one in waiting if here in resting(plant, [one.subject])]
    return f"Rests on the last good {'; '.join(told)}." if told else ""


def _rows(plant: Plant, case: str, name: str) -> list[Row]:
    if name in plant.items:
        sections = item_sections(plant, plant.items[name])
    elif name in plant.pipes:
        sections = pipe_sections(plant, plant.pipes[name])
    else:
        sections = sheet_rows.sheet_sections(plant, case)
    return [row for section in sections for row in section.rows]
