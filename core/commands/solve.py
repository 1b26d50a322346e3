"""`wetside solve FILE`: solves cases of a plant and shows them as a table or as JSON."""

from __future__ import annotations

import json
import sys
from typing import TYPE_CHECKING, Any

from core import units
from core.commands.arguments import Arguments
from core.errors import Refusal, escaped
from core.files import read
from core.plant.model import Case, Plant
from core.vocabulary.values import nearest

if TYPE_CHECKING:
    from core.solve import Solution

CAUTION = (
    "Hot water scalds, and pressure, gas and electricity can kill. These are sums, not an approval: "
    "local code, the authority having jurisdiction and licensed trades decide."
)


def run(argv: list[str]) -> int:
    """Solve what `argv` names; refusals are raised, the caller shows them."""
    parser = Arguments(
        "wetside solve", description="Solve flows, heads and temperatures.", allow_abbrev=False
    )
    parser.add_argument("file", metavar="FILE", help="a plant file, *.plant.json")
    which = parser.add_mutually_exclusive_group()
    which.add_argument("--case", metavar="NAME", help="this case only (default: the first)")
    which.add_argument("--all-cases", action="store_true", help="every case of the file")
    which.add_argument("--all-calls", action="store_true", help="every combination of calls (not built yet)")
    parser.add_argument("--json", action="store_true", help="SI figures as JSON")
    given = parser.parse_args(argv)
    if given.all_calls:
        raise Refusal(
            "--all-calls", "--all-calls", "--case NAME or --all-cases", "Calls come with a later version"
        )
    plant = read.load(given.file)
    return show(plant, chosen_cases(plant, given.case, given.all_cases), given.json)


def chosen_cases(plant: Plant, name: str | None, every: bool) -> list[Case]:
    """The cases asked for: all, the named one, or the first."""
    cases = list(plant.solve_cases)
    if every:
        return cases
    if name is None:
        return cases[:1]
    found = [c for c in cases if c.name == name]
    if not found:
        names = ", ".join(c.name for c in cases)
        raise Refusal("--case", name, f"one of {names}", nearest(name, [c.name for c in cases]))
    return found


def show(plant: Plant, cases: list[Case], as_json: bool) -> int:
    """Solve and print cases; 1 where something needs attention, else 0."""
    from core.solve import Solver
    from core.vocabulary import KINDS

    solver = Solver(plant)
    solutions: list[Solution] = []
    for case in cases:
        if sys.stderr.isatty() and len(cases) > 3:
            print(f"\r{len(solutions) + 1} of {len(cases)} cases", end="", file=sys.stderr)
        solutions.append(solver.solve(case))
    if sys.stderr.isatty() and len(cases) > 3:
        print(file=sys.stderr)
    if as_json:
        print(
            json.dumps(
                {"cases": [s.as_json() for s in solutions]}, ensure_ascii=False, allow_nan=False, indent=1
            )
        )
    else:
        for solution in solutions:
            print(table(plant, solution))
        print(CAUTION)
    unsolved = any(not KINDS[i.kind].solved for i in plant.items.values() if i.stage != "to_remove")
    return 1 if unsolved or not all(s.converged for s in solutions) else 0


def table(plant: Plant, solution: Solution) -> str:
    """A case as a plain table in the plant's units."""
    system = "si" if plant.units == "si" else "us"
    state = f"settled in {solution.passes} passes" if solution.converged else "NOT SETTLED"
    lines = [escaped(f"{plant.title or 'untitled'} · {solution.case} · {state}"), ""]
    rows: list[tuple[str, ...]] = [
        ("pipe", "from", "to", "flow", "velocity", "in", "out", "loss", "pressure in")
    ]
    for key, f in solution.pipes.items():
        p = plant.pipes[key]
        rows.append(
            (
                key,
                f"{p.start.item}.{p.start.port}",
                f"{p.end.item}.{p.end.port}",
                *_shown(f, system),
            )
        )
    lines += _columns(rows)
    items: list[tuple[str, ...]] = [("item", "kind", "figures")]
    for key, figures in solution.items.items():
        text = figures_text(figures, system)
        if text:
            items.append((key, plant.items[key].kind.replace("_", " "), text))
    lines += ["", *_columns(items)]
    lines += ["", *(escaped(f"note: {n.at}: {n.text}") for n in solution.notes)]
    return "\n".join(lines) + "\n"


def _shown(f: dict[str, Any], system: str) -> tuple[str, ...]:
    zero = 273.15
    return (
        units.show(f["flow_m3_s"], "flow", system),
        units.show(f["velocity_m_s"], "velocity", system),
        units.show(f["temperature_in_c"] + zero, "temperature", system),
        units.show(f["temperature_out_c"] + zero, "temperature", system),
        units.show(f["drop_pa"], "pressure", system, digits=2),
        units.show(f["pressure_in_pa"], "pressure", system),
    )


_ENDINGS = (
    ("_m3_s", "flow"),
    ("_w", "power"),
    ("_c", "temperature"),
    ("_pa", "pressure"),
    ("_m", "head"),
    ("_m_s", "velocity"),
)


def figures_text(figures: dict[str, Any], system: str) -> str:
    """Figures of an item in words and shown units."""
    parts = []
    for key, value in figures.items():
        if isinstance(value, bool):
            parts.append(key if value else f"not {key}")
            continue
        for ending, dimension in _ENDINGS:
            if key.endswith(ending):
                si = value + 273.15 if dimension == "temperature" else value
                parts.append(f"{key[: -len(ending)].replace('_', ' ')} {units.show(si, dimension, system)}")
                break
        else:
            parts.append(f"{key.replace('_', ' ')} {value:.3g}")
    return ", ".join(parts)


def _columns(rows: list[tuple[str, ...]]) -> list[str]:
    if len(rows) == 1:
        return []
    widths = [max(len(r[k]) for r in rows) for k in range(len(rows[0]))]
    return ["  ".join(c.ljust(w) for c, w in zip(r, widths, strict=True)).rstrip() for r in rows]
