"""Outlets: who hangs on whom, the current of what runs, and when that is too much or not known."""

import pytest

from core.calls.receptacles import feeds
from core.calls.sheet import call_sheet
from core.working import evaluate
from tests.support.calling import plant_of, two_zones


def row(board, name):
    return {r.name: r for r in call_sheet(plant_of(board)).rows}[name]


def test_power_is_followed_through_stats_and_outlets():
    found = feeds(plant_of(two_zones()))
    assert found == {"OU-1": {"P-1": (), "P-2": ("AQ-9", "OU-2")}, "OU-2": {"P-2": ("AQ-9",)}}


def test_current_of_what_runs_is_added_up():
    both = {o.at: o for o in row(two_zones(), "TH-1 + TH-2").outlets}
    assert both["OU-1"].amps.value == pytest.approx(1.5 + 120.0 / 120.0)  # typed amps; watts over volts
    assert both["OU-1"].verdict == "within"
    assert both["OU-2"].amps.value == pytest.approx(1.0)
    assert both["OU-2"].limit.value == pytest.approx(1.6)
    one = {o.at: o for o in row(two_zones(), "TH-1").outlets}
    assert one["OU-1"].amps.value == pytest.approx(1.5)
    assert one["OU-2"].verdict == "idle"


@pytest.mark.parametrize(
    ("rating", "verdict"), [("1.3 A", "within"), ("1.2 A", "over 80 %"), ("0.9 A", "over rating")]
)
def test_verdict_by_rating(rating, verdict):
    board = two_zones()
    board.items["OU-2"]["props"]["rating"] = rating
    load = row(board, "TH-2").outlets[1]
    assert load.verdict == verdict
    assert ("3 h" in load.words()) == (verdict == "over 80 %")


def test_what_is_not_known_never_counts_as_good():
    board = two_zones()
    del board.items["P-2"]["props"]["watts"]
    load = row(board, "TH-1 + TH-2").outlets[0]
    assert (load.unknown, load.verdict) == (("P-2",), "unknown")
    assert load.amps.value == pytest.approx(1.5)
    assert "P-2 of unknown current" in load.words()
    board.items["OU-1"]["props"]["rating"] = "unknown"
    load = row(board, "TH-1").outlets[0]
    assert load.verdict == "unknown"
    assert "rating is not known" in load.words()
    # What is known is too much already: that stands, whatever the unknown part adds.
    board.items["OU-1"]["props"]["rating"] = "1 A"
    assert row(board, "TH-1 + TH-2").outlets[0].verdict == "over rating"


def test_an_outlet_that_is_off_carries_nothing():
    board = two_zones()
    board.items["OU-1"]["props"]["on"] = False
    for name in ("TH-1", "TH-1 + TH-2"):
        outlets = row(board, name).outlets
        assert [o.verdict for o in outlets] == ["idle", "idle"]
        assert not row(board, name).runs["P-1"]


def test_a_slowed_circulator_still_counts_its_full_current():
    board = two_zones(speed=0.5)
    assert row(board, "TH-1").outlets[0].amps.value == pytest.approx(1.5)
    assert row(board, "TH-1").circulators["P-1"].power.value == pytest.approx(80.0 * 0.5**3)


def test_every_working_recomputes():
    for each in row(two_zones(speed=0.7), "TH-1 + TH-2").outlets:
        for working in (each.amps, each.limit):
            for _, part in working.walk():
                if part.formula:
                    assert evaluate(part) == pytest.approx(float(part.value), rel=1e-6)


def test_the_worst_combination_of_an_outlet_is_named():
    sheet = call_sheet(plant_of(two_zones()))
    worst = next(w for w in sheet.worst if w.what == "outlet_current" and w.at == "OU-1")
    assert (worst.case, worst.value) == ("TH-1 + TH-2", pytest.approx(2.5))
    assert "licensed electrician" in sheet.cautions[0]


def test_an_outlet_under_a_not_feeds_nothing():
    """What runs while an outlet is off hangs on another one."""
    board = two_zones()
    board.items["P-2"]["props"]["powered_by"] = {"all": ["AQ-9", {"not": "OU-1"}]}
    assert feeds(plant_of(board)) == {
        "OU-1": {"P-1": (), "P-2": ("AQ-9", "OU-2")},
        "OU-2": {"P-2": ("AQ-9",)},
    }
    board.items["P-1"]["props"]["powered_by"] = {"not": "OU-1"}
    assert "P-1" not in feeds(plant_of(board))["OU-1"]


def test_what_is_plugged_in_is_told_with_its_current():
    load = row(two_zones(), "TH-1").outlets[0].as_data()
    assert [(one["at"], one["runs"]) for one in load["feeds"]] == [("P-1", True), ("P-2", False)]
    assert load["feeds"][0]["amps_a"] == pytest.approx(1.5)
    assert load["feeds"][1]["amps_a"] == pytest.approx(1.0)
