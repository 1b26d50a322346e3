"""What rules read: the plant, its water, and its solved cases; each question answered once."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence, Set
from dataclasses import replace
from functools import cached_property
from typing import TYPE_CHECKING, Any, TypeVar

from core import units
from core.controls.signals import Signals
from core.controls.wiring import Wiring
from core.hydraulics.elements import port_height
from core.media.fluids import Fluid, fluid_of
from core.plant.model import Item, Pipe, Plant, PortRef
from core.solve.solution import Solution
from core.vocabulary import UNKNOWN, Trait
from core.water.arrows import Arrows
from core.water.close_tees import TeePair, tee_pairs
from core.water.connections import Meeting, bodies, driven, joined_systems, reach
from core.water.no_flow import NO_FLOW
from core.water.protection import Protection, protection, water_of
from core.water.pushes import pushes
from core.water.runs import Run, Runs
from core.water.stream import Stream
from core.water.ways import WaterGraph, in_one_body, water_graph

if TYPE_CHECKING:
    from core.sizing.context import Context

T = TypeVar("T")
OF_THE_DRAWING = (
    *("graph", "bodies", "body_at", "guessed", "runs", "driven", "arrows", "pushes", "tee_pairs"),
    *("meetings", "signals", "wiring", "limits", "_systems"),
)
"""What a study reads that no solved case changes."""


class Study(units.Shown):
    """A plant and those of its cases that are solved.

    Parameters
    ----------
    plant : Plant
    solutions : sequence of Solution
        Solved cases, in the order of the file; not all need be there
    """

    def __init__(self, plant: Plant, solutions: Sequence[Solution] = ()) -> None:
        self.plant = plant
        self.all_solutions = tuple(solutions)
        self.solutions = tuple(
            one for one in solutions if one.converged
        )  # no advice from an answer that is none
        super().__init__(plant.units)
        self._kept: dict[str, Any] = {}
        self._systems: dict[frozenset[PortRef], list[str]] = {}

    def with_solutions(self, solutions: Sequence[Solution]) -> Study:
        """The same plant with other solved cases; what was read of the drawing is kept."""
        other = Study(self.plant, solutions)
        for name in OF_THE_DRAWING:
            if name in self.__dict__:
                other.__dict__[name] = self.__dict__[name]
        return other

    def once(self, key: str, make: Callable[[], T]) -> T:
        """What `make` gives, made the first time only."""
        if key not in self._kept:
            self._kept[key] = make()
        found: T = self._kept[key]
        return found

    def celsius(self, value: float) -> str:
        """A temperature given in [degC], as shown."""
        return self.warm(value + 273.15)

    # what is drawn ----------------------------------------------------------------------------------------

    @cached_property
    def graph(self) -> WaterGraph:
        """The water of all that stays."""
        return water_graph(self.plant)

    @cached_property
    def bodies(self) -> list[frozenset[PortRef]]:
        """Bodies of water: parted by exchangers, coils, fill valves and backflow preventers."""
        return bodies(self.graph)

    @cached_property
    def body_at(self) -> Mapping[PortRef, int]:
        """Number of the body that wets each place."""
        return {place: k for k, body in enumerate(self.bodies) for place in body}

    def items(self, *traits: Trait) -> list[Item]:
        """Items that stay with any of some traits, in the order of the file."""
        return self.plant.with_trait(*traits)

    def items_in(self, body: frozenset[PortRef], *traits: Trait) -> list[Item]:
        """Items that a body wets, with any of some traits (all where none is named)."""
        return [i for i in self.graph.items_at(body) if not traits or i.has(*traits)]

    def pipes_of(self, item: Item | str) -> list[Pipe]:
        """Pipes on the ports of an item."""
        key = item if isinstance(item, str) else item.id
        found = [
            pipe for place in self.graph.places_of.get(key, ()) for pipe in self.plant.pipes_at.get(place, ())
        ]
        return [
            self.plant.pipes[one]
            for one in dict.fromkeys(found)
            if self.plant.pipes[one].stage != "to_remove"
        ]

    def systems_of(self, places: Iterable[PortRef]) -> list[str]:
        """Names of the systems whose pipes touch some places."""
        if isinstance(places, frozenset):  # a whole body, asked about by many rules
            if places not in self._systems:
                self._systems[places] = self._systems_of(places)
            return self._systems[places]
        return self._systems_of(places)

    def _systems_of(self, places: Iterable[PortRef]) -> list[str]:
        pipes = [self.plant.pipes[k] for place in places for k in self.plant.pipes_at.get(place, ())]
        return list(dict.fromkeys(pipe.system for pipe in pipes))

    def is_potable(self, places: Iterable[PortRef]) -> bool:
        """Whether any pipe of a drinking-water system touches some places."""
        return any(self.plant.systems[name].use == "potable" for name in self.systems_of(places))

    def fluid_kind(self, places: Iterable[PortRef]) -> str:
        """Kind of fluid at some places: "water", a glycol, "custom"; "" where no pipe tells."""
        names = self.systems_of(places)
        return str(self.plant.systems[names[0]].fluid.get("kind", "water")) if names else ""

    def protection(self, item: Item | str) -> Protection:
        """Relief valves and expansion tanks that the water of an item reaches past open hand valves."""
        return protection(self.graph, item if isinstance(item, str) else item.id)

    def reach(self, starts: Iterable[PortRef]) -> dict[PortRef, None]:
        """Places in one body with some places."""
        return reach(self.graph, starts, in_one_body)

    def reach_around(self, starts: Iterable[PortRef], without: Set[str]) -> dict[PortRef, None]:
        """Places in one body with some places, not through some items and pipes."""
        return reach(self.graph, starts, lambda way: not way.parts and way.key not in without)

    def said(self, item: Item, name: str) -> Any:
        """A property in SI; None where it is absent, "unknown", or no property of its kind."""
        if name not in item.kind_info.properties:
            return None
        value = item.si.get(name)
        return None if value == UNKNOWN else value

    def is_unknown(self, item: Item, name: str) -> bool:
        """Whether a property is there for its kind, but absent or "unknown"."""
        return name in item.kind_info.properties and self.said(item, name) is None

    @cached_property
    def guessed(self) -> frozenset[str]:
        """Pipes and items of which a quantity is a guess."""
        from core.plant.guesses import plant_guesses

        return frozenset(guess.at for guess in plant_guesses(self.plant))

    @cached_property
    def meetings(self) -> list[Meeting]:
        """Systems whose pipes wet one body, though nothing parts them."""
        return joined_systems(self.graph)

    # how it is laid out -----------------------------------------------------------------------------------

    @cached_property
    def runs(self) -> Runs:
        """Unbroken stretches between tees."""
        return Runs(self.graph)

    @cached_property
    def driven(self) -> frozenset[str]:
        """Items and pipes through which circulators can drive water round."""
        return frozenset(way.key for way in driven(self.graph, [one.id for one in self.items(Trait.DRIVES)]))

    @cached_property
    def arrows(self) -> Arrows:
        """Where water gets to along the arrows of what it passes."""
        return Arrows(self.graph, self.runs)

    @cached_property
    def pushes(self) -> Mapping[str, Mapping[str, float]]:
        """Which way each circulator pushes the water of each other one, as of `core.water.pushes`."""
        return pushes(self.runs)

    @cached_property
    def tee_pairs(self) -> tuple[TeePair, ...]:
        """Pairs of close tees that part two driven circuits."""
        return tee_pairs(self.runs)

    def run(self, item: Item | str) -> Run | None:
        """The run that an item lies on; None where water cannot flow through it."""
        return self.runs.of.get(item if isinstance(item, str) else item.id)

    def on_run(self, item: Item | str) -> list[Item]:
        """Items on the run of an item, it included."""
        run = self.run(item)
        return [] if run is None else self.runs.items(run)

    def height(self, place: PortRef) -> float:
        """Height of a port above the plant's datum, [m]."""
        item = self.plant.items.get(place.item)
        return 0.0 if item is None else port_height(item, place.port)

    def pipe_at(self, item: Item | str, port: str) -> Pipe | None:
        """The first pipe on a port."""
        key = item if isinstance(item, str) else item.id
        found = [self.plant.pipes[k] for k in self.plant.pipes_at.get(PortRef(key, port), ())]
        return next((pipe for pipe in found if pipe.stage != "to_remove"), None)

    def body_of(self, item: Item | str, port: str = "") -> frozenset[PortRef]:
        """The body of water at an item, or at one of its ports; empty where it has no water."""
        key = item if isinstance(item, str) else item.id
        places = [PortRef(key, port)] if port else list(self.graph.places_of.get(key, ()))
        number = next((self.body_at[place] for place in places if place in self.body_at), None)
        return frozenset() if number is None else self.bodies[number]

    def water_body(self, tank: Item | str) -> frozenset[PortRef]:
        """The body of an item's own water: of a tank with coil that round the coil."""
        places = list(water_of(self.graph, tank if isinstance(tank, str) else tank.id))
        return self.bodies[self.body_at[places[0]]] if places else frozenset()

    def heated_with(self, source: Item) -> frozenset[int]:
        """Numbers of the bodies that the heat of a source comes to, its own and those behind walls."""
        found = {self.body_at[place] for place in self.graph.places_of[source.id] if place in self.body_at}
        walls = [(self.body_at[wall.one], self.body_at[wall.other]) for wall in self.graph.walls]
        grown = True
        while grown:
            more = {b for pair in walls if not found.isdisjoint(pair) for b in pair} - found
            grown, found = bool(more), found | more
        return frozenset(found)

    def sources_of(self, place: PortRef) -> list[Item]:
        """Sources whose heat comes to the body at a place."""
        body = self.body_at.get(place)
        return [one for one in self.items(Trait.MAKES_HEAT) if body in self.heated_with(one)]

    def fluid(self, item: Item | str) -> Fluid | None:
        """The fluid in the pipes on an item; None without a pipe."""
        pipes = self.pipes_of(item)
        return fluid_of(self.plant.systems[pipes[0].system].si.fluid) if pipes else None

    # what runs it -----------------------------------------------------------------------------------------

    @cached_property
    def signals(self) -> Signals:
        """The signals of the plant."""
        return Signals(self.plant)

    @cached_property
    def wiring(self) -> Wiring:
        """Who runs whom."""
        return Wiring(self.plant, self.signals)

    @cached_property
    def limits(self) -> tuple[str, ...]:
        """Stats that call for nothing: they let others run until water is too hot or too cold."""
        return tuple(one.id for one in self.items(Trait.STAT) if one.si.get("call") is False)

    # what is solved ---------------------------------------------------------------------------------------

    @cached_property
    def streams(self) -> Mapping[str, Stream]:
        """Where the water runs in each solved case, by name of the case."""
        return {
            one.case: Stream(self.graph, {key: found.flow_m3_s for key, found in one.pipes.items()})
            for one in self.solutions
        }

    @cached_property
    def flowing(self) -> Mapping[str, frozenset[str]]:
        """Pipes in which water moves, by name of the case."""
        return {
            one.case: frozenset(key for key, found in one.pipes.items() if abs(found.flow_m3_s) > NO_FLOW)
            for one in self.solutions
        }

    @cached_property
    def sizing(self) -> Context:
        """What sizing reads: the plant with those of its cases that are solved."""
        from core.sizing.context import Context

        known = {one.case: one for one in self.all_solutions}
        cases = tuple(case for case in self.plant.solve_cases if case.name in known)
        whole = len(cases) == len(self.plant.solve_cases) or not cases
        return Context(self.plant if whole else replace(self.plant, cases=cases), known)

    def port_c(self, solution: Solution, item: Item | str, port: str) -> float | None:
        """Temperature at a port in a solved case, [degC]; None without a pipe there."""
        pipe = self.pipe_at(item, port)
        if pipe is None or pipe.id not in solution.pipes:
            return None
        key = item if isinstance(item, str) else item.id
        return solution.pipes[pipe.id].temperature_at(pipe.start == PortRef(key, port))

    def port_pa(self, solution: Solution, item: Item | str, port: str) -> float | None:
        """Gauge pressure at a port in a solved case, [Pa]; None without a pipe there."""
        pipe = self.pipe_at(item, port)
        if pipe is None or pipe.id not in solution.pipes:
            return None
        key = item if isinstance(item, str) else item.id
        return solution.pipes[pipe.id].pressure_at(pipe.start == PortRef(key, port))

    def each(self) -> Iterator[tuple[Solution, Stream]]:
        """Solved cases with their streams."""
        for one in self.solutions:
            yield one, self.streams[one.case]
