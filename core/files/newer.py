"""Plant files of a newer version: what of them can be read by this one, and what was left out.

Shown as far as it is understood and never written over.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from typing import Any

from core.errors import Refusal
from core.vocabulary import KINDS
from core.vocabulary.values import under

MOST_LEFT_OUT = 400
_STEP = re.compile(r'\[(\d+)\]|\["((?:[^"\\]|\\.)*)"\]|([^.\[\]]+)')

Known = Mapping[str, Iterable[str]]
"""Part of the file ("", "items", "pipes", "cases") -> the keys this program knows there."""


def without_unknown(data: Mapping[str, Any], known: Known) -> tuple[dict[str, Any], list[str]]:
    """The data less all keys, kinds and properties nobody here knows; and the places of those.

    Only what is plain to see; whatever else the reader refuses is taken out by `without`.
    """
    gone: list[str] = []

    def kept(one: Any, keys: Iterable[str], path: str) -> Any:
        if not isinstance(one, Mapping):
            return one
        names = set(keys)
        gone.extend(under(path, key) for key in one if key not in names)
        return {key: value for key, value in one.items() if key in names}

    out = kept(data, known[""], "")
    for part in ("items", "pipes", "cases"):
        if not isinstance(out.get(part), list):
            continue
        fresh = []
        for number, one in enumerate(out[part]):
            path = f"{part}[{number}]"
            if part == "items" and isinstance(one, Mapping) and one.get("kind") not in KINDS:
                gone.append(f"{path}, a {one.get('kind')}")
                continue
            entry = kept(one, known[part], path)
            if part == "items" and isinstance(entry, dict) and "props" in entry:
                entry["props"] = kept(entry["props"], KINDS[entry["kind"]].properties, f"{path}.props")
            fresh.append(entry)
        out[part] = fresh
    return out, gone


def without(data: dict[str, Any], refusal: Refusal) -> dict[str, Any]:
    """The data less the part that a refusal names, or less what holds it where the part is only missing.

    Raises
    ------
    Refusal
        The same, where it is about the whole file
    """
    steps = _steps(refusal.path)
    while steps:
        fresh, found = _less(data, steps)
        if found and isinstance(fresh, dict):
            return fresh
        steps = steps[:-1]
    raise refusal


def _steps(path: str) -> list[str | int]:
    """`items[3].props.speed` as ["items", 3, "props", "speed"]."""
    out: list[str | int] = []
    for number, quoted, plain in _STEP.findall(path):
        out.append(int(number) if number else quoted or plain)
    return out


def _less(data: Any, steps: list[str | int]) -> tuple[Any, bool]:
    """A copy without one part, as deep as needed; and whether the part was there."""
    first, *rest = steps
    if isinstance(data, Mapping) and first in data:
        if not rest:
            return {key: value for key, value in data.items() if key != first}, True
        inner, found = _less(data[first], rest)
        return {**data, first: inner}, found
    if isinstance(data, list) and isinstance(first, int) and first < len(data):
        if not rest:
            return [*data[:first], *data[first + 1 :]], True
        inner, found = _less(data[first], rest)
        return [*data[:first], inner, *data[first + 1 :]], found
    return data, False
