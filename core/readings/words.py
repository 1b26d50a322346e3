"""What readings say and what to turn next, in sentences: the same on screen and on the command line."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from core import units
from core.plant.model import Plant
from core.readings.dial_in import DialIn, Turn, loops_of
from core.readings.faults import WORDS
from core.readings.measured import Reading

if TYPE_CHECKING:
    from core.readings.fit import Fit
    from core.working import Display

VERDICTS = {
    "all_well": "The readings agree with the plant as drawn, within their errors.",
    "named": "One thing explains the readings, and nothing else does as well:",
    "cannot_tell": "Something is otherwise than drawn, and several things would explain it alike:",
}
BEFORE_TOUCHING = (
    "What fits best is worth a look at the place before anything is taken apart. Gauges stick and "
    "thermometers come loose: read the odd one again with another. Opening a hot or pressurized part "
    "scalds; fuel, venting and electrical work are for the licensed trades."
)
AFTERWARDS = (
    "Turn, let it settle, read again, type the new setting and the readings, and ask again. Hot water and "
    "pressure are behind every gauge port: open none without its plug at hand, face away."
)


def explained(found: Fit) -> Iterator[str]:
    """Verdict, suspects, and what to read further."""
    unsolved = [name for name, one in found.as_drawn.items() if not one.converged]
    if unsolved:
        yield f"Not solved as drawn, so not to be relied on: {', '.join(unsolved)}."
    yield VERDICTS[found.verdict]
    for one in found.explanations:
        what, why = WORDS[one.suspect.what]
        yield (
            f"  {one.suspect.at}: {what} is {one.factor:.2f} times as drawn "
            f"({one.low:.2f} to {one.high:.2f}), chance {one.chance:.0%}: {why}."
        )
    for further in found.next:
        yield f"Read the {further.what} at {further.at}: it would tell {' from '.join(further.parts)}."
    if found.unseen:
        places = ", ".join(f"{one.what} at {one.at}" for one in found.unseen)
        yield f"Not used, a solved case shows nothing there: {places}."
    if any(one.assumed for one in found.readings):
        yield (
            "Where no error is typed a thermometer counts as good to 0.5 K, a gauge to 2 % of 60 psi, "
            "a meter to 5 % (common practice, no source)."
        )
    yield f"caution: {BEFORE_TOUCHING}"


def dialed(plant: Plant, found: DialIn) -> Iterator[str]:
    """Where each circuit stands, and the next turn."""
    display: Display = "si" if plant.units == "si" else "us"
    for one in found.circuits:
        flows = [units.show(value, "flow", display) for value in (one.now, one.design)]
        how = "read" if one.read else "solved, not read"
        yield (
            f"  {one.at}: {flows[0]} of {flows[1]} ({one.share:.0%}, {how}), valve {one.valve}, "
            f"circulator {one.circulator}, in {one.case}"
        )
        loops = loops_of(plant, one.at, one.design)
        unlike = len({loop.length for loop in loops}) > 1
        for number, loop in enumerate(loops if unlike else [], start=1):
            length = units.show(loop.length, "length", display)
            wanted, open_ = (units.show(value, "flow", display, 2) for value in (loop.wanted, loop.left_open))
            yield f"    loop {number}, {length}: set {wanted}; left open it would take {open_}"
    if found.done:
        yield "Every circuit is within 5 % of its design flow."
    elif found.next is not None:
        yield from _turn(found.next, display)
    else:
        yield found.why
    yield f"caution: {AFTERWARDS}"


def _turn(turn: Turn, display: Display) -> Iterator[str]:
    way = "down" if turn.after < turn.before else "up"
    yield (
        f"Next: set the {turn.what} of {turn.at} {way} from {turn.before:.3g} to {turn.after:.3g}: "
        f"{turn.because}."
    )
    if turn.expected:
        yield f"Then, in {turn.case}, the instruments should show:"
    for one in turn.expected:
        yield f"  {one.at}: {units.show(one.value, one.what, display)}"


def said(plant: Plant, reading: Reading, value: float) -> str:
    """A value such as a reading's, in the plant's units."""
    return units.show(value, reading.what, "si" if plant.units == "si" else "us")


def error_said(plant: Plant, reading: Reading) -> str:
    """How good a reading is."""
    dimension = "temperature_difference" if reading.what == "temperature" else reading.what
    return "±" + units.show(reading.error, dimension, "si" if plant.units == "si" else "us")
