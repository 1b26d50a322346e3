"""The one table of kinds: ports, properties, meaning. Not how a kind is solved or drawn."""

from __future__ import annotations

from collections.abc import Iterable

from core.vocabulary.properties import (
    CAPACITY,
    CV,
    EFFICIENCY,
    LOSS,
    LOSS_OR_DROPS,
    MIN_OUTPUT,
    OPEN,
    POWERED_BY,
    ROOM_TEMPERATURE,
    RUN_WHEN,
    SAFETY,
    SERVES,
    SET_TEMPERATURE,
    WETTED,
    choice,
    drops,
    flag,
    number,
    other,
    quantity,
    text,
)
from core.vocabulary.words import Kind, Property

MOVING = "moving and stopping"
CLEANING = "cleaning, air, gauges"
MAKING = "making and storing"
USING = "using heat"
CONTROLS = "controls"
GROUPS = (MOVING, CLEANING, MAKING, USING, CONTROLS)

_INLINE = ("in", "out")
_VALVE = ("a", "b")
_SIDES = ("a_in", "a_out", "b_in", "b_out")


def _kind(
    name: str, title: str, group: str, ports: tuple[str, ...], meaning: str, properties: Iterable[Property] = (), *,
    prefix: str, solved: bool = True, joined: tuple[tuple[str, ...], ...] | None = None,
) -> Kind:  # fmt: skip
    shared = SAFETY if group == CONTROLS else WETTED + SAFETY
    table = {item.name: item for item in (*properties, *shared)}
    groups = ((ports,) if ports else ()) if joined is None else joined
    return Kind(name, title, group, ports, table, meaning, solved, prefix, groups)


def _moving() -> Iterable[Kind]:
    yield _kind("joint", "joint", MOVING, ("at",), "Where pipes meet: a dot, without loss.", prefix="J")
    yield _kind(
        "circulator",
        "circulator",
        MOVING,
        _INLINE,
        "Drives the water along its curve.",
        _CIRCULATOR,
        prefix="P",
    )
    yield _kind(
        "check_valve", "check valve", MOVING, _INLINE, "Lets water pass one way only.",
        (*LOSS, quantity("opens_at", "pressure", "Pressure that opens it.", default="0 psi", typical="0.5 psi")),
        prefix="CV",
    )  # fmt: skip
    yield _kind(
        "shutoff", "shut-off valve", MOVING, _VALVE, "Hand valve, open or shut.", (*LOSS, OPEN), prefix="V"
    )
    yield _kind(
        "service_valve", "service valve", MOVING, (*_VALVE, "hose"),
        "Hand valve with a hose port: the flushing port of an exchanger or heater.", (*LOSS, OPEN), prefix="SV",
    )  # fmt: skip
    yield _kind(
        "balance_valve", "balance valve", MOVING, _VALVE, "Throttles a branch, or limits its flow.",
        (
            CV,
            number("setting", "Share of the wide-open cv.", 0.0, 1.0, default=1.0),
            quantity("set_flow", "flow", "At most this flow; wide open below it.", typical="2 gpm"),
        ), prefix="BV",
    )  # fmt: skip
    yield _kind(
        "zone_valve",
        "zone valve",
        MOVING,
        _VALVE,
        "Opens on a signal.",
        (CV, RUN_WHEN, POWERED_BY),
        prefix="ZV",
    )
    yield _kind(
        "mixing_valve", "mixing valve", MOVING, ("hot", "cold", "mixed"), "Mixes hot and cold to a set temperature.",
        (
            CV, SET_TEMPERATURE,
            flag("checks", "Whether hot and cold inlets have check valves.", safety=True),
            choice("duty", ("master", "point_of_use"), "What it is listed for.", safety=True),
            quantity("min_flow", "flow", "Least flow at which it holds its temperature.", default="0 gpm",
                     typical="0.5 gpm"),
        ), prefix="MV",
    )  # fmt: skip
    yield _kind(
        "three_way_valve", "three-way valve", MOVING, ("a", "b", "ab"), "Shares a flow between two ways.",
        (
            CV, number("position", "Share from a.", 0.0, 1.0, typical="0.5"),
            quantity("target", "temperature", "Temperature of ab that it holds.", typical="95 degF"),
        ), prefix="TV", solved=False,
    )  # fmt: skip
    yield _kind(
        "dp_bypass", "bypass valve", MOVING, _INLINE, "Opens when the pressure across it grows past its setting.",
        (other("set_pressure", "lift", "Pressure across it at which it opens.", typical="8 ft_head"), CV),
        prefix="DP", solved=False,
    )  # fmt: skip
    feed = (quantity("set_pressure", "pressure", "Pressure it holds at its outlet.", typical="15 psi"), OPEN)
    yield _kind(
        "fill_valve", "fill valve", MOVING, _INLINE, "Fills a closed system; parts two bodies.",
        feed, prefix="FV", joined=(("in",), ("out",)),
    )  # fmt: skip
    yield _kind(
        "pressure_reducer",
        "pressure reducer",
        MOVING,
        _INLINE,
        "Holds a lower pressure behind it.",
        feed,
        prefix="PR",
    )
    yield _kind(
        "backflow_preventer", "backflow preventer", MOVING, _INLINE,
        "Keeps water from coming back; parts two bodies.", LOSS_OR_DROPS, prefix="BP", joined=(("in",), ("out",)),
    )  # fmt: skip
    yield _kind(
        "heat_trap",
        "heat trap",
        MOVING,
        _INLINE,
        "Keeps warm water from creeping.",
        LOSS_OR_DROPS,
        prefix="HT",
        solved=False,
    )
    yield _kind(
        "spacer", "spacer", MOVING, _INLINE, "Holds the place of a part to come.",
        (*LOSS_OR_DROPS, quantity("face_to_face", "length", "Length between its faces.", typical="6 1/2 in"),
         flag("blind", "Whether it is closed inside.", default=False)), prefix="SP",
    )  # fmt: skip
    yield _kind("plug", "plug", MOVING, ("at",), "Closes a port for good.", prefix="PL")


