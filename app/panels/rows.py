"""The rows of the particulars as plain descriptions: how to read a value, and what a typed text changes.

No widgets. A `write` returns the plant as it should be, or raises `Refusal`; `core` decides what is right.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache
from typing import Any, Literal

from app.panels import typed
from app.panels.guess_text import guess_or, guess_shown
from app.panels.in_units import beside, in_system, other_units
from app.panels.property_labels import LABELS
from core import units
from core.errors import Refusal
from core.media.tubes import materials, sizes
from core.media.tubes import spoken as spoken_tube
from core.plant import systems, texts
from core.plant.changes import Change, ReplaceItem, ReplacePipe
from core.plant.model import Item, Pipe, Plant
from core.vocabulary import JOINT, KINDS, UNKNOWN, Property, spellings, to_si
from core.vocabulary.document import STAGES
from core.vocabulary.port_words import spoken_port

Shape = Literal["line", "lines", "choice", "pick", "ticks"]
"""A line of text, several, one of a list, a line with a list to pick from, or one with ticks below it."""


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
    usual: str = ""
    """A usual value, with the unit that a bare number takes while the field holds none."""


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


# ---- items -------------------------------------------------------------------------

MORE = "More"
"""What few need to type, folded under what most must."""


def item_sections(plant: Plant, item: Item) -> list[Section]:
    """Who it is, what its kind holds essential, the rest, what the review asks for."""
    kind = KINDS[item.kind]
    rows = [_property_row(plant, item, prop) for prop in kind.properties.values() if not prop.safety]
    asked = [_property_row(plant, item, prop) for prop in kind.properties.values() if prop.safety]
    own = [row for row in rows if row.key not in ("height", "port_heights")]
    essential = kind.essential or tuple(row.key for row in own)
    first = [row for row in own if row.key in essential]
    rest = [row for row in rows if row not in first]
    about = (
        _item_field(item.id, "label", "Label", "A name of your own, such as Floor pump."),
        _item_field(item.id, "note", "Note", "Anything worth keeping.", shape="lines"),
        _stage_row(item.id),
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


def _stage_row(name: str) -> Row:
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

    def read(plant: Plant) -> str:
        raw = plant.items[name].props.get(prop.name)
        # A choice that says the default outright reads like one left to it: the list holds each choice once.
        listed = prop.type in ("boolean", "choice")
        if prop.type == "heights" and isinstance(raw, Mapping):
            raw = {spoken_port(port) or port: height for port, height in raw.items()}
        return "" if listed and raw == prop.default else typed.to_text(prop, raw)

    def write(plant: Plant, text: str) -> list[Change]:
        return set_property(plant, name, prop, text)

    shape: Shape = "lines" if prop.type in typed.LONG_TYPES else "line"
    choices = _choices(prop)
    if prop.type == "signals":
        shape = "ticks"
        choices = tuple((key, key) for key in plant.signal_ids if key != name)
    elif choices:
        shape = "pick" if prop.type in ("text", "tube") else "choice"
    return Row(
        prop.name,
        spoken(prop.name),
        read,
        write,
        shape,
        choices,
        lambda text: beside(prop, text),
        _hint(prop, system, item.ports),
        _placeholder(prop, system),
        dimensions_of(prop),
        _usual(prop, system),
    )


def _usual(prop: Property, system: str) -> str:
    """The typical value in the units of the plant; electric power in watts, American heat in Btu/h."""
    if not prop.typical or prop.dimension is None:
        return ""
    typical = typical_text(prop)
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
    raw = typed.from_text(prop, text)
    if prop.type == "heights" and isinstance(raw, Mapping):
        known = {spoken_port(port).casefold(): port for port in item.ports}
        raw = {port if port in item.ports else known.get(port.casefold(), port): raw[port] for port in raw}
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
    none = f"{spoken(said)} (default)" if said else "not set"
    unknown = [(UNKNOWN, UNKNOWN)] if prop.safety else []
    return ((none, ""), *((spoken(value), value) for value in values), *unknown)


def _hint(prop: Property, system: str, ports: Sequence[str] = ()) -> str:
    """Meaning, range, typical value: the tooltip."""
    words = [prop.help]
    if prop.low is not None and prop.high is not None and prop.type in ("quantity", "number", "integer"):
        low, high = (in_system(str(end), prop.dimension, system) for end in (prop.low, prop.high))
        words.append(f"From {low} to {high}.")
    if prop.name == "port_heights":
        words.append(f"Such as {spoken_port(ports[0]) or ports[0]}: 4 ft." if ports else "")
    elif prop.typical:
        words.append(f"Typical: {typical_text(prop)}.")
    elif prop.default is not None and prop.type in ("quantity", "number", "integer"):
        words.append(f"Usually {in_system(typed.to_text(prop, prop.default), prop.dimension, system)}.")
    if prop.type in typed.LONG_TYPES:
        words.append("One entry a line.")
    return " ".join(word for word in words if word)


def typical_text(prop: Property) -> str:
    """The typical value as one would type it here."""
    import json

    try:
        raw = json.loads(prop.typical)
    except ValueError:
        return spellings.readable(prop.typical)
    return typed.to_text(prop, raw).replace("\n", "; ")


def _placeholder(prop: Property, system: str) -> str:
    if prop.default is not None and prop.default != {}:
        return in_system(typed.to_text(prop, prop.default), prop.dimension, system)
    return ""


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


# ---- pipes -------------------------------------------------------------------------


def pipe_sections(plant: Plant, pipe: Pipe) -> list[Section]:
    """System, tube, length and what is on it."""
    name = pipe.id
    low, high, usual = (
        in_system(end, "temperature", plant.units) for end in ("-60 degC", "250 degC", "20 degC")
    )
    around = f"From {low} to {high}; by default the site's indoors. Typical: {usual}."
    rows = (
        _text_row(name, "label", "Label", "A name of your own."),
        _system_row(plant, name),
        replace(_pipe_row(name, "tube", "Tube", _tube_of, _set_tube, "pick", TUBE_HINT), choices=tubes()),
        _text_row(name, "length", "Length", LENGTH_HINT, "length"),
        _fittings_row(name),
    )
    more = (
        replace(_pipe_row(name, "k", "Extra loss K", _k_of, _set_k, hint=K_HINT), dimensions=("number",)),
        *_insulation_rows(name, plant.units == "si"),
        _text_row(name, "around", "Temperature around it", around, "temperature"),
        _text_row(
            name, "straight", "Straight run", "Straight length, for a second pump or a meter.", "length"
        ),
        _joined_row(name),
    )
    note = replace(_text_row(name, "note", "Note", "Anything worth keeping."), shape="lines")
    return [Section("", rows), Section(MORE, (*more, note, _stage_row(name)), folded=True)]


NEW_SYSTEM = "+"


def _system_row(plant: Plant, name: str) -> Row:
    def write(plant: Plant, text: str) -> list[Change]:
        if text == NEW_SYSTEM:
            return systems.assign_fresh(plant, name)
        return systems.assign(plant, name, text)

    choices = (*((key, key) for key in plant.systems), ("A new system", NEW_SYSTEM))
    hint = "The body of water it belongs to. All pipes on the same water follow."
    return Row("system", "System", lambda p: p.pipes[name].system, write, "choice", choices, hint=hint)


def _pipe_row(
    name: str,
    key: str,
    words: str,
    read: Callable[[Pipe], str],
    write: Callable[[Pipe, str], Pipe],
    shape: Shape = "line",
    hint: str = "",
) -> Row:
    return Row(
        key,
        words,
        lambda plant: read(plant.pipes[name]),
        lambda plant, text: [ReplacePipe(write(plant.pipes[name], text))],
        shape,
        hint=hint,
    )


def _text_row(name: str, key: str, words: str, hint: str, dimension: str | None = None) -> Row:
    """A field whose absence is None (or the empty text of label and note)."""

    def write(pipe: Pipe, text: str) -> Pipe:
        said = guess_or(text.strip(), lambda plain: spellings.quantity(plain, dimension))
        fresh: dict[str, Any] = {key: said or ("" if key in ("label", "note") else None)}
        return replace(pipe, **fresh)

    row = _pipe_row(name, key, words, lambda pipe: _shown_text(getattr(pipe, key)), write, hint=hint)
    dimensions = (dimension,) if dimension else ()
    return replace(row, beside=lambda text: other_units(text, dimension), dimensions=dimensions)


def _shown_text(raw: str | None) -> str:
    return guess_shown(raw) or spellings.readable(raw or "")


def _tube_of(pipe: Pipe) -> str:
    return typed.tube_text(pipe.tube) if pipe.tube is not None else ""


def _set_tube(pipe: Pipe, text: str) -> Pipe:
    """A size alone is another size of the tube that is there."""
    text = text.strip()
    material = (pipe.tube or {}).get("material")
    if material and re.fullmatch(r"[\d./ ]+(in|mm|\")?", text):
        text = spoken_tube(str(material), text)
    return replace(pipe, tube=typed.tube_from_text(text) if text else None)


LENGTH_HINT = "Developed length, fittings not counted in; 0 or more. Typical: 6 ft."
K_HINT = "Besides the fittings, referred to its bore; 0 or more. Typical: 0."
TUBE_HINT = "Size and material, such as 3/4 in Type L copper or 1/2 in PEX; or bore 20 mm."


@cache
def tubes() -> tuple[tuple[str, str], ...]:
    """Every tube of the catalogue, to pick from."""
    words = [spoken_tube(name, size) for name in materials() for size in sizes(name)]
    return tuple((word, word) for word in words)


def _k_of(pipe: Pipe) -> str:
    return guess_shown(pipe.k) or f"{pipe.k:g}"


def _set_k(pipe: Pipe, text: str) -> Pipe:
    return replace(pipe, k=guess_or(text.strip(), units.parse_number) if text.strip() else 0.0)


def _fittings_row(name: str) -> Row:
    from core.media.fittings import FITTINGS

    def write(pipe: Pipe, text: str) -> Pipe:
        counts: dict[str, int] = {}
        for word, count in typed.pairs_from_text(text).items():
            number = units.parse_number(count)
            if not float(number).is_integer():
                raise Refusal("", f'"{count}"', "a whole number of fittings")
            counts[word.replace(" ", "_")] = int(number)
        return replace(pipe, fittings=counts)

    def read(pipe: Pipe) -> str:
        return typed.pairs_text({word.replace("_", " "): count for word, count in pipe.fittings.items()})

    known = ", ".join(word.replace("_", " ") for word in FITTINGS)
    hint = f"One a line, such as elbow 90: 2. Known: {known}."
    return _pipe_row(name, "fittings", "Fittings", read, write, "lines", hint)


def _insulation_rows(name: str, si: bool) -> tuple[Row, ...]:
    def part(pipe: Pipe, key: str) -> str:
        return spellings.readable(str((pipe.insulation or {}).get(key, "")))

    def put(pipe: Pipe, key: str, text: str) -> Pipe:
        kept: Mapping[str, Any] = pipe.insulation or {}
        fresh = {other: value for other, value in kept.items() if other != key}
        if text.strip():
            fresh[key] = spellings.quantity(text.strip(), "length" if key == "thickness" else "conductivity")
            if key == "loss":
                fresh = {"loss": fresh[key]}
            else:
                fresh.pop("loss", None)
        return replace(pipe, insulation=fresh or None)

    words = (
        ("thickness", "Insulation", "Thickness. Typical: 1/2 in. Empty: no heat loss is computed.", "length"),
        ("conductivity", "Insulation k-value", "Heat it conducts. Usually 0.040 W/m/K.", None),
        ("loss", "Heat loss", "Heat lost per length and degree, in place of thickness: 0.5 W/m/K.", None),
    )

    def row(key: str, title: str, hint: str, dimension: str | None) -> Row:
        made = _pipe_row(
            name,
            f"insulation.{key}",
            title,
            lambda pipe: part(pipe, key),
            lambda pipe, text: put(pipe, key, text),
            hint=hint,
        )
        usual = {"length": "mm" if si else "in"}.get(dimension or "", "W/m/K")
        dimensions = ("length" if dimension else "conductivity",)
        return replace(
            made, beside=lambda text: other_units(text, dimension), dimensions=dimensions, usual=f"1 {usual}"
        )

    return tuple(row(*each) for each in words)


def _joined_row(name: str) -> Row:
    def write(pipe: Pipe, text: str) -> Pipe:
        if text:
            return replace(pipe, joined=text, tube=None, length=None, fittings={}, k=0.0, insulation=None)
        return replace(pipe, joined="", tube={"material": "copper_l", "size": "3/4 in"}, length="1 ft")

    row = _pipe_row(name, "joined", "Joined", lambda pipe: pipe.joined, write)
    choices = (("By a pipe", ""), ("Flange to flange", "flanged"))
    return replace(row, shape="choice", choices=choices, hint="Flange to flange: no tube between, no loss.")
