"""The labelled one-line diagram on sheets of paper: laid out, painted, written as PDF, SVG or PNG."""

from __future__ import annotations

import datetime
from collections.abc import Mapping, Sequence
from functools import partial
from pathlib import Path
from typing import Literal, cast

from app.paper.blocks import notes_block
from app.paper.curves import CurveSheet, curve_blocks
from app.paper.decisions import logbook_rows
from app.paper.layout import Papers, laid_out
from app.paper.output import check_out, write
from app.paper.report import report_blocks
from core.diagram.sheets import SIZES, Sheet, sheet_named
from core.diagram.states import SolvedCase
from core.errors import Refusal, escaped
from core.plant.model import Plant
from core.sizing.result import Sized
from core.solve import Solution

__all__ = ["SIZES", "Papers", "Sheet", "check_out", "laid_out", "print_plant", "sheet_named", "write"]


def print_plant(
    plant: Plant,
    solution: SolvedCase | None,
    out: Path,
    sheet: str = "a3",
    *,
    units: Literal["us", "si"] | None = None,
    date: str | None = None,
    solutions: Mapping[str, Solution] | None = None,
    sized: Sequence[Sized] = (),
    curves: Sequence[CurveSheet] = (),
) -> list[Path]:
    """Print a plant in a solved case; gives the files written, the first of them `out`.

    Needs a QGuiApplication. PDF holds all sheets; SVG and PNG are one file a sheet. `solutions` are the
    solved cases by which the logbook's entries are judged; answers of sizing (`sized`) are printed with their
    workings, circulators' curves (`curves`) as plots.

    Raises
    ------
    Refusal
        Unknown sheet or format, a plant file as the target, or a file that cannot be written
    """
    check_out(out)
    size = sheet_named(sheet)
    if size is None:
        raise Refusal("", f"sheet {sheet!r}", f"one of {', '.join(SIZES)}")
    shown = units or cast(Literal["us", "si"], plant.units)
    day = date or datetime.date.today().strftime("%-d %b %Y")
    logbook = logbook_rows(plant, solutions or {}) if plant.logbook else []
    more = [*curve_blocks(curves, shown), *(report_blocks(sized, shown) if sized else ())]
    if plant.accepted:
        from core.review.paper_lines import HEAD, accepted_on_file

        rows = [("", escaped(one.at), escaped(one.words)) for one in accepted_on_file(plant)]
        more += [partial(notes_block, HEAD.upper(), rows)] if rows else []
    return write(laid_out(plant, solution, size, shown, day, logbook, more), out)
