"""`wetside solve FILE`: solves cases of a plant and shows them as a table or as JSON."""

from __future__ import annotations

import json
import sys
from collections.abc import Collection
from typing import TYPE_CHECKING

from core import units
from core.calls.combinations import all_calls, solve_calls
from core.commands.answering import headed
from core.commands.arguments import Arguments, concerning, one_of
from core.errors import Refusal, escaped
from core.figures import EmitterFigures, Figures, PipeFigures, RoomFigures, SourceFigures
from core.files import read
from core.plant.model import Case, Plant
from core.solve import Solver
from core.solve.solution import GUESSED
from core.vocabulary import KINDS
from core.vocabulary.values import nearest

if TYPE_CHECKING:
    from core.questions.resting import Marks
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
    parser.add_argument("--case", metavar="NAME", help="this case only (default: the first)")
    which = parser.add_mutually_exclusive_group()
    which.add_argument("--all-cases", action="store_true", help="every case of the file")
    which.add_argument(
        "--all-calls", action="store_true", help="every combination of calls, the rest as in the case"
    )
    parser.add_argument("--json", action="store_true", help="SI figures as JSON")
    given = parser.parse_args(argv)
    if given.all_cases and given.case is not None:
        raise Refusal("--all-cases", "--all-cases with --case", "one of the two")
    plant = read.load(given.file)
    with concerning(given.file):
        cases = chosen_cases(plant, given.case, given.all_cases)
    if given.all_calls:
        return show_calls(plant, cases[0], given.json)
    return show(plant, cases, given.json)


def chosen_cases(plant: Plant, name: str | None, every: bool) -> list[Case]:
    """The cases asked for: all, the named one, or the first."""
    cases = list(plant.solve_cases)
    if every:
        return cases
    if name is None:
        return cases[:1]
    found = [c for c in cases if c.name == name]
    if not found:
        names = [c.name for c in cases]
        raise Refusal("--case", name, one_of(names, "a case"), nearest(name, names))
    return found


def show(plant: Plant, cases: list[Case], as_json: bool) -> int:
    """Solve and print cases; 1 where something needs attention, else 0."""
    solver = Solver(plant)
    progress = _Progress(len(cases))
    solutions: list[Solution] = []
    for case in cases:
        solutions.append(solver.solve(case))
        progress.step(solutions[-1])
    if as_json:
        _print_json(solutions)
    else:
        from core.questions.resting import Marks

        marks = Marks(plant)
        for case, solution in zip(cases, solutions, strict=True):
            print(table(plant, solution, marks.figures(case)))
        if len(solutions) > 1 and (rooms := rooms_table(plant, solutions, marks)):
            print(rooms)
        print(CAUTION)
    return _exit_code(plant, solutions)


def show_calls(plant: Plant, base: Case, as_json: bool) -> int:
    """Solve and print every combination of calls; 1 where something needs attention, else 0."""
    progress = _Progress(len(all_calls(plant, base)))
    solutions = solve_calls(plant, base, solved=progress.step)
    if as_json:
        _print_json(solutions)
    else:
        from core.questions.resting import Marks

        print(calls_table(plant, base, solutions, Marks(plant)))
        print(CAUTION)
    return _exit_code(plant, solutions)


class _Progress:
    """How many cases are solved, on standard error, where that is a terminal and there is time to read it."""

    def __init__(self, total: int) -> None:
        self.total = total if sys.stderr.isatty() and total > 3 else 0
        self.done = 0

    def step(self, _solution: Solution) -> None:
        self.done += 1
        if self.total:
            end = "\n" if self.done == self.total else ""
            print(f"\r{self.done} of {self.total} cases", end=end, file=sys.stderr, flush=True)


def _print_json(solutions: list[Solution]) -> None:
    cases = [s.as_json() for s in solutions]
    print(json.dumps({"cases": cases}, ensure_ascii=False, allow_nan=False, indent=1))


def _exit_code(plant: Plant, solutions: list[Solution]) -> int:
    unsolved = any(not KINDS[i.kind].solved for i in plant.items.values() if i.stage != "to_remove")
    return 1 if unsolved or any(s.dangers or not s.converged for s in solutions) else 0


def table(plant: Plant, solution: Solution, guessed: Collection[tuple[str, str]] = ()) -> str:
    """A case as a plain table in the plant's units; ~ before figures (id, key) that rest on a guess."""
    system = "si" if plant.units == "si" else "us"
    state = "" if solution.converged else " · NOT SOLVED"
    lines = [escaped(f"{plant.title or 'untitled'} · {solution.case}{state}"), ""]
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
                *_shown(f, system, {at for name, at in guessed if name == key}),
            )
        )
    lines += headed(rows)
    items: list[tuple[str, ...]] = [("item", "kind", "figures")]
    for key, figures in solution.items.items():
        text = figures_text(figures, system, {at for name, at in guessed if name == key})
        if text:
            items.append((key, plant.items[key].kind.replace("_", " "), text))
    lines += ["", *headed(items)]
    lines += ["", *(escaped(f"note: {n.at}: {n.text}") for n in solution.notes)]
    return "\n".join(lines) + "\n"


