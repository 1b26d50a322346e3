"""What a valid plant is, whatever made it. Not for what is unwise: that is the review."""

from __future__ import annotations

from core.errors import Refusal
from core.plant.model import Plant


def check(plant: Plant) -> list[Refusal]:
    """Everything that keeps the plant from being one, in the order of the file."""
    return []
