"""`wetside why FILE [CIRCUIT]`: what circuits, tanks and taps lose while another call is on, and why."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from core import units
from core.commands.answering import Progress, columns, print_json, wrapped
from core.commands.arguments import Arguments, concerning, one_of
from core.commands.solve import CAUTION, chosen_cases
from core.errors import Refusal, escaped
from core.files import read
from core.vocabulary.values import nearest

if TYPE_CHECKING:
    from core.plant.model import Plant
    from core.questions.why import Row, Why

TOLD = 0.01  # share of what is delivered below which a loss is not told in a sentence


def run(argv: list[str]) -> int:
    """Find who robs whom; refusals are raised, the caller shows them."""
    parser = Arguments(
        "wetside why",
        description="What circuits, tanks and taps lose to each other call, and by which way.",
        allow_abbrev=False,
    )
    parser.add_argument("file", metavar="FILE", help="a plant file, *.plant.json")
    parser.add_argument(
        "circuit", metavar="CIRCUIT", nargs="?", default="", help="one circuit, tank or tap (default: all)"
    )
    parser.add_argument("--case", metavar="NAME", help="this case only (default: every one)")
    parser.add_argument("--json", action="store_true", help="SI figures as JSON")
    given = parser.parse_args(argv)
    plant = read.load(given.file)
    from core.questions.intake import takers
    from core.questions.why import why

    with concerning(given.file):
        if given.circuit and given.circuit not in takers(plant):
            known = takers(plant)
            expected = one_of(known, "a circuit, tank or fixture; there is none")
            raise Refusal("CIRCUIT", given.circuit, expected, nearest(given.circuit, known))
        case = chosen_cases(plant, given.case, False)[0].name if given.case is not None else ""
    progress = Progress("cases")
    found = why(plant, given.circuit, case, on_progress=progress)
    progress.done()
    if given.json:
        unsolved = [one._asdict() for one in found.unsolved]
        print_json({"circuits": [row.as_data() for row in found.rows], "unsolved": unsolved})
    else:
        print("\n".join(text(plant, found)))
    return 1 if found.unsolved else 0


def text(plant: Plant, found: Why, tables: bool = True) -> Iterator[str]:
    """A matrix for each case and a sentence for each loss; without `tables` where these stand elsewhere."""
    from core.questions.resting import NOTE

    yield escaped(f"{plant.title or 'untitled'} · who loses what to which call")
    cases = dict.fromkeys(row.case for row in found.rows)
    for case in cases:
        rows = [row for row in found.rows if row.case == case]
        yield ""
        yield escaped(case)
        yield from _matrix(plant, rows) if tables else ()
        told = sorted((row for row in rows if _is_told(row)), key=lambda row: -abs(row.lost_w))
        for row in told:
            yield from wrapped(row.text, "  ")
            yield from wrapped(_spread(plant, row), "    ") if len(row.causes) > 1 else ()
        if not told:
            yield "  Nobody loses or gains a hundredth of what it gets."
    if not found.rows:
        yield ""
        yield from wrapped("No circuit, tank or tap flows beside another call in any case that is solved.")
    yield ""
    for one in found.unsolved:
        what = f"{one.case} without {one.call}" if one.call else one.case
        yield from wrapped(f"{what} is not solved: nothing is said about it.")
    lasting = [case.name for case in plant.solve_cases if case.lasts is not None and case.name in cases]
    if lasting:
        yield from wrapped(f"As they stand at the end of the time they last: {', '.join(lasting)}.")
    yield from wrapped(
        "What is lost is what comes with that call off less what comes as it is. The shares are the mean "
        "over every order in which causes can be taken away; the span is from the least to the greatest."
    )
    if any(row.mark for row in found.rows):
        yield NOTE
    yield from wrapped(CAUTION)


def _is_told(row: Row) -> bool:
    return abs(row.lost_w) >= TOLD * max(abs(row.got_w), abs(row.got_w + row.lost_w)) and bool(row.lost_w)


def _matrix(plant: Plant, rows: list[Row]) -> list[str]:
    calls = list(dict.fromkeys(row.call for row in rows))
    lost = {(row.at, row.call): row for row in rows}
    table = [("loses", *(f"to {call}" for call in calls))]
    for at in dict.fromkeys(row.at for row in rows):
        found = (lost.get((at, call)) for call in calls)
        cells = (one.mark + units.show(one.lost_w, "power", plant.units) if one else "–" for one in found)
        table.append((at, *cells))
    return [f"  {line}" for line in columns(table)]


def _spread(plant: Plant, row: Row) -> str:
    def shown(value: float) -> str:
        return row.mark + units.show(value, "power", plant.units)

    parts = [
        f"{one.kind.replace('_', ' ')} {shown(one.share_w)} ({shown(one.low_w)} to {shown(one.high_w)})"
        for one in row.causes
    ]
    return f"Of it: {', '.join(parts)}."
