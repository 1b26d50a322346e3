"""Sets a paper of blocks on pages: columns, headings kept with what follows, table headings repeated."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

from app.paper.blocks import Builder, Strip, Table, column_widths, row_strip
from app.paper.marks import Mark, Page, Rule, Text, wrapped
from app.pens import text_width
from core.diagram.geometry import Box
from core.diagram.sheets import Sheet
from core.errors import escaped
from core.papers import blocks as words
from core.papers.blocks import BAND, Paper

SIZE = 3.175  # of all text: 9 pt [mm]
LEAD = 1.22 * SIZE
CHAPTER, SECTION = 4.6, 3.7  # sizes of headings [mm]
MARGIN, BINDING, TOP, FOOT = 12.0, 20.0, 18.0, 12.0  # [mm]
GUTTER = 8.0  # between columns [mm]
INDENT = 5.0
MOST_LINES = 100_000
SPLIT = 20  # lines of a paragraph or a cell that are kept together
AIR = 0.6  # above and below the text of a row [mm]
REFERENCE = re.compile(r"\[(\d+)\]")  # the row of a working
WRITE = 42.0  # room to write on [mm]


@dataclass
class Sheets:
    """Pages of one paper, with what the file says of itself."""

    sheet: Sheet
    title: str
    pages: list[Page] = field(default_factory=list)
    columns: list[Box] = field(default_factory=list)
    info: dict[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class Chunk:
    """A strip that is not divided; `keep` binds it to the next, `head` is repeated above it in a "
    "new column."""

    strip: Strip
    keep: bool = False
    head: Strip | None = None
    space: bool = False
    new_page: bool = False


def areas(sheet: Sheet, count: int) -> list[Box]:
    """Columns of a page."""
    x0, x1 = BINDING, sheet.width - MARGIN
    wide = (x1 - x0 - GUTTER * (count - 1)) / count
    lefts = [x0 + k * (wide + GUTTER) for k in range(count)]
    return [Box(x, TOP, x + wide, sheet.height - FOOT) for x in lefts]


def paged(
    paper: Paper, sheet: Sheet, first: float = 0.0, drawn: Mapping[str, Sequence[Builder]] | None = None
) -> Sheets:
    """The pages of a paper, without header and foot; on the first one `first` mm are left free at the top."""
    out = Sheets(sheet, paper.title, columns=areas(sheet, paper.columns))
    wide = out.columns[0].width
    chunks = [chunk for block in paper.blocks for chunk in _chunks(block, wide, paper, drawn or {})]
    _fill(out, chunks, first)
    _number_contents(out)
    return out


def _fill(out: Sheets, chunks: Sequence[Chunk], first: float) -> None:
    out.pages.append(Page())
    column, top = 0, TOP + first
    y = top
    bottom = out.sheet.height - FOOT
    for place, chunk in enumerate(chunks):
        wanted = _kept(chunks, place, bottom - top)
        fresh = y == top
        if (chunk.new_page and (column or not fresh)) or (y + wanted > bottom and not fresh):
            column += 1
            if column == len(out.columns) or chunk.new_page:
                out.pages.append(Page())
                column, top = 0, TOP
            y, fresh = top, True
        if fresh and chunk.space:
            continue
        x = out.columns[column].x0
        if fresh and chunk.head is not None:
            out.pages[-1].add(chunk.head.marks, x, y)
            y += chunk.head.high
        out.pages[-1].add(chunk.strip.marks, x, y)
        y += chunk.strip.high


def _kept(chunks: Sequence[Chunk], place: int, most: float) -> float:
    """Height of a chunk and what must stay with it; of the chunk alone where that is more than a column."""
    high = 0.0
    for chunk in chunks[place:]:
        high += chunk.strip.high
        if not chunk.keep and not chunk.space:
            break
    return high if high <= most else chunks[place].strip.high


# Blocks to chunks ------------------------------------------------------------------------------------------


def _chunks(
    block: words.Block, wide: float, paper: Paper, drawn: Mapping[str, Sequence[Builder]]
) -> Iterator[Chunk]:
    match block:
        case words.Heading():
            yield from _heading(block, wide)
        case words.Said():
            yield from _said(block, wide)
        case words.Grid():
            yield from _grid(block, wide)
        case words.Caution():
            yield from _caution(block.text, wide)
        case words.Blank():
            yield _blank(block, wide)
        case words.Contents():
            yield from _contents(paper, wide)
        case words.Together(blocks=inner):
            together = [chunk for each in inner for chunk in _chunks(each, wide, paper, drawn)]
            yield from (replace(chunk, keep=True) for chunk in together[:-1])
            yield from together[-1:]
        case words.PageBreak():
            yield Chunk(Strip(0.0, ()), new_page=True)
        case words.Drawn(name=name):
            for build in drawn.get(name, ()):
                picture = build(wide)
                yield Chunk(picture.head, keep=True)
                yield from (Chunk(strip) for strip in picture.body)