_CIRCULATOR = (
    other(
        "curve", "points", "Head at rising flows; may never rise. At least two points.", columns=("flow", "lift"),
        typical='[["0 gpm", "19 ft_head"], ["8 gpm", "15 ft_head"], ["16 gpm", "6 ft_head"]]',
    ),
    number("speed", "Share of full speed.", 0.0, 2.0, default=1.0),
    choice(
        "control", ("fixed", "delta_t", "delta_p_constant", "delta_p_proportional"), "What sets its speed.",
        default="fixed",
    ),
    other(
        "target", "target", "Held: a difference of temperature for delta_t, a head or pressure for delta_p.",
        typical="20 delta_degF",
    ),
    other("senses", "places", "Warm and cold place that delta_t compares; by default those of its own circuit.",
          typical='[["B-1", "out"], ["B-1", "in"]]'),
    number("min_speed", "Least share of full speed.", 0.0, 1.0, default=0.2),
    flag("stops_at_min", "Whether it stops where the least speed is too much.", default=False),
    number("stopped_cv", "Flow coefficient while it stands.", 1e-4, 1e6),
    flag("integral_check", "Whether a check valve sits in it.", default=False, safety=False),
    quantity("watts", "power", "Electric power at full speed.", high="100 kW", typical="80 W"),
    quantity("amps", "current", "Electric current at full speed.", typical="0.8 A"),
    choice("body", ("cast_iron", "stainless", "bronze"), "What its body is made of.", safety=True),
    quantity("face_to_face", "length", "Length between its faces.", high="10 ft", typical="6 1/2 in"),
    text("connection", "How it is joined.", suggestions=("flanged", "union", "threaded", "sweat", "press")),
    quantity("flange_thickness", "length", "Thickness of one flange with its gasket.", high="1 ft", typical="1/2 in"),
    RUN_WHEN, POWERED_BY,
)  # fmt: skip


def _cleaning() -> Iterable[Kind]:
    for name, title, prefix, meaning in (
        ("strainer", "strainer", "ST", "Holds back dirt in a screen."),
        ("flow_meter", "flow meter", "FM", "Shows the flow."),
        ("air_separator", "air separator", "AS", "Takes air out of the water."),
        ("dirt_separator", "dirt separator", "DS", "Lets dirt settle."),
    ):
        yield _kind(name, title, CLEANING, _INLINE, meaning, LOSS_OR_DROPS, prefix=prefix)
    yield _kind(
        "purge_set", "purge set", CLEANING, ("a", "b", "drain"), "Valve with a hose drain beside it, to fill and purge.",
        (CV, OPEN, flag("drain_open", "Whether the drain stands open.", default=False)), prefix="PS",
    )  # fmt: skip
    for name, title, prefix, meaning in (
        ("drain", "drain", "D", "Hose tap at a low point."),
        ("air_vent", "air vent", "AV", "Lets air out at a high point."),
        ("gauge", "pressure gauge", "PG", "Shows the pressure."),
        ("thermometer", "thermometer", "TG", "Shows the temperature."),
        ("vacuum_breaker", "vacuum breaker", "VB", "Lets air in before a vacuum draws water back."),
    ):
        yield _kind(name, title, CLEANING, ("at",), meaning, prefix=prefix)
    yield _kind(
        "relief_valve", "relief valve", CLEANING, ("at",), "Opens before pressure or temperature does harm.",
        (
            quantity("set_pressure", "pressure", "Pressure at which it opens.", typical="30 psi", safety=True),
            quantity("set_temperature", "temperature", "Temperature at which it opens.", typical="210 degF",
                     safety=True),
            quantity("capacity", "power", "Heat it can carry off.", typical="500 kBtu/h", safety=True),
            quantity("inlet_size", "length", "Size of its inlet.", typical="3/4 in", safety=True),
            text("discharge", "How its outlet is piped.", safety=True),
        ), prefix="RV",
    )  # fmt: skip


