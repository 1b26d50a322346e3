"""What the expansion tanks of a body of water can take in beyond what swells out."""

from __future__ import annotations

from typing import NamedTuple

from core.sizing.bodies import atmosphere, bodies, items_in
from core.sizing.context import Context, MissingInput
from core.sizing.families.expansion_task import Task, heated, task_of
from core.vocabulary import Trait


class Left(NamedTuple):
    """Of all tanks of one body: what they take in beyond the need [m^3], how much more water in the system
    would fill that [m^3], and the case with the warmest water."""

    tanks: tuple[str, ...]
    takes: float
    content: float
    case: str


def expansion_left(context: Context, tank: str) -> Left | None:
    """What is left in the body of a tank; None where nothing heats it.

    Raises
    ------
    MissingInput
        What is needed is not typed, or no case is solved

    Notes
    -----
    A tank of volume V, charged to p_c, takes in V (min(1, p_c / P_1) - p_c / P_2) between the pressures
    before and after heating, never more than its acceptance. Source: Boyle's law.
    """
    body = next((b for b in bodies(context) if tank in items_in(context, b, Trait.EXPANDS)), None)
    if body is None or not heated(context, body):
        return None
    task = task_of(context, body)
    needed = float(task.taken.value)
    takes = sum(_takes(context, task, name) for name in task.tanks) - needed
    content = takes * float(task.content.value) / needed if needed > 0.0 else 0.0
    return Left(task.tanks, takes, content, str(task.warmest.extra.get("case", "")))


def _takes(context: Context, task: Task, tank: str) -> float:
    si = context.plant.items[tank].si
    volume, charge, most = si.get("volume"), si.get("precharge"), si.get("acceptance")
    if volume is None:
        raise MissingInput(f"{tank}: its volume is not set")
    first, last = float(task.first.value), float(task.last.value)
    air = float(atmosphere(context).value)
    charged = first if charge is None else float(charge) + air
    takes = float(volume) * (min(1.0, charged / first) - charged / last)
    return takes if most is None else min(takes, float(most))
