"""The tags of all hand valves: where each stands, how it normally stands, and what makes it dangerous."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from core.figures import PipeFigures
from core.media.fluids import fluid_of
from core.media.tubes import dashed
from core.papers.blocks import Grid
from core.papers.plant_words import NOTHING, by_tag, display_of, listed
from core.papers.takeoff_fittings import named, tube_ends
from core.plant.model import Item, Plant
from core.solve import Solution
from core.vocabulary import Trait
from core.water.neighbors import next_part, pipes_of
from core.water.protection import Guards
from core.water.ways import WaterGraph
from core.working import show_value

SCALDS = 322.04  # 120 °F: scalds within minutes (common practice figure, from memory) [K]
ZERO = 273.15  # [K]


def valve_tags(plant: Plant, graph: WaterGraph, solutions: Sequence[Solution]) -> Grid:
    """A row a valve, in the order of the tags."""
    valves = by_tag(plant.with_trait(Trait.HAND_VALVE))
    hand = {item.id for item in valves}
    guards = Guards(graph, [way for way in graph.ways if way.key in hand])
    rows = []
    for item in valves:
        typed = item.props.get("size")
        sizes = [named(pipe.tube)[1] for pipe, _ in tube_ends(plant, item)]
        size = dashed(typed) if isinstance(typed, str) else " x ".join(dict.fromkeys(sizes))
        rows.append(
            (
                item.id,
                ", ".join(part for part in (item.kind_info.title, item.label) if part),
                size or NOTHING,
                listed(_beside(plant, item)),
                "shut" if item.si.get("open") is False else "open",
                "; ".join(_dangers(plant, guards, item, solutions)) or NOTHING,
                item.note or NOTHING,
            )
        )
    return Grid.of("", ("tag", "what", "size", "between", "normally", "caution", "note"), rows)


def _beside(plant: Plant, item: Item) -> Iterator[str]:
    """The nearest part on each side, past joints."""
    for port in item.ports:
        if found := next_part(plant, item, (port,)):
            yield found


def _dangers(plant: Plant, guards: Guards, item: Item, solutions: Sequence[Solution]) -> Iterator[str]:
    pipes = pipes_of(plant, item)
    lost = list(guards.lost({item.id}))
    if lost:
        yield f"never shut while hot: it would cut {listed(loss.words for loss in lost)}"
    hottest = max(
        (
            max(found.temperature_in_c, found.temperature_out_c) + ZERO
            for solution in solutions
            if solution.converged
            for pipe in pipes
            if isinstance(found := solution.pipes.get(pipe.id), PipeFigures)
        ),
        default=0.0,
    )
    if hottest >= SCALDS:
        yield f"scalds, up to {show_value(hottest, 'temperature', display_of(plant))}"
    systems = dict.fromkeys(pipe.system for pipe in pipes)
    for name in systems:
        system = plant.systems[name]
        fluid = fluid_of(system.si.fluid)
        if system.use == "potable":
            yield "drinking water"
        elif fluid.fraction > 0.0:
            yield f"{fluid.name}: catch it"
