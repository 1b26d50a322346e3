"""Faults of heat, service, taps, controls and drawing, and where each must be found."""

from __future__ import annotations

from tests.plants.edits import item, pipe
from tests.plants.fault_edits import (
    SHUTOFF,
    Row,
    added,
    both,
    case,
    gone,
    heights,
    loose,
    made,
    no_fill,
    on_pipe,
    out,
    said,
    second_return,
    taps_of,
    turned,
)
from tests.plants.good_plants import curve


def faults() -> list[Row]:
    """All of them."""
    return [*_service(), *_sources(), *_cycling(), *_exchangers(), *_taps(), *_controls(), *_drawing()]


def _service() -> list[Row]:
    return [
        *(
            (plant, "no-isolation", at, out(name), f"{name} left out")
            for plant, name, at in (
                ("shed", "V-2", "P-1"),
                ("shed", "V-3", "P-1"),
                ("clinic", "V-14", "P-4"),
                ("clinic", "V-16", "P-2"),
                ("clinic", "V-19", "P-3"),
                ("clinic", "V-6", "T-1"),
                ("house", "V-14", "P-1"),
                ("house", "V-20", "P-4"),
                ("house", "V-10", "B-1"),
                ("tees", "V-3", "P-2"),
                ("tanks", "V-4", "T-1"),
            )
        ),
        *(
            (plant, "no-purge-point", at, made(name, "shutoff", None, **SHUTOFF), f"{name} a plain valve")
            for plant, name, at in (
                ("shed", "PS-1", "P-1"),
                ("clinic", "PS-3", "P-6"),
                ("house", "PS-3", "P-4"),
                ("school", "PS-6", "P-6"),
            )
        ),
        *(
            (plant, "no-drain", at, gone(name), f"{name} left out")
            for plant, name, at in (
                ("house", "D-1", "CT-1"),
                ("house", "D-2", "B-1"),
                ("clinic", "D-1", "T-1"),
                ("shed", "D-1", "B-1"),
                ("tanks", "D-1", "T-1"),
            )
        ),
        ("house", "low-point-without-drain", "MC-1", heights(MC_1="-6 ft"), "MC-1 below all drains"),
        ("clinic", "no-flushing-ports", "HX-1", made("SV-8", "shutoff", **SHUTOFF), "SV-8 a plain valve"),
        ("clinic", "no-flushing-ports", "H-1", made("SV-1", "shutoff", **SHUTOFF), "SV-1 a plain valve"),
        ("clinic", "no-flushing-ports", "HX-2", made("SV-10", "shutoff", **SHUTOFF), "SV-10 a plain valve"),
        ("clinic", "no-strainer", "HX-1", out("ST-1"), "ST-1 left out"),
        ("clinic", "no-strainer", "HX-1", out("ST-3"), "ST-3 left out"),
        ("tanks", "no-strainer", "MV-1", out("ST-1"), "ST-1 left out"),
        *(
            (plant, "no-dirt-separator", at, out(name), f"{name} left out")
            for plant, name, at in (
                ("shed", "ST-1", "B-1"),
                ("bakery", "DS-1", "B-1"),
                ("orchard", "ST-1", "HP-1"),
                ("school", "DS-1", "B-2"),
                ("house", "DS-1", "B-1"),
                ("tees", "DS-1", "B-1"),
            )
        ),
        ("shed", "no-union-at-circulator", "P-1", said("P-1", connection="sweat"), "P-1 soldered in"),
        ("clinic", "no-thermometer-behind-mixing-valve", "MV-2", gone("TG-5"), "TG-5 left out"),
        (
            "house",
            "no-thermometer-behind-mixing-valve",
            "TV-1",
            both(gone("TG-4"), said("AQ-2", senses=["J-20", "at"])),
            "TG-4 left out",
        ),
    ]


