"""The rows of the particulars as plain descriptions: how to read a value, and what a typed text changes.

No widgets. A `write` returns the plant as it should be, or raises `Refusal`; `core` decides what is right.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache
from typing import Any, Literal

from core import units
from core.errors import Refusal
from core.forms import typed
from core.forms.design_night import as_loss, night_words
from core.forms.in_units import beside, in_system, plain_number
from core.forms.places import (
    DAYS,
    felt_places,
    named_by,
    place_from,
    place_text,
    rooms,
    two_places_from,
    two_places_text,
)
from core.forms.property_labels import HINTS, LABELS
from core.forms.tables import Table, part_words, table_of
from core.media.tubes import materials, sizes
from core.media.tubes import spoken as spoken_tube
from core.plant import texts
from core.plant.changes import Change, ReplaceItem, ReplacePipe
from core.plant.model import Item, Pipe, Plant
from core.vocabulary import JOINT, KINDS, UNKNOWN, Property, Trait, spellings, to_si
from core.vocabulary.document import STAGES
from core.vocabulary.examples import example
from core.vocabulary.port_words import spoken_port

Shape = Literal["line", "lines", "choice", "pick", "ticks", "names"]
"""A line of text, several, one of a list, a line with a list to pick from, one with ticks below it, and one
with ticks that only name."""


@dataclass(frozen=True)
class Row:
    """One field: its name, what it shows, what typing into it does."""

    key: str
    name: str
    read: Callable[[Plant], str]
    write: Callable[[Plant, str], list[Change]]
    shape: Shape = "line"
    choices: tuple[tuple[str, str], ...] = ()
    """Words and value of each choice."""
    beside: Callable[[str], str] = lambda _text: ""
    hint: str = ""
    empty: str = ""
    """What stands in the empty field, soft."""
    dimensions: tuple[str, ...] = ()
    """Of one quantity that is typed into it; `number` of a number without a unit."""
    table: Table | None = None
    """Of a value of several parts: its cells."""
    pointed: bool = False
    """Whether its value may be clicked on the board."""
    usual: str = ""
    """A usual value, with the unit that a bare number takes while the field holds none."""
    also: Callable[[Plant, str], str] = lambda _plant, _text: ""
    """What a text of another kind comes to here, with its unit, such as a heat as a loss; "" for none."""
    by_plant: Callable[[Plant, str], str] = lambda _plant, _text: ""
    """Beside the field, what rests on other values too."""


@dataclass(frozen=True)
class Section:
    """Rows under one heading; `folded` ones open on a click."""

    title: str
    rows: tuple[Row, ...]
    folded: bool = False


def spoken(name: str) -> str:
    """`set_temperature` -> `Set temperature`."""
    if name in LABELS:
        return LABELS[name]
    words = name.replace("_", " ")
    return words[:1].upper() + words[1:]


@cache
def _names_in_words() -> re.Pattern[str]:
    names = {name for kind in KINDS.values() for name in kind.properties if "_" in name}
    return re.compile(rf"(?<![\w-])(?:{'|'.join(sorted(names, key=len, reverse=True))})(?![\w-])")


def plainly(words: str) -> str:
    """A sentence of the solver's with properties called as the particulars call them.

    Examples
    --------
    >>> plainly("no run_when or powered_by leads to it")
    'no “turns on when” or “powered by” leads to it'
    """
    return _names_in_words().sub(lambda found: f"“{spoken(found[0]).lower()}”", words)


# ---- items -------------------------------------------------------------------------

MORE = "More"
"""What few need to type, folded under what most must."""


def item_sections(plant: Plant, item: Item) -> list[Section]:
    """Who it is, what its kind holds essential, the rest, what the review asks for."""
    kind = KINDS[item.kind]
    few = len(item.ports) < 2  # then the height of the item says it all
    rows = [
        _property_row(plant, item, prop)
        for prop in kind.properties.values()
        if not prop.safety and not (few and prop.name == "port_heights" and not item.props.get(prop.name))
    ]
    asked = [_property_row(plant, item, prop) for prop in kind.properties.values() if prop.safety]
    own = [row for row in rows if row.key not in ("height", "port_heights")]
    essential = kind.essential or tuple(row.key for row in own)
    first = [row for row in own if row.key in essential]
    rest = [row for row in rows if row not in first]
    about = (
        _item_field(item.id, "label", "Label", "A name of your own, such as Floor pump."),
        _item_field(item.id, "note", "Note", "Anything worth keeping.", shape="lines"),
        stage_row(item.id),
    )
    return [
        Section("", (about[0], *first)),
        Section(MORE, (*rest, *about[1:]), folded=True),
        # A relief valve has nothing else to say: then it stands open.
        Section("Asked by the review", tuple(asked), folded=bool(own) or not _own(kind.properties)),
    ]


def _own(properties: Mapping[str, Property]) -> bool:
    """Whether a kind is asked anything that not every kind with water in it is asked."""
    return any(name not in KINDS[JOINT].properties for name in properties)


def _item_field(name: str, attribute: str, words: str, hint: str, shape: Shape = "line") -> Row:
    def read(plant: Plant) -> str:
        return str(getattr(plant.items[name], attribute))

    def write(plant: Plant, text: str) -> list[Change]:
        fresh: dict[str, Any] = {attribute: text.strip()}
        return [ReplaceItem(replace(plant.items[name], **fresh))]

    return Row(attribute, words, read, write, shape, hint=hint)


def stage_row(name: str) -> Row:
    """How far an item or pipe has come."""

    def thing(plant: Plant) -> Item | Pipe:
        return plant.items[name] if name in plant.items else plant.pipes[name]

    def write(plant: Plant, text: str) -> list[Change]:
        found = thing(plant)
        if isinstance(found, Item):
            return [ReplaceItem(replace(found, stage=text))]
        return [ReplacePipe(replace(found, stage=text))]

    choices = tuple((spoken(stage), stage) for stage in STAGES)
    hint = "How far the work is. What is to be removed is left out of the solve."
    return Row("stage", "Stage", lambda plant: thing(plant).stage, write, "choice", choices, hint=hint)


def _property_row(plant: Plant, item: Item, prop: Property) -> Row:
    name, system = item.id, plant.units
    parts = part_words(prop, item.ports)

    def read(plant: Plant) -> str:
        raw = plant.items[name].props.get(prop.name)
        # A choice that says the default outright reads like one left to it: the list holds each choice once.
        listed = prop.type in ("boolean", "choice")
        if isinstance(raw, (list, tuple)) and prop.type in ("place", "places"):
            return place_text(raw) if prop.type == "place" else two_places_text(raw)
        if isinstance(raw, Mapping) and parts:
            raw = {parts.get(part, part): value for part, value in raw.items()}
        return "" if listed and raw == prop.default else typed.to_text(prop, raw)

    def write(plant: Plant, text: str) -> list[Change]:
        return set_property(plant, name, prop, text)

    shape, choices = _shape(plant, item, prop)
    row = Row(
        prop.name,
        "Compares" if prop.type == "places" else spoken(prop.name),
        read,
        write,
        shape,
        choices,
        lambda text: beside(prop, text),
        _hint(prop, system, item.ports),
        _placeholder(prop, system),
        dimensions_of(prop),
        table_of(prop, item.ports, system, felt_places(plant, item) if prop.type == "places" else ()),
        prop.type in ("signals", "place"),
        _usual(prop, system),
    )
    if not (item.has(Trait.ROOM) and prop.dimension == "heat_per_kelvin"):
        return row
    return replace(
        row,
        hint=f"{row.hint} Or the heat of the design night, such as {NIGHT[system == 'si']}.",
        also=lambda plant, text: as_loss(plant, name, text),
        by_plant=lambda plant, text: night_words(plant, name, text),
    )


NIGHT = ("18,000 Btu/h", "5 kW")
"""Heat of a design night, as an example in US and SI."""


def _shape(plant: Plant, item: Item, prop: Property) -> tuple[Shape, tuple[tuple[str, str], ...]]:
    """How a property is edited, and what there is to pick from."""

    def each(words: Sequence[str]) -> tuple[tuple[str, str], ...]:
        return tuple((word, word) for word in words)

    match prop.type:
        case "signals":
            return "ticks", each([key for key in plant.signal_ids if key != item.id])
        case "items":
            return "names", each(named_by(plant, item, prop.name))
        case "days":
            return "names", each(DAYS)
        case "place":
            return "pick", each(felt_places(plant, item))
        case "item":
            return "pick", each(rooms(plant))
        case "text" | "tube":
            found = _choices(prop)
            return ("pick", found) if found else ("line", ())
    found = _choices(prop)
    return ("choice", found) if found else ("line", ())


def _usual(prop: Property, system: str) -> str:
    """The typical value in the units of the plant; electric power in watts, American heat in Btu/h."""
    if not prop.typical or prop.dimension is None:
        return ""
    typical = typical_text(prop, system)
    if prop.dimension == "power" and prop.name != "watts" and system != "si":
        return "1 Btu/h"
    return typical if prop.name == "watts" else in_system(typical, prop.dimension, system)


def dimensions_of(prop: Property) -> tuple[str, ...]:
    """Dimensions of the one quantity that a property is; empty where it is none, or several."""
    match prop.type:
        case "number" | "integer":
            return ("number",)
        case "quantity" | "flag_or_quantity" | "number_or_quantity":
            return (prop.dimension,) if prop.dimension else ()
        case "lift":
            return ("head", "pressure")
        case "target":
            return ("temperature_difference", "head", "pressure")
    return ()


def set_property(plant: Plant, name: str, prop: Property, text: str) -> list[Change]:
    """One property set from typed text, or taken away where the field was emptied."""
    item = plant.items[name]
    if text.strip() and prop.type in ("place", "places"):
        raw: Any = place_from(plant, text) if prop.type == "place" else two_places_from(plant, text)
    else:
        raw = typed.from_text(prop, text, part_words(prop, item.ports))
    props: dict[str, Any] = {
        key: value for key, value in item.props.items() if key != prop.name or raw is not None
    }
    if raw is not None:
        to_si(prop, raw)
        props[prop.name] = raw
    return [ReplaceItem(replace(item, props=props))]


def _choices(prop: Property) -> tuple[tuple[str, str], ...]:
    if prop.type == "tube":
        return tubes()
    if prop.type == "text":
        return tuple((word, word) for word in prop.choices)
    if prop.type not in ("boolean", "choice"):
        return ()
    said = typed.to_text(prop, prop.default) if prop.default is not None else ""
    values = ["yes", "no"] if prop.type == "boolean" else list(prop.choices)
    values = [value for value in values if value != said]
    none = f"{spoken(said)} (default)" if said else "Not set"
    unknown = [(spoken(UNKNOWN), UNKNOWN)] if prop.safety else []
    return ((none, ""), *((spoken(value), value) for value in values), *unknown)


def _hint(prop: Property, system: str, ports: Sequence[str] = ()) -> str:
    """Meaning, range, typical value: the tooltip."""
    help_text = prop.help
    if prop.name in HINTS and prop.type not in ("places",):
        help_text = HINTS[prop.name]
    if prop.type == "places":
        help_text = "Warm and cold place whose temperatures it compares; by default those of its own circuit."
    words = [help_text]
    if prop.low is not None and prop.high is not None and prop.type in ("quantity", "number", "integer"):
        low, high = (_end(prop, end, system) for end in (prop.low, prop.high))
        words.append(f"From {low} to {high}.")
    if prop.name == "port_heights":
        words.append(f"Such as {spoken_port(ports[0]) or ports[0]}: 4 ft." if ports else "")
    elif prop.typical:
        typical = typical_text(prop, system)
        for part, word in part_words(prop, ports).items():
            typical = typical.replace(f"{part}:", f"{word}:")
        words.append(f"Typical: {typical}.")
    elif prop.default is not None and prop.type in ("quantity", "number", "integer"):
        words.append(f"Usually {in_system(typed.to_text(prop, prop.default), prop.dimension, system)}.")
    return " ".join(word for word in words if word)


def typical_text(prop: Property, system: str) -> str:
    """The typical value as one would type it in a system of units."""
    import json

    try:
        raw = json.loads(typical := example(prop.typical, system))
    except ValueError:
        return spellings.readable(typical)
    return typed.to_text(prop, raw).replace("\n", "; ")


def _end(prop: Property, end: object, system: str) -> str:
    if prop.dimension is None:
        return plain_number(float(str(end)), system)
    if prop.dimension == "power" and (prop.name == "watts" or str(end).endswith(" W")):
        return spellings.readable(str(end))
    return in_system(str(end), prop.dimension, system)


def _placeholder(prop: Property, system: str) -> str:
    """What counts while the field is empty; else an example of its own kind."""
    if prop.default is not None and prop.default != {}:
        return _shown(prop, typed.to_text(prop, prop.default), system)
    if prop.type in ("quantity", "flag_or_quantity") and prop.typical and prop.dimension:
        return f"{EXAMPLE} {_shown(prop, typical_text(prop, system), system)}"
    if prop.type in ("number", "lift", "target", "place", "tube") and prop.typical:
        return f"{EXAMPLE} {typical_text(prop, system)}"
    return ""


def _shown(prop: Property, text: str, system: str) -> str:
    """A value in the unit that a bare number takes: watts stay watts, American heat is in Btu/h."""
    if prop.name == "watts":
        return text
    if prop.dimension == "power" and system != "si":
        heat = units.to_unit(units.parse(spellings.quantity(text, "power"), "power"), "Btu/h")
        return f"{plain_number(heat, system)} Btu/h"
    return in_system(text, prop.dimension, system)


EXAMPLE = "e.g."
"""Before what stands in an empty field only to show its kind; a default stands there without it."""


# ---- texts -----------------------------------------------------------------------


def text_sections(number: int) -> list[Section]:
    """The words of a text on the board, and what its leader leads to."""

    def lead(plant: Plant) -> str:
        to = plant.texts[number].get("lead_to")
        return to if isinstance(to, str) else "" if to is None else f"{to[0]:g}, {to[1]:g}"

    def lead_to(plant: Plant, text: str) -> list[Change]:
        name = text.strip()
        x, comma, y = name.partition(",")
        if comma:
            return texts.lead(plant, number, (units.parse_number(x.strip()), units.parse_number(y.strip())))
        if name and name not in plant.items and name not in plant.pipes:
            raise Refusal("", f'"{name}"', "the tag of an item or pipe, or no leader")
        return texts.lead(plant, number, name or None)

    words = Row(
        "text",
        "Text",
        lambda plant: str(plant.texts[number]["text"]),
        lambda plant, text: texts.write(plant, number, text),
        "lines",
        hint="Without words it goes.",
    )
    leader = Row("lead_to", "Leads to", lead, lead_to, hint="A tag; empty: no leader.", empty="nothing")
    return [Section("", (words, leader))]


@cache
def tubes() -> tuple[tuple[str, str], ...]:
    """Every tube of the catalogue, to pick from."""
    words = [spoken_tube(name, size) for name in materials() for size in sizes(name)]
    return tuple((word, word) for word in words)
