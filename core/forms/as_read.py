"""A typed text as its field reads it: a bare number takes the field's unit, commas are read. No Qt."""

from __future__ import annotations

from collections.abc import Iterable

from core import units
from core.errors import Refusal
from core.forms.guess_text import SIGN
from core.forms.rows import Row
from core.forms.tables import COUNTS, Column, Table, rows_of, text_of
from core.plant.changes import Change
from core.plant.edits import Draft
from core.plant.model import Plant
from core.vocabulary import spellings


def unit_of(row: Row, plant: Plant) -> str:
    """Unit that a bare number takes: that of the value there, else of the usual one, else the plant's own.

    Empty where the field has no unit, or where several kinds of unit would do.
    """
    return _unit_among((row.read(plant), row.empty, row.usual), row.dimensions, plant.units)


def _unit_among(shown: Iterable[str], dimensions: tuple[str, ...], system: str) -> str:
    if not dimensions or dimensions[0] in COUNTS:
        return ""
    for each in shown:
        text = each.removeprefix(SIGN).partition("±")[0].strip()
        number = spellings.number_of(text)
        if number and number != text:
            return text[len(number) :].strip()
    if len(dimensions) > 1 and dimensions[0] != "head":
        return ""
    return units.sign_of(units.unit_for(dimensions[0], "si" if system == "si" else "us"))


def as_read(row: Row, plant: Plant, text: str) -> str:
    """The text that is stored for what was typed; unchanged where the field takes no quantity.

    Raises
    ------
    Refusal
        A comma that may group thousands or part decimals, with the question which; a cell of a table that
        cannot be read or lacks what it must have, by its row and column
    """
    if row.table is not None:
        return _table_as_read(row.table, row.read(plant), text, plant.units)
    if not row.dimensions or not text.strip():
        return text
    if other := row.also(plant, text):
        return other
    return _value_as_read(text.strip(), row.dimensions, plant.units, unit_of(row, plant))


def _value_as_read(typed: str, dimensions: tuple[str, ...], system: str, bare: str) -> str:
    sign = SIGN if typed.startswith(SIGN) else ""
    value, within, rest = typed.removeprefix(SIGN).partition("±")
    spellings.ask_of_comma(value, system)
    if dimensions[0] in COUNTS:
        body = spellings.ungrouped(value)
        plain = body.removesuffix("%").strip()
        said = spellings.without_commas(plain, system) if "," in plain else None
        read = said + body[len(plain) :] if said is not None else body
    else:
        read = spellings.quantity(value, *dimensions, system=system, bare=bare).strip()
    return f"{sign}{read} {within} {rest.strip()}".strip() if within else f"{sign}{read}"


# ---- tables ---------------------------------------------------------------------------


def _table_as_read(table: Table, stored: str, text: str, system: str) -> str:
    rows, before = rows_of(table, text), rows_of(table, stored)
    out: list[list[str]] = []
    for number, row in enumerate(rows):
        others = [*before[number : number + 1], *rows, *before]
        same_name = [other for other in others if not table.parts or other[0] == row[0]]
        cells = list(row)
        for place in range(len(row)):
            column = table.column(place, row)
            unit = bare_of(column, [row[place], *(other[place] for other in same_name)], system)
            try:
                cells[place] = cell_as_read(column, row[place], system, unit)
            except Refusal as refusal:
                raise Refusal(f"[{number}][{place}]", refusal.found, refusal.expected, refusal.hint) from None
        out.append(cells)
    lacking = [name for name in table.must if name not in {row[0] for row in out}] if out else []
    if lacking:
        example = f"Such as {table.parts[lacking[0]].example}"
        raise Refusal(f"[{lacking[0]}]", "nothing", _wanted(table.parts[lacking[0]]), example)
    return text_of(table, out)


def bare_of(column: Column, texts: Iterable[str], system: str) -> str:
    """Unit that a bare number takes in a column: that of the others, else of its example."""
    return _unit_among((*texts, column.example), column.dimensions, system)


def cell_as_read(column: Column, text: str, system: str, bare: str) -> str:
    """One cell as it is stored.

    Raises
    ------
    Refusal
        Nothing where something must be, no choice of the column, or no such quantity
    """
    if not text:
        if column.wanted:
            raise Refusal(
                "", "nothing", _wanted(column), f"Such as {column.example}" if column.example else ""
            )
        return text
    if column.closed and text not in column.choices:
        raise Refusal("", f'"{text}"', "one of " + ", ".join(column.choices))
    if not column.dimensions:
        return text
    read = _value_as_read(text, column.dimensions, system, bare)
    if column.dimensions[0] in COUNTS:
        return read
    plain = read.removeprefix(SIGN).partition("±")[0].strip()
    if any(_parses(plain, each) for each in column.dimensions):
        return spellings.readable(read)
    units.parse(plain, column.dimensions[0])
    return read


def _wanted(column: Column) -> str:
    kind = column.dimensions[0] if column.dimensions else ""
    if kind in COUNTS:
        return "a number"
    return units.words(kind) if kind else f"a {column.name.lower() or 'name'}"


def reading_of_cell(column: Column, system: str, bare: str, text: str) -> str:
    """Beside a cell while one types: the value as read, where that is not as typed."""
    try:
        read = cell_as_read(column, text.strip(), system, bare)
    except Refusal:
        return ""
    return f"= {read}" if column.dimensions and text.strip() and read != text.strip() else ""


def quantity_as_read(text: str, dimension: str, plant: Plant, shown: str = "") -> str:
    """One quantity outside a form: a bare number takes the unit of what is `shown`, else the plant's own.

    Raises
    ------
    Refusal
        A comma that may group thousands or part decimals, with the question which
    """
    if not text.strip():
        return ""
    return _value_as_read(
        text.strip(), (dimension,), plant.units, _unit_among((shown,), (dimension,), plant.units)
    )


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
    if row.dimensions[0] not in COUNTS and not _is_one(read, row):
        return ""
    told = f"= {read}" if read != text.strip() else row.beside(text)
    return row.by_plant(plant, read) or told if row.also(plant, text) == "" else f"{told}"


def _is_one(text: str, row: Row) -> bool:
    value = text.removeprefix(SIGN).partition("±")[0].strip()
    return any(_parses(value, each) for each in row.dimensions)


def _parses(text: str, dimension: str) -> bool:
    try:
        units.parse(spellings.quantity(text, dimension), dimension)
    except Refusal:
        return False
    return True
