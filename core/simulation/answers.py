"""What came of a run as tables and words, in the plant's units: for the command and for the window."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from core import units

ZERO = 273.15
KWH = 3.6e6

Table = list[tuple[str, ...]]
Warm = Callable[[float | None], str]


def tables_of(data: dict[str, Any], system: str) -> list[Table]:
    """The answers of a summary by what they are about, each under its headings; those with no row left out.

    Parameters
    ----------
    data : dict
        What `summary_of` gives
    system : "us" or "si"
    """

    def warm(celsius: float | None) -> str:
        return "–" if celsius is None else units.show(celsius + ZERO, "temperature", system)

    def heat(kwh: float) -> str:
        return units.show(kwh * KWH, "energy", system)

    tables = (
        _runs(data, warm, heat),
        _rooms(data, warm),
        _taps(data, warm),
        _tanks(data, warm),
        _melts(data, warm, heat),
    )
    return [table for table in tables if len(table) > 1]


def energy_words(data: dict[str, Any], system: str) -> str:
    """Heat, fuel, electricity and what they cost, in a line."""
    energy = data["energy_kwh"]
    heat, fuel = (units.show(energy[key] * KWH, "energy", system) for key in ("heat", "fuel"))
    cost = "" if data["cost"] is None else f", cost {data['cost']:.2f} at the prices given"
    return f"heat {heat}, fuel {fuel}, electricity {energy['electricity']:.3g} kWh{cost}"


def _melts(data: dict[str, Any], warm: Warm, heat: Callable[[float], str]) -> Table:
    table: Table = [("snow-melt", "lead time", "heat", "fuel", "coldest return in the first hour")]
    for key, row in data["melt"].items():
        if row["heat_kwh"]:
            costs = (span(row["lead_s"]), heat(row["heat_kwh"]), heat(row["fuel_kwh"]))
            table.append((key, *costs, warm(row["first_hour_return_c"])))
    return table


def year_tables(data: dict[str, Any], system: str) -> list[Table]:
    """What `year_of` gives: the twelve weeks, what ran, rooms below what is wanted."""

    def warm(celsius: float) -> str:
        return units.show(celsius + ZERO, "temperature", system)

    def heat(kwh: float) -> str:
        return units.show(kwh * KWH, "energy", system)

    weeks: Table = [("week from day", "stands for", "outdoors", "its twelfth", "heat", "fuel", "electricity")]
    for week in data["weeks"]:
        energy = week["summary"]["energy_kwh"]
        mean = (warm(week["outdoor_c"]), warm(week["twelfth_c"]))
        used = (heat(energy["heat"]), heat(energy["fuel"]), f"{energy['electricity']:.3g} kWh")
        weeks.append((f"{week['from_h'] / 24.0 + 1:.0f}", f"{week['weight']:.2f} weeks", *mean, *used))
    runs: Table = [("runs", "starts", "on", "heat")]
    for key, row in data["items"].items():
        given = heat(row["heat_kwh"]) if row["heat_kwh"] else ""
        runs.append((key, f"{row['starts']:.0f}", f"{row['on_h']:.0f} h", given))
    rooms: Table = [("rooms", "least", "below wanted, K·h")]
    rooms += [(key, warm(row["min_c"]), f"{row['short_kh']:.1f}") for key, row in data["rooms"].items()]
    return [table for table in (weeks, runs, rooms) if len(table) > 1]


def _runs(data: dict[str, Any], warm: Warm, heat: Callable[[float], str]) -> Table:
    table: Table = [("runs", "starts", "an hour", "shortest run", "on", "heat", "alone", "coldest return")]
    for key, row in data["items"].items():
        given = heat(row["heat_kwh"]) if row["heat_kwh"] else ""
        alone = row.get("alone_share")  # of all heat, had it been the only one
        share = "" if alone is None else f"{100.0 * alone:.0f} %"
        back = warm(row["coldest_return_c"]) if "coldest_return_c" in row else ""
        often = f"{row['starts'] / data['hours']:.2g}"
        runs = (str(row["starts"]), often, span(row["shortest_run_s"]), f"{row['on_h']:.2f} h")
        table.append((key, *runs, given, share, back))
    return table


def _rooms(data: dict[str, Any], warm: Warm) -> Table:
    table: Table = [("rooms", "least", "mean", "most", "below wanted, K·h", "longest")]
    for key, row in data["rooms"].items():
        temperatures = (warm(row["min_c"]), warm(row["mean_c"]), warm(row["max_c"]))
        longest = span(row["longest_short_s"] or None)
        table.append((key, *temperatures, f"{row['short_kh']:.2f}", longest))
    return table


def _taps(data: dict[str, Any], warm: Warm) -> Table:
    table: Table = [("tap", "least", "hottest", "longest wait", "short, K·min")]
    for key, row in data["fixtures"].items():
        if row["draws"]:
            wait = span(row["longest_wait_s"])
            table.append((key, warm(row["min_c"]), warm(row["max_c"]), wait, f"{row['short_k_min']:.1f}"))
    return table


def _tanks(data: dict[str, Any], warm: Warm) -> Table:
    table: Table = [("tanks", "least", "mean", "most", "longest recovery", "hours at 25 to 45 °C")]
    for key, row in data["tanks"].items():
        temperatures = (warm(row["min_c"]), warm(row["mean_c"]), warm(row["max_c"]))
        table.append((key, *temperatures, span(row["recovery_s"]), f"{row['growth_h']:.1f}"))
    return table


def moment_words(moment: dict[str, Any], system: str) -> str:
    """Where and what, with the figure in the plant's units."""
    what, _, unit = moment["what"].partition(", ")
    value = float(moment["value"])
    if unit == "degC":
        shown = units.show(value + ZERO, "temperature", system)
    elif unit == "K":
        shown = units.show(value, "temperature_difference", system)
    else:
        shown = span(value)
    return f"{moment['at']}, {what} {shown}"


def span(seconds: float | None) -> str:
    """A length of time in words of a clock.

    Examples
    --------
    >>> span(4000.0), span(45.2), span(None)
    ('1 h 07 min', '45 s', '–')
    """
    if seconds is None:
        return "–"
    if seconds < 120.0:
        return f"{seconds:.0f} s"
    minutes = round(seconds / 60.0)
    return f"{minutes} min" if minutes < 60 else f"{minutes // 60} h {minutes % 60:02d} min"


def clock(seconds: float) -> str:
    """Hours and minutes since the start."""
    minutes = int(seconds // 60)
    return f"{minutes // 60:4d}:{minutes % 60:02d}"
