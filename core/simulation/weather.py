"""Weather of a run: straight between the rows of a CSV file, a daily wave from low to high, or one value."""

from __future__ import annotations

import csv
import math
from bisect import bisect_right
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from core import units
from core.errors import Refusal, value_text
from core.vocabulary.timetables import DAY

ZERO = 273.15
WARMEST_AT = 15.0 * 3600.0  # [s] after midnight; the contract's
WAVE_STEP = 900.0  # [s] the wave is taken as straight between
SNOW_STEP = 300.0  # [s] for which snowfall is one rate while it grows or fades
COLUMNS = ("time", "outdoor_c", "outdoor_f", "snow_mm_h", "wind_m_s")
COLDEST, HOTTEST = -90.0, 70.0  # [degC] beyond it a row is a slip
MOST_BYTES = 50_000_000


@dataclass(frozen=True)
class Weather:
    """Rows in rising time: seconds from the start, outdoor [K], snow as water [kg/s/m^2].

    `starts` is the moment of time 0, counted from Monday 00:00, [s]; `wave` (low, high) [K] repeats daily.
    """

    times: tuple[float, ...] = (0.0,)
    outdoor: tuple[float, ...] = (ZERO,)
    snow: tuple[float, ...] = (0.0,)
    starts: float = 0.0
    wave: tuple[float, float] | None = None
    said: str = ""

    def at(self, t: float) -> float:
        """Outdoor temperature, [K]."""
        if self.wave is not None:
            low = math.floor(t / WAVE_STEP) * WAVE_STEP
            a, b = self._wave(low), self._wave(low + WAVE_STEP)
            return a + (b - a) * (t - low) / WAVE_STEP
        return self._between(self.outdoor, t)

    def _wave(self, t: float) -> float:
        assert self.wave is not None
        low, high = self.wave
        angle = 2.0 * math.pi * (self.starts + t - WARMEST_AT) / DAY
        return 0.5 * (low + high) + 0.5 * (high - low) * math.cos(angle)

    def rate(self, t: float) -> float:
        """How fast it changes from now on, [K/s]."""
        end = self.next(t)
        return 0.0 if math.isinf(end) else (self.at(end) - self.at(t)) / (end - t)

    def snow_at(self, t: float) -> float:
        """Snow as water, straight between the rows, [kg/s/m^2]."""
        return self._between(self.snow, t)

    def snowing(self, t: float) -> float:
        """Snow that falls until the weather's next time, as water, [kg/s/m^2]: the mean of both ends."""
        end = self.next(t)
        now = self._between(self.snow, t)
        return now if math.isinf(end) else 0.5 * (now + self._between(self.snow, end))

    def next(self, t: float) -> float:
        """The next time at which it changes otherwise; infinite after the last row, [s]."""
        if self.wave is not None:
            return (math.floor(t / WAVE_STEP + 1e-9) + 1.0) * WAVE_STEP
        k = bisect_right(self.times, t + 1e-9)
        if k == len(self.times):
            return math.inf
        if k == 0 or self.snow[k] == self.snow[k - 1]:
            return self.times[k]
        begun = self.times[k - 1]
        return min(self.times[k], begun + (math.floor((t - begun) / SNOW_STEP + 1e-9) + 1.0) * SNOW_STEP)

    def _between(self, values: tuple[float, ...], t: float) -> float:
        k = bisect_right(self.times, t)
        if k == 0:
            return values[0]
        if k == len(self.times):
            return values[-1]
        a, b = self.times[k - 1], self.times[k]
        return values[k - 1] + (values[k] - values[k - 1]) * (t - a) / (b - a)


def steady(outdoor: float) -> Weather:
    """One outdoor temperature all the time, [K]."""
    return Weather((0.0,), (outdoor,), (0.0,), said="outdoors stays as in the case")


def weather_of(raw: Any, outdoor: float, folder: Path) -> Weather:
    """Weather that a run names; without one, the outdoor temperature of its case, [K].

    Raises
    ------
    Refusal
        A file that is not there, or a row that cannot be read
    """
    if not raw:
        return steady(outdoor)
    if "file" in raw:
        return read_weather(folder / str(raw["file"]), str(raw["file"]))
    low, high = (units.parse(raw[key], "temperature") for key in ("low", "high"))
    return Weather(wave=(low, high), said="outdoors is a wave between low and high, warmest at 15:00")


