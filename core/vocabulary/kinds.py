"""The one table of kinds: ports, properties, meaning. Not how a kind is solved or drawn."""

from __future__ import annotations

from core.vocabulary.entry import GROUPS
from core.vocabulary.making import MAKING_KINDS
from core.vocabulary.moving import CLEANING_KINDS, MOVING_KINDS
from core.vocabulary.using import CONTROL_KINDS, USING_KINDS
from core.vocabulary.words import Kind

__all__ = ["GROUPS", "KINDS", "SIGNAL_KINDS"]

KINDS: dict[str, Kind] = {
    kind.name: kind for kind in (*MOVING_KINDS, *CLEANING_KINDS, *MAKING_KINDS, *USING_KINDS, *CONTROL_KINDS)
}
SIGNAL_KINDS = frozenset({"switch", "aquastat", "thermostat", "outlet"})
