"""Puts another circulator into a plant, as changes that a window or a file can take."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from itertools import pairwise
from math import ceil
from typing import Any

from core.diagram import room, symbols
from core.diagram.geometry import Box, Polyline
from core.plant import edits
from core.plant.changes import AddItem, AddPipe, Change, RemoveItem, ReplacePipe
from core.plant.model import Item, Pipe, Plant, PortRef
from core.sizing.second_circulator.available import RUN, Pump
from core.sizing.second_circulator.places import Place, Spot, Tee, through
from core.vocabulary import CHECK_VALVE, CIRCULATOR, Trait

GRID = 10.0
HALF = 20.0  # from the middle of a symbol in a line to its ports
CLEAR = 60.0  # from the middle of one symbol in a line to that of the next
ASIDE = 80.0  # from a line to one beside it
# A leg in parallel, taken until the real one is measured: a foot of tube, an elbow and a tee at each end
# (common practice, no source).
LEG: Mapping[str, Any] = {"length": "1 ft", "fittings": {"elbow_90": 1, "tee_branch": 1}}

Lines = Mapping[str, Polyline]
Point = tuple[float, float]


def put_in(plant: Plant, place: Place, spot: Spot | None, pump: Pump, lines: Lines | None = None) -> Edit:
    """Changes that put a circulator in.

    Parameters
    ----------
    plant : Plant
    place : Place
    spot : Spot or None
        Which spot of the place; None for a place in parallel
    pump : Pump
    lines : dict or None
        Pipes as they are drawn, so that new symbols lie on them; None where only the answer counts

    Returns
    -------
    Edit

    Raises
    ------
    Refusal
        Where the plant does not take it
    """
    if place.tees is not None:
        return _in_parallel(plant, place, pump, lines or {})
    assert spot is not None
    props = {**pump.props, **_run(plant, place)}
    if spot.spacer:
        return _for_spacer(plant, spot, props)
    if spot.touches:
        return _flange_to_flange(plant, spot, props)
    return _into_pipe(plant, spot, props, lines or {})


class Edit:
    """The changes, the new circulator's id, and the check valves that came with it."""

    def __init__(self, changes: list[Change], pump: str, checks: tuple[str, ...] = ()) -> None:
        self.changes = changes
        self.pump = pump
        self.checks = checks


def _run(plant: Plant, place: Place) -> dict[str, Any]:
    """When it runs: with the circulator beside it, or with the valve or circulator on its stretch."""
    names = [place.at, *place.run]
    for name in names:
        item = plant.items.get(name)
        if item is not None and item.has(Trait.DRIVES, Trait.OPENS_BY_SIGNAL):
            return {key: item.props[key] for key in RUN if key in item.props}
    return {}


def _height(plant: Plant, *refs: PortRef) -> dict[str, Any]:
    """At the mean height of what it lies between."""
    heights = []
    for ref in refs:
        item = plant.items[ref.item]
        at = (item.si.get("port_heights") or {}).get(ref.port, 0.0)
        taps = item.si.get("taps") or {}
        heights.append(float(item.si.get("height") or 0.0) + float(taps.get(ref.port, at) or 0.0))
    mean = sum(heights) / len(heights)
    return {"height": f"{mean:.4g} m"} if abs(mean) > 1e-6 else {}


def _flange_to_flange(plant: Plant, spot: Spot, props: Mapping[str, Any]) -> Edit:
    """Bolted to the circulator it helps; the pipe there now ends at the new one."""
    beside = plant.items[spot.touches]
    after = spot.port == "out"
    ref = PortRef(spot.touches, spot.port)
    draft = edits.Draft(plant)
    at = _next_to(draft, spot.touches, 1.0 if after else -1.0)
    props = {**props, **_height(plant, ref)}
    item = edits.new_item(plant, CIRCULATOR, at, turn=beside.turn, flip=beside.flip, props=props)
    near, far = ("in", "out") if after else ("out", "in")
    pipe = draft.plant.pipes[spot.pipe]
    moved = PortRef(item.id, far)
    ends = (moved, pipe.end) if pipe.start == ref else (pipe.start, moved)
    bolted = Pipe(
        edits.fresh_id(plant, edits.PIPE),
        *((ref, PortRef(item.id, near)) if after else (PortRef(item.id, near), ref)),
        pipe.system,
        tube=pipe.tube,
        length="0 ft" if plant.units == "us" else "0 m",
        joined="flanged",
    )
    draft.do(AddItem(item), ReplacePipe(replace(pipe, start=ends[0], end=ends[1])), AddPipe(bolted))
    return Edit(draft.changes, item.id)


