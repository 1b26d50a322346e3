"""Timers, profiles and runs: read strictly, written back, renamed with what they name."""

import copy

import pytest

from core.errors import Refusal
from core.files import read, write
from core.plant import edits
from core.plant.changes import apply
from core.plant.run_rules import read_profile
from core.solve.solver import solve_plant
from tests.support.small_plant import small

SHOWERS = {"points": [["00:00", "0 gpm"], ["06:30", "2 gpm"], ["07:00", "0 gpm"]], "repeat": "day"}
PEOPLE = {"points": [["mon 00:00", "0 W"], ["sat 09:00", "300 W"]], "repeat": "week"}
RUN = {
    "name": "Cold week",
    "case": "Otherwise",
    "hours": 168,
    "weather": {"low": "0 degF", "high": "20 degF"},
    "limits": {"longest_call": "2 h", "starts_per_hour": 6, "room_short": 4.0, "wait": "40 s"},
    "draws": {"F-1": "showers"},
    "gains": {"R-1": "people"},
    "start": {"R-1": "60 degF"},
}


def data(timer=None, **changes):
    found = copy.deepcopy(small())
    if not any(item["id"] == "F-1" for item in found["items"]):
        found["items"].append({"id": "F-1", "kind": "fixture", "at": [0, 0]})
    found["items"].append(
        {"id": "TM-1", "kind": "timer", "at": [0, 0], **({"props": timer} if timer else {})}
    )
    found["cases"] = [{"name": "As drawn"}, {"name": "Otherwise"}]
    found["profiles"] = {"showers": copy.deepcopy(SHOWERS), "people": copy.deepcopy(PEOPLE)}
    found["runs"] = [copy.deepcopy(RUN)]
    for key, value in changes.items():
        found[key] = value
    return found


def test_profiles_and_runs_come_back_as_they_were_typed():
    plant = read.from_data(data({"on": [["22:00", "06:00"]], "days": ["mon", "fri"]}))
    text = write.dumps(plant)
    again = read.loads(text)
    assert again == plant
    assert write.dumps(again) == text
    assert again.runs == (RUN,)
    assert again.profiles == {"showers": SHOWERS, "people": PEOPLE}


def test_a_profile_is_read_in_seconds_and_si():
    profile = read_profile(PEOPLE)
    assert (profile.dimension, profile.period) == ("power", 7 * 86400.0)
    assert profile.times == (0.0, 5 * 86400.0 + 9 * 3600.0)
    assert profile.values == (0.0, 300.0)
    assert read_profile(SHOWERS).values[1] == pytest.approx(2 * 231 * 0.0254**3 / 60)


@pytest.mark.parametrize(
    ("timer", "path", "words"),
    [
        ({"on": [["06:00"]]}, "on[0]", "an interval"),
        ({"on": [["6:00", "08:00"]]}, "on[0][0]", "a time of day"),
        ({"on": [["06:00", "24:30"]]}, "on[0][1]", "a time of day"),
        ({"on": [["06:00", "06:00"]]}, "on[0][1]", "another time"),
        ({"on": True}, "on", "a list of intervals"),
        ({"on": [["06:00", "07:00"]], "days": ["mo"]}, "days[0]", "The nearest is mon"),
        ({"on": [["06:00", "07:00"]], "days": ["mon", "mon"]}, "days[1]", "each day once"),
        ({"on": [["06:00", "07:00"]], "days": []}, "days", "1 to 7"),
        ({"every": "1 h"}, "for", "how long it is on"),
        ({"every": "1 h", "for": "2 h"}, "for", "at most every"),
        ({"every": "1 h", "for": "5 min", "on": [["06:00", "07:00"]]}, "on", "nothing beside every"),
        ({"evry": "1 h"}, "evry", "The nearest is every"),
    ],
    ids=str,
)
def test_a_timer_that_cannot_be_is_refused_at_its_place(timer, path, words):
    found = data(timer)
    number = next(n for n, item in enumerate(found["items"]) if item["id"] == "TM-1")
    with pytest.raises(Refusal) as caught:
        read.from_data(found)
    assert caught.value.path == f"items[{number}].props.{path}"
    assert words in str(caught.value)


