"""Compare: what counts as a change, and which effects are told."""

from __future__ import annotations

import copy
import json
from typing import Any

import pytest

from core import commands
from core.files.read import from_data
from core.questions.compare import Comparison, compare
from tests.support.builders import Board


def plant() -> dict[str, Any]:
    board = Board()
    board.item("B-1", "boiler", capacity="20 kW", set_temperature="60 degC")
    board.drive()
    board.item("RA-1", "radiator", ua="100 W/K")
    board.item("J-1", "joint")
    board.item("ET-1", "expansion_tank", volume="20 L", precharge="1 bar")
    board.ring("P-1", "S-1", "B-1", "RA-1", "J-1", length="2 m", bore=0.02)
    board.pipe("J-1:at", "ET-1:at", length="2 m", bore=0.02)
    board.case("cold", outdoor="-10 degC")
    return board.data()


def compared(other: dict[str, Any]) -> Comparison:
    return compare(from_data(plant()), from_data(other))


def test_order_places_and_spelling_are_no_change():
    other = copy.deepcopy(plant())
    other["items"].reverse()
    other["pipes"].reverse()
    other["items"][0]["at"] = [900, 900]
    other["pipes"][0]["via"] = [[10, 10]]
    for item in other["items"]:
        if item["id"] == "B-1":
            item["props"] = {"capacity": "20000 W", "set_temperature": "140 degF"}
    for pipe in other["pipes"]:
        pipe["length"] = "200 cm"
    other["site"]["outdoor_design"] = "14 degF"
    found = compared(other)
    assert (found.changed, found.effects) == ((), ())


def test_a_changed_property_and_what_it_does():
    other = plant()
    other["items"][0]["props"]["set_temperature"] = "70 degC"
    found = compared(other)
    assert [one.as_data() for one in found.changed] == [
        {"at": "B-1", "property": "set_temperature", "before": "60 degC", "after": "70 degC"}
    ]
    heat = next(one for one in found.effects if (one.at, one.what) == ("RA-1", "delivered_w"))
    assert heat.case == "cold"
    assert heat.unit == "W"
    assert heat.after / heat.before == pytest.approx(50.0 / 40.0, rel=1e-6)
    assert not any(one.what == "flow_m3_s" for one in found.effects)  # a fluid of constant properties


def test_what_is_added_or_removed_has_no_property():
    other = plant()
    other["items"].append({"id": "R-9", "kind": "room", "at": [0, 0], "props": {}})
    found = compared(other)
    assert [(one.at, one.property, one.before, one.after) for one in found.changed] == [
        ("R-9", None, None, "room")
    ]
    back = compare(from_data(other), from_data(plant()))
    assert [(one.at, one.property, one.before, one.after) for one in back.changed] == [
        ("R-9", None, "room", None)
    ]


def test_fittings_cases_systems_and_guesses_are_compared():
    other = plant()
    other["pipes"][0]["fittings"] = {"elbow_90": 2}
    other["pipes"][1]["length"] = {"guess": "2 m", "within": 0.2}
    other["cases"][0]["outdoor"] = "-12 degC"
    other["systems"]["loop"]["fill_pressure"] = "1 bar"
    places = {(one.at, one.property) for one in compared(other).changed}
    pipes = [pipe["id"] for pipe in plant()["pipes"]]
    assert places == {
        (pipes[0], "fittings"),
        (pipes[1], "length"),
        ("cases.cold", "outdoor"),
        ("systems.loop", "fill_pressure"),
    }


def test_a_case_that_only_one_has_is_named():
    other = plant()
    other["cases"].append({"name": "mild", "outdoor": "5 degC"})
    found = compared(other)
    assert found.unmatched == ("mild",)
    assert [(one.at, one.property) for one in found.changed] == [("cases.mild", None)]


def test_the_command_tells_both(tmp_path, capsys):
    paths = [tmp_path / "one.plant.json", tmp_path / "two.plant.json"]
    other = plant()
    other["items"][0]["props"]["set_temperature"] = "70 degC"
    for path, data in zip(paths, (plant(), other), strict=True):
        path.write_text(json.dumps(data))
    assert commands.main(["compare", *map(str, paths)]) == 0
    said = capsys.readouterr().out
    assert "set temperature" in said
    assert "delivered" in said
    assert commands.main(["compare", *map(str, paths), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert set(told["effects"][0]) == {"case", "at", "what", "before", "after", "unit"}
