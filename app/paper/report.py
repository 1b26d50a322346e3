"""What a design report adds to the sheet: every size with its sentence, its options and its working."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from functools import cache, partial
from itertools import groupby

from app.paper.blocks import SMALL, Block, Builder, Strip, heading
from app.paper.marks import Mark, Rule, Text, clipped, wrapped
from app.pens import text_width
from core.diagram.annotations import Display
from core.errors import escaped
from core.sizing.result import Sized
from core.sizing.table import Group, grouped, rows, title, told_once
from core.working import lines

FINE = 2.1  # text of tables and workings [mm]
LEAD = 3.3  # of sentences [mm]
FINE_LEAD = 2.8
INDENT = 2.2
VERDICT = 0.22  # least share of a table's width for its last column
DEEPEST = 9  # steps of indent, beyond which a line starts no further in


def report_blocks(sized: Sequence[Sized], units: Display) -> list[Builder]:
    """Blocks of sentences and options, then of the workings, then of the cautions."""
    order = {what: place for place, what in enumerate(dict.fromkeys(one.what for one in sized))}
    families = [
        (what, list(grouped(answers)))
        for what, answers in groupby(sorted(sized, key=lambda one: order[one.what]), key=lambda one: one.what)
    ]
    told: set[tuple[str, object]] = set()
    out = [_builder(title(what), partial(_answers, groups, units)) for what, groups in families]
    for what, groups in families:
        if text := list(_tree(groups, units, told)):
            out.append(_builder(f"working: {title(what)}", partial(_texts, text)))
    cautions = list(dict.fromkeys(text for one in sized for text in one.cautions))
    if cautions:
        out.append(_builder("cautions", lambda wide: [_paragraph(text, wide) for text in cautions]))
    return out


def _builder(words: str, body: Callable[[float], Iterable[Strip]]) -> Builder:
    name = words.upper()
    # The layout asks again for each column it goes on in; some run over ten sheets.
    return cache(lambda wide: Block(name, Strip(6.6, heading(name, wide)), tuple(body(wide))))


def _answers(groups: Iterable[Group], units: Display, wide: float) -> Iterator[Strip]:
    for group in groups:
        yield _paragraph(group.sentence, wide)
        table = list(_table(rows(group.first, units), wide))
        yield from table
        if table:
            yield Strip(1.2, ())


def _paragraph(text: str, wide: float) -> Strip:
    shown = wrapped(escaped(text), wide, SMALL)
    marks: list[Mark] = [Text(line, 0, 3.4 + LEAD * i, SMALL) for i, line in enumerate(shown)]
    return Strip(1.4 + LEAD * len(shown), tuple(marks))


def _table(table: list[tuple[str, ...]], wide: float) -> Iterator[Strip]:
    """Options, one a strip; the last column takes what room is left, over several lines if need be."""
    if not table:
        return
    widths = [
        max(text_width(row[k], FINE, i == 0 or bool(row[0] == "→")) for i, row in enumerate(table)) + 1.6
        for k in range(len(table[0]) - 1)
    ]
    limit, room = 0.32 * wide, (1.0 - VERDICT) * wide - INDENT
    while sum(min(each, limit) for each in widths) > room and limit > 4.0:
        limit -= 0.5  # the widest give way first
    widths = [min(each, limit) for each in widths]
    lefts = [INDENT + sum(widths[:k]) for k in range(len(widths) + 1)]
    for i, row in enumerate(table):
        bold = i == 0 or row[0] == "→"
        last = wrapped(escaped(row[-1]), max(wide - lefts[-1], 12.0), FINE, 4, bold) or [""]
        marks: list[Mark] = [
            Text(clipped(escaped(cell), each - 0.8, FINE, bold), left, 2.4, FINE, bold)
            for cell, left, each in zip(row[:-1], lefts, widths, strict=False)
            if cell
        ]
        marks += [
            Text(line, lefts[-1], 2.4 + FINE_LEAD * k, FINE, bold) for k, line in enumerate(last) if line
        ]
        high = 0.6 + FINE_LEAD * len(last)
        if i == 0:
            marks.append(Rule(INDENT, high, wide, high, 0.1))
        yield Strip(high + (0.6 if i == 0 else 0.0), tuple(marks))


def _tree(
    groups: Iterable[Group], units: Display, told: set[tuple[str, object]]
) -> Iterator[tuple[int, str]]:
    """Lines of the workings; what was told before is only named."""
    for group in groups:
        working = group.first.working
        if working is not None:
            yield from lines(told_once(working, told), units)


def _texts(text: Sequence[tuple[int, str]], wide: float) -> Iterator[Strip]:
    for depth, line in text:
        left = INDENT * min(depth, DEEPEST)
        shown = wrapped(escaped(line), wide - left, FINE)
        top = 1.0 if depth == 0 else 0.0
        marks = [
            Text(part, left, top + 2.3 + FINE_LEAD * i, FINE, depth == 0) for i, part in enumerate(shown)
        ]
        yield Strip(top + FINE_LEAD * max(len(shown), 1), tuple(marks))
