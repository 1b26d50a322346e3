"""Cures that can be put in by one step: a part in the pipe, or on a tee, where a finding asks for it.

The part goes in at stage "drawn", its ratings left open, with a line "to be installed" in the logbook. A
cure is offered only where the review of the plant with it finds no stop that was not there before (`raises`).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import NamedTuple

from core.diagram import room, symbols
from core.diagram.geometry import Point, Polyline, box_of, length, segments
from core.diagram.routes import route
from core.errors import Refusal
from core.hydraulics.elements import port_height
from core.logbook import write_down
from core.plant import edits
from core.plant.changes import AddItem, Change, ReplaceItem, fitted
from core.plant.model import Item, Pipe, Plant, PortRef
from core.review.finding import Finding, Severity
from core.review.parts import CURES, TO_INSTALL, Cure, Side
from core.solve import Solution
from core.vocabulary import KINDS, UNKNOWN, Trait

STUB = "1 ft"  # of a tee's branch: short, nothing flows in it
NEAR = 60.0  # [u] from the item to the part, where the pipe is long enough
ASIDE = (40.0, 60.0, 80.0, 110.0)  # [u] from the pipe to what hangs on a tee
SLIDES = (0.0, 40.0, 80.0, 120.0, 180.0, -30.0)  # [u] along the pipe, until there is room beside it
OUT_WORDS = ("out", "hot", "supply", "mixed", "a_out", "b_out", "coil_out", "trunk", "a", "at")
IN_WORDS = ("in", "cold", "return", "a_in", "b_in", "coil_in", "b", "at")


class Offer(NamedTuple):
    """A cure worked out: what undo calls it, the changes, the ids of the new parts."""

    words: str
    changes: tuple[Change, ...]
    parts: tuple[str, ...]


def cure_of(finding: Finding) -> Cure | None:
    """The cure of a finding, None where it is no matter of putting a part in."""
    words = finding.rule.insert.replace("_", " ")
    of_kind = (cure for cure in CURES.values() if cure.kind.replace("_", " ") == words)
    return CURES.get(words) or next(of_kind, None)


def offer(plant: Plant, finding: Finding, solutions: Sequence[Solution] = ()) -> Offer:
    """The likeliest cure of a finding.

    Raises
    ------
    Refusal
        Where there is no pipe to put it in, or it would not fit the plant
    """
    return next(offers(plant, finding, solutions))


def offers(plant: Plant, finding: Finding, solutions: Sequence[Solution] = ()) -> Iterator[Offer]:
    """Cures of a finding, each one list of changes, the likeliest place first.

    Whether one cures, and whether it raises a stop (`raises`), a review of the plant with it tells.

    Parameters
    ----------
    plant : Plant
    finding : Finding
        Of that plant, with a cure
    solutions : sequence of Solution
        Solved cases; they tell which way water runs, for parts that pass it one way

    Raises
    ------
    Refusal
        Where there is no pipe to put it in, or it fits the plant nowhere
    """
    cure = cure_of(finding)
    if cure is None:
        raise Refusal("", finding.rule.title, "a cure that is one part to put in")
    lines = route(plant)
    refused: Refusal | None = None
    fits = False
    for places in _alternatives(plant, finding, cure):
        try:
            found = _offer(plant, finding, cure, places, lines, solutions)
        except Refusal as refusal:
            refused = refused or refusal
        else:
            fits = True
            yield found
    if refused is not None and not fits:
        raise refused


def _offer(
    plant: Plant,
    finding: Finding,
    cure: Cure,
    places: Sequence[_Place],
    lines: Mapping[str, Polyline],
    solutions: Sequence[Solution],
) -> Offer:
    draft = edits.Draft(plant)
    parts = []
    for place in places:
        # An earlier part may have cut the pipe in two: then it is the half at the item.
        pipe = _pipe_at(draft.plant, place)
        line = lines[pipe.id] if draft.plant is plant else route(draft.plant)[pipe.id]
        parts.append(_put(draft, cure, place, pipe, line, solutions))
    title = KINDS[cure.kind].title
    choice = f"{', '.join(parts)}: {title[:1].lower()}{title[1:]} {TO_INSTALL}"
    at = [*parts, *(one for one in finding.at[:1] if one)]
    draft.do(write_down(draft.plant, at, choice, f"{finding.rule.title}: {finding.text}"))
    fitted(plant, draft.changes)
    many = f"{title}s" if len(parts) > 1 else title
    return Offer(f"Insert {many.lower()} {', '.join(parts)}", tuple(draft.changes), tuple(parts))


def raises(before: Sequence[Finding], after: Sequence[Finding]) -> list[Finding]:
    """Stops of the plant with a cure that nobody accepted and that were not there before."""
    known = {one.key for one in before if one.severity is Severity.STOP}
    return [
        one
        for one in after
        if one.severity is Severity.STOP and one.accepted is None and one.key not in known
    ]


# ---- where -------------------------------------------------------------------------------


class _Place(NamedTuple):
    """A port to whose pipe a part goes; of a pipe named itself its start, with the middle meant."""

    port: PortRef
    pipe: str
    middle: bool = False


def _alternatives(plant: Plant, finding: Finding, cure: Cure) -> list[list[_Place]]:
    """Where parts may go: a pipe that the finding names, else those of the item it protects, one by one."""
    item = next((plant.items[one] for one in finding.at if one in plant.items), None)
    named_pipes = [plant.pipes[one] for one in finding.at if one in plant.pipes]
    if item is None or finding.at[0] in plant.pipes:
        for one in named_pipes:
            if not one.joined:
                return [[_Place(one.start, one.id, middle=True)]]
    if item is None:
        raise Refusal("", ", ".join(finding.at) or "the plant", "an item or pipe to put it at")
    ports = [
        (port, pipe)
        for port in item.ports
        for pipe in plant.pipes_at.get(PortRef(item.id, port), ())
        if not plant.pipes[pipe].joined and plant.pipes[pipe].stage != "to_remove"
    ]
    named = [one for one in ports if one[1] in finding.at]
    ports = named or ports
    if not ports:
        raise Refusal("", item.id, "an item with a pipe to put it in")
    if cure.side in ("both", "all"):
        free = [one for one in ports if not _has_like(plant, PortRef(item.id, one[0]), one[1], cure)]
        return [[_Place(PortRef(item.id, port), pipe) for port, pipe in free or ports]]
    ports.sort(key=lambda one: _rank(item, one[0], cure.side))
    return [[_Place(PortRef(item.id, port), pipe)] for port, pipe in ports]


def _has_like(plant: Plant, port: PortRef, pipe: str, cure: Cure) -> bool:
    """Whether what a pipe leads to at its far end is already such a part."""
    one = plant.pipes[pipe]
    far = plant.items.get((one.end if one.start == port else one.start).item)
    return far is not None and not KINDS[cure.kind].traits.isdisjoint(KINDS[far.kind].traits)


def _rank(item: Item, port: str, side: Side) -> float:
    if side in ("low", "high"):
        height = port_height(item, port)
        return height if side == "low" else -height
    words = OUT_WORDS if side == "out" else IN_WORDS
    return words.index(port) if port in words else len(words)


def _pipe_at(plant: Plant, place: _Place) -> Pipe:
    if place.middle and place.pipe in plant.pipes:
        return plant.pipes[place.pipe]
    there = plant.pipes_at.get(place.port, ())
    return plant.pipes[place.pipe if place.pipe in there else there[0]]


# ---- putting in --------------------------------------------------------------------------


def _put(
    draft: edits.Draft, cure: Cure, place: _Place, pipe: Pipe, line: Polyline, solutions: Sequence[Solution]
) -> str:
    """Put one part in; gives its id."""
    from_start = place.middle or pipe.start == place.port
    seen = line if from_start else line[::-1]
    spot = _spot(seen, place.middle)
    if cure.mixes:
        share = spot.share if from_start else 1.0 - spot.share
        return _mix(draft, cure, place.port, pipe, line, spot.at, share)
    if edits.in_line_ports(cure.kind, {}) is None:
        return _hang(draft, cure, place, pipe, seen, from_start)
    way = (_sign(spot.run[1][0] - spot.run[0][0]), _sign(spot.run[1][1] - spot.run[0][1]))
    way = way if from_start else (-way[0], -way[1])
    share = spot.share if from_start else 1.0 - spot.share
    reverse = _backward(draft.plant, cure, place, pipe, solutions)
    return _sit(draft, cure, pipe, line, spot.at, way, share, reverse)


class _Spot(NamedTuple):
    """A place on a run of a line, and its share of the line; from the end at which a part is wanted."""

    run: tuple[Point, Point]
    at: Point
    share: float


def _spot(line: Polyline, middle: bool, further: float = 0.0) -> _Spot:
    """A place near a line's start, or in its middle, or further on."""
    runs = segments(line) or [(line[0], line[0])]
    whole = sum(map(length, runs)) or 1.0
    wanted = min((whole / 2 if middle else min(NEAR, whole / 2)) + further, whole - room.STUB)
    before = 0.0
    for run in runs:
        long = length(run)
        if before + long >= wanted or run is runs[-1]:
            along = min(max((wanted - before) / long, 0.0), 1.0) if long else 0.0
            (ax, ay), (bx, by) = run
            at = (ax + (bx - ax) * along, ay + (by - ay) * along)
            return _Spot(run, at, (before + along * long) / whole)
        before += long
    raise AssertionError("a line has a run")


