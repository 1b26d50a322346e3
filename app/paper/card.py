"""`wetside shut-off FILE ID -o CARD.pdf`: the plan of one shut-off as a card to carry."""

from __future__ import annotations

import os
from pathlib import Path

from core.commands.arguments import Arguments
from core.errors import Refusal
from core.papers.day import today
from core.plant.model import Plant


def run(argv: list[str]) -> int:
    """Print a card; 1 where the plan is impossible, which the card says too."""
    parser = Arguments("wetside shut-off", description="The card of one shut-off.", allow_abbrev=False)
    parser.add_argument("file", metavar="FILE", help="a plant file, *.plant.json")
    parser.add_argument("id", metavar="ID", help="the item or pipe to take out of service")
    parser.add_argument("-o", "--out", required=True, metavar="CARD", help="file to write")
    parser.add_argument("--sheet", metavar="SIZE", help="by default letter or A4")
    parser.add_argument("--json", action="store_true", help="show the plan as JSON too")
    given = parser.parse_args(argv)
    from app.paper.output import check_out
    from core.commands import shut_off
    from core.isolation.plan import shut_off as plan_of

    out = Path(given.out)
    check_out(out)
    plant = shut_off.wetted_plant(given.file, given.id)
    if out.exists() and out.samefile(given.file):
        raise Refusal("", str(out), "another file than the plant itself")
    made = print_card(plant, given.id, out, given.sheet)
    if given.json:
        return shut_off.run([given.file, given.id, "--json"])
    print("\n".join(str(path) for path in made))
    return 0 if plan_of(plant, given.id).possible else 1


def print_card(plant: Plant, target: str, out: Path, sheet: str | None = None) -> list[Path]:
    """Write the card of an item or pipe; gives the files written."""
    os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")  # a card needs no display
    from PySide6.QtGui import QGuiApplication

    from app.paper.binder import paper_sheet, usual_sheet, write_paper
    from core.papers.shut_off_card import shut_off_card

    size = paper_sheet(sheet or usual_sheet(plant))
    application = QGuiApplication.instance() or QGuiApplication(["wetside"])
    day = today()
    written = write_paper(plant, shut_off_card(plant, target), out, size, day)
    del application
    return written
