"""What every sheet carries: border with zones and centring marks, title block, caution. In mm; no diagram."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from app.paper.marks import Mark, Rule, Text, clipped, wrapped
from app.pens import text_width
from core.diagram.geometry import Box
from core.diagram.sheets import Sheet, letters
from core.papers.plant_words import BOX, ONE_LINE

LETTERING = 3.43  # font of which capitals are 2.5 mm high, the least of ISO 3098 [mm]
TRIM = 5.0  # from frame to the line round the zones [mm]
INWARD = 3.5  # of the centring marks, short of the 5 mm of ISO 5457, as tables begin 4 mm inside [mm]


@dataclass(frozen=True)
class Title:
    """The words of the title block (ISO 7200, from memory: owner, number, revision, sheet, title, names)."""

    plant: str
    drawing: str
    case: str
    scale: str
    date: str
    units: str
    revision: str = ""
    number: str = ""
    owner: str = ""
    drawn_by: str = ""
    checked_by: str = ""
    approved_by: str = ""
    bookmark: bool = True


def border(sheet: Sheet) -> list[Mark]:
    """Frame 0.7 mm, trim line, zone ticks with figures above and below, letters left and right.

    Marks at the middle of the sides reach into the frame (ISO 5457, from memory), but below, where the
    title block stands.
    """
    frame = sheet.frame
    outer = frame.grown(TRIM)
    marks: list[Mark] = [*_box(frame, 0.7), *_box(outer, 0.25)]
    for number, (start, end) in enumerate(pairwise(sheet.zone_edges(True))):
        if number:
            marks += [Rule(start, y, start, y + TRIM, 0.25) for y in (outer.y0, frame.y1)]
        marks += _centred(str(number + 1), (start + end) / 2, (outer.y0 + 3.8, frame.y1 + 3.8))
    for number, (start, end) in enumerate(pairwise(sheet.zone_edges(False))):
        if number:
            marks += [Rule(x, start, x + TRIM, start, 0.25) for x in (outer.x0, frame.x1)]
        for x in (outer.x0 + 2.5, frame.x1 + 2.5):
            marks += _centred(letters(number), x, ((start + end) / 2 + 1.25,))
    x, y = sheet.width / 2, sheet.height / 2
    marks += [Rule(x, a, x, b, 0.7) for a, b in ((outer.y0, frame.y0 + INWARD), (frame.y1, outer.y1))]
    marks += [
        Rule(a, y, b, y, 0.7) for a, b in ((outer.x0, frame.x0 + INWARD), (frame.x1 - INWARD, outer.x1))
    ]
    return marks


def _centred(text: str, x: float, baselines: tuple[float, ...]) -> list[Mark]:
    left = x - text_width(text, LETTERING) / 2
    return [Text(text, left, y, LETTERING) for y in baselines]


def _box(area: Box, width: float) -> list[Mark]:
    x0, y0, x1, y1 = area
    return [
        Rule(x0, y0, x1, y0, width), Rule(x1, y0, x1, y1, width),
        Rule(x1, y1, x0, y1, width), Rule(x0, y1, x0, y0, width),
    ]  # fmt: skip


ROWS: tuple[tuple[tuple[str, float, float], ...], ...] = (
    # name of the cell, its share of the width, size of its words [mm]
    (("owner", 0.38, 3.43), ("number", 0.24, 3.43), ("revision", 0.14, 3.43), ("sheet", 0.24, 3.43)),
    (("plant", 0.60, 4.6), ("drawing", 0.40, 3.43)),
    (("case shown", 0.38, 3.43), ("scale", 0.24, 3.43), ("units", 0.14, 3.43), ("date", 0.24, 3.43)),
    (("drawn by", 0.34, 3.43), ("checked by", 0.33, 3.43), ("approved by", 0.33, 3.43)),
)
UPPER, LOWER = 3.6, 8.3  # baselines in a cell: of its name, and of its words or their second line [mm]


def title_words(sheet: Sheet, title: Title, number: int, count: int) -> dict[str, str]:
    """What stands in the cells, by their names."""
    return {
        "owner": title.owner, "number": title.number, "revision": title.revision,
        "sheet": f"{number} of {count}, {sheet.name.upper().replace('_', ' ')}",
        "plant": title.plant, "drawing": title.drawing, "case shown": title.case, "scale": title.scale,
        "units": title.units, "date": title.date, "drawn by": title.drawn_by,
        "checked by": title.checked_by, "approved by": title.approved_by,
    }  # fmt: skip


def title_block(sheet: Sheet, title: Title, number: int, count: int) -> list[Mark]:
    """Four rows of cells, each with its name above its words."""
    area = sheet.title_block
    said = title_words(sheet, title, number, count)
    high = area.height / len(ROWS)
    marks: list[Mark] = [*_box(area, 0.7)]
    for place, row in enumerate(ROWS):
        top, left = area.y0 + place * high, area.x0
        if place:
            marks.append(Rule(area.x0, top, area.x1, top, 0.25))
        for cell, (name, share, size) in enumerate(row):
            right = left + share * area.width
            if cell:
                marks.append(Rule(left, top, left, top + high, 0.25))
            marks.append(Text(name, left + 1.5, top + UPPER, LETTERING, soft=True))
            lines, _ = _fitted(said[name], name, right - left - 3.0, size)
            marks += [line.moved(left + 1.5, top) for line in lines]
            left = right
    return [_marked(mark, title) if isinstance(mark, Text) else mark for mark in marks]


def _marked(mark: Text, title: Title) -> Text:
    """The kind of drawing is what the bookmarks call the sheet."""
    is_title = bool(mark.bold and title.bookmark and mark.text == title.drawing)
    return Text(mark.text, mark.x, mark.y, mark.size, mark.bold, mark.soft, level=int(is_title))


def cut_words(sheet: Sheet, title: Title) -> list[tuple[str, str]]:
    """Cells whose words are too long for the title block, with the words in full."""
    said = title_words(sheet, title, 1, 1)
    wide = sheet.title_block.width
    return [
        (name, said[name])
        for row in ROWS
        for name, share, size in row
        if _fitted(said[name], name, share * wide - 3.0, size)[1]
    ]


def _fitted(words: str, name: str, wide: float, size: float) -> tuple[list[Text], bool]:
    """Words in a cell `wide` mm, and whether they had to be cut.

    At full size, at the least lettering, or in two lines of which the first begins behind the cell's name.
    """
    for each in dict.fromkeys((size, LETTERING)):
        if text_width(words, each, True) <= wide:
            return ([Text(words, 0.0, LOWER, each, True)] if words else []), False
    indent = text_width(name, LETTERING) + 2.0
    first = wrapped(words, wide - indent, LETTERING, 99, True)[0]
    if " " not in words or text_width(first, LETTERING, True) > wide - indent:
        first = ""
    rest = words[len(first) :].strip() if words.startswith(first) else words
    last = clipped(rest, wide, LETTERING, True)
    upper = [Text(first, indent, UPPER, LETTERING, True)] if first else []
    return [*upper, Text(last, 0.0, LOWER, LETTERING, True)], last != rest


def caution(sheet: Sheet, first: bool) -> list[Mark]:
    """At the foot, left of the title block: the whole box on the first sheet, one line on the others."""
    frame, block = sheet.frame, sheet.title_block
    left, right = frame.x0 + 4, block.x0 - 4
    size = LETTERING
    words = BOX if first else ONE_LINE.removeprefix("CAUTION: ")
    label = text_width("CAUTION", size, True)
    beside = right - left > 90
    indent = label + 5 if beside else 2.0
    head = 0.0 if beside else 1.25 * size
    lines = wrapped(words[:1].upper() + words[1:], right - left - indent - 2, size)
    while 1.25 * size * len(lines) + head + 2.5 > block.height - 2 and size > 2.0:
        size -= 0.1
        lines = wrapped(words[:1].upper() + words[1:], right - left - indent - 2, size)
    lead = 1.25 * size
    high = len(lines) * lead + head + 2.5
    area = Box(left, frame.y1 - 2 - high, right, frame.y1 - 2)
    base = area.y0 + 0.9 + size
    marks: list[Mark] = [*_box(area, 0.35), Text("CAUTION", left + 2, base, size, True)]
    marks += [Text(line, left + indent, base + head + lead * i, size) for i, line in enumerate(lines)]
    return marks
