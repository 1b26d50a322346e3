"""What a reviewer wrote on a plant that was sent round, numbered, and how each remark was answered.

Remarks come as text: lines of at, text, by and date. An answer stands beside its remark and in the logbook,
so that it is kept when the remark's place is gone.
"""

from __future__ import annotations

import csv
import datetime
import io
from dataclasses import dataclass
from typing import Any

from core.errors import Refusal
from core.logbook.write import write_down
from core.plant.changes import SetPlant
from core.plant.model import Plant
from core.plant.record_rules import check_remark

COLUMNS = ("at", "text", "by", "date")
MOST_LINES = 1000
PREFIX = "Q-"


@dataclass(frozen=True)
class Remark:
    """One remark; `number` is its pin on the drawing. `answer` is "" while it is open."""

    id: str
    number: int
    at: str
    text: str
    by: str = ""
    date: str = ""
    answer: str = ""
    answered: str = ""

    @property
    def is_open(self) -> bool:
        """Whether nobody answered it."""
        return not self.answer.strip()


def remarks(plant: Plant) -> tuple[Remark, ...]:
    """All remarks, in the order in which they came."""
    return tuple(_remark(number, raw) for number, raw in enumerate(plant.remarks, start=1))


def _remark(number: int, raw: Any) -> Remark:
    at = raw.get("at") or ""
    place = at if isinstance(at, str) else str(at[0])
    words = (str(raw.get(key, "")) for key in ("text", "by", "date", "answer", "answered"))
    return Remark(raw["id"], number, place, *words)


def from_csv(text: str) -> list[dict[str, str]]:
    """Remarks written as text, without their ids.

    Raises
    ------
    Refusal
        Naming the line: an unknown column, or a remark without words
    """
    rows = [
        row for row in csv.reader(io.StringIO(text.lstrip("\ufeff"))) if any(cell.strip() for cell in row)
    ]
    head = [cell.strip().lower() for cell in rows[0]] if rows else []
    if "text" not in head or not set(head) <= set(COLUMNS):
        raise Refusal("line 1", ",".join(head) or "nothing", f"a header such as {','.join(COLUMNS)}")
    if len(rows) > MOST_LINES:
        raise Refusal(f"line {MOST_LINES + 1}", "more lines", f"at most {MOST_LINES}")
    found = []
    for number, row in enumerate(rows[1:], start=2):
        given = {name: cell.strip() for name, cell in zip(head, row, strict=False) if cell.strip()}
        if "text" not in given:
            raise Refusal(f"line {number}", ",".join(row), "words in column text")
        check_remark({"id": f"{PREFIX}1", **given}, f"line {number}")
        found.append(given)
    return found


def taken(plant: Plant, found: list[dict[str, str]]) -> SetPlant:
    """The change that adds remarks; one that is there already is not added twice.

    Raises
    ------
    Refusal
        At a remark on what is not in the plant
    """
    known = {(one.at, one.text, one.by, one.date) for one in remarks(plant)}
    used = {raw["id"] for raw in plant.remarks}
    new: list[dict[str, str]] = []
    number = 1
    for line, one in enumerate(found, start=2):
        at = one.get("at", "")
        if at and at not in plant.items and at not in plant.pipes:
            raise Refusal(f"line {line}", at, "the id of an item or pipe of this plant, or nothing")
        key = (at, one["text"], one.get("by", ""), one.get("date", ""))
        if key in known:
            continue
        known.add(key)
        while f"{PREFIX}{number}" in used:
            number += 1
        used.add(f"{PREFIX}{number}")
        new.append({"id": f"{PREFIX}{number}", **one})
    return SetPlant({"remarks": (*plant.remarks, *new)})


def answered(plant: Plant, name: str, answer: str, date: str = "") -> list[SetPlant]:
    """Changes that answer a remark and write it in the logbook; one undo step.

    Raises
    ------
    ValueError
        Without words
    """
    if not answer.strip():
        raise ValueError("an answer has words")
    day = date or datetime.date.today().isoformat()
    one = next(each for each in remarks(plant) if each.id == name)
    changed = tuple(
        {**raw, "answer": answer.strip(), "answered": day} if raw["id"] == name else raw
        for raw in plant.remarks
    )
    by = f" ({one.by})" if one.by else ""
    entry = write_down(
        plant, [one.at] if one.at else [], f"{one.id}{by}: {one.text}", answer.strip(), date=day
    )
    return [SetPlant({"remarks": changed}), entry]
