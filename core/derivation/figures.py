"""The door to the derivations: a figure by id and key."""

from __future__ import annotations

from core.derivation.items import item_working
from core.derivation.leaves import View
from core.derivation.pipes import pipe_working
from core.plant.as_set import plant_in
from core.plant.model import Plant
from core.solve import Solution
from core.working import Working


def of_pipe(plant: Plant, solution: Solution, name: str, key: str) -> Working | None:
    """How a pipe's figure came about.

    Parameters
    ----------
    plant : Plant
    solution : Solution
        Of one case of it
    name : str
        Id of the pipe
    key : str
        Key of the figure in the solution, e.g. drop_pa

    Returns
    -------
    Working or None
        In SI; flow, velocity and loss without the sign of direction; None where the pipe has no such figure
    """
    return pipe_working(View(plant_in(plant, solution.case), solution), name, key)


def of_item(plant: Plant, solution: Solution, name: str, key: str) -> Working | None:
    """How an item's figure came about; see `of_pipe`."""
    return item_working(View(plant_in(plant, solution.case), solution), name, key)


def of_figure(plant: Plant, solution: Solution, name: str, key: str) -> Working | None:
    """Of a pipe or an item, whichever has the id; None where neither has it."""
    if name in plant.pipes:
        return of_pipe(plant, solution, name, key)
    return of_item(plant, solution, name, key) if name in plant.items else None