def _next_to(draft: edits.Draft, name: str, way: float) -> Point:
    """The place in line with a symbol, its inlet's side where `way` is negative; what is there makes room."""
    dx, dy = (way * one for one in _direction(draft.plant.items[name]))
    axis = 0 if dx else 1
    lacking = ceil((CLEAR + HALF + room.STUB - room.ahead(draft.plant, name, (dx, dy))) / GRID) * GRID
    if lacking > 0:
        here = draft.plant.items[name].at[axis]
        beyond = here + GRID if (dx, dy)[axis] > 0 else here  # before its inlet: the symbol itself moves on
        draft.do(*room.pulled_apart(draft.plant, axis, beyond, lacking))
    x, y = draft.plant.items[name].at
    return x + CLEAR * dx, y + CLEAR * dy


def _direction(item: Item) -> Point:
    """Which way an in-line symbol's outlet points: flipped first, then turned clockwise, y down."""
    dx = -1.0 if item.flip else 1.0
    return {0: (dx, 0.0), 90: (0.0, dx), 180: (-dx, 0.0), 270: (0.0, -dx)}[item.turn % 360]


def _for_spacer(plant: Plant, spot: Spot, props: Mapping[str, Any]) -> Edit:
    """In the place of a spacer, at its ends."""
    old = plant.items[spot.spacer]
    ends = through(plant, spot.spacer)
    assert ends is not None
    props = {**props, **_height(plant, ends[0])}
    turn = old.turn if spot.forward else (old.turn + 180) % 360
    item = edits.new_item(plant, CIRCULATOR, old.at, turn=turn, flip=old.flip, props=props)
    new = ("in", "out") if spot.forward else ("out", "in")
    there = {ends[0]: PortRef(item.id, new[0]), ends[1]: PortRef(item.id, new[1])}
    moved: list[Change] = [
        ReplacePipe(replace(p, start=there.get(p.start, p.start), end=there.get(p.end, p.end)))
        for p in plant.pipes.values()
        if p.start in there or p.end in there
    ]
    return Edit([AddItem(item), *moved, RemoveItem(old.id)], item.id)


def _into_pipe(plant: Plant, spot: Spot, props: Mapping[str, Any], lines: Lines) -> Edit:
    """In the middle of a pipe."""
    pipe = plant.pipes[spot.pipe]
    draft = edits.Draft(plant)
    at, level, rising = _seat(draft, pipe, lines)
    turn = 0 if level else 90
    props = {**props, **_height(plant, pipe.start, pipe.end)}
    draft.do(
        *edits.insert_in_line(
            draft.plant, CIRCULATOR, spot.pipe, at, 0.5, turn=turn if rising else turn + 180, props=props
        )
    )
    name = next(item.id for item in draft.plant.items.values() if item.id not in plant.items)
    if not spot.forward:
        draft.do(*edits.turn_round(draft.plant, name))
    return Edit(draft.changes, name)


def _middle(plant: Plant, pipe: Pipe, lines: Lines) -> tuple[Point, bool, bool]:
    """Middle of a pipe's longest piece as drawn; whether that is level, and runs right or down."""
    line = lines.get(pipe.id) or (
        plant.items[pipe.start.item].at,
        *pipe.via,
        plant.items[pipe.end.item].at,
    )
    a, b = max(pairwise(line), key=lambda ab: abs(ab[1][0] - ab[0][0]) + abs(ab[1][1] - ab[0][1]))
    level = abs(b[0] - a[0]) >= abs(b[1] - a[1])
    rising = (b[0] >= a[0]) if level else (b[1] >= a[1])
    middle = (a[0] + b[0]) / 2, (a[1] + b[1]) / 2
    return (_snapped(middle[0]), _snapped(middle[1])), level, rising


def _seat(draft: edits.Draft, pipe: Pipe, lines: Lines) -> tuple[Point, bool, bool]:
    """A place in the middle of a pipe as drawn, room made there where it lacks."""
    at, level, rising = _middle(draft.plant, pipe, lines)
    if pipe.id in lines:
        found = room.seat(draft.plant, pipe.id, lines[pipe.id], at, 2 * HALF)
        draft.do(*found.moves)
        at = found.at
    return at, level, rising


def _snapped(x: float) -> float:
    return round(x / GRID) * GRID


