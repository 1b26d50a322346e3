"""`wetside simulate FILE`: a day or more in time, as a page, as JSON, and every figure as CSV."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from core.commands.answering import columns
from core.commands.arguments import Arguments, concerning
from core.commands.solve import CAUTION
from core.errors import Refusal, escaped
from core.files import read
from core.files.places import spare_plants
from core.plant.model import Plant

if TYPE_CHECKING:
    from core.simulation.engine import Simulation


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
    parser.add_argument("--year", action="store_true", help="a year of weather as twelve weighted weeks")
    parser.add_argument(
        "--make-weather", metavar="OUT", help="write a year of made-up weather for the site, and run nothing"
    )
    given = parser.parse_args(argv)
    plant = read.load(given.file)
    if given.make_weather is not None:
        return _make_weather(plant, given.make_weather)
    if given.year:
        return _run_year(plant, given)
    from core.simulation.engine import Simulation
    from core.simulation.runs import chosen_run
    from core.simulation.summary import summary_of
    from core.simulation.trace import Trace

    out = None if given.csv is None else _out_path("--csv", given.csv)
    with concerning(given.file):
        chosen = chosen_run(plant, given.run, hours_of(given.hours), Path(given.file).parent)
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


def _make_weather(plant: Plant, name: str) -> int:
    from core.simulation.site_weather import write_site_year

    path = _out_path("--make-weather", name)
    try:
        with path.open("w", encoding="utf-8", newline="") as sink:
            write_site_year(plant.site_si, sink)
    except OSError as fault:
        raise Refusal("--make-weather", name, f"a file that can be written ({fault.strerror})") from None
    print(
        f"{path.name}: a year by the site's outdoor design and cold water; made up, no record of any year.\n"
        f'A run takes it by "weather": {{"file": "{path.name}"}}.'
    )
    return 0


def _run_year(plant: Plant, given: Any) -> int:
    from core.simulation.runs import chosen_run
    from core.simulation.year import year_of

    for option in ("hours", "csv"):
        if getattr(given, option) is not None:
            raise Refusal(f"--{option}", getattr(given, option), "nothing beside --year")
    with concerning(given.file):
        chosen = chosen_run(plant, given.run, None, Path(given.file).parent)
        data = year_of(chosen, _weeks_done if sys.stderr.isatty() else lambda _done: None)
    if given.json:
        print(json.dumps(data, ensure_ascii=False, allow_nan=False, indent=1))
    else:
        print(year_page(plant, data))
        print(CAUTION)
    return 1 if data["unsettled_s"] > 0.0 else 0


def _weeks_done(done: int) -> None:
    print(f"\r{done:2d} of 12 weeks", end="\r", file=sys.stderr, flush=True)


def hours_of(text: str | None) -> float | None:
    """The number after --hours."""
    if text is None:
        return None
    try:
        return float(text)
    except ValueError:
        raise Refusal("--hours", text, "a number of hours") from None


def _out_path(option: str, text: str) -> Path:
    spare_plants(out := Path(text), "a file to write to", option)
    return out


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
    from core.simulation.answers import clock, energy_words, moment_words, tables_of

    system = "si" if plant.units == "si" else "us"
    lines = [f"{plant.title or 'untitled'} · {data['run']} · {data['hours']:g} h", ""]
    lines.append(energy_words(data, system))
    for table in tables_of(data, system):
        lines += ["", *columns(table)]
    lines.append("")
    lines += [f"{clock(m['time_s'])}  {moment_words(m, system)}: {m['because']}" for m in data["moments"]]
    lines += ["", *(f"taken: {words}" for words in data["cautions"])]
    closed = (
        f"energy closes within {abs(data['energy_kwh']['imbalance']):.2g} kWh; plant version {data['plant']}"
    )
    return "\n".join(escaped(line) for line in (*lines, "", closed)) + "\n"


def year_page(plant: Plant, data: dict[str, Any]) -> str:
    """A year on one page, in the plant's units."""
    from core.simulation.answers import energy_words, year_tables

    system = "si" if plant.units == "si" else "us"
    lines = [f"{plant.title or 'untitled'} · {data['run']} · a year as twelve weeks", ""]
    lines.append(energy_words(data, system))
    for table in year_tables(data, system):
        lines += ["", *columns(table)]
    lines += ["", *(f"taken: {words}" for words in data["cautions"]), "", f"plant version {data['plant']}"]
    return "\n".join(escaped(line) for line in lines) + "\n"
