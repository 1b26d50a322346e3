"""Sentences for what a circuit loses to a call, and the places a cause is found at."""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import partial

from core import units
from core.figures import OutletFigures, PumpFigures, SourceFigures
from core.plant.model import Plant
from core.questions.counterfactual import SHARED_HEAD, SOURCE_LIMIT, THROUGH, State
from core.questions.intake import NO_FLOW, Got
from core.questions.stops import stream_of
from core.solve import Solution
from core.vocabulary import Trait
from core.water.ways import WaterGraph

MORE = 0.005  # share by which a pipe carries more with the call on to count as shared
MOST_PASSING = 2  # stopped circulators taken as causes of one loss
FULL = 0.999  # share of its capacity from which on a source counts as at its limit
MOST_NAMED = 6
COOLING = (Trait.EXCHANGES_HEAT, Trait.STORES_HEAT, Trait.PARTS_FLOWS, Trait.MIXES)


def sentence(
    plant: Plant, case: str, at: str, call: str, lost: Got, causes: Sequence[str], mark: str = ""
) -> str:
    """What one loses to a call, and by which ways; `mark` before a loss that rests on a guess."""
    show = partial(units.show, system=plant.units)
    if abs(lost.heat) < 0.5:
        return f"{at} loses nothing to {call} in {case}."
    verb = "loses" if lost.heat > 0.0 else "gains"
    when = _when(plant, call)
    text = f"{at} {verb} {mark}{show(abs(lost.heat), 'power')} {when} in {case}"
    return f"{text}: {'; '.join(causes)}." if causes else f"{text}."


def _when(plant: Plant, call: str) -> str:
    item = plant.items[call]
    if item.has(Trait.DRIVES):
        return f"by what passes through {call}, which is off,"
    return f"while {call} calls"


def through(plant: Plant, solution: Solution, pump: str) -> str:
    """That water passes a circulator that is off."""
    flow = units.show(abs(solution.flow(pump)), "flow", plant.units)
    return f"{flow} pass through {pump}, which is off"


def rest(plant: Plant, left: float) -> str:
    """That a part of a loss has none of the causes looked for."""
    return f"{units.show(left, 'power', plant.units)} come by none of these ways"


def warmer(plant: Plant, room: str, by: float) -> str:
    """That a room is warmer with a call on, so that less heat is given to it."""
    shown = units.show(by, "temperature_difference", plant.units)
    return f"{room} is {shown} warmer than without, as it is heated for longer, and takes less"


def stopped(ids: Sequence[str], call: str) -> str:
    """That what moves the water is told to stop."""
    return f"{named(ids)} {'stands' if len(ids) == 1 else 'stand'} still while {call} calls"


def named(ids: Sequence[str]) -> str:
    """Ids in a sentence, the middle of very many left out."""
    if len(ids) > MOST_NAMED:
        return f"{', '.join(ids[: MOST_NAMED - 1])} and {len(ids) - MOST_NAMED + 1} more"
    return " and ".join([", ".join(ids[:-1]), ids[-1]] if len(ids) > 1 else ids)


