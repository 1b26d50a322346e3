"""A circulator's curve from a pasted table: two columns with units in a heading or in the cells.

Made for what spreadsheets, web tables and data sheets leave on the clipboard. Nothing is guessed: a column
without a unit is refused unless the unit is given beside it.

`curves` at the top of a plant keep the user's own; they obey a circulator's rules. `invented` on a
circulator says its curve is one of the program's own: board, schedules and tables then say so.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from functools import partial
from typing import NamedTuple

from core import units
from core.errors import Refusal, value_text

MOST_ROWS = 200
_SPELLINGS = {
    "gpm": "gpm usgpm us_gpm gal/min gallons/min gallonsperminute usg/min",
    "L/s": "l/s ls l/sec liter/s litre/s lps",
    "L/min": "l/min lpm liter/min litre/min",
    "L/h": "l/h l/hr lph",
    "m3/h": "m3/h m³/h m^3/h cbm/h m3/hr m³/hr cmh",
    "m3/s": "m3/s m³/s m^3/s",
    "ft_head": "ft_head ft feet foot ' fthd fthead ftofhead fth2o ftwc ftofwater feethead",
    "m_head": "m_head m meter metre mh2o mwc mofhead mwg mhead",
    "psi": "psi psig",
    "kPa": "kpa",
    "bar": "bar",
    "Pa": "pa",
}
_UNITS = {spelling: unit for unit, spellings in _SPELLINGS.items() for spelling in spellings.split()}
_NUMBER = re.compile(r"^[+-]?(\d+(\.\d*)?|\.\d+)([eE][+-]?\d+)?")
FLOWS = units.DIMENSIONS["flow"]


class _Cell(NamedTuple):
    number: str
    unit: str


def parse_curve(text: str, flow_unit: str = "", head_unit: str = "") -> list[list[str]]:
    """Points of a curve as a plant file has them, by rising flow.

    Parameters
    ----------
    text : str
        Rows of two columns or more, parted by tabs, semicolons, bars, commas or blanks; a heading may name
        the columns and their units, in either order
    flow_unit, head_unit : str
        Units of the closed list, for columns that say none

    Returns
    -------
    list of [flow, head]
        Texts with units, e.g. ["4 gpm", "12 ft_head"]

    Raises
    ------
    Refusal
        Its path is the line, counted from 1

    Examples
    --------
    >>> parse_curve("Flow (gpm)\\tHead (ft)\\n0\\t20\\n6\\t15.5")
    [['0 gpm', '20 ft_head'], ['6 gpm', '15.5 ft_head']]
    >>> parse_curve("12 kPa; 0.1 L/s\\n15 kPa; 0 L/s")
    [['0 L/s', '15 kPa'], ['0.1 L/s', '12 kPa']]
    """
    lines = [(k, line.strip()) for k, line in enumerate(text.splitlines(), 1) if line.strip()]
    if not lines:
        raise Refusal("", "nothing", "rows of flow and head")
    if len(lines) > MOST_ROWS:
        raise Refusal("", f"{len(lines)} rows", f"at most {MOST_ROWS}")
    split = _splitter([line for _, line in lines])
    heading: list[str] = []
    rows: list[tuple[int, list[_Cell]]] = []
    for number, line in lines:
        cells = split(line)
        read = [_cell(cell) for cell in cells]
        if sum(cell is not None for cell in read) >= 2:
            rows.append((number, [cell or _Cell("", "") for cell in read]))
        elif not rows:
            heading = _headings(cells, heading)
        else:
            raise Refusal(f"line {number}", value_text(line), "a flow and a head")
    flow, head = _columns(heading, rows, flow_unit, head_unit)
    return _points(rows, flow, head)


def _splitter(lines: Sequence[str]) -> Callable[[str], list[str]]:
    """How a table's cells are parted: by the first mark that every row has."""
    for mark in ("\t", ";", "|", ","):
        if all(mark in line.strip(f"{mark} ") for line in lines):
            return partial(_by_mark, mark)
    return _by_blanks


def _by_mark(mark: str, line: str) -> list[str]:
    return [cell.strip() for cell in line.strip("| ").split(mark)]