def _height(plant: Plant, pipe: Pipe, share: float) -> dict[str, str]:
    """Height of a place in a pipe, which slopes evenly between its ends; nothing for the plant's datum."""
    low, high = (port_height(plant.items[end.item], end.port) for end in (pipe.start, pipe.end))
    height = low + share * (high - low)
    return {"height": f"{height:.4g} m"} if abs(height) > 1e-9 else {}


def _props(plant: Plant, cure: Cure, pipe: Pipe, share: float) -> dict[str, str]:
    return {**dict.fromkeys(cure.ratings, UNKNOWN), **_height(plant, pipe, share)}


def _sit(
    draft: edits.Draft,
    cure: Cure,
    pipe: Pipe,
    line: Polyline,
    at: Point,
    way: Point,
    share: float,
    reverse: bool,
) -> str:
    """A part in line, along the pipe's direction or against it."""
    props = _props(draft.plant, cure, pipe, share)
    item = edits.new_item(draft.plant, cure.kind, at, props=props)
    first, second = edits.in_line_ports(cure.kind, {}) or item.ports[:2]
    (ax, ay), (bx, by) = symbols.port_place(item, first), symbols.port_place(item, second)
    seat = room.seat(draft.plant, pipe.id, line, at, abs(bx - ax) + abs(by - ay))
    draft.do(*seat.moves)
    turn = {(1.0, 0.0): 0, (0.0, 1.0): 90, (-1.0, 0.0): 180, (0.0, -1.0): 270}.get(way, 0)
    item = replace(item, at=seat.at, turn=(turn + 180 * reverse) % 360)
    draft.do(AddItem(item))
    draft.do(*edits.put_in_line(draft.plant, item.id, pipe.id, share))
    if reverse:
        edits.swap_ports(draft, item.id, first, second)
    return item.id


