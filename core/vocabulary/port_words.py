"""What a port is called on screen: its letter or word in the file, written as one speaks it."""

from __future__ import annotations

MERE_END = "at"
"""The one port of an item that only stands at the end of a pipe, or where pipes meet: it needs no name."""


def spoken_port(port: str) -> str:
    """`a_in` -> `A in`, `ab` -> `AB`, `coil_out` -> `coil out`; a tap's own name stays; "" for a mere end."""
    if port == MERE_END:
        return ""
    first, _, rest = port.partition("_")
    letter = first.upper() if first in ("a", "b", "ab") else first
    return f"{letter} {rest.replace('_', ' ')}".strip()


def spoken_place(item: str, port: str) -> str:
    """`T-1 coil in`: an item and its port."""
    return f"{item} {spoken_port(port)}".strip()
