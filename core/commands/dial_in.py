"""`wetside dial-in FILE`: which setting to turn next, how far, and what the instruments should then show."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import TYPE_CHECKING

from core.commands.answering import hanging
from core.commands.arguments import Arguments, concerning
from core.commands.solve import CAUTION
from core.errors import escaped
from core.files import read
from core.plant.model import Plant

if TYPE_CHECKING:
    from core.readings.dial_in import DialIn


def run(argv: list[str]) -> int:
    """Show the next turn; 1 while circuits are not within 5 % of their design flow."""
    parser = Arguments(
        "wetside dial-in",
        description="Which balance valve or circulator to set next, how far, and what to read then.",
        allow_abbrev=False,
    )
    parser.add_argument("file", metavar="FILE", help="a plant file, *.plant.json")
    parser.add_argument("--date", metavar="DAY", help="readings of this day (default: the latest)")
    parser.add_argument("--json", action="store_true", help="SI figures as JSON")
    given = parser.parse_args(argv)
    plant = read.load(given.file)
    from core.readings.dial_in import dial_in
    from core.readings.measured import readings_of

    with concerning(given.file):
        readings = readings_of(plant, given.date)
    found = dial_in(plant, readings)
    if given.json:
        print(json.dumps(_as_data(found), ensure_ascii=False, allow_nan=False, indent=1))
    else:
        print("\n".join(_text(plant, found)))
    return 0 if found.done else 1


def _as_data(found: DialIn) -> dict[str, object]:
    from core.readings.words import AFTERWARDS

    turn = found.next
    return {
        "done": found.done,
        "why": found.why,
        "circuits": [
            {
                "at": one.at,
                "valve": one.valve,
                "driven_by": one.circulator,
                "case": one.case,
                "design_m3_s": one.design,
                "now_m3_s": one.now,
                "read": one.read,
                "share": one.share,
            }
            for one in found.circuits
        ],
        "next": None
        if turn is None
        else {
            "at": turn.at,
            "what": turn.what,
            "before": turn.before,
            "after": turn.after,
            "case": turn.case,
            "because": turn.because,
            "expected": [
                {"at": one.at, "what": one.what, "case": one.case, "value": one.value}
                for one in turn.expected
            ],
        },
        "cautions": [AFTERWARDS],
    }


def _text(plant: Plant, found: DialIn) -> Iterator[str]:
    from core.readings.words import dialed

    yield escaped(f"{plant.title or 'untitled'} · dialing in")
    yield ""
    for line in (*dialed(plant, found), CAUTION):
        yield from hanging(line)
