"""What every sheet carries: border with zones, title block, caution. In mm; no diagram, no tables."""

from __future__ import annotations

from dataclasses import dataclass

from app.paper.marks import Mark, Rule, Text, wrapped
from app.pens import text_width
from core.diagram.geometry import Box
from core.diagram.sheets import ZONE, Sheet, letters

CAUTION = (
    "Hot water scalds; lukewarm standing water breeds Legionella; pressure, cross-connections, gas and "
    "electricity can kill. This sheet is a plan, not an approval. Local code, the authority having "
    "jurisdiction and licensed trades decide: mixing, relief and its piping, backflow protection, gas, "
    "venting and wiring are theirs to settle before anything is filled or fired."
)


@dataclass(frozen=True)
class Title:
    """The words of the title block."""

    plant: str
    drawing: str
    case: str
    scale: str
    date: str
    units: str
    revision: str = ""
    drawn_by: str = ""
    checked_by: str = ""


def border(sheet: Sheet) -> list[Mark]:
    """Frame 0.7 mm, trim line, zone ticks with figures above and below, letters left and right."""
    frame = sheet.frame
    outer = frame.grown(5.0)
    marks: list[Mark] = [*_box(frame, 0.7), *_box(outer, 0.25)]
    columns, rows = sheet.zone_lines(True), sheet.zone_lines(False)
    for number, start in enumerate(columns, 1):
        if frame.x0 < start < frame.x1:
            marks += [Rule(start, y, start, y + 5, 0.25) for y in (outer.y0, frame.y1)]
        middle = (max(start, frame.x0) + min(start + ZONE, frame.x1)) / 2
        marks += _centred(str(number), middle, (outer.y0 + 3.4, frame.y1 + 3.4))
    for number, start in enumerate(rows):
        if frame.y0 < start < frame.y1:
            marks += [Rule(x, start, x + 5, start, 0.25) for x in (outer.x0, frame.x1)]
        middle = (max(start, frame.y0) + min(start + ZONE, frame.y1)) / 2
        for x in (outer.x0 + 2.5, frame.x1 + 2.5):
            marks += _centred(letters(number), x, (middle + 0.9,))
    return marks


def _centred(text: str, x: float, baselines: tuple[float, ...]) -> list[Mark]:
    left = x - text_width(text, 2.5) / 2
    return [Text(text, left, y, 2.5) for y in baselines]


def _box(area: Box, width: float) -> list[Mark]:
    x0, y0, x1, y1 = area
    return [
        Rule(x0, y0, x1, y0, width), Rule(x1, y0, x1, y1, width),
        Rule(x1, y1, x0, y1, width), Rule(x0, y1, x0, y0, width),
    ]  # fmt: skip


def title_block(sheet: Sheet, title: Title, number: int, count: int) -> list[Mark]:
    """Three rows: plant, drawing, case; beside them sheet, revision, date, units, names."""
    area = sheet.title_block
    third = area.height / 3
    marks: list[Mark] = [*_box(area, 0.7)]
    marks += [Rule(area.x0, area.y0 + third * i, area.x1, area.y0 + third * i, 0.25) for i in (1, 2)]
    a, b = area.x0 + area.width * 0.59, area.x0 + area.width * 0.795
    c = area.x0 + area.width * 0.3
    marks += [Rule(x, area.y0, x, area.y1, 0.25) for x in (a, b)]
    marks += [Rule(c, area.y0 + 2 * third, c, area.y1, 0.25)]
    cells = (
        ("plant", title.plant, 0, area.x0, a, 3.6), ("drawing", title.drawing, 1, area.x0, a, 3.2),
        ("case shown", title.case, 2, area.x0, c, 2.8), ("scale", title.scale, 2, c, a, 2.4),
        ("sheet", f"{number} of {count}, {sheet.name.upper().replace('_', ' ')}", 0, a, b, 2.8),
        ("revision", title.revision, 0, b, area.x1, 2.8),
        ("date", title.date, 1, a, b, 2.8), ("units", title.units, 1, b, area.x1, 2.8),
        ("drawn by", title.drawn_by, 2, a, b, 2.8), ("checked by", title.checked_by, 2, b, area.x1, 2.8),
    )  # fmt: skip
    for label, words, row, left, right, size in cells:
        top = area.y0 + row * third
        marks.append(Text(label, left + 1.5, top + 2.9, 2.0, soft=True))
        bold = label != "scale"
        marks += _fitted(words, left + 1.5, right - 1.5, top, size, bold)
    return marks


def _fitted(words: str, left: float, right: float, top: float, size: float, bold: bool) -> list[Mark]:
    """Words in a cell: at full size, smaller, in two lines, or cut, whichever fits first."""
    wide = right - left
    for smaller in (size, size * 0.85):
        if text_width(words, smaller, bold) <= wide:
            return [Text(words, left, top + 8.0, smaller, bold)] if words else []
    lines = wrapped(words, wide, 2.3, 2, bold)
    return [Text(line, left, top + 6.0 + 2.9 * i, 2.3, bold) for i, line in enumerate(lines)]


def caution(sheet: Sheet) -> list[Mark]:
    """The box at the foot, left of the title block."""
    frame, block = sheet.frame, sheet.title_block
    left, right = frame.x0 + 4, block.x0 - 4
    label = text_width("CAUTION", 2.8, True)
    beside = right - left > 110
    indent = label + 6 if beside else 3.0
    wide = right - left - indent - 3
    size = 2.4
    lines = wrapped(CAUTION, wide, size)
    while len(lines) * 1.4 * size > 31.5 - 4 - (0 if beside else 4) and size > 1.6:
        size -= 0.1
        lines = wrapped(CAUTION, wide, size)
    lead = 1.4 * size
    high = len(lines) * lead + 3.0 + (0.0 if beside else 4.0)
    area = Box(left, frame.y1 - 3 - high, right, frame.y1 - 3)
    first = area.y0 + 1.2 + size + (0.0 if beside else 4.0)
    marks: list[Mark] = [*_box(area, 0.35), Text("CAUTION", left + 3, area.y0 + 1.2 + 2.5, 2.8, True)]
    marks += [Text(line, left + indent, first + lead * i, size) for i, line in enumerate(lines)]
    return marks
