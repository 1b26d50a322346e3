"""Candidates that change how waters meet: separator, closely spaced tees, buffer, another heater.

They are tried only where the water itself decides the place: where all that the sources send runs through one
pipe on the way out and through one on the way back. Otherwise they are named as not tried.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import partial
from typing import Any, NamedTuple

from core.cures.candidate import Candidate, NotTried, Surroundings, cut_open
from core.cures.settings import GAS, POWER
from core.errors import WetsideError
from core.figures import SourceFigures
from core.plant import edits
from core.plant.changes import AddItem, Change, apply
from core.plant.model import Item, Plant, PortRef
from core.questions.intake import NO_FLOW
from core.sizing.second_circulator.available import RUN, Pump, at_hand
from core.solve import Solution
from core.vocabulary import CIRCULATOR, KINDS, Trait
from core.water.numbers import reached
from core.water.ways import Way

WHOLE = 0.005  # share within which a pipe carries all that the sources send
BESIDE = 80.0  # on the board
SHORT_TUBE = "4 in"
BUFFER_VOLUME = "30 gal"
SEPARATOR_KIND = "separator"
BUFFER_KIND = "buffer"
SORTS = {"separator": SEPARATOR_KIND, "close_tees": "", "buffer": BUFFER_KIND}
WORDS = {
    "separator": "a hydraulic separator",
    "close_tees": "closely spaced tees",
    "buffer": f"a buffer tank of {BUFFER_VOLUME}",
}

Solve = Callable[[Plant], Solution]


class Trunk(NamedTuple):
    """The pipes by which all source water goes out and comes back, and whether each side has a circulator."""

    supply: str
    back: str
    flow: float
    sources_pumped: bool
    loads_pumped: bool


def structures(near: Surroundings, solve: Solve) -> Iterator[Candidate | NotTried]:
    """Every change of structure that the water decides the place of; the others with the reason."""
    trunk = find_trunk(near)
    for change in SORTS:
        if near.sign < 0.0 or trunk is None:
            why = "no one pipe carries all of the sources' water out, and one back"
            yield NotTried(
                change, f"{WORDS[change]}: {why if near.sign > 0.0 else 'it brings more, not less'}"
            )
            continue
        found = _separating(near, change, trunk, solve)
        if found is not None:
            yield found
        else:
            yield NotTried(
                change, f"{WORDS[change]}: no circulator at hand carries the flow of the other side"
            )
    what = "where its water comes too warm" if near.sign > 0.0 else "place and pump are not in the drawing"
    yield NotTried("mixing_station", f"a mixing station: {what}")
    yield from _heaters(near)


def find_trunk(near: Surroundings) -> Trunk | None:
    """Where all that the sources send runs through one pipe out and one back; None where it does not."""
    sources = [
        item.id
        for item in near.with_trait(Trait.MAKES_HEAT)
        if near.solution.role(item.id, SourceFigures).running and abs(near.solution.flow(item.id)) > NO_FLOW
    ]
    if not sources:
        return None
    walks = [(_walk(near, key, True), _walk(near, key, False)) for key in sources]
    supply = next((pipe for pipe in walks[0][0][::-1] if all(pipe in out for out, _ in walks)), None)
    back = next((pipe for pipe in walks[0][1][::-1] if all(pipe in home for _, home in walks)), None)
    if supply is None or back is None or supply == back:
        return None
    inner = _between(near, supply, back)
    running = [item.id for item in near.plant.with_trait(Trait.DRIVES) if near.solution.running(item.id)]
    reach = set(near.stream.circuit(supply))
    outer = [key for key in running if key in reach and key not in inner]
    flow = abs(near.solution.flow(supply))
    return Trunk(supply, back, flow, any(key in inner for key in running), bool(outer))


def _walk(near: Surroundings, source: str, ahead: bool) -> list[str]:
    """Pipes from a source on (or back), until the water parts or comes to what uses heat."""
    stream, sign = near.stream, 1.0 if near.solution.flow(source) > 0.0 else -1.0
    port = "out" if (sign > 0.0) == ahead else "in"
    place, found, whole = PortRef(source, port), [], 0.0
    seen: set[PortRef] = set()
    while place not in seen:
        seen.add(place)
        onward = [way for way in near.graph.ways_at[place] if _leads(stream.flow[way], way, place, ahead)]
        onward = [way for way in onward if way.key != source]
        if len(onward) != 1:
            break
        way = onward[0]
        item = near.plant.items.get(way.key)
        if item is not None and item.has(
            Trait.GIVES_HEAT, Trait.EXCHANGES_HEAT, Trait.STORES_HEAT, Trait.PARTS_FLOWS, Trait.MIXES
        ):
            break
        if way.is_pipe:
            flow = abs(stream.flow[way])
            if flow < (1.0 - WHOLE) * whole:
                break
            whole = max(whole, flow)
            if not near.plant.pipes[way.key].joined:
                found.append(way.key)
        place = way.end if way.start == place else way.start
    return found


def _leads(flow: float, way: Way, place: PortRef, ahead: bool) -> bool:
    away = flow if way.start == place else -flow
    return away > NO_FLOW if ahead else away < -NO_FLOW


def _between(near: Surroundings, supply: str, back: str) -> set[str]:
    """Items between the return pipe and the supply pipe, on the sources' side."""
    stream = near.stream
    pipe = near.plant.pipes[back]
    start = pipe.end if near.solution.flow(back) > 0.0 else pipe.start

    def onward(place: PortRef) -> list[PortRef]:
        return [
            way.end if way.start == place else way.start
            for way in near.graph.ways_at[place]
            if way.key != supply and _leads(stream.flow[way], way, place, True)
        ]

    return {place.item for place in reached([start], onward)}


