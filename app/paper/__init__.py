"""The labelled one-line diagram on sheets of paper: laid out, painted, written as PDF, SVG or PNG."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import Literal

from app.paper.blocks import Builder, Table, notes_block, table_block
from app.paper.curves import CurveSheet, curve_blocks
from app.paper.decisions import logbook_rows
from app.paper.layout import Papers, laid_out
from app.paper.output import check_out, write
from core.diagram.sheets import SIZES, Sheet, sheet_named
from core.diagram.states import SolvedCase
from core.errors import Refusal, escaped
from core.papers.day import today
from core.papers.plant_words import display_of
from core.papers.report import items_grid
from core.papers.report_front import loads_grid
from core.papers.settings import readings_grid
from core.plant.model import Plant
from core.solve import Solution

__all__ = [
    "SIZES",
    "Papers",
    "Sheet",
    "check_out",
    "laid_out",
    "print_plant",
    "sheet_named",
    "sheets_of",
    "usual_sheet",
    "write",
]


def print_plant(
    plant: Plant,
    solution: SolvedCase | None,
    out: Path,
    sheet: str | None = None,
    *,
    units: Literal["us", "si"] | None = None,
    date: str | None = None,
    solutions: Mapping[str, Solution] | None = None,
    curves: Sequence[CurveSheet] = (),
    full: bool = True,
    side: Sequence[Solution] = (),
) -> list[Path]:
    """Print a plant in a solved case; gives the files written, the first of them `out`.

    Needs a QGuiApplication. PDF holds all sheets; SVG and PNG are one file a sheet. `solutions` are the
    solved cases by which the logbook's entries are judged; circulators' curves (`curves`) become plots,
    cases (`side`) tables beside each other. `full`: lettering of full height, on as many sheets
    as that takes.

    Raises
    ------
    Refusal
        Unknown sheet or format, a plant file as the target, or a file that cannot be written
    """
    check_out(out)
    sheet = sheet or usual_sheet(plant)
    size = sheet_named(sheet)
    if size is None:
        raise Refusal("", f"sheet {sheet!r}", f"one of {', '.join(SIZES)}")
    papers = sheets_of(
        replace(plant, units=units or plant.units), solution, size,
        date=date, solutions=solutions, curves=curves, full=full, side=side,
    )  # fmt: skip
    return write(papers, out)


def sheets_of(
    plant: Plant,
    solution: SolvedCase | None,
    size: Sheet,
    *,
    date: str | None = None,
    solutions: Mapping[str, Solution] | None = None,
    curves: Sequence[CurveSheet] = (),
    full: bool = True,
    side: Sequence[Solution] = (),
) -> Papers:
    """The sheets of a plant in a solved case, in the plant's own units; what is asked as in `print_plant`."""
    shown = display_of(plant)
    day = date or today()
    logbook = logbook_rows(plant, solutions or {}) if plant.logbook else []
    more = [*(_side_by_side(plant, side) if side else ()), *curve_blocks(curves, shown)]
    if plant.accepted:
        from core.review.paper_lines import HEAD, accepted_on_file

        lines = [("", escaped(one.at), escaped(one.words)) for one in accepted_on_file(plant)]
        more += [partial(notes_block, HEAD.upper(), lines)] if lines else []
    return laid_out(plant, solution, size, shown, day, logbook, more, full)


def _side_by_side(plant: Plant, solutions: Sequence[Solution]) -> Iterator[Builder]:
    """What several cases come to, beside each other."""
    grids = (
        loads_grid(plant, solutions),
        items_grid(plant, solutions),
        readings_grid(plant, solutions),
    )
    for grid in (each for each in grids if each.rows):
        rows = tuple(tuple(escaped(cell) for cell in row) for row in grid.rows)
        table = Table(grid.title.upper(), tuple(escaped(head) for head in grid.heads), rows)
        yield partial(table_block, table)


def usual_sheet(plant: Plant) -> str:
    """The sheet of a drawing where none is named: tabloid of a plant in US units, else A3."""
    return "tabloid" if plant.units == "us" else "a3"
