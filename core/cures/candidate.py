"""One change that might be a cure, and what of the plant concerns the circuit or tap that is to be cured."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

from core.figures import ExchangerFigures, OutletFigures
from core.plant.changes import Change
from core.plant.model import Case, Item, Plant, PortRef
from core.questions.heat_way import heat_way
from core.questions.intake import NO_FLOW
from core.questions.stops import stream_of
from core.solve import Solution
from core.vocabulary import Trait
from core.water.numbers import reached
from core.water.ways import WaterGraph, water_graph

LESS = (0.75, 0.5, 0.25)  # shares of a speed or flow
CLOSED = ("existing", "joined", "tested")  # stages in which a joint is made for good

Make = Callable[[Plant], list[Change]]
"""The changes that put a candidate into a plant; refused, or a KeyError, where it no longer fits."""


@dataclass(frozen=True)
class Candidate:
    """A change that might be a cure.

    `change` is one of the contract's words, `at` the id it concerns, `text` what is done; `opens` counts the
    made joints that must be opened; `trade` is who must do it where that is not the owner. `step` orders the
    steps of one change at one id: where the greatest brings nothing, the lesser ones are not tried.
    """

    change: str
    at: str
    text: str
    make: Make
    opens: int = 0
    trade: str = ""
    step: float = 0.0

    @property
    def family(self) -> tuple[str, str]:
        """What its steps have in common."""
        return self.change, self.at


class NotTried(NamedTuple):
    """A sort of change that was not tried, and why."""

    change: str
    text: str

    def as_data(self) -> dict[str, str]:
        """Plain data for --json."""
        return self._asdict()


class Surroundings:
    """What of the plant concerns one circuit or tap, in the case in which it fares worst.

    Attributes
    ----------
    way : list of str
        Items and pipes on the ways round through it, and through what heats that water
    what, where : str
        The figure to be mended, and the pipe, source or stat it is of; `sign` is 1 where more of it is wanted
    less : tuple of float
        Shares of a speed or flow that are tried where less is wanted
    """

    def __init__(
        self,
        plant: Plant,
        at: str,
        case: Case,
        solution: Solution,
        sign: float,
        what: str = "",
        where: str = "",
    ) -> None:
        self.plant, self.at, self.case, self.solution, self.sign = plant, at, case, solution, sign
        self.what, self.where = what, where
        self.less: tuple[float, ...] = LESS
        self.lacks = 0.0  # [K] of a differential
        self.graph: WaterGraph = water_graph(plant)
        self.stream = stream_of(self.graph, solution)

    @cached_property
    def way(self) -> list[str]:
        """What brings it its heat, in the order of the file."""
        at = self.where if self.where in self.plant.items else self.at  # a source, for its starts
        if at in self.plant.pipes:
            return self.stream.circuit(at)
        found = heat_way(self.plant, self.stream, at)
        return [*found, at] if self.plant.items[at].has(Trait.MAKES_HEAT) else found

    @cached_property
    def items(self) -> list[Item]:
        """Items of the way."""
        return [self.plant.items[key] for key in self.way if key in self.plant.items]

    @cached_property
    def pipes(self) -> list[str]:
        """Pipes of the way with flow and a tube, those that lose most first."""
        found = [
            key
            for key in self.way
            if key in self.plant.pipes
            and not self.plant.pipes[key].joined
            and abs(self.solution.flow(key)) > NO_FLOW
        ]
        return sorted(found, key=lambda key: -abs(self.solution.pipes[key].drop_pa))

    def with_trait(self, *traits: Trait) -> list[Item]:
        """Items of the way with any of some traits."""
        return [item for item in self.items if item.has(*traits)]

    @cached_property
    def joined(self) -> set[str]:
        """Items whose water, or heat through a wall, can come to it, in whatever state of the valves."""

        def onward(place: PortRef) -> list[PortRef]:
            there = [
                way.end if way.start == place else way.start
                for way in self.graph.ways_at[place]
                if not way.parts
            ]
            walls = [
                w.other if w.one == place else w.one for w in self.graph.walls if place in (w.one, w.other)
            ]
            return there + walls

        starts = self.graph.places_of.get(self.at) or self.ends_of(self.where or self.at)
        return {place.item for place in reached(starts, onward)}

    def ends_of(self, key: str) -> tuple[PortRef, ...]:
        """Where a pipe ends, or an item has water."""
        pipe = self.plant.pipes.get(key)
        return tuple(self.graph.places_of.get(key, ())) if pipe is None else (pipe.start, pipe.end)

    @property
    def is_tap(self) -> bool:
        """Whether it is a tap, judged by its temperature."""
        return isinstance(self.solution.items.get(self.at), OutletFigures)

    def passes_heat(self, key: str) -> bool:
        """Whether an exchanger passes heat in this case."""
        figures = self.solution.at(key, ExchangerFigures)
        return figures is not None and figures.duty_w > 1.0


def ends_open(plant: Plant, key: str) -> int:
    """Made joints that must be opened to take an item or pipe out: its pipe ends of a stage that is made."""
    if key in plant.pipes:
        return 2 if plant.pipes[key].stage in CLOSED else 0
    made = [p for p in plant.pipes.values() if key in (p.start.item, p.end.item) and p.stage in CLOSED]
    return len(made) if plant.items[key].stage in CLOSED else 0


def cut_open(plant: Plant, pipes: Iterable[str]) -> int:
    """Cuts in pipes that are made, two ends each."""
    return sum(2 for key in pipes if plant.pipes[key].stage in CLOSED)
