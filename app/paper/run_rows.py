"""The schedule of pipes: a row for each run that has a tag on the drawing, from one end to the other."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import groupby

from app.paper.blocks import NOTHING, Table
from core.diagram import states
from core.diagram.annotations import CELSIUS, Display, figure, head_lost, short_tube
from core.diagram.runs import EQUIPMENT, run_tags
from core.diagram.states import SolvedCase
from core.errors import escaped
from core.papers.plant_words import listed, natural
from core.plant.model import Pipe, Plant, PortRef
from core.units import show
from core.vocabulary import Trait

HEADS = ("tag", "at", "from", "to", "past", "tube", "length", "flow", "velocity", "in", "out", "loss")


def runs_of(plant: Plant) -> dict[str, list[Pipe]]:
    """The pipes of each run by its tag, in the order of the tags; flanged joints have none."""
    tags = run_tags(plant)
    named = sorted(tags, key=lambda name: natural(tags[name]))
    return {tag: [plant.pipes[name] for name in names] for tag, names in groupby(named, key=tags.__getitem__)}


def runs_table(
    plant: Plant, solution: SolvedCase | None, units: Display, where: Callable[[str], str]
) -> Table:
    """Ends, parts on the way, tube, length and figures of every run."""
    tags = run_tags(plant)
    rows = [
        (tag, where(tag), *_row(plant, pipes, tags.get, solution, units))
        for tag, pipes in runs_of(plant).items()
    ]
    return Table("PIPE RUNS", HEADS, tuple(rows), frozenset(HEADS[6:]), whole=frozenset({"at", "tube"}))


def _row(
    plant: Plant,
    pipes: Sequence[Pipe],
    tag_of: Callable[[str], str | None],
    solution: SolvedCase | None,
    units: Display,
) -> tuple[str, ...]:
    first = pipes[0]
    ends = _ends(plant, pipes)
    figures = None if solution is None else solution.pipes.get(first.id)
    moving = figures is not None and not states.still(solution, first.id)
    if moving and figures is not None and figures.flow_m3_s < 0:
        ends.reverse()
    inside = {item for pipe in pipes for item in (pipe.start.item, pipe.end.item)}
    inside -= {end.item for _, end in ends}
    past = (name for name in plant.items if name in inside and not plant.items[name].has(Trait.JOINS))
    length = sum(pipe.si.length for pipe in pipes)
    flow = speed = loss = NOTHING
    if solution is not None and figures is not None:
        flow = "no flow"
        found = [(p.id, each) for p in pipes if (each := solution.pipes.get(p.id)) is not None]
        if moving:
            flow = figure(abs(figures.flow_m3_s), "flow", units)
            speed = figure(abs(figures.velocity_m_s), "velocity", units)
            loss = show(sum(head_lost(name, each, plant) for name, each in found), "head", units, 2)
    return (
        *(_end(plant, end, pipes, tag_of) for _, end in ends),
        escaped(listed(past)),
        escaped(_tube(first)),
        figure(length, "length", units) if length else NOTHING,
        *(flow, speed),
        *(_temperature(solution, *end, units) for end in ends),
        loss,
    )


def _ends(plant: Plant, pipes: Sequence[Pipe]) -> list[tuple[Pipe, PortRef]]:
    """The two ends of a run, in the sense of its first pipe; of a closed one that pipe's own."""
    places = [(pipe, end) for pipe in pipes for end in (pipe.start, pipe.end)]
    items = [end.item for _, end in places]
    once = [
        place
        for place in places
        if items.count(place[1].item) == 1 or plant.items[place[1].item].has(Trait.PARTS_FLOWS, *EQUIPMENT)
    ]
    if len(once) != 2:
        return [(pipes[0], pipes[0].start), (pipes[0], pipes[0].end)]
    begins = [pipe.start == end for pipe, end in once]
    return once if begins[0] or not begins[1] else once[::-1]


def _end(plant: Plant, end: PortRef, pipes: Sequence[Pipe], tag_of: Callable[[str], str | None]) -> str:
    """The part at an end with its port; a tee by the other runs there, as its own name is on no drawing."""
    item = plant.items.get(end.item)
    if item is None:
        return escaped(end.item)
    if item.has(Trait.JOINS):
        own = tag_of(pipes[0].id)
        names = (name for port in item.ports for name in plant.pipes_at.get(PortRef(item.id, port), ()))
        others = {tag for name in names if (tag := tag_of(name)) is not None and tag != own}
        return escaped(f"tee {', '.join(sorted(others, key=natural))}" if others else item.id)
    return escaped(item.id if len(item.ports) == 1 else f"{item.id} {end.port.replace('_', ' ')}")


def _temperature(solution: SolvedCase | None, pipe: Pipe, end: PortRef, units: Display) -> str:
    found = None if solution is None else solution.pipes.get(pipe.id)
    if found is None:
        return NOTHING
    return figure(found.temperature_at(pipe.start == end) + CELSIUS, "temperature", units)


def _tube(pipe: Pipe) -> str:
    """Size and material as on the drawing."""
    bore = (pipe.tube or {}).get("bore")
    return short_tube(pipe) or (f"{bore} inside" if bore else NOTHING)
