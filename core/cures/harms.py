"""Whom a change harms in a solved case: who gets less than before, who gets too much, and new dangers."""

from __future__ import annotations

from collections.abc import Iterator

from core.controls.expressions import runs
from core.cures.beside import State
from core.figures import OutletFigures, RoomFigures
from core.plant.model import Case, Plant
from core.questions.shortness import shares_short, taps_colder
from core.questions.stops import stream_of
from core.solve import Solution
from core.vocabulary import Trait
from core.water.ways import water_graph

HARM = 0.01  # share of its need by which another may not become shorter
TOO_WARM = 1.0  # [K] over what is set or wanted from which on a tap or room counts as too warm
FELT = 0.5  # [K] by which it must have become warmer


def harmed(one: State, other: State, case: Case, at: str) -> Iterator[str]:
    """Sentences on whom the other state harms, `at` left out; the same case in both."""
    (plant, before), (changed, after) = one, other
    then, now = (shares_short(p, case, s) for p, s in (one, other))
    idle = stopped(plant, changed, before, after)
    graph = water_graph(plant)
    for key, was in then.items():
        if key == at:
            continue
        if key not in now and idle & set(stream_of(graph, before).circuit(key)):
            yield f"{key} gets nothing in {case.name}"
        elif now.get(key, 0.0) > was + HARM:
            yield f"{key} is short by {now[key]:.0%} instead of {was:.0%} in {case.name}"
    for key, share in taps_colder(plant, before, after).items():
        if share > HARM and key != at:
            yield f"{key} is colder in {case.name}"
    yield from _warmer(one, other, case, at)
    known = {note.at for note in before.dangers}
    for note in after.dangers:
        if note.at not in known and note.at in plant.items:
            yield f"{note.at}: {note.text}"


def _warmer(one: State, other: State, case: Case, at: str) -> Iterator[str]:
    (plant, before), (_, after) = one, other
    for key, was in before.of(RoomFigures).items():
        now = after.at(key, RoomFigures)
        if now is not None and now.temperature_c > max(was.temperature_c + FELT, was.wanted_c + TOO_WARM):
            yield f"{key} gets too warm in {case.name}"
    for key, tap in before.of(OutletFigures).items():
        then = after.at(key, OutletFigures)
        set_at = plant.items[key].si.get("set_temperature")
        if then is None or set_at is None or key == at:
            continue
        if then.temperature_c > max(tap.temperature_c + FELT, float(set_at) - 273.15 + TOO_WARM):
            yield f"{key} gets hotter than set in {case.name}: it may scald"


def stopped(one: Plant, other: Plant, before: Solution, after: Solution) -> set[str]:
    """Circulators and zone valves that signals let run in one plant, and no longer in the other."""
    return {
        item.id
        for item in one.with_trait(Trait.DRIVES, Trait.OPENS_BY_SIGNAL)
        if item.id in other.items
        and runs(item.si, before.signals)
        and not runs(other.items[item.id].si, after.signals)
    }
