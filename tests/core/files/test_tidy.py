"""`wetside tidy`: the trade's spellings become the file's; what may mean two things is asked about."""

import copy
import json

import pytest

from core import commands
from core.errors import Refusal, WetsideError
from core.files import read, write
from core.files.tidy import tidied
from tests.support.small_plant import SMALL, small


def loose(units="us"):
    data = small()
    data["units"] = units
    return data


def item(data, kind):
    return next(one for one in data["items"] if one["kind"] == kind).setdefault("props", {})


def test_a_strict_file_stays_as_it_is():
    data, respelled = tidied(small())
    assert data == SMALL
    assert respelled == ()


@pytest.mark.parametrize(
    ("typed", "strict"),
    [
        ("64,000 Btu/h", "64000 Btu/h"),
        ("64.5 MBH", "64.5 MBH"),
        ("64 kbtuh", "64 kBtu/h"),
        ("18,5 kW", "18.5 kW"),
        ("1.234,5 kBtu/h", "1234.5 kBtu/h"),
        ("1,234.5 kBtu/h", "1234.5 kBtu/h"),
    ],
)
def test_powers(typed, strict):
    data = loose()
    item(data, "boiler")["capacity"] = typed
    found, respelled = tidied(data)
    assert item(found, "boiler")["capacity"] == strict
    assert [one.path for one in respelled] == ([] if typed == strict else ["items[0].props.capacity"])
    read.from_data(found)


def test_every_place_where_a_quantity_stands():
    data = loose()
    item(data, "boiler")["set_temperature"] = "150 °F"
    item(data, "circulator")["curve"] = [["0 GPM", "19 ft"], ["8 GPM", "15 ft"]]
    item(data, "circulator")["target"] = "10 °F"
    item(data, "circulator")["speed"] = "80 %"
    item(data, "floor_circuit")["loops"] = ["240'", [2, "250 feet"]]
    item(data, "expansion_tank")["precharge"] = {"guess": "12 PSI", "within": 0.2}
    data["pipes"][0] |= {
        "tube": {"material": "copper L", "size": "1-1/4 in"},
        "length": "1 ft 6 in",
        "insulation": {"thickness": '1/2"'},
        "around": {"guess": "68 °F", "within": "5 °F"},
    }
    data["site"]["altitude"] = "2,500 ft"
    data["cases"] = [
        {
            "name": "Cold start",
            "outdoor": "5 °F",
            "lasts": "90 minutes",
            "start": {"R-1": "60 °F"},
            "set": {"P-1": {"speed": "50 %"}, "L-1": {"length": "20'"}},
        }
    ]
    data["profiles"] = {"showers": {"points": [["00:00", "0 GPM"], ["06:00", "2 gal/min"]]}}
    data["runs"] = [{"name": "Week", "weather": {"low": "0 °F", "high": "20 °F"}}]
    found, _ = tidied(data)
    plant = read.from_data(found)
    assert found["items"][0]["props"]["set_temperature"] == "150 degF"
    assert item(found, "circulator")["curve"] == [["0 gpm", "19 ft_head"], ["8 gpm", "15 ft_head"]]
    assert item(found, "circulator")["target"] == "10 delta_degF"
    assert item(found, "circulator")["speed"] == 0.8
    assert item(found, "floor_circuit")["loops"] == ["240 ft", [2, "250 ft"]]
    assert item(found, "expansion_tank")["precharge"] == {"guess": "12 psi", "within": 0.2}
    pipe = found["pipes"][0]
    assert pipe["tube"] == {"material": "copper_l", "size": "1 1/4 in"}
    assert pipe["length"] == "18 in"
    assert pipe["insulation"] == {"thickness": "1/2 in"}
    assert pipe["around"] == {"guess": "68 degF", "within": "5 delta_degF"}
    assert found["site"]["altitude"] == "2500 ft"
    assert plant.cases[0].set == {"P-1": {"speed": 0.5}, "L-1": {"length": "20 ft"}}
    assert (plant.cases[0].lasts, plant.cases[0].outdoor) == ("90 min", "5 degF")
    assert found["profiles"]["showers"]["points"] == [["00:00", "0 gpm"], ["06:00", "2 gpm"]]
    assert found["runs"][0]["weather"] == {"low": "0 degF", "high": "20 degF"}
    assert tidied(json.loads(write.dumps(plant)))[1] == (), "nothing is left to tidy"


