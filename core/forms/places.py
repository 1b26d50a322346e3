"""Places that are felt, rooms that are heated, signals that are named: as words to pick from. No widgets."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from core.errors import Refusal
from core.forms.tables import WARM_COLD
from core.plant.model import Item, Plant
from core.vocabulary import Trait, nearest
from core.vocabulary.port_words import spoken_place, spoken_port

DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")


def felt_places(plant: Plant, item: Item) -> tuple[str, ...]:
    """Where an item may feel: rooms before water for one that feels air; sensors before ports; pipes last."""
    rooms = [name for name, other in plant.items.items() if other.has(Trait.ROOM)]
    if item.has(Trait.FEELS_ROOM):
        return tuple(rooms)
    water: list[str] = []
    for name, other in plant.items.items():
        if not other.ports:
            continue
        sensors = [f"{name} {sensor}" for sensor in other.props.get("sensors") or ()]
        ports = [spoken_place(name, port) for port in other.ports]
        water += [*sensors, *ports]
    return (*water, *plant.pipes)


def place_text(raw: Any) -> str:
    """`["T-1", "coil_out"]` as `T-1 coil out`."""
    return spoken_place(str(raw[0]), str(raw[1]) if len(raw) > 1 else "") if raw else ""


def place_from(plant: Plant, text: str) -> list[str]:
    """The place that some words name: an item or pipe, and a port or sensor by its name or its words.

    Raises
    ------
    Refusal
        No such item or pipe
    """
    name, _, rest = text.strip().partition(" ")
    if name not in plant.items and name not in plant.pipes:
        raise Refusal(
            "", f'"{name}"', "the tag of an item or pipe", nearest(name, [*plant.items, *plant.pipes])
        )
    rest = rest.strip()
    if not rest:
        return [name]
    ports = plant.items[name].ports if name in plant.items else ()
    known = {spoken_port(port).casefold(): port for port in ports}
    return [name, known.get(rest.casefold(), rest.replace(" ", "_") if " " in rest else rest)]


def two_places_text(raw: Sequence[Any]) -> str:
    """A warm and a cold place, one a line."""
    return "\n".join(f"{word}: {place_text(place)}" for word, place in zip(WARM_COLD, raw, strict=False))


def two_places_from(plant: Plant, text: str) -> list[list[str]]:
    """The two places of `two_places_text`; both are wanted."""
    lines = [line.strip() for line in text.splitlines() if line.strip()]
    said = [line.partition(":")[2] if ":" in line else line for line in lines]
    if len(said) != len(WARM_COLD):
        raise Refusal("", f"{len(said)} place", "a warm and a cold place", "Such as B-1 out and B-1 in")
    return [place_from(plant, one) for one in said]


def rooms(plant: Plant) -> tuple[str, ...]:
    """Tags of the rooms."""
    return tuple(item.id for item in plant.with_trait(Trait.ROOM))


def named_by(plant: Plant, item: Item, key: str) -> tuple[str, ...]:
    """What a list of names may name: signals that are held off, or what has a temperature to be set."""
    if key == "sets":
        wanted = {"set_temperature", "target"}
        return tuple(
            name
            for name, other in plant.items.items()
            if wanted & other.kind_info.properties.keys() and not other.has(Trait.SIGNALS)
        )
    return tuple(name for name in plant.signal_ids if name != item.id)