# separator, tees, buffer -----------------------------------------------------------------------------------


def _separating(near: Surroundings, change: str, trunk: Trunk, solve: Solve) -> Candidate | None:
    opens = cut_open(near.plant, [trunk.supply, trunk.back])
    where = f"{WORDS[change]} between {trunk.supply} and {trunk.back}"
    if trunk.sources_pumped and trunk.loads_pumped:
        make = partial(_separate, change, trunk, None, near.solution)
        return Candidate(change, trunk.supply, where, make, opens)
    pumps = sorted((p for p in at_hand(near.plant) if p.shut_off and p.run_out), key=lambda p: _size(p))
    for pump in pumps:
        make = partial(_separate, change, trunk, pump, near.solution)
        try:
            after = solve(apply(near.plant, make(near.plant)))
        except (WetsideError, KeyError, StopIteration):
            return None
        new = next((key for key in after.items if key not in near.plant.items and after.running(key)), "")
        if after.converged and new and abs(after.flow(new)) >= (1.0 - 0.01) * trunk.flow:
            side = "loads" if trunk.sources_pumped else "sources"
            text = f"{where}, and a circulator ({pump.title}) for the side of the {side}"
            return Candidate(change, trunk.supply, text, make, opens, POWER)
    return None


def _size(pump: Pump) -> float:
    watts = pump.watts
    return (
        float(watts) if watts is not None else float(pump.shut_off or 0.0) * float(pump.run_out or 0.0) * 1e4
    )


def _separate(change: str, trunk: Trunk, pump: Pump | None, solution: Solution, plant: Plant) -> list[Change]:
    draft = edits.Draft(plant)
    kind = SORTS[change]
    at = _middle(plant, trunk.supply)
    if kind:
        props: dict[str, Any] = {"volume": BUFFER_VOLUME} if kind == BUFFER_KIND else {}
        item = edits.new_item(plant, kind, (at[0], at[1] + BESIDE), props={**props, **_height(plant, trunk)})
        draft.do(AddItem(item))
        for pipe, ports in ((trunk.supply, ("a_in", "b_out")), (trunk.back, ("b_in", "a_out"))):
            refs = [PortRef(item.id, port) for port in ports]
            if solution.flow(pipe) < 0.0:
                refs.reverse()
            draft.do(*edits.put_between(draft.plant, pipe, refs[0], refs[1], 0.5))
        far = PortRef(item.id, "b_out"), PortRef(item.id, "a_out")
    else:
        joints = []
        for pipe in (trunk.supply, trunk.back):
            changes, joint = edits.split_pipe(draft.plant, pipe, _middle(draft.plant, pipe), 0.5)
            draft.do(*changes)
            joints.append(joint)
        refs = [PortRef(joint, "at") for joint in joints]
        after_supply, after_back = (_onward(draft.plant, ref, solution, plant) for ref in refs)
        draft.do(*edits.connect(draft.plant, refs[0], refs[1], length=SHORT_TUBE, fittings={}))
        if pump is not None:
            target = after_supply if trunk.sources_pumped else after_back
            _add_pump(draft, pump, target[0], target[1], solution, plant)
        return draft.changes
    if pump is not None:
        ref = far[0] if trunk.sources_pumped else far[1]
        name = draft.plant.pipes_at[ref][0]
        _add_pump(draft, pump, name, draft.plant.pipes[name].start == ref, solution, plant)
    return draft.changes


