"""The workings of a report as blocks: a table a formula, in as many bands as its columns need, then "
"sources."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence

from core.papers.blocks import BAND, Block, Grid, Heading, Said
from core.papers.workings import FROM, MARKS_SAID, Row, Sheet, Workings

WIDEST = 5  # columns of figures beside each other
LONG = 30  # characters of remarks a row, on the average
MANY_TERMS = 5
CONSTANT = 3  # rows from which on a figure they all share stands above them
_MARK = "ᵖᵐ"


def workings_blocks(found: Workings, sources: Sources, cases: Sequence[str] = ()) -> Iterator[Block]:
    """Every number behind the answers, once; `cases` are named by letters here."""
    by_letter = {name: f"case {letter(place).upper()}" for place, name in enumerate(cases)}
    yield Heading("Workings", anchor="workings")
    yield Said(
        "Numbers that come about alike stand under one formula, each once; [12] leads to the row in which a "
        f"number used here is worked out. {MARKS_SAID}."
    )
    if by_letter:
        yield Said("; ".join(f"{short}: {name}" for name, short in by_letter.items()))
    for sheet in found.sheets:
        for row in sheet.rows:
            row.words, row.note = (_with_letters(text, by_letter) for text in (row.words, row.note))
        yield from _sheet(sheet, sources)


def _with_letters(text: str, by_letter: Mapping[str, str]) -> str:
    for name in sorted(by_letter, key=len, reverse=True):
        text = re.sub(rf"\bin {re.escape(name)}(?!\w)", f"in {by_letter[name]}", text)
    return text


class Sources:
    """Sources in the order in which they are first named, each once."""

    def __init__(self) -> None:
        self.texts: list[str] = []

    def number(self, text: str) -> int:
        """The number of a source, a new one where it was not named yet."""
        if text not in self.texts:
            self.texts.append(text)
        return self.texts.index(text) + 1

    def blocks(self) -> Iterator[Block]:
        """The list, each with its standing."""
        yield Heading("Sources", anchor="sources")
        rows = [(f"S{place}", text, standing(text)) for place, text in enumerate(self.texts, start=1)]
        anchors = tuple(f"s{place}" for place in range(1, len(rows) + 1))
        yield Grid("", ("", "source", "standing"), tuple(rows), anchors=anchors)


def standing(text: str) -> str:
    """How far a source can be relied on, from its own words."""
    low = text.lower()
    if "common practice" in low or "no source" in low:
        return "common practice"
    if "from memory" in low:
        return "from memory"
    if "default of" in low:
        return "default of the program"
    return "published"


def _sheet(sheet: Sheet, sources: Sources) -> Iterator[Block]:
    yield Heading(sheet.title, 2)
    names = list(dict.fromkeys(name for row in sheet.rows for name in row.cells))
    constant = {name: value for name in names if (value := _constant(sheet.rows, name))}
    names = [name for name in names if name not in constant]
    units = {name: unit_of([row.cells[name] for row in sheet.rows if name in row.cells]) for name in names}
    result = unit_of([row.result for row in sheet.rows])
    links = tuple((f"[S{n}]", f"s{n}") for n in (sources.number(text) for text in sheet.sources))
    if sheet.formulas:
        yield Said("; ".join(sheet.formulas))
    fixed = [f"{name} = {value}" for name, value in constant.items()]
    meaning = [f"{name} {words}" for name, words in sheet.legend.items()]
    letters = _letters(sheet.rows)
    results = [f"result {letter}: {text}" for text, letter in letters.items()]
    legend = "; ".join([*meaning, *fixed, *(_plain(text) for text in sheet.said), *results])
    if legend or links:
        yield Said(legend, links=links)
    yield _grid(sheet, names, units, (result, letters))


def _plain(text: str) -> str:
    return text.rstrip(".")


def _letters(rows: Sequence[Row]) -> dict[str, str]:
    """A letter for each result that is a sentence and that several rows have; nothing where few do."""
    texts = [row.result for row in rows if not re.match(r"[-−\d]", row.result)]
    several = list(dict.fromkeys(texts))
    return (
        {text: letter(place) for place, text in enumerate(several)} if len(texts) > 2 * len(several) else {}
    )


def letter(place: int) -> str:
    """a to z, then aa."""
    return (letter(place // 26 - 1) if place >= 26 else "") + chr(ord("a") + place % 26)


def _constant(rows: Sequence[Row], name: str) -> str:
    """The figure that all rows share in a column; empty where they do not."""
    values = {row.cells[name] for row in rows if name in row.cells}
    return values.pop() if len(rows) >= CONSTANT and len(values) == 1 and name != FROM else ""


def _grid(sheet: Sheet, names: list[str], units: dict[str, str], results: tuple[str, dict[str, str]]) -> Grid:
    """Figures in columns; where remarks are long, a paragraph a row."""
    result, letters = results
    anchors = tuple(f"w{row.number}" for row in sheet.rows)
    if FROM in names or sum(len(row.note) for row in sheet.rows) > LONG * len(sheet.rows):
        told = tuple((f"{row.number}", _told(row, names)) for row in sheet.rows)
        return Grid("", ("", ""), told, frozenset(), anchors)
    noted = any(row.note for row in sheet.rows)
    bands = max(1, -(-len(names) // WIDEST))
    if bands > 1:  # what few rows have stands in the last band, so that the others go without it
        names = sorted(names, key=lambda name: -sum(name in row.cells for row in sheet.rows))
    across = -(-len(names) // bands) if names else 0
    columns = [
        [names[band * across + k] for band in range(bands) if band * across + k < len(names)]
        for k in range(across)
    ]
    heads = ["", "", f"= {result}" if result else "="]
    heads += [BAND.join(f"{name} {units[name]}".strip() for name in column) for column in columns]
    heads += ["note"] * noted
    rows = []
    for row in sheet.rows:
        cells = [f"{row.number}", row.words, letters.get(row.result) or bare(row.result, result)]
        cells += [BAND.join(bare(row.cells.get(n, ""), units[n]) for n in column) for column in columns]
        rows.append((*cells, *([row.note] * noted)))
    texts = any(not re.match(r"[-−\d]", row.result) for row in sheet.rows)
    return Grid("", tuple(heads), tuple(rows), frozenset(range(2 + texts, 3 + len(columns))), anchors)


def _told(row: Row, names: list[str]) -> str:
    """A row as a sentence."""
    parts = [f"{name} {row.cells[name]}" for name in names if name != FROM and name in row.cells]
    if FROM in row.cells:
        parts.insert(0, _terms(row.cells[FROM]))
    return "; ".join(
        [f"{row.words} = {row.result}" + (f" = {parts[0]}" if parts else ""), *parts[1:], *_some(row.note)]
    )


def _some(text: str) -> list[str]:
    return [text] if text else []


def _terms(text: str) -> str:
    """A long sum with its unit said once, behind it."""
    found = re.findall(rf"\d[{_MARK}]? ([^\W\d][\w/·²³]*)", text)
    if len(found) < MANY_TERMS:
        return text
    unit = max(set(found), key=found.count)
    bared = re.sub(rf"(?<=[0-9{_MARK}]) {re.escape(unit)}(?![\w/])", "", text)
    return f"{bared}, in {unit}"


def unit_of(values: Sequence[str]) -> str:
    """The unit that all values share; empty where they do not."""
    units = set()
    for value in values:
        number, _, rest = value.partition(" ")
        if not re.fullmatch(rf"[-−]?[\d.,e+-]+[{_MARK}]?", number):
            return ""
        units.add(re.sub(rf"[{_MARK}]| ?\[\d+\]", "", rest).strip())
    return units.pop() if len(units) == 1 else ""


def bare(value: str, unit: str) -> str:
    """A value without the unit that its column's head says."""
    return re.sub(rf" {re.escape(unit)}(?=[{_MARK}]| \[|$)", "", value) if unit else value
