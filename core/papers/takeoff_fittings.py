"""Fittings of a takeoff, from the drawing and from what its pipes carry. No tube, no equipment.

A joint of three pipes is a tee; then the tee that a pipe's loss counts at that joint is the same one. Where
sizes meet stands a reducer, where materials meet an adapter, at equipment a connection (union or flange).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from typing import Any, NamedTuple

from core.diagram.states import dead_end
from core.errors import WetsideError
from core.media import tubes
from core.media.fittings import FITTINGS
from core.plant.model import Item, Pipe, Plant, PortRef
from core.vocabulary import KINDS, Schedule, Trait

Tube = Mapping[str, Any] | None
VALVES = tuple(name for name in FITTINGS if name.endswith("_valve"))
TEES = ("tee_run", "tee_branch")
THERE = ("existing", "to_remove")  # stages of what nobody orders
MOUTHS = ("entrance", "exit")  # of vessels: a loss, no part


class Piece(NamedTuple):
    """Some pieces of one fitting at a place."""

    group: str
    what: str
    size: str
    pieces: int
    at: str
    to_buy: bool


def named(tube: Tube) -> tuple[str, str]:
    """Material and size of a tube as a supply house names them."""
    raw = tube or {}
    if "material" in raw:
        size = str(raw.get("size", ""))
        with suppress(WetsideError):
            size = tubes.tube_of(str(raw["material"]), size).nominal
        return tubes.spoken(str(raw["material"])), tubes.dashed(size)
    return ("tube by its bore", f"{raw['bore']} inside") if "bore" in raw else ("tube", "")


def tube_ends(plant: Plant, item: Item) -> list[tuple[Pipe, str]]:
    """Pipes of tube that end at an item and stay, each with the port."""
    found = []
    for port in item.ports:
        for name in plant.pipes_at.get(PortRef(item.id, port), ()):
            pipe = plant.pipes[name]
            if not pipe.joined and pipe.stage != "to_remove":
                found.append((pipe, port))
    return found


def pieces(plant: Plant) -> Iterator[Piece]:
    """Every fitting of a plant, without those that are there already."""
    for item in plant.items.values():
        if item.stage in THERE:
            continue
        ends = tube_ends(plant, item)
        yield from _at_joint(plant, item, ends) if item.has(Trait.JOINS) else _at_item(item, ends)
    for pipe in plant.pipes.values():
        if pipe.stage not in THERE:
            yield from _of_pipe(plant, pipe)


def _of_pipe(plant: Plant, pipe: Pipe) -> Iterator[Piece]:
    """What a pipe carries; a flanged pair of items, a set of gasket and bolts."""
    buys = pipe.stage == "drawn"
    if pipe.joined:
        yield Piece("fittings", f"{pipe.joined} joint, gasket and bolts", "", 1, pipe.id, buys)
        return
    what, size = named(pipe.tube)
    for name, count in pipe.fittings.items():
        if not count or name in TEES or name in MOUTHS:
            continue
        words = FITTINGS[name].words.removesuffix(", open")
        if name in VALVES:
            yield Piece("valves", f"{words}, in the run", size, count, pipe.id, buys)
        else:
            yield Piece("fittings", f"{words}, {what}", size, count, pipe.id, buys)
    drawn = sum(_is_tee(plant, ref) for ref in (pipe.start, pipe.end))
    further = sum(pipe.fittings.get(name, 0) for name in TEES) - drawn
    if further > 0:
        yield Piece("fittings", f"tee, {what}, counted by its pipe alone", size, further, pipe.id, buys)


def _is_tee(plant: Plant, ref: PortRef) -> bool:
    item = plant.items.get(ref.item)
    return item is not None and item.has(Trait.JOINS) and len(tube_ends(plant, item)) > 2


def _at_joint(plant: Plant, item: Item, ends: Sequence[tuple[Pipe, str]]) -> Iterator[Piece]:
    """A tee, a reducer, an adapter or a coupling, by the tubes that meet: of a tee run x run x branch.

    What ends at a relief or an instrument is the branch, also where it is the largest.
    """
    pipes = sorted((pipe for pipe, _ in ends), key=lambda pipe: (dead_end(plant, pipe), -pipe.si.bore))
    buys = item.stage == "drawn"
    if len(pipes) < 2:
        return
    if len(pipes) == 2:
        yield _between(item.id, pipes[0], pipes[1], buys) or Piece(
            "fittings", f"coupling, {named(pipes[0].tube)[0]}", named(pipes[0].tube)[1], 1, item.id, buys
        )
        return
    what, size = named(pipes[0].tube)
    run = named(pipes[1].tube)[1]
    for pipe in pipes[2:]:
        sizes = (size, run, named(pipe.tube)[1])
        shown = size if len(set(sizes)) == 1 else " x ".join(sizes)
        yield Piece("fittings", f"tee, {what}", shown, 1, item.id, buys)
    for pipe in pipes[1:]:
        if named(pipe.tube)[0] != what:
            yield Piece(
                "fittings", f"adapter, {what} to {named(pipe.tube)[0]}", named(pipe.tube)[1], 1, item.id, buys
            )


def _between(at: str, one: Pipe, other: Pipe, buys: bool) -> Piece | None:
    """What joins two different tubes; None where they are the same."""
    (a, size_a), (b, size_b) = named(one.tube), named(other.tube)
    if a != b:
        return Piece("fittings", f"adapter, {a} to {b}", f"{size_a} x {size_b}", 1, at, buys)
    if size_a != size_b:
        return Piece("fittings", f"reducer, {a}", f"{size_a} x {size_b}", 1, at, buys)
    return None


def _at_item(item: Item, ends: Sequence[tuple[Pipe, str]]) -> Iterator[Piece]:
    """Reducers and adapters at a valve, connections at equipment."""
    buys = item.stage == "drawn"
    own = item.props.get("size") or item.props.get("inlet_size")
    if own is not None:
        for pipe, _ in ends:
            what, size = named(pipe.tube)
            mine = tubes.dashed(str(own))
            if not _same_size(str(own), pipe):
                sizes = f"{size} x {mine}"
                yield Piece("fittings", f"reducer or adapter at a valve, {what}", sizes, 1, item.id, buys)
    elif len(ends) == 2 and len(item.ports) == 2:
        piece = _between(item.id, ends[0][0], ends[1][0], buys)
        if piece is not None:
            yield piece
    valve = KINDS[item.kind].schedule is Schedule.VALVES and not item.has(Trait.EXPANDS)
    if valve or (item.has(Trait.ENDS_RUN) and not item.has(Trait.EXPANDS)):
        return
    for pipe, _ in ends:
        what, size = named(pipe.tube)
        joined = item.props.get("connection")
        words = f"{joined} connection" if isinstance(joined, str) else "union or adapter to equipment"
        yield Piece("fittings", f"{words}, {what}", size, 1, item.id, buys)


def _same_size(own: str, pipe: Pipe) -> bool:
    raw = pipe.tube or {}
    if "material" not in raw:
        return False
    try:
        return abs(tubes.tube_of(str(raw["material"]), own).outside - pipe.si.outside) < 1e-6
    except WetsideError:
        return False
