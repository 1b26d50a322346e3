"""Values of several parts as rows of cells: what each column is, and how rows stand as text. No widgets.

The text is what the file's value reads as, one entry a line (`typed`); rows that cannot be said so, such as
those of a refused text with commas in a cell, are kept with tabs between their cells.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

from core import units
from core.forms.in_units import in_system
from core.vocabulary import Property, spellings
from core.vocabulary.examples import example
from core.vocabulary.part_words import EXAMPLES, RATED
from core.vocabulary.port_words import spoken_port

Rows = list[list[str]]
COUNTS = ("number", "integer")
"""What stands for a dimension where a cell or field takes a number without a unit."""


class Column(NamedTuple):
    """Cells under one heading."""

    name: str
    dimensions: tuple[str, ...] = ()
    """Of the quantity in a cell; `number` and `integer` of one without a unit; empty of words."""
    example: str = ""
    choices: tuple[str, ...] = ()
    closed: bool = False
    """Whether nothing but a choice may stand there."""
    wanted: bool = True
    """Whether a row without it is not whole."""


@dataclass(frozen=True)
class Table:
    """Columns, and how their rows are written and read as text."""

    columns: tuple[Column, ...]
    split: Callable[[str], list[str]]
    join: Callable[[Sequence[str]], str]
    names: tuple[str, ...] = ()
    """Rows that are always there, by the word in their first cell; none may be added then."""
    entry: str = "row"
    """What one row is called."""
    parts: Mapping[str, Column] = field(default_factory=dict)
    """The second cell of named rows that differ in what they hold."""
    keys: Mapping[str, str] = field(default_factory=dict)
    """Words of named rows by their names in the file."""

    @property
    def must(self) -> tuple[str, ...]:
        """Named rows without which the rest means nothing."""
        return tuple(name for name, part in self.parts.items() if part.wanted)

    def column(self, place: int, row: Sequence[str]) -> Column:
        """What the cell at a place of a row holds."""
        return self.parts.get(row[0], self.columns[place]) if place else self.columns[0]


def rows_of(table: Table, text: str) -> Rows:
    """Cells of each line, as many as there are columns."""
    wide = len(table.columns)
    out: Rows = []
    for line in text.strip("\n").split("\n"):
        cells = line.split("\t") if "\t" in line else table.split(line)
        if any(cell.strip() for cell in cells):
            cells = [cell.strip() for cell in cells]
            if len(cells) > wide:
                cells = [*cells[: wide - 1], ", ".join(cells[wide - 1 :])]
            out.append([*cells, *([""] * (wide - len(cells)))])
    return out


def text_of(table: Table, rows: Iterable[Sequence[str]]) -> str:
    """The rows as text that `rows_of` reads back the same."""
    kept = [[cell.strip() for cell in row] for row in rows if any(cell.strip() for cell in row)]
    text = "\n".join(table.join(row) for row in kept)
    return text if rows_of(table, text) == kept else "\n".join("\t".join(row) for row in kept)


# ---- how a line is written -------------------------------------------------------------


def _by_commas(line: str) -> list[str]:
    return line.split(",")


def _with_commas(cells: Sequence[str]) -> str:
    return ", ".join(cells)


def _pair(line: str) -> list[str]:
    name, _, value = line.partition(":")
    return [name, value]


def _as_pair(cells: Sequence[str]) -> str:
    return f"{cells[0]}: {cells[1]}"


def _counted(line: str) -> list[str]:
    found = re.fullmatch(r"\s*(\d+)\s*[x×]\s*(.*)", line)
    return [found[1], found[2]] if found else ["", line]


def _as_counted(cells: Sequence[str]) -> str:
    return f"{cells[0]} x {cells[1]}" if cells[0] else cells[1]


def _surface(line: str) -> list[str]:
    name, _, rest = line.partition(":")
    cells = [cell.strip() for cell in rest.split(",")]
    if len(cells) > 2:
        cells[2] = cells[2].removeprefix("beyond ")
    return [name, *cells]


def _as_surface(cells: Sequence[str]) -> str:
    name, area, passed, beyond = cells
    return f"{name}: {area}, {passed}" + (f", beyond {beyond}" if beyond else "")


def _span(line: str) -> list[str]:
    return re.split(r"\s*(?:-|–|\bto\b)\s*", line, maxsplit=1)


def _as_span(cells: Sequence[str]) -> str:
    return f"{cells[0]} to {cells[1]}"


# ---- which columns ------------------------------------------------------------------------

HEADINGS: Mapping[str, tuple[str, ...]] = {
    "curve": ("Flow", "Head"),
    "line": ("Outdoors", "Supply"),
    "table": ("Outdoors", "Supply", "Heat", "Power"),
}
"""Of points and tables; others are a flow and a drop."""
_POINTS = {
    "flow": "8 gpm",
    "lift": "4 ft_head",
    "power": "28 kBtu/h",
    "temperature": "110 degF",
}


def part_words(prop: Property, ports: Sequence[str] = ()) -> dict[str, str]:
    """What the names inside a value are called: ports of heights, parts of a rated point."""
    if prop.type == "rated":
        return {key: RATED.get(key) or spoken_port(key) for key in prop.fields}
    if prop.type == "heights" and prop.name not in ("taps", "sensors"):
        return {port: spoken_port(port) or port for port in ports}
    return {}


WARM_COLD = ("Warm", "Cold")
"""What the two places are called that a circulator compares."""


def table_of(prop: Property, ports: Sequence[str], system: str, places: Sequence[str] = ()) -> Table | None:
    """Columns for a property of several parts; None for one of a single part."""

    def shown(text: str, dimension: str) -> str:
        kind = spellings.of(dimension)
        text = example(text, system)
        if not kind:
            return text
        if kind[0] == "power" and system != "si" and text.endswith("kBtu/h"):
            # A bare number is Btu/h, as in every field of heat.
            return f"{float(text.removesuffix('kBtu/h')) * 1000:,.0f} Btu/h"
        return _lift(text, system) if kind[0] == "head" else in_system(text, kind[0], system)

    words = part_words(prop, ports)
    match prop.type:
        case "points" | "table":
            return Table(_point_columns(prop, shown), _by_commas, _with_commas, entry=_entry(prop))
        case "loops":
            count = Column("How many", ("integer",), "1", wanted=False)
            length = Column("Length", ("length",), shown("240 ft", "length"))
            return Table((count, length), _counted, _as_counted, entry="loop")
        case "heights":
            names = tuple(words.values())
            height = Column("Height", ("length",), shown("4 ft", "length"))
            who = prop.name.removesuffix("s")
            first = Column("" if names else who.capitalize(), example="hot" if who == "tap" else "mid")
            return Table((first, height), _pair, _as_pair, names, "height" if names else who, keys=words)
        case "places":
            where = Column("Where", choices=tuple(places), wanted=False)
            return Table((Column(""), where), _pair, _as_pair, WARM_COLD, "place")
        case "rated":
            parts = {word: _part(prop, key, shown) for key, word in words.items()}
            names = tuple(words.values())
            return Table((Column(""), Column("Value")), _pair, _as_pair, names, "part", parts, words)
        case "surfaces":
            return Table(_surface_columns(shown), _surface, _as_surface, entry="surface")
        case "intervals":
            times = (Column("From", example="06:00"), Column("To", example="08:30"))
            return Table(times, _span, _as_span, entry="time")
    return None


def _part(prop: Property, key: str, shown: Callable[[str, str], str]) -> Column:
    kind = prop.fields[key]
    example = shown(EXAMPLES.get(key, "1"), kind)
    return Column("Value", spellings.of(kind) or ("number",), example, wanted=key in prop.required)


def _entry(prop: Property) -> str:
    return "point" if prop.type == "points" else "row"


def _point_columns(prop: Property, shown: Callable[[str, str], str]) -> tuple[Column, ...]:
    names = HEADINGS.get(prop.name, ("Flow", "Drop"))
    examples = [_POINTS.get(column, "1") for column in prop.columns]
    if prop.name == "line":
        examples = ["5 degF", "120 degF"]
    elif prop.name == "table":
        examples = ["17 degF", "110 degF", "28 kBtu/h", "3.1 kW"]
    return tuple(
        Column(name, spellings.of(kind) or ("number",), example if name == "Power" else shown(example, kind))
        for name, kind, example in zip(names, prop.columns, examples, strict=True)
    )


def _surface_columns(shown: Callable[[str, str], str]) -> tuple[Column, ...]:
    return (
        Column("Surface", example="wall"),
        Column("Area", ("area",), shown("140 ft2", "area")),
        Column("U or R", ("transmittance", "resistance"), shown("0.06 Btu/h/ft2/degF", "transmittance")),
        Column("Beyond", ("temperature",), "outdoors", wanted=False),
    )


def _lift(text: str, system: str) -> str:
    value, is_head = units.parse_lift(text)
    return units.show(value, "head" if is_head else "pressure", "si" if system == "si" else "us")


def pairs_table(first: str, second: Column, choices: Iterable[str], entry: str, example: str = "") -> Table:
    """Pairs of a thing, out of a list where there is one, and a value."""
    return Table((Column(first, (), example, tuple(choices)), second), _pair, _as_pair, entry=entry)


def one_table(name: str, choices: Iterable[str], entry: str) -> Table:
    """One thing a row, out of a list."""
    return Table(
        (Column(name, choices=tuple(choices)),), lambda line: [line], lambda row: row[0], entry=entry
    )
