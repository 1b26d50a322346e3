"""Times of day and days of the week as they stand in a file: intervals of timers, points of profiles."""

from __future__ import annotations

import re
from typing import Any

from core.errors import Refusal, value_text
from core.vocabulary.values import nearest, read_list

DAY = 86400.0  # [s]
WEEK = 7 * DAY  # [s]
DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
_CLOCK = re.compile(r"([01][0-9]|2[0-4]):([0-5][0-9])")


def read_clock(raw: Any, path: str) -> float:
    """A time of day from "00:00" to "24:00", [s].

    Examples
    --------
    >>> read_clock("06:30", "")
    23400.0
    """
    match = _CLOCK.fullmatch(raw) if isinstance(raw, str) else None
    if match is None or (match[1] == "24" and match[2] != "00"):
        raise Refusal(path, value_text(raw), 'a time of day such as "06:30", from "00:00" to "24:00"')
    return 3600.0 * int(match[1]) + 60.0 * int(match[2])


def read_day(raw: Any, path: str) -> int:
    """A day of the week, counted from Monday."""
    if not isinstance(raw, str) or raw not in DAYS:
        hint = nearest(raw, DAYS) if isinstance(raw, str) else ""
        raise Refusal(path, value_text(raw), "one of " + ", ".join(DAYS), hint)
    return DAYS.index(raw)


def read_days(raw: Any, path: str) -> tuple[int, ...]:
    """Days of the week, each once, counted from Monday."""
    found: list[int] = []
    for number, one in enumerate(read_list(raw, path, 1, 7, "days")):
        day = read_day(one, f"{path}[{number}]")
        if day in found:
            raise Refusal(f"{path}[{number}]", value_text(one), "each day once")
        found.append(day)
    return tuple(found)


def read_intervals(raw: Any, path: str) -> tuple[tuple[float, float], ...]:
    """Intervals of a day, [s]; one whose end is not after its start goes on past midnight."""
    found = []
    for number, one in enumerate(read_list(raw, path, 1, 100, "intervals")):
        place = f"{path}[{number}]"
        if not isinstance(one, (list, tuple)) or len(one) != 2:
            raise Refusal(place, value_text(one), 'an interval such as ["06:00", "08:30"]')
        start, end = read_clock(one[0], f"{place}[0]"), read_clock(one[1], f"{place}[1]")
        if start % DAY == end % DAY and not (start == 0.0 and end == DAY):
            raise Refusal(f"{place}[1]", value_text(one[1]), "another time than it begins at")
        found.append((start, end))
    return tuple(found)


def read_moment(raw: Any, path: str, weekly: bool) -> float:
    """A time of day, or where `weekly` a day and a time such as "mon 06:30", from the start of either [s]."""
    if not weekly:
        return read_clock(raw, path)
    day, _, clock = raw.partition(" ") if isinstance(raw, str) else ("", "", "")
    if day not in DAYS or not _CLOCK.fullmatch(clock):
        raise Refusal(path, value_text(raw), 'a day and a time such as "mon 06:30"', nearest(day, DAYS))
    return DAYS.index(day) * DAY + read_clock(clock, path)
