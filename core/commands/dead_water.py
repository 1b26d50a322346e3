"""`wetside dead-water FILE`: where water stands, in which cases, how much, and where to flush it."""

from __future__ import annotations

import json
import textwrap
from collections.abc import Iterator
from typing import TYPE_CHECKING

from core.commands.arguments import Arguments
from core.commands.solve import CAUTION
from core.errors import escaped
from core.files import read
from core.plant.model import Plant
from core.solve import solve_plant
from core.stillwater.map import STILL_DAYS, dead_water
from core.units import show

if TYPE_CHECKING:
    from core.stillwater.map import StillPipe

WIDTH = 110  # characters of a line
LITER, HOUR = 1e-3, 3600.0
HEADS = {
    "never moves": "Never moves in any case; lines to relief valves, tanks and drains have to stand",
    "by use": "Drinking water that moves only when somebody draws; no case does",
    "at times": "Stands in some cases",
}
FLUSHING = (
    "Flushing can scald and makes spray that carries Legionella: start cold and slowly, keep faces away, use "
    "a hose to a drain. A relief valve and its lines are never shortened, moved or capped for "
    "this. Who is at risk and how often to flush is for local code and a licensed professional."
)


def run(argv: list[str]) -> int:
    """Show where water stands; 1 where a case was not solved."""
    parser = Arguments(
        "wetside dead-water",
        description="Where water stands still, in which cases, and where it can be flushed.",
        allow_abbrev=False,
    )
    parser.add_argument("file", metavar="FILE", help="a plant file, *.plant.json")
    parser.add_argument("--json", action="store_true", help="every pipe and case as JSON")
    given = parser.parse_args(argv)
    plant = read.load(given.file)
    solutions = solve_plant(plant, [case.name for case in plant.solve_cases])
    rows = dead_water(plant, solutions)
    if given.json:
        data = {"pipes": [_as_data(row) for row in rows], "cautions": [FLUSHING]}
        print(json.dumps(data, ensure_ascii=False, allow_nan=False, indent=1))
    else:
        print("\n".join(_text(plant, rows, [s.case for s in solutions if not s.converged])))
    return 0 if all(solution.converged for solution in solutions) else 1


def _as_data(row: StillPipe) -> dict[str, object]:
    return {
        "id": row.id,
        "case": row.case,
        "still": row.still,
        "volume_l": row.volume / LITER,
        "turnover_h": None if row.turnover is None else row.turnover / HOUR,
        "flush_at": row.flush_at,
        "stands": row.stands,
        "growth_range": row.warm,
    }


def _text(plant: Plant, rows: list[StillPipe], unsolved: list[str]) -> Iterator[str]:
    display = "si" if plant.units == "si" else "us"
    yield escaped(f"{plant.title or 'untitled'} · where water stands")
    for stands, head in HEADS.items():
        found: dict[str, list[StillPipe]] = {}
        for row in rows:
            if row.stands == stands and row.still:
                found.setdefault(row.id, []).append(row)
        if not found:
            continue
        total = sum(several[0].volume for several in found.values())
        yield ""
        yield f"{head} ({show(total, 'volume', display)} in all)."
        alike: dict[str, list[StillPipe]] = {}
        for several in found.values():
            at = several[0].flush_at
            where = f"flush at {at}" if at else "nothing to flush it at"
            cases = f"; in {', '.join(row.case for row in several)}" if stands == "at times" else ""
            warm = "; warm enough for Legionella" if any(row.warm for row in several) else ""
            alike.setdefault(f"{where}{warm}{cases}", []).append(several[0])
        for words, pipes in alike.items():
            volume = show(sum(row.volume for row in pipes), "volume", display)
            yield from _wrapped(f"  {', '.join(row.id for row in pipes)}: {volume}, {words}")
    if not any(row.still for row in rows):
        yield "No pipe stands in any case."
    yield ""
    if unsolved:
        yield from _wrapped(f"Not solved, so not to be relied on: {', '.join(unsolved)}.")
    yield from _wrapped(
        f"Drinking water that stood longer than {STILL_DAYS:g} days is flushed (common practice, no source)."
    )
    yield from _wrapped(f"caution: {FLUSHING}")
    yield from _wrapped(CAUTION)


def _wrapped(text: str) -> list[str]:
    return textwrap.wrap(escaped(text), WIDTH, subsequent_indent="    ", break_on_hyphens=False)
