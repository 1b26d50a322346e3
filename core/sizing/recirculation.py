"""Hot water recirculation: the flow that makes up for what the pipes lose."""

from __future__ import annotations

from core.sizing.context import Context
from core.sizing.result import Sized


def size(context: Context) -> list[Sized]:
    """Flow each return circulator must move."""
    return []


def return_pipes(context: Context) -> frozenset[str]:
    """Pipes in which hot water runs back without being drawn."""
    return frozenset()
