"""The user's own texts on the board: put down, written anew, moved, led to things, taken away.

A text has no tag in the file. While the plant is open it is called by its place in the list, "text 0": with
the blank no item or pipe can be called so.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import Any

from core.plant.changes import Change, SetPlant
from core.plant.model import Plant

Point = tuple[float, float]
Lead = str | Point | None
"""Where a text's leader ends: at an item or pipe, at a place of the board, or it has none."""

_WORD = "text "


def id_of(number: int) -> str:
    """What the text of that place in the list is called."""
    return f"{_WORD}{number}"


def number_of(name: str) -> int | None:
    """The place in the list of a text so called; None for anything else.

    Examples
    --------
    >>> number_of("text 3"), number_of("P-1")
    (3, None)
    """
    number = name.removeprefix(_WORD)
    return int(number) if name.startswith(_WORD) and number.isdigit() else None


def numbers(plant: Plant, ids: Collection[str]) -> frozenset[int]:
    """Places in the list of the texts among some ids."""
    found = (number_of(name) for name in ids)
    return frozenset(number for number in found if number is not None and number < len(plant.texts))


def place_of(plant: Plant, number: int) -> Point:
    """Upper left corner of a text, as the user put it."""
    x, y = plant.texts[number]["at"]
    return float(x), float(y)


def add(plant: Plant, at: Point, words: str, lead: Lead = None) -> list[Change]:
    """One more text, the last of the list."""
    return [SetPlant({"texts": (*plant.texts, _text(at, words, lead))})]


def write(plant: Plant, number: int, words: str) -> list[Change]:
    """Other words; without any the text goes."""
    if not words.strip():
        return without(plant, [number])
    return _replaced(plant, number, {**plant.texts[number], "text": words})


def lead(plant: Plant, number: int, to: Lead) -> list[Change]:
    """Another end of the leader; None takes it away."""
    text = {key: value for key, value in plant.texts[number].items() if key != "lead_to"}
    return _replaced(plant, number, {**text, **({} if to is None else {"lead_to": _raw(to)})})


def move(plant: Plant, chosen: Collection[int], dx: float, dy: float) -> list[Change]:
    """Move texts; what their leaders lead to stays."""
    if not chosen or not (dx or dy):
        return []
    moved = [
        {**text, "at": [text["at"][0] + dx, text["at"][1] + dy]} if number in chosen else text
        for number, text in enumerate(plant.texts)
    ]
    return [SetPlant({"texts": tuple(moved)})]


def without(plant: Plant, chosen: Collection[int]) -> list[Change]:
    """Take texts away."""
    if not chosen:
        return []
    kept = tuple(text for number, text in enumerate(plant.texts) if number not in chosen)
    return [SetPlant({"texts": kept})]


def _replaced(plant: Plant, number: int, text: Mapping[str, Any]) -> list[Change]:
    return [SetPlant({"texts": (*plant.texts[:number], text, *plant.texts[number + 1 :])})]


def _text(at: Point, words: str, lead: Lead) -> dict[str, Any]:
    text: dict[str, Any] = {"at": list(at), "text": words}
    return text if lead is None else {**text, "lead_to": _raw(lead)}


def _raw(lead: str | Point) -> Any:
    return lead if isinstance(lead, str) else list(lead)
