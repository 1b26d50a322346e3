"""The one table of kinds: ports, properties, traits, ways, roles. Not how a kind is drawn."""

from __future__ import annotations

from core.vocabulary.controls import CONTROL_KINDS
from core.vocabulary.emitters_fixtures import EMITTERS_FIXTURES
from core.vocabulary.entry import GROUPS
from core.vocabulary.fittings_gauges import CLEANING_GAUGES, FITTINGS, JOINTS
from core.vocabulary.pumps_valves import PUMPS_VALVES
from core.vocabulary.sources_tanks import SOURCES_TANKS
from core.vocabulary.words import Kind

__all__ = ["CHECK_VALVE", "CIRCULATOR", "GROUPS", "JOINT", "KINDS"]

KINDS: dict[str, Kind] = {
    kind.name: kind
    for kind in (
        *JOINTS,
        *PUMPS_VALVES,
        *FITTINGS,
        *CLEANING_GAUGES,
        *SOURCES_TANKS,
        *EMITTERS_FIXTURES,
        *CONTROL_KINDS,
    )
}

# What the program itself puts into a plant.
JOINT = "joint"
CIRCULATOR = "circulator"
CHECK_VALVE = "check_valve"
