"""Short ways to change a plant in a test, past the gestures and forms of the window."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from core.plant.changes import AddItem, Change, ReplaceItem
from core.plant.edits import Point, new_item
from core.plant.model import Plant


def inserted(plant: Plant, kind: str, at: Point, **more: Any) -> list[Change]:
    """A new item on the board, with a fresh tag."""
    return [AddItem(new_item(plant, kind, at, **more))]


def with_fields(plant: Plant, name: str, **fields: Any) -> list[Change]:
    """Label, note, stage, turn, flip or place of an item set."""
    return [ReplaceItem(replace(plant.items[name], **fields))]
