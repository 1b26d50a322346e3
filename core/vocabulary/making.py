"""Entries of the table: what makes, passes on and stores heat, and where water comes in."""

from __future__ import annotations

from core.vocabulary.entry import INLINE, MAKING, SIDES, kind_of
from core.vocabulary.properties import (
    AMPS,
    CAPACITY,
    EFFICIENCY,
    MIN_OUTPUT,
    POWERED_BY,
    RUN_WHEN,
    SET_TEMPERATURE,
    WATER_CONTENT,
    WATTS,
    choice,
    drops,
    flag,
    number,
    other,
    quantity,
    text,
)
from core.vocabulary.words import Kind

_TANK = (
    quantity("volume", "volume", "Water it holds.", typical="80 gal"),
    other(
        "taps",
        "heights",
        "Taps by name, each with its height from the bottom.",
        dimension="length",
        low="0 ft",
        high="200 ft",
        typical='{"hot": "4 ft", "cold": "4 in"}',
    ),
    quantity("tall", "length", "Inner height.", high="200 ft", default="4 ft", typical="5 ft"),
    quantity(
        "ua_loss",
        "heat_per_kelvin",
        "Heat it loses to the room per degree.",
        default="0 W/K",
        typical="3 Btu/h/degF",
    ),
    quantity(
        "element", "power", "Electric element; 0 where it is disconnected.", default="0 W", typical="4.5 kW"
    ),
    other(
        "sensors",
        "heights",
        "Sensors by name, each with its height from the bottom.",
        dimension="length",
        default={},
        low="0 ft",
        high="200 ft",
        typical='{"mid": "2 ft"}',
    ),
)

_SWITCHED = (RUN_WHEN, POWERED_BY, WATTS, AMPS)

_VOLUME = quantity("volume", "volume", "Water it holds.", typical="30 gal")

MAKING_KINDS: tuple[Kind, ...] = (
    kind_of(
        "heater",
        "on-demand heater",
        MAKING,
        INLINE,
        "Heats water as it passes.",
        (
            CAPACITY,
            SET_TEMPERATURE,
            quantity("min_flow", "flow", "Least flow that starts it.", default="0 gpm", typical="0.5 gpm"),
            quantity("max_flow", "flow", "Most flow it is made for.", typical="9 gpm"),
            MIN_OUTPUT,
            quantity("max_inlet", "temperature", "Warmest inlet it takes.", typical="140 degF"),
            EFFICIENCY,
            drops(),
            flag("throttles", "Whether it throttles its flow to hold the outlet."),
            flag("shut_when_idle", "Whether it lets no water pass while idle.", default=False),
            text("linked", "Name of the group whose units share one start."),
            flag("combined_use", "Whether it serves drinking water and heating from one body.", safety=True),
            quantity("fuel_input", "power", "Heat in the fuel at full fire.", typical="199 kBtu/h"),
            WATER_CONTENT,
            *_SWITCHED,
        ),
        prefix="H",
    ),
    kind_of(
        "boiler",
        "boiler",
        MAKING,
        INLINE,
        "Heats water to a set temperature.",
        (
            CAPACITY,
            MIN_OUTPUT,
            SET_TEMPERATURE,
            quantity(
                "differential",
                "temperature_difference",
                "Band below the set temperature.",
                typical="10 delta_degF",
            ),
            WATER_CONTENT,
            flag("condensing", "Whether it may condense."),
            EFFICIENCY,
            drops(),
            *_SWITCHED,
        ),
        prefix="B",
    ),
    kind_of(
        "heat_pump",
        "heat pump",
        MAKING,
        INLINE,
        "Lifts heat from outdoors.",
        (
            other(
                "table",
                "table",
                "Rows of outdoor and supply temperature, heat given and power taken.",
                columns=("temperature", "temperature", "power", "power"),
                typical='[["17 degF", "110 degF", "28 kBtu/h", "3.1 kW"]]',
            ),
            SET_TEMPERATURE,
            drops(),
            WATER_CONTENT,
            *_SWITCHED,
        ),
        prefix="HP",
    ),
    kind_of(
        "exchanger",
        "exchanger",
        MAKING,
        SIDES,
        "Passes heat between two bodies of water.",
        (
            quantity(
                "ua",
                "heat_per_kelvin",
                "Heat passed per degree between the sides.",
                typical="2500 Btu/h/degF",
            ),
            other(
                "rated",
                "rated",
                "A point the maker states; gives a constant UA. b_out may be added.",
                fields={
                    "a_flow": "flow",
                    "a_in": "temperature",
                    "a_out": "temperature",
                    "b_flow": "flow",
                    "b_in": "temperature",
                    "b_out": "temperature",
                },
                required=("a_flow", "a_in", "a_out", "b_flow", "b_in"),
            ),
            number("fouling", "Share of UA lost to scale.", 0.0, 1.0, default=0.0),
            choice("arrangement", ("counter", "parallel"), "How the two flows run.", default="counter"),
            drops("a_drops", "side a"),
            drops("b_drops", "side b"),
            quantity("water_content", "volume", "Water that each of its sides holds.", typical="0.4 gal"),
            flag("double_wall", "Whether two walls with a vented gap part the sides.", safety=True),
        ),
        prefix="HX",
        joined=(("a_in", "a_out"), ("b_in", "b_out")),
    ),
    kind_of("tank", "storage tank", MAKING, (), "Stores hot water; taps by name.", _TANK, prefix="T"),
    kind_of(
        "coil_tank",
        "tank with coil",
        MAKING,
        ("coil_in", "coil_out"),
        "Stores water heated through a coil.",
        (
            *_TANK,
            quantity(
                "coil_ua", "heat_per_kelvin", "Heat the coil passes per degree.", typical="600 Btu/h/degF"
            ),
            drops("coil_drops", "the coil"),
            other(
                "coil_heights",
                "heights",
                "Height of the coil's ports from the bottom.",
                dimension="length",
                low="0 ft",
                high="200 ft",
                default={},
                typical='{"coil_in": "2 ft", "coil_out": "6 in"}',
            ),
        ),
        prefix="CT",
        joined=(("coil_in", "coil_out"),),
    ),
    kind_of(
        "buffer",
        "buffer tank",
        MAKING,
        SIDES,
        "Fully mixed store between sources and circuits.",
        (_VOLUME,),
        prefix="BT",
    ),
    kind_of(
        "separator", "hydraulic separator", MAKING, SIDES, "Lets two flows differ.", (_VOLUME,), prefix="HS"
    ),
    kind_of(
        "expansion_tank",
        "expansion tank",
        MAKING,
        ("at",),
        "Takes the water that swells with heat.",
        (
            quantity("volume", "volume", "Whole volume.", typical="4.4 gal"),
            quantity("acceptance", "volume", "Most water it can take.", typical="2.2 gal"),
            quantity("precharge", "pressure", "Air pressure before it was piped.", typical="12 psi"),
            flag("potable", "Whether it is made for drinking water.", safety=True),
        ),
        prefix="ET",
    ),
    kind_of(
        "cold_main",
        "cold main",
        MAKING,
        ("at",),
        "Where cold water comes in.",
        (
            quantity("pressure", "pressure", "Pressure it comes with.", typical="60 psi"),
            quantity(
                "temperature",
                "temperature",
                "Temperature; by default the site's cold_water.",
                typical="50 degF",
            ),
        ),
        prefix="CM",
    ),
)
