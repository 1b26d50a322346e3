"""`wetside readings FILE`: what the gauges said against the plant as drawn, and what would explain it."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from core.commands.answering import hanging
from core.commands.arguments import Arguments, concerning
from core.commands.solve import CAUTION
from core.errors import PlainRefusal, Refusal, escaped
from core.files import read
from core.plant.model import Plant

if TYPE_CHECKING:
    from core.readings.fit import Fit


def run(argv: list[str]) -> int:
    """Show what the readings say; 1 where something is otherwise than drawn, or a case was not solved."""
    parser = Arguments(
        "wetside readings",
        description="What the gauges said against the plant as drawn, and what would explain the difference.",
        allow_abbrev=False,
    )
    parser.add_argument("file", metavar="FILE", help="a plant file, *.plant.json")
    parser.add_argument("--date", metavar="DAY", help="readings of this day (default: the latest)")
    parser.add_argument("--json", action="store_true", help="SI figures as JSON")
    parser.add_argument("--take", metavar="CSV", help="add readings written as text, as the handbook does")
    parser.add_argument("-o", dest="new", metavar="NEW", help="with --take: the plant file to write")
    given = parser.parse_args(argv)
    plant = read.load(given.file)
    if given.take is not None or given.new is not None:
        return _take(plant, given.file, given.take, given.new)
    from core.readings.fit import fit
    from core.readings.measured import readings_of

    with concerning(given.file):
        readings = readings_of(plant, given.date)
        if not readings:
            expected = "readings in the file: {date, case, at, what, value, error} each"
            raise Refusal("readings", "none", expected)
    found = fit(plant, readings, _progress)
    if given.json:
        print(json.dumps(_as_data(found), ensure_ascii=False, allow_nan=False, indent=1))
    else:
        print("\n".join(_text(plant, found)))
    unsolved = any(not one.converged for one in found.as_drawn.values())
    return 1 if unsolved or found.verdict != "all_well" else 0


def _take(plant: Plant, file: str, source: str | None, new: str | None) -> int:
    """Write the plant with readings from a text added."""
    from core.files.save import save
    from core.plant.changes import apply
    from core.readings.text import from_csv, taken

    if source is None or new is None:
        raise Refusal("--take", "one of --take and -o", "both: --take CSV -o NEW")
    if Path(new).exists() or Path(new).is_symlink():
        raise PlainRefusal("it is there already; name a new file after -o", new)
    with concerning(source):
        found = from_csv(read.bytes_of(Path(source)).decode("utf-8", "replace"))
    with concerning(file):
        change = taken(plant, found)
    save(apply(plant, [change]), new)
    added = len(change.values["readings"]) - len(plant.readings)
    print(escaped(f"{new}: {added} readings added, {len(found) - added} were there already"))
    return 0


def _progress(done: int, total: int) -> None:
    if sys.stderr.isatty():
        end = "\n" if done == total else ""
        print(f"\r{done} of {total} things looked at", end=end, file=sys.stderr, flush=True)


def _as_data(found: Fit) -> dict[str, object]:
    from core.readings.words import BEFORE_TOUCHING

    solutions = [one.as_json() for one in found.likely.values()]
    first = solutions[0] if solutions else {"pipes": {}, "items": {}}
    return {
        "fit": {"pipes": first["pipes"], "items": first["items"]},
        "cases": solutions,
        "verdict": found.verdict,
        "suspects": [
            {
                "at": one.suspect.at,
                "what": one.suspect.what,
                "factor": one.factor,
                "low": one.low,
                "high": one.high,
                "chance": one.chance,
                "fall": one.fall,
            }
            for one in found.explanations
        ],
        "next": [
            {"at": one.at, "what": one.what, "parts": list(one.parts), "apart": one.apart}
            for one in found.next
        ],
        "weighted_sum": found.sum_as_drawn,
        "not_seen": [{"at": one.at, "what": one.what} for one in found.unseen],
        "cautions": [BEFORE_TOUCHING],
    }


def _text(plant: Plant, found: Fit) -> Iterator[str]:
    from core.readings.words import explained

    yield escaped(f"{plant.title or 'untitled'} · readings")
    yield ""
    yield from _table(plant, found)
    yield ""
    for line in (*explained(found), CAUTION):
        yield from hanging(line)


def _table(plant: Plant, found: Fit) -> Iterator[str]:
    from core.readings.measured import shown
    from core.readings.words import error_said, said

    rows: list[tuple[str, ...]] = [("at", "what", "case", "read", "error", "as drawn", "likeliest")]
    for one in found.readings:
        values = [
            shown(plant, states[one.case], one.at, one.what) for states in (found.as_drawn, found.likely)
        ]
        texts = ["" if value is None else said(plant, one, value) for value in values]
        rows.append((one.at, one.what, one.case, said(plant, one, one.value), error_said(plant, one), *texts))
    widths = [max(len(row[k]) for row in rows) for k in range(len(rows[0]))]
    for row in rows:
        yield escaped("  ".join(cell.ljust(w) for cell, w in zip(row, widths, strict=True)).rstrip())
