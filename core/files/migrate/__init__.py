"""Older plant files to today's: one step a version, each telling the user what it did. Not for newer ones.

A step is a function of one module in this package: JSON data of one version in, JSON data of the next and
notes out. It is entered in `STEPS` under the version it reads.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from core.files.migrate.from_1 import corrected_meanings

VERSION = 2
"""What this program writes."""

Data = Mapping[str, Any]
Step = Callable[[Data], tuple[Data, list[str]]]

STEPS: dict[int, Step] = {1: corrected_meanings}
"""Version a step reads -> the step to the next version."""


def oldest(steps: Mapping[int, Step] | None = None) -> int:
    """The oldest version that can be brought up to today's."""
    known = STEPS if steps is None else steps
    version = VERSION
    while version - 1 in known:
        version -= 1
    return version


def migrated(data: Data, steps: Mapping[int, Step] | None = None) -> tuple[Data, tuple[str, ...]]:
    """Data of any version up to today's as data of today's, and notes for the user.

    The `version` of the data must be a whole number not below `oldest`; newer data come back as they are.
    """
    known = STEPS if steps is None else steps
    notes: list[str] = []
    while data["version"] < VERSION:
        version = data["version"]
        data, said = known[version](data)
        data = {**data, "version": version + 1}
        notes += said
    return data, tuple(notes)