def _onward(draft: Plant, ref: PortRef, solution: Solution, plant: Plant) -> tuple[str, bool]:
    """The pipe by which water leaves a joint that parts an old pipe, and whether it runs as drawn."""
    for name in draft.pipes_at[ref]:
        pipe = draft.pipes[name]
        old = next(key for key in plant.pipes if key in solution.pipes and _same_line(draft, name, key, ref))
        forward = solution.flow(old) > 0.0
        if (pipe.start == ref) == forward:
            return name, forward
    raise KeyError(ref.item)


def _same_line(draft: Plant, name: str, key: str, ref: PortRef) -> bool:
    """Whether a pipe at a joint is a half of an old pipe."""
    return name == key or any(
        key == other and ref in (draft.pipes[other].start, draft.pipes[other].end)
        for other in draft.pipes_at[ref]
    )


def _add_pump(
    draft: edits.Draft, pump: Pump, pipe: str, forward: bool, solution: Solution, plant: Plant
) -> None:
    run: dict[str, Any] = {}
    for item in plant.with_trait(Trait.DRIVES):
        if solution.running(item.id):
            run = {key: item.props[key] for key in RUN if key in item.props}
            break
    before = set(draft.plant.items)
    draft.do(
        *edits.insert_in_line(
            draft.plant, CIRCULATOR, pipe, _middle(draft.plant, pipe), 0.5, props={**pump.props, **run}
        )
    )
    if not forward:
        name = next(key for key in draft.plant.items if key not in before)
        draft.do(*edits.turn_round(draft.plant, name))


def _middle(plant: Plant, pipe: str) -> tuple[float, float]:
    ends = [plant.items[ref.item].at for ref in (plant.pipes[pipe].start, plant.pipes[pipe].end)]
    return 0.5 * (ends[0][0] + ends[1][0]), 0.5 * (ends[0][1] + ends[1][1])


def _height(plant: Plant, trunk: Trunk) -> dict[str, str]:
    refs = [plant.pipes[key].start for key in (trunk.supply, trunk.back)]
    mean = sum(float(plant.items[ref.item].si.get("height") or 0.0) for ref in refs) / len(refs)
    return {"height": f"{mean:.4g} m"} if abs(mean) > 1e-6 else {}


# another heater --------------------------------------------------------------------------------------------


def _heaters(near: Surroundings) -> Iterator[Candidate | NotTried]:
    plant = near.plant
    for item in plant.with_trait(Trait.MAKES_HEAT):
        if item.id not in near.joined or near.sign < 0.0 or not near.solution.running(item.id):
            continue
        pipes = [plant.pipes_at.get(PortRef(item.id, port), ()) for port in ("in", "out")]
        if any(len(found) != 1 or plant.pipes[found[0]].joined for found in pipes):
            yield NotTried("heater", f"another beside {item.id}: no tube at both of its ends to tee into")
            continue
        text = f"another {KINDS[item.kind].title} like {item.id}, in parallel to it"
        opens = cut_open(plant, [found[0] for found in pipes])
        yield Candidate("heater", item.id, text, partial(_beside_heater, item.id), opens, GAS)


def _beside_heater(key: str, plant: Plant) -> list[Change]:
    draft = edits.Draft(plant)
    old = plant.items[key]
    new = Item(
        edits.fresh_id(plant, KINDS[old.kind].prefix),
        old.kind,
        (old.at[0], old.at[1] + BESIDE),
        turn=old.turn,
        flip=old.flip,
        props=dict(old.props),
    )
    draft.do(AddItem(new))
    for port in ("in", "out"):
        ref = PortRef(key, port)
        pipe = draft.plant.pipes[draft.plant.pipes_at[ref][0]]
        share = 0.1 if pipe.start == ref else 0.9
        changes, joint = edits.split_pipe(draft.plant, pipe.id, _middle(draft.plant, pipe.id), share)
        draft.do(*changes)
        stub = draft.plant.pipes[draft.plant.pipes_at[ref][0]]  # the new leg is piped like the old one
        ends = PortRef(joint, "at"), PortRef(new.id, port)
        start, end = ends if port == "in" else ends[::-1]
        draft.do(*edits.connect(draft.plant, start, end, tube=stub.tube, length=stub.length))
    return draft.changes
