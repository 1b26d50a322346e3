"""One table: kind to ports and properties, with dimension, range, default and meaning.

Not for solving or drawing; the door for what others may use.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from core.vocabulary.kinds import CHECK_VALVE, CIRCULATOR, GROUPS, JOINT, KINDS
from core.vocabulary.readers import default_si, signal_names, to_si
from core.vocabulary.traits import Trait
from core.vocabulary.values import is_name, nearest
from core.vocabulary.words import UNKNOWN, CaseSets, FreePorts, Kind, Lift, Property, Schedule, TubeValues

__all__ = [
    "CHECK_VALVE",
    "CIRCULATOR",
    "DEFAULT_TAPS",
    "GROUPS",
    "JOINT",
    "KINDS",
    "UNKNOWN",
    "CaseSets",
    "FreePorts",
    "Kind",
    "Lift",
    "Property",
    "Schedule",
    "Trait",
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
    of = KINDS[kind]
    if of.free_ports is FreePorts.TAPS:
        taps = props.get("taps")
        return (*(DEFAULT_TAPS if taps is None else taps), *of.ports)
    if of.free_ports is FreePorts.BRANCHES:
        branches = int(props.get("branches", of.properties["branches"].default))
        return (*of.ports, *(str(number) for number in range(1, branches + 1)))
    return of.ports


def joined_ports(kind: str, props: Mapping[str, Any]) -> tuple[tuple[str, ...], ...]:
    """Groups of an item's ports that one body of water runs through inside it."""
    of = KINDS[kind]
    if of.free_ports is FreePorts.BRANCHES:
        return (ports_of(kind, props),)
    if of.free_ports is FreePorts.TAPS:
        taps = tuple(port for port in ports_of(kind, props) if port not in of.ports)
        return (taps, *of.joined)
    return of.joined
