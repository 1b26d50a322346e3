"""What a cure can put in: a part for each word that rules name, and at which pipe of an item it goes.

How it is put in, `core.review.cures` works out.
"""

from __future__ import annotations

from typing import Literal, NamedTuple

TO_INSTALL = "to be installed"
"""How the choice of the logbook's entry ends; `core.review.installed` looks for it."""
Side = Literal["out", "in", "low", "high", "both", "all"]


class Cure(NamedTuple):
    """What is put in.

    `side` tells at which of the item's pipes: that which water leaves by, or comes in by, the lowest, the
    highest, both of them, or all; `ratings` are left "unknown".
    """

    kind: str
    side: Side
    ratings: tuple[str, ...] = ()
    mixes: bool = False
    called: str = ""


RELIEF = ("set_pressure", "capacity", "inlet_size", "discharge")
CURES: dict[str, Cure] = {
    cure.called or cure.kind.replace("_", " "): cure
    for cure in (
        Cure("check_valve", "out"),
        Cure("check_valve", "in", called="check valve at inlet"),
        Cure("shutoff", "out"),
        Cure("shutoff", "in", called="shutoff at inlet"),
        Cure("shutoff", "both", called="shutoffs"),
        Cure("service_valve", "all", called="flushing valves"),
        Cure("drain", "low"),
        Cure("air_vent", "high"),
        Cure("relief_valve", "out", RELIEF, called="relief"),
        Cure("relief_valve", "out", (*RELIEF, "set_temperature"), called="temperature relief"),
        Cure("expansion_tank", "in", ("max_pressure",), called="expansion"),
        Cure("expansion_tank", "in", ("max_pressure", "potable"), called="potable expansion"),
        Cure("strainer", "in"),
        Cure("purge_set", "in"),
        Cure("gauge", "in"),
        Cure("thermometer", "out"),
        Cure("flow_meter", "in"),
        Cure("air_separator", "out"),
        Cure("dirt_separator", "in"),
        Cure("backflow_preventer", "in", called="backflow"),
        Cure("pressure_reducer", "in"),
        Cure("vacuum_breaker", "high"),
        Cure("heat_trap", "out"),
        Cure("balance_valve", "out"),
        Cure("mixing_valve", "out", ("checks", "duty"), mixes=True),
    )
}
"""By the words that rules name them with; those of a kind itself where nothing else is said."""
