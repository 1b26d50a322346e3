"""`wetside kinds [--json]`: every kind with its ports and properties, ranges, defaults and meaning."""

from __future__ import annotations

import json
import textwrap
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from core import units
from core.commands.arguments import Arguments
from core.media.fittings import FITTINGS
from core.media.tubes import materials, sizes
from core.vocabulary import GROUPS, KINDS, Kind, Property, ports_of
from core.vocabulary.document import CASE, FLUID, INSULATION, PIPE, SITE, STAGES, SYSTEM
from core.vocabulary.figures import PIPE_FIGURES, Figure
from core.vocabulary.properties import SAFETY, WETTED

_SHARED = {prop.name for prop in (*WETTED, *SAFETY)}
_DOCUMENT: Mapping[str, Mapping[str, Property]] = {
    "PIPES": PIPE,
    "INSULATION of pipes": INSULATION,
    "SITE": SITE,
    "SYSTEMS": SYSTEM,
    "FLUID of a system": FLUID,
    "CASES": CASE,
}
_WIDTH = 110
_NO_BREAK = "\u00a0"


def run(argv: list[str]) -> int:
    """Print the table as text, or as JSON."""
    parser = Arguments("wetside kinds", description="Print the table of kinds.", allow_abbrev=False)
    parser.add_argument("--json", action="store_true", help="as data")
    if parser.parse_args(argv).json:
        print(json.dumps(table(), ensure_ascii=False, indent=1, allow_nan=False))
    else:
        print("\n".join(_text()))
    return 0


def table() -> dict[str, Any]:
    """The whole table as data, with the units and what pipes, tubes and fluids may be."""
    return {
        "kinds": {name: _kind_data(kind) for name, kind in KINDS.items()},
        "pipe": {
            "figures": {one.key: _figure_data(one) for one in PIPE_FIGURES},
            "properties": _table_data(PIPE),
        },
        "insulation": {"properties": _table_data(INSULATION)},
        "site": {"properties": _table_data(SITE)},
        "system": {"properties": _table_data(SYSTEM)},
        "fluid": {"properties": _table_data(FLUID)},
        "case": {"properties": _table_data(CASE)},
        "dimensions": {name: list(names) for name, names in units.DIMENSIONS.items()},
        "tubes": {material: list(sizes(material)) for material in materials()},
        "fittings": {name: fitting.words for name, fitting in FITTINGS.items()},
        "stages": list(STAGES),
        "guess": {
            "meaning": "In place of a quantity or number of an item, pipe or the site: used like it, but "
            "remembered as a guess. within is a share of the value; for a temperature a difference.",
            "typical": {"guess": "6 ft", "within": 0.3},
            "typical_temperature": {"guess": "48 degF", "within": "3 K"},
        },
    }


def _kind_data(kind: Kind) -> dict[str, Any]:
    return {
        "title": kind.title,
        "group": kind.group,
        "meaning": kind.help,
        "solved": kind.solved,
        "ports": list(ports_of(kind.name, {})),
        "ports_free": kind.free_ports,
        "traits": sorted(trait.value for trait in kind.traits),
        "figures": {one.key: _figure_data(one) for one in kind.figures},
        "properties": _table_data(kind.properties),
    }


def _table_data(table: Mapping[str, Property]) -> dict[str, Any]:
    return {name: _property_data(prop) for name, prop in table.items()}


def _figure_data(figure: Figure) -> dict[str, Any]:
    data = {"title": figure.title, "dimension": figure.dimension, "meaning": figure.help}
    return {key: value for key, value in data.items() if value}


def _property_data(prop: Property) -> dict[str, Any]:
    data: dict[str, Any] = {
        "type": prop.type,
        "dimension": prop.dimension,
        "default": prop.default,
        "range": None if prop.low is None and prop.high is None else [prop.low, prop.high],
        "typical": prop.typical or None,
        "choices": list(prop.choices) or None,
        "columns": list(prop.columns) or None,
        "fields": dict(prop.fields) or None,
        "required": list(prop.required) or None,
        "unknown_allowed": prop.safety,
        "meaning": prop.help,
    }
    return {key: value for key, value in data.items() if value is not None}