def profile(*points, **more):
    return {"profiles": {"showers": {"points": [list(one) for one in points], **more}, "people": PEOPLE}}


def run(**more):
    return {"runs": [{**RUN, **more}]}


@pytest.mark.parametrize(
    ("changes", "path", "words"),
    [
        (profile(("06:00", "2 gpm")), "profiles.showers.points[0][0]", '"00:00" at the first'),
        (profile(("00:00", "2 gpm"), ("00:00", "1 gpm")), "profiles.showers.points[1][0]", "a later time"),
        (profile(("00:00", "2 gpm"), ("24:00", "1 gpm")), "profiles.showers.points[1][0]", "a later time"),
        (profile(("00:00", "2 gpm"), ("01:00", "1 kW")), "profiles.showers.points[1][1]", "a flow"),
        (profile(("00:00", "2 ft")), "profiles.showers.points[0][1]", "or a power"),
        (profile(("00:00", 2)), "profiles.showers.points[0][1]", "or a power"),
        (profile(("00:00", "2 gpm"), repeat="year"), "profiles.showers.repeat", "day, week"),
        (profile(("00:00", "2 gpm"), repeat="week"), "profiles.showers.points[0][0]", '"mon 06:30"'),
        (profile(), "profiles.showers.points", "1 to 2000"),
        (profile(("00:00", "2 gpm"), again=1), "profiles.showers.again", "points, repeat"),
        (run(case="Other wise"), "runs[0].case", "The nearest is Otherwise"),
        (run(hours=0), "runs[0].hours", "more than 0"),
        (run(hours="8 h"), "runs[0].hours", "a number"),
        (run(draws={"F-2": "showers"}), "runs[0].draws.F-2", "The nearest is F-1"),
        (run(draws={"R-1": "showers"}), "runs[0].draws.R-1", "R-1 is a room"),
        (run(draws={"F-1": "shower"}), "runs[0].draws.F-1", "The nearest is showers"),
        (run(draws={"F-1": "people"}), "runs[0].draws.F-1", "not of powers"),
        (run(gains={"R-1": "showers"}), "runs[0].gains.R-1", "not of flows"),
        (run(start={"B-1": "60 degF"}), "runs[0].start.B-1", "a room, tank or buffer"),
        (run(start={"R-1": 60}), "runs[0].start.R-1", "a temperature"),
        (run(weather={"low": "0 degF"}), "runs[0].weather.high", "found nothing"),
        (run(weather={"low": "9 degF", "high": "0 degF"}), "runs[0].weather.high", "at least low"),
        (run(weather={"file": "a.csv", "low": "0 degF"}), "runs[0].weather.low", "nothing beside file"),
        (run(limits={"longest": "2 h"}), "runs[0].limits.longest", "The nearest is longest_call"),
        (run(limits={"wait": 40}), "runs[0].limits.wait", "a time"),
        (run(nme="x"), "runs[0].nme", "The nearest is name"),
        ({"runs": [RUN, RUN]}, "runs[1].name", "each name once"),
        ({"runs": [{}]}, "runs[0].name", "the key name"),
        ({"profiles": []}, "profiles", "an object of profiles"),
    ],
    ids=str,
)
def test_profiles_and_runs_that_cannot_be_are_refused_at_their_place(changes, path, words):
    with pytest.raises(Refusal) as caught:
        read.from_data(data(**changes))
    assert caught.value.path == path
    assert words in str(caught.value)


def test_ids_are_renamed_inside_runs():
    plant = read.from_data(data())
    for old, new in (("F-1", "F-9"), ("R-1", "R-9")):
        plant = apply(plant, edits.rename(plant, old, new))
    assert plant.runs[0]["draws"] == {"F-9": "showers"}
    assert plant.runs[0]["gains"] == {"R-9": "people"}
    assert plant.runs[0]["start"] == {"R-9": "60 degF"}
    assert read.loads(write.dumps(plant)) == plant


def test_a_timer_is_off_in_a_steady_case_that_does_not_name_it():
    found = data({"on": [["00:00", "24:00"]]})
    found["cases"] = [{"name": "silent"}, {"name": "on", "signals": {"TM-1": True}}]
    found["runs"] = []
    solved = solve_plant(read.from_data(found))
    assert [one.signals["TM-1"] for one in solved] == [False, True]
