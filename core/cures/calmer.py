"""Candidates where water is too fast, or a source or stat starts too often.

Fast water wants larger tube or less flow. A source that starts too often wants more water about it, a lower
least output or a wider band; a stat that its own water makes switch, a band wider than that water changes.
Nothing here touches a store, drinking water, a stop or a relief valve.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import partial

from core import units
from core.cures.candidate import Candidate, NotTried, Surroundings, cut_open, ends_open
from core.cures.inline import limiters
from core.cures.judged import RUN, pipes_over, shortest_wanted, stored
from core.cures.mixing import CHANGE as STATION
from core.cures.placing import height_between, middle
from core.cures.settings import GAS, NEXT_SIZES, drinking, next_sizes, prop_changes, pumps, tubes, valves
from core.cures.structures import BUFFER_KIND, NO_TRUNK, SORTS, find_trunk
from core.media.tubes import spoken
from core.plant import edits
from core.plant.changes import AddItem, Change
from core.plant.model import Plant, PortRef
from core.sizing.families.buffer import SIZES
from core.vocabulary import Trait

WIDEST = 15.0  # [K] of a differential; common practice, no source
SIZES_TRIED = 3
ANOTHER = 1e3  # another source is a greater step than a buffer
WIDER = (1.5, 2.0, 3.0)
LOWER = (0.75, 0.5, 0.25)  # shares of a least output
NO_SLOWER = "they part or mix waters; its own water runs as fast"
NO_LONGER = "it does not make a source run longer at a time"


def slower(near: Surroundings) -> Iterator[Candidate | NotTried]:
    """Larger tube for all its pipes over their limit, less speed, less flow by a valve of its own."""
    plant = near.plant
    over = [key for key, speed, limit in pipes_over(plant, near.solution, near.at) if speed > limit]
    larger = {key: next_sizes(plant.pipes[key].tube) for key in over}
    for key in (key for key, found in larger.items() if not found):
        yield NotTried("tube", f"{key} larger: its tube is typed by bore, or there is no larger one")
    for step in range(NEXT_SIZES if all(larger.values()) else 0):
        each = {key: found[min(step, len(found) - 1)] for key, found in larger.items()}
        text = ", ".join(f"{key} in {spoken(t['material'], t['size'])}" for key, t in each.items())
        opens = sum(ends_open(plant, key) for key in over)
        yield Candidate("tube", over[0], text, partial(_set_tubes, each), opens, step=step)
    yield from pumps(near)
    yield from valves(near)
    yield from limiters(near)
    for change in (*SORTS, STATION):
        yield NotTried(change, NO_SLOWER)


def _set_tubes(tubes: dict[str, dict[str, str]], plant: Plant) -> list[Change]:
    return [change for key, tube in tubes.items() for change in edits.set_pipe(plant, key, tube=tube)]


def longer(near: Surroundings) -> Iterator[Candidate | NotTried]:
    """What lets a source run longer at a time, or a stat switch less often."""
    if near.what == RUN:
        found = stored(near.plant, near.solution, near.case, near.at)
        assert found is not None
        lacks = shortest_wanted(near.plant) / found.per_volume - found.held
        yield from _lower_output(near, found.source)
        yield from _wider(near, found.band_at or found.source)
        yield from _more_water(near, found.source, lacks)
    else:
        yield from _wider(near, near.where)
        yield from tubes(near)
        yield from pumps(near)
    for change in (key for key in (*SORTS, STATION) if key != BUFFER_KIND):
        yield NotTried(change, NO_LONGER)


def _lower_output(near: Surroundings, source: str) -> Iterator[Candidate | NotTried]:
    item = near.plant.items[source]
    least = item.si.get("min_output")
    if not least:
        yield NotTried("capacity", f"{source} that goes lower: its least output is that of its table")
        return
    for share in LOWER:
        shown = units.show(share * float(least), "power", near.plant.units)
        make = prop_changes(source, {"min_output": f"{share * float(least):.6g} W"})
        text = f"{source} of a kind that goes down to {shown}"
        yield Candidate("capacity", source, text, make, ends_open(near.plant, source), GAS, ANOTHER - share)


def _wider(near: Surroundings, at: str) -> Iterator[Candidate | NotTried]:
    """A wider differential of a source or stat over the water of a closed system."""
    plant, item = near.plant, near.plant.items[at]
    sensed = str((item.si.get("senses") or [""])[0])
    if "differential" not in item.kind_info.properties:
        yield NotTried("difference", f"{at} has no differential")
        return
    if _held_hot(plant, sensed or at):
        yield NotTried("difference", f"{at} wider: it holds drinking water, or a store")
        return
    now = float(item.si.get("differential") or 0.0)
    lacks = near.lacks
    steps = [now * times for times in WIDER] if not lacks else [math.ceil(2.0 * (now + lacks)) / 2.0]
    steps = [step for step in (steps if now or lacks else (5.0, 10.0)) if now < step <= WIDEST]
    if not steps:
        yield NotTried("difference", f"{at}: a differential over {WIDEST:g} K leaves its water too cool")
    for step in steps:
        unit, per = ("K", 1.0) if plant.units == "si" else ("delta_degF", 1.8)
        shown = units.show(step, "temperature_difference", plant.units)
        make = prop_changes(at, {"differential": f"{step * per:.4g} {unit}"})
        yield Candidate("difference", at, f"{at} with a differential of {shown}", make, step=step)


def _held_hot(plant: Plant, at: str) -> bool:
    """Whether a place holds drinking water, or is a store that could."""
    item, pipe = plant.items.get(at), plant.pipes.get(at)
    if pipe is not None:
        return plant.systems[pipe.system].use == "potable"
    return (item is not None and item.has(Trait.TANK, Trait.HAS_COIL)) or drinking(plant, at)


def _more_water(near: Surroundings, source: str, lacks: float) -> Iterator[Candidate | NotTried]:
    """A buffer in the sources' return, or the one that is there made larger: round sizes that suffice."""
    plant = near.plant
    rounds = [(text, units.parse(text, "volume")) for text in SIZES["si" if plant.units == "si" else "us"]]
    for item in plant.with_trait(Trait.BUFFER):
        now = float(item.si.get("volume") or 0.0)
        if item.id in near.joined and not _held_hot(plant, item.id):
            for text, volume in [one for one in rounds if one[1] >= now + lacks][:SIZES_TRIED]:
                make = prop_changes(item.id, {"volume": text})
                words = f"{item.id} of {text} instead of {units.show(now, 'volume', plant.units)}"
                yield Candidate("buffer", item.id, words, make, ends_open(plant, item.id), step=volume)
            return
    trunk = find_trunk(near)
    inlet = plant.pipes_at.get(PortRef(source, "in"), ())
    pipe = trunk.back if trunk is not None else inlet[0] if len(inlet) == 1 else ""
    if not pipe or plant.pipes[pipe].joined:
        yield NotTried("buffer", f"a buffer: {NO_TRUNK}")
        return
    for text, volume in [one for one in rounds if one[1] >= lacks][:SIZES_TRIED]:
        make = partial(_put_buffer, pipe, near.solution.flow(pipe) > 0.0, text)
        words = f"a buffer tank of {text} in {pipe}"
        yield Candidate("buffer", pipe, words, make, cut_open(plant, [pipe]), step=volume)


def _put_buffer(pipe: str, forward: bool, volume: str, plant: Plant) -> list[Change]:
    draft, at = edits.Draft(plant), middle(plant, pipe)
    item = edits.new_item(plant, BUFFER_KIND, at, props={"volume": volume, **height_between(plant, pipe)})
    draft.do(AddItem(item))
    ends = PortRef(item.id, "a_in"), PortRef(item.id, "b_out")
    draft.do(*edits.put_between(draft.plant, pipe, *(ends if forward else ends[::-1]), 0.5))
    return draft.changes
