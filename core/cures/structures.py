"""Candidates that change how waters meet: separator, closely spaced tees, buffer, another heater.

They are tried only where the water itself decides the place: where all that the sources send runs through one
pipe on the way out and through one on the way back. Otherwise they are named as not tried.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import partial
from typing import Any, NamedTuple

from core.cures.candidate import Candidate, NotTried, Surroundings, cut_open
from core.cures.placing import ENOUGH, Solve, add_pump, height_between, leads, least_pump, middle, run_like
from core.cures.settings import GAS, POWER
from core.figures import SourceFigures
from core.plant import edits
from core.plant.changes import AddItem, Change
from core.plant.model import Item, Plant, PortRef
from core.questions.intake import NO_FLOW
from core.sizing.second_circulator.available import Pump
from core.solve import Solution
from core.vocabulary import KINDS, Trait
from core.water.numbers import reached

WHOLE = 0.005  # share within which a pipe carries all that the sources send
ANOTHER = 3.0  # a second source is a greater step than one that is bigger
NEAR_LOADS = 0.95  # share of the length of the sources' pipes that is left to them
BESIDE = 80.0  # on the board
SHORT_TUBE = "4 in"
SEPARATOR_KIND = "separator"
BUFFER_KIND = "buffer"
SORTS = {"close_tees": "", "separator": SEPARATOR_KIND, "buffer": BUFFER_KIND}  # the least first
BUFFER_VOLUME = {"us": "30 gal", "si": "100 L"}
WORDS = {
    "separator": "a hydraulic separator",
    "close_tees": "closely spaced tees",
    "buffer": "a buffer tank of {volume}",
}
NO_TRUNK = "no one pipe carries all of the sources' water out, and one back"
NO_PUMP = "no circulator at hand carries the flow of the other side"


class Trunk(NamedTuple):
    """The pipes by which all source water goes out and comes back, the end of the first towards the loads,
    what flows there, and whether each side has a circulator."""

    supply: str
    back: str
    header: PortRef
    flow: float
    sources_pumped: bool
    loads_pumped: bool


def structures(near: Surroundings, solve: Solve) -> Iterator[Candidate | NotTried]:
    """Every change of structure that the water decides the place of; the others with the reason."""
    trunk = find_trunk(near)
    for change in SORTS:
        if near.sign > 0.0:
            yield _separating(near, change, trunk, solve)
        else:
            yield NotTried(change, f"{_words(near, change)}: it brings more, not less")
    yield from _heaters(near)


def usual_buffer(plant: Plant) -> str:
    """Volume of a buffer that parts waters."""
    return BUFFER_VOLUME["si" if plant.units == "si" else "us"]


def _words(near: Surroundings, change: str) -> str:
    return WORDS[change].format(volume=usual_buffer(near.plant))


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
    flow, pipe = near.solution.flow(supply), near.plant.pipes[supply]
    header = pipe.end if flow > 0.0 else pipe.start
    return Trunk(supply, back, header, abs(flow), any(key in inner for key in running), bool(outer))


def _walk(near: Surroundings, source: str, ahead: bool) -> list[str]:
    """Pipes from a source on (or back), until the water parts or comes to what uses heat."""
    stream, sign = near.stream, 1.0 if near.solution.flow(source) > 0.0 else -1.0
    port = "out" if (sign > 0.0) == ahead else "in"
    place, found, whole = PortRef(source, port), [], 0.0
    seen: set[PortRef] = set()
    while place not in seen:
        seen.add(place)
        onward = [way for way in near.graph.ways_at[place] if leads(stream.flow[way], way, place, ahead)]
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


def _between(near: Surroundings, supply: str, back: str) -> set[str]:
    """Items between the return pipe and the supply pipe, on the sources' side."""
    stream = near.stream
    pipe = near.plant.pipes[back]
    start = pipe.end if near.solution.flow(back) > 0.0 else pipe.start

    def onward(place: PortRef) -> list[PortRef]:
        return [
            way.end if way.start == place else way.start
            for way in near.graph.ways_at[place]
            if way.key != supply and leads(stream.flow[way], way, place, True)
        ]

    return {place.item for place in reached([start], onward)}


# separator, tees, buffer -----------------------------------------------------------------------------------


