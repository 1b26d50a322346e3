"""What a case would be with some properties of some items changed: solved, and kept for who asks again."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from core.plant.model import Case, Plant
from core.sizing.context import Context
from core.solve import Solution, Solver

Props = Mapping[str, Mapping[str, Any]]


def with_props(plant: Plant, changes: Props) -> Plant:
    """The plant with properties of items set, by id; None takes one away."""
    items = dict(plant.items)
    for name, props in changes.items():
        merged = {**items[name].props, **props}
        items[name] = replace(items[name], props={k: v for k, v in merged.items() if v is not None})
    return replace(plant, items=items)


def solved_with(context: Context, case: Case, changes: Props, key: str) -> Solution:
    """A case with properties changed, without notes, [SI]; `key` tells one trial from another.

    Raises
    ------
    core.solve.Dropped
        Where the context was told to end
    """
    trial = (case.name, key)
    if trial not in context.trials:
        context.trials[trial] = Solver(with_props(context.plant, changes)).solve(
            case, context.keep_on, noted=False
        )
    return context.trials[trial]
