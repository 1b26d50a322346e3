"""The table of kinds holds what the plant file's contract names, and its own defaults obey it."""

import json

import pytest

from core.errors import Refusal
from core.vocabulary import GROUPS, KINDS, Trait, default_si, joined_ports, ports_of, to_si

# Kind: ports; properties, as the contract's table has them.
CONTRACT = {
    "joint": ("at", ""),
    "circulator": (
        "in out",
        "curve speed control target senses min_speed stops_at_min stopped_cv integral_check watts amps body "
        "face_to_face connection flange_thickness invented run_when powered_by"
        " min_on min_off post_run delay lock_out",
    ),
    "check_valve": ("in out", "cv k size opens_at"),
    "shutoff": ("a b", "cv k size open"),
    "service_valve": ("a b hose", "cv k size open"),
    "balance_valve": ("a b", "cv setting set_flow"),
    "zone_valve": ("a b", "cv run_when powered_by watts amps min_on min_off post_run delay lock_out"),
    "mixing_valve": ("hot cold mixed", "cv set_temperature checks duty min_flow"),
    "three_way_valve": ("a b ab", "cv position target"),
    "dp_bypass": ("in out", "set_pressure cv"),
    "fill_valve": ("in out", "set_pressure open"),
    "pressure_reducer": ("in out", "set_pressure open"),
    "backflow_preventer": ("in out", "cv k size drops class"),
    "strainer": ("in out", "cv k size drops"),
    "flow_meter": ("in out", "cv k size drops"),
    "air_separator": ("in out", "cv k size drops"),
    "dirt_separator": ("in out", "cv k size drops"),
    "heat_trap": ("in out", "cv k size drops"),
    "spacer": ("in out", "cv k size drops face_to_face blind"),
    "purge_set": ("a b drain", "cv open drain_open"),
    "drain": ("at", ""),
    "air_vent": ("at", ""),
    "gauge": ("at", ""),
    "thermometer": ("at", ""),
    "plug": ("at", ""),
    "vacuum_breaker": ("at", ""),
    "relief_valve": ("at", "set_pressure set_temperature capacity inlet_size discharge"),
    "expansion_tank": ("at", "volume acceptance precharge max_pressure potable"),
    "heater": (
        "in out",
        "capacity set_temperature min_flow max_flow min_output max_inlet efficiency drops throttles "
        "shut_when_idle linked combined_use fuel_input run_when powered_by water_content "
        "watts amps min_on min_off post_run delay lock_out",
    ),
    "boiler": (
        "in out",
        "capacity min_output set_temperature differential water_content condensing condensate efficiency "
        "drops run_when powered_by watts amps min_on min_off post_run delay lock_out",
    ),
    "heat_pump": (
        "in out",
        "table set_temperature drops run_when powered_by water_content watts amps "
        "min_on min_off post_run delay lock_out",
    ),
    "exchanger": (
        "a_in a_out b_in b_out",
        "ua rated fouling arrangement a_drops b_drops double_wall max_pressure water_content",
    ),
    "tank": ("", "volume taps nodes tall ua_loss element sensors"),
    "coil_tank": (
        "coil_in coil_out",
        "volume taps nodes tall ua_loss element sensors coil_ua coil_drops double_wall coil_heights",
    ),
    "buffer": ("a_in a_out b_in b_out", "volume"),
    "separator": ("a_in a_out b_in b_out", "volume"),
    "manifold": ("trunk end", "branches cv"),
    "floor_circuit": (
        "in out",
        "area construction tube loops spacing output_per_degree room_temperature serves load flux mass "
        "mass_at least_return",
    ),
    "melt_circuit": (
        "in out",
        "area construction tube loops spacing output_per_degree room_temperature serves load flux mass "
        "mass_at least_return clear",
    ),
    "radiator": ("in out", "ua rated serves room_temperature load drops water_content least_return"),
    "fan_coil": ("in out", "ua rated serves room_temperature load drops water_content least_return"),
    "load": ("in out", "load least_return drops"),
    "humidifier": ("in out", "uses drops"),
    "fixture": ("hot cold", "flow set_temperature fixture_type public"),
    "cold_main": ("at", "pressure temperature"),
    "room": ("", "loss gain wanted mass floor envelope ceiling air_changes past_use"),
    "aquastat": ("", "senses set_temperature differential makes_on call powered_by priority priority_limit"),
    "thermostat": ("", "senses set_temperature differential makes_on call powered_by"),
    "switch": ("", "on call"),
    "timer": ("", "on days every for"),
    "outlet": ("", "on call rating volts switched_by"),
    "outdoor_reset": ("", "line sets"),
}
SAFETY = [
    "max_pressure",
    "max_temperature",
    "potable_listed",
    "ferrous",
    "oxygen_barrier",
    "senses_tank_top",
    "high_limit",
    "low_water_cutoff",
    "flow_switch",
    "clearance",
    "shaft",
]


