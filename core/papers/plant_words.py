"""Words about a plant that several papers share: names of parts, what licensed trades are asked, stages."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator

from core import errors
from core.papers.blocks import Block, Grid, Said
from core.plant.heating import heats_by_electricity
from core.plant.model import Item, Plant
from core.vocabulary import Trait
from core.vocabulary.document import STAGES
from core.water.neighbors import pipes_of
from core.working import Display, show_value

NOTHING = "–"
ONE_LINE = (
    "CAUTION: hot water scalds; Legionella, pressure, gas, electricity kill. Local code and licensed trades "
    "decide."
)
BOX = (
    "Hot water scalds; lukewarm standing water breeds Legionella; pressure, cross-connections, gas and "
    "electricity can kill. This paper is a plan, not an approval. Local code, the authority having "
    "jurisdiction and licensed trades decide: mixing, relief and its piping, backflow protection, gas, "
    "venting and wiring are theirs to settle before anything is filled or fired."
)
STAGE_WORDS = {
    "existing": "there already",
    "to_remove": "to be removed",
    "drawn": "still to buy",
    "bought": "bought, to fit",
    "dry_fitted": "dry-fitted, to join",
    "joined": "joined, to test",
    "tested": "tested",
}


def display_of(plant: Plant) -> Display:
    """The unit system a plant's papers are in."""
    return "si" if plant.units == "si" else "us"


def titled(item: Item) -> str:
    """Kind and label of an item."""
    title, label = item.kind_info.title, item.label
    if title.casefold() in label.casefold():
        return label
    return f"{title}, {label}" if label else title


def listed(names: Iterable[str], none: str = NOTHING) -> str:
    """Names with commas and a last "and"."""
    return errors.listed(names) or none


def natural(tag: str) -> tuple[tuple[bool, int, str], ...]:
    """Sorts tags as a person does: V-2 before V-10."""
    parts = re.findall(r"\d+|\D+", tag)
    return tuple((not part.isdigit(), int(part) if part.isdigit() else 0, part) for part in parts)


def by_tag(items: Iterable[Item]) -> list[Item]:
    """Items in the order of their tags."""
    return sorted(items, key=lambda item: natural(item.id))


def spoken_paths(text: str) -> str:
    """Words without the keys of a plant file: `props.water_content` is "water content".

    Examples
    --------
    >>> spoken_paths("props.water_content is not given; site.snowfall is not given")
    "water content is not set; the site's snowfall is not set"
    """
    out = re.sub(r"\bprops\.([a-z_]+)", lambda m: m[1].replace("_", " "), text)
    out = re.sub(r"\bsite\.([a-z_]+)", lambda m: f"the site's {m[1].replace('_', ' ')}", out)
    return re.sub(r"\b(is|are) not given\b", r"\1 not set", out)


def parts_of(plant: Plant, names: Iterable[str]) -> list[str]:
    """Those of some ids that are parts a hand finds: no pipes, no joints."""
    return [name for name in names if name in plant.items and not plant.items[name].has(Trait.JOINS)]


def wets(plant: Plant, item: Item, use: str) -> bool:
    """Whether a pipe of a system of that use ends at an item."""
    return any(plant.systems[pipe.system].use == use for pipe in pipes_of(plant, item))


def value_of(item: Item, name: str, dimension: str, display: Display, none: str = "not set") -> str:
    """A property with its unit; `none` where it is absent or unknown."""
    value = item.si.get(name)
    if not isinstance(value, int | float) or isinstance(value, bool):
        return none
    return trimmed(show_value(float(value), dimension, display))


def trimmed(text: str) -> str:
    """A figure without the zero that only rounding shows: 30 psi."""
    number, _, unit = text.partition(" ")
    return f"{number.removesuffix('.0')} {unit}".strip()


def licensed_questions(plant: Plant) -> Iterator[Block]:
    """What the licensed trades have to settle, each beside what it concerns; the program sizes none of it."""
    burners = [item for item in plant.with_trait(Trait.FIRED) if not heats_by_electricity(item)]
    display = display_of(plant)
    yield Said("For the licensed trades to settle; the program sizes none of this:", True)
    if burners:
        tags = listed(item.id for item in burners)
        fuel = "; ".join(
            f"{item.id}: fuel input {value_of(item, 'fuel_input', 'power', display)}" for item in burners
        )
        height = trimmed(show_value(plant.site_si.altitude, "length", display))
        yield Said(f"– Fuel at {tags}: kind, pressure, pipe and shut-off. {fuel}.", indent=1)
        yield Said(f"– Altitude {height}: whether {tags} must be derated for it.", indent=1)
        yield Said(f"– Venting of {tags}: kind, length, clearances and outlet.", indent=1)
        yield Said(f"– Combustion air for {tags}, and carbon monoxide alarms.", indent=1)
        yield Said("– Condensate: trap, neutralizer and where it drains.", indent=1)
    for item in plant.with_trait(Trait.LIFTS_HEAT):
        yield Said(
            f"– {item.id}: refrigerant work and its safety, condensate, clearances outdoors.", indent=1
        )
    yield Said("– Electric supply, circuits, disconnects, bonding: see the wiring points.", indent=1)
    yield Said("– Backflow protection, relief discharge and drains: the authority for water.", indent=1)


def stages_blocks(plant: Plant) -> Iterator[Block]:
    """What is still to buy and to join, by stage."""
    parts = [(part.stage, part.id) for part in plant.items.values() if not part.has(Trait.JOINS)]
    pipes = [(pipe.stage, pipe.id) for pipe in plant.pipes.values()]
    used = [stage for stage in STAGES if any(each[0] == stage for each in (*parts, *pipes))]
    if len(used) < 2:
        yield Said(f"All of it is {STAGE_WORDS[used[0]]}." if used else "Nothing is drawn yet.")
        return
    rows = [
        (
            STAGE_WORDS[stage],
            ", ".join(name for each, name in parts if each == stage) or NOTHING,
            ", ".join(name for each, name in pipes if each == stage) or NOTHING,
        )
        for stage in used
    ]
    yield Grid.of("Still to buy and to join, by stage", ("stage", "items", "pipes"), rows)
