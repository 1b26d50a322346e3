"""Which way one circulator pushes the water of another's run, by a plain network of resistances.

A question of the drawing, not of a case: with every way open and no check, a run beside the driven one is
pushed backward, one in line with it forward, one behind a separator or close tees hardly at all.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from core.plant.model import Plant
from core.vocabulary import Trait
from core.water.runs import Run, Runs
from core.water.ways import Way

PIPE, METRE, ITEM, HEAVY, VESSEL = 0.05, 1.0, 0.5, 10.0, 1e-3  # resistances, only their ratios matter


def pushes(runs: Runs) -> Mapping[str, Mapping[str, float]]:
    """For each circulator the share of its water that goes through each other one, negative backward.

    Parameters
    ----------
    runs : Runs

    Notes
    -----
    Kirchhoff's laws of a linear network; resistances are rough: a pipe by its length, what heats or is heated
    ten metres' worth, a vessel none.
    """
    plant = runs.graph.plant
    drives = {item.id: runs.of[item.id] for item in plant.with_trait(Trait.DRIVES) if item.id in runs.of}
    if len(drives) < 2:
        return {}
    number: dict[object, int] = {}
    ends = {
        run: (number.setdefault(run.start, len(number)), number.setdefault(run.end, len(number)))
        for run in runs.all
    }
    conductance = {run: 1.0 / sum(_resistance(plant, way) for way in run.ways) for run in runs.all}
    laplacian = np.zeros((len(number), len(number)))
    for run, (a, b) in ends.items():
        g = conductance[run]
        laplacian[a, a] += g
        laplacian[b, b] += g
        laplacian[a, b] -= g
        laplacian[b, a] -= g
    laplacian += np.eye(len(number)) * 1e-9  # each body floats: pin it, softly
    own = list(dict.fromkeys(drives.values()))
    right = np.zeros((len(number), len(own)))
    for k, run in enumerate(own):
        a, b = ends[run]
        right[a, k] -= 1.0
        right[b, k] += 1.0
    heights = np.linalg.solve(laplacian, right)
    share = {(p, q): _share(p, q, ends, conductance, heights[:, k]) for k, p in enumerate(own) for q in own}
    return {
        one: {
            other: share[drives[one], drives[other]] * drives[one].sign(one) * drives[other].sign(other)
            for other in drives
            if other != one
        }
        for one in drives
    }


def _share(
    driven: Run, other: Run, ends: Mapping[Run, tuple[int, int]], conductance: Mapping[Run, float], at: object
) -> float:
    """Flow in a run along its direction, for one of flow pushed along another's."""
    heights = np.asarray(at)
    if driven == other or ends[driven][0] == ends[driven][1]:
        return 1.0 if driven == other else 0.0

    def flow(run: Run) -> float:
        a, b = ends[run]
        return float(conductance[run] * (heights[a] - heights[b]))

    leaves = 1.0 + flow(driven)  # what is pushed, less what leaks back through the run itself
    return flow(other) / leaves if leaves > 1e-9 else 0.0


def _resistance(plant: Plant, way: Way) -> float:
    if way.is_pipe:
        pipe = plant.pipes[way.key]
        return PIPE + (0.0 if pipe.joined else METRE * pipe.si.length)
    item = plant.items[way.key]
    if item.has(Trait.WATER_STANDS) and way.part != "coil":
        return VESSEL
    heavy = item.has(Trait.MAKES_HEAT, Trait.GIVES_HEAT, Trait.EXCHANGES_HEAT, Trait.HAS_COIL)
    return HEAVY if heavy else ITEM
