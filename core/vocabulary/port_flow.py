"""Which way water passes a port, as far as its name and what its item does tell it: in, out, or either."""

from __future__ import annotations

from typing import Literal

from core.vocabulary.kinds import KINDS
from core.vocabulary.traits import Trait

Flow = Literal["in", "out", ""]
_TANK: dict[str, Flow] = {"cold": "in", "hot": "out", "supply": "in", "return": "out"}


def flow_at(kind: str, port: str) -> Flow:
    """Where water goes at a port when the item does its work.

    Examples
    --------
    >>> flow_at("boiler", "out"), flow_at("exchanger", "b_in"), flow_at("mixing_valve", "mixed")
    ('out', 'in', 'out')
    >>> flow_at("tank", "cold"), flow_at("cold_main", "at"), flow_at("joint", "at")
    ('in', 'out', '')
    """
    has = KINDS[kind].has
    if has(Trait.BRINGS_WATER):
        return "out"
    if has(Trait.USES_WATER) or has(Trait.DRAWS_WATER):
        return "in"
    if "ab" in KINDS[kind].ports:
        return ""  # mixes or parts, as it is piped
    if has(Trait.STORES_HEAT) and port in _TANK:
        return _TANK[port]
    if has(Trait.TEMPERS) and port in ("hot", "cold", "mixed"):
        return "out" if port == "mixed" else "in"
    last = port.rpartition("_")[2]
    if last in ("in", "a"):
        return "in"
    return "out" if last in ("out", "b") else ""
