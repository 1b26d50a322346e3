"""`wetside report`: the design report of a plant file, without a window."""

from __future__ import annotations

import os
import sys
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path

from app.paper.output import check_out
from core.commands.arguments import Arguments, concerning
from core.errors import Refusal
from core.papers.day import today
from core.papers.prices import Price
from core.papers.report import Facts
from core.plant.model import Case, Plant
from core.solve import Solution


def run(argv: list[str]) -> int:
    """Make the report the words ask for; 0 done, 1 done but something needs attention."""
    given = _parser().parse_args(argv)
    out = Path(given.out)
    check_out(out)
    from core.commands.solve import chosen_cases
    from core.files.read import load
    from core.questions.resting import marked
    from core.solve import solve_plant

    plant = load(given.file)
    if out.exists() and out.samefile(given.file):
        raise Refusal("", str(out), "another file than the plant itself")
    with concerning(given.file):
        case = chosen_cases(plant, given.case, False)[0]
    plant = replace(plant, units=given.units or plant.units)
    prices: Sequence[Price] = ()
    if given.prices:
        from core.papers.prices import read_prices

        prices = read_prices(given.prices)
    solutions = marked(plant, solve_plant(plant, [each.name for each in plant.solve_cases]))
    facts = gathered(plant, solutions, prices)
    made = make(plant, facts, case, out, given.sheet)
    print("\n".join(str(path) for path in made))
    unsolved = [solution.case for solution in solutions if not solution.converged]
    if unsolved:
        print(f"wetside report: not solved, so without figures: {', '.join(unsolved)}.", file=sys.stderr)
    stops = any(f.severity.value == "stop" and f.accepted is None for f in facts.findings)
    return int(bool(unsolved) or stops)


def _parser() -> Arguments:
    from core.diagram.sheets import SIZES

    parser = Arguments(
        "wetside report",
        description="Print the design report: what the plant does, every size with its reason, and how each "
        "number came about.",
        allow_abbrev=False,
    )
    parser.add_argument("file", metavar="FILE", help="a plant file, *.plant.json")
    parser.add_argument("-o", "--out", required=True, metavar="OUT", help="file to write: .pdf, .svg or .png")
    parser.add_argument("--case", metavar="NAME", help="case whose curves are shown; the first by default")
    parser.add_argument(
        "--sheet", metavar="SIZE", help=f"one of {', '.join(SIZES)}; by default tabloid or A3"
    )
    parser.add_argument("--units", choices=("us", "si"), help="units shown; by default those of the plant")
    parser.add_argument("--prices", metavar="CSV", help="your price list: what,size,unit,price")
    return parser


def gathered(plant: Plant, solutions: Sequence[Solution], prices: Sequence[Price] = ()) -> Facts:
    """What a report is made from; costs by the rows of a price list."""
    from core.calls.energy import yearly_energy
    from core.papers.change_costs import Costs
    from core.papers.prices import priced
    from core.papers.takeoff import takeoff
    from core.review.punch_list import review
    from core.review.said_once import without_findings
    from core.sizing.everything import size

    known: Mapping[str, Solution] = {solution.case: solution for solution in solutions}
    sized = size(plant, None, known)
    findings = review(plant, solutions)
    cases = [without_findings(one, findings) for one in solutions]
    energy = yearly_energy(plant, known)
    if not prices:
        return Facts(cases, sized, findings, energy)
    return Facts(cases, sized, findings, energy, priced(takeoff(plant), prices), Costs(plant, prices))


def make(
    plant: Plant, facts: Facts, case: Case, out: Path, sheet: str | None = None, date: str | None = None
) -> list[Path]:
    """Write the report; gives the files written."""
    os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
    from PySide6.QtGui import QGuiApplication

    from app.paper.binder import paper_sheet, usual_sheet, write_paper
    from app.paper.curves import curve_blocks, curve_sheets
    from core.papers.plant_words import display_of
    from core.papers.report import CURVES, report_paper

    size = paper_sheet(sheet or usual_sheet(plant, large=True), lying=True)
    application = QGuiApplication.instance() or QGuiApplication(["wetside"])
    display = display_of(plant)
    drawn = {CURVES: curve_blocks(curve_sheets(plant, case, display), display)}
    day = date or today()
    written = write_paper(plant, report_paper(plant, facts), out, size, day, drawn)
    del application
    return written
