"""Kinds that use heat and water, and rooms."""

from __future__ import annotations

from core.vocabulary import item_checks
from core.vocabulary.entry import INLINE, USING, kind_of
from core.vocabulary.heat_roles import FLOOR_DIFFERENCE, MELT_DIFFERENCE, Gives, HeatedRoom, HeatEmitter
from core.vocabulary.properties import (
    LEAST_RETURN,
    ROOM_TEMPERATURE,
    SERVES,
    UA_OR_RATED,
    WATER_CONTENT,
    choice,
    drops,
    flag,
    number,
    other,
    quantity,
)
from core.vocabulary.traits import Report, Trait
from core.vocabulary.waterways import Branches, Loops, OpenToAir, Straight, UsesUp
from core.vocabulary.words import CaseSets, FreePorts, Kind, Property, Schedule


def _emitter(*first: Property) -> tuple[Property, ...]:
    return (
        *first,
        SERVES,
        ROOM_TEMPERATURE,
        quantity("load", "power", "Heat wanted of it.", typical="9 kBtu/h"),
        LEAST_RETURN,
    )


FIXTURE_TYPES = (
    *("bathtub", "bidet", "dishwasher", "drinking_fountain", "hose_bibb", "kitchen_sink", "laundry_tray"),
    *("lavatory", "service_sink", "shower", "washing_machine", "water_closet"),
)

_CIRCUIT = _emitter(
    quantity("area", "area", "Area it heats.", typical="400 ft2"),
    choice("construction", ("slab", "suspended"), "What the tube lies in.", default="slab"),
    other("tube", "tube", "Tube of the loops.", typical='{"material": "pex", "size": "1/2 in"}'),
    other(
        "loops",
        "loops",
        "Loops side by side: a length each, or a count and a length.",
        low="0 ft",
        high="5000 ft",
        typical='["240 ft", [2, "250 ft"]]',
    ),
    quantity("spacing", "length", "Distance between tubes.", high="10 ft", typical="9 in"),
    quantity(
        "output_per_degree",
        "heat_per_kelvin",
        "Heat of the whole circuit per degree of mean water over the room or surface; overrides area and "
        "construction.",
        typical="300 Btu/h/degF",
    ),
    quantity("flux", "flux", "Heat wanted per area.", typical="25 Btu/h/ft2"),
    quantity(
        "mass",
        "heat_storage",
        "Heat that its slab or floor stores per degree, the water not counted.",
        typical="3 MJ/K",
    ),
    number(
        "mass_at",
        "Share of the resistance from water to room that lies between water and mass.",
        0.01,
        0.99,
        default=0.3,
    ),
)

_RADIATOR = _emitter(
    quantity("ua", "heat_per_kelvin", "Heat to the room per degree.", typical="60 Btu/h/degF"),
    other(
        "rated",
        "rated",
        "A point the maker states; exponent 1 where it is absent.",
        fields={
            "heat": "power",
            "flow": "flow",
            "supply": "temperature",
            "room": "temperature",
            "exponent": "number",
        },
        required=("heat", "flow", "supply", "room"),
    ),
    drops(),
    WATER_CONTENT,
)


# What a room's loss can be estimated from where none is typed.
_ENVELOPE = (
    other(
        "envelope",
        "surfaces",
        "Its surfaces, each with name, area, u or r, and beyond: the temperature on the other side where "
        "that is not outdoors.",
        typical='[{"name": "wall", "area": "140 ft2", "u": "0.06 Btu/h/ft2/degF"}]',
    ),
    quantity(
        "ceiling",
        "length",
        "Height of the room; with its floor area the air in it.",
        high="200 ft",
        typical="8 ft",
    ),
    number(
        "air_changes",
        "Outdoor air that finds its way in, in room volumes an hour.",
        0.0,
        100.0,
        typical="0.5",
    ),
    other(
        "past_use",
        "rated",
        "Fuel of a past season: fuel, degree_days, efficiency; base of the degree days (65 degF), "
        "not_for_heat (of the fuel), and share of the whole house's loss that is this room's (1).",
        fields={
            "fuel": "energy",
            "degree_days": "degree_days",
            "efficiency": "number",
            "base": "temperature",
            "not_for_heat": "energy",
            "share": "number",
        },
        required=("fuel", "degree_days", "efficiency"),
        typical='{"fuel": "900 therm", "degree_days": "6200 degF*day", "efficiency": 0.85}',
    ),
)


