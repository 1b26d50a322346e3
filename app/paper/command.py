"""`wetside print`: a plant file to PDF, SVG or PNG without a window."""

from __future__ import annotations

import argparse
import os
import sys
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn

from app.paper import check_out, print_plant, sheet_named, usual_sheet
from app.paper.curves import curve_sheets
from app.paper.lettering import advice
from core.diagram.sheets import SIZES
from core.errors import Refusal, WetsideError, escaped
from core.logbook.standing import cases_named
from core.questions.resting import marked
from core.solve import solve_case, solve_plant
from core.vocabulary import KINDS
from core.vocabulary.values import nearest

if TYPE_CHECKING:
    from app.paper.curves import CurveSheet

REFUSED = 2


class _Words(argparse.ArgumentParser):
    """An argument parser that refuses in one plain line."""

    def error(self, message: str) -> NoReturn:
        print(f"{self.prog}: {escaped(message)}. Try `{self.prog} --help`.", file=sys.stderr)
        raise SystemExit(REFUSED)


def _parser() -> argparse.ArgumentParser:
    parser = _Words(prog="wetside print", description="Print the labeled one-line diagram of a plant.")
    parser.add_argument("file", metavar="FILE", help="plant file (.plant.json)")
    parser.add_argument(
        "-o",
        "--out",
        required=True,
        metavar="OUT",
        help="file to write: .pdf, .svg or .png (SVG, PNG: one a sheet)",
    )
    parser.add_argument("--case", metavar="NAME", help="case to solve and show; the first one by default")
    parser.add_argument(
        "--sheet", metavar="SIZE", help=f"one of {', '.join(SIZES)}; by default tabloid or A3"
    )
    parser.add_argument(
        "--scale",
        choices=("fit", "full"),
        default="full",
        help="full: capitals 2.5 mm high, over as many sheets as that takes (the default); fit: on one sheet",
    )
    parser.add_argument(
        "--all-cases",
        action="store_true",
        help="add tables with all cases beside each other",
    )
    parser.add_argument(
        "--curves",
        action="store_true",
        help="add the curves of the circulators, with a second one beside each",
    )
    parser.add_argument("--units", choices=("us", "si"), help="units shown; by default those of the plant")
    return parser


def run(argv: list[str]) -> int:
    """Print what the words ask for; 0 done, 1 printed but the case did not settle, 2 refused."""
    try:
        words = _parser().parse_args(argv)
    except SystemExit as stop:
        return int(stop.code or 0)
    try:
        return _print(words)
    except WetsideError as refusal:
        print(f"wetside print: {refusal}", file=sys.stderr)
        return REFUSED


def _print(words: argparse.Namespace) -> int:
    # A print needs no display; with one at hand nothing is lost by not asking it.
    os.environ["QT_QPA_PLATFORM"] = "offscreen"
    from PySide6.QtGui import QGuiApplication

    from core.commands.arguments import one_of
    from core.files.read import load

    out = Path(words.out)
    check_out(out)
    if words.sheet is not None and sheet_named(words.sheet) is None:
        raise Refusal("--sheet", words.sheet, f"one of {', '.join(SIZES)}")
    plant = load(words.file)
    if out.exists() and out.samefile(words.file):
        raise Refusal("", str(out), "another file than the plant itself")
    cases = {case.name: case for case in plant.solve_cases}
    name = next(iter(cases)) if words.case is None else words.case
    if name not in cases:
        raise Refusal("--case", name, one_of(list(cases), "a case"), nearest(name, cases), words.file)
    (solution,) = marked(plant, [solve_case(plant, cases[name])])
    wanted = cases_named(plant)
    solutions = {s.case: s for s in solve_plant(plant, wanted)} if wanted else {}
    curves: list[CurveSheet] = []
    if words.curves:
        curves = curve_sheets(plant, cases[name], "si" if (words.units or plant.units) == "si" else "us")
        if not curves:
            print("wetside print: no circulator has a curve, so none is printed.", file=sys.stderr)
    application = QGuiApplication.instance() or QGuiApplication(["wetside"])
    side = marked(plant, solve_plant(plant, list(cases))) if words.all_cases else ()
    sheet, full = words.sheet or usual_sheet(plant), words.scale == "full"
    made = print_plant(
        plant,
        solution,
        out,
        sheet,
        units=words.units,
        solutions=solutions,
        curves=curves,
        full=full,
        side=side,
    )
    del application
    print("\n".join(f"{path}" for path in made))
    size = sheet_named(sheet)
    if size is not None and (words_for := advice(plant, size, full)):
        print(f"wetside print: {words_for}.", file=sys.stderr)
    unsolved = [item.id for item in plant.items.values() if not KINDS[item.kind].solved]
    if unsolved:
        words_for = ", ".join(unsolved)
        print(f"wetside print: not solved yet, so without figures: {words_for}.", file=sys.stderr)
    if not solution.converged:
        print(f"wetside print: {name} did not settle; the sheet shows the last step.", file=sys.stderr)
    return 1 if unsolved or not solution.converged else 0
