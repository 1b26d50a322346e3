"""Good plants of everyday trade by a hand other than the rules' authors, and faults put into them.

The files under tests/plants/trade are our own invention: close tees, an on-demand heater with a store, an
iron boiler with radiators, two boilers at a separator, a heat pump, snow-melt, an electric boiler, drinking
water alone, flats behind a booster, a tank with a coil for the taps, two tanks with circulation, floors on a
manifold.
"""

from __future__ import annotations

import copy
import json
from pathlib import Path
from typing import Any

import pytest

from core.files.read import from_data
from core.review import Finding, Severity, review_plant
from tests.plants.edits import Data, item, pipe, props, remove, take_out

TRADE = Path(__file__).parents[2] / "plants" / "trade"
NAMES = sorted(path.name.removesuffix(".plant.json") for path in TRADE.glob("*.plant.json"))


def plant_data(name: str) -> Data:
    data: Data = json.loads((TRADE / f"{name}.plant.json").read_text(encoding="utf-8"))
    return data


def reviewed(data: Data) -> list[Finding]:
    return review_plant(from_data(data))


def places(data: Data, origin: str) -> set[str]:
    return {one.at[0] for one in reviewed(data) if one.rule.origin == origin}


def tee_in(data: Data, start: str, end: str, joint: str) -> None:
    """A joint halfway in a pipe."""
    one = pipe(data, start, end)
    data["items"].append({"id": joint, "kind": "joint", "at": [0, 0]})
    rest = {**copy.deepcopy(one), "id": f"{one['id']}n", "from": [joint, "at"], "fittings": {}}
    one["to"] = [joint, "at"]
    data["pipes"].append(rest)


def backward(data: Data) -> None:
    """Every pipe drawn from its other end: what flows where is the same."""
    for one in data["pipes"]:
        one["from"], one["to"] = one["to"], one["from"]
        one.get("via", []).reverse()


def said(data: Data) -> set[tuple[str, str]]:
    return {(one.rule.id, one.at[0]) for one in reviewed(data)}


@pytest.mark.parametrize("name", NAMES)
def test_good_trade_plants_have_nothing_to_stop_for_or_to_mend(name: str):
    found = [one for one in reviewed(plant_data(name)) if one.severity is not Severity.CONSIDER]
    assert [(one.rule.id, one.at, one.text) for one in found] == []


@pytest.mark.parametrize("name", ["old_iron", "on_demand", "two_boilers"])
def test_the_way_a_pipe_is_drawn_changes_no_finding(name: str):
    turned = plant_data(name)
    backward(turned)
    assert said(turned) == said(plant_data(name))


def test_a_boiler_without_its_own_relief_is_found_beside_one_that_has():
    data = plant_data("two_boilers")
    remove(data, "RLF1")
    stops = [one for one in reviewed(data) if one.severity is Severity.STOP]
    assert [(one.rule.origin, one.at[0]) for one in stops] == [("rv-missing-source", "BLR1")]


def test_a_relief_valve_moved_past_the_boilers_valve_is_blocked_and_not_missing():
    data = plant_data("two_boilers")
    remove(data, "RLF1")
    data["items"].append({"id": "RLF9", "kind": "relief_valve", "at": [0, 0], "props": _relief(data)})
    tee_in(data, "V31", "J1", "J99")
    data["pipes"].append({**copy.deepcopy(data["pipes"][0]), "id": "L-999", "from": ["J99", "at"]})
    data["pipes"][-1] |= {"to": ["RLF9", "at"], "system": "heat"}
    assert places(data, "rv-missing-source") == set()
    assert "V31" in places(data, "rv-blocked")


def _relief(data: Data) -> dict[str, Any]:
    return dict(item(data, "RLF2")["props"])


def test_a_drinking_water_tank_on_the_hot_pipe_stands_wrong():
    data = plant_data("potable_house")
    tee_in(data, "WH", "V3", "J99")
    pipe(data, "J3", "XT")["from"] = ["J99", "at"]
    assert places(data, "potable-et-location") == {"XT"}
    assert places(plant_data("potable_house"), "potable-et-location") == set()


