"""Runs as they are named on a drawing: pipes of one tube, one after the other without a branch.

A gauge, a vent or a drain on a tee does not break a run; a run whose tube changes is named on either side.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from core.diagram import states
from core.diagram.chains import chains
from core.vocabulary import Trait

if TYPE_CHECKING:
    from core.plant.model import Pipe, Plant


EQUIPMENT = (Trait.MAKES_HEAT, Trait.GIVES_HEAT)
"""Where a run ends, though no water parts: supply and return have tags of their own."""


_last: tuple[Mapping[str, Pipe], list[str], list[list[str]]] | None = None
"""Of the pipes and kinds last asked about: most edits change a figure, and each picture asks twice."""


def stretches(plant: Plant) -> list[list[str]]:
    """Pipes between places where water can part, in groups; branches to instruments stand for themselves.

    Nobody changes the answer in place.
    """
    global _last
    known, kinds = _last, [item.kind for item in plant.items.values()]
    if known is None or known[0] is not plant.pipes or known[1] != kinds:
        known = _last = plant.pipes, kinds, _stretches(plant)
    return known[2]


def _stretches(plant: Plant) -> list[list[str]]:
    out: list[list[str]] = []
    for dead in (False, True):
        names = [pipe.id for pipe in plant.pipes.values() if states.dead_end(plant, pipe) is dead]
        out += chains(plant, {name: (plant.pipes[name].system,) for name in names}, EQUIPMENT)
    return out


def run_tags(plant: Plant) -> Mapping[str, str]:
    """The tag of the run that each pipe belongs to: the id of the first of its pipes in the file.

    What is bolted face to face has no tube, and so no tag of its own.
    """
    order = {name: number for number, name in enumerate(plant.pipes)}
    out: dict[str, str] = {}
    for stretch in stretches(plant):
        first: dict[str, str] = {}
        for name in sorted(stretch, key=order.__getitem__):
            pipe = plant.pipes[name]
            if not pipe.joined:
                out[name] = first.setdefault(str(sorted((pipe.tube or {}).items())), name)
    return out