def _sources() -> list[Row]:
    weak = [["0 gpm", "3 ft_head"], ["0.6 gpm", "0 ft_head"]]
    return [
        ("clinic", "source-below-least-flow", "H-1", said("H-1", min_flow="5 gpm"), "H-1 wants 5 gpm"),
        ("orchard", "source-below-least-flow", "H-1", said("H-1", min_flow="14 gpm"), "H-1 wants 14 gpm"),
        (
            "clinic",
            "circulation-does-not-fire-heater",
            "H-2",
            said("H-2", max_inlet="90 degF"),
            "H-2 takes 90 degF",
        ),
        (
            "clinic",
            "heater-asked-for-too-much",
            "H-1",
            said("H-1", capacity="9 kBtu/h", min_output="4 kBtu/h"),
            "a small H-1",
        ),
        (
            "shed",
            "source-rise-too-great",
            "B-1",
            both(said("P-1", curve=weak), said("B-1", set_temperature="180 degF")),
            "P-1 too small",
        ),
        ("clinic", "source-above-most-flow", "H-3", said("H-3", max_flow="1.5 gpm"), "H-3 takes 1.5 gpm"),
        ("shed", "cold-return-to-boiler", "B-1", said("B-1", condensing=False), "B-1 must not condense"),
        ("school", "cold-return-to-boiler", "B-2", said("B-2", condensing=False), "B-2 must not condense"),
        ("house", "cold-return-to-boiler", "B-1", said("B-1", condensing=False), "B-1 must not condense"),
        (
            "shed",
            "slab-on-boiler-without-protection",
            "B-1",
            said("B-1", condensing=False),
            "B-1 must not condense",
        ),
        (
            "house",
            "slab-on-boiler-without-protection",
            "B-1",
            said("B-1", condensing=False),
            "B-1 must not condense",
        ),
        ("bakery", "reset-below-tank", "OR-1", said("OR-1", sets=["B-1"]), "OR-1 sets the boiler"),
        (
            "bakery",
            "store-set-above-source",
            "AQ-1",
            said("AQ-1", set_temperature="70 degC"),
            "AQ-1 at 70 degC",
        ),
        (
            "clinic",
            "store-set-above-source",
            "AQ-1",
            said("AQ-1", set_temperature="155 degF"),
            "AQ-1 at 155 degF",
        ),
        (
            "house",
            "store-set-above-source",
            "AQ-1",
            said("B-1", set_temperature="138 degF"),
            "B-1 at 138 degF",
        ),
    ]


def _cycling() -> list[Row]:
    felt = both(
        added("AQ-9", "aquastat", senses=["L-3"], set_temperature="45 degC", differential="1 K"),
        said("B-1", run_when={"all": [{"any": ["TH-1", "TH-2"]}, "AQ-9"]}),
    )
    return [
        (
            "shed",
            "source-cycles-short",
            "B-1",
            said("B-1", min_output="20 kBtu/h"),
            "B-1 turns down to 20 kBtu/h",
        ),
        (
            "school",
            "source-cycles-short",
            "B-1",
            both(
                said("B-1", min_output="30 kW"), said("B-2", min_output="30 kW"), said("BT-1", volume="10 L")
            ),
            "boilers that do not turn down",
        ),
        ("shed", "differential-defeated", "AQ-9", felt, "an aquastat of 1 K on the supply"),
        (
            "house",
            "priority-without-end",
            "AQ-1",
            said("P-1", run_when={"all": ["TH-1", {"not": "AQ-1"}, {"not": "AQ-2"}]}),
            "AQ-1 stops P-1",
        ),
    ]


def _exchangers() -> list[Row]:
    return [
        ("clinic", "exchanger-in-parallel-flow", "HX-1", turned("HX-1", "b_in", "b_out"), "b turned round"),
        ("clinic", "exchanger-in-parallel-flow", "HX-2", turned("HX-2", "a_in", "a_out"), "a turned round"),
        ("house", "exchanger-in-parallel-flow", "HX-1", said("HX-1", arrangement="parallel"), "in parallel"),
        ("house", "approach-too-near", "CT-1", said("AQ-1", set_temperature="163 degF"), "163 degF of 165"),
        ("clinic", "approach-too-near", "HX-1", said("MV-2", set_temperature="148 degF"), "148 degF of 150"),
        ("house", "one-side-still", "HX-1", said("P-4", run_when=False), "P-4 never runs"),
        ("clinic", "one-side-still", "HX-2", said("P-6", run_when=False), "P-6 never runs"),
        ("house", "one-side-still", "HX-1", said("P-3", run_when=False), "P-3 never runs"),
    ]


