"""Every family over a plant: what `wetside size` and the panels show."""

from __future__ import annotations

import importlib
from collections.abc import Callable, Iterable, Mapping

from core.plant.model import Plant
from core.sizing.context import Context
from core.sizing.result import Sized
from core.solve import Solution

# Modules of this package with `size(context) -> list[Sized]`, in the order of the answer. One line a family.
FAMILIES: tuple[str, ...] = (
    "flows",
    "pipes",
    "circulators",
    "suction",
    "balance",
    "recirculation",
    "potable",
    "outlets",
    "expansion",
    "relief",
    "exchangers",
    "heaters",
    "storage",
    "buffer",
    "floors",
    "melt",
    "antifreeze",
    "room_loss",
)


def size(
    plant: Plant,
    ids: Iterable[str] | None = None,
    solutions: Mapping[str, Solution] | None = None,
    keep_on: Callable[[], bool] | None = None,
) -> list[Sized]:
    """Sizes and judgements of a plant.

    Parameters
    ----------
    plant : Plant
    ids : iterable of str or None
        Items and pipes to answer for; None for all
    solutions : Mapping or None
        Cases already solved, by name
    keep_on : callable or None
        Asked often; False ends the run with `core.solve.Dropped`

    Returns
    -------
    list of Sized
        By family, within it in the order of the file; what cannot be sized has `missing`
    """
    context = Context(plant, solutions, keep_on, ids)
    found: list[Sized] = []
    for name in FAMILIES:
        family = importlib.import_module(f"core.sizing.families.{name}")
        found += family.size(context)
    return [sized for sized in found if context.ids is None or sized.at in context.ids]