def read_weather(path: Path, name: str) -> Weather:
    """A weather file: `time` and `outdoor_c` or `outdoor_f`, and maybe `snow_mm_h`, `wind_m_s`.

    Raises
    ------
    Refusal
        With the file's name and the line
    """
    try:
        if path.stat().st_size > MOST_BYTES:
            raise Refusal("", f"{path.stat().st_size} bytes", f"at most {MOST_BYTES}", file=name)
        text = path.read_text(encoding="utf-8-sig")
    except OSError as fault:
        raise Refusal("", fault.strerror or "a fault", "a weather file that can be read", file=name) from None
    except UnicodeDecodeError:
        raise Refusal("", "bytes that are no UTF-8 text", "a weather file in UTF-8", file=name) from None
    lines = list(csv.reader(text.splitlines()))
    if not lines:
        raise Refusal("line 1", "nothing", "the header time,outdoor_c", file=name)
    header = [cell.strip() for cell in lines[0]]
    _check_header(header, name)
    numbered = [(f"line {n}", cells) for n, cells in enumerate(lines[1:], 2) if any(map(str.strip, cells))]
    places = [place for place, _ in numbered]
    rows = [_row(header, cells, place, name) for place, cells in numbered]
    if not rows:
        raise Refusal("line 2", "nothing", "at least one row of weather", file=name)
    first = rows[0][0]
    for place, row in zip(places, rows, strict=True):
        if (row[0].tzinfo is None) != (first.tzinfo is None):
            raise Refusal(place, str(row[0]), "a time with its offset in every row, or in none", file=name)
    times = [(row[0] - first).total_seconds() for row in rows]
    for k in range(1, len(times)):
        if times[k] <= times[k - 1]:
            raise Refusal(places[k], str(rows[k][0]), "a later time than in the row before", file=name)
    starts = first.weekday() * DAY + first.hour * 3600.0 + first.minute * 60.0 + first.second
    return Weather(
        tuple(times),
        tuple(row[1] for row in rows),
        tuple(row[2] for row in rows),
        starts,
        said=f"weather of {name}, straight between its rows; after the last its value stays",
    )


def _check_header(header: list[str], name: str) -> None:
    for cell in header:
        if cell not in COLUMNS or header.count(cell) > 1:
            raise Refusal("line 1", value_text(cell), "each once of " + ", ".join(COLUMNS), file=name)
    outdoors = [cell for cell in header if cell.startswith("outdoor")]
    if "time" not in header or len(outdoors) != 1:
        raise Refusal("line 1", ",".join(header), "time, and one of outdoor_c and outdoor_f", file=name)


def _row(header: list[str], cells: list[str], place: str, name: str) -> tuple[datetime, float, float]:
    if len(cells) != len(header):
        raise Refusal(place, f"{len(cells)} cells", f"{len(header)}, as in the header", file=name)
    row = dict(zip(header, (cell.strip() for cell in cells), strict=True))
    try:
        moment = datetime.fromisoformat(row["time"])
    except ValueError:
        raise Refusal(
            place, value_text(row["time"]), "an ISO time such as 2026-01-05T06:00", file=name
        ) from None
    key = "outdoor_c" if "outdoor_c" in row else "outdoor_f"
    outdoor = _number(row[key], place, key, name)
    celsius = outdoor if key == "outdoor_c" else (outdoor - 32.0) / 1.8
    if not COLDEST <= celsius <= HOTTEST:
        raise Refusal(place, f"{key} {value_text(row[key])}", f"{COLDEST:g} to {HOTTEST:g} degC", file=name)
    snow = _number(row["snow_mm_h"], place, "snow_mm_h", name) if row.get("snow_mm_h") else 0.0
    if not 0.0 <= snow <= 100.0:
        raise Refusal(place, f"snow_mm_h {value_text(row['snow_mm_h'])}", "0 to 100", file=name)
    wind = _number(row["wind_m_s"], place, "wind_m_s", name) if row.get("wind_m_s") else 0.0
    if not 0.0 <= wind <= 100.0:
        raise Refusal(place, f"wind_m_s {value_text(row['wind_m_s'])}", "0 to 100", file=name)
    return moment, celsius + ZERO, snow / 3600.0


def _number(text: str, place: str, key: str, name: str) -> float:
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise Refusal(place, f"{key} {value_text(text)}", "a number", file=name)
    return value
