"""Faults that can hurt somebody, and where each must be found."""

from __future__ import annotations

from tests.plants.fault_edits import SHUTOFF as OPEN
from tests.plants.fault_edits import Row, added, both, gone, made, out, put, said, system


def faults() -> list[Row]:
    """All of them."""
    return [*_relief(), *_expansion(), *_make_up(), *_sources(), *_floors(), *_drinking_water()]


def _relief() -> list[Row]:
    missing = [
        ("shed", "RV-1", "B-1"),
        ("house", "RV-2", "B-1"),
        ("tees", "RV-1", "B-1"),
    ]
    rows: list[Row] = [
        (plant, "no-relief", at, gone(name), f"{name} left out") for plant, name, at in missing
    ]
    return [
        *rows,
        (
            "house",
            "relief-blocked",
            "V-99",
            put("J-11", "RV-2", "V-99", "shutoff", ("a", "b"), **OPEN),
            "a valve before RV-2",
        ),
        (
            "shed",
            "relief-blocked",
            "CV-99",
            put("J-1", "RV-1", "CV-99", "check_valve"),
            "a check before RV-1",
        ),
        ("house", "relief-set-too-high", "RV-2", said("RV-2", set_pressure="75 psi"), "RV-2 at 75 psi"),
        ("shed", "relief-set-too-high", "RV-1", said("RV-1", set_pressure="60 psi"), "RV-1 at 60 psi"),
        ("house", "relief-too-small", "RV-2", said("RV-2", capacity="50 kBtu/h"), "RV-2 for 50 kBtu/h"),
        ("school", "relief-too-small", "RV-2", said("RV-2", capacity="10 kW"), "RV-2 for 10 kW"),
        ("house", "relief-discharge", "RV-2", said("RV-2", discharge="capped"), "discharge capped"),
        ("house", "tank-without-temperature-relief", "CT-1", gone("RV-1"), "RV-1 left out"),
    ]


def _expansion() -> list[Row]:
    missing = [
        ("shed", "ET-1", "B-1"),
        ("school", "ET-1", "B-1"),
        ("house", "ET-2", "B-1"),
        ("tees", "ET-1", "B-1"),
    ]
    rows: list[Row] = [
        (plant, "no-expansion-tank", at, gone(name), f"{name} left out") for plant, name, at in missing
    ]
    return [
        *rows,
        (
            "house",
            "expansion-cut-off",
            "V-99",
            put("J-13", "ET-2", "V-99", "shutoff", ("a", "b"), **OPEN),
            "a valve before ET-2",
        ),
        (
            "shed",
            "expansion-cut-off",
            "V-99",
            put("J-3", "ET-1", "V-99", "shutoff", ("a", "b"), **OPEN),
            "a valve before ET-1",
        ),
        (
            "house",
            "expansion-too-small",
            "ET-2",
            said("ET-2", volume="0.3 gal", acceptance="0.2 gal"),
            "a tiny ET-2",
        ),
        ("house", "precharge-wrong", "ET-2", said("ET-2", precharge="40 psi"), "ET-2 at 40 psi"),
        ("house", "drinking-water-cannot-swell", "CT-1", gone("ET-1"), "ET-1 left out"),
    ]


def _make_up() -> list[Row]:
    return [
        ("house", "no-backflow-preventer", "FV-1", out("BP-1"), "BP-1 left out"),
        ("house", "no-backflow-preventer", "BP-1", said("BP-1", **{"class": "unknown"}), "class not known"),
        ("house", "make-up-without-check-and-stop", "FV-1", out("CV-2"), "CV-2 left out"),
        ("house", "hose-without-vacuum-breaker", "F-4", gone("VB-1"), "VB-1 left out"),
        (
            "house",
            "single-wall-exchanger",
            "CT-1",
            system("heating", fluid={"kind": "ethylene_glycol", "fraction": 0.3}),
            "toxic glycol at the coil",
        ),
    ]


def _sources() -> list[Row]:
    return [
        ("house", "no-high-limit", "B-1", said("B-1", high_limit=False), "no high limit"),
        ("house", "no-high-limit", "B-1", said("B-1", high_limit=None), "high limit not typed"),
        ("school", "no-high-limit", "B-2", said("B-2", high_limit="unknown"), "high limit not known"),
        (
            "house",
            "no-low-water-cut-off",
            "B-1",
            said("B-1", low_water_cutoff=False, flow_switch=False),
            "no cut-off",
        ),
        (
            "house",
            "fires-without-flow",
            "B-1",
            both(
                said("P-2", run_when={"all": ["AQ-1", "TH-1"]}),
                said("B-1", flow_switch=False),
            ),
            "AQ-1 fires without P-2",
        ),
    ]


def _floors() -> list[Row]:
    return [
        ("house", "floor-without-limit", "FC-1", both(said("P-1", run_when="TH-1")), "no limit stops P-1"),
        ("house", "floor-water-too-hot", "FC-1", said("TV-1", target="160 degF"), "TV-1 at 160 degF"),
        ("house", "tube-lets-oxygen-in", "FC-1", said("FC-1", oxygen_barrier=False), "no oxygen barrier"),
        (
            "house",
            "melt-loop-freezes",
            "MC-1",
            system("melt", fluid={"kind": "propylene_glycol", "fraction": 0.15}),
            "thin glycol",
        ),
    ]


def _drinking_water() -> list[Row]:
    return [
        ("house", "not-for-drinking-water", "CT-1", said("CT-1", potable_listed=False), "a tank not listed"),
        ("house", "circulator-rusts", "P-5", said("P-5", body="cast_iron"), "P-5 of cast iron"),
        (
            "house",
            "hot-store-unmixed",
            "CT-1",
            both(made("MV-1", "joint", {"hot": "at", "cold": "at", "mixed": "at"}), gone("V-4")),
            "no mixing valve",
        ),
        ("house", "master-valve-alone", "F-1", said("MV-2", duty="master"), "a master valve at the shower"),
        ("house", "mixing-valve-without-checks", "MV-1", said("MV-1", checks=False), "MV-1 without checks"),
        ("house", "store-too-cool", "CT-1", said("AQ-1", set_temperature="120 degF"), "storage at 120 degF"),
        (
            "house",
            "return-too-cool",
            "P-5",
            said("MV-1", set_temperature="118 degF"),
            "circulation at 118 degF",
        ),
        (
            "house",
            "circulation-on-timer",
            "P-5",
            both(added("TM-9", "timer", on=[["06:00", "08:00"]]), said("P-5", run_when="TM-9")),
            "P-5 on a timer",
        ),
        (
            "house",
            "tap-set-too-hot",
            "MV-2",
            said("MV-2", set_temperature="125 degF"),
            "the shower at 125 degF",
        ),
    ]
