"""`wetside dead-water FILE`: where water stands, in which cases, how much, and where to flush it."""

from __future__ import annotations

import json
from collections.abc import Iterator

from core.commands.answering import hanging
from core.commands.arguments import Arguments
from core.commands.solve import CAUTION
from core.errors import escaped
from core.files import read
from core.plant.model import Plant
from core.solve import solve_plant
from core.stillwater.map import STILL_DAYS, StillPipe, dead_water
from core.stillwater.words import FLUSHING, volume_words
from core.stillwater.year import YearOfPipe, year_of

LITER, HOUR = 1e-3, 3600.0
HEADS = {
    "never": "Never moves in any case; lines to relief valves, tanks and drains have to stand",
    "by use": "Drinking water that moves only when somebody draws; no case does",
    "at times": "Stands in some cases",
}


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
    year = year_of(plant, rows)
    unsolved = [solution.case for solution in solutions if not solution.converged]
    if given.json:
        whole = [_year_data(plant, one) for one in year]
        data = {"pipes": [_as_data(row) for row in rows], "year": whole, "not_solved": unsolved}
        data |= {"cautions": [FLUSHING]}
        print(json.dumps(data, ensure_ascii=False, allow_nan=False, indent=1))
    else:
        print("\n".join(_text(plant, rows, year, unsolved)))
    return 1 if unsolved else 0


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
        "flush_l": None if row.to_flush is None else row.to_flush / LITER,
        "temperature_c": None if row.range_c is None else list(row.range_c),
    }


def _year_data(plant: Plant, year: YearOfPipe) -> dict[str, object]:
    return {
        "id": year.id,
        "system": plant.pipes[year.id].system,
        "still_ok_days": year.ok_days,
        "still_days": year.still_days,
        "beyond": year.beyond,
        "seasons": [
            {"season": one.name, "hours": one.hours, "moves_hours": one.moves} for one in year.seasons
        ],
    }


def _text(plant: Plant, rows: list[StillPipe], year: list[YearOfPipe], unsolved: list[str]) -> Iterator[str]:
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
        yield f"{head} ({volume_words(total, display)} in all)."
        alike: dict[str, list[StillPipe]] = {}
        for several in found.values():
            at = several[0].flush_at
            where = f"flush at {at}" if at else "nothing to flush it at"
            cases = f"; in {', '.join(row.case for row in several)}" if stands == "at times" else ""
            warm = "; warm enough for Legionella" if any(row.warm for row in several) else ""
            alike.setdefault(f"{where}{warm}{cases}", []).append(several[0])
        for words, pipes in alike.items():
            volume = volume_words(sum(row.volume for row in pipes), display)
            most = max((row.to_flush or 0.0 for row in pipes), default=0.0)
            run = f"; run {volume_words(most, display)}" if most else ""
            yield from hanging(f"  {', '.join(row.id for row in pipes)}: {volume}, {words}{run}")
    yield from _seasons(year)
    if not any(row.still for row in rows):
        yield "No pipe stands in any case."
    yield ""
    if unsolved:
        yield from hanging(f"Not solved, so not to be relied on: {', '.join(unsolved)}.")
    yield from hanging(
        f"Drinking water that stood longer than {STILL_DAYS:g} days is flushed (common practice, no source)."
    )
    yield from hanging(f"caution: {FLUSHING}")
    yield from hanging(CAUTION)


def _seasons(year: list[YearOfPipe]) -> Iterator[str]:
    """Pipes that stand through a season for longer than their system allows."""
    alike: dict[str, list[str]] = {}
    for one in year:
        quiet = [season.name or "all year" for season in one.seasons if not season.moves and season.hours]
        if one.beyond and quiet and any(season.moves for season in one.seasons):
            words = f"{', '.join(quiet)}: {one.still_days or 0.0:.0f} days, {one.ok_days:g} allowed"
            alike.setdefault(words, []).append(one.id)
    if alike:
        yield ""
        yield "No flow for a season, longer than its system allows"
        for words, pipes in alike.items():
            yield from hanging(f"  {', '.join(pipes)}: {words}")
