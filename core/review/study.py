"""What rules read: the plant, its water, and its solved cases; each question answered once."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from functools import cached_property, partial
from typing import Any, Literal, TypeVar

from core import units
from core.plant.model import Item, Pipe, Plant, PortRef
from core.solve.solution import Solution
from core.vocabulary import UNKNOWN, Trait
from core.water.connections import bodies, reach
from core.water.no_flow import NO_FLOW
from core.water.protection import Protection, protection
from core.water.stream import Stream
from core.water.ways import WaterGraph, in_one_body, water_graph

T = TypeVar("T")


class Study:
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
        system: Literal["us", "si"] = "si" if plant.units == "si" else "us"
        self.system = system
        self._kept: dict[str, Any] = {}
        self.warm = partial(units.show, dimension="temperature", system=system)
        self.span = partial(units.show, dimension="temperature_difference", system=system)
        self.flow_text = partial(units.show, dimension="flow", system=system)
        self.volume = partial(units.show, dimension="volume", system=system)
        self.heat = partial(units.show, dimension="power", system=system)
        self.pressure = partial(units.show, dimension="pressure", system=system)
        self.head = partial(units.show, dimension="head", system=system)
        self.length = partial(units.show, dimension="length", system=system)
        self.velocity = partial(units.show, dimension="velocity", system=system)

    def with_solutions(self, solutions: Sequence[Solution]) -> Study:
        """The same plant with other solved cases; what was read of the drawing is kept."""
        other = Study(self.plant, solutions)
        for name in ("graph", "bodies", "body_at", "guessed"):
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

    def each(self) -> Iterator[tuple[Solution, Stream]]:
        """Solved cases with their streams."""
        for one in self.solutions:
            yield one, self.streams[one.case]
