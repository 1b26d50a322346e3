"""What makes pipes read wrong on a drawing, and plants strewn at random to look for it."""

from __future__ import annotations

import random
from collections.abc import Iterator, Mapping
from itertools import combinations

from core.diagram import symbols
from core.diagram.geometry import Box, Point, Polyline, box_of, length, segments
from core.plant.model import Item, Pipe, Plant, PortRef

KINDS = (
    "circulator", "shutoff", "check_valve", "tank", "boiler", "heater", "exchanger", "floor_circuit",
    "radiator", "fixture", "cold_main", "joint", "joint", "joint", "mixing_valve", "separator", "manifold",
    "expansion_tank", "relief_valve", "purge_set", "buffer", "air_separator", "strainer",
)  # fmt: skip


def overlaps(lines: Mapping[str, Polyline]) -> dict[tuple[str, str], float]:
    """Pairs of pipes drawn upon each other, and over what length [u]."""
    out: dict[tuple[str, str], float] = {}
    runs = [(name, box_of(run)) for name, line in sorted(lines.items()) for run in segments(line)]
    for (one, run), (other, beside) in combinations(runs, 2):
        shared = _shared(run, beside) if one != other else 0.0
        if shared > 0:
            out[one, other] = out.get((one, other), 0.0) + shared
    return out


def _shared(a: Box, b: Box) -> float:
    if a.y0 == a.y1 == b.y0 == b.y1:
        return min(a.x1, b.x1) - max(a.x0, b.x0)
    if a.x0 == a.x1 == b.x0 == b.x1:
        return min(a.y1, b.y1) - max(a.y0, b.y0)
    return 0.0


def run_through(plant: Plant, lines: Mapping[str, Polyline]) -> set[tuple[str, str]]:
    """Pipes with the symbols, joints and ports they run through without ending there."""
    ports = [
        (item.id, symbols.port_place(item, port)) for item in plant.items.values() for port in item.ports
    ]
    out: set[tuple[str, str]] = set()
    for name, line in lines.items():
        pipe = plant.pipes[name]
        own = {pipe.start.item, pipe.end.item}
        for run in segments(line):
            area = box_of(run)
            out |= {(name, who) for who, at in ports if area.has(at) and at not in (line[0], line[-1])}
            for item in plant.items.values():
                body = symbols.body_box(item) if item.id in own else symbols.box(item)
                if item.kind != "joint" and body.grown(-0.5).overlaps(area.grown(0.01)):
                    out.add((name, item.id))
    return out


def joins_falsely(lines: Mapping[str, Polyline]) -> set[tuple[str, str]]:
    """Pairs of pipes of which one bends or ends on the other: that reads as a tee without a dot."""
    out: set[tuple[str, str]] = set()
    runs = [(name, box_of(run)) for name, line in lines.items() for run in segments(line)]
    for one, line in lines.items():
        for bend in line[1:-1]:
            for other, run in runs:
                if one != other and run.has(bend) and bend not in (lines[other][0], lines[other][-1]):
                    out.add((one, other))
    return out


def cramped(plant: Plant, pipe: Pipe) -> bool:
    """Whether a pipe's end has no room: another port's pipe or symbol within the first steps before it."""
    tips = {
        (end.item, end.port): tip
        for other in plant.pipes.values()
        for end in (other.start, other.end)
        if (tip := _tip(plant.items[end.item], end.port)) is not None
    }
    for end in (pipe.start, pipe.end):
        item = plant.items[end.item]
        tip = tips.get((end.item, end.port))
        if tip is None:
            open_sides = sum(1 for at in _sides(item.at) if not _covered(plant, at, item.id))
            if len(plant.pipes_at[end]) > open_sides:
                return True
            continue
        near = (at for key, at in tips.items() if key != (end.item, end.port))
        if _covered(plant, tip, item.id) or any(length((tip, at)) <= 20 for at in near):
            return True
    return False


def _tip(item: Item, port: str) -> Point | None:
    (x, y), (dx, dy) = symbols.port_place(item, port), symbols.outward(item, port)
    return (x + 10 * dx, y + 10 * dy) if dx or dy else None


def _sides(at: Point) -> Iterator[Point]:
    for dx, dy in ((10.0, 0.0), (-10.0, 0.0), (0.0, 10.0), (0.0, -10.0)):
        yield at[0] + dx, at[1] + dy


def _covered(plant: Plant, at: Point, but: str) -> bool:
    """Whether another symbol lies within five units of a place."""
    return any(symbols.box(item).grown(4.9).has(at) for item in plant.items.values() if item.id != but)


def strewn(seed: int) -> Plant:
    """Items at random places on the grid, twenty units apart at least, and pipes between random ports."""
    chance = random.Random(seed)
    wanted, wide = chance.randint(5, 16), chance.choice((1.0, 1.6, 2.5))
    side = int((wanted * wide) ** 0.5 * 11) + 8
    items: list[Item] = []
    while len(items) < wanted:
        at = (10.0 * chance.randint(0, side), 10.0 * chance.randint(0, side))
        kind, turn = chance.choice(KINDS), chance.choice((0, 0, 90, 180, 270))
        item = Item(f"I{len(items)}", kind, at, turn, flip=chance.random() < 0.3)
        area = symbols.box(item).grown(10)
        if not any(area.overlaps(symbols.box(other).grown(10)) for other in items):
            items.append(item)
    free = [PortRef(item.id, port) for item in items for port in item.ports]
    free += [ref for ref in free if ref.item in {i.id for i in items if i.kind == "joint"} for _ in range(3)]
    chance.shuffle(free)
    pipes: dict[str, Pipe] = {}
    while len(free) > 1 and len(pipes) < 1.2 * wanted:
        start = free.pop()
        end = next((ref for ref in free if ref.item != start.item), None)
        if end is not None:
            free.remove(end)
            name = f"L{len(pipes) + 1}"
            pipes[name] = Pipe(name, start, end, "s", {}, "1 m")
    return Plant(items={item.id: item for item in items}, pipes=pipes)