def test_an_electric_boiler_needs_no_warm_return_but_one_with_a_flue_does():
    data = plant_data("electric")
    assert places(data, "noncond-return") == places(data, "cold-start-mass") == set()
    props(data, "EB", efficiency=0.84)
    assert places(data, "noncond-return") == places(data, "cold-start-mass") == {"EB"}


def test_a_room_whose_stat_the_case_holds_off_does_not_freeze_its_floor():
    data = plant_data("primary_secondary")
    assert places(data, "freeze-zone") == set()
    remove(data, "TS2")
    props(data, "PZ2", run_when="SW9")
    for name in ("PB", "BLR"):
        props(data, name, run_when={"any": ["TS1", "SW9"]})
    data["items"].append({"id": "SW9", "kind": "switch", "at": [0, 0]})
    for case in data["cases"]:
        case["signals"]["SW9"] = case["signals"].pop("TS2")
    assert places(data, "freeze-zone") == {"FL2"}


def test_the_stat_of_an_element_runs_something():
    data = plant_data("potable_house")
    assert "AQ" not in {one.at[0] for one in reviewed(data) if one.rule.id == "call-runs-nothing"}
    props(data, "WH", element="0 W")
    assert "AQ" in {one.at[0] for one in reviewed(data) if one.rule.id == "call-runs-nothing"}


def test_cold_taps_that_feed_fixtures_too_are_no_hot_taps():
    assert places(plant_data("potable_house"), "tank-ports") == set()


def test_a_vacuum_breaker_past_a_plain_joint_guards_its_hose():
    data = plant_data("potable_house")
    tee_in(data, "J10", "VB", "J99")
    assert "HOSE" not in {one.at[0] for one in reviewed(data) if one.rule.id.startswith("hose-")}
    remove(data, "VB")
    assert "HOSE" in {one.at[0] for one in reviewed(data) if one.rule.id.startswith("hose-")}


def severities(data: Data, origin: str, at: str) -> set[Severity]:
    return {one.severity for one in reviewed(data) if one.rule.origin == origin and one.at[0] == at}


def test_a_master_valve_set_to_scalding_is_to_mend():
    data = plant_data("potable_house")
    props(data, "TMV", set_temperature="150 degF")
    assert severities(data, "tmv-after-storage", "TMV") == {Severity.MEND}


def test_a_call_that_leaves_the_boilers_own_circulator_resting_lets_it_fire_dry():
    data = plant_data("primary_secondary")
    props(data, "BLR", flow_switch=False)
    assert not severities(data, "electrical-interlock", "BLR")
    props(data, "PB", run_when="TS1")  # the zone of TS2 drives its own water round, none through the boiler
    assert severities(data, "electrical-interlock", "BLR") == {Severity.STOP}


def test_a_vacuum_breaker_does_not_guard_a_make_up_line():
    data = plant_data("old_iron")
    props(data, "BFP", **{"class": "vented_dual_check"})
    assert not severities(data, "bf-makeup", "BFP")
    props(data, "BFP", **{"class": "vacuum_breaker"})
    assert severities(data, "bf-makeup", "BFP") == {Severity.STOP}


def test_a_heater_that_the_draw_cannot_fire_is_found():
    data = plant_data("on_demand")
    for name, port in (("V5", "a"), ("V6", "b")):  # the heater taken out of its loop, straight to the tap
        data["pipes"] = [one for one in data["pipes"] if [name, port] not in (one["from"], one["to"])]
    like = copy.deepcopy(pipe(data, "J3", "TNK"))
    data["pipes"] += [{**like, "id": "L-901", "from": ["J3", "at"], "to": ["V5", "a"]}]
    remove(data, "PC", "CKC")
    data["pipes"] += [{**like, "id": "L-902", "from": ["V5", "b"], "to": ["STH", "in"]}]
    data["items"].append({"id": "TAP", "kind": "fixture", "at": [0, 0], "props": {"flow": "2 gpm"}})
    data["pipes"] += [{**like, "id": "L-903", "from": ["V6", "b"], "to": ["TAP", "hot"]}]
    data["cases"] = [{"name": "Draw", "signals": {"AQ": True}, "draws": {"TAP": "2 gpm"}}]
    assert not severities(data, "source-min-flow", "HTR")
    props(data, "HTR", min_flow="4 gpm")
    assert severities(data, "source-min-flow", "HTR") == {Severity.MEND}


