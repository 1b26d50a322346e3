"""Plants to text: keys in a stable order, one item or pipe a line, so that two versions compare well."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Mapping
from typing import Any

from core.plant.model import Case, Item, Pipe, Plant, System
from core.plant.setting_rules import SHEET
from core.vocabulary import KINDS
from core.vocabulary.document import SITE
from core.vocabulary.guesses import plain_data

# Characters that would turn the reading order of the file itself are written as escapes.
_HIDDEN = re.compile("[\u007f-\u009f\u061c\u200b-\u200f\u2028-\u202e\u2060-\u206f\ufeff]")


def dumps(plant: Plant) -> str:
    """The whole plant as text of a plant file."""
    lines = [
        f'{{"format": "wetside-plant", "version": {plant.version}, "title": {_json(plant.title)}, '
        + (f'"revision": {_json(plant.revision)}, ' if plant.revision else "")
        + f'"units": {_json(plant.units)},',
        f' "site": {_json(plain_data(_ordered(plant.site, SITE)))},',
        *([f' "sheet": {_json(_ordered(plant.sheet, SHEET))},'] if plant.sheet else []),
        f' "systems": {_object_lines(plant.systems.values())},',
        f' "items": {_list_lines(item_data(item) for item in plant.items.values())},',
        f' "pipes": {_list_lines(pipe_data(pipe) for pipe in plant.pipes.values())},',
        f' "cases": {_list_lines(case_data(case) for case in plant.cases)},',
        *([f' "profiles": {_map_lines(plant.profiles)},'] if plant.profiles else []),
        *([f' "runs": {_list_lines(plant.runs)},'] if plant.runs else []),
        *([f' "curves": {_list_lines(plant.curves)},'] if plant.curves else []),
        f' "texts": {_list_lines(plant.texts)},',
        f' "logbook": {_list_lines(plant.logbook)},',
        f' "readings": {_list_lines(plant.readings)},',
        f' "accepted": {_list_lines(plant.accepted)}{"" if plant.remarks else "}"}'
        + (f',\n "remarks": {_list_lines(plant.remarks)}}}' if plant.remarks else ""),
    ]
    return "\n".join(lines) + "\n"


def _json(value: Any) -> str:
    text = json.dumps(value, ensure_ascii=False, allow_nan=False)
    return text if text.isascii() else _HIDDEN.sub(lambda match: f"\\u{ord(match.group()):04x}", text)


def _ordered(data: Mapping[str, Any], order: Iterable[str]) -> dict[str, Any]:
    return {key: data[key] for key in order if key in data}


def _list_lines(entries: Iterable[Any]) -> str:
    lines = [f"  {_json(entry)}" for entry in entries]
    return "[\n" + ",\n".join(lines) + "]" if lines else "[]"


def _object_lines(systems: Iterable[System]) -> str:
    lines = [f"  {_json(system.name)}: {_json(system_data(system))}" for system in systems]
    return "{\n" + ",\n".join(lines) + "}" if lines else "{}"


def _map_lines(entries: Mapping[str, Any]) -> str:
    return "{\n" + ",\n".join(f"  {_json(key)}: {_json(value)}" for key, value in entries.items()) + "}"


def system_data(system: System) -> dict[str, Any]:
    """A system as JSON data."""
    data: dict[str, Any] = {"use": system.use, "fluid": system.fluid}
    if system.fill_pressure is not None:
        data["fill_pressure"] = system.fill_pressure
    if system.still_ok_days is not None:
        data["still_ok_days"] = system.still_ok_days
    return data


def item_data(item: Item) -> dict[str, Any]:
    """An item as JSON data; properties in the order of the table, what is as by default left out."""
    data: dict[str, Any] = {"id": item.id, "kind": item.kind, "at": list(item.at)}
    data.update(_unlike({"turn": item.turn, "flip": item.flip, "label": item.label, "note": item.note}))
    if item.stage != "drawn":
        data["stage"] = item.stage
    if item.props:
        data["props"] = plain_data(_ordered(item.props, KINDS[item.kind].properties))
    return data


def _unlike(data: Mapping[str, Any]) -> dict[str, Any]:
    """Entries that are not empty, nothing or false."""
    return {key: value for key, value in data.items() if value}


def pipe_data(pipe: Pipe) -> dict[str, Any]:
    """A pipe as JSON data; what is as by default left out."""
    data: dict[str, Any] = {
        "id": pipe.id,
        "from": list(pipe.start),
        "to": list(pipe.end),
        "system": pipe.system,
        "tube": plain_data(pipe.tube),
        "length": plain_data(pipe.length),
        "fittings": pipe.fittings or None,
        "k": plain_data(pipe.k) if pipe.k else None,
        "joined": pipe.joined or None,
        "straight": plain_data(pipe.straight),
        "insulation": plain_data(pipe.insulation),
        "around": plain_data(pipe.around),
        "via": [list(point) for point in pipe.via] or None,
        "label": pipe.label or None,
        "note": pipe.note or None,
        "stage": pipe.stage if pipe.stage != "drawn" else None,
    }
    return {key: value for key, value in data.items() if value is not None}


def case_data(case: Case) -> dict[str, Any]:
    """A case as JSON data; what is as by default left out."""
    data: dict[str, Any] = {
        "name": case.name,
        "outdoor": case.outdoor,
        "signals": case.signals or None,
        "draws": case.draws or None,
        "tanks": case.tanks or None,
        "set": plain_data(case.set) or None,
        "lasts": case.lasts,
        "start": case.start or None,
        "season": case.season or None,
        "hours_per_year": case.hours_per_year,
        "note": case.note or None,
    }
    return {key: value for key, value in data.items() if value is not None}