def _separating(near: Surroundings, change: str, trunk: Trunk | None, solve: Solve) -> Candidate | NotTried:
    words = _words(near, change)
    if trunk is None:
        return NotTried(change, f"{words}: {NO_TRUNK}")
    opens, step = cut_open(near.plant, [trunk.supply, trunk.back]), float(list(SORTS).index(change))
    where = f"{words} between {trunk.supply} and {trunk.back}"
    if trunk.sources_pumped and trunk.loads_pumped:
        make = partial(_separate, change, trunk, None, solution=near.solution, way=near.way)
        return Candidate(change, trunk.supply, where, make, opens, step=step)
    make = partial(_separate, change, trunk, solution=near.solution, way=near.way)
    beyond = partial(_loads_flow, near.plant, trunk) if trunk.loads_pumped else _nothing
    pump = least_pump(near.plant, make, solve, ENOUGH * trunk.flow, beyond)
    if pump is None:
        return NotTried(change, f"{words}: {NO_PUMP}")
    side = "loads" if trunk.sources_pumped else "sources"
    text = f"{where}, and a circulator ({pump.title}) for the side of the {side}"
    return Candidate(change, trunk.supply, text, partial(make, pump), opens, POWER, step)


def _nothing(plant: Plant, solution: Solution) -> float:
    """Of loads without a circulator: they get what they had."""
    return 0.0


def _loads_flow(before: Plant, trunk: Trunk, plant: Plant, solution: Solution) -> float:
    """What flows to the loads once waters are parted, [m^3/s]."""
    near = (key for key in plant.pipes_at[trunk.header] if key == trunk.supply or key not in before.pipes)
    return abs(solution.flow(next(near)))


def _separate(
    change: str,
    trunk: Trunk,
    pump: Pump | None,
    plant: Plant,
    *,
    solution: Solution,
    way: Sequence[str],
) -> list[Change]:
    draft = edits.Draft(plant)
    kind = SORTS[change]
    at = middle(plant, trunk.supply)
    if kind:
        props: dict[str, Any] = {"volume": usual_buffer(plant)} if kind == BUFFER_KIND else {}
        item = edits.new_item(
            plant,
            kind,
            (at[0], at[1] + BESIDE),
            props={**props, **height_between(plant, trunk.supply, trunk.back)},
        )
        draft.do(AddItem(item))
        for pipe, ports in ((trunk.supply, ("a_in", "b_out")), (trunk.back, ("b_in", "a_out"))):
            refs = [PortRef(item.id, port) for port in ports]
            if solution.flow(pipe) < 0.0:
                refs.reverse()
            draft.do(*edits.put_between(draft.plant, pipe, refs[0], refs[1], _share(solution, trunk, pipe)))
        far = PortRef(item.id, "b_out"), PortRef(item.id, "a_out")
    else:
        joints = []
        for pipe in (trunk.supply, trunk.back):
            changes, joint = edits.split_pipe(
                draft.plant, pipe, middle(draft.plant, pipe), _share(solution, trunk, pipe)
            )
            draft.do(*changes)
            joints.append(joint)
        refs = [PortRef(joint, "at") for joint in joints]
        after_supply, after_back = (_onward(draft.plant, ref, solution, plant) for ref in refs)
        draft.do(*edits.connect(draft.plant, refs[0], refs[1], length=SHORT_TUBE, fittings={}))
        if pump is not None:
            target = after_supply if trunk.sources_pumped else after_back
            add_pump(draft, pump, target[0], target[1], run_like(plant, solution, way))
        return draft.changes
    if pump is not None:
        ref = far[0] if trunk.sources_pumped else far[1]
        name = draft.plant.pipes_at[ref][0]
        forward = draft.plant.pipes[name].start == ref
        add_pump(draft, pump, name, forward, run_like(plant, solution, way))
    return draft.changes


def _share(solution: Solution, trunk: Trunk, pipe: str) -> float:
    """Where in a pipe waters are parted: near the loads, so that they share nothing of the sources' way."""
    forward = solution.flow(pipe) > 0.0
    return NEAR_LOADS if forward == (pipe == trunk.supply) else 1.0 - NEAR_LOADS


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
        yield Candidate("heater", item.id, text, partial(_beside_heater, item.id), opens, GAS, ANOTHER)


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
        changes, joint = edits.split_pipe(draft.plant, pipe.id, middle(draft.plant, pipe.id), share)
        draft.do(*changes)
        stub = draft.plant.pipes[draft.plant.pipes_at[ref][0]]  # the new leg is piped like the old one
        ends = PortRef(joint, "at"), PortRef(new.id, port)
        start, end = ends if port == "in" else ends[::-1]
        draft.do(*edits.connect(draft.plant, start, end, tube=stub.tube, length=stub.length))
    return draft.changes