def _in_parallel(plant: Plant, place: Place, pump: Pump, lines: Lines) -> Edit:
    """A second leg with a check valve of its own, and one for the first leg where it has none."""
    assert place.tees is not None
    beside = plant.items[place.at]
    props = {**pump.props, **_run(plant, place), **_height(plant, PortRef(place.at, "in"))}
    held = {key: beside.props[key] for key in ("control", "target") if key in beside.props}
    if str(held.get("control", "")).startswith("delta_p") and props.get("curve") == beside.props.get("curve"):
        props |= held  # two that hold one head share the flow; a fixed one beside would only be throttled
    draft = edits.Draft(plant)
    leave = _tee(draft, place.tees[0], lines)
    join = _tee(draft, place.tees[1], lines)
    checks: list[str] = []
    if not place.own_check:
        checks.append(_check_behind(draft, place.at, lines))
    dx, dy = _direction(beside)
    at = _free_beside(draft.plant, beside, (-dy, dx), (CLEAR * dx, CLEAR * dy))
    item = edits.new_item(draft.plant, CIRCULATOR, at, turn=beside.turn, flip=beside.flip, props=props)
    draft.do(AddItem(item))
    like = plant.pipes[place.tees[0].pipe] if place.tees[0].pipe else None
    made = {**LEG, "tube": like.tube} if like is not None and like.tube else dict(LEG)
    draft.do(*edits.connect(draft.plant, PortRef(leave, "at"), PortRef(item.id, "in"), **made))
    last = PortRef(item.id, "out")
    if not item.si.get("integral_check"):
        check = _new_check(draft.plant, (at[0] + CLEAR * dx, at[1] + CLEAR * dy), beside)
        draft.do(AddItem(check))
        short = {**made, "length": "3 in", "fittings": {}}
        draft.do(*edits.connect(draft.plant, last, PortRef(check.id, "in"), **short))
        last = PortRef(check.id, "out")
        checks.append(check.id)
    draft.do(*edits.connect(draft.plant, last, PortRef(join, "at"), **made))
    return Edit(draft.changes, item.id, tuple(checks))


def _tee(draft: edits.Draft, tee: Tee, lines: Lines) -> str:
    """The joint a leg hangs on, made where there is none."""
    if tee.joint:
        return tee.joint
    at, _, _ = _middle(draft.plant, draft.plant.pipes[tee.pipe], lines)
    changes, joint = edits.split_pipe(draft.plant, tee.pipe, at, tee.share)
    pipe = draft.plant.pipes[tee.pipe]
    height = _height(draft.plant, pipe.end if tee.share else pipe.start)
    draft.do(*changes)
    if height:
        draft.do(*edits.set_props(draft.plant, joint, height))
    return joint


def _check_behind(draft: edits.Draft, pump: str, lines: Lines) -> str:
    """A check valve in the pipe at a circulator's outlet."""
    plant = draft.plant
    ref = PortRef(pump, "out")
    pipe = plant.pipes[plant.pipes_at[ref][0]]
    forward = pipe.start == ref
    at, level, rising = _seat(draft, pipe, lines)
    turn = (0 if level else 90) + (0 if rising else 180)
    made = _check_props(plant, pipe.system) | _height(plant, ref)
    draft.do(*edits.insert_in_line(draft.plant, CHECK_VALVE, pipe.id, at, 0.5, turn=turn, props=made))
    name = next(item.id for item in draft.plant.items.values() if item.id not in plant.items)
    if not forward:
        draft.do(*edits.turn_round(draft.plant, name))
    return name


def _new_check(plant: Plant, at: Point, like: Item) -> Item:
    system = next((p.system for p in plant.pipes.values() if like.id in (p.start.item, p.end.item)), "")
    made = _check_props(plant, system) | _height(plant, PortRef(like.id, "out"))
    return edits.new_item(plant, CHECK_VALVE, at, turn=like.turn, flip=like.flip, props=made)


def _check_props(plant: Plant, system: str) -> dict[str, Any]:
    """Made like a check valve that is in the same system already; without any, it loses nothing."""
    for pipe in plant.pipes.values():
        for ref in (pipe.start, pipe.end):
            item = plant.items[ref.item]
            if pipe.system == system and item.has(Trait.CHECKS):
                return {k: item.props[k] for k in ("cv", "k", "size", "opens_at") if k in item.props}
    return {}


def _free_beside(plant: Plant, item: Item, way: Point, on: Point) -> Point:
    """The first free place beside a symbol, either side, far enough for a line of its own.

    `on` is the step from there to the check valve behind it, which must be free too.
    """
    taken = [symbols.box(other) for other in plant.items.values()]

    def free(at: Point) -> bool:
        x, y = at
        seat = Box(x - 30.0, y - 30.0, x + 30.0, y + 30.0)
        return not any(box.overlaps(seat) for box in taken)

    for far in (1.0, 1.25, 1.5, 2.0, 2.5):
        for side in (1.0, -1.0):
            at = (item.at[0] + side * far * ASIDE * way[0], item.at[1] + side * far * ASIDE * way[1])
            if free(at) and free((at[0] + on[0], at[1] + on[1])):
                return at
    return item.at[0] + ASIDE * way[0], item.at[1] + ASIDE * way[1]