def test_a_comma_before_three_digits_is_asked_about_in_an_si_plant():
    data = loose("si")
    item(data, "boiler")["capacity"] = "1,200 kW"
    with pytest.raises(Refusal) as caught:
        tidied(data)
    assert caught.value.path == "items[0].props.capacity"
    assert 'Is it "1200 kW" or "1.200 kW"?' in str(caught.value)


@pytest.mark.parametrize(("typed", "strict"), [("1,25 kW", "1.25 kW"), ("0,125 kW", "0.125 kW")])
def test_a_decimal_comma_is_taken_where_it_can_mean_nothing_else(typed, strict):
    for system in ("us", "si"):
        data = loose(system)
        item(data, "boiler")["capacity"] = typed
        assert item(tidied(data)[0], "boiler")["capacity"] == strict


def test_what_has_two_meanings_is_left_for_the_strict_reader_to_refuse():
    data = loose()
    item(data, "boiler")["capacity"] = "64 MBtu/h"
    found, respelled = tidied(data)
    assert respelled == ()
    with pytest.raises(Refusal, match="a thousand to some"):
        read.from_data(found)


def test_data_of_any_shape_pass_or_are_refused_by_the_reader():
    for part in ("site", "systems", "items", "pipes", "cases", "curves", "profiles", "runs"):
        for odd in (
            None,
            5,
            "x",
            [5],
            [None],
            {"a": 5},
            [{"props": 5}],
            [{"tube": 5, "set": 5, "points": 5}],
        ):
            data = copy.deepcopy(SMALL) | {part: odd}
            tidied(data)
    assert tidied([1, 2]) == ([1, 2], ())


def test_the_command_writes_a_new_file_and_says_what_it_changed(tmp_path, capsys):
    data = loose()
    item(data, "boiler")["capacity"] = "64,000 Btu/h"
    old, new = tmp_path / "loose.plant.json", tmp_path / "strict.plant.json"
    old.write_text(json.dumps(data), encoding="utf-8")
    before = old.read_bytes()
    assert commands.main(["tidy", str(old), "-o", str(new)]) == 0
    said = capsys.readouterr().out.splitlines()
    assert said[0] == 'items[0].props.capacity: "64,000 Btu/h" is now "64000 Btu/h"'
    assert said[1].endswith("1 spelling changed")
    assert old.read_bytes() == before
    assert read.load(new).items["B-1"].props["capacity"] == "64000 Btu/h"
    with pytest.raises(WetsideError, match="there already"):
        commands.main(["tidy", str(old), "-o", str(new)])
    with pytest.raises(WetsideError, match="there already"):
        commands.main(["tidy", str(old), "-o", str(old)])
    with pytest.raises(WetsideError):
        commands.main(["tidy", str(old), "-o", str(tmp_path / "strict.json")])
    assert commands.main(["tidy", str(new), "-o", str(tmp_path / "again.plant.json")]) == 0
    assert "nothing changed" in capsys.readouterr().out


def test_a_refusal_names_file_and_place(tmp_path):
    data = loose("si")
    item(data, "boiler")["capacity"] = "1,200 kW"
    old = tmp_path / "loose.plant.json"
    old.write_text(json.dumps(data), encoding="utf-8")
    with pytest.raises(Refusal) as caught:
        commands.main(["tidy", str(old), "-o", str(tmp_path / "new.plant.json")])
    assert (caught.value.file, caught.value.path) == (str(old), "items[0].props.capacity")
    assert not (tmp_path / "new.plant.json").exists()
