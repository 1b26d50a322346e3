"""Older files are brought up to date, newer ones shown as far as they are understood, old ones kept."""

import copy
import json
from pathlib import Path
from typing import Any

import pytest

from core.errors import Refusal
from core.files import migrate, read, write
from core.files.migrate.from_1 import CHANGED
from core.files.save import keep_old
from tests.support.small_plant import small

SAMPLES = Path(__file__).parents[3] / "sample_plants"


def from_zero(data: Any) -> tuple[dict[str, Any], list[str]]:
    """A version that never was: it called the title `name`."""
    out = {key: value for key, value in data.items() if key != "name"}
    return {**out, "title": data["name"]}, ["The plant's name is its title now."]


@pytest.fixture
def old(monkeypatch: pytest.MonkeyPatch) -> dict[str, Any]:
    monkeypatch.setitem(migrate.STEPS, 0, from_zero)
    data = {**small(), "version": 0, "name": "Old shed"}
    del data["title"]
    return data


def newer(**more: Any) -> dict[str, Any]:
    return {**copy.deepcopy(small()), "version": 3, **more}


def opened(data: dict[str, Any], folder: Path) -> read.Opened:
    file = folder / "a.plant.json"
    file.write_text(json.dumps(data), encoding="utf-8")
    return read.open_file(file)


def test_an_older_file_is_read_as_today_s(old, tmp_path):
    found = opened(old, tmp_path)
    assert (found.version, found.older, found.newer) == (0, True, False)
    assert found.notes == ("The plant's name is its title now.", CHANGED)
    assert (found.plant.title, found.plant.version) == ("Old shed", read.VERSION)
    assert read.from_data(old) == found.plant


def test_steps_follow_one_another():
    steps = {
        **migrate.STEPS,
        0: from_zero,
        -1: lambda data: ({**data, "name": data["called"]}, ["two steps"]),
    }
    assert migrate.oldest(steps) == -1
    data, notes = migrate.migrated({"version": -1, "called": "x"}, steps)
    assert (data["version"], data["title"]) == (migrate.VERSION, "x")
    assert notes == ("two steps", "The plant's name is its title now.", CHANGED)


def test_a_version_before_the_first_is_refused():
    assert migrate.oldest() == 1, "the first version that ever was needs no step to it"
    with pytest.raises(Refusal, match="version: found 0; expected 2"):
        read.from_data({**small(), "version": 0})


def test_a_newer_file_is_shown_without_what_is_not_understood(tmp_path):
    data = newer(weather={"mild": True})
    data["items"][0]["material"] = "oak"
    data["items"][1]["props"]["phase_of_moon"] = 0.5
    data["items"].append({"id": "Q-1", "kind": "quantum_pump", "at": [0, 0]})
    data["pipes"][0]["colour"] = "none"
    found = opened(data, tmp_path)
    assert (found.version, found.newer) == (3, True)
    assert found.plant == read.from_data(small())
    for place in ("weather", "items[0].material", "items[1].props.phase_of_moon", "pipes[0].colour"):
        assert place in found.left_out
    assert any("quantum_pump" in place for place in found.left_out)


def test_pipes_of_what_is_not_understood_go_with_it(tmp_path):
    data = newer()
    gone = data["pipes"][0]["from"][0]
    next(item for item in data["items"] if item["id"] == gone)["kind"] = "quantum_pump"
    found = opened(data, tmp_path)
    assert gone not in found.plant.items
    assert data["pipes"][0]["id"] not in found.plant.pipes
    assert all(gone not in (pipe.start.item, pipe.end.item) for pipe in found.plant.pipes.values())


def test_a_new_unit_or_word_costs_only_what_holds_it(tmp_path):
    data = newer()
    data["items"][0]["props"]["capacity"] = "40 furlongs"
    data["site"]["altitude"] = "3 furlongs"
    found = opened(data, tmp_path)
    assert "altitude" not in found.plant.site
    assert "items[0].props.capacity" in found.left_out
    assert len(found.plant.items) >= len(data["items"]) - 1


def test_what_is_no_plant_file_is_no_newer_one_either(tmp_path):
    with pytest.raises(Refusal, match="format"):
        opened({"format": "something", "version": 3}, tmp_path)


def test_whole_parts_may_be_unknown(tmp_path):
    found = opened({**newer(), "items": 5, "systems": 5, "units": "furlong"}, tmp_path)
    assert (found.plant.items, found.plant.units) == ({}, "us")
    assert {"items", "systems", "units"} <= set(found.left_out)


def test_the_strict_reader_refuses_a_newer_file():
    with pytest.raises(Refusal, match="A newer wetside wrote it"):
        read.from_data(newer())


def test_the_old_file_is_kept_once(tmp_path):
    file = tmp_path / "a.plant.json"
    file.write_text("old", encoding="utf-8")
    copy_of = keep_old(file, 0)
    assert (copy_of.name, copy_of.read_text(encoding="utf-8")) == ("a.plant.json.v0.bak", "old")
    assert keep_old(file, 0) == copy_of
    file.write_text("other", encoding="utf-8")
    assert keep_old(file, 0).name == "a.plant.json.v0-2.bak"
    assert copy_of.read_text(encoding="utf-8") == "old"


def test_a_file_of_version_1_opens_as_2_and_says_once_that_meanings_changed(tmp_path):
    found = opened({**small(), "version": 1}, tmp_path)
    assert (found.older, found.plant.version, found.notes) == (True, 2, (CHANGED,))
    assert found.plant == read.from_data(small())
    assert opened(json.loads(write.dumps(found.plant)), tmp_path).notes == ()
