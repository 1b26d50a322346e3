"""What is otherwise in one case, as lines to edit: `P-1 speed: 0.5`, `L-1 length: 40 ft`. No widgets."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Any

from core import units
from core.errors import Refusal
from core.forms import typed
from core.forms.guess_text import guess_or, guess_shown
from core.forms.rows import dimensions_of, spoken
from core.forms.tables import Column, Table, one_table, pairs_table
from core.plant.as_set import OUT_OF_SERVICE, PIPE_SETTABLE
from core.plant.model import Case, Plant
from core.vocabulary import KINDS, Property, nearest, spellings

LISTED_OF_PIPE = ("length", "tube")  # what else a case may set of a pipe is typed
_PIPE_DIMENSIONS = {"length": "length", "straight": "length", "around": "temperature"}


def set_text(plant: Plant, case: Case) -> str:
    """One line for each property that the case sets."""
    return "\n".join(f"{_said(name, key)}: {value}" for (name, key), value in _shown(plant, case).items())


def read_set(plant: Plant, case: Case, text: str) -> Case:
    """The case with its lines as edited; what a line says as before is kept as it stands in the file.

    Raises
    ------
    Refusal
        A line that names no item or pipe, or none of its properties
    """
    before = _shown(plant, case)
    fresh: dict[str, dict[str, Any]] = {}
    for line in (one.strip() for one in text.splitlines()):
        if not line:
            continue
        head, colon, value = line.partition(":")
        name, _, words = head.strip().partition(" ")
        if not colon or not words:
            raise Refusal(
                "", f'"{line}"', "a tag, a property, a colon and a value", "Such as P-1 speed: 0.5."
            )
        key = _property(plant, name, words.strip())
        if key in fresh.get(name, {}):
            raise Refusal("", f'"{head.strip()}" twice', "each property once")
        value = value.strip()
        same = before.get((name, key)) == value
        raw = case.set[name][key] if same else _read(plant, name, key, value)
        fresh.setdefault(name, {})[key] = raw
    return _with(case, fresh, [name for name, values in case.set.items() if values.get(OUT_OF_SERVICE)])


def set_table(plant: Plant) -> Table:
    """What may be otherwise: a list of everything that a case may set, and a value for it."""
    listed = [
        _said(item.id, key)
        for item in plant.items.values()
        for key, prop in item.kind_info.properties.items()
        if not prop.safety
    ]
    listed += [_said(name, key) for name in plant.pipes for key in LISTED_OF_PIPE]
    table = pairs_table("Of what", Column("Is", example="0.5"), listed, "line", "B-1 set temperature")
    return replace(table, parts=_Values(plant))


class _Values(Mapping[str, Column]):
    """The cell for the value of each `TAG property`, made when it is asked for."""

    def __init__(self, plant: Plant) -> None:
        self._plant = plant

    def __getitem__(self, said: str) -> Column:
        name, _, words = said.strip().partition(" ")
        try:
            key = _property(self._plant, name, words.strip())
        except Refusal:
            raise KeyError(said) from None
        prop = _of(self._plant, name, key)
        kind = _PIPE_DIMENSIONS.get(key)
        return Column("Is", dimensions_of(prop) if prop is not None else (kind,) if kind else ())

    def __iter__(self) -> Iterator[str]:
        return iter(())

    def __len__(self) -> int:
        return 0


def out_table(plant: Plant) -> Table:
    """Tags of items and pipes, one a row."""
    return one_table("Tag", [*plant.items, *plant.pipes], "tag")


def out_text(case: Case) -> str:
    """Ids that are out of service in the case, one a line."""
    return "\n".join(name for name, values in case.set.items() if values.get(OUT_OF_SERVICE))


def read_out(plant: Plant, case: Case, text: str) -> Case:
    """The case with other items and pipes out of service."""
    names = [one.strip() for one in text.replace("\n", ",").split(",") if one.strip()]
    for name in names:
        if name not in plant.items and name not in plant.pipes:
            raise Refusal(
                "", f'"{name}"', "tags of items or pipes", nearest(name, [*plant.items, *plant.pipes])
            )
    kept = {
        name: {key: raw for key, raw in values.items() if key != OUT_OF_SERVICE}
        for name, values in case.set.items()
    }
    return _with(case, kept, names)


def start_text(case: Case) -> str:
    """One line for each room or tank that starts at a temperature of its own."""
    return "\n".join(f"{name}: {spellings.readable(t)}" for name, t in case.start.items())


def read_start(case: Case, text: str) -> Case:
    """The case with other temperatures at its start."""
    pairs = typed.pairs_from_text(text)
    return replace(case, start={name: spellings.quantity(t, "temperature") for name, t in pairs.items()})


def _with(case: Case, values: Mapping[str, Mapping[str, Any]], out: list[str]) -> Case:
    order = dict.fromkeys((*case.set, *values, *out))
    merged = {
        name: {**values.get(name, {}), **({OUT_OF_SERVICE: True} if name in out else {})} for name in order
    }
    return replace(case, set={name: one for name, one in merged.items() if one})


def _shown(plant: Plant, case: Case) -> dict[tuple[str, str], str]:
    return {
        (name, key): _text(plant, name, key, raw)
        for name, values in case.set.items()
        for key, raw in values.items()
        if key != OUT_OF_SERVICE
    }


def _said(name: str, key: str) -> str:
    words = spoken(key)
    return f"{name} {words[:1].lower()}{words[1:]}"


def _known(plant: Plant, name: str) -> tuple[str, ...]:
    if name in plant.items:
        return tuple(KINDS[plant.items[name].kind].properties)
    if name in plant.pipes:
        return PIPE_SETTABLE
    near = nearest(name, [*plant.items, *plant.pipes])
    raise Refusal("", f'"{name}"', "the tag of an item or pipe", near)


def _property(plant: Plant, name: str, words: str) -> str:
    """The property that some words name: its label, or its name in the file."""
    known = _known(plant, name)
    folded = {spoken(key).casefold(): key for key in known} | {key.replace("_", " "): key for key in known}
    plain = words.casefold().replace("_", " ")
    if plain not in folded:
        raise Refusal("", f'"{words}"', f"a property of {name}", nearest(plain, folded))
    return folded[plain]


def _of(plant: Plant, name: str, key: str) -> Property | None:
    return KINDS[plant.items[name].kind].properties[key] if name in plant.items else None


def _text(plant: Plant, name: str, key: str, raw: Any) -> str:
    prop = _of(plant, name, key)
    if prop is not None:
        return typed.to_text(prop, raw).replace("\n", "; ")
    if key == "tube":
        return typed.tube_text(raw)
    if isinstance(raw, Mapping):
        return typed.pairs_text(raw).replace("\n", "; ")
    return guess_shown(raw) or spellings.readable(f"{raw:g}" if isinstance(raw, float) else str(raw))


def _read(plant: Plant, name: str, key: str, text: str) -> Any:
    prop = _of(plant, name, key)
    if prop is not None:
        return typed.from_text(prop, text.replace("; ", "\n") if prop.type in typed.LONG_TYPES else text)
    if key == "tube":
        return typed.tube_from_text(text)
    if key in _PIPE_DIMENSIONS:
        return guess_or(text, lambda plain: spellings.quantity(plain, _PIPE_DIMENSIONS[key]))
    if key == "k":
        return guess_or(text, units.parse_number)
    if key == "fittings":
        return {word: int(units.parse_number(count)) for word, count in _pairs(text)}
    if key == "insulation":
        return {
            word: spellings.quantity(value, "length" if word == "thickness" else "conductivity")
            for word, value in _pairs(text)
        }
    return text


def _pairs(text: str) -> list[tuple[str, str]]:
    return list(typed.pairs_from_text(text.replace("; ", "\n")).items())
