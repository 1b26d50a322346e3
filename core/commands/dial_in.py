"""`wetside dial-in FILE`: which setting to turn next, how far, and what the instruments should then show."""

from __future__ import annotations

import json
import textwrap
from collections.abc import Iterator
from typing import TYPE_CHECKING

from core import units
from core.commands.arguments import Arguments, concerning
from core.commands.solve import CAUTION
from core.errors import escaped
from core.files import read
from core.plant.model import Plant

if TYPE_CHECKING:
    from core.readings.dial_in import DialIn, Turn
    from core.working import Display

WIDTH = 110
AFTERWARDS = (
    "Turn, let it settle, read again, type the new setting and the readings, and ask again. Hot water and "
    "pressure are behind every gauge port: open none without its plug at hand, face away."
)


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
    turn = found.next
    return {
        "done": found.done,
        "why": found.why,
        "circuits": [
            {
                "at": one.at,
                "valve": one.valve,
                "circulator": one.circulator,
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
    from core.readings.dial_in import loops_of

    display: Display = "si" if plant.units == "si" else "us"
    yield escaped(f"{plant.title or 'untitled'} · dialing in")
    yield ""
    for one in found.circuits:
        flows = [units.show(value, "flow", display) for value in (one.now, one.design)]
        how = "read" if one.read else "solved, not read"
        yield from _wrapped(
            f"  {one.at}: {flows[0]} of {flows[1]} ({one.share:.0%}, {how}), valve {one.valve}, "
            f"circulator {one.circulator}, in {one.case}"
        )
        loops = loops_of(plant, one.at, one.design)
        unlike = len({loop.length for loop in loops}) > 1
        for number, loop in enumerate(loops if unlike else [], start=1):
            length = units.show(loop.length, "length", display)
            wanted, open_ = (units.show(value, "flow", display, 2) for value in (loop.wanted, loop.left_open))
            yield from _wrapped(f"    loop {number}, {length}: set {wanted}; left open it would take {open_}")
    yield ""
    if found.done:
        yield "Every circuit is within 5 % of its design flow."
    elif found.next is not None:
        yield from _turn(plant, found.next, display)
    else:
        yield from _wrapped(found.why)
    yield from _wrapped(f"caution: {AFTERWARDS}")
    yield from _wrapped(CAUTION)


def _turn(plant: Plant, turn: Turn, display: Display) -> Iterator[str]:
    way = "down" if turn.after < turn.before else "up"
    yield from _wrapped(
        f"Next: set the {turn.what} of {turn.at} {way} from {turn.before:.3g} to {turn.after:.3g}: "
        f"{turn.because}."
    )
    if turn.expected:
        yield f"Then, in {turn.case}, the instruments should show:"
    for one in turn.expected:
        yield from _wrapped(f"  {one.at}: {units.show(one.value, one.what, display)}")


def _wrapped(text: str) -> list[str]:
    return textwrap.wrap(escaped(text), WIDTH, subsequent_indent="    ", break_on_hyphens=False)