def _text() -> Iterator[str]:
    for group in GROUPS:
        yield group.upper()
        yield ""
        for kind in KINDS.values():
            if kind.group == group:
                yield from _kind_text(kind)
    yield "PROPERTIES OF EVERY ITEM WITH WATER IN IT"
    yield from _properties_text({prop.name: prop for prop in WETTED})
    yield ""
    yield "SAFETY PROPERTIES OF EVERY ITEM"
    yield from _properties_text({prop.name: prop for prop in SAFETY})
    yield ""
    for title, table in _DOCUMENT.items():
        yield title
        yield from _properties_text(table)
        yield ""
    yield "TUBES of pipes and circuits, by size; or a bore with roughness and outside"
    for material in materials():
        yield from _listed(material, sizes(material))
    yield ""
    yield "FITTINGS that a pipe may carry"
    for name, fitting in FITTINGS.items():
        yield f"  {name:24}{fitting.words}"
    yield ""
    yield "UNITS"
    for name, known in units.DIMENSIONS.items():
        yield from _listed(name, known)


def _listed(name: str, words: Sequence[str]) -> Iterator[str]:
    whole = ", ".join(word.replace(" ", _NO_BREAK) for word in words)
    for number, line in enumerate(textwrap.wrap(whole, _WIDTH - 26)):
        yield f"  {'' if number else name:24}{line.replace(_NO_BREAK, ' ')}"


def _kind_text(kind: Kind) -> Iterator[str]:
    free = kind.free_ports
    ports = ", ".join((*kind.ports, *([free] if free else ()))) or "none"
    unsolved = "" if kind.solved else " Drawn and kept, not solved yet."
    yield f"{kind.name} ({kind.title}); ports: {ports}"
    yield from textwrap.wrap(kind.help + unsolved, _WIDTH, initial_indent="  ", subsequent_indent="  ")
    own = {name: prop for name, prop in kind.properties.items() if name not in _SHARED}
    yield from _properties_text(own)
    yield ""


def _properties_text(properties: Mapping[str, Property]) -> Iterator[str]:
    for name, prop in properties.items():
        facts = "; ".join(_facts(prop))
        lines = textwrap.wrap(f"{facts}. {prop.help}", _WIDTH - 24)
        yield f"    {name:20}{lines[0]}"
        for line in lines[1:]:
            yield " " * 24 + line


def _facts(prop: Property) -> Iterator[str]:
    yield _what(prop)
    if prop.low is not None or prop.high is not None:
        yield f"{_bound(prop.low)} to {_bound(prop.high)}"
    if prop.default is not None:
        yield f"default {_plain(prop.default)}"
    if prop.typical:
        yield f"e.g. {prop.typical}"
    if prop.safety:
        yield "or unknown"


def _what(prop: Property) -> str:
    if prop.type == "quantity":
        return units.words(prop.dimension or "")
    if prop.type == "lift":
        return units.words("lift")
    if prop.choices:
        return ("one of " if prop.type == "choice" else "text, such as ") + ", ".join(prop.choices)
    if prop.columns:
        return "list of [" + ", ".join(_column(one) for one in prop.columns) + "]"
    if prop.fields:
        return "object {" + ", ".join(prop.fields) + "}"
    return _TYPES[prop.type]


def _column(dimension: str) -> str:
    return "number" if dimension == "number" else units.words(dimension).removeprefix("a ")


def _bound(raw: Any) -> str:
    return raw if isinstance(raw, str) else f"{raw:,g}" if raw < 1e6 else f"{raw:,.0f}"


def _plain(raw: Any) -> str:
    return raw if isinstance(raw, str) else json.dumps(raw)


_TYPES = {
    "target": "a difference of temperature, a head or a pressure",
    "number": "number",
    "integer": "whole number",
    "boolean": "true or false",
    "text": "text",
    "flag_or_quantity": "true, false, or a temperature",
    "heights": "object of names, each with a length",
    "number_list": "a number, or a list of them",
    "loops": "list of lengths or [count, length]",
    "surfaces": "list of {name, area, u or r, beyond}",
    "tube": "{material, size} or {bore, roughness, outside}",
    "signals": "signal, any, all, not, true or false",
    "place": "[item or pipe, port or sensor]",
    "places": "two of [item, port]",
    "item": "id",
    "items": "id, or list of ids",
    "intervals": "list of [time of day, time of day]",
    "days": "list of days of the week",
    "number_or_quantity": "a number, or text with a unit",
    "fluid": "object {kind, …}",
    "insulation": "object {thickness, conductivity} or {loss}",
    "fittings": "object of fittings, each with a count",
    "flags": "object of ids, each true or false",
    "quantities": "object of ids, each with its value",
    "quantities_by_tap": "object of ids, each with its value or an object of taps",
    "case_set": "object of ids, each an object of properties",
}
