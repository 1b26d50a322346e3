"""The solver's targets (sections 5 and 10 of the design's page on it): passes, times, growth, as ratios."""

from __future__ import annotations

import dataclasses
import json
import statistics
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np

from core.files.read import load, loads
from core.hydraulics.balance import Balancer
from core.hydraulics.together import balance_together
from core.plant.changes import apply
from core.plant.edits import set_props
from core.plant.model import Plant
from core.solve.settle import Settled
from core.solve.solver import Solver
from core.vocabulary import Trait
from tests.benchmarks.figures import Figure
from tests.benchmarks.networks import isothermal, tree

SAMPLES = Path(__file__).parents[2] / "sample_plants"


def quickest(job: Callable[[], object], repeats: int = 7) -> float:
    """Least time of one call [s]: on a shared machine the median tells of the neighbours."""
    job()
    times = []
    for _ in range(repeats):
        start = time.perf_counter()
        job()
        times.append(time.perf_counter() - start)
    return min(times)


def _settled(plant: Plant) -> Settled:
    return Solver(plant).settle(plant.solve_cases[0])


def _balance(settled: Settled, balancer: Balancer | None = None) -> Callable[[], int]:
    """One hydraulic balance from a cold start; its network and topology are kept, as in the program."""
    kept = balancer or Balancer(settled.net)

    def run() -> int:
        return kept.balance(settled.settings, settled.rho, settled.mu, settled.column).passes

    return run


def _bare(settled: Settled) -> tuple[float, float]:
    """Time of one evaluation of the laws, and of one factor-and-solve of the matrix [s]."""
    balancer = Balancer(settled.net)
    balancer.balance(settled.settings, settled.rho, settled.mu, settled.column)
    laws, topology = next(iter(balancer.kept.values()))
    flows = np.full(laws.m, 0.1)
    slope = 1.0 / laws.loss(flows)[1]
    right = np.ones(topology.n)
    law = quickest(lambda: [laws.loss(flows) for _ in range(10)], 41) / 10
    dense = quickest(lambda: [topology.correction(slope, slope, right) for _ in range(10)], 41) / 10
    return law, dense


def passes() -> Iterator[Figure]:
    counts = [_balance(_settled(isothermal(60, seed)))() for seed in range(200)]
    yield Figure(
        "isothermal cold passes, 200 plants of 60 pipes, median", statistics.median(counts), "passes", 8
    )
    yield Figure("  the same, 99th of 100", float(np.percentile(counts, 99)), "passes", 15)


def single() -> Iterator[Figure]:
    for size, target in ((60, 0.5), (200, 1.5)):
        settled = _settled(isothermal(size, 3))
        run = _balance(settled)
        count, took = run(), quickest(run, 101)
        law, dense = _bare(settled)
        yield Figure(f"one cold balance of {size} pipes", took * 1e3, "ms", target)
        yield Figure(
            f"  against {count} bare law evaluations and matrix solves", took / count / (law + dense), "x"
        )


def edited() -> Iterator[Figure]:
    """A circulator's speed typed, then the first case from cold: least time of each of five edits."""
    for name, target in (("kennel_clinic", 15), ("bakery_loft", 20), ("school_annex", None)):
        plant = load(SAMPLES / f"{name}.plant.json")
        pumps = [item.id for item in plant.items.values() if item.has(Trait.DRIVES)]
        speeds = [{"speed": 0.7 + 0.05 * k} for k in range(5)]
        edits = [set_props(plant, pumps[k % len(pumps)], one) for k, one in enumerate(speeds)]
        plants = [apply(plant, edit) for edit in edits]
        took = [np.inf] * len(plants)
        for _ in range(12):
            for k, one in enumerate(plants):
                start = time.thread_time()
                Solver(one).solve(one.solve_cases[0])
                took[k] = min(took[k], time.thread_time() - start)
        yield Figure(
            f"{name} solved after an edit, processor time", sum(took) / len(took) * 1e3, "ms", target
        )