def _by_blanks(line: str) -> list[str]:
    """Cells parted by blanks; a unit behind its number stays with it, as does one in brackets."""
    found: list[str] = []
    for word in re.sub(
        r"\s*([(\[])\s*([^)\]]*?)\s*([)\]])", lambda m: f"({m[2].replace(' ', '')})", line
    ).split():
        bare = _unit_of(word)
        if found and bare and _NUMBER.fullmatch(found[-1]):
            found[-1] += f" {word}"
        else:
            found.append(word)
    return found


def _cell(text: str) -> _Cell | None:
    """Number and unit of a cell; None where it is no number."""
    plain = text.replace("\u00a0", " ").strip()
    match = _NUMBER.match(plain)
    if match is None:
        return None
    rest = plain[match.end() :].strip()
    if re.match(r"^,\d", rest):
        raise Refusal("", value_text(text), "a number with a dot", "It has a comma")
    unit = _unit_of(rest) if rest else ""
    if rest and not unit:
        raise Refusal("", value_text(text), "a number, with a unit of flow, head or pressure", _hint(rest))
    return _Cell(match.group(), unit)


def _unit_of(text: str) -> str:
    """The unit of the closed list that a text spells, or nothing."""
    return _UNITS.get(re.sub(r"[\s.()\[\]]", "", text).lower(), "")


def _hint(text: str) -> str:
    return units.unit_hint(text) if len(text) < 20 else ""


def _headings(cells: list[str], before: list[str]) -> list[str]:
    """Units of a heading's columns, those of a second heading line taking the place of empty ones."""
    found = []
    for cell in cells:
        inside = re.findall(r"[(\[,]\s*([^)\]]+)", cell)
        words = [*inside, *re.split(r"[\s/]in\s|\s", cell), cell]
        found.append(next((unit for word in words if (unit := _unit_of(word))), ""))
    return (
        [new or old for new, old in zip(found, before, strict=True)] if len(before) == len(found) else found
    )


def _columns(
    heading: list[str], rows: list[tuple[int, list[_Cell]]], flow_unit: str, head_unit: str
) -> tuple[tuple[int, str], tuple[int, str]]:
    """Place and unit of the flow column and of the head column."""
    if not rows:
        raise Refusal("", "no row with two numbers", "rows of flow and head")
    first = rows[0][1]
    said = [cell.unit or (heading[k] if k < len(heading) else "") for k, cell in enumerate(first)]
    flows = [k for k, unit in enumerate(said) if unit in FLOWS]
    heads = [k for k, unit in enumerate(said) if unit and unit not in FLOWS]
    free = [k for k, unit in enumerate(said) if not unit and first[k].number]
    if not flows and flow_unit and free:
        flows = [free.pop(0)]
    if not heads and head_unit and free:
        heads = [free.pop(0)]
    for found, what, example in ((flows, "flow", "gpm"), (heads, "head", "ft")):
        if not found:
            raise Refusal(
                f"line {rows[0][0]}",
                f"no column with a unit of {what}",
                f"a unit of {what} in a heading or beside the numbers, such as {example}",
            )
    flow, head = flows[0], heads[0]
    return (flow, said[flow] or flow_unit), (head, said[head] or head_unit)


def _points(
    rows: list[tuple[int, list[_Cell]]], flow: tuple[int, str], head: tuple[int, str]
) -> list[list[str]]:
    found: dict[float, list[str]] = {}
    for number, cells in rows:
        pair = []
        for (place, unit), what in ((flow, "flow"), (head, "head")):
            if place >= len(cells) or not cells[place].number:
                raise Refusal(f"line {number}", "no number in that column", f"a {what}")
            own = cells[place].unit or unit
            if (own in FLOWS) != (what == "flow"):
                raise Refusal(f"line {number}", value_text(f"{cells[place].number} {own}"), f"a {what}")
            pair.append(f"{cells[place].number} {own}")
        value = units.parse(pair[0], "flow")
        if value in found and found[value][1] != pair[1]:
            raise Refusal(
                f"line {number}", value_text(pair[0]), "each flow once", "An earlier row has it too"
            )
        found[value] = pair
    return [found[value] for value in sorted(found)]
