"""Version 1 to 2: nothing is spelled otherwise, but several figures mean something else."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

CHANGED = (
    "This file is of version 1. Capacities, loads cut short, stats that cycle and linked units are computed "
    "anew in version 2, so figures may differ: logbook and findings let stand are judged again."
)


def corrected_meanings(data: Mapping[str, Any]) -> tuple[Mapping[str, Any], list[str]]:
    """The same data, and one note that meanings changed."""
    return data, [CHANGED]
