"""A mixing station before a circuit that gets too much: a valve set to what it needs.

Its place is decided by the water: the pipe by which the circuit's own water comes, and that by which it
leaves; where both lie on manifolds, also the pipes of these. A circulator is put in where none runs between.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import partial
from typing import Any, NamedTuple

from core import units
from core.cures.candidate import Candidate, NotTried, Surroundings, cut_open
from core.cures.placing import Solve, add_pump, height_between, leads, least_pump, middle, run_like
from core.cures.settings import POWER
from core.figures import EmitterFigures, RoomFigures
from core.plant import edits
from core.plant.changes import AddItem, Change
from core.plant.model import Plant, PortRef
from core.questions.intake import ZERO, arrives, intake
from core.sizing.second_circulator.available import RUN, Pump
from core.solve import Solution
from core.vocabulary import KINDS, Trait
from core.water.ways import Way

CHANGE = "mixing_station"
VALVE = "mixing_valve"
BESIDE = 60.0  # on the board
SAME = 0.005  # share within which a pipe carries the circuit's water and no other
COOLER = 0.5  # [K] by which the water must be mixed down for a station to be one
STOPS = (
    *(Trait.GIVES_HEAT, Trait.EXCHANGES_HEAT, Trait.STORES_HEAT, Trait.PARTS_FLOWS, Trait.MIXES),
    *(Trait.MAKES_HEAT, Trait.DIVIDES),
)


class _Stretch(NamedTuple):
    """Pipes of one flow from a place on, the farthest last, the items passed, and the item it comes to."""

    pipes: tuple[str, ...]
    items: tuple[str, ...]
    ends: str


class _Place(NamedTuple):
    """The pipes to mix between, and how what runs between them is run."""

    supply: str
    back: str
    pumped: bool
    run: Mapping[str, Any]


def stations(near: Surroundings, solve: Solve) -> Iterator[Candidate | NotTried]:
    """Mixing stations for a circuit that gets too much; else why there is none."""
    if near.is_tap:
        yield NotTried(CHANGE, "a mixing valve before a tap is for a licensed plumber to choose and set")
        return
    if near.sign > 0.0:
        yield NotTried(CHANGE, "a mixing station: it brings colder water, not more")
        return
    wanted = _temperature(near)
    places = list(_places(near))
    if wanted is None or not places:
        yield NotTried(CHANGE, "a mixing station: no one pipe brings its water, and one takes it back")
        return
    unit = "degC" if near.plant.units == "si" else "degF"
    typed = f"{units.to_unit(wanted, unit):.4g} {unit}"
    for place in places:
        text = f"a mixing station between {place.supply} and {place.back}, set to {typed}"
        opens = cut_open(near.plant, [place.supply, place.back])
        if place.pumped:
            yield Candidate(
                CHANGE,
                place.supply,
                text,
                partial(_mix, place, None, typed=typed, solution=near.solution),
                opens,
            )
            continue
        make = partial(_mix, place, typed=typed, solution=near.solution)
        pump = least_pump(near.plant, make, solve, 0.99 * abs(near.solution.flow(place.supply)))
        if pump is None:
            yield NotTried(CHANGE, f"{text}: no circulator at hand carries its flow")
        else:
            text = f"{text}, and a circulator ({pump.title})"
            yield Candidate(CHANGE, place.supply, text, partial(make, pump), opens, POWER)


def _temperature(near: Surroundings) -> float | None:
    """The supply with which it gives what is wanted at its flow, [K]: its heat is in proportion to how much
    warmer than its room the water comes."""
    figures = near.solution.at(near.at, EmitterFigures)
    place = intake(near.plant, near.solution, near.at)
    if figures is None or place is None or figures.delivered_w <= 0.0:
        return None
    item = near.plant.items[near.at]
    room = near.solution.at(str(item.si.get("serves") or ""), RoomFigures)
    indoor = float(item.si.get("room_temperature") or near.plant.site_si.indoor)
    now = indoor if room is None else room.temperature_c + ZERO
    then = indoor if room is None else room.wanted_c + ZERO
    comes = arrives(near.plant, near.solution, place) + ZERO
    wanted = then + figures.wanted_w / figures.delivered_w * (comes - now)
    return wanted if then < wanted < comes - COOLER else None


def _places(near: Surroundings) -> Iterator[_Place]:
    at: str = near.at
    for _ in range(2):
        ends = [_stretch(near, at, ahead) for ahead in (False, True)]
        if not all(one.pipes for one in ends) or ends[0].pipes[-1] == ends[1].pipes[-1]:
            return
        passed = [near.plant.items[key] for one in ends for key in one.items]
        pumped = any(item.has(Trait.DRIVES) and near.solution.running(item.id) for item in passed)
        moved = next((item for item in passed if item.has(Trait.DRIVES, Trait.OPENS_BY_SIGNAL)), None)
        run = {} if moved is None else {key: moved.props[key] for key in RUN if key in moved.props}
        nearest = sorted(near.way, key=lambda key: abs(near.solution.flow(key)))
        run = run or run_like(near.plant, near.solution, nearest)
        yield _Place(ends[0].pipes[-1], ends[1].pipes[-1], pumped, run)
        last = [near.plant.items.get(one.ends) for one in ends]
        if pumped or not all(item is not None and item.has(Trait.DIVIDES) for item in last):
            return
        at = f"{ends[0].ends} {ends[1].ends}"


def _stretch(near: Surroundings, at: str, ahead: bool) -> _Stretch:
    """On from an item, or from the trunks of manifolds before and behind it, until water joins or parts."""
    keys = at.split()
    key = keys[-1] if ahead else keys[0]
    item = near.plant.items[key]
    ports = (
        [PortRef(key, item.ports[0])] if item.has(Trait.DIVIDES) else [PortRef(key, p) for p in item.ports]
    )
    place = next((ref for ref in ports if _onward(near, ref, ahead, key)), None)
    pipes: list[str] = []
    items: list[str] = []
    own = 0.0
    seen: set[PortRef] = set()
    while place is not None and place not in seen:
        seen.add(place)
        onward = _onward(near, place, ahead, key)
        if len(onward) != 1:
            break
        way = onward[0]
        there = near.plant.items.get(way.key)
        if there is not None and there.has(*STOPS):
            return _Stretch(tuple(pipes), tuple(items), way.key)
        if way.is_pipe:
            flow = abs(near.stream.flow[way])
            own = own or flow
            if abs(flow - own) > SAME * own:
                break
            if not near.plant.pipes[way.key].joined:
                pipes.append(way.key)
        elif there is not None:
            items.append(way.key)
        place = way.end if way.start == place else way.start
        if near.plant.items[place.item].has(*STOPS):
            return _Stretch(tuple(pipes), tuple(items), place.item)
    return _Stretch(tuple(pipes), tuple(items), "")


def _onward(near: Surroundings, place: PortRef, ahead: bool, without: str) -> list[Way]:
    ways = near.graph.ways_at[place]
    return [w for w in ways if w.key != without and leads(near.stream.flow[w], w, place, ahead)]


def _mix(place: _Place, pump: Pump | None, plant: Plant, *, typed: str, solution: Solution) -> list[Change]:
    """A valve in the pipe that brings the water, a tee in that which takes it back, and a pipe between."""
    draft = edits.Draft(plant)
    at = middle(plant, place.supply)
    props = {"set_temperature": typed, **height_between(plant, place.supply, place.back)}
    valve = edits.new_item(plant, VALVE, (at[0], at[1] + BESIDE), props=props)
    draft.do(AddItem(valve))
    hot, cold, mixed = (PortRef(valve.id, port) for port in KINDS[VALVE].ports)
    forward = solution.flow(place.supply) > 0.0
    draft.do(*edits.put_between(draft.plant, place.supply, *((hot, mixed) if forward else (mixed, hot)), 0.5))
    changes, joint = edits.split_pipe(draft.plant, place.back, middle(draft.plant, place.back), 0.5)
    draft.do(*changes)
    draft.do(*edits.connect(draft.plant, PortRef(joint, "at"), cold, fittings={}))
    if pump is not None:
        name = draft.plant.pipes_at[mixed][0]
        add_pump(draft, pump, name, draft.plant.pipes[name].start == mixed, place.run)
    return draft.changes
