"""What every sheet carries: border with zones and centring marks, title block, caution. In mm; no diagram."""

from __future__ import annotations

from dataclasses import dataclass

from app.paper.marks import Mark, Rule, Text, clipped, wrapped
from app.pens import text_width
from core.diagram.geometry import Box
from core.diagram.sheets import ZONE, Sheet, letters
from core.papers.plant_words import BOX, ONE_LINE

LETTERING = 3.43  # font of which capitals are 2.5 mm high, the least of ISO 3098 [mm]
LABEL = 2.5  # of the words that name a cell of the title block [mm]
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
    columns, rows = sheet.zone_lines(True), sheet.zone_lines(False)
    for number, start in enumerate(columns, 1):
        if frame.x0 < start < frame.x1:
            marks += [Rule(start, y, start, y + TRIM, 0.25) for y in (outer.y0, frame.y1)]
        middle = (max(start, frame.x0) + min(start + ZONE, frame.x1)) / 2
        marks += _centred(str(number), middle, (outer.y0 + 3.8, frame.y1 + 3.8))
    for number, start in enumerate(rows):
        if frame.y0 < start < frame.y1:
            marks += [Rule(x, start, x + TRIM, start, 0.25) for x in (outer.x0, frame.x1)]
        middle = (max(start, frame.y0) + min(start + ZONE, frame.y1)) / 2
        for x in (outer.x0 + 2.5, frame.x1 + 2.5):
            marks += _centred(letters(number), x, (middle + 1.25,))
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
    (("owner", 0.40, 3.43), ("number", 0.26, 3.43), ("revision", 0.12, 3.43), ("sheet", 0.22, 3.43)),
    (("plant", 0.58, 4.6), ("drawing", 0.42, 3.43)),
    (("case shown", 0.40, 3.43), ("scale", 0.26, 3.43), ("units", 0.12, 3.43), ("date", 0.22, 3.43)),
    (("drawn by", 0.34, 3.43), ("checked by", 0.33, 3.43), ("approved by", 0.33, 3.43)),
)


def title_block(sheet: Sheet, title: Title, number: int, count: int) -> list[Mark]:
    """Four rows of cells, each with its name above its words."""
    area = sheet.title_block
    said = {
        "owner": title.owner, "number": title.number, "revision": title.revision,
        "sheet": f"{number} of {count}, {sheet.name.upper().replace('_', ' ')}",
        "plant": title.plant, "drawing": title.drawing, "case shown": title.case, "scale": title.scale,
        "units": title.units, "date": title.date, "drawn by": title.drawn_by,
        "checked by": title.checked_by, "approved by": title.approved_by,
    }  # fmt: skip
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
            marks.append(Text(name, left + 1.5, top + 2.9, LABEL, soft=True))
            marks += _fitted(said[name], left + 1.5, right - 1.5, top, size)
            left = right
    return [_marked(mark, title) if isinstance(mark, Text) else mark for mark in marks]


def _marked(mark: Text, title: Title) -> Text:
    """The kind of drawing is what the bookmarks call the sheet."""
    is_title = bool(mark.bold and title.bookmark and mark.text == title.drawing)
    return Text(mark.text, mark.x, mark.y, mark.size, mark.bold, mark.soft, level=int(is_title))


def _fitted(words: str, left: float, right: float, top: float, size: float) -> list[Mark]:
    """Words in a cell: at full size, at the least lettering, or in two lines; cut where even that "
    "is too much."""
    wide = right - left
    for each in dict.fromkeys((size, LETTERING)):
        if text_width(words, each, True) <= wide:
            return [Text(words, left, top + 8.2, each, True)] if words else []
    lines = wrapped(words, wide, LETTERING - 0.4, 2, True)
    if len(lines) == 1:
        return [Text(clipped(lines[0], wide, LETTERING, True), left, top + 8.2, LETTERING, True)]
    return [Text(line, left, top + 6.2 + 3.1 * i, LETTERING - 0.4, True) for i, line in enumerate(lines)]


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