def test_a_heat_pump_on_a_small_buffer_starts_too_often():
    data = plant_data("heat_pump")
    props(data, "BUF", volume="1 gal")
    found = [one for one in reviewed(data) if one.rule.origin == "buffer-short-cycle"]
    assert [one.at[0] for one in found] == ["BUF"]
    assert found[0].found.guess  # its table says no least output


def small_relief(capacity: str, *accepted: dict[str, str]) -> Finding:
    data = plant_data("electric")
    props(data, "RLF", capacity=capacity)
    data["accepted"] = list(accepted)
    return next(one for one in reviewed(data) if one.rule.origin == "rv-capacity")


def test_a_record_of_the_key_alone_reopens_when_the_figure_worsens_by_more_than_5_percent():
    key = small_relief("10 kBtu/h").as_data()["key"]
    record = {"key": key, "because": "agreed", "by": "me", "checked_with": "inspector", "date": "2026-01-01"}
    assert small_relief("10 kBtu/h", record).accepted
    assert small_relief("9.7 kBtu/h", record).accepted
    assert not small_relief("9 kBtu/h", record).accepted
    assert small_relief("9 kBtu/h", {**record, "key": key.partition("#")[0]}).accepted  # says no figure


def aquastat_on_a_joint(data: Data) -> None:
    stat = {"senses": ["J2", "at"], "set_temperature": "70 degC", "differential": "1 K"}
    data["items"].append({"id": "AQ7", "kind": "aquastat", "at": [0, 0], "props": stat})
    props(data, "B1", run_when={"all": ["AQ1", "AQ7"]})


FAULTS = (
    ("nursing_home", "tp-tank", "TK1", Severity.STOP, lambda d: remove(d, "RV11")),  # the other tank has one
    ("nursing_home", "rv-capacity", "RV11", Severity.STOP, lambda d: props(d, "RV11", capacity="1 kW")),
    (
        "booster_flats",
        "potable-et",
        "TK1",
        Severity.STOP,
        lambda d: remove(d, "ET1"),
    ),  # the other flat has one
    ("coil_for_taps", "rv-missing-source", "CT1", Severity.STOP, lambda d: remove(d, "RV2")),
    ("coil_for_taps", "potable-et", "CT1", Severity.STOP, lambda d: remove(d, "ET2")),
    ("coil_for_taps", "rv-missing-source", "B1", Severity.STOP, lambda d: remove(d, "RV1")),
    ("nursing_home", "aquastat-vs-dt", "AQ7", Severity.CONSIDER, aquastat_on_a_joint),
    ("booster_flats", "tmv-class", "MV1", Severity.MEND, lambda d: item(d, "FX11").update(label="Shower")),
    ("floor_manifold", "makeup-check-stop", "BFP1", Severity.STOP, lambda d: take_out(d, "CKM1")),
)


@pytest.mark.parametrize(("name", "origin", "at", "grave", "edit"), FAULTS)
def test_a_fault_in_a_good_trade_plant_is_found(name: str, origin: str, at: str, grave: Severity, edit: Any):
    data = plant_data(name)
    assert not severities(data, origin, at)
    edit(data)
    assert severities(data, origin, at) == {grave}


def test_a_booster_circulates_no_hot_water():
    assert not {one.rule.id for one in reviewed(plant_data("booster_flats")) if one.at[0] == "P1"}


def test_a_fill_valve_with_a_check_built_in_is_enough():
    data = plant_data("floor_manifold")
    take_out(data, "CKM1")
    item(data, "FIL1")["label"] = "Fill valve with check"
    assert not severities(data, "makeup-check-stop", "BFP1")


def test_a_limit_is_no_call_that_another_must_help():
    found = reviewed(plant_data("floor_manifold"))
    assert "call-waits-for-another" not in {one.rule.id for one in found}
