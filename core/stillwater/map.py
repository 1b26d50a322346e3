"""The dead-water map: for every pipe and case whether its water stands, how much, and where to flush it.

Water that stands only in some cases is told from what never moves. A drinking-water run to an outlet at which
no case draws stands by use, not by how it is piped.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from core.plant.model import Pipe, Plant
from core.solve import Solution
from core.water.connections import between_outside
from core.water.nearest import nearest_opening, water_in
from core.water.no_flow import NO_FLOW
from core.water.ways import water_graph

STILL_DAYS = 7.0  # [d] drinking water that stood longer is flushed (common practice, no source)
GROWTH = (25.0, 45.0)  # [°C] where Legionella multiplies; 77 to 113 °F in ASHRAE 188 (from memory)

Stands = Literal["", "at times", "by use", "never"]


@dataclass(frozen=True)
class StillPipe:
    """One pipe in one case.

    Attributes
    ----------
    id, case : str
    still : bool
        Whether less than 1e-9 m^3/s passes
    volume : float
        Water in it, [m^3]
    turnover : float or None
        How long its own volume takes to be replaced, [s]; None while it stands
    flush_at : str or None
        The nearest outlet, drain or hose port of its body
    stands : str
        Over all cases: "" where it moves in each, "at times", "by use", "never"
    warm : bool
        Whether drinking water stands in it at a temperature where Legionella multiplies
    to_flush : float or None
        Water that has to run out until it is replaced: its own and that on the way to the flush point, [m^3]
    drawn_through : bool
        Whether it is a drinking-water run to an outlet: it flows whenever somebody draws there
    range_c : tuple of float or None
        Its lowest and highest temperature, [degC]; None where the case has none
    """

    id: str
    case: str
    still: bool
    volume: float
    turnover: float | None
    flush_at: str | None
    stands: Stands
    warm: bool
    to_flush: float | None = None
    drawn_through: bool = False
    range_c: tuple[float, float] | None = None


def dead_water(plant: Plant, solutions: Iterable[Solution]) -> list[StillPipe]:
    """One row for every pipe that stays and every case, in the order of the file within each case."""
    solved = list(solutions)
    graph = water_graph(plant)
    nearest = nearest_opening(graph)
    used = between_outside(graph)
    pipes = [plant.pipes[way.key] for way in graph.ways if way.is_pipe]
    ends = {way.key: (way.start, way.end) for way in graph.ways if way.is_pipe}
    still = {pipe.id: [_stands(solution, pipe.id) for solution in solved] for pipe in pipes}
    rows = []
    for number, solution in enumerate(solved):
        for pipe in pipes:
            ways = [nearest[place] for place in ends[pipe.id] if place in nearest]
            near = min(ways, key=lambda one: one.distance) if ways else None
            by_use = pipe.id in used and _potable(plant, pipe)
            stands = _over_all(still[pipe.id], by_use)
            volume = water_in(pipe)
            stopped = still[pipe.id][number]
            rows.append(
                StillPipe(
                    pipe.id,
                    solution.case,
                    stopped,
                    volume,
                    None if stopped else volume / abs(_flow(solution, pipe.id)),
                    None if near is None else near.id,
                    stands,
                    stopped and _potable(plant, pipe) and _warm(solution, pipe.id),
                    None if near is None else volume + near.volume,
                    by_use,
                    _range(solution, pipe.id),
                )
            )
    return rows


def _over_all(still: list[bool], by_use: bool) -> Stands:
    if not any(still):
        return ""
    if not all(still):
        return "at times"
    return "by use" if by_use else "never"


def _flow(solution: Solution, pipe: str) -> float:
    figures = solution.pipes.get(pipe)
    return 0.0 if figures is None else float(figures.flow_m3_s)


def _stands(solution: Solution, pipe: str) -> bool:
    return abs(_flow(solution, pipe)) < NO_FLOW


def _potable(plant: Plant, pipe: Pipe) -> bool:
    system = plant.systems.get(pipe.system)
    return system is not None and system.use == "potable"


def _warm(solution: Solution, pipe: str) -> bool:
    found = _range(solution, pipe)
    return found is not None and found[1] >= GROWTH[0] and found[0] <= GROWTH[1]


def _range(solution: Solution, pipe: str) -> tuple[float, float] | None:
    figures = solution.pipes.get(pipe)
    if figures is None:
        return None
    low, high = sorted((figures.temperature_in_c, figures.temperature_out_c))
    return low, high
