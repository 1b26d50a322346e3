"""Solve ordinary mechanical rooms by the thousand: `python -m tests.ordinary_rooms --count 5000 --jobs 2`.

Every case of every room is solved and judged: unsettled, a law broken (`tests.support.heat_laws`), a case
that does not stand alone (`--alone`), a figure that differs from the second method (`--second N` rooms).
With -o the plants that fail are written to a folder, named after seed and cause.
"""

from __future__ import annotations

import argparse
import json
import re
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from pathlib import Path
from typing import Any

from core.files.read import from_data
from core.solve import solve_case
from tests.support.builders import Solved
from tests.support.heat_laws import heat_laws_broken
from tests.support.heat_states import NotCovered
from tests.support.ordinary_rooms import ordinary_room
from tests.support.second_method import disagreements, second_solve
from tests.support.standing_alone import not_alone


def judged(seed: int, second: bool = False, alone: bool = False) -> list[str]:
    """What is wrong with one room, each as "cause: sentence"."""
    data = ordinary_room(seed, plain=second)
    plant = from_data(data)
    found = []
    for case, written in zip(plant.solve_cases, data["cases"], strict=True):
        try:
            solved = Solved(solve_case(plant, case))
        except Exception as problem:  # a crash is one of the things looked for
            found.append(f"crash: {type(problem).__name__} {problem}")
            continue
        if not solved.converged:
            if any("freez" in text or "no steady state: on" in text for _, text in solved.notes):
                continue  # plain water below freezing, or a stat between two states: no answer, and says so
            found.append(f"unsettled: {case.name}, {features(data)}")
        else:
            found += [f"law: {case.name}, {text}" for text in heat_laws_broken(data, solved, written)]
        if second:
            found += by_second(data, solved, written)
    if alone:
        found += [f"alone: {text}" for text in not_alone(data)]
    return found


def by_second(data: dict[str, Any], solved: Solved, case: dict[str, Any]) -> list[str]:
    try:
        texts = disagreements(data, solved, second_solve(data, case))
    except NotCovered as why:
        return [f"not covered: {why}"]
    return [f"second: {case['name']}, {text}" for text in texts[:3]]


def features(data: dict[str, Any]) -> str:
    """What a room holds, for counting causes."""
    kinds = {item["kind"] for item in data["items"]}
    marks = [
        kind for kind in ("mixing_valve", "exchanger", "coil_tank", "thermostat", "aquastat") if kind in kinds
    ]
    sources = [i for i in data["items"] if i["kind"] in ("boiler", "heater", "heat_pump")]
    controls = {i["props"]["control"] for i in data["items"] if "control" in i["props"]}
    throttles = ["throttles"] if any("throttles" in i["props"] for i in sources) else []
    return " + ".join([f"{len(sources)} sources", *marks, *sorted(controls), *throttles])


def causes(texts: list[str]) -> set[str]:
    """The causes of a room's findings: ids and figures taken out of the sentences."""
    nameless = (re.sub(r"\b([A-Z]+)-\d+\b", r"\1", text) for text in texts)
    return {re.sub(r"-?\b\d[\d.e+-]*", "#", text) for text in nameless}


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.ordinary_rooms", description=__doc__)
    parser.add_argument("--count", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1, help="first seed")
    parser.add_argument("--jobs", type=int, default=1)
    parser.add_argument("--second", type=int, default=0, help="compare so many rooms with the second method")
    parser.add_argument("--alone", action="store_true", help="also check that each case stands alone")
    parser.add_argument("-o", dest="folder", type=Path, help="where plants that fail are written")
    args = parser.parse_args()
    count = args.second or args.count
    seeds = range(args.seed, args.seed + count)
    work = partial(judged, second=bool(args.second), alone=args.alone)
    with ProcessPoolExecutor(args.jobs) as pool:
        found = dict(zip(seeds, pool.map(work, seeds, chunksize=5), strict=True))
    report(found, bool(args.second), args.folder)


def report(found: dict[int, list[str]], second: bool, folder: Path | None) -> None:
    """Print each failing room, then how many fail by cause; write the plants that fail."""
    by_cause: Counter[str] = Counter()
    by_sort: Counter[str] = Counter()
    for seed, texts in found.items():
        by_cause.update(causes(texts))
        by_sort.update({text.split(":")[0] for text in texts})
        if texts:
            print(seed, "; ".join(texts[:4]))
        if any(not text.startswith("not covered") for text in texts) and folder is not None:
            folder.mkdir(parents=True, exist_ok=True)
            sort = texts[0].split(":")[0].replace(" ", "-")
            path = folder / f"{sort}-{seed}.plant.json"
            path.write_text(json.dumps(ordinary_room(seed, plain=second), indent=1), "utf-8")
    clean = sum(not texts for texts in found.values())
    print(f"\n{len(found)} rooms, {clean} without a finding; findings by sort:")
    for sort, number in by_sort.most_common():
        print(f"{number:6d}  {sort}")
    print("by cause:")
    for cause, number in by_cause.most_common(40):
        print(f"{number:6d}  {cause}")


if __name__ == "__main__":
    main()
