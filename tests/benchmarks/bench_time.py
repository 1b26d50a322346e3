"""Runs in time: processor time of a day and a week of the main samples, their stats left free, under a wave.

What bounds each: of a day of kennel_clinic some hundred moments at which something switches or a control
moves by its band (flows, positions and temperatures found anew, then the exact step's matrices).
Of bakery_loft it is the mixing valve, which answers to every cycle of its boiler; of a sweep and a year
the same, times runs and weeks, shared among two processes.
"""

from __future__ import annotations

import time
from collections.abc import Iterator
from dataclasses import replace

from core.files.read import load
from core.plant.model import Plant
from core.simulation.engine import Simulation
from core.simulation.runs import Run, chosen_run
from core.simulation.summary import summary_of
from core.simulation.weather import Weather
from core.vocabulary import Trait
from tests.benchmarks.figures import Figure
from tests.plants.edits import SAMPLES

WAVE = (263.15, 278.15)  # [K]


def freed(plant: Plant) -> Plant:
    """The plant with the stats of its first case left to themselves."""
    case = plant.cases[0]
    signals = {key: on for key, on in case.signals.items() if not plant.items[key].has(Trait.STAT)}
    return replace(plant, cases=(replace(case, signals=signals), *plant.cases[1:]))


def cpu(run: Run) -> float:
    """Processor time of a run, [s]."""
    begun = time.process_time()
    summary_of(Simulation(run).simulate())
    return time.process_time() - begun


def figures() -> Iterator[Figure]:
    """Days of two samples, a week, and from these a year and a sweep on two processes."""
    plants = {name: freed(load(SAMPLES / f"{name}.plant.json")) for name in ("kennel_clinic", "bakery_loft")}
    days = {}
    for name, plant in plants.items():
        day = replace(chosen_run(plant, None, 24.0), weather=Weather(wave=WAVE))
        cpu(replace(day, hours=0.1))
        days[name] = cpu(day)
        yield Figure(f"24 h of {name}, processor time", days[name], "s", 5.0 if name[0] == "k" else 10.0)
    week = replace(chosen_run(plants["kennel_clinic"], None, 168.0), weather=Weather(wave=WAVE))
    spent = cpu(week)
    yield Figure("a week of kennel_clinic, processor time", spent, "s", 30.0)
    yield Figure("twelve such weeks on two cores", 12.0 * spent / 120.0, "min", 6.0)
    yield Figure(
        "10 x 10 days of kennel_clinic on two cores", 50.0 * days["kennel_clinic"] / 60.0, "min", 8.0
    )
