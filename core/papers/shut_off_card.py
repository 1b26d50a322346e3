"""The card of a shut-off: how one item or pipe is taken out of service, flushed, and put back.

Common practice, no source; the dangers stand before the steps.
"""

from __future__ import annotations

from collections.abc import Iterator

from core.isolation.flushing import Flushing, flushings
from core.isolation.plan import CAUTIONS, ShutOff, shut_off
from core.papers.blocks import Blank, Block, Caution, Heading, Paper, Said
from core.papers.plant_words import listed, parts_of, titled
from core.papers.purging import Purge, loop_words, purges, way_words
from core.plant.model import Plant
from core.water.ways import WaterGraph, water_graph

PURGING = (
    "Purge cold, with heat and circulators locked out. Catch what comes out; pump in the fluid that is "
    "inside, and join drinking water only through its backflow preventer."
)


def shut_off_card(plant: Plant, target: str) -> Paper:
    """The card of an item or pipe that water wets."""
    graph = water_graph(plant)
    plan = shut_off(plant, target, graph)
    item = plant.items.get(target)
    title = f"Shut-off of {target}" + (f": {titled(item)}" if item is not None else "")
    blocks: list[Block] = [Heading(title), Caution(" ".join(CAUTIONS))]
    blocks += plan_blocks(plant, plan, ticks=True)
    flushed = flushings(graph, target)
    if flushed:
        blocks.append(Heading("Flushing in its place", 2))
        for one in flushed:
            blocks += _flushing(one)
    for purge in refilled(plant, graph, plan):
        blocks += [Heading("Purging after it is filled again", 2), Caution(PURGING)]
        way, back = way_words(purge)
        blocks.append(Said(way, True))
        blocks += [Blank(loop_words(loop), indent=1) for loop in purge.loops]
        blocks.append(Blank(f"Every valve open again; {back}; pressure made up.", indent=1))
    return Paper(title, tuple(blocks))


def plan_blocks(plant: Plant, plan: ShutOff, ticks: bool = False) -> Iterator[Block]:
    """The plan itself, with the cautions that are its own; `ticks`: each step to be ticked off."""
    for text in plan.cautions:
        if text not in CAUTIONS:
            yield Caution(text)
    if not plan.possible:
        valve = f" A valve in {listed(plan.missing)} would make it possible." if plan.missing else ""
        yield Said(f"Cannot be shut off: {plan.reason}.{valve}")
        return
    for number, step in enumerate(plan.steps, 1):
        yield Blank(f"{number} {step}", indent=1) if ticks else Said(f"{number} {step}", indent=1)
    if dead := parts_of(plant, plan.also_dead):
        yield Said(f"Dry or cold meanwhile: {listed(dead)}.", indent=1)


def _flushing(one: Flushing) -> Iterator[Block]:
    yield Said(f"{one.at}, from {one.ports[0]} to {one.ports[1]}:", True)
    if one.lacking:
        yield Said(lacking_words(one), indent=1)
    yield from (Blank(step, indent=1) for step in one.steps)


def lacking_words(one: Flushing) -> str:
    """Where a hose port is lacking."""
    return (
        f"No hose port looks towards {one.at} at {listed(one.lacking)}: a service valve there, its hose port "
        "on that side, would make flushing possible."
    )


def refilled(plant: Plant, graph: WaterGraph, plan: ShutOff) -> list[Purge]:
    """Purges of the closed water that the plan drains: the loops it left dry, all where it named none."""
    if not plan.possible:
        return []
    found = []
    touched = {plan.target, *plan.also_dead}
    systems = {
        pipe.system
        for name, pipe in plant.pipes.items()
        if name == plan.target or plan.target in (pipe.start.item, pipe.end.item)
    }
    for purge in purges(plant, graph):
        if purge.system not in systems:
            continue
        dry = tuple(loop for loop in purge.loops if not touched.isdisjoint(loop.at))
        found.append(Purge(purge.system, purge.sets, purge.drains, purge.fills, dry or purge.loops))
    return found
