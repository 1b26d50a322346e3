"""Parts asked often or with much: fluids, routes, the reader. CPU time, on a machine that may be busy."""

from __future__ import annotations

import json
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np

from core.diagram.routes import route
from core.files import read
from core.media.fluids import fluid_of
from core.plant.model import Item, Pipe, Plant, PortRef
from tests.benchmarks.figures import Figure

SAMPLES = sorted((Path(__file__).parents[2] / "sample_plants").glob("*.plant.json"))


def cpu(job: Callable[[], object], repeats: int = 5) -> float:
    """Least CPU time of one call after a first one that warms up [s]."""
    job()
    times = []
    for _ in range(repeats):
        start = time.process_time()
        job()
        times.append(time.process_time() - start)
    return min(times)


def chained(count: int) -> Plant:
    """Circulators in rows, joined one after the other by `count` pipes."""
    items, pipes = {}, {}
    for i in range(count + 1):
        at = (120.0 * (i % 20), 90.0 * (i // 20) + 20.0 * (i % 3))
        items[f"P{i}"] = Item(f"P{i}", "circulator", at)
        if i:
            ends = PortRef(f"P{i - 1}", "out"), PortRef(f"P{i}", "in")
            pipes[f"L{i}"] = Pipe(f"L{i}", *ends, "s", {}, "1 m")
    return Plant(items=items, pipes=pipes)


def large(count: int) -> str:
    """A plant file of `count` joints and as many pipes."""
    items = [{"id": f"J-{n}", "kind": "joint", "at": [n, 0]} for n in range(count)]
    pipes = [
        {
            "id": f"L-{n}",
            "from": [f"J-{n}", "at"],
            "to": [f"J-{(n * 7 + 1) % count}", "at"],
            "system": "s",
            "tube": {"material": "copper_l", "size": "1 in"},
            "length": f"{n}.5 ft",
            "fittings": {"elbow_90": 2},
        }
        for n in range(count)
    ]
    whole = {"format": "wetside-plant", "version": 2, "systems": {"s": {}}, "items": items, "pipes": pipes}
    return json.dumps(whole)


def figures() -> Iterator[Figure]:
    """Times of one call each."""
    fluid, kelvins = fluid_of({"kind": "propylene_glycol", "fraction": 0.35}), np.linspace(280.0, 360.0, 60)
    look_up = cpu(lambda: [fluid.properties(kelvins) for _ in range(200)]) / 200
    yield Figure("properties of a glycol at 60 temperatures, one look-up", look_up * 1e6, "us", 25)
    plants = [read.load(path) for path in SAMPLES]
    count = sum(len(plant.pipes) for plant in plants)
    routed = cpu(lambda: [route(plant) for plant in plants]) * 300 / count
    yield Figure("routing the samples, for 300 pipes", routed * 1e3, "ms", 500)
    plant = chained(300)
    yield Figure("routing 300 pipes in a chain", cpu(lambda: route(plant)) * 1e3, "ms", 800)
    text = large(3000)
    yield Figure("reading a plant of 3,000 pipes", cpu(lambda: read.loads(text), 3), "s", 2)
