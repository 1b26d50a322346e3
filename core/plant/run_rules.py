"""What profiles and runs must be: courses of draws and gains over a day or week, and what is run with them.

Not what comes of a run.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, NamedTuple

from core import units
from core.errors import Refusal, value_text
from core.plant.model import Plant
from core.plant.reference_rules import is_room, may_draw, may_start, missing
from core.unit_table import UNITS
from core.vocabulary import nearest
from core.vocabulary.timetables import DAY, WEEK, read_moment
from core.vocabulary.values import (
    LONGEST_LABEL,
    read_choice,
    read_list,
    read_number,
    read_object,
    read_quantity,
    read_text,
    under,
)

REPEATS = {"day": DAY, "week": WEEK}
_DIMENSIONS = ("flow", "power")
_RANGES = {"flow": ("0 gpm", "20000 gpm"), "power": ("-1000 kBtu/h", "100000 kBtu/h")}
_WEATHER = ("-60 degC", "60 degC")
_WATER = ("-60 degC", "250 degC")
_RUN = ("name", "case", "limits", "hours", "weather", "draws", "gains", "start", "prices", "summary")
PRICED = ("fuel", "electricity")
_TIMES = ("longest_call", "shortest_run", "wait")
_DEGREE_HOURS = ("room_short", "tap_short")
_LIMITS = ("longest_call", "starts_per_hour", "shortest_run", "room_short", "tap_short", "wait")
MOST_HOURS = 8784.0


class Profile(NamedTuple):
    """A course that repeats: period [s], times from its start [s], values [SI], each until the next time."""

    dimension: str
    period: float
    times: tuple[float, ...]
    values: tuple[float, ...]


def read_profile(raw: Any, path: str = "") -> Profile:
    """A profile {points, repeat} of flows or powers.

    Raises
    ------
    Refusal
        Points that do not begin at 00:00, do not rise, or are not all flows or all powers
    """
    given = read_object(raw, path, ("points", "repeat"), ("points",))
    repeat = read_choice(given.get("repeat", "day"), tuple(REPEATS), under(path, "repeat"))
    weekly = repeat == "week"
    times: list[float] = []
    values: list[float] = []
    dimension, place = "", under(path, "points")
    for number, row in enumerate(read_list(given["points"], place, 1, 2000, "points [time, quantity]")):
        at = f"{place}[{number}]"
        if not isinstance(row, (list, tuple)) or len(row) != 2:
            raise Refusal(at, value_text(row), 'a point such as ["06:00", "2 gpm"]')
        time = read_moment(row[0], f"{at}[0]", weekly)
        first = "mon 00:00" if weekly else "00:00"
        if not times and time != 0.0:
            raise Refusal(f"{at}[0]", value_text(row[0]), f'"{first}" at the first point')
        if times and not times[-1] < time < REPEATS[repeat]:
            raise Refusal(f"{at}[0]", value_text(row[0]), "a later time than in the point before")
        dimension = dimension or _dimension(row[1], f"{at}[1]")
        times.append(time)
        values.append(read_quantity(row[1], dimension, f"{at}[1]", *_RANGES[dimension]))
    return Profile(dimension, REPEATS[repeat], tuple(times), tuple(values))


def _dimension(raw: Any, path: str) -> str:
    expected = 'a flow such as "2 gpm", or a power such as "1.5 kBtu/h"'
    if not isinstance(raw, str):
        raise Refusal(path, value_text(raw), expected)
    try:
        found = UNITS[units.split_quantity(raw)[1]].dimension
    except Refusal as refusal:
        raise refusal.located(path) from None
    if found not in _DIMENSIONS:
        raise Refusal(path, value_text(raw), expected)
    return found


def check_profiles(profiles: Any, path: str = "profiles") -> None:
    """Refuse profiles that cannot be read, or without a name."""
    if not isinstance(profiles, Mapping):
        raise Refusal(path, value_text(profiles), "an object of profiles by name")
    for name, raw in profiles.items():
        place = under(path, name)
        if not read_text(name, place, LONGEST_LABEL).strip():
            raise Refusal(place, value_text(name), "a name")
        read_profile(raw, place)


def check_run(raw: Any, path: str = "") -> None:
    """Refuse a run that cannot be read; what it names is not judged here."""
    given = read_object(raw, path, _RUN, ("name",))
    if not read_text(given["name"], under(path, "name"), LONGEST_LABEL).strip():
        raise Refusal(under(path, "name"), value_text(given["name"]), "a name")
    if "case" in given:
        read_text(given["case"], under(path, "case"), LONGEST_LABEL)
    if "hours" in given:
        place = under(path, "hours")
        if read_number(given["hours"], place, 0.0, MOST_HOURS) == 0.0:
            raise Refusal(place, value_text(given["hours"]), "more than 0 hours")
    if "weather" in given:
        _check_weather(given["weather"], under(path, "weather"))
    _check_limits(given.get("limits", {}), under(path, "limits"))
    prices = under(path, "prices")
    for key, value in read_object(given.get("prices", {}), prices, PRICED).items():
        read_number(value, under(prices, key), 0.0, 1e6)
    for key in ("draws", "gains"):
        for name, profile in _entries(given, key, path):
            read_text(profile, name, LONGEST_LABEL)
    for name, value in _entries(given, "start", path):
        read_quantity(value, "temperature", name, *_WATER)
    summary = given.get("summary", "")
    if not isinstance(summary, Mapping):
        read_text(summary, under(path, "summary"))


def _entries(given: Mapping[str, Any], key: str, path: str) -> list[tuple[str, Any]]:
    raw, place = given.get(key, {}), under(path, key)
    if not isinstance(raw, Mapping):
        raise Refusal(place, value_text(raw), "an object by id")
    return [(under(place, name), value) for name, value in raw.items()]


def _check_weather(raw: Any, path: str) -> None:
    given = read_object(raw, path, ("file", "low", "high"))
    if "file" in given:
        for key in ("low", "high"):
            if key in given:
                raise Refusal(under(path, key), value_text(given[key]), "nothing beside file")
        if not read_text(given["file"], under(path, "file"), 1000).strip():
            raise Refusal(under(path, "file"), value_text(given["file"]), "the name of a CSV file")
        return
    for key in ("low", "high"):
        if key not in given:
            raise Refusal(under(path, key), "nothing", "a temperature, or file with the name of a CSV file")
    low = read_quantity(given["low"], "temperature", under(path, "low"), *_WEATHER)
    if read_quantity(given["high"], "temperature", under(path, "high"), *_WEATHER) < low:
        raise Refusal(under(path, "high"), value_text(given["high"]), f"at least low, {given['low']}")


def _check_limits(raw: Any, path: str) -> None:
    for key, value in read_object(raw, path, _LIMITS).items():
        place = under(path, key)
        if key in _TIMES:
            read_quantity(value, "time", place, "0 s", "60 day")
        elif key in _DEGREE_HOURS and isinstance(value, str):
            read_quantity(value, "degree_days", place, "0 K*day", "20000 K*day")
        else:
            read_number(value, place, 0.0, 1e6)


def check_run_links(plant: Plant, raw: Mapping[str, Any], path: str) -> None:
    """Refuse a run that names a case, profile, fixture, room or tank that is not there."""
    cases = [case.name for case in plant.solve_cases]
    if "case" in raw and raw["case"] not in cases:
        hint = nearest(raw["case"], cases)
        raise Refusal(under(path, "case"), value_text(raw["case"]), "the name of a case", hint)
    fits: dict[str, tuple[Callable[[Any], bool], str, str]] = {
        "draws": (may_draw, "the id of a fixture or humidifier", "flow"),
        "gains": (is_room, "the id of a room", "power"),
        "start": (may_start, "the id of a room, tank or buffer", ""),
    }
    for key, (fit, expected, dimension) in fits.items():
        for name, value in raw.get(key, {}).items():
            place = under(under(path, key), name)
            item = plant.items.get(name)
            if item is None or not fit(item):
                among = [one.id for one in plant.items.values() if fit(one)]
                raise missing(plant, name, place, expected, among)
            if dimension:
                _check_profile_named(plant, value, dimension, place)


def _check_profile_named(plant: Plant, name: str, dimension: str, path: str) -> None:
    if name not in plant.profiles:
        raise Refusal(path, value_text(name), "the name of a profile", nearest(name, plant.profiles))
    found = read_profile(plant.profiles[name]).dimension
    if found != dimension:
        raise Refusal(path, value_text(name), f"a profile of {dimension}s, not of {found}s")
