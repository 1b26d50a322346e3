"""`wetside simulate FILE`: a day or more in time, as a page, as JSON, and every figure as CSV."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from core import units
from core.commands.arguments import Arguments, concerning
from core.commands.solve import CAUTION
from core.errors import Refusal, escaped
from core.files import read
from core.plant.model import Plant

if TYPE_CHECKING:
    from core.simulation.engine import Simulation

ZERO = 273.15
KWH = 3.6e6


def run(argv: list[str]) -> int:
    """Simulate what `argv` names; 1 where flows did not settle at some time."""
    parser = Arguments(
        "wetside simulate", description="A run in time: calls, tanks, floors, rooms.", allow_abbrev=False
    )
    parser.add_argument("file", metavar="FILE", help="a plant file, *.plant.json")
    parser.add_argument("--run", metavar="NAME", help="this run of the file (default: the first)")
    parser.add_argument("--hours", metavar="N", help="how long, instead of the run's hours")
    parser.add_argument("--json", action="store_true", help="SI figures as JSON")
    parser.add_argument("--csv", metavar="OUT", help="every figure over time")
    given = parser.parse_args(argv)
    plant = read.load(given.file)
    from core.simulation.engine import Simulation
    from core.simulation.runs import chosen_run
    from core.simulation.summary import summary_of
    from core.simulation.trace import Trace

    with concerning(given.file):
        chosen = chosen_run(plant, given.run, hours_of(given.hours), Path(given.file).parent)
    out = _csv_path(given.csv)
    sim = Simulation(chosen)
    if sys.stderr.isatty():
        sim.keep_on = _progress(sim)
    trace = Trace(sim)
    if out is not None:
        sim.observer.trace = trace.see
    seen = sim.simulate()
    data = summary_of(seen)
    if out is not None:
        _write(out, trace)
    if given.json:
        print(json.dumps(data, ensure_ascii=False, allow_nan=False, indent=1))
    else:
        print(page(plant, data))
        print(CAUTION)
    return 1 if seen.unsettled > 0.0 else 0


def hours_of(text: str | None) -> float | None:
    """The number after --hours."""
    if text is None:
        return None
    try:
        return float(text)
    except ValueError:
        raise Refusal("--hours", text, "a number of hours") from None


def _csv_path(text: str | None) -> Path | None:
    if text is None:
        return None
    if text.endswith(".plant.json"):
        raise Refusal("--csv", text, "a name that is not a plant file's")
    return Path(text)


def _write(path: Path, trace: Any) -> None:
    try:
        with path.open("w", encoding="utf-8", newline="") as sink:
            trace.write(sink)
    except OSError as fault:
        raise Refusal("--csv", str(path), f"a file that can be written ({fault.strerror})") from None


def _progress(sim: Simulation) -> Callable[[], bool]:
    """Show on standard error how much of a run is done; the run always goes on."""

    def step() -> bool:
        done = 100.0 * sim.time / sim.end
        print(f"\r{done:3.0f} % of {sim.run.hours:g} h", end="\r", file=sys.stderr, flush=True)
        return True

    return step


def page(plant: Plant, data: dict[str, Any]) -> str:
    """A run on one page, in the plant's units."""
    system = "si" if plant.units == "si" else "us"

    def warm(celsius: float | None) -> str:
        return "–" if celsius is None else units.show(celsius + ZERO, "temperature", system)

    def heat(kwh: float) -> str:
        return units.show(kwh * KWH, "energy", system)

    lines = [f"{plant.title or 'untitled'} · {data['run']} · {data['hours']:g} h", ""]
    energy = data["energy_kwh"]
    used = f"heat {heat(energy['heat'])}, fuel {heat(energy['fuel'])}"
    lines.append(f"{used}, electricity {energy['electricity']:.3g} kWh")
    for table in (_runs(data, warm, heat), _rooms(data, warm), _taps(data, warm), _tanks(data, warm)):
        if len(table) > 1:
            lines += ["", *columns(table)]
    melts: Table = [("snow-melt", "lead time", "heat", "fuel", "coldest return in the first hour")]
    for key, row in data["melt"].items():
        if row["heat_kwh"]:
            costs = (span(row["lead_s"]), heat(row["heat_kwh"]), heat(row["fuel_kwh"]))
            melts.append((key, *costs, warm(row["first_hour_return_c"])))
    lines += ["", *columns(melts)] if len(melts) > 1 else []
    lines.append("")
    lines += [f"{clock(m['time_s'])}  {_moment(m, system)}: {m['because']}" for m in data["moments"]]
    lines += ["", *(f"taken: {words}" for words in data["cautions"])]
    closed = f"energy closes within {abs(energy['imbalance']):.2g} kWh; plant version {data['plant']}"
    return "\n".join(escaped(line) for line in (*lines, "", closed)) + "\n"


Table = list[tuple[str, ...]]
Warm = Callable[[float | None], str]


def _runs(data: dict[str, Any], warm: Warm, heat: Callable[[float], str]) -> Table:
    table: Table = [("runs", "starts", "shortest run", "on", "heat", "coldest return")]
    for key, row in data["items"].items():
        given = heat(row["heat_kwh"]) if row["heat_kwh"] else ""
        back = warm(row["coldest_return_c"]) if "coldest_return_c" in row else ""
        runs = (str(row["starts"]), span(row["shortest_run_s"]), f"{row['on_h']:.2f} h")
        table.append((key, *runs, given, back))
    return table


def _rooms(data: dict[str, Any], warm: Warm) -> Table:
    table: Table = [("rooms", "least", "mean", "most", "below wanted, K·h")]
    for key, row in data["rooms"].items():
        temperatures = (warm(row["min_c"]), warm(row["mean_c"]), warm(row["max_c"]))
        table.append((key, *temperatures, f"{row['short_kh']:.2f}"))
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


def _moment(moment: dict[str, Any], system: str) -> str:
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


def columns(rows: list[tuple[str, ...]]) -> list[str]:
    """Rows with their cells one under another."""
    widths = [max(len(row[k]) for row in rows) for k in range(len(rows[0]))]
    return ["  ".join(c.ljust(w) for c, w in zip(row, widths, strict=True)).rstrip() for row in rows]
