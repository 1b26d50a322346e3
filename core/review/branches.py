"""Where a stub leads, what stands in it, what shuts it, and which way water can take past checks."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from typing import NamedTuple

from core.plant.model import Item, PortRef
from core.review.study import Study
from core.vocabulary import Trait
from core.water.numbers import reached
from core.water.ways import Way

VESSELS = (
    *(Trait.MAKES_HEAT, Trait.TANK, Trait.BUFFER, Trait.EXCHANGES_HEAT, Trait.PARTS_FLOWS),
    *(Trait.DIVIDES, Trait.GIVES_HEAT, Trait.DRIVES, Trait.MIXES, Trait.BRINGS_WATER),
)
# What can close, or lets water pass one way only, besides hand valves.
CLOSES = (
    *(Trait.ONE_WAY, Trait.OPENS_BY_SIGNAL, Trait.OPENS_BY_PRESSURE, Trait.BALANCES),
    *(Trait.HOLDS_OUTLET_PRESSURE, Trait.MIXES, Trait.FILLS),
)
LOCKED = ("locked", "handle removed", "no handle", "sealed open")


class Branch(NamedTuple):
    """A run without forks: ids of what lies in it from its end on, and the place where it meets the rest."""

    keys: tuple[str, ...]
    end: PortRef
    beside: tuple[str, ...]  # items on short dead ends that leave it: gauges, vents, vacuum breakers


def items_of(study: Study, keys: Iterable[str]) -> list[Item]:
    """The items among some ids."""
    return [study.plant.items[key] for key in keys if key in study.plant.items]


def far(way: Way, place: PortRef) -> PortRef:
    """The other end of a way."""
    return way.end if way.start == place else way.start


def branch(study: Study, start: PortRef, *, through: Callable[[Item], bool] = lambda item: False) -> Branch:
    """The run that leads from a port to where it forks, or to a vessel, a circulator or an emitter.

    Parameters
    ----------
    study : Study
    start : PortRef
        A port; its own item is not entered
    through : callable
        Items to be passed though the run would end there
    """
    keys: list[str] = []
    beside: list[str] = []
    place, before = start, ""
    while True:
        ways = [w for w in onward(study, place) if w.key not in (before, start.item)]
        ends = [found for w in ways if len(ways) > 1 and (found := _leads_to_ends(study, w, place))]
        if len(ways) > 1:
            ways = [w for w in ways if not _leads_to_ends(study, w, place)]
        if len(ways) != 1 or ways[0].key in keys:
            break
        way = ways[0]
        item = study.plant.items.get(way.key)
        if item is not None and item.has(*VESSELS) and not through(item):
            break
        beside += [key for found in ends for key in found]
        keys.append(way.key)
        place, before = far(way, place), way.key
    return Branch(tuple(keys), place, tuple(beside))


def onward(study: Study, place: PortRef) -> list[Way]:
    """Ways at a place that lead to something: no capped port, no air."""
    return [
        way
        for way in study.graph.ways_at.get(place, ())
        if not way.to_air and (way.is_pipe or not _capped(study, far(way, place)))
    ]


def _capped(study: Study, place: PortRef) -> bool:
    item = study.plant.items.get(place.item)
    return item is not None and place.port in item.ports and place not in study.plant.pipes_at


def _leads_to_ends(study: Study, way: Way, place: PortRef) -> tuple[str, ...]:
    """Items that end the runs behind a way where it leads to such alone, else nothing."""
    seen: dict[PortRef, None] = {place: None}
    waiting, ends = [far(way, place)], []
    while waiting:
        here = waiting.pop()
        if here in seen:
            continue
        seen[here] = None
        item = study.plant.items.get(here.item)
        if len(seen) > 12 or (item is not None and item.has(*VESSELS, Trait.DRAWS_WATER)):
            return ()
        if item is not None and item.has(Trait.ENDS_RUN):
            ends.append(item.id)
        waiting += [far(one, here) for one in onward(study, here)]
    return tuple(ends)


def is_strainer(item: Item) -> bool:
    """Whether dirt can clog it: a screen, not a settling chamber of a closed circuit."""
    return item.has(Trait.HOLDS_DIRT) and not item.has(Trait.CLOSED_CIRCUIT)


def is_kept_open(item: Item) -> bool:
    """Whether a hand valve is of the service sort (with a hose port), or said to be locked open."""
    words = f"{item.label} {item.note}".lower()
    return len(item.ports) > 2 or any(word in words for word in LOCKED)


def can_close(study: Study, way: Way) -> bool:
    """Whether a way can shut, or lets water pass one way only."""
    if way.is_pipe:
        return False
    item = study.plant.items[way.key]
    return way.hand_valve or way.one_way or way.by_signal or not way.stands_open or item.has(*CLOSES)


def can_block(study: Study, way: Way) -> bool:
    """Whether what stands in a way has no place before a relief valve: it closes, or clogs."""
    return can_close(study, way) or (not way.is_pipe and is_strainer(study.plant.items[way.key]))


def along(
    study: Study, starts: Iterable[PortRef], passes: Callable[[Way], bool], ahead: bool = True
) -> dict[PortRef, None]:
    """Places that water from some places can flow to (or with `ahead` false, from), one-way parts heeded."""

    def beside(place: PortRef) -> Iterator[PortRef]:
        for way in study.graph.ways_at.get(place, ()):
            if passes(way) and (not way.one_way or (way.start if ahead else way.end) == place):
                yield far(way, place)

    return reached(starts, beside)


def uses(study: Study, place: PortRef) -> set[str]:
    """Uses of the systems whose pipes touch a place."""
    return {study.plant.systems[name].use for name in study.systems_of([place])}


def is_drinking(study: Study, item: Item) -> bool:
    """Whether drinking water wets any port of an item."""
    return study.is_potable(study.graph.places_of.get(item.id, ()))


def said_in_words(item: Item, *words: str) -> bool:
    """Whether label, note or id hold any of some words."""
    text = f"{item.label} {item.note} {item.id}".lower()
    return any(word in text for word in words)
