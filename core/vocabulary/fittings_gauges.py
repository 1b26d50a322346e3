"""Kinds of fittings, what cleans water and lets air out, gauges, and what relieves."""

from __future__ import annotations

from core.vocabulary.entry import CLEANING, INLINE, MOVING, kind_of
from core.vocabulary.properties import CV, LOSS_OR_DROPS, OPEN, flag, quantity, text
from core.vocabulary.traits import Trait
from core.vocabulary.waterways import Straight, Terminal
from core.vocabulary.words import Kind

JOINTS: tuple[Kind, ...] = (
    kind_of(
        "joint",
        "joint",
        MOVING,
        ("at",),
        "Where pipes meet: a dot, without loss.",
        prefix="J",
        traits=(Trait.JOINS,),
        waterway=Terminal(),
    ),
)

FITTINGS: tuple[Kind, ...] = (
    kind_of(
        "heat_trap",
        "heat trap",
        MOVING,
        INLINE,
        "Keeps warm water from creeping; to driven flow only its loss.",
        LOSS_OR_DROPS,
        prefix="HT",
        waterway=Straight(),
    ),
    kind_of(
        "spacer",
        "spacer",
        MOVING,
        INLINE,
        "Holds the place of a part to come.",
        (
            *LOSS_OR_DROPS,
            quantity("face_to_face", "length", "Length between its faces.", typical="6 1/2 in"),
            flag("blind", "Whether it is closed inside.", default=False),
        ),
        prefix="SP",
        traits=(Trait.SPACER,),
        waterway=Straight(),
    ),
    kind_of(
        "plug",
        "plug",
        MOVING,
        ("at",),
        "Closes a port for good.",
        prefix="PL",
        traits=(Trait.CLOSES_PORT, Trait.ENDS_RUN),
        waterway=Terminal(),
    ),
)

CLEANING_GAUGES: tuple[Kind, ...] = (
    kind_of(
        "strainer",
        "strainer",
        CLEANING,
        INLINE,
        "Holds back dirt in a screen.",
        LOSS_OR_DROPS,
        prefix="ST",
        traits=(Trait.HOLDS_DIRT,),
        waterway=Straight(),
    ),
    kind_of(
        "flow_meter",
        "flow meter",
        CLEANING,
        INLINE,
        "Shows the flow.",
        LOSS_OR_DROPS,
        prefix="FM",
        traits=(Trait.SHOWS_FLOW,),
        waterway=Straight(),
    ),
    kind_of(
        "air_separator",
        "air separator",
        CLEANING,
        INLINE,
        "Takes air out of the water.",
        LOSS_OR_DROPS,
        prefix="AS",
        traits=(Trait.REMOVES_AIR, Trait.CLOSED_CIRCUIT),
        waterway=Straight(),
    ),
    kind_of(
        "dirt_separator",
        "dirt separator",
        CLEANING,
        INLINE,
        "Lets dirt settle.",
        LOSS_OR_DROPS,
        prefix="DS",
        traits=(Trait.HOLDS_DIRT, Trait.CLOSED_CIRCUIT),
        waterway=Straight(),
    ),
    kind_of(
        "purge_set",
        "purge set",
        CLEANING,
        ("a", "b", "drain"),
        "Valve with a hose drain beside it, to fill and purge.",
        (CV, OPEN, flag("drain_open", "Whether the drain stands open.", default=False)),
        prefix="PS",
        traits=(Trait.HAND_VALVE, Trait.DRAINS),
        waterway=Straight(side="drain", side_open="drain_open"),
    ),
    kind_of(
        "drain",
        "drain",
        CLEANING,
        ("at",),
        "Hose tap at a low point.",
        prefix="D",
        traits=(Trait.DRAINS, Trait.ENDS_RUN),
        waterway=Terminal(),
    ),
    kind_of(
        "air_vent",
        "air vent",
        CLEANING,
        ("at",),
        "Lets air out at a high point.",
        prefix="AV",
        traits=(Trait.VENTS, Trait.ENDS_RUN),
        waterway=Terminal(),
    ),
    kind_of(
        "gauge",
        "pressure gauge",
        CLEANING,
        ("at",),
        "Shows the pressure.",
        prefix="PG",
        traits=(Trait.SHOWS_PRESSURE, Trait.ENDS_RUN),
        waterway=Terminal(),
    ),
    kind_of(
        "thermometer",
        "thermometer",
        CLEANING,
        ("at",),
        "Shows the temperature.",
        prefix="TG",
        traits=(Trait.SHOWS_TEMPERATURE, Trait.ENDS_RUN),
        waterway=Terminal(),
    ),
    kind_of(
        "vacuum_breaker",
        "vacuum breaker",
        CLEANING,
        ("at",),
        "Lets air in before a vacuum draws water back.",
        prefix="VB",
        traits=(Trait.BREAKS_VACUUM, Trait.ENDS_RUN),
        waterway=Terminal(),
    ),
    kind_of(
        "relief_valve",
        "relief valve",
        CLEANING,
        ("at",),
        "Opens before pressure or temperature does harm.",
        (
            quantity(
                "set_pressure", "pressure", "Pressure at which it opens.", typical="30 psi", safety=True
            ),
            quantity(
                "set_temperature",
                "temperature",
                "Temperature at which it opens.",
                typical="210 degF",
                safety=True,
            ),
            quantity("capacity", "power", "Heat it can carry off.", typical="500 kBtu/h", safety=True),
            quantity("inlet_size", "length", "Size of its inlet.", typical="3/4 in", safety=True),
            text("discharge", "How its outlet is piped.", safety=True),
        ),
        prefix="RV",
        traits=(Trait.RELIEVES, Trait.ENDS_RUN),
        waterway=Terminal(),
    ),
)
