"""One table: kind to ports and properties, with dimension, range, default and meaning.

Not for solving or drawing; the door for what others may use.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from core.vocabulary.kinds import GROUPS, KINDS, SIGNAL_KINDS
from core.vocabulary.readers import default_si, signal_names, to_si
from core.vocabulary.values import is_name, nearest
from core.vocabulary.words import UNKNOWN, Kind, Lift, Property, TubeValues

__all__ = [
    "DEFAULT_TAPS",
    "GROUPS",
    "KINDS",
    "SIGNAL_KINDS",
    "UNKNOWN",
    "Kind",
    "Lift",
    "Property",
    "TubeValues",
    "default_si",
    "is_name",
    "joined_ports",
    "nearest",
    "ports_of",
    "signal_names",
    "to_si",
]

# Taps of a tank that names none: share of its inner height. From memory, common practice, no source.
DEFAULT_TAPS: Mapping[str, float] = {
    "top": 1.0,
    "hot": 0.9,
    "supply": 0.75,
    "return": 0.2,
    "cold": 0.1,
    "bottom": 0.0,
}


def ports_of(kind: str, props: Mapping[str, Any]) -> tuple[str, ...]:
    """Ports of an item: those of its kind; a tank's taps; a manifold's branches."""
    fixed = KINDS[kind].ports
    if kind in ("tank", "coil_tank"):
        taps = props.get("taps")
        return (*(DEFAULT_TAPS if taps is None else taps), *fixed)
    if kind == "manifold":
        branches = int(props.get("branches", KINDS[kind].properties["branches"].default))
        return (*fixed, *(str(number) for number in range(1, branches + 1)))
    return fixed


def joined_ports(kind: str, props: Mapping[str, Any]) -> tuple[tuple[str, ...], ...]:
    """Groups of an item's ports that one body of water runs through inside it."""
    if kind == "manifold":
        return (ports_of(kind, props),)
    if kind in ("tank", "coil_tank"):
        fixed = KINDS[kind].ports
        taps = tuple(port for port in ports_of(kind, props) if port not in fixed)
        return (taps, *KINDS[kind].joined)
    return KINDS[kind].joined