def test_the_table_has_the_contracts_kinds_and_no_others():
    assert set(KINDS) == set(CONTRACT)


@pytest.mark.parametrize("kind", KINDS)
def test_ports_and_properties_are_the_contracts(kind):
    ports, properties = CONTRACT[kind]
    assert KINDS[kind].ports == tuple(ports.split())
    shared = (
        {*SAFETY} if KINDS[kind].has(Trait.SIGNALS, Trait.RESETS) else {*SAFETY, "height", "port_heights"}
    )
    assert set(KINDS[kind].properties) == {*properties.split(), *shared}


@pytest.mark.parametrize("kind", KINDS)
def test_every_property_says_what_it_means_and_takes_its_own_default_and_example(kind):
    for name, prop in KINDS[kind].properties.items():
        assert prop.name == name
        assert prop.help.endswith("."), name
        default_si(prop)
        for bound in (prop.low, prop.high):
            if prop.type == "quantity":
                to_si(prop, bound)
        if prop.typical and prop.type not in ("number", "choice", "text"):
            raw = prop.typical
            if raw[0] in '[{"':
                raw = json.loads(raw)
            to_si(prop, raw)


def test_groups_and_tags():
    assert {kind.group for kind in KINDS.values()} == set(GROUPS)
    prefixes = [kind.prefix for kind in KINDS.values()]
    assert len(prefixes) == len(set(prefixes))
    assert "L" not in prefixes, "L is for pipes"


def test_absent_means_what_the_contract_says():
    means = {
        ("circulator", "speed"): 1.0,
        ("circulator", "min_speed"): 0.2,
        ("circulator", "integral_check"): False,
        ("circulator", "stops_at_min"): False,
        ("balance_valve", "setting"): 1.0,
        ("shutoff", "open"): True,
        ("heater", "min_flow"): 0.0,
        ("boiler", "min_output"): 0.0,
        ("check_valve", "opens_at"): 0.0,
        ("zone_valve", "run_when"): True,
        ("zone_valve", "powered_by"): True,
        ("exchanger", "arrangement"): "counter",
        ("switch", "on"): False,
    }
    for (kind, name), value in means.items():
        assert default_si(KINDS[kind].properties[name]) == value, (kind, name)


def test_ports_that_properties_name():
    assert ports_of("tank", {"taps": {"up": "4 ft", "low": "0 ft"}}) == ("up", "low")
    assert ports_of("coil_tank", {"taps": {"up": "4 ft"}}) == ("up", "coil_in", "coil_out")
    assert ports_of("manifold", {"branches": 2}) == ("trunk", "end", "1", "2")
    assert len(ports_of("tank", {})) > 1


def test_what_parts_bodies_of_water():
    assert joined_ports("exchanger", {}) == (("a_in", "a_out"), ("b_in", "b_out"))
    assert joined_ports("fill_valve", {}) == (("in",), ("out",))
    assert joined_ports("coil_tank", {"taps": {"t": "0 ft"}}) == (("t",), ("coil_in", "coil_out"))
    assert joined_ports("joint", {}) == (("at",),)
    assert joined_ports("switch", {}) == ()
    assert joined_ports("manifold", {"branches": 1}) == (("trunk", "end", "1"),)


@pytest.mark.parametrize("name", SAFETY)
def test_unknown_is_legal_for_safety_properties_only(name):
    for kind in KINDS.values():
        assert to_si(kind.properties[name], "unknown") == "unknown"
    with pytest.raises(Refusal):
        to_si(KINDS["circulator"].properties["speed"], "unknown")
    with pytest.raises(Refusal):
        to_si(KINDS["boiler"].properties["capacity"], "unknown")
