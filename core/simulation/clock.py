"""What the clock says: timers, and courses of draws and gains. Times count from Monday 00:00, [s]."""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Mapping
from typing import Any

from core.plant.run_rules import Profile
from core.vocabulary.timetables import DAY, WEEK


def timer_on(si: Mapping[str, Any], t: float) -> bool:
    """Whether a timer is on.

    Examples
    --------
    >>> timer_on({"on": ((22 * 3600.0, 6 * 3600.0),), "days": (4,)}, 5 * DAY + 3600.0)
    True
    """
    if si.get("every"):
        return bool(math.fmod(math.fmod(t, DAY), si["every"]) < si["for"])
    days = si.get("days")
    today = int(t % WEEK // DAY)
    into = t % DAY
    for start, end in si.get("on") or ():
        lasts = end - start if end > start else end - start + DAY
        for back in (0, 1):
            if days is not None and (today - back) % 7 not in days:
                continue
            if start <= into + back * DAY < start + lasts:
                return True
    return False


def timer_next(si: Mapping[str, Any], t: float) -> float:
    """The next time at which a timer may change, [s]."""
    midnight = math.floor(t / DAY) * DAY
    points = [midnight + DAY]
    if si.get("every"):
        into, every = t - midnight, float(si["every"])
        begun = math.floor(into / every) * every
        points += [midnight + begun + float(si["for"]), midnight + begun + every]
    for pair in si.get("on") or ():
        points += [midnight + point + day * DAY for point in pair for day in (0, 1)]
    return min(point for point in points if point > t + 1e-9)


def profile_value(profile: Profile, t: float) -> float:
    """Value of a course, [SI]: that of its last point."""
    return profile.values[bisect_right(profile.times, math.fmod(t, profile.period)) - 1]


def profile_next(profile: Profile, t: float) -> float:
    """When its value changes next, [s]."""
    begun = math.floor(t / profile.period) * profile.period
    k = bisect_right(profile.times, t - begun + 1e-9)
    return begun + (profile.times[k] if k < len(profile.times) else profile.period)
