"""Blocks of a sheet made of strips: tables, legend, key of lines, notes; a block may go on elsewhere."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from app.paper.marks import Mark, Rule, Sign, Text, clipped, wrapped
from app.pens import text_width
from core.diagram.geometry import Box
from core.diagram.plans import LEGEND_CELL, LEGEND_HEAD, LEGEND_ROW
from core.diagram.states import State

HEAD, SMALL, ROW = 3.2, 2.5, 4.7  # sizes of heading and text, height of a row [mm]
NOTHING = "–"
CELL = 0.9  # space beside a cell's text [mm]


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

    def trimmed(self) -> Table:
        """The same without columns in which nothing is said."""
        kept = [i for i in range(len(self.headings)) if any(row[i] not in ("", NOTHING) for row in self.rows)]
        rows = tuple(tuple(row[i] for i in kept) for row in self.rows)
        return replace(self, headings=tuple(self.headings[i] for i in kept), rows=rows)


Builder = Callable[[float], Block]
"""Makes a block for a column so many mm wide."""


def heading(title: str, wide: float, ruled: bool = True) -> tuple[Mark, ...]:
    marks: tuple[Mark, ...] = (Text(clipped(title, wide, HEAD, True), 0, 3.2, HEAD, True),)
    return (*marks, Rule(0, 5.0, wide, 5.0)) if ruled else marks


def table_block(table: Table, wide: float) -> Block:
    """A table as wide as its column; cells too long for it go on in further lines."""
    widths = column_widths(table, wide)
    top = 5.2
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
    lead = 1.3 * size
    out: list[Mark] = []
    most, left = 1, 0.0
    for name, text, wide in zip(table.headings, row, widths, strict=True):
        lines = wrapped(text, wide - 2 * CELL, size, bold=bold)
        most = max(most, len(lines))
        for place, line in enumerate(lines):
            shift = wide - 2 * CELL - text_width(line, size, bold) if name in table.right else 0.0
            out.append(
                Text(line, left + CELL + shift, 0.5 * (ROW - SMALL) + 0.88 * size + lead * place, size, bold)
            )
        left += wide
    return Strip(ROW - SMALL + size + lead * (most - 1), tuple(out))


def column_widths(table: Table, wide: float) -> list[float]:
    """Column widths: what the texts want; when that is too much, the widest columns of words wrap first.

    Figures keep their width as long as the words can give way to the length of their longest word.
    """
    size, more = table.size, 2 * CELL + 0.2
    cells = [[row[i] for row in table.rows] for i in range(len(table.headings))]
    wanted, least = [], []
    for head, texts in zip(table.headings, cells, strict=True):
        bold = text_width(head, size, True)
        wanted.append(max([bold, *(text_width(text, size) for text in texts)]) + more)
        words = [text_width(word, size) for text in texts for word in text.split()]
        heads = [text_width(word, size, True) for word in head.split()]
        figures = [text_width(text, size) for text in texts] if head in table.right else []
        least.append(max([0.0, *words, *heads, *figures]) + more)
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


def legend_block(entries: Sequence[tuple[str, str, State]], wide: float) -> Block:
    """Symbols with their names, as many beside each other as have room: (kind, words, state)."""
    beside = max(1, int(wide // LEGEND_CELL))
    cell = wide / beside
    strips: list[Strip] = []
    for i in range(0, len(entries), beside):
        marks: list[Mark] = []
        for j, (kind, words, state) in enumerate(entries[i : i + beside]):
            left = j * cell
            marks.append(Sign(kind, Box(left, 1.0, left + 13, 9.0), state))
            lines = wrapped(words, cell - 16, SMALL, 2)
            base = 5.9 if len(lines) == 1 else 4.3
            marks += [Text(line, left + 15, base + 3.1 * k, SMALL) for k, line in enumerate(lines)]
        strips.append(Strip(LEGEND_ROW, tuple(marks)))
    return Block("LEGEND", Strip(LEGEND_HEAD, heading("LEGEND", wide)), tuple(strips))


SHORT = 9.0  # length of a sample beside another [mm]


@dataclass(frozen=True)
class LineSample:
    """A line of the key: pen width [mm], dash [mm], letters in a gap, words; `beside` stand in its row."""

    width: float
    words: str
    dash: tuple[float, ...] = ()
    letters: str = ""
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
                Rule(0, 2.6, middle - gap / 2 - 0.8, 2.6, sample.width),
                Rule(middle + gap / 2 + 0.8, 2.6, 14, 2.6, sample.width),
                Text(sample.letters, middle - gap / 2, 3.5, SMALL, True),
            ]
        elif sample.width:
            marks.append(Rule(0, 2.6, 14, 2.6, sample.width, sample.dash))
        indent = 16.5 if sample.width else 0.0
        lines = wrapped(sample.words, wide - indent, SMALL, 3)
        marks += [Text(line, indent, 3.5 + 3.2 * i, SMALL) for i, line in enumerate(lines)]
        at = indent + max(text_width(line, SMALL) for line in lines) + 3.5
        for other in sample.beside:
            marks.append(Rule(at, 2.6, at + SHORT, 2.6, other.width, other.dash))
            marks.append(Text(other.words, at + SHORT + 1.5, 3.5, SMALL))
            at += SHORT + 5.0 + text_width(other.words, SMALL)
        strips.append(Strip(3.9 + 3.2 * (len(lines) - 1), tuple(marks)))
    return Block("LINES", Strip(6.6, heading("LINES", wide)), tuple(strips))


def notes_block(title: str, notes: Sequence[tuple[str, str, str]], wide: float) -> Block:
    """Numbered notes: (number, place, text); the number stands in a square as it does on the diagram."""
    strips: list[Strip] = []
    for number, place, text in notes:
        lines = wrapped(f"{place}: {text}" if place else text, wide - 8.5, SMALL, 6)
        box = max(4.2, text_width(number, SMALL, True) + 1.4)
        x1, y0, y1 = box, 0.6, 4.8
        marks: list[Mark] = [
            Rule(0, y0, x1, y0, 0.3), Rule(x1, y0, x1, y1, 0.3),
            Rule(x1, y1, 0, y1, 0.3), Rule(0, y1, 0, y0, 0.3),
            Text(number, (box - text_width(number, SMALL, True)) / 2, 3.6, SMALL, True),
        ]  # fmt: skip
        marks += [Text(line, 8.5, 3.6 + 3.3 * i, SMALL) for i, line in enumerate(lines)]
        strips.append(Strip(max(5.8, 2.6 + 3.3 * len(lines)), tuple(marks)))
    return Block(title, Strip(6.6, heading(title, wide)), tuple(strips))
