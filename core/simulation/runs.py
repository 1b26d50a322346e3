"""Which run is simulated: its case, hours, weather, draws, gains, starts, as the file says or by default."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from core import units
from core.errors import Refusal, value_text
from core.plant.as_set import plant_for
from core.plant.model import Case, Plant
from core.plant.run_rules import MOST_HOURS, Profile, read_profile
from core.simulation.weather import Weather, weather_of
from core.vocabulary import nearest

DAY_HOURS = 24.0


@dataclass(frozen=True)
class Run:
    """One run.

    Attributes
    ----------
    plant : Plant
        As the run's case sees it
    implied : bool
        Whether its case is none of the file's: then stats and timers are free
    draws, gains : mapping
        Courses by fixture [m^3/s] and by room [W]
    start : mapping
        Temperatures by room or tank, [K]; of a tank also by tap
    limits : mapping
        What a sweep judges by: [s], starts an hour, [K h] of rooms, [K min] of taps
    prices : mapping
        Of `fuel` and `electricity`, in the user's money for a kWh
    """

    name: str
    plant: Plant
    case: Case
    implied: bool
    hours: float
    weather: Weather
    draws: Mapping[str, Profile] = field(default_factory=dict)
    gains: Mapping[str, Profile] = field(default_factory=dict)
    start: Mapping[str, Any] = field(default_factory=dict)
    limits: Mapping[str, float] = field(default_factory=dict)
    prices: Mapping[str, float] = field(default_factory=dict)


def chosen_run(
    plant: Plant, name: str | None = None, hours: float | None = None, folder: Path | None = None
) -> Run:
    """The run of a name, else the first; without runs a day of the first case.

    Parameters
    ----------
    plant : Plant
    name : str or None
    hours : float or None
        Instead of the run's
    folder : Path or None
        Where weather files are looked for: the plant file's folder

    Raises
    ------
    Refusal
        A plant with nothing in it, a name that no run has, hours that are none, a weather file that cannot
        be read
    """
    if not any(item.stays for item in plant.items.values()):
        raise Refusal("items", "nothing", "something that stores, moves or makes heat")
    names = [str(run["name"]) for run in plant.runs]
    if name is not None and name not in names:
        expected = "one of " + ", ".join(names) if names else "no --run: the file has no runs"
        raise Refusal("--run", value_text(name), expected, nearest(name, names))
    number = names.index(name) if name is not None else 0
    raw: Mapping[str, Any] = plant.runs[number] if plant.runs else {}
    case = next((c for c in plant.solve_cases if c.name == raw.get("case")), plant.solve_cases[0])
    lasts = float(raw.get("hours", DAY_HOURS)) if hours is None else hours
    if not math.isfinite(lasts) or not 0.0 < lasts <= MOST_HOURS:
        raise Refusal("--hours", value_text(hours), f"more than 0, at most {MOST_HOURS:g} hours")
    seen = plant_for(plant, case)
    outdoor = seen.site_si.outdoor_design if case.si.outdoor is None else case.si.outdoor
    weather = weather_of(raw.get("weather"), outdoor, folder or Path())
    profiles = {key: read_profile(profile) for key, profile in plant.profiles.items()}
    start: dict[str, Any] = {**case.si.tanks, **case.si.start}
    start |= {key: units.parse(value, "temperature") for key, value in raw.get("start", {}).items()}
    return Run(
        str(raw.get("name", case.name)),
        seen,
        case,
        not plant.cases,
        lasts,
        weather,
        {key: profiles[of] for key, of in raw.get("draws", {}).items()},
        {key: profiles[of] for key, of in raw.get("gains", {}).items()},
        start,
        limits_of(raw.get("limits", {})),
        {key: float(price) for key, price in raw.get("prices", {}).items()},
    )


def limits_of(raw: Mapping[str, Any]) -> dict[str, float]:
    """Limits in seconds, starts an hour, K h of rooms and K min of taps."""
    found = {}
    for key, value in raw.items():
        if not isinstance(value, str):
            found[key] = float(value)
        elif key in ("longest_call", "shortest_run", "wait"):
            found[key] = units.parse(value, "time")
        else:
            kelvin_seconds = units.parse(value, "degree_days")
            found[key] = kelvin_seconds / (60.0 if key == "tap_short" else 3600.0)
    return found