def _hang(draft: edits.Draft, cure: Cure, place: _Place, pipe: Pipe, seen: Polyline, from_start: bool) -> str:
    """A part with one port on a tee, beside the pipe; where there is no room, it is made."""
    tries = []
    for further in SLIDES:
        spot = _spot(seen, place.middle, further)
        share = spot.share if from_start else 1.0 - spot.share
        bare = edits.new_item(draft.plant, cure.kind, spot.at, props=_props(draft.plant, cure, pipe, share))
        tries += [(one, joint, share) for one, joint in _beside(bare, _on_grid(spot.at), spot.run)]
    found = next((one for one in tries if _free(draft.plant, one[0], one[1])), None)
    if found is None:
        spot = _spot(seen, place.middle)
        line = seen if from_start else seen[::-1]
        seat = room.seat(draft.plant, pipe.id, line, spot.at, 40.0)
        draft.do(*seat.moves)
        made = [(one, joint, tries[0][2]) for one, joint in _beside(tries[0][0], seat.at, spot.run)]
        found = next((one for one in made if _free(draft.plant, one[0], one[1])), made[0])
    item, joint, share = found
    draft.do(AddItem(item))
    _tee(draft, PortRef(item.id, item.ports[0]), pipe, joint, share)
    return item.id


def _free(plant: Plant, item: Item, joint: Point) -> bool:
    """Whether an item and its branch lie on no other symbol."""
    box = symbols.box(item)
    whole = box_of([(box.x0, box.y0), (box.x1, box.y1), joint]).grown(-1.0)
    return not any(whole.overlaps(symbols.box(other)) for other in plant.items.values())