def calls_table(plant: Plant, base: Case, solutions: list[Solution], marks: Marks) -> str:
    """One line for each combination of calls: what runs, the heat made, wanted, delivered and short."""
    system = "si" if plant.units == "si" else "us"
    count = (
        f"{len(solutions)} combination{'s' if len(solutions) > 1 else ''} of calls, else as in {base.name}"
    )
    lines = [escaped(f"{plant.title or 'untitled'} · {count}"), ""]
    rows: list[tuple[str, ...]] = [("calls", "runs", "made", "needed", "delivered", "short", "")]
    for case, s in zip(all_calls(plant, base), solutions, strict=True):
        emitters = s.of(EmitterFigures)
        sums = {
            "duty_w": sum(f.duty_w for f in s.of(SourceFigures).values()),
            "wanted_w": sum(f.wanted_w for f in emitters.values()),
            "delivered_w": sum(f.delivered_w for f in emitters.values()),
            "short_w": sum(f.short_w for f in emitters.values()),
        }
        running = " ".join(key for key in s.items if s.running(key))
        of = {"duty_w": tuple(s.of(SourceFigures))}
        shown = [
            marks.at(case, *of.get(what, emitters), what=what) + units.show(w, "power", system)
            for what, w in sums.items()
        ]
        rows.append((s.case, running or "nothing", *shown, "" if s.converged else "NOT SOLVED"))
    lines += headed(rows)
    said: dict[tuple[str, str], list[str]] = {}
    for s in solutions:
        for note in s.notes:
            said.setdefault((note.at, note.text), []).append(s.case)
    lines.append("")
    for (at, text), cases in said.items():
        where = cases[0] if len(cases) == 1 else f"{len(cases)} of {len(solutions)}, first {cases[0]}"
        lines.append(escaped(f"note: {at}: {text} [{where}]"))
    return "\n".join(lines) + "\n"


def rooms_table(plant: Plant, solutions: list[Solution], marks: Marks) -> str:
    """Rooms by case side by side: what is wanted, what each gets, and the share of the time heat comes."""
    system = "si" if plant.units == "si" else "us"

    def warm(celsius: float) -> str:
        return units.show(celsius + 273.15, "temperature", system)

    rows: list[tuple[str, ...]] = [("room", "wanted", *(s.case for s in solutions))]
    for key, first in solutions[0].of(RoomFigures).items():
        each = [s.role(key, RoomFigures) for s in solutions]
        cells = [
            f"{marks.at(s.case, key)}{warm(f.temperature_c)}, {100.0 * f.duty_share:.0f} %"
            for s, f in zip(solutions, each, strict=True)
        ]
        rows.append((key, warm(first.wanted_c), *cells))
    return "\n".join(headed(rows)) + ("\n" if len(rows) > 1 else "")


def _shown(f: PipeFigures, system: str, guessed: Collection[str]) -> tuple[str, ...]:
    def cell(key: str, dimension: str, digits: int | None = None) -> str:
        si = getattr(f, key) + (273.15 if dimension == "temperature" else 0.0)
        return _mark(key, guessed) + units.show(si, dimension, system, digits=digits)

    return (
        cell("flow_m3_s", "flow"),
        cell("velocity_m_s", "velocity"),
        cell("temperature_in_c", "temperature"),
        cell("temperature_out_c", "temperature"),
        cell("drop_pa", "pressure", 2),
        cell("pressure_in_pa", "pressure"),
    )


def _mark(key: str, guessed: Collection[str]) -> str:
    return GUESSED if key in guessed else ""


_ENDINGS = (
    ("_m3_s", "flow"),
    ("_w", "power"),
    ("_c", "temperature"),
    ("_pa", "pressure"),
    ("_m", "head"),
    ("_m_s", "velocity"),
)


def figures_text(figures: Figures, system: str, guessed: Collection[str] = ()) -> str:
    """Figures of an item in words and shown units; ~ before those whose keys are `guessed`."""
    parts = []
    for key, value in figures.as_data().items():
        if isinstance(value, bool):
            parts.append(_mark(key, guessed) + (key if value else f"not {key}"))
            continue
        for ending, dimension in _ENDINGS:
            if key.endswith(ending):
                si = value + 273.15 if dimension == "temperature" else value
                name, shown = key[: -len(ending)].replace("_", " "), units.show(si, dimension, system)
                parts.append(f"{name} {_mark(key, guessed)}{shown}")
                break
        else:
            parts.append(f"{key.replace('_', ' ')} {_mark(key, guessed)}{value:.3g}")
    return ", ".join(parts)