_TANK = (
    quantity("volume", "volume", "Water it holds.", typical="80 gal"),
    other("taps", "heights", "Taps by name, each with its height from the bottom.", dimension="length",
          low="0 ft", high="200 ft", typical='{"hot": "4 ft", "cold": "4 in"}'),
    quantity("tall", "length", "Inner height.", high="200 ft", default="4 ft", typical="5 ft"),
    quantity("ua_loss", "heat_per_kelvin", "Heat it loses to the room per degree.", default="0 W/K",
             typical="3 Btu/h/degF"),
    quantity("element", "power", "Electric element; 0 where it is disconnected.", default="0 W", typical="4.5 kW"),
    other("sensors", "heights", "Sensors by name, each with its height from the bottom.", dimension="length",
          default={}, low="0 ft", high="200 ft", typical='{"mid": "2 ft"}'),
)  # fmt: skip

_SWITCHED = (RUN_WHEN, POWERED_BY)


def _making() -> Iterable[Kind]:
    yield _kind(
        "heater", "on-demand heater", MAKING, _INLINE, "Heats water as it passes.",
        (
            CAPACITY, SET_TEMPERATURE,
            quantity("min_flow", "flow", "Least flow that starts it.", default="0 gpm", typical="0.5 gpm"),
            quantity("max_flow", "flow", "Most flow it is made for.", typical="9 gpm"),
            MIN_OUTPUT,
            quantity("max_inlet", "temperature", "Warmest inlet it takes.", typical="140 degF"),
            EFFICIENCY, drops(),
            flag("throttles", "Whether it throttles its flow to hold the outlet."),
            flag("shut_when_idle", "Whether it lets no water pass while idle.", default=False),
            text("linked", "Name of the group whose units share one start."),
            flag("combined_use", "Whether it serves drinking water and heating from one body."),
            quantity("fuel_input", "power", "Heat in the fuel at full fire.", typical="199 kBtu/h"),
            *_SWITCHED,
        ), prefix="H",
    )  # fmt: skip
    yield _kind(
        "boiler", "boiler", MAKING, _INLINE, "Heats water to a set temperature.",
        (
            CAPACITY, MIN_OUTPUT, SET_TEMPERATURE,
            quantity("differential", "temperature_difference", "Band below the set temperature.",
                     typical="10 delta_degF"),
            quantity("water_content", "volume", "Water it holds.", typical="2 gal"),
            flag("condensing", "Whether it may condense."),
            EFFICIENCY, drops(), *_SWITCHED,
        ), prefix="B",
    )  # fmt: skip
    yield _kind(
        "heat_pump", "heat pump", MAKING, _INLINE, "Lifts heat from outdoors.",
        (
            other("table", "table", "Rows of outdoor and supply temperature, heat given and power taken.",
                  columns=("temperature", "temperature", "power", "power"),
                  typical='[["17 degF", "110 degF", "28 kBtu/h", "3.1 kW"]]'),
            SET_TEMPERATURE, drops(), *_SWITCHED,
        ), prefix="HP", solved=False,
    )  # fmt: skip
    yield _kind(
        "exchanger", "exchanger", MAKING, _SIDES, "Passes heat between two bodies of water.",
        (
            quantity("ua", "heat_per_kelvin", "Heat passed per degree between the sides.", typical="2500 Btu/h/degF"),
            other("rated", "rated", "A point the maker states; gives a constant UA. b_out may be added.",
                  fields={"a_flow": "flow", "a_in": "temperature", "a_out": "temperature", "b_flow": "flow",
                          "b_in": "temperature", "b_out": "temperature"},
                  required=("a_flow", "a_in", "a_out", "b_flow", "b_in")),
            number("fouling", "Share of UA lost to scale.", 0.0, 1.0, default=0.0),
            choice("arrangement", ("counter", "parallel"), "How the two flows run.", default="counter"),
            drops("a_drops", "side a"), drops("b_drops", "side b"),
            flag("double_wall", "Whether two walls with a vented gap part the sides.", safety=True),
        ), prefix="HX", joined=(("a_in", "a_out"), ("b_in", "b_out")),
    )  # fmt: skip
    yield _kind("tank", "storage tank", MAKING, (), "Stores hot water; taps by name.", _TANK, prefix="T")
    yield _kind(
        "coil_tank", "tank with coil", MAKING, ("coil_in", "coil_out"), "Stores water heated through a coil.",
        (
            *_TANK,
            quantity("coil_ua", "heat_per_kelvin", "Heat the coil passes per degree.", typical="600 Btu/h/degF"),
            drops("coil_drops", "the coil"),
            other("coil_heights", "heights", "Height of the coil's ports from the bottom.", dimension="length",
                  low="0 ft", high="200 ft", default={}, typical='{"coil_in": "2 ft", "coil_out": "6 in"}'),
        ), prefix="CT", solved=False, joined=(("coil_in", "coil_out"),),
    )  # fmt: skip
    volume = quantity("volume", "volume", "Water it holds.", typical="30 gal")
    yield _kind(
        "buffer",
        "buffer tank",
        MAKING,
        _SIDES,
        "Fully mixed store between sources and circuits.",
        (volume,),
        prefix="BT",
    )
    yield _kind(
        "separator", "hydraulic separator", MAKING, _SIDES, "Lets two flows differ.", (volume,), prefix="HS"
    )
    yield _kind(
        "expansion_tank", "expansion tank", MAKING, ("at",), "Takes the water that swells with heat.",
        (
            quantity("volume", "volume", "Whole volume.", typical="4.4 gal"),
            quantity("acceptance", "volume", "Most water it can take.", typical="2.2 gal"),
            quantity("precharge", "pressure", "Air pressure before it was piped.", typical="12 psi"),
            flag("potable", "Whether it is made for drinking water.", safety=True),
        ), prefix="ET",
    )  # fmt: skip
    yield _kind(
        "cold_main", "cold main", MAKING, ("at",), "Where cold water comes in.",
        (
            quantity("pressure", "pressure", "Pressure it comes with.", typical="60 psi"),
            quantity("temperature", "temperature", "Temperature; by default the site's cold_water.", typical="50 degF"),
        ), prefix="CM",
    )  # fmt: skip