EMITTERS_FIXTURES: tuple[Kind, ...] = (
    kind_of(
        "manifold",
        "manifold",
        USING,
        ("trunk", "end"),
        "Shares a trunk among branches 1 to n.",
        (
            other("branches", "integer", "How many branches.", default=item_checks.BRANCHES, low=1, high=40),
            other(
                "cv",
                "number_list",
                "Flow coefficient of the branches: one for all, or a list.",
                low=1e-4,
                high=1e6,
            ),
        ),
        prefix="M",
        report=Report.MANIFOLD,
        traits=(Trait.DIVIDES,),
        waterway=Branches(),
        free_ports=FreePorts.BRANCHES,
        checks=(item_checks.check_manifold,),
    ),
    kind_of(
        "floor_circuit",
        "floor circuit",
        USING,
        INLINE,
        "Loops that warm a floor.",
        _CIRCUIT,
        essential=("area", "tube", "loops", "construction", "serves", "load"),
        prefix="FC",
        report=Report.EMITTER,
        schedule=Schedule.CIRCUITS,
        traits=(Trait.GIVES_HEAT, Trait.HEATS_ROOM, Trait.IN_FLOOR, Trait.LOOPED, Trait.CLOSED_CIRCUIT),
        waterway=Loops(),
        heat=HeatEmitter(Gives.ALL_POSSIBLE, by_area=True, difference=FLOOR_DIFFERENCE),
    ),
    kind_of(
        "melt_circuit",
        "snow-melt circuit",
        USING,
        INLINE,
        "Loops that melt snow and ice.",
        (
            *_CIRCUIT,
            number(
                "clear",
                "Share of its area kept free of snow as it falls: 1 bare, 0.5 slush, 0 under a cover.",
                0.0,
                1.0,
                typical="1",
            ),
        ),
        essential=("area", "tube", "loops", "construction", "load"),
        prefix="MC",
        report=Report.EMITTER,
        schedule=Schedule.CIRCUITS,
        traits=(Trait.GIVES_HEAT, Trait.MELTS_SNOW, Trait.LOOPED, Trait.CLOSED_CIRCUIT),
        waterway=Loops(),
        heat=HeatEmitter(Gives.ALL_POSSIBLE, difference=MELT_DIFFERENCE),
    ),
    kind_of(
        "radiator",
        "radiator",
        USING,
        INLINE,
        "Gives heat to a room.",
        _RADIATOR,
        essential=("ua", "rated", "serves", "load"),
        prefix="RA",
        report=Report.EMITTER,
        schedule=Schedule.CIRCUITS,
        traits=(Trait.GIVES_HEAT, Trait.HEATS_ROOM, Trait.CLOSED_CIRCUIT),
        waterway=Straight(),
        heat=HeatEmitter(Gives.ALL_POSSIBLE),
        content="water_content",
        excluding=UA_OR_RATED,
        checks=(item_checks.check_radiator,),
    ),
    kind_of(
        "fan_coil",
        "fan coil",
        USING,
        INLINE,
        "Gives heat to a room's air.",
        _RADIATOR,
        essential=("ua", "rated", "serves", "load"),
        prefix="FN",
        report=Report.EMITTER,
        schedule=Schedule.CIRCUITS,
        traits=(Trait.GIVES_HEAT, Trait.HEATS_ROOM, Trait.CLOSED_CIRCUIT),
        waterway=Straight(),
        heat=HeatEmitter(Gives.AS_WANTED),
        content="water_content",
        excluding=UA_OR_RATED,
        checks=(item_checks.check_radiator,),
    ),
    kind_of(
        "load",
        "load",
        USING,
        INLINE,
        "Takes a fixed heat while there is flow.",
        (quantity("load", "power", "Heat taken.", typical="20 kBtu/h"), LEAST_RETURN, drops()),
        prefix="LD",
        report=Report.EMITTER,
        schedule=Schedule.CIRCUITS,
        traits=(Trait.GIVES_HEAT, Trait.TAKES_FIXED_HEAT, Trait.CLOSED_CIRCUIT),
        waterway=Straight(),
        heat=HeatEmitter(Gives.AS_WANTED),
    ),
    kind_of(
        "humidifier",
        "humidifier",
        USING,
        INLINE,
        "Gives water to the air; what it uses up leaves at its inlet where a main feeds it.",
        (
            quantity(
                "uses", "flow", "Water it uses up, unless the case's draws say otherwise.", typical="2 L/h"
            ),
            drops(),
        ),
        prefix="HU",
        capped=("out",),
        report=Report.USES,
        schedule=Schedule.CIRCUITS,
        traits=(Trait.USES_WATER, Trait.CLOSED_CIRCUIT),
        waterway=UsesUp(),
        cases_set=CaseSets.DRAW,
    ),
    kind_of(
        "fixture",
        "fixture",
        USING,
        ("hot", "cold"),
        "Draws water; with one port piped, that water alone.",
        (
            quantity(
                "flow", "flow", "Flow of the mix, for sizing; cases say what is drawn.", typical="2 gpm"
            ),
            quantity("set_temperature", "temperature", "Temperature of the mix.", typical="105 degF"),
            choice("fixture_type", FIXTURE_TYPES, "What it is, for demand by fixture units."),
            flag("public", "Whether many use it, which counts for more units.", default=False, safety=False),
        ),
        essential=("flow", "set_temperature", "fixture_type"),
        prefix="F",
        report=Report.OUTLET,
        schedule=Schedule.CIRCUITS,
        capped=("hot", "cold"),
        traits=(Trait.DRAWS_WATER, Trait.DRINKING_WATER),
        waterway=OpenToAir(("hot", "cold")),
        cases_set=CaseSets.DRAW,
    ),
    kind_of(
        "room",
        "room",
        USING,
        (),
        "What the emitters heat.",
        (
            quantity(
                "loss", "heat_per_kelvin", "Heat lost per degree over outdoors.", typical="250 Btu/h/degF"
            ),
            quantity(
                "gain", "power", "Heat from sun, people and lamps.", default="0 W", typical="1.5 kBtu/h"
            ),
            quantity("wanted", "temperature", "Temperature wanted.", typical="68 degF"),
            quantity("mass", "heat_storage", "Heat its walls and air store per degree.", typical="4 MJ/K"),
            quantity("floor", "area", "Floor area.", typical="400 ft2"),
            *_ENVELOPE,
        ),
        essential=("loss", "wanted", "floor"),
        prefix="R",
        report=Report.ROOM,
        schedule=Schedule.ROOMS,
        traits=(Trait.ROOM,),
        heat=HeatedRoom(),
        checks=(item_checks.check_room,),
    ),
)
