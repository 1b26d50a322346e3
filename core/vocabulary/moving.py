"""Entries of the table: what moves, stops and cleans the water, and what shows its state."""

from __future__ import annotations

from core.vocabulary.entry import CLEANING, INLINE, MOVING, VALVE, kind_of
from core.vocabulary.properties import (
    AMPS,
    CV,
    LOSS,
    LOSS_OR_DROPS,
    OPEN,
    POWERED_BY,
    RUN_WHEN,
    SET_TEMPERATURE,
    WATTS,
    choice,
    flag,
    number,
    other,
    quantity,
    text,
)
from core.vocabulary.words import Kind

_CIRCULATOR = (
    other(
        "curve",
        "points",
        "Head at rising flows; may never rise. At least two points.",
        columns=("flow", "lift"),
        typical='[["0 gpm", "19 ft_head"], ["8 gpm", "15 ft_head"], ["16 gpm", "6 ft_head"]]',
    ),
    number("speed", "Share of full speed.", 0.0, 2.0, default=1.0),
    choice(
        "control",
        ("fixed", "delta_t", "delta_p_constant", "delta_p_proportional"),
        "What sets its speed.",
        default="fixed",
    ),
    other(
        "target",
        "target",
        "Held: a difference of temperature for delta_t, a head or pressure for delta_p.",
        typical="20 delta_degF",
    ),
    other(
        "senses",
        "places",
        "Warm and cold place that delta_t compares; by default those of its own circuit.",
        typical='[["B-1", "out"], ["B-1", "in"]]',
    ),
    number("min_speed", "Least share of full speed.", 0.0, 1.0, default=0.2),
    flag("stops_at_min", "Whether it stops where the least speed is too much.", default=False),
    number("stopped_cv", "Flow coefficient while it stands.", 1e-4, 1e6, typical="12"),
    flag("integral_check", "Whether a check valve sits in it.", default=False, safety=False),
    quantity("watts", "power", "Electric power at full speed.", low="0 W", high="100 kW", typical="80 W"),
    quantity("amps", "current", "Electric current at full speed.", typical="0.8 A"),
    choice("body", ("cast_iron", "stainless", "bronze"), "What its body is made of.", safety=True),
    quantity("face_to_face", "length", "Length between its faces.", high="10 ft", typical="6 1/2 in"),
    text("connection", "How it is joined.", suggestions=("flanged", "union", "threaded", "sweat", "press")),
    quantity(
        "flange_thickness",
        "length",
        "Thickness of one flange with its gasket.",
        high="1 ft",
        typical="1/2 in",
    ),
    flag(
        "invented",
        "Whether its curve is one of the program's invented sizes, which are no product.",
        default=False,
        safety=False,
    ),
    RUN_WHEN,
    POWERED_BY,
)

_FEED = (quantity("set_pressure", "pressure", "Pressure it holds at its outlet.", typical="15 psi"), OPEN)

