"""Words for water that stands: on the board, in tables, on paper."""

from __future__ import annotations

from core.stillwater.map import Stands, StillPipe
from core.stillwater.year import YearOfPipe
from core.units import show

ORDER: tuple[Stands, ...] = ("never", "by use", "at times", "")
STANDING: dict[Stands, str] = {
    "never": "never flows",
    "by use": "flows by use",
    "at times": "flows at times",
    "": "flows",
}
HOUR = 3600.0  # [s]
FLUSHING = (
    "Flushing can scald and makes spray that carries Legionella: start cold and slowly, keep faces away, use "
    "a hose to a drain. A relief valve and its lines are never shortened, moved or capped for "
    "this. Who is at risk and how often to flush is for local code and a licensed professional."
)


def standing_words(row: StillPipe) -> str:
    """How a pipe's water stands in a case."""
    return STANDING[row.stands] if row.still else "flows"


def turnover_words(row: StillPipe) -> str:
    """How long its own volume takes to be replaced."""
    if row.turnover is None:
        return "–"
    if row.turnover < 120.0:
        return f"{row.turnover:.0f} s"
    return f"{row.turnover / 60.0:.0f} min" if row.turnover < 2.0 * HOUR else f"{row.turnover / HOUR:.1f} h"


def year_words(year: YearOfPipe | None) -> str:
    """What the year is for a pipe: the seasons without flow, or that it is within what is allowed."""
    if year is None:
        return ""
    over = f", over {year.ok_days:g} days" if year.beyond else ""
    if year.still_days is None:
        return "never flows" if year.beyond else ""
    quiet = [season.name or "all year" for season in year.seasons if not season.moves and season.hours]
    if not any(season.moves for season in year.seasons):
        return f"never flows{over}"
    return f"no flow: {', '.join(quiet)}{over}" if quiet else "flows each season"


def volume_words(volume: float, display: str) -> str:
    """A volume of water in a pipe, small ones finer."""
    return show(volume, "volume", display, digits=2 if volume < 4e-3 else None)
