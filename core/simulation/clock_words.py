"""When something is, as one says it. Light: a window may import it before anything is run."""

from __future__ import annotations

from core.vocabulary.timetables import DAY

DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")


def clock_words(seconds: float) -> str:
    """Day and time of day, counted from Monday 00:00.

    Examples
    --------
    >>> clock_words(0.0), clock_words(86400.0 * 8 + 6 * 3600.0 + 750.0)
    ('Mon 00:00', 'Tue 06:12, week 2')
    """
    day, rest = divmod(int(seconds), int(DAY))
    week = f", week {day // 7 + 1}" if day >= 7 else ""
    return f"{DAYS[day % 7]} {rest // 3600:02d}:{rest % 3600 // 60:02d}{week}"
