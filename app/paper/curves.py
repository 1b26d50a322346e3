"""Circulators' curves for the sheet: the plot of the window's pane, its table, what a second one does."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial

from app.paper.blocks import HEADING, SMALL, Block, Builder, Strip, heading
from app.paper.marks import Graph, Mark, Rule, Text, clipped, wrapped
from app.pens import text_width
from core import units
from core.diagram.annotations import Display
from core.diagram.axes import lay_out
from core.diagram.geometry import Box
from core.errors import escaped
from core.papers.plant_words import by_tag
from core.plant.model import Case, Plant
from core.sizing.second_circulator.available import curve_of
from core.sizing.second_circulator.chart import Curves, Scale, curves_of, figure
from core.sizing.second_circulator.found import Found
from core.sizing.second_circulator.study import Bench, study
from core.sizing.second_circulator.worker import system_seen
from core.vocabulary import Trait

UNIT = 0.343  # [mm] of a plot's unit: capitals of a text of 10 are 2.5 mm high
HIGH = 69.0  # of a plot [mm]
ASIDE = 62.0  # of the table beside it [mm]
LEAD = 4.3


@dataclass(frozen=True)
class CurveSheet:
    """One circulator's curves, and the sentences on a second one."""

    name: str
    label: str
    curves: Curves
    told: tuple[str, ...]


def curve_sheets(plant: Plant, case: Case, display: Display) -> list[CurveSheet]:
    """Curves of every circulator that has one, in a case; those that run with the system and a second one."""
    names = [i.id for i in by_tag(plant.with_trait(Trait.DRIVES))]
    names = [name for name in names if curve_of(plant.items[name]) is not None]
    if not names:
        return []
    bench = Bench(plant, case)
    out = []
    for name in names:
        figures = bench.before.items.get(name)
        seconds: dict[str, Found] = {}
        if bench.before.running(name):
            found = study(plant, beside=name, others=False, bench=bench).found
            seconds = {one.place.how: one for one in found if one.state != "blocked"}
        system = system_seen(bench, name)
        curves = curves_of(plant, name, figures, display, system, seconds)
        out.append(CurveSheet(name, plant.items[name].label, curves, tuple(_told(seconds))))
    return out


def _told(seconds: dict[str, Found]) -> list[str]:
    """A sentence on each way to put a second one in."""
    said = [(one.title, one.verdict.replace("Adds", "adds", 1)) for one in seconds.values()]
    return [f"A second one {title}: {verdict}." for title, verdict in said]


def curve_blocks(sheets: Sequence[CurveSheet], display: Display) -> list[Builder]:
    """A block for each circulator."""
    return [partial(_block, sheet, display) for sheet in sheets]


def _block(sheet: CurveSheet, display: Display, wide: float) -> Block:
    words = " · ".join(part for part in (f"CURVES OF {sheet.name}", sheet.label) if part)
    title = escaped(words)
    body: list[Mark] = [_graph(sheet.curves, wide - ASIDE - 4.0)]
    left = wide - ASIDE
    body += _table(sheet.curves, display, left)
    y = 8.0 + 5.4 * (len(sheet.curves.rows) + 1)
    said = f"It {sheet.curves.said}." if sheet.curves.said and sheet.curves.rows else ""
    for sentence in (text for text in (said, *sheet.told) if text):
        for line in wrapped(escaped(sentence), ASIDE, SMALL, 9):
            body.append(Text(line, left, y, SMALL))
            y += LEAD
        y += 1.2
    return Block(title, Strip(HEADING, heading(title, wide)), (Strip(max(HIGH + 2.0, y + 2.0), tuple(body)),))


def _graph(curves: Curves, wide: float) -> Graph:
    area = Box(0.0, 0.0, wide / UNIT, HIGH / UNIT)
    return Graph(lay_out(curves.chart, area, text_width, 10.0), Box(0.0, 1.0, wide, HIGH + 1.0), UNIT)


def _table(curves: Curves, display: Display, left: float) -> list[Mark]:
    """One and two: flow, head, watts; words clipped, figures to the right."""
    scale = Scale(display)
    heads = ("", units.sign_of(scale.flow_unit), units.sign_of(scale.head_unit), "W")
    ends = (left + 33.0, left + 43.0, left + 52.0, left + ASIDE)
    out: list[Mark] = []
    for text, end in list(zip(heads, ends, strict=True))[1:]:
        out.append(Text(text, end - text_width(text, SMALL, True), 4.6, SMALL, True))
    out.append(Rule(left, 6.0, left + ASIDE, 6.0, 0.25))
    if not curves.rows:
        out.append(Text("off in this case", left, 10.4, SMALL))
    for number, row in enumerate(curves.rows, 1):
        y = 5.0 + 5.4 * number
        flow, head = scale.point((row.flow, row.head))
        watts = "–" if row.power is None else f"{row.power:.0f}"
        out.append(Text(clipped(row.words, 25.5, SMALL), left, y, SMALL))
        for text, end in zip((figure(flow), figure(head), watts), ends[1:], strict=True):
            out.append(Text(text, end - text_width(text, SMALL), y, SMALL))
    return out