def _space(high: float) -> Chunk:
    return Chunk(Strip(high, ()), space=True)


def _heading(block: words.Heading, wide: float) -> Iterator[Chunk]:
    size = CHAPTER if block.level == 1 else SECTION
    if not block.new_page:
        yield _space(4.0 if block.level == 1 else 2.5)
    marks: list[Mark] = []
    lines = wrapped(escaped(block.text), wide, size, MOST_LINES, True) or [""]
    for place, line in enumerate(lines):
        first = place == 0
        marks.append(
            Text(
                line, 0.0, size * (1.0 + 1.25 * place), size, True,
                anchor=(block.anchor or block.text) if first else "", level=block.level if first else 0,
            )
        )  # fmt: skip
    high = size * (1.35 + 1.25 * (len(lines) - 1))
    if block.level == 1:
        marks.append(Rule(0.0, high, wide, high, 0.35))
        high += 1.2
    yield Chunk(Strip(high + 0.8, tuple(marks)), keep=True, new_page=block.new_page)


def _said(block: words.Said, wide: float) -> Iterator[Chunk]:
    left = INDENT * block.indent
    lines = wrapped(escaped(block.text), wide - left, SIZE, MOST_LINES, block.bold) or [""]
    marks = [
        Text(line, left, 0.0, SIZE, block.bold, anchor=block.anchor if place == 0 else "")
        for place, line in enumerate(lines)
    ]
    rows: list[list[Text]] = [[mark] for mark in marks]
    for label, target in block.links:
        last = rows[-1]
        end = max(mark.box.x1 for mark in last) + 1.6
        if end + text_width(label, SIZE) > wide:
            rows.append([])
            end = left
        rows[-1].append(Text(label, end, 0.0, SIZE, soft=True, link=target))
    for start in range(0, len(rows), SPLIT):
        part = rows[start : start + SPLIT]
        placed = [mark.moved(0.0, SIZE + LEAD * k) for k, row in enumerate(part) for mark in row]
        high = LEAD * len(part) + (0.9 if start + SPLIT >= len(rows) else 0.0)
        yield Chunk(Strip(high, tuple(placed)))


def _grid(block: words.Grid, wide: float) -> Iterator[Chunk]:
    # A heading may stand twice: columns are told apart by their place.
    heads = tuple(_unlike(_safe(block.heads)))
    rows = tuple(_safe(row) for row in block.rows)
    table = Table("", heads, rows, frozenset(), SIZE, AIR, block.bold, most=MOST_LINES)
    table = replace(table, right=frozenset(table.headings[k] for k in block.right))
    widths = column_widths(table, wide)
    if block.title:
        yield _space(1.5)
        (title,) = _said(words.Said(block.title, True), wide)
        yield Chunk(title.strip, keep=True)
    ruled = Strip(0.0, ())
    if any(head.strip() for head in block.heads):
        top = row_strip(table.headings, widths, table, True)
        rules = (Rule(0.0, 0.1, wide, 0.1, 0.35), Rule(0.0, top.high, wide, top.high, 0.25))
        ruled = Strip(top.high + 0.4, (*top.marks, *rules))
        yield Chunk(ruled, keep=True)
    for place, row in enumerate(table.rows):
        anchor = block.anchors[place] if place < len(block.anchors) else ""
        yield from _row(table, row, widths, ruled, (place in block.bold, anchor))
    yield _space(1.6)


def _unlike(heads: Sequence[str]) -> Iterator[str]:
    """Headings, a blank behind one that stood before: columns are known by their heading."""
    seen: set[str] = set()
    for head in heads:
        while head in seen:
            head += " "
        seen.add(head)
        yield head