def coupled() -> Iterator[Figure]:
    plant = load(SAMPLES / "kennel_clinic.plant.json")
    solver = Solver(plant)
    cases = plant.solve_cases
    solver.solve(cases[0])
    warm = quickest(lambda: solver.solve(cases[0]), 15)
    yield Figure("main sample, heat and flow, warm", warm * 1e3, "ms", 15)
    cold = quickest(lambda: Solver(plant).solve(cases[0]))
    yield Figure("main sample, heat and flow, cold", cold * 1e3, "ms")
    names = sorted(k for k, item in plant.items.items() if item.kind in ("switch", "aquastat", "thermostat"))[
        :5
    ]
    calls = [
        dataclasses.replace(
            cases[0],
            name=f"call {mask}",
            signals={**cases[0].signals, **{n: bool(mask >> i & 1) for i, n in enumerate(names)}},
        )
        for mask in range(2 ** len(names))
    ]

    def all_calls() -> None:
        one = Solver(plant)
        for case in calls:
            one.solve(case)

    yield Figure(
        f"{len(calls)} calls of the main sample / one cold solve", quickest(all_calls, 3) / cold, "x", 16
    )


def sweep() -> Iterator[Figure]:
    """A thousand isothermal cases: one pump's speed is another in each."""
    settled = _settled(isothermal(60, 3))
    balancer = Balancer(settled.net)
    run = _balance(settled, balancer)
    drive = next(iter(settled.settings.drives.values()))
    rng = np.random.default_rng(0)
    speeds = rng.uniform(0.4, 1.0, 1000)
    total = 0

    def thousand() -> None:
        nonlocal total
        total = 0
        for speed in speeds:
            drive.speed = float(speed)
            total += run()

    took = quickest(thousand, 3)
    laws, _ = next(iter(balancer.kept.values()))
    flows = np.full(laws.m, 0.1)
    # As long a run as the cases', so that what else the machine does slows both alike.
    bare = quickest(lambda: [laws.loss(flows) for _ in range(total)], 3)
    yield Figure("1,000 isothermal cases of 60 pipes / bare law time of as many passes", took / bare, "x", 3)
    yield Figure("  the same", took * 1e3, "ms")
    yield from _together(60, 1000, 10)
    yield from _together(200, 300, 3)


def _together(size: int, count: int, aim: float) -> Iterator[Figure]:
    """Such cases one by one over together."""
    settled = _settled(isothermal(size, 3))
    balancer, rng = Balancer(settled.net), np.random.default_rng(0)
    water = settled.rho, settled.mu, settled.column
    cases = []
    for _ in range(count):
        drives = settled.settings.drives.items()
        turned = {i: dataclasses.replace(drive, speed=float(rng.uniform(0.4, 1.0))) for i, drive in drives}
        cases.append(dataclasses.replace(settled.settings, drives=turned))
    apart = quickest(lambda: [balancer.balance(case, *water) for case in cases], 3)
    together = quickest(lambda: balance_together(balancer, cases, *water), 3)
    words = f"{count:,} isothermal cases of {size} pipes: together / one by one"
    yield Figure(words, together / apart, "x", 1.0 / aim)


def growth() -> Iterator[Figure]:
    sizes, times = [300, 1000, 3000, 10000], []
    for size in sizes:
        run = _balance(_settled(tree(size)))
        times.append(quickest(run, 3))
        yield Figure(f"tree of {size} pipes with 5 % chords, {run()} passes", times[-1] * 1e3, "ms")
    exponent = float(np.polyfit(np.log(sizes), np.log(times), 1)[0])
    yield Figure("growth to 10,000 pipes: time ~ n to the power", exponent, "", 1.3)


def opening() -> Iterator[Figure]:
    text = (SAMPLES / "school_annex.plant.json").read_text(encoding="utf-8")
    plain = quickest(lambda: json.loads(text))
    opened = quickest(lambda: loads(text))
    yield Figure("school annex read and checked", opened * 1e3, "ms")
    yield Figure("  against reading its JSON alone", opened / plain, "x")
    plant = loads(text)
    yield Figure(
        "school annex solved cold, first case",
        quickest(lambda: Solver(plant).solve(plant.solve_cases[0])) * 1e3,
        "ms",
    )


def figures() -> Iterator[Figure]:
    """Every figure in turn."""
    for part in (passes, single, edited, coupled, sweep, growth, opening):
        yield from part()
