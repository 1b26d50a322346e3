"""Design flow of circuits, items and pipes from loads and temperature differences."""

from __future__ import annotations

from core.sizing.context import Context
from core.sizing.result import Sized
from core.working import Working


def size(context: Context) -> list[Sized]:
    """Design flow of every item that has a load, and of the items its water goes through."""
    return []


def design_flow(context: Context, name: str) -> Working | None:
    """Flow that an item or pipe must carry, [m^3/s]; None where nothing asks for any."""
    return None
