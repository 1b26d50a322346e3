"""Runs of random plants in time, by the hundred: `python -m tests.every_run --count 500 --jobs 2`.

Each plant runs for an hour and a half from its start: energy closes within 0.1 % of the heat turned over, and
no water is warmer or colder than sources, mains and surroundings allow. With `--rest HOURS` it runs on for so
long, and what its sources then give is compared with `solve` where that has a steady state without cycling
(1 %, tanks as one node). Exit 1 where one crashes, does not close, leaves its bounds or rests elsewhere.
"""

from __future__ import annotations

import argparse
import time
from collections import Counter
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from typing import Any

from core.vocabulary import Trait
from tests.support.builders import Board, solve_data
from tests.support.in_time import Ran
from tests.support.random_plants import random_plant
from tests.support.random_rooms import room_plant
from tests.support.random_stores import store_plant

MAKERS: dict[str, Callable[[int], Board]] = {
    "plants": random_plant, "rooms": room_plant, "stores": store_plant,
}  # fmt: skip
HOURS, MARGIN, WATTS = 1.5, 0.05, 20.0  # [h], [K], [W]
ZERO = 273.15
QUICK = {  # what comes to rest soon
    "tank": {"nodes": 1}, "coil_tank": {"nodes": 1}, "room": {"mass": "50 kJ/K"},
    "floor_circuit": {"mass": "20 kJ/K"}, "melt_circuit": {"mass": "20 kJ/K"},
}  # fmt: skip


def bounds(got: Ran) -> tuple[float, float]:
    """Coldest and warmest that water can be, [degC]: of starts, sources, mains, rooms and the weather."""
    site = got.plant.site_si
    temperatures = [site.indoor, site.cold_water, site.outdoor_design, *got.seen.began]
    for item in got.plant.items.values():
        temperatures += [
            item.si[name]
            for name in ("set_temperature", "temperature", "room_temperature", "wanted")
            if item.si.get(name) is not None
        ]
        if item.has(Trait.MAKES_HEAT) and item.si.get("set_temperature") is None:
            temperatures.append(1e9)  # a source that nothing limits
        if item.si.get("element") or item.si.get("gain"):
            temperatures.append(1e9)
    temperatures += [case.si.outdoor for case in got.plant.cases if case.si.outdoor is not None]
    temperatures += [pipe.si.around for pipe in got.plant.pipes.values() if pipe.si.around is not None]
    return min(temperatures) - ZERO - MARGIN, max(temperatures) - ZERO + MARGIN


def rests(data: dict[str, Any], lasts: float) -> str:
    """Whether it comes to rest at the steady answer: "rests", "no steady", or where and by how much not."""
    steady = solve_data(data)
    # A given tank is not at rest, and a buffer is two ends to `solve`, one node in time.
    if any(case.get("tanks") for case in data["cases"]) or any(i["kind"] == "buffer" for i in data["items"]):
        return "no steady"
    if not steady.converged or any(
        figures.get("duty_share") not in (None, 0.0, 1.0) for figures in steady.items.values()
    ):
        return "no steady"
    for item in data["items"]:
        item["props"] |= QUICK.get(item["kind"], {})
    before, got = 0.0, 0.0
    for hours in (0.5 * lasts, lasts):
        data["runs"] = [{"name": "run", "hours": hours}]
        before, got = got, Ran(data).energy["heat"]
    want = sum(f["duty_w"] for f in steady.items.values() if "short_w" in f and "running" in f)
    heat = (got - before) / (0.5 * lasts) * 1e3
    if abs(heat - want) <= max(0.01 * abs(want), WATTS):
        return "rests"
    return f"rests at {heat:.0f} W, by solve {want:.0f} W"


def judged(make: str, seed: int, rest: float) -> tuple[str, list[str]]:
    """What came of one plant, and sentences about what is wrong."""
    data = MAKERS[make](seed).data()
    data["runs"] = [{"name": "run", "hours": HOURS}]
    begun = time.process_time()
    try:
        got = Ran(data)
        wrong = [] if got.closes() else [f"{make} {seed}: {got.energy['imbalance']:.4g} kWh do not close"]
        low, high = bounds(got)
        states = [t - ZERO for t in got.sim.x]
        if min(states, default=low) < low or max(states, default=high) > high:
            wrong.append(f"{make} {seed}: {min(states):.2f} to {max(states):.2f}, {low:.2f} to {high:.2f}")
        said = rests(MAKERS[make](seed).data(), rest) if rest else ""
    except Exception as problem:  # a crash is one of the things looked for
        return "crashed", [f"{make} {seed}: {type(problem).__name__} {problem}"]
    if said.startswith("rests at"):
        wrong.append(f"{make} {seed}: {said}")
    spent = time.process_time() - begun
    if spent > 20.0:
        wrong.append(f"{make} {seed}: took {spent:.0f} s")
    return ("wrong" if wrong else said or "closes"), wrong


def main() -> int:
    """Run and tell."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=500)
    parser.add_argument("--first", type=int, default=0, help="seed to begin with")
    parser.add_argument("--jobs", type=int, default=1)
    parser.add_argument("--rest", type=float, default=0.0, metavar="HOURS")
    parser.add_argument("--only", choices=sorted(MAKERS), action="append")
    given = parser.parse_args()
    makers = given.only or list(MAKERS)
    counts = Counter[str]()
    asked = [(makers[k % len(makers)], given.first + k // len(makers)) for k in range(given.count)]
    with ProcessPoolExecutor(given.jobs) as pool:
        each = partial(judged, rest=given.rest)
        for what, wrong in pool.map(each, *zip(*asked, strict=True)):
            counts[what] += 1
            for words in wrong:
                print(words, flush=True)
    print(", ".join(f"{count} {what}" for what, count in counts.most_common()))
    return 1 if counts["wrong"] or counts["crashed"] else 0


if __name__ == "__main__":
    raise SystemExit(main())
