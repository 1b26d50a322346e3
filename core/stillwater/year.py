"""Where water stands over the year: by the seasons and hours of the cases, and beyond what its system allows.

What no case of a season moves stands all through that season. How long standing is fine is said for each
system (`still_ok_days`); of drinking water 7 days where nothing is said (common practice, no source), of
other water as long as it likes. A run to an outlet flows whenever somebody draws, as cases need not show.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from core.plant.model import Plant
from core.stillwater.map import STILL_DAYS, StillPipe

DAY = 24.0  # [h]


@dataclass(frozen=True)
class Season:
    """Hours of one season's cases, and those of them in which the pipe has flow, [h]."""

    name: str
    hours: float
    moves: float


@dataclass(frozen=True)
class YearOfPipe:
    """One pipe over the year.

    Attributes
    ----------
    id : str
    seasons : tuple of Season
        As far as cases give hours_per_year, in the order of the file
    ok_days : float or None
        How long its system's water may stand, [d]; None: as long as it likes
    still_days : float or None
        The longest season without flow, or the year, [d]; None where no hours tell, and of runs to outlets
    beyond : bool
        Whether that is longer than allowed, or it has flow in no case at all
    """

    id: str
    seasons: tuple[Season, ...]
    ok_days: float | None
    still_days: float | None
    beyond: bool


def year_of(plant: Plant, rows: Sequence[StillPipe]) -> list[YearOfPipe]:
    """Every pipe of a dead-water map over the year, in the order of the file.

    Parameters
    ----------
    plant : Plant
    rows : sequence of StillPipe
        `core.stillwater.map.dead_water` of all its cases
    """
    cases = {case.name: case for case in plant.solve_cases}
    found: dict[str, list[StillPipe]] = {}
    for row in rows:
        found.setdefault(row.id, []).append(row)
    out = []
    for name, several in found.items():
        hours: dict[str, float] = {}
        moves: dict[str, float] = {}
        for row in several:
            case = cases[row.case]
            if case.hours_per_year is not None:
                hours[case.season] = hours.get(case.season, 0.0) + case.hours_per_year
                moving = 0.0 if row.still else case.hours_per_year
                moves[case.season] = moves.get(case.season, 0.0) + moving
        seasons = tuple(Season(key, hours[key], moves[key]) for key in hours)
        out.append(_judged(plant, name, several[0], seasons))
    return out


def _judged(plant: Plant, name: str, row: StillPipe, seasons: tuple[Season, ...]) -> YearOfPipe:
    system = plant.systems.get(plant.pipes[name].system)
    ok = None if system is None else system.still_ok_days
    if ok is None and system is not None and system.use == "potable":
        ok = STILL_DAYS
    if row.drawn_through:
        return YearOfPipe(name, seasons, ok, None, False)
    whole = sum(season.hours for season in seasons) if not any(season.moves for season in seasons) else 0.0
    longest = max([whole, *(season.hours for season in seasons if not season.moves)], default=0.0) / DAY
    still = longest if seasons else None
    over = row.stands == "never" or (still is not None and ok is not None and still > ok)
    return YearOfPipe(name, seasons, ok, still, ok is not None and over)
