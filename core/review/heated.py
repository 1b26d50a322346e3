"""Which bodies of water are heated and by what, and what sizing says of them."""

from __future__ import annotations

from collections.abc import Set
from dataclasses import dataclass

from core.plant.heating import heats_by_electricity
from core.plant.model import Item, PortRef
from core.review.branches import uses
from core.review.study import Study
from core.sizing.context import Context
from core.vocabulary import Trait
from core.water.numbers import reached
from core.water.protection import water_of

DRY_FLUE = 0.95  # efficiency that no burner reaches without condensing


@dataclass(frozen=True)
class Heated:
    """A body of water that is heated.

    Attributes
    ----------
    number : int
        Its place among the bodies
    places : frozenset of PortRef
    by : tuple of Item
        What heats it: its sources, tanks with an element, else the exchangers and coils that bring it heat
    own : bool
        Whether a source of its own heats it
    potable : bool
        Whether a pipe of drinking water touches it
    mixed : bool
        Whether pipes of another use touch it too
    """

    number: int
    places: frozenset[PortRef]
    by: tuple[Item, ...]
    own: bool
    potable: bool
    mixed: bool

    def places_of(self, item: Item) -> list[PortRef]:
        """Places of an item that this body wets."""
        return [place for place in sorted(self.places) if place.item == item.id]


def heated(study: Study) -> tuple[Heated, ...]:
    """Every body that is heated, in the order of the file."""
    return study.once("heated bodies", lambda: _heated(study))


def _heated(study: Study) -> tuple[Heated, ...]:
    graph, found = study.graph, {}
    for number, body in enumerate(study.bodies):
        own = [item for item in study.items_in(body, Trait.MAKES_HEAT) if _wets(study, item, body)]
        own += [i for i in study.items_in(body, Trait.TANK) if has_element(i) and holds(study, body, i)]
        if own:
            found[number] = own
    sources = set(found)
    beside: dict[int, list[int]] = {}
    for wall in graph.walls:
        one, other = study.body_at[wall.one], study.body_at[wall.other]
        beside.setdefault(one, []).append(other)
        beside.setdefault(other, []).append(one)
    order = {body: n for n, body in enumerate(reached(list(sources), lambda b: beside.get(b, [])))}
    for wall in graph.walls:
        one, other = sorted(
            (study.body_at[wall.one], study.body_at[wall.other]), key=lambda b: order.get(b, 0)
        )
        if one in order and other not in sources and one != other:
            known = found.setdefault(other, [])
            known += [item for item in (study.plant.items[wall.key],) if item not in known]
    return tuple(_made(study, number, found[number], number in sources) for number in sorted(found))


def _wets(study: Study, item: Item, body: frozenset[PortRef]) -> bool:
    return any(place in body for place in study.graph.places_of[item.id])


def _made(study: Study, number: int, by: list[Item], own: bool) -> Heated:
    body = study.bodies[number]
    kinds = {use for place in body for use in uses(study, place)}
    main = any(item.has(Trait.BRINGS_WATER) for item in study.items_in(body))
    potable = "potable" in kinds or main
    return Heated(number, body, tuple(by), own, potable, potable and bool(kinds - {"potable"}))


def holds(study: Study, places: Set[PortRef], vessel: Item) -> bool:
    """Whether a body is a vessel's own water: of a tank with coil that round the coil."""
    return any(place in places for place in water_of(study.graph, vessel.id))


def has_element(item: Item) -> bool:
    """Whether an electric element heats it."""
    return bool(item.si.get("element")) and isinstance(item.si.get("element"), float)


def must_not_condense(item: Item) -> bool:
    """Whether it is a burner that is said not to condense: what has no flue has nothing to rot.

    A burner whose flue gas stays dry loses more than 5 % with it (common practice, no source): one typed
    with less burns nothing.
    """
    dry = "condensing" in item.kind_info.properties and item.si.get("condensing") is False
    return dry and not heats_by_electricity(item) and float(item.si.get("efficiency") or 0.0) <= DRY_FLUE


def context_of(study: Study) -> Context | None:
    """What sizing reads, of the cases that are solved; None where none is."""
    return study.sizing if study.solutions else None


def greatest_heat(study: Study, item: Item) -> float | None:
    """Most heat a source or element can give, [W]; None where nothing is said."""
    if has_element(item):
        return float(item.si["element"])
    if item.has(Trait.LIFTS_HEAT):
        table = item.si.get("table")
        return max(float(row[2]) for row in table) if table else None
    value = item.si.get("capacity")
    return float(value) if isinstance(value, float) else None