def _emitter(*first: Property) -> tuple[Property, ...]:
    return (
        *first, SERVES, ROOM_TEMPERATURE,
        quantity("load", "power", "Heat wanted of it.", typical="9 kBtu/h"),
    )  # fmt: skip


_CIRCUIT = _emitter(
    quantity("area", "area", "Area it heats.", typical="400 ft2"),
    choice("construction", ("slab", "suspended"), "What the tube lies in.", default="slab"),
    other("tube", "tube", "Tube of the loops.", typical='{"material": "pex", "size": "1/2 in"}'),
    other("loops", "loops", "Loops side by side: a length each, or a count and a length.", low="0 ft",
          high="5000 ft", typical='["240 ft", [2, "250 ft"]]'),
    quantity("spacing", "length", "Distance between tubes.", high="10 ft", typical="9 in"),
    quantity("output_per_degree", "heat_per_kelvin",
             "Heat of the whole circuit per degree of mean water over the room or surface; overrides area and "
             "construction.", typical="300 Btu/h/degF"),
    quantity("flux", "flux", "Heat wanted per area.", typical="25 Btu/h/ft2"),
)  # fmt: skip

_RADIATOR = _emitter(
    quantity("ua", "heat_per_kelvin", "Heat to the room per degree.", typical="60 Btu/h/degF"),
    other("rated", "rated", "A point the maker states; exponent 1 where it is absent.",
          fields={"heat": "power", "flow": "flow", "supply": "temperature", "room": "temperature",
                  "exponent": "number"},
          required=("heat", "flow", "supply", "room")),
    drops(),
)  # fmt: skip