def _beside(item: Item, joint: Point, run: tuple[Point, Point]) -> list[tuple[Item, Point]]:
    """Ways for an item to lie beside a run, turned to its joint: what drains below, all else above first."""
    below = 1.0 if item.has(Trait.DRAINS) else -1.0
    level = run[0][1] == run[1][1]
    aside = ((0.0, below), (0.0, -below)) if level else ((1.0, 0.0), (-1.0, 0.0))
    tries = []
    for far in ASIDE:
        for dx, dy in aside:
            for turn in (0, 90, 180, 270):
                one = replace(item, at=(joint[0] + far * dx, joint[1] + far * dy), turn=turn)
                if symbols.outward(one, one.ports[0]) == (-dx, -dy):
                    tries.append((one, joint))
    return tries or [(replace(item, at=(joint[0], joint[1] - ASIDE[0])), joint)]


def _tee(draft: edits.Draft, port: PortRef, pipe: Pipe, at: Point, share: float) -> None:
    """A branch from a port to a new joint in a pipe, at the height the pipe has there."""
    before = draft.plant.items.keys()
    height = _height(draft.plant, pipe, share)
    branch = {"tube": pipe.tube, "system": pipe.system, "insulation": None, "length": STUB}
    draft.do(*edits.tee(draft.plant, port, pipe.id, at, share, **branch))
    joint = next(name for name in draft.plant.items if name not in before)
    if height:
        one = draft.plant.items[joint]
        draft.do(ReplaceItem(replace(one, props={**one.props, **height})))


def _mix(
    draft: edits.Draft,
    cure: Cure,
    port: PortRef,
    pipe: Pipe,
    line: Polyline,
    at: Point,
    share: float,
) -> str:
    """A mixing valve: the hot pipe goes through it, a tee in the cold pipe feeds its third port."""
    source = draft.plant.items[port.item]
    colds = [
        other
        for name in source.ports
        if name in IN_WORDS and name != port.port
        for other in draft.plant.pipes_at.get(PortRef(source.id, name), ())
        if other != pipe.id and draft.plant.pipes[other].system == pipe.system
    ]
    if not colds:
        raise Refusal("", source.id, "an item with a cold pipe, from which the valve is fed")
    seat = room.seat(draft.plant, pipe.id, line, at, 40.0)
    draft.do(*seat.moves)
    props = _props(draft.plant, cure, pipe, share)
    item = edits.new_item(draft.plant, cure.kind, seat.at, props=props)
    hot, cold, mixed = item.ports
    draft.do(AddItem(item))
    ends = PortRef(item.id, hot), PortRef(item.id, mixed)
    first, second = ends if pipe.start == port else ends[::-1]
    draft.do(*edits.put_between(draft.plant, pipe.id, first, second, share))
    feed = draft.plant.pipes[colds[0]]
    spot = _spot(route(draft.plant)[feed.id], middle=True)
    _tee(draft, PortRef(item.id, cold), feed, _on_grid(spot.at), spot.share)
    return item.id


def _backward(plant: Plant, cure: Cure, place: _Place, pipe: Pipe, solutions: Sequence[Solution]) -> bool:
    """Whether a part that passes water one way has to lie against the direction of its pipe."""
    flows = [one.pipes[pipe.id].flow_m3_s for one in solutions if pipe.id in one.pipes]
    most = max(flows, key=abs, default=0.0)
    if abs(most) > 1e-9:
        return most < 0.0
    if place.middle:
        if Trait.ONE_WAY in KINDS[cure.kind].traits:
            raise Refusal("", pipe.id, "a pipe in which water moves in some case, so that its way is known")
        return False
    leaves = place.port.port not in IN_WORDS or plant.items[place.port.item].has(Trait.BRINGS_WATER)
    return leaves != (pipe.start == place.port)


def _on_grid(at: Point) -> Point:
    return round(at[0] / room.GRID) * room.GRID, round(at[1] / room.GRID) * room.GRID


def _sign(value: float) -> float:
    return float((value > 0) - (value < 0))