class Told:
    """Where the causes of one loss are found, and how they are said.

    Parameters
    ----------
    plant, graph
    on, off : Solution
        With the call on and off
    at : str
        The circuit, tank or tap
    """

    def __init__(self, plant: Plant, graph: WaterGraph, on: Solution, off: Solution, at: str) -> None:
        self.plant, self.graph, self.on, self.off, self.at = plant, graph, on, off, at
        self.show = partial(units.show, system=plant.units)
        self.way = stream_of(graph, off).circuit(at)

    @property
    def is_tap(self) -> bool:
        """Whether what is drawn, not a pump, makes its flow."""
        return isinstance(self.on.items.get(self.at), OutletFigures)

    @property
    def limited(self) -> tuple[str, ...]:
        """Sources that run at their limit with the call on or off, those with it on first."""
        found = [key for solution in (self.on, self.off) for key in self._limited(solution)]
        return tuple(dict.fromkeys(found))

    def driven_harder(self, unlimited: Solution) -> tuple[str, ...]:
        """Sources that would give more than with the call on if none had a limit."""
        return tuple(
            key
            for key, f in self.on.of(SourceFigures).items()
            if unlimited.role(key, SourceFigures).duty_w > f.duty_w + (1.0 - FULL) * max(f.duty_w, 1.0)
        )

    def _limited(self, solution: Solution) -> list[str]:
        found = []
        for key, f in solution.of(SourceFigures).items():
            capacity = float(self.plant.items[key].si.get("capacity") or math.inf)
            full = f.duty_w >= FULL * capacity
            if f.running and (full or f.short_w > (1.0 - FULL) * max(f.duty_w, 1.0)):
                found.append(key)
        return found

    @property
    def passing(self) -> tuple[str, ...]:
        """Stopped circulators through which water passes with the call on much more than with it off."""
        found = [
            (abs(f.flow_m3_s), key)
            for key, f in self.on.of(PumpFigures).items()
            if not f.running
            and abs(f.flow_m3_s) > NO_FLOW
            and abs(f.flow_m3_s) > 2.0 * self._stopped_flow(key)
        ]
        return tuple(key for _, key in sorted(found, reverse=True)[:MOST_PASSING])

    def _stopped_flow(self, key: str) -> float:
        f = self.off.role(key, PumpFigures)
        return 0.0 if f.running else abs(f.flow_m3_s)

    def of(
        self, kind: str, pump: str, on: State, off: State, limited: tuple[str, ...]
    ) -> tuple[tuple[str, ...], str]:
        """Ids and words of a cause that is averaged; `limited` are the sources at their limit."""
        if kind == SHARED_HEAD:
            return self._head(on, off)
        if kind == SOURCE_LIMIT:
            return limited, self._limit(limited)
        if kind == THROUGH:
            return (pump,), through(self.plant, self.on, pump)
        return self._colder(on, off)

    # shared head -------------------------------------------------------------------------------------------

    def shared_pipes(self) -> list[str]:
        """Pipes on the circuit's way that carry more with the call on."""
        way = set(self.way)
        return [
            key
            for key in self.plant.pipes
            if key in way
            and key in self.on.pipes
            and abs(self.on.flow(key)) > (1.0 + MORE) * abs(self.off.flow(key)) + NO_FLOW
        ]

    def _head(self, on: State, off: State) -> tuple[tuple[str, ...], str]:
        way = self.way
        heads = {
            key: (self.off.role(key, PumpFigures).head_m, f.head_m)
            for key, f in self.on.of(PumpFigures).items()
            if key in way and f.running and self.off.role(key, PumpFigures).running
        }
        pipes = self.shared_pipes()
        flows = self.show(off.got.flow, "flow"), self.show(on.got.flow, "flow")
        parts = [f"its flow goes from {flows[0]} to {flows[1]}"]
        fallen = {k: v for k, v in heads.items() if abs(v[0] - v[1]) > 0.01 * max(abs(v[0]), 1e-6)}
        for key, (before, after) in list(fallen.items())[:2]:
            goes = "falls" if after < before else "rises"
            shown = self.show(before, "head"), self.show(after, "head")
            parts.append(f"the head of {key} {goes} from {shown[0]} to {shown[1]}")
        if pipes:
            parts[-1] += f" in {named(pipes)}, which both use" if fallen else f"; both use {named(pipes)}"
        return (*fallen, *pipes), ", ".join(parts)

    # sources and supply ------------------------------------------------------------------------------------

    def _limit(self, limited: tuple[str, ...]) -> str:
        words = []
        for key in limited[:2]:
            f = self.on.role(key, SourceFigures)
            leaves = self.show(f.temperature_c + 273.15, "temperature")
            words.append(f"{key} gives all it can, {self.show(f.duty_w, 'power')}, {leaves} leaving")
        return " and ".join(words)

    def _colder(self, on: State, off: State) -> tuple[tuple[str, ...], str]:
        fall = (on.fall or 0.0) - (off.fall or 0.0)
        between = self.between()
        by = self.show(abs(fall), "temperature_difference")
        how = "colder" if fall > 0.0 else "warmer"
        arrives = self.show((on.arrives or 0.0) + 273.15, "temperature")
        past = f" past {named(between)}" if between else ""
        return between, f"its water comes {by} {how} against its source{past}, at {arrives}"

    def between(self) -> tuple[str, ...]:
        """What lies between sources and the circuit's inlet and lets its water be colder: exchangers, tanks,
        separators and mixing valves on the way up, else other circuits; the nearest first."""
        return self._between(self.on) or self._between(self.off)

    def _between(self, solution: Solution) -> tuple[str, ...]:
        stream = stream_of(self.graph, solution)
        found: dict[str, None] = {}

        def heats_anew(key: str) -> bool:
            return solution.at(key, SourceFigures) is not None

        for start in self.graph.places_of.get(self.at, ()):
            for place in stream.upstream_until(start, heats_anew):
                if place.item in self.plant.items and place.item != self.at:
                    found[place.item] = None
        for traits in (COOLING, (Trait.GIVES_HEAT,)):
            some = [key for key in found if self.plant.items[key].has(*traits)]
            if some:
                return tuple(some[:2])
        return ()

    # stops -------------------------------------------------------------------------------------------------

    def check(self, at: tuple[str, ...]) -> str:
        """That a check valve is held shut."""
        by = f" by the pressure of {named(at[1:])}" if len(at) > 1 else ""
        return f"{at[0]} is held shut{by}, so no water comes"

    def valve(self, at: tuple[str, ...]) -> str:
        """That a mixing valve is at its end."""
        item = self.plant.items[at[0]]
        set_at = item.si.get("set_temperature") or item.si.get("target")
        found = float(self.on.value(at[0], "temperature_c") or 0.0)
        shown = self.show(found + 273.15, "temperature"), self.show(float(set_at or 0.0), "temperature")
        words = f"{at[0]} is at its end: {shown[0]} leave it, {shown[1]} is set"
        return f"{words}, as the water from {named(at[1:])} is too cold" if len(at) > 1 else words
