"""Makes what the page "Papers" shows: in the background what takes long, on the window's thread the pages."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, cast

from app.background import Job
from core.errors import WetsideError
from core.papers.day import today

if TYPE_CHECKING:
    from app.paper.curves import CurveSheet
    from app.paper.layout import Papers
    from app.paper.lettering import Lettering
    from app.paper.pager import Sheets
    from core.papers.blocks import Paper
    from core.papers.prices import Price
    from core.papers.takeoff import Takeoff
    from core.plant.model import Plant
    from core.solve import Solution


@dataclass(frozen=True)
class Wanted:
    """Which paper, in which case, and what of it."""

    kind: str
    case: str
    side: bool = False
    curves: bool = False
    prices: Path | None = None


@dataclass(frozen=True)
class Made:
    """What the background has made of a plant: blocks, cases, curves, counted parts; or why it could not."""

    wanted: Wanted
    plant: Plant
    solutions: Mapping[str, Solution]
    paper: Paper | None = None
    curves: tuple[CurveSheet, ...] = ()
    counted: Takeoff | None = None
    trouble: str = ""


def make(job: Job, plant: Plant, known: Mapping[str, Solution], wanted: Wanted) -> None:
    """Report a `Made`; cases that are not solved yet are solved first."""
    try:
        job.report(_made(plant, known, wanted))
    except WetsideError as trouble:
        job.report(Made(wanted, plant, known, trouble=str(trouble)))


def _made(plant: Plant, known: Mapping[str, Solution], wanted: Wanted) -> Made:
    from app.paper.curves import curve_sheets
    from core.papers.plant_words import display_of
    from core.papers.prices import priced, read_prices
    from core.papers.takeoff import takeoff
    from core.questions.resting import marked
    from core.solve import solve_plant

    drawing = wanted.kind == "drawing"
    cases = {case.name: case for case in plant.solve_cases}
    asked = [name for name in cases if not drawing or wanted.side or name == wanted.case]
    missing = [name for name in asked if name not in known]
    found = {**known, **{s.case: s for s in solve_plant(plant, missing)}} if missing else known
    found = {one.case: one for one in marked(plant, found.values())}
    curves: tuple[CurveSheet, ...] = ()
    if (drawing and wanted.curves) or wanted.kind == "report":
        curves = tuple(curve_sheets(plant, cases[wanted.case], display_of(plant)))
    if drawing:
        return Made(wanted, plant, found, curves=curves)
    prices = [] if wanted.prices is None else read_prices(wanted.prices)
    counted = priced(takeoff(plant), prices) if prices else takeoff(plant)
    paper = _paper(plant, [found[name] for name in cases], wanted.kind, counted, prices)
    return Made(wanted, plant, found, paper, curves, counted)


def _paper(
    plant: Plant, solutions: list[Solution], kind: str, counted: Takeoff, prices: list[Price]
) -> Paper:
    from app.paper.report_command import gathered
    from app.paper.text_papers import made_of
    from core.papers.report import report_paper
    from core.papers.takeoff_paper import takeoff_paper

    if kind == "report":
        return report_paper(plant, gathered(plant, solutions, prices))
    return takeoff_paper(plant, counted) if kind == "takeoff" else made_of(plant, solutions, kind)


def pages_of(made: Made, sheet: str, full: bool) -> tuple[Papers | Sheets, Lettering | None]:
    """The pages on a size of paper, the usual one where it is empty; of a drawing its lettering too."""
    from app.paper import sheet_named, sheets_of
    from app.paper import usual_sheet as drawn_on
    from app.paper.binder import bound, paper_sheet, usual_sheet
    from app.paper.curves import curve_blocks
    from app.paper.lettering import lettering
    from core.papers.plant_words import display_of
    from core.papers.report import CURVES

    plant, display = made.plant, display_of(made.plant)
    if made.paper is None:
        size = sheet_named(sheet or drawn_on(plant))
        assert size is not None
        side = tuple(made.solutions[case.name] for case in plant.solve_cases) if made.wanted.side else ()
        solution = made.solutions.get(made.wanted.case)
        papers = sheets_of(
            plant, solution, size, solutions=made.solutions, curves=made.curves, full=full, side=side
        )
        return papers, lettering(plant, size, full)
    large = made.wanted.kind == "report"
    day = today()
    drawn = {CURVES: curve_blocks(made.curves, display)}
    size = paper_sheet(sheet or usual_sheet(plant, large), large)
    return bound(plant, made.paper, size, day, drawn), None


def write_pages(pages: Papers | Sheets, made: Made, file: Path) -> list[Path]:
    """Write the pages as PDF, SVG or PNG, a takeoff as CSV or XLSX too; gives the files written."""
    from app.paper.output import write
    from core.commands.takeoff import write_table

    if (
        made.counted is not None
        and made.wanted.kind == "takeoff"
        and file.suffix.lower() in (".csv", ".xlsx")
    ):
        write_table(made.plant, made.counted, file)
        return [file]
    return write(cast("Papers", pages), file)
