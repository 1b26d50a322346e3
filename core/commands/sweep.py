"""`wetside sweep FILE --vary … --vary …`: a grid of runs, as a map of what is acceptable or as JSON."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

from core.commands.arguments import Arguments, concerning
from core.commands.simulate import hours_of
from core.commands.solve import CAUTION
from core.errors import Refusal, escaped
from core.files import read
from core.plant.model import Plant

if TYPE_CHECKING:
    from core.simulation.sweep import Sweep


def run(argv: list[str]) -> int:
    """Make the runs that `argv` names; 1 where it was stopped before all were made."""
    parser = Arguments(
        "wetside sweep", description="A grid of runs: which settings go together.", allow_abbrev=False
    )
    parser.add_argument("file", metavar="FILE", help="a plant file, *.plant.json")
    parser.add_argument(
        "--vary", action="append", default=[], metavar="'ID.property=Q,Q,…'", help="a setting and its values"
    )
    parser.add_argument("--run", metavar="NAME", help="this run of the file (default: the first)")
    parser.add_argument("--hours", metavar="N", help="how long, instead of the run's hours")
    parser.add_argument("--keep", metavar="PATH", help="keep runs there, and take those that are there")
    parser.add_argument(
        "--cluster",
        metavar="ADDRESS",
        help="let a dask cluster make the runs (extra `cluster`; off unless asked)",
    )
    parser.add_argument("--json", action="store_true", help="every run as JSON")
    given = parser.parse_args(argv)
    plant = read.load(given.file)
    from core.simulation.sweep import MOST_VARIED, Sweep, read_varied

    if not 1 <= len(given.vary) <= MOST_VARIED:
        raise Refusal("--vary", f"{len(given.vary)} settings", f"1 to {MOST_VARIED}; two make a map")
    if given.keep is not None and given.keep.endswith(".plant.json"):
        raise Refusal("--keep", given.keep, "a name that is not a plant file's")
    with concerning(given.file):
        varied = [read_varied(plant, text) for text in given.vary]
        folder = Path(given.file).parent
        keep = None if given.keep is None else Path(given.keep)
        sweep = Sweep(plant, varied, given.run, hours_of(given.hours), folder, keep)
    try:
        data = _gone(sweep, given.cluster)
    except KeyboardInterrupt:
        data = sweep.answer()
    if given.json:
        print(json.dumps(data, ensure_ascii=False, allow_nan=False, indent=1))
    else:
        print(page(plant, data))
        print(CAUTION)
    return 0 if len(data["runs"]) == len(sweep.values) else 1


def _gone(sweep: Sweep, cluster: str | None) -> dict[str, Any]:
    from core.simulation.workers import cluster_at

    done = _progress if sys.stderr.isatty() else None
    if cluster is None:
        return sweep.go(done=done)
    with cluster_at(cluster) as make:
        sweep.at_once = len(sweep.values)  # a cluster knows best how many it can make
        return sweep.go(make, done)


def _progress(done: int, total: int) -> None:
    print(f"\r{done} of {total} runs", end="\n" if done == total else "", file=sys.stderr, flush=True)


def page(plant: Plant, data: dict[str, Any]) -> str:
    """The grid as a map: OK, or what is beyond its limit first; then what conflicts."""
    lines = [f"{plant.title or 'untitled'} · {len(data['runs'])} runs", ""]
    if not data["limits"]:
        lines += ["The run has no limits, so every run is OK.", ""]
    vary = data["vary"]
    found = {tuple(row["values"]): _cell(row) for row in data["runs"]}
    if len(vary) == 2:
        across = vary[1]["values"]
        lines.append(f"{vary[0]['path']} down, {vary[1]['path']} across")
        table = [("", *across)]
        table += [(a, *(found.get((a, b), "not made") for b in across)) for a in vary[0]["values"]]
    else:
        table = [(*(one["path"] for one in vary), "")]
        table += [(*values, cell) for values, cell in found.items()]
    widths = [max(len(row[k]) for row in table) for k in range(len(table[0]))]
    lines += ["  ".join(c.ljust(w) for c, w in zip(row, widths, strict=True)).rstrip() for row in table]
    lines += ["", *(f"conflict: {one['text']}" for one in data["conflicts"])]
    return "\n".join(escaped(line) for line in lines) + "\n"


def _cell(row: dict[str, Any]) -> str:
    if row["ok"]:
        heat = row["summary"]["energy_kwh"]["fuel"] or row["summary"]["energy_kwh"]["electricity"]
        return f"OK, {heat:.3g} kWh"
    first = row["broken"][0]
    return f"{first['limit'].replace('_', ' ')}, {first['at']}"