MOVING_KINDS: tuple[Kind, ...] = (
    kind_of("joint", "joint", MOVING, ("at",), "Where pipes meet: a dot, without loss.", prefix="J"),
    kind_of(
        "circulator",
        "circulator",
        MOVING,
        INLINE,
        "Drives the water along its curve.",
        _CIRCULATOR,
        prefix="P",
    ),
    kind_of(
        "check_valve",
        "check valve",
        MOVING,
        INLINE,
        "Lets water pass one way only.",
        (
            *LOSS,
            quantity("opens_at", "pressure", "Pressure that opens it.", default="0 psi", typical="0.5 psi"),
        ),
        prefix="CV",
    ),
    kind_of(
        "shutoff", "shut-off valve", MOVING, VALVE, "Hand valve, open or shut.", (*LOSS, OPEN), prefix="V"
    ),
    kind_of(
        "service_valve",
        "service valve",
        MOVING,
        (*VALVE, "hose"),
        "Hand valve with a hose port: the flushing port of an exchanger or heater.",
        (*LOSS, OPEN),
        prefix="SV",
    ),
    kind_of(
        "balance_valve",
        "balance valve",
        MOVING,
        VALVE,
        "Throttles a branch, or limits its flow.",
        (
            CV,
            number("setting", "Share of the wide-open cv.", 0.0, 1.0, default=1.0),
            quantity("set_flow", "flow", "At most this flow; wide open below it.", typical="2 gpm"),
        ),
        prefix="BV",
    ),
    kind_of(
        "zone_valve",
        "zone valve",
        MOVING,
        VALVE,
        "Opens on a signal.",
        (CV, RUN_WHEN, POWERED_BY, WATTS, AMPS),
        prefix="ZV",
    ),
    kind_of(
        "mixing_valve",
        "mixing valve",
        MOVING,
        ("hot", "cold", "mixed"),
        "Mixes hot and cold to a set temperature.",
        (
            CV,
            SET_TEMPERATURE,
            flag("checks", "Whether hot and cold inlets have check valves.", safety=True),
            choice("duty", ("master", "point_of_use"), "What it is listed for.", safety=True),
            quantity(
                "min_flow",
                "flow",
                "Least flow at which it holds its temperature.",
                default="0 gpm",
                typical="0.5 gpm",
            ),
        ),
        prefix="MV",
    ),
    kind_of(
        "three_way_valve",
        "three-way valve",
        MOVING,
        ("a", "b", "ab"),
        "Shares a flow between two ways.",
        (
            CV,
            number(
                "position",
                "Share of its travel open to a; halfway where neither this nor target is typed.",
                0.0,
                1.0,
                typical="0.5",
            ),
            quantity(
                "target", "temperature", "Temperature of ab that it holds by mixing.", typical="95 degF"
            ),
        ),
        prefix="TV",
    ),
    kind_of(
        "dp_bypass",
        "bypass valve",
        MOVING,
        INLINE,
        "Opens when the pressure across it grows past its setting.",
        (other("set_pressure", "lift", "Pressure across it at which it opens.", typical="8 ft_head"), CV),
        prefix="DP",
    ),
    kind_of(
        "fill_valve",
        "fill valve",
        MOVING,
        INLINE,
        "Fills a closed system; parts two bodies.",
        _FEED,
        prefix="FV",
        joined=(("in",), ("out",)),
    ),
    kind_of(
        "pressure_reducer",
        "pressure reducer",
        MOVING,
        INLINE,
        "Holds a lower pressure behind it.",
        _FEED,
        prefix="PR",
    ),
    kind_of(
        "backflow_preventer",
        "backflow preventer",
        MOVING,
        INLINE,
        "Keeps water from coming back; parts two bodies.",
        LOSS_OR_DROPS,
        prefix="BP",
        joined=(("in",), ("out",)),
    ),
    kind_of(
        "heat_trap",
        "heat trap",
        MOVING,
        INLINE,
        "Keeps warm water from creeping; to driven flow only its loss.",
        LOSS_OR_DROPS,
        prefix="HT",
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
    ),
    kind_of("plug", "plug", MOVING, ("at",), "Closes a port for good.", prefix="PL"),
)


CLEANING_KINDS: tuple[Kind, ...] = (
    *(
        kind_of(name, title, CLEANING, INLINE, meaning, LOSS_OR_DROPS, prefix=prefix)
        for name, title, prefix, meaning in (
            ("strainer", "strainer", "ST", "Holds back dirt in a screen."),
            ("flow_meter", "flow meter", "FM", "Shows the flow."),
            ("air_separator", "air separator", "AS", "Takes air out of the water."),
            ("dirt_separator", "dirt separator", "DS", "Lets dirt settle."),
        )
    ),
    kind_of(
        "purge_set",
        "purge set",
        CLEANING,
        ("a", "b", "drain"),
        "Valve with a hose drain beside it, to fill and purge.",
        (CV, OPEN, flag("drain_open", "Whether the drain stands open.", default=False)),
        prefix="PS",
    ),
    *(
        kind_of(name, title, CLEANING, ("at",), meaning, prefix=prefix)
        for name, title, prefix, meaning in (
            ("drain", "drain", "D", "Hose tap at a low point."),
            ("air_vent", "air vent", "AV", "Lets air out at a high point."),
            ("gauge", "pressure gauge", "PG", "Shows the pressure."),
            ("thermometer", "thermometer", "TG", "Shows the temperature."),
            ("vacuum_breaker", "vacuum breaker", "VB", "Lets air in before a vacuum draws water back."),
        )
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
    ),
)
