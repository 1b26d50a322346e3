"""Where ids are mentioned besides pipes' ends: properties, cases, texts, records. Renames or forgets them."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any

from core.plant.changes import Change, ReplaceItem, SetPlant
from core.plant.model import Case, Item, Plant
from core.vocabulary import KINDS

Renaming = Callable[[str], str | None]
"""Gives an id's new name; None where it goes."""


def renamed(plant: Plant, naming: Renaming, skip: frozenset[str] = frozenset()) -> list[Change]:
    """Changes that carry a renaming into everything that mentions ids, items in `skip` left out."""
    changes: list[Change] = []
    for item in plant.items.values():
        if item.id not in skip:
            props = renamed_props(item, naming)
            if props != item.props:
                changes.append(ReplaceItem(replace(item, props=props)))
    values: dict[str, Any] = {
        "cases": tuple(renamed_case(case, naming) for case in plant.cases),
        "runs": tuple(_run(run, naming) for run in plant.runs),
        "texts": tuple(renamed_text(text, naming) for text in plant.texts),
        "logbook": tuple(_entry(entry, naming) for entry in plant.logbook),
        "readings": tuple(_reading(entry, naming) for entry in plant.readings),
        "remarks": tuple(_entry(entry, naming) for entry in plant.remarks),
    }
    values = {key: value for key, value in values.items() if value != getattr(plant, key)}
    return [*changes, SetPlant(values)] if values else changes


def renamed_props(item: Item, naming: Renaming) -> dict[str, Any]:
    """Properties of an item with ids renamed; what then says nothing is left out."""
    props: dict[str, Any] = {}
    for name, raw in item.props.items():
        prop = KINDS[item.kind].properties.get(name)
        kept = _raw(prop.type if prop else "", raw, naming)
        if kept is not None:
            props[name] = kept
    return props


def _raw(kind_of: str, raw: Any, naming: Renaming) -> Any:
    match kind_of:
        case "signals":
            return _signals(raw, naming)
        case "item":
            return naming(raw)
        case "items":
            if isinstance(raw, str):
                return naming(raw)
            return [name for name in map(naming, raw) if name is not None] or None
        case "place":
            return _place(raw, naming)
        case "places":
            places = [_place(one, naming) for one in raw]
            return None if None in places else places
    return raw


def _place(raw: Any, naming: Renaming) -> list[Any] | None:
    name = naming(raw[0])
    return None if name is None else [name, *raw[1:]]


def _signals(raw: Any, naming: Renaming) -> Any:
    """A signal expression with names renamed; a part whose every name is gone goes with them."""
    if isinstance(raw, str):
        return naming(raw)
    if not isinstance(raw, Mapping):
        return raw
    word, part = next(iter(raw.items()))
    if word == "not":
        inner = _signals(part, naming)
        return None if inner is None else {"not": inner}
    parts = [one for one in (_signals(one, naming) for one in part) if one is not None]
    return {word: parts} if parts or not part else None


def _keys(raw: Mapping[str, Any], naming: Renaming) -> dict[str, Any]:
    return {name: value for key, value in raw.items() if (name := naming(key)) is not None}


def renamed_case(case: Case, naming: Renaming) -> Case:
    """What a case says of the things that keep a name, under that name."""
    return replace(
        case,
        signals=_keys(case.signals, naming),
        draws=_keys(case.draws, naming),
        tanks=_keys(case.tanks, naming),
        set=_keys(case.set, naming),
        start=_keys(case.start, naming),
    )


def _run(run: Mapping[str, Any], naming: Renaming) -> Mapping[str, Any]:
    """What a run says of fixtures, rooms and tanks, under the names they keep."""
    return {
        key: _keys(raw, naming) if key in ("draws", "gains", "start") else raw for key, raw in run.items()
    }


def renamed_text(text: Mapping[str, Any], naming: Renaming) -> Mapping[str, Any]:
    """A text on the board; one whose leader leads to what is gone keeps its words."""
    lead = text.get("lead_to")
    if not isinstance(lead, str):
        return text
    name = naming(lead)
    if name is None:
        return {key: value for key, value in text.items() if key != "lead_to"}
    return {**text, "lead_to": name}


def _entry(entry: Mapping[str, Any], naming: Renaming) -> Mapping[str, Any]:
    """A logbook entry keeps an id that is gone: it tells of that day."""
    at = entry.get("at")
    if isinstance(at, str):
        return {**entry, "at": naming(at) or at}
    return {**entry, "at": [naming(one) or one for one in at]} if at else entry


def _reading(entry: Mapping[str, Any], naming: Renaming) -> Mapping[str, Any]:
    """So does a reading; after the id it may name a port."""
    at = entry["at"]
    if isinstance(at, str):
        return {**entry, "at": naming(at) or at}
    return {**entry, "at": [naming(at[0]) or at[0], *at[1:]]} if at else entry
