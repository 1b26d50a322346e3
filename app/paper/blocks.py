"""Blocks of a sheet made of strips: tables, legend, key of lines, notes; a block may go on elsewhere."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

from app.paper.marks import Mark, Rule, Sign, Text, clipped, unbroken, wrapped
from app.pens import text_width
from core.diagram.geometry import Box
from core.diagram.plans import LEGEND_CELL, LEGEND_HEAD, LEGEND_ROW
from core.diagram.states import State
from core.papers.blocks import BAND

HEAD, SMALL, ROW = 4.4, 3.43, 5.6  # sizes of heading and text, height of a row [mm]
NOTHING = "–"
MOST_LINES, MOST_HEAD = 24, 6  # of a cell on a sheet, of a heading
CELL = 0.9  # space beside a cell's text [mm]
AFTER = 2.2  # more of it between figures and the words behind them [mm]


@dataclass(frozen=True)
class Strip:
    """A slice of a block, `high` mm, with marks about its upper left corner."""

    high: float
    marks: tuple[Mark, ...]


@dataclass(frozen=True)
class Block:
    """A heading and strips; the heading is repeated where the block goes on elsewhere."""

    title: str
    head: Strip
    body: tuple[Strip, ...]

    @property
    def high(self) -> float:
        return self.head.high + sum(strip.high for strip in self.body)


@dataclass(frozen=True)
class Table:
    """A schedule: headings and rows of plain text; the columns named in `right` hold figures."""

    title: str
    headings: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    right: frozenset[str] = frozenset()
    size: float = SMALL
    air: float = ROW - SMALL  # above and below the text of a row [mm]
    bold: frozenset[int] = frozenset()  # rows
    whole: frozenset[str] = frozenset()  # columns of words that are broken last
    most: int = MOST_LINES  # lines of a cell

    def lead(self, column: int) -> float:
        """Space before a column of words that stands behind one of figures, or the two would read as one."""
        name, before = self.headings[column], self.headings[column - 1]
        return AFTER if column and name not in self.right and before in self.right else 0.0

    def trimmed(self) -> Table:
        """The same without columns in which nothing is said."""
        kept = [i for i in range(len(self.headings)) if any(row[i] not in ("", NOTHING) for row in self.rows)]
        rows = tuple(tuple(row[i] for i in kept) for row in self.rows)
        return replace(self, headings=tuple(self.headings[i] for i in kept), rows=rows)


Builder = Callable[[float], Block]
"""Makes a block for a column so many mm wide."""


def heading(title: str, wide: float, ruled: bool = True) -> tuple[Mark, ...]:
    marks: tuple[Mark, ...] = (Text(clipped(title, wide, HEAD, True), 0, 4.2, HEAD, True, level=2),)
    return (*marks, Rule(0, 6.0, wide, 6.0)) if ruled else marks


def table_block(table: Table, wide: float) -> Block:
    """A table as wide as its column; cells too long for it go on in further lines."""
    widths = column_widths(table, wide)
    top = 6.2
    ruled = heading(table.title, wide, False) if table.title else ()
    top = top if table.title else 0.0
    heads = row_strip(table.headings, widths, table, True)
    head = [*ruled, Rule(0, top, wide, top, 0.5), *(mark.moved(0.0, top) for mark in heads.marks)]
    head += [Rule(0, top + heads.high, wide, top + heads.high, 0.25)]
    strips = []
    for row in table.rows:
        strip = row_strip(row, widths, table, False)
        strips.append(Strip(strip.high, (*strip.marks, Rule(0, strip.high, wide, strip.high, 0.13))))
    return Block(table.title, Strip(top + heads.high, tuple(head)), tuple(strips))


def row_strip(row: Sequence[str], widths: Sequence[float], table: Table, bold: bool) -> Strip:
    """One row; each cell in as many lines as it needs."""
    size = table.size
    lead = 1.22 * size
    out: list[Mark] = []
    most, left = 1, 0.0
    limit = MOST_HEAD if row is table.headings else table.most
    for place_of, (name, text, wide) in enumerate(zip(table.headings, row, widths, strict=True)):
        lead_in = table.lead(place_of)
        lines = [
            line
            for part in text.rstrip(BAND).split(BAND)
            for line in wrapped(part, wide - 2 * CELL - lead_in, size, limit, bold) or [""]
        ]
        most = max(most, len(lines))
        for place, line in enumerate(lines):
            shift = wide - 2 * CELL - text_width(line, size, bold) if name in table.right else 0.0
            out.append(
                Text(
                    line,
                    left + CELL + lead_in + shift,
                    0.5 * table.air + 0.88 * size + lead * place,
                    size,
                    bold,
                )
            )
        left += wide
    return Strip(table.air + size + lead * (most - 1), tuple(out))


def column_widths(table: Table, wide: float) -> list[float]:
    """Column widths: what the texts want; when that is too much, the widest columns of words wrap first.

    Figures keep their width as long as the words can give way to the length of their longest word.
    """
    size = table.size
    cells = [
        [(part, number in table.bold) for number, row in enumerate(table.rows) for part in row[i].split(BAND)]
        for i in range(len(table.headings))
    ]
    heads = [head.split(BAND) for head in table.headings]
    wanted, least = [], []
    for number, (head, texts, name) in enumerate(zip(heads, cells, table.headings, strict=True)):
        more = 2 * CELL + 0.2 + table.lead(number)
        bold = [text_width(part, size, True) for part in head]
        figures = [text_width(text, size, strong) for text, strong in texts]
        wanted.append(max([*bold, *figures]) + more)
        words = [text_width(word, size, strong) for text, strong in texts for word in unbroken(text)]
        banded = len(head) > 1  # a heading that wrapped would shift the bands below it
        words += [text_width(w, size, True) for part in head for w in ([part] if banded else unbroken(part))]
        least.append(max([0.0, *words, *(figures if name in table.right | table.whole else ())]) + more)
    spare = wide - sum(wanted)
    if spare >= 0:
        return [w + spare / len(wanted) for w in wanted]
    if sum(least) > wide:  # a word without a break is cut where the column ends
        limit = max(least)
        while sum(min(each, limit) for each in least) > wide and limit > 4:
            limit -= 0.5
        return [min(each, limit) for each in least]
    limit = max(wanted)
    while sum(max(least[i], min(w, limit)) for i, w in enumerate(wanted)) > wide:
        limit -= 0.5
    found = [max(least[i], min(w, limit)) for i, w in enumerate(wanted)]
    found[max(range(len(found)), key=lambda i: wanted[i] - found[i])] += wide - sum(found)
    return found


class LegendEntry(NamedTuple):
    """A symbol of the legend, with its name."""

    kind: str
    words: str
    state: State
    electric: bool = False


def legend_block(entries: Sequence[LegendEntry], wide: float) -> Block:
    """Symbols with their names, as many beside each other as have room."""
    beside = max(1, int(wide // LEGEND_CELL))
    cell = wide / beside
    strips: list[Strip] = []
    for i in range(0, len(entries), beside):
        marks: list[Mark] = []
        for j, entry in enumerate(entries[i : i + beside]):
            left = j * cell
            area = Box(left, 1.0, left + 13, 9.0)
            marks.append(Sign(entry.kind, area, entry.state, entry.electric))
            lines = wrapped(entry.words, cell - 16, SMALL, 2)
            base = 6.2 if len(lines) == 1 else 4.2
            marks += [Text(line, left + 15, base + 4.1 * k, SMALL) for k, line in enumerate(lines)]
        strips.append(Strip(LEGEND_ROW, tuple(marks)))
    return Block("LEGEND", Strip(LEGEND_HEAD, heading("LEGEND", wide)), tuple(strips))


HEADING = 7.6  # of a heading with its rule [mm]
SHORT = 9.0  # length of a sample beside another [mm]


@dataclass(frozen=True)
class LineSample:
    """A line of the key: pen width [mm], dash [mm], letters in a gap, words; `beside` stand in its row."""

    width: float
    words: str
    dash: tuple[float, ...] = ()
    letters: str = ""
    strokes: int = 0  # across the line on either side of the letters
    beside: tuple[LineSample, ...] = ()


def key_block(samples: Sequence[LineSample], wide: float) -> Block:
    """What the lines mean."""
    strips: list[Strip] = []
    for sample in samples:
        marks: list[Mark] = []
        if sample.letters:
            gap = text_width(sample.letters, SMALL, True)
            middle = 7.0
            marks += [
                Rule(0, 3.0, middle - gap / 2 - 0.8, 3.0, sample.width),
                Rule(middle + gap / 2 + 0.8, 3.0, 14, 3.0, sample.width),
                Text(sample.letters, middle - gap / 2, 3.9, SMALL, True),
            ]
            for number in range(sample.strokes):
                for side in (-1, 1):
                    x = middle + side * (gap / 2 + 1.4 + 0.9 * number)
                    marks.append(Rule(x - 0.35, 4.0, x + 0.35, 2.0, 0.25))
        elif sample.width:
            marks.append(Rule(0, 3.0, 14, 3.0, sample.width, sample.dash))
        indent = 16.5 if sample.width else 0.0
        lines = wrapped(sample.words, wide - indent, SMALL, 9)
        marks += [Text(line, indent, 3.9 + 4.2 * i, SMALL) for i, line in enumerate(lines)]
        at = indent + max(text_width(line, SMALL) for line in lines) + 3.5
        for other in sample.beside:
            marks.append(Rule(at, 3.0, at + SHORT, 3.0, other.width, other.dash))
            marks.append(Text(other.words, at + SHORT + 1.5, 3.9, SMALL))
            at += SHORT + 5.0 + text_width(other.words, SMALL)
        strips.append(Strip(5.0 + 4.2 * (len(lines) - 1), tuple(marks)))
    return Block("LINES", Strip(HEADING, heading("LINES", wide)), tuple(strips))


def notes_block(title: str, notes: Sequence[tuple[str, str, str]], wide: float) -> Block:
    """Numbered notes: (number, place, text); the number stands in a square as it does on the diagram."""
    strips: list[Strip] = []
    for number, place, text in notes:
        lines = wrapped(f"{place}: {text}" if place else text, wide - 9.5, SMALL, 12)
        box = max(5.2, text_width(number, SMALL, True) + 1.6)
        x1, y0, y1 = box, 0.6, 5.8
        marks: list[Mark] = []
        if number:
            marks += [Rule(0, y0, x1, y0, 0.3), Rule(x1, y0, x1, y1, 0.3)]
            marks += [Rule(x1, y1, 0, y1, 0.3), Rule(0, y1, 0, y0, 0.3)]
            marks.append(Text(number, (box - text_width(number, SMALL, True)) / 2, 4.3, SMALL, True))
        marks += [Text(line, 9.5, 4.3 + 4.2 * i, SMALL) for i, line in enumerate(lines)]
        strips.append(Strip(max(6.6, 2.6 + 4.2 * len(lines)), tuple(marks)))
    return Block(title, Strip(HEADING, heading(title, wide)), tuple(strips))
