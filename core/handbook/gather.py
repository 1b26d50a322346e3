"""What the handbook shows of a plant, all worked out anew."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import groupby

from core.handbook.page import Contents
from core.isolation.plan import shut_off
from core.papers.blocks import Blank, Block, Caution, Heading, Paper
from core.papers.service import service_tasks
from core.papers.start_up import start_up_paper
from core.plant.model import Plant
from core.review import review
from core.sizing.everything import size
from core.solve.solution import Solution
from core.solve.solver import Solver
from core.vocabulary import Trait
from core.water.ways import water_graph

SERVED = (
    *(Trait.NEEDS_ISOLATION, Trait.DRIVES, Trait.MAKES_HEAT, Trait.EXCHANGES_HEAT, Trait.TANK, Trait.BUFFER),
    *(
        Trait.GIVES_HEAT,
        Trait.MIXES,
        Trait.HOLDS_DIRT,
        Trait.DRAWS_WATER,
        Trait.EXPANDS,
        Trait.OPENS_BY_SIGNAL,
    ),
)


def gathered(plant: Plant, progress: Callable[[str], None] = lambda _what: None) -> Contents:
    """Cases solved, sizes with reasons, findings, and a shut-off plan of whatever is ever serviced."""
    progress("solving")
    solver = Solver(plant)
    solutions = [solver.solve(case) for case in plant.solve_cases]
    progress("sizing")
    sized = size(plant, None, {one.case: one for one in solutions})
    progress("reviewing")
    findings = review(plant, solutions)
    progress("shut-off plans")
    graph = water_graph(plant)
    plans = {item.id: shut_off(plant, item.id, graph) for item in plant.with_trait(*SERVED)}
    lists = [start_up_paper(plant, solutions), service_list(plant, solutions)]
    return Contents(plant, solutions, findings, sized, plans, lists)


def service_list(plant: Plant, solutions: Sequence[Solution]) -> Paper:
    """What to look at and how often, to be ticked."""
    blocks: list[Block] = []
    for often, tasks in groupby(service_tasks(plant, solutions), key=lambda task: task.often):
        blocks.append(Heading(often, 2))
        for task in tasks:
            blocks += [Caution(task.caution)] if task.caution else []
            blocks.append(Blank(f"{', '.join(task.at)}: {task.words}"))
    return Paper("Service", tuple(blocks))
