"""What a line pulled from a control may mean, and what becomes of the plant then."""

import pytest

from core.plant.changes import apply
from core.plant.wiring import offers
from tests.support.calling import plant_of, two_zones


def plant():
    board = two_zones()
    board.item("SW-1", "switch")
    board.item("OR-1", "outdoor_reset", line=[["0 degC", "50 degC"]])
    board.item("R-1", "room")
    board.item("T-1", "tank", volume="0.2 m3", taps={"a": "1 m"}, sensors={"mid": "0.5 m", "low": "0.1 m"})
    return plant_of(board)


def words(control, target, port=""):
    return [offer.words for offer in offers(plant(), control, target, port)]


def after(control, target, number=0):
    before = plant()
    return apply(before, offers(before, control, target)[number].changes)


def test_each_control_offers_what_it_can_do():
    assert words("SW-1", "P-1") == ["SW-1 runs P-1"]
    assert words("OU-1", "P-1") == ["OU-1 runs P-1", "OU-1 no longer feeds P-1"]
    assert words("TH-2", "P-2") == [
        *("TH-2 senses P-2 at in", "TH-2 senses P-2 at out"),  # of several ports which one must be said
        *("TH-2 no longer runs P-2", "TH-2 feeds P-2"),
    ]
    assert words("SW-1", "OU-1") == ["SW-1 switches OU-1"]
    assert words("OR-1", "B-1") == ["OR-1 sets B-1"]
    assert words("TH-1", "R-1") == ["TH-1 senses R-1"]
    assert words("AQ-9", "T-1") == ["AQ-9 senses T-1 at mid", "AQ-9 senses T-1 at low"]
    assert words("AQ-9", "L-1") == ["AQ-9 senses L-1"]
    assert words("AQ-9", "LD-1", "out")[0] == "AQ-9 senses LD-1 at out"


def test_what_has_no_meaning_is_not_offered():
    assert words("SW-1", "R-1") == words("SW-1", "L-1") == words("OR-1", "J-1") == []
    assert words("SW-1", "SW-1") == words("B-1", "P-1") == words("X-9", "P-1") == []


def test_taking_an_offer_changes_the_right_property():
    assert after("SW-1", "P-1").items["P-1"].props["run_when"] == {"any": ["TH-1", "SW-1"]}
    assert after("TH-2", "P-2", 2).items["P-2"].props["run_when"] is False
    assert "powered_by" not in after("OU-1", "P-1", 1).items["P-1"].props
    assert after("OR-1", "B-1").items["OR-1"].props["sets"] == ["B-1"]
    assert after("AQ-9", "T-1").items["AQ-9"].props["senses"] == ["T-1", "mid"]


def test_an_offer_taken_twice_leaves_things_as_they_were():
    for control, target in (("SW-1", "P-1"), ("OR-1", "B-1"), ("TH-1", "R-1")):
        once = after(control, target)
        again = apply(once, offers(once, control, target)[0].changes)
        assert again.items[control].props == plant().items[control].props
        had, has = plant().items[target].props, again.items[target].props
        assert has | {"run_when": None} == had | {"run_when": None}


def test_more_than_any_of_is_left_to_words():
    board = two_zones()
    board.items["P-1"]["props"]["run_when"] = {"all": ["TH-1", "TH-2"]}
    found = [o for o in offers(plant_of(board), "TH-1", "P-1") if "run when" in o.words]
    assert [offer.changes for offer in found] == [()]


@pytest.mark.parametrize("kind", ["circulator", "zone_valve", "heater", "boiler"])
def test_whatever_can_run_is_offered(kind):
    board = two_zones()
    board.item("X-1", kind)
    board.item("SW-1", "switch")
    assert [offer.words for offer in offers(plant_of(board), "SW-1", "X-1")] == ["SW-1 runs X-1"]
