"""`wetside wiring`, `start-up` and `service`: papers of text from a plant file, without a window."""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence
from pathlib import Path

from core.commands.arguments import Arguments
from core.errors import Refusal
from core.papers.blocks import Paper
from core.papers.day import today
from core.plant.model import Plant
from core.solve import Solution

SAYS = {
    "wiring": "What is wired, from where, with how many amps, what calls it; for the licensed electrician.",
    "start-up": "The start-up sheet: gate, test, filling, purging, settings, expected readings, "
    "shut-off cards.",
    "service": "The service calendar, with the valves to shut and a log.",
}


def run(argv: list[str], name: str) -> int:
    """Make the paper the words ask for; 0 done, 1 done but a case was not solved or a circuit is "
    "overloaded."""
    given = _parser(name).parse_args(argv)
    out = Path(given.out) if given.out else None
    if out is not None:
        from app.paper.output import check_out

        check_out(out)
    from core.files.read import load
    from core.questions.resting import marked
    from core.solve import solve_plant

    plant = load(given.file)
    if out is not None and out.exists() and out.samefile(given.file):
        raise Refusal("", str(out), "another file than the plant itself")
    solutions = marked(plant, solve_plant(plant, [case.name for case in plant.solve_cases]))
    if out is None or (name == "wiring" and given.json):
        from core.commands import wiring

        code = wiring.show(plant, solutions, given.json)
        if out is None:
            return code
    made = make(plant, solutions, name, out, given.sheet)
    if not getattr(given, "json", False):
        print("\n".join(str(path) for path in made))
    unsolved = [solution.case for solution in solutions if not solution.converged]
    if unsolved:
        print(f"wetside {name}: not solved, so without figures: {', '.join(unsolved)}.", file=sys.stderr)
    return int(bool(unsolved) or _overloaded(plant, solutions, name))


def _parser(name: str) -> Arguments:
    from core.diagram.sheets import SIZES

    parser = Arguments(f"wetside {name}", description=SAYS[name], allow_abbrev=False)
    parser.add_argument("file", metavar="FILE", help="a plant file, *.plant.json")
    optional = name == "wiring"
    parser.add_argument(
        "-o", "--out", required=not optional, metavar="OUT", help="file to write: .pdf, .svg or .png"
    )
    parser.add_argument("--sheet", metavar="SIZE", help=f"one of {', '.join(SIZES)}; by default letter or A4")
    if optional:
        parser.add_argument("--json", action="store_true", help="as JSON, SI")
    return parser


def made_of(plant: Plant, solutions: Sequence[Solution], name: str) -> Paper:
    """The blocks of one of these papers."""
    if name == "wiring":
        from core.papers.wiring import wiring_paper

        return wiring_paper(plant, solutions)
    if name == "start-up":
        from core.papers.start_up import start_up_paper

        return start_up_paper(plant, solutions)
    from core.papers.service import service_paper

    return service_paper(plant, solutions)


def make(
    plant: Plant, solutions: Sequence[Solution], name: str, out: Path, sheet: str | None = None,
    date: str | None = None,
) -> list[Path]:  # fmt: skip
    """Write one of these papers; gives the files written."""
    # A paper needs no display; with one at hand nothing is lost by not asking it.
    os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
    from PySide6.QtGui import QGuiApplication

    from app.paper.binder import paper_sheet, usual_sheet, write_paper

    size = paper_sheet(sheet or usual_sheet(plant))
    application = QGuiApplication.instance() or QGuiApplication(["wetside"])
    day = date or today()
    written = write_paper(plant, made_of(plant, solutions, name), out, size, day)
    del application
    return written


def _overloaded(plant: Plant, solutions: Sequence[Solution], name: str) -> bool:
    if name != "wiring":
        return False
    from core.papers.wiring import wiring_points

    return any(circuit.over for circuit in wiring_points(plant, solutions).circuits)
