"""A typed text as its field reads it: a bare number takes the field's unit, commas are read. No Qt."""

from __future__ import annotations

from collections.abc import Iterable

from app.panels.guess_text import SIGN
from app.panels.rows import Row
from core import units
from core.errors import Refusal
from core.plant.changes import Change
from core.plant.edits import Draft
from core.plant.model import Plant
from core.vocabulary import spellings


def unit_of(row: Row, plant: Plant) -> str:
    """Unit that a bare number takes: that of the value there, else of the usual one, else the plant's own.

    Empty where the field has no unit, or where several kinds of unit would do.
    """
    if not row.dimensions or row.dimensions == ("number",):
        return ""
    for shown in (row.read(plant), row.empty, row.usual):
        text = shown.removeprefix(SIGN).partition("±")[0].strip()
        number = spellings.number_of(text)
        if number and number != text:
            return text[len(number) :].strip()
    if len(row.dimensions) > 1 and row.dimensions[0] != "head":
        return ""
    return units.sign_of(units.unit_for(row.dimensions[0], "si" if plant.units == "si" else "us"))


def as_read(row: Row, plant: Plant, text: str) -> str:
    """The text that is stored for what was typed; unchanged where the field takes no single quantity.

    Raises
    ------
    Refusal
        A comma that may group thousands or part decimals, with the question which
    """
    typed = text.strip()
    if not row.dimensions or not typed:
        return text
    sign = SIGN if typed.startswith(SIGN) else ""
    value, within, rest = typed.removeprefix(SIGN).partition("±")
    spellings.ask_of_comma(value, plant.units)
    if row.dimensions == ("number",):
        body = value.strip()
        plain = body.removesuffix("%").strip()
        said = spellings.without_commas(plain, plant.units) if "," in plain else None
        read = said + body[len(plain) :] if said is not None else body
    else:
        read = spellings.quantity(
            value, *row.dimensions, system=plant.units, bare=unit_of(row, plant)
        ).strip()
    return f"{sign}{read} {within} {rest.strip()}".strip() if within else f"{sign}{read}"


def together(plant: Plant, typed: Iterable[tuple[Row, str]]) -> list[Change]:
    """What several typed texts change, one after the other."""
    draft = Draft(plant)
    for row, text in typed:
        draft.do(*row.write(draft.plant, as_read(row, draft.plant, text)))
    return draft.changes


def reading(row: Row, plant: Plant, text: str) -> str:
    """Beside the field while one types: the value as read, else the same in the other units."""
    try:
        read = spellings.readable(as_read(row, plant, text))
    except Refusal:
        return ""
    if not row.dimensions or not text.strip():
        return ""
    if row.dimensions != ("number",) and not _is_one(read, row):
        return ""
    return f"= {read}" if read != text.strip() else row.beside(text)


def _is_one(text: str, row: Row) -> bool:
    value = text.removeprefix(SIGN).partition("±")[0].strip()
    return any(_parses(value, each) for each in row.dimensions)


def _parses(text: str, dimension: str) -> bool:
    try:
        units.parse(spellings.quantity(text, dimension), dimension)
    except Refusal:
        return False
    return True
