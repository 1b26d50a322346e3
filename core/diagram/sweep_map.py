"""A grid of runs as a map: a cell a run, the acceptable area outlined. No painting."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from core.diagram.geometry import Box, Segment
from core.diagram.spots import Measure, Row

Place = tuple[int, int]
"""Which value of the setting that goes down, and of that across."""


@dataclass(frozen=True)
class MapCell:
    """A run that is made: whether it keeps its limits, and words for it, the first most telling."""

    ok: bool
    words: tuple[str, ...]


@dataclass(frozen=True)
class SweepChart:
    """What is varied down and across, with the values as typed, and the runs that are made."""

    down: str = ""
    across: str = ""
    rows: tuple[str, ...] = ()
    columns: tuple[str, ...] = ()
    cells: Mapping[Place, MapCell] = field(default_factory=dict)
    empty: str = ""


@dataclass(frozen=True)
class SweepMap:
    """The same laid out: boxes of all cells, lines of text, and the outline of what is acceptable."""

    boxes: Mapping[Place, Box]
    texts: tuple[Row, ...]
    outline: tuple[Segment, ...]

    def at(self, x: float, y: float) -> Place | None:
        """The cell at a point."""
        return next((place for place, box in self.boxes.items() if box.has((x, y))), None)


def lay_out_map(chart: SweepChart, area: Box, measure: Measure, size: float = 10.0) -> SweepMap:
    """Lay a map out in an area with texts of a size [u]; words that do not fit are cut or left out."""
    rows, columns = chart.rows or ("",), chart.columns or ("",)
    lead, pad = 1.3 * size, 0.5 * size
    room = 0.3 * area.width
    labels = [_cut(row, room, measure, size) for row in rows]
    left = area.x0 + max((measure(label, size, False) for label in labels), default=0.0) + 2 * pad
    top = area.y0 + 3 * lead
    wide = (area.x1 - left - pad) / len(columns)
    high = (area.y1 - top - pad) / len(rows)
    boxes = {
        (r, c): Box(left + c * wide, top + r * high, left + (c + 1) * wide, top + (r + 1) * high)
        for r in range(len(rows))
        for c in range(len(columns))
    }
    texts = []
    if chart.rows:
        head = f"down: {chart.down}" if chart.down else ""
        whole = f"{head}   across: {chart.across}" if chart.columns != ("",) else head
        texts.append(
            Row(_cut(whole, area.width - 2 * pad, measure, size), area.x0 + pad, area.y0 + lead, size)
        )
    for r, label in enumerate(labels):
        middle = top + (r + 0.5) * high + 0.35 * size
        texts.append(Row(label, left - pad - measure(label, size, False), middle, size))
    for c, column in enumerate(columns):
        words = _cut(column, wide - pad, measure, size)
        texts.append(
            Row(words, left + c * wide + 0.5 * (wide - measure(words, size, False)), top - pad, size)
        )
    for place, cell in chart.cells.items():
        texts += _words(cell, boxes[place], measure, size)
    return SweepMap(boxes, tuple(texts), tuple(_outline(chart, boxes)))


def _words(cell: MapCell, box: Box, measure: Measure, size: float) -> list[Row]:
    lead = 1.3 * size
    fits = max(1, int((box.height - 0.3 * size) / lead))
    shown = cell.words[:fits]
    first = box.centre[1] - 0.5 * (len(shown) - 1) * lead + 0.35 * size
    found = []
    for k, words in enumerate(shown):
        text = _cut(words, box.width - 0.6 * size, measure, size)
        at = box.centre[0] - 0.5 * measure(text, size, k == 0 and cell.ok)
        found.append(Row(text, at, first + k * lead, size, k == 0 and cell.ok))
    return found


def _cut(text: str, room: float, measure: Measure, size: float) -> str:
    """A text as far as it fits."""
    if measure(text, size, False) <= room:
        return text
    while text and measure(f"{text}…", size, False) > room:
        text = text[:-1]
    return f"{text}…" if text else ""


def _outline(chart: SweepChart, boxes: Mapping[Place, Box]) -> list[Segment]:
    """Edges between what is acceptable and what is not, or not made."""
    good = {place for place, cell in chart.cells.items() if cell.ok}
    found: list[Segment] = []
    for r, c in sorted(good):
        x0, y0, x1, y1 = boxes[r, c]
        sides: dict[Place, Segment] = {
            (r - 1, c): ((x0, y0), (x1, y0)),
            (r + 1, c): ((x0, y1), (x1, y1)),
            (r, c - 1): ((x0, y0), (x0, y1)),
            (r, c + 1): ((x1, y0), (x1, y1)),
        }
        found += [side for beside, side in sides.items() if beside not in good]
    return found