def _row(
    table: Table, row: tuple[str, ...], widths: Sequence[float], head: Strip, look: tuple[bool, str]
) -> Iterator[Chunk]:
    """One row; cells of very many lines are divided."""
    bold, anchor = look
    strip = row_strip(row, widths, table, bold)
    texts = [_linked(mark) for mark in strip.marks if isinstance(mark, Text)]
    if anchor and texts:
        texts[0] = replace(texts[0], anchor=anchor)
    lines = sorted({mark.y for mark in texts})
    if len(lines) <= 2 * SPLIT:
        rule = Rule(0.0, strip.high, sum(widths), strip.high, 0.1)
        yield Chunk(Strip(strip.high, (*texts, rule)), head=head)
        return
    for start in range(0, len(lines), SPLIT):
        part = lines[start : start + SPLIT]
        kept = [mark.moved(0.0, lines[0] - part[0]) for mark in texts if mark.y in part]
        yield Chunk(Strip(part[-1] - part[0] + LEAD + 0.6, tuple(kept)), head=head)


def _linked(mark: Text) -> Text:
    """A text that names the row of a working leads there."""
    found = REFERENCE.search(mark.text)
    return replace(mark, link=f"w{found[1]}") if found else mark


def _safe(row: Sequence[str]) -> tuple[str, ...]:
    return tuple(BAND.join(escaped(part) for part in cell.split(BAND)) for cell in row)


def caution_strip(text: str, wide: float, size: float = SIZE) -> Strip:
    """A caution in its box, with the word in front."""
    label = "CAUTION"
    indent = text_width(label, size, True) + 4.5
    lines = wrapped(escaped(text), wide - indent - 2.0, size, MOST_LINES)
    high = 1.28 * size * len(lines) + 1.8
    marks: list[Mark] = [Text(label, 1.8, 0.7 + size, size, True)]
    marks += [Text(line, indent, 0.7 + size + 1.28 * size * k, size) for k, line in enumerate(lines)]
    marks += [
        Rule(0.0, 0.0, wide, 0.0, 0.35), Rule(wide, 0.0, wide, high, 0.35),
        Rule(wide, high, 0.0, high, 0.35), Rule(0.0, high, 0.0, 0.0, 0.35),
    ]  # fmt: skip
    return Strip(high + 1.6, tuple(marks))


def _caution(text: str, wide: float) -> Iterator[Chunk]:
    yield _space(0.8)
    yield Chunk(caution_strip(text, wide))


def _blank(block: words.Blank, wide: float) -> Chunk:
    """A box to tick, words, and a line to write on."""
    left = INDENT * block.indent
    indent = left + (5.5 if block.tick else 0.0)
    label = f"{block.write} " if block.write and block.write != "_" else ""
    room = text_width(label, SIZE) + WRITE + 3.0 if block.write else 0.0
    lines = wrapped(escaped(block.text), max(wide - indent - room, 30.0), SIZE, MOST_LINES) or [""]
    marks: list[Mark] = [Text(line, indent, SIZE + LEAD * k, SIZE) for k, line in enumerate(lines)]
    if block.tick:
        a, b, side = left + 0.3, 0.7, 2.9
        marks += [
            Rule(a, b, a + side, b, 0.25), Rule(a + side, b, a + side, b + side, 0.25),
            Rule(a + side, b + side, a, b + side, 0.25), Rule(a, b + side, a, b, 0.25),
        ]  # fmt: skip
    high = LEAD * len(lines) + 1.2
    if block.write:
        base = SIZE + LEAD * (len(lines) - 1)
        if label:
            marks.append(Text(label.strip(), wide - WRITE - text_width(label, SIZE), base, SIZE))
        marks.append(Rule(wide - WRITE, base + 0.6, wide, base + 0.6, 0.18))
    return Chunk(Strip(high, tuple(marks)))


def _contents(paper: Paper, wide: float) -> Iterator[Chunk]:
    for block in paper.blocks:
        if isinstance(block, words.Heading) and block.level == 1:
            anchor = block.anchor or block.text
            line = wrapped(escaped(block.text), wide - 14.0, SIZE, 1)[0]
            yield Chunk(Strip(LEAD, (Text(line, 0.0, SIZE, SIZE, link=anchor),)))
    yield _space(2.0)


def _number_contents(out: Sheets) -> None:
    """Page numbers at the right end of the lines that lead to a chapter."""
    where = {
        mark.anchor: number
        for number, page in enumerate(out.pages, 1)
        for mark in page.marks
        if isinstance(mark, Text) and mark.anchor and mark.level == 1
    }
    wide = out.columns[0].width
    for page in out.pages:
        for mark in list(page.marks):
            if isinstance(mark, Text) and mark.link in where and not mark.soft:
                column = max((box for box in out.columns if box.x0 <= mark.x + 0.01), key=lambda b: b.x0)
                number = str(where[mark.link])
                end = column.x0 + wide
                page.add([Text(number, end - text_width(number, SIZE), mark.y, SIZE, link=mark.link)])
