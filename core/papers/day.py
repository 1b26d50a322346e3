"""Today's date, as papers say it."""

from __future__ import annotations

import datetime


def today() -> str:
    """Such as `3 Mar 2026`: the day without a zero before it on every system."""
    day = datetime.date.today()
    return f"{day.day} {day:%b %Y}"
