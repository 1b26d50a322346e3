"""What can shut or clog a run of pipe, and what words on a symbol tell the rules."""

from __future__ import annotations

import re
from collections.abc import Iterable

from core.plant.model import Item, PortRef
from core.review.study import Study
from core.vocabulary import Trait
from core.water.ways import Way

# What can close, or lets water pass one way only, besides hand valves.
CLOSES = (
    *(Trait.ONE_WAY, Trait.OPENS_BY_SIGNAL, Trait.OPENS_BY_PRESSURE, Trait.BALANCES),
    *(Trait.HOLDS_OUTLET_PRESSURE, Trait.MIXES, Trait.FILLS),
)
LOCKED = ("locked", "handle removed", "no handle", "sealed open")


def items_of(study: Study, keys: Iterable[str]) -> list[Item]:
    """The items among some ids."""
    return [study.plant.items[key] for key in keys if key in study.plant.items]


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


def uses(study: Study, place: PortRef) -> set[str]:
    """Uses of the systems whose pipes touch a place."""
    return {study.plant.systems[name].use for name in study.systems_of([place])}


def is_drinking(study: Study, item: Item) -> bool:
    """Whether drinking water wets any port of an item."""
    return study.is_potable(study.graph.places_of.get(item.id, ()))


def said_plainly(item: Item, *words: str) -> bool:
    """Whether label or note hold any of some words, and no "no" or "not" or "without" beside."""
    text = f"{item.label} {item.note}".lower()
    return any(word in text for word in words) and not re.search(r"\b(?:no|not|non|without)\b", text)


def said_in_words(item: Item, *words: str) -> bool:
    """Whether label, note or id hold any of some words."""
    text = f"{item.label} {item.note} {item.id}".lower()
    return any(word in text for word in words)
