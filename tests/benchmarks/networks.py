"""Plants of a wanted size for the benchmarks: isothermal networks, and trees that grow."""

from __future__ import annotations

from typing import Any

import numpy as np

from core.files.read import from_data
from core.plant.model import Plant
from tests.support.builders import Board, constant_fluid, flow, pa

BORES = [0.0138, 0.0199, 0.026, 0.0326, 0.0391]


def _tube(rng: np.random.Generator) -> dict[str, Any]:
    return {
        "bore": float(rng.choice(BORES)),
        "roughness": "0.0015 mm",
        "length": float(rng.uniform(1, 30)),
        "k": float(rng.choice([0.0, 2.0, 5.0])),
    }


def isothermal(pipes: int, seed: int) -> Plant:
    """A closed body of random tree and chords (a quarter), a pump on every fifteenth pipe, and checks."""
    rng = np.random.default_rng(seed)
    board = Board(constant_fluid())
    joints = pipes - pipes // 4
    for number in range(joints):
        board.item(f"J{number}", "joint")
    edges = [(int(rng.integers(0, number)), number) for number in range(1, joints)]
    while len(edges) < pipes:
        a, b = (int(x) for x in rng.choice(joints, 2, replace=False))
        edges.append((a, b))
    special = rng.permutation(len(edges))
    pumps, checks = set(special[: pipes // 15]), set(special[pipes // 15 : pipes // 5])
    for number, (a, b) in enumerate(edges):
        start, end = f"J{a}:at", f"J{b}:at"
        if number in pumps:
            head, out = pa(float(rng.uniform(20e3, 80e3))), float(rng.uniform(4e-4, 2e-3))
            curve = [["0 m3/s", head], [flow(out), "1 kPa"]]
            item = board.item(
                f"P{number}", "circulator", curve=curve, integral_check=bool(rng.random() < 0.5)
            )
        elif number in checks:
            item = board.item(f"C{number}", "check_valve", cv=12.0)
        else:
            board.pipe(start, end, **_tube(rng))
            continue
        board.pipe(start, f"{item}:in", joined="flanged")
        board.pipe(f"{item}:out", end, **_tube(rng))
    return from_data(board.data())


def tree(pipes: int, seed: int = 1) -> Plant:
    """A main that branches to many outlets at a lower pressure, with 5 % chords."""
    rng = np.random.default_rng(seed)
    board = Board(constant_fluid(), use="potable")
    board.item("M", "cold_main", pressure="500 kPa")
    chords = pipes // 20
    leaves: set[int] = set()
    board.item("J0", "joint")
    board.pipe("M:at", "J0:at", bore=0.1, length=5.0)
    number = 0
    while len(board.pipes) < pipes - chords - len(leaves):
        number += 1
        parent = int(rng.integers(max(0, number - 40), number))
        board.item(f"J{number}", "joint")
        board.pipe(f"J{parent}:at", f"J{number}:at", **_tube(rng))
        leaves.discard(parent)
        leaves.add(number)
    for leaf in sorted(leaves):
        board.item(f"O{leaf}", "cold_main", pressure="100 kPa")
        board.pipe(f"J{leaf}:at", f"O{leaf}:at", **_tube(rng))
    for _ in range(chords):
        a = int(rng.integers(0, number))
        b = min(number, a + int(rng.integers(1, 60)))
        board.pipe(f"J{a}:at", f"J{b}:at", **_tube(rng))
    return from_data(board.data())
