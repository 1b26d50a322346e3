"""A year of weather made for a site where no file is at hand, hour by hour; no record of any real year.

The law: a yearly wave about the site's cold-water temperature (ground water stands near the mean of the air:
common practice, no source), coldest on January 20; a daily wave, warmest at 15:00 (the contract's); warm and
cold spells of some days, by chance from a fixed seed, so that the year is always the same. The yearly wave is
as wide as brings the coldest hour to the site's outdoor design temperature. Numbers: common practice, no
source.
"""

from __future__ import annotations

import math
import random
from datetime import datetime, timedelta
from typing import TextIO

from core.plant.model import SiteValues
from core.simulation.weather import WARMEST_AT, ZERO
from core.vocabulary.timetables import DAY

HOURS = 8760
BEGINS = datetime(2018, 1, 1)  # a Monday, so that weeks lie as in a run without a file
COLDEST_DAY = 19.5  # from the year's beginning
DAILY = 4.5  # [K] from the mean to the warmest hour
SPELLS = 4.0  # [K] standard deviation of a day's mean about its season's
MEMORY = 0.7  # share of a day's departure that the next day keeps
SEED = 7


def site_year(design: float, mean: float) -> list[float]:
    """Outdoor temperatures of a year's hours, [K].

    Parameters
    ----------
    design : float
        Of the coldest hour, [K]; no warmer than the mean
    mean : float
        Of the year, about, [K]

    Examples
    --------
    >>> year = site_year(258.15, 283.15)
    >>> len(year), round(min(year), 6)
    (8760, 258.15)
    """
    chance = random.Random(SEED)
    days = [0.0]
    while len(days) <= HOURS // 24 + 1:
        days.append(MEMORY * days[-1] + SPELLS * math.sqrt(1.0 - MEMORY**2) * chance.gauss(0.0, 1.0))
    waves, others = [], []
    for hour in range(HOURS):
        day, into = divmod(hour / 24.0, 1.0)
        k = int(day)
        waves.append(math.cos(2.0 * math.pi * (hour / 24.0 - COLDEST_DAY) / 365.0))
        daily = DAILY * math.cos(2.0 * math.pi * (hour * 3600.0 - WARMEST_AT) / DAY)
        others.append(days[k] + (days[k + 1] - days[k]) * into + daily)
    fall = max(0.0, mean - design)
    share = min(1.0, 0.9 * fall / -min(others))  # in a mild climate spells and days are milder too
    low, high = 0.0, 2.0 * fall + 1.0
    for _ in range(60):
        wide = 0.5 * (low + high)
        coldest = min(share * other - wide * wave for wave, other in zip(waves, others, strict=True))
        low, high = (wide, high) if coldest > -fall else (low, wide)
    return [mean + share * other - high * wave for wave, other in zip(waves, others, strict=True)]


def write_site_year(site: SiteValues, sink: TextIO) -> None:
    """The same as a weather file of the contract."""
    sink.write("time,outdoor_c\n")
    for hour, t in enumerate(site_year(site.outdoor_design, site.cold_water)):
        sink.write(f"{(BEGINS + timedelta(hours=hour)).isoformat(timespec='minutes')},{t - ZERO:.2f}\n")
