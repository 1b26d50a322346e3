"""`wetside logbook FILE`: decisions, their reasons, and whether today's figures still bear them out."""

from __future__ import annotations

import json
import textwrap

from core.commands.arguments import Arguments
from core.errors import escaped
from core.files import read
from core.logbook import Standing, standings
from core.logbook.standing import cases_named
from core.solve import solve_plant

WIDE = 96


def run(argv: list[str]) -> int:
    """Show the logbook of a plant; 1 where an entry asks to be looked at again."""
    parser = Arguments(
        "wetside logbook",
        description="Decisions and their reasons. An entry whose figures have left those of its day "
        "asks to be looked at again.",
        allow_abbrev=False,
    )
    parser.add_argument("file", metavar="FILE", help="a plant file, *.plant.json")
    parser.add_argument("--json", action="store_true", help="SI figures as JSON")
    given = parser.parse_args(argv)
    plant = read.load(given.file)
    named = cases_named(plant)
    solutions = {s.case: s for s in solve_plant(plant, named)} if named else {}
    found = standings(plant, solutions)
    if given.json:
        print(json.dumps({"entries": [each.as_data() for each in found]}, indent=1, allow_nan=False))
    elif not found:
        print("The logbook is empty. A choice can be written down at any pipe or item, with its reason.")
    else:
        print("\n\n".join(_text(each) for each in found))
    return 1 if any(each.state in ("look again", "gone") for each in found) else 0


def _text(standing: Standing) -> str:
    entry = standing.entry
    head = "  ".join(word for word in (entry.id, entry.date, ", ".join(entry.at), standing.state) if word)
    lines = [head]
    for words, text in (
        ("chosen", entry.choice),
        ("weighed", "; ".join(entry.weighed)),
        ("because", entry.because),
        ("follows", entry.follows),
        ("today", standing.words),
    ):
        if text:
            lines += textwrap.wrap(
                f"{words + ':':9} {escaped(text)}", WIDE, initial_indent="  ", subsequent_indent=" " * 12
            )
    return "\n".join(lines)
