"""Where what is put in by a cure stands, and the least circulator that carries a flow."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import Any

from core.errors import WetsideError
from core.plant import edits
from core.plant.changes import Change, apply
from core.plant.model import Plant, PortRef
from core.questions.intake import NO_FLOW
from core.sizing.second_circulator.available import RUN, Pump, at_hand
from core.solve import Solution
from core.vocabulary import CIRCULATOR, Trait
from core.water.ways import Way

ENOUGH = 0.99  # share of a flow that counts as carried
Solve = Callable[[Plant], Solution]


def leads(flow: float, way: Way, place: PortRef, ahead: bool) -> bool:
    """Whether water runs by a way from a place on, or (not `ahead`) to it."""
    away = flow if way.start == place else -flow
    return away > NO_FLOW if ahead else away < -NO_FLOW


def middle(plant: Plant, pipe: str) -> tuple[float, float]:
    """The place on the board between the ends of a pipe."""
    ends = [plant.items[ref.item].at for ref in (plant.pipes[pipe].start, plant.pipes[pipe].end)]
    return 0.5 * (ends[0][0] + ends[1][0]), 0.5 * (ends[0][1] + ends[1][1])


def height_between(plant: Plant, *pipes: str) -> dict[str, str]:
    """The height of what stands between pipes, as a property; nothing at the datum."""
    refs = [plant.pipes[key].start for key in pipes]
    mean = sum(float(plant.items[ref.item].si.get("height") or 0.0) for ref in refs) / len(refs)
    return {"height": f"{mean:.4g} m"} if abs(mean) > 1e-6 else {}


def run_like(plant: Plant, solution: Solution, way: Iterable[str]) -> dict[str, Any]:
    """How the first circulator on a way that runs is run, as properties."""
    for key in way:
        item = plant.items.get(key)
        if item is not None and item.has(Trait.DRIVES) and solution.running(key):
            return {name: item.props[name] for name in RUN if name in item.props}
    return {}


def least_pump(
    plant: Plant,
    make: Callable[[Pump, Plant], list[Change]],
    solve: Solve,
    flow: float,
    beyond: Callable[[Plant, Solution], float] = lambda plant, solution: 0.0,
) -> Pump | None:
    """Of the circulators at hand the one of least power with which the changes carry a flow through it, and
    `beyond`, what flows on the other side then; where none carries that, the least that carries the flow.
    None where none does."""
    least: Pump | None = None
    for pump in sorted((p for p in at_hand(plant) if p.shut_off and p.run_out), key=_size):
        try:
            changed = apply(plant, make(pump, plant))
            after = solve(changed)
        except (WetsideError, KeyError, StopIteration):
            return least
        new = next((key for key in after.items if key not in plant.items and after.running(key)), "")
        if not (after.converged and new and abs(after.flow(new)) >= flow):
            continue
        least = least or pump
        if abs(after.flow(new)) >= ENOUGH * beyond(changed, after):
            return pump
    return least


def _size(pump: Pump) -> float:
    watts = pump.watts
    return (
        float(watts) if watts is not None else float(pump.shut_off or 0.0) * float(pump.run_out or 0.0) * 1e4
    )


def add_pump(draft: edits.Draft, pump: Pump, pipe: str, forward: bool, run: Mapping[str, Any]) -> None:
    """A circulator in the middle of a pipe, its outlet towards the pipe's end or (not `forward`) start."""
    before = set(draft.plant.items)
    props = {**pump.props, **run}
    draft.do(
        *edits.insert_in_line(draft.plant, CIRCULATOR, pipe, middle(draft.plant, pipe), 0.5, props=props)
    )
    if not forward:
        name = next(key for key in draft.plant.items if key not in before)
        draft.do(*edits.turn_round(draft.plant, name))
