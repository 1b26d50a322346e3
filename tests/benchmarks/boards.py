"""A board far larger than a mechanical room: rows of joints and valves, joined across the rows."""

from __future__ import annotations

import math
from typing import Any

from core.figures import PipeFigures
from core.files.read import from_data
from core.plant.model import Case, Plant
from core.solve import Solution

STEP = 100


def wide_board(rows: int = 40, columns: int = 50) -> Plant:
    """`rows` x `columns` items (half joints, half valves) and about one and a half pipes an item."""
    items: list[dict[str, Any]] = []
    pipes: list[dict[str, Any]] = []

    def pipe(start: list[str], end: list[str]) -> None:
        tube = {"material": "copper_l", "size": "3/4 in"}
        name = f"L-{len(pipes) + 1}"
        pipes.append(
            {"id": name, "from": start, "to": end, "system": "heating", "tube": tube, "length": "4 ft"}
        )

    for row in range(rows):
        for column in range(columns):
            kind, name = ("shutoff", "V") if column % 2 else ("joint", "J")
            at = [STEP * column, STEP * row]
            items.append({"id": f"{name}-{row}-{column}", "kind": kind, "at": at})
            if column and column % 2:
                pipe([f"J-{row}-{column - 1}", "at"], [f"V-{row}-{column}", "a"])
            elif column:
                pipe([f"V-{row}-{column - 1}", "b"], [f"J-{row}-{column}", "at"])
            if row and not column % 2:
                pipe([f"J-{row - 1}-{column}", "at"], [f"J-{row}-{column}", "at"])
    systems = {"heating": {"use": "closed", "fluid": {"kind": "water"}}}
    data = {"format": "wetside-plant", "version": 2, "systems": systems, "items": items, "pipes": pipes}
    return from_data(data)


def made_up(plant: Plant, case: Case, turn: float = 0.0) -> Solution:
    """Figures for every pipe without a solver: what is measured here is the board."""
    pipes = {}
    for number, name in enumerate(plant.pipes):
        flow = 3e-4 * (1.2 + math.sin(0.7 * number + turn))
        warm = 50.0 + number % 9
        pipes[name] = PipeFigures(flow, 3000 * flow, 12000.0, 800.0, warm, warm - 1.0, 150e3, 149e3)
    return Solution(case.name, pipes=pipes)
