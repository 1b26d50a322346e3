"""A year as twelve weighted weeks: of each twelfth the week whose mean outdoor temperature is nearest its.

The weeks are gone through on their own, two at a time, each from the run's start; sums count each week as
often as it stands for. What happens on few days of a twelfth (its coldest spell) is not among them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, replace
from typing import Any

from core.errors import Refusal
from core.simulation.clock_words import clock_words
from core.simulation.engine import Simulation
from core.simulation.runs import Run
from core.simulation.summary import cost_of, summary_of
from core.simulation.weather import Weather
from core.simulation.workers import AT_ONCE, LocalProcesses, each_made, keep_on
from core.vocabulary.timetables import DAY, WEEK

YEAR = 365.0 * DAY
SHORTEST = 360.0 * DAY  # what passes for a year of weather
TWELFTHS = 12
HOUR = 3600.0
SAME, DIFFERENT = 0.005, 3.0  # share of the heat, and [K], by which weeks are told apart
SUMMED = ("heat", "fuel", "electricity", "draws", "losses", "gains", "stored", "imbalance")


@dataclass(frozen=True)
class Week:
    """A week of weather: from when [s], how many weeks it stands for, means of it and of its twelfth [K]."""

    begins: float
    weight: float
    mean: float
    whole: float


def weeks_of(weather: Weather) -> list[Week]:
    """The week of each twelfth of a year, from a midnight on.

    Raises
    ------
    Refusal
        Weather that is no year of rows
    """
    lasts = weather.times[-1] - weather.times[0]
    if weather.wave is not None or lasts < SHORTEST:
        found = "no weather file" if weather.wave is not None or lasts == 0.0 else f"{lasts / DAY:.1f} days"
        raise Refusal("--year", found, "a run whose weather file holds a year of rows")
    lasts = min(lasts, YEAR)
    hours = [weather.at((k + 0.5) * HOUR) for k in range(int(lasts / HOUR))]
    long = lasts / TWELFTHS
    midnight = -weather.starts % DAY
    found_weeks = []
    for k in range(TWELFTHS):
        whole = _mean(hours, k * long, (k + 1) * long)
        begins, choices = midnight, []
        while begins + WEEK <= (k + 1) * long + 1.0:
            if begins >= k * long:
                choices.append((abs(_mean(hours, begins, begins + WEEK) - whole), begins))
            begins += DAY
        best = min(choices)[1]
        found_weeks.append(Week(best, long / WEEK, _mean(hours, best, best + WEEK), whole))
    return found_weeks


def _mean(hours: Sequence[float], begins: float, ends: float) -> float:
    piece = hours[round(begins / HOUR) : round(ends / HOUR)]
    return sum(piece) / len(piece)


def cut(weather: Weather, begins: float, lasts: float) -> Weather:
    """A stretch of weather with its own time 0."""
    inner = [t for t in weather.times if begins < t < begins + lasts]
    times = [begins, *inner, begins + lasts]
    return replace(
        weather,
        times=tuple(t - begins for t in times),
        outdoor=tuple(weather.at(t) for t in times),
        snow=tuple(weather.snow_at(t) for t in times),
        starts=(weather.starts + begins) % WEEK,
    )


def year_of(
    run: Run,
    told: Callable[[int], object] = lambda _done: None,
    make: Callable[[], Executor] = LocalProcesses,
) -> dict[str, Any]:
    """A year of a run as plain data.

    Parameters
    ----------
    run : Run
        Its hours are not asked
    told : callable
        Gets how many weeks are done
    make : callable
        Gives who goes through the weeks; two processes by default

    Raises
    ------
    Refusal
        Weather that is no year of rows
    """
    found = None
    for found in year_steps(run, make):
        if isinstance(found, int):
            told(found)
    assert isinstance(found, dict)
    return found


def year_steps(
    run: Run, make: Callable[[], Executor] = LocalProcesses, at_once: int = AT_ONCE
) -> Iterator[int | dict[str, Any]]:
    """The same by and by: how many weeks are done, some times a second, and in the end the year.

    Raises
    ------
    Refusal
        Weather that is no year of rows
    """
    weeks = weeks_of(run.weather)
    runs = [replace(run, hours=WEEK / HOUR, weather=cut(run.weather, w.begins, WEEK)) for w in weeks]
    done: dict[int, tuple[dict[str, Any], float]] = {}
    for one in each_made(make, run_week, {k: (week,) for k, week in enumerate(runs)}, at_once):
        if one is not None:
            done[one.number] = one.found
        yield len(done)
    found = [done[k] for k in range(len(weeks))]
    yield _joined(run, weeks, [summary for summary, _ in found], sum(rough for _, rough in found))


def run_week(run: Run) -> tuple[dict[str, Any], float]:
    """What came of one week, and how long flows did not settle [s]."""
    seen = Simulation(run, keep_on).simulate()
    return summary_of(seen), seen.unsettled


def _joined(run: Run, weeks: Sequence[Week], found: Sequence[dict[str, Any]], rough: float) -> dict[str, Any]:
    weights = [week.weight for week in weeks]

    def total(values: Sequence[float]) -> float:
        return sum(w * value for w, value in zip(weights, values, strict=True))

    energy = {key: total([one["energy_kwh"][key] for one in found]) for key in SUMMED}
    cautions = list(dict.fromkeys(words for one in found for words in one["cautions"]))
    cautions.append(
        "the year is twelve weeks, each the one nearest the mean outdoor temperature of its twelfth and "
        "counted for all of it: its coldest days and single events are not among them; run these on their own"
    )
    cautions.append("each week begins at the run's start temperatures; what it stores by its end is `stored`")
    heats, means = [one["energy_kwh"]["heat"] for one in found], [week.mean for week in weeks]
    if max(heats) - min(heats) <= SAME * max(heats) and max(means) - min(means) > DIFFERENT:
        cautions.insert(
            0,
            "every week takes the same heat although outdoors differs: nothing in this case answers to the "
            "weather, so this is no year; leave its stats free, and draw rooms with their loss",
        )
    return {
        "run": run.name,
        "hours": total([WEEK / HOUR] * len(weeks)),
        "plant": found[0]["plant"],
        "energy_kwh": energy,
        "cost": cost_of(energy, run.prices, cautions),
        "items": {
            key: {
                "starts": total([one["items"][key]["starts"] for one in found]),
                "on_h": total([one["items"][key]["on_h"] for one in found]),
                "heat_kwh": total([one["items"][key]["heat_kwh"] for one in found]),
            }
            for key in found[0]["items"]
        },
        "rooms": {
            key: {
                "min_c": min(one["rooms"][key]["min_c"] for one in found),
                "short_kh": total([one["rooms"][key]["short_kh"] for one in found]),
            }
            for key in found[0]["rooms"]
        },
        "tanks": {
            key: {"growth_h": total([one["tanks"][key]["growth_h"] for one in found])}
            for key in found[0]["tanks"]
        },
        "weeks": [
            {
                "from_h": week.begins / HOUR,
                "from": clock_words(run.weather.starts + week.begins),
                "weight": week.weight,
                "outdoor_c": week.mean - 273.15,
                "twelfth_c": week.whole - 273.15,
                "summary": one,
            }
            for week, one in zip(weeks, found, strict=True)
        ],
        "unsettled_s": rough,
        "cautions": cautions,
    }