def _taps() -> list[Row]:
    lagless = [on_pipe(a, b, insulation=None, length="60 ft") for a, b in (("J-8", "J-9"), ("J-9", "J-10"))]
    return [
        ("clinic", "circulation-without-check", "P-5", out("CV-5"), "CV-5 left out"),
        ("house", "circulation-without-check", "P-5", out("CV-5"), "CV-5 left out"),
        (
            "house",
            "circulation-too-slow",
            "P-5",
            both(*lagless, said("P-5", curve=curve(2, 0.3))),
            "bare and slow",
        ),
        ("house", "long-wait", "F-2", on_pipe("J-10", "F-2", length="80 ft"), "80 ft to F-2"),
        ("tanks", "long-wait", "F-1", on_pipe("J-5", "MV-2", length="200 ft"), "200 ft to F-1"),
        (
            "house",
            "tank-taps-at-the-wrong-height",
            "CT-1",
            said("CT-1", taps=taps_of("4.9 ft", "3 ft")),
            "cold high",
        ),
        (
            "house",
            "tank-taps-at-the-wrong-height",
            "CT-1",
            said("CT-1", taps=taps_of("1 ft", "4 in")),
            "hot low",
        ),
        (
            "clinic",
            "tank-taps-at-the-wrong-height",
            "T-1",
            said(
                "T-1",
                taps={
                    "top": "56 in",
                    "hot": "52 in",
                    "supply": "44 in",
                    "return": "40 in",
                    "cold": "5 in",
                    "bottom": "0 in",
                },
            ),
            "return high",
        ),
        ("house", "sensor-too-high", "AQ-1", said("AQ-1", senses=["CT-1", "top"]), "sensor at the top"),
        ("bakery", "sensor-too-high", "AQ-1", said("AQ-1", senses=["CT-1", "hot"]), "sensor at the outlet"),
        ("clinic", "sensor-too-high", "AQ-1", said("AQ-1", senses=["T-1", "top"]), "sensor at the top"),
        ("house", "circulation-not-balanced", "P-5", second_return, "a second return without a valve"),
    ]


def _controls() -> list[Row]:
    return [
        ("house", "never-runs", "P-2", said("P-2", run_when=False), "P-2 off for good"),
        (
            "shed",
            "never-runs",
            "ZV-1",
            said("ZV-1", run_when={"all": ["TH-1", {"not": "TH-1"}]}),
            "a contradiction",
        ),
        (
            "shed",
            "call-runs-nothing",
            "TH-9",
            added("TH-9", "thermostat", set_temperature="60 degF"),
            "a stat for nothing",
        ),
        ("school", "call-runs-nothing", "SW-9", added("SW-9", "switch"), "a switch for nothing"),
        (
            "shed",
            "call-waits-for-another",
            "TH-2",
            both(said("P-1", run_when="TH-1"), said("B-1", run_when="TH-1")),
            "P-1 follows TH-1 alone",
        ),
        ("school", "call-waits-for-another", "TH-2", said("P-3", run_when="TH-1"), "P-3 follows TH-1 alone"),
        (
            "bakery",
            "room-without-stat",
            "R-3",
            both(said("TH-2", senses=["R-2"]), said("ZV-3", run_when=None)),
            "no stat in R-3",
        ),
        (
            "house",
            "stat-feels-nothing",
            "AQ-1",
            both(said("AQ-1", senses=None), case("Morning", signals={})),
            "AQ-1 feels nothing",
        ),
    ]


def _drawing() -> list[Row]:
    return [
        ("school", "unnamed", "RA-3", lambda data: item(data, "RA-3").update(label=""), "RA-3 unnamed"),
        (
            "shed",
            "reached-from-nothing",
            "G-9",
            both(added("G-9", "gauge"), added("V-9", "shutoff"), loose),
            "a loose piece",
        ),
        ("shed", "figure-missing", "B-1", said("B-1", capacity=None), "no capacity"),
        ("clinic", "figure-missing", "HX-1", said("HX-1", ua=None), "no UA"),
        ("bakery", "figure-missing", "CT-1", said("CT-1", coil_ua=None), "no UA of the coil"),
        ("clinic", "figure-missing", "CM-1", said("CM-1", pressure=None), "no pressure"),
        (
            "house",
            "no-pressure-reference",
            "HX-1",
            both(gone("ET-3"), no_fill("melt")),
            "nothing holds the glycol",
        ),
        (
            "house",
            "open-end",
            "HX-1",
            lambda data: data["pipes"].remove(pipe(data, "HX-1", "J-30")),
            "a pipe left out",
        ),
    ]
