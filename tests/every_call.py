"""Solve every sample plant in every combination of calls: `python -m tests.every_call --jobs 2`.

Each case of a plant is a base: its weather, draws, tanks and sets, with every call on or off. Where a plant
has more combinations than `--most`, so many are drawn by `--seed`, with none, each alone and all among them.
`--only WORD` takes the plants whose name holds it. Exit 1 where one crashes or does not settle; a case that
names the two states it swings between has no steady state and does not count.
"""

from __future__ import annotations

import argparse
import random
from collections import Counter
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from pathlib import Path

from core.calls.combinations import calls_of, combination, every_set
from core.files.read import load
from core.plant.model import Case, Plant
from core.solve import Solver
from tests.plants.edits import SAMPLES

MOST = 256


def combinations(plant: Plant, base: Case, most: int, seed: int) -> Iterator[Case]:
    """Combinations of calls over a base case, no more than `most`."""
    calls = calls_of(plant)
    if 2 ** len(calls) <= most:
        sets = list(every_set(calls))
    else:
        rng = random.Random(f"{seed} {base.name}")
        sets = [(), *((one,) for one in calls), calls]
        drawn = set(sets)
        while len(sets) < most:
            some = tuple(call for call in calls if rng.random() < 0.5)
            if some not in drawn:
                drawn.add(some)
                sets.append(some)
    return (combination(base, calls, on) for on in sets)


def judged(path: Path, most: int, seed: int) -> tuple[Counter[str], list[str]]:
    """How many combinations came to what, and the sentences about those that did not settle."""
    plant = load(path)
    solver, count = Solver(plant), Counter[str]()
    found = []
    for base in plant.solve_cases:
        for case in combinations(plant, base, most, seed):
            place = f"{path.name.split('.')[0]}: {base.name}: {case.name}"
            try:
                solution = solver.solve(case)
            except Exception as problem:  # a crash is one of the things looked for
                count["crashed"] += 1
                found.append(f"{place}: {type(problem).__name__} {problem}")
                continue
            texts = [note.text for note in solution.notes]
            if solution.converged:
                count["settled"] += 1
            elif any("no steady state: on" in text or "freez" in text for text in texts):
                count["without a steady state"] += 1
            else:
                count["not settled"] += 1
                found.append(f"{place}: {next((text for text in texts if 'not solved' in text), '')}")
    return count, found


def main() -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.every_call", description=__doc__)
    parser.add_argument("--most", type=int, default=MOST, help="combinations of each case")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--only", default="", help="plants whose name holds this word")
    parser.add_argument("--jobs", type=int, default=1)
    args = parser.parse_args()
    paths = [path for path in sorted(SAMPLES.glob("*.plant.json")) if args.only in path.name]
    bad = 0
    with ProcessPoolExecutor(args.jobs) as pool:
        work = partial(judged, most=args.most, seed=args.seed)
        for path, (count, found) in zip(paths, pool.map(work, paths), strict=True):
            sums = ", ".join(f"{number} {what}" for what, number in sorted(count.items()))
            print(f"{path.name.split('.')[0]}: {sums}", *found, sep="\n  ", flush=True)
            bad += len(found)
    return 1 if bad else 0


if __name__ == "__main__":
    raise SystemExit(main())