def _using() -> Iterable[Kind]:
    yield _kind(
        "manifold", "manifold", USING, ("trunk", "end"), "Shares a trunk among branches 1 to n.",
        (
            other("branches", "integer", "How many branches.", default=3, low=1, high=40),
            other("cv", "number_list", "Flow coefficient of the branches: one for all, or a list.", low=1e-4, high=1e6),
        ), prefix="M",
    )  # fmt: skip
    yield _kind(
        "floor_circuit", "floor circuit", USING, _INLINE, "Loops that warm a floor.", _CIRCUIT, prefix="FC"
    )
    yield _kind(
        "melt_circuit", "melt circuit", USING, _INLINE, "Loops that melt snow and ice.", _CIRCUIT, prefix="MC"
    )
    yield _kind("radiator", "radiator", USING, _INLINE, "Gives heat to a room.", _RADIATOR, prefix="RA")
    yield _kind("fan_coil", "fan coil", USING, _INLINE, "Gives heat to a room's air.", _RADIATOR, prefix="FN")
    yield _kind(
        "load", "load", USING, _INLINE, "Takes a fixed heat while there is flow.",
        (quantity("load", "power", "Heat taken.", typical="20 kBtu/h"), drops()), prefix="LD",
    )  # fmt: skip
    yield _kind(
        "humidifier", "humidifier", USING, _INLINE, "Gives water to the air.",
        (quantity("uses", "flow", "Water it uses up.", typical="2 L/h"), drops()), prefix="HU", solved=False,
    )  # fmt: skip
    yield _kind(
        "fixture", "fixture", USING, ("hot", "cold"), "Draws water; with one port piped, that water alone.",
        (
            quantity("flow", "flow", "Flow of the mix, for sizing; cases say what is drawn.", typical="2 gpm"),
            quantity("set_temperature", "temperature", "Temperature of the mix.", typical="105 degF"),
        ), prefix="F",
    )  # fmt: skip
    yield _kind(
        "room", "room", USING, (), "What the emitters heat.",
        (
            quantity("loss", "heat_per_kelvin", "Heat lost per degree over outdoors.", typical="250 Btu/h/degF"),
            quantity("gain", "power", "Heat from sun, people and lamps.", default="0 W", typical="1.5 kBtu/h"),
            quantity("wanted", "temperature", "Temperature wanted.", typical="68 degF"),
            quantity("mass", "heat_storage", "Heat its walls and air store per degree.", typical="4 MJ/K"),
            quantity("floor", "area", "Floor area.", typical="400 ft2"),
        ), prefix="R", solved=False,
    )  # fmt: skip


_CALL = flag("call", "Whether it counts as a call for heat.")
_STAT = (
    other("senses", "place", "What it feels: an item or pipe, and a port or sensor.", typical='["T-1", "mid"]'),
    quantity("set_temperature", "temperature", "Temperature at which it acts.", typical="120 degF"),
    quantity("differential", "temperature_difference", "Width of its band.", default="0 K", typical="10 delta_degF"),
    choice("makes_on", ("fall", "rise"), "Whether it makes as the temperature falls or rises.", default="fall"),
    _CALL, POWERED_BY,
)  # fmt: skip
_ON = flag("on", "Whether it is on where no case says otherwise.", default=False)


def _controls() -> Iterable[Kind]:
    yield _kind("aquastat", "aquastat", CONTROLS, (), "Switches on water temperature.", _STAT, prefix="AQ")
    yield _kind("thermostat", "thermostat", CONTROLS, (), "Switches on room temperature.", _STAT, prefix="TH")
    yield _kind("switch", "switch", CONTROLS, (), "Switched by hand.", (_ON, _CALL), prefix="SW")
    yield _kind(
        "outlet", "switched outlet", CONTROLS, (), "Feeds what is plugged into it.",
        (
            _ON, _CALL,
            quantity("rating", "current", "Current it is made for.", typical="15 A", safety=True),
            quantity("volts", "voltage", "Its voltage.", typical="120 V", safety=True),
            other("switched_by", "signals", "Signals that switch it.", typical='"SW-1"'),
        ), prefix="OU",
    )  # fmt: skip
    yield _kind(
        "outdoor_reset", "outdoor reset", CONTROLS, (), "Sets a supply temperature by the weather.",
        (
            other("line", "points", "Supply at rising outdoor temperatures: straight between, flat beyond.",
                  columns=("temperature", "temperature"), typical='[["5 degF", "120 degF"], ["60 degF", "80 degF"]]'),
            other("sets", "items", "Id of what it sets, or a list of ids."),
        ), prefix="OR", solved=False,
    )  # fmt: skip


KINDS: dict[str, Kind] = {
    kind.name: kind for part in (_moving, _cleaning, _making, _using, _controls) for kind in part()
}
SIGNAL_KINDS = frozenset({"switch", "aquastat", "thermostat", "outlet"})
