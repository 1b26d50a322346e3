"""Saving leaves either the old file or the new one, with its permissions, behind its link."""

import os
import stat
import subprocess
import sys

import pytest

from core.errors import Refusal
from core.files import read
from core.files.save import put, save
from core.plant.model import Plant
from tests.support.small_plant import small


@pytest.fixture
def plant():
    return read.from_data(small())


def test_saved_is_what_is_loaded(plant, tmp_path):
    path = tmp_path / "with blank ä.plant.json"
    save(plant, path)
    assert read.load(path) == plant
    assert [entry.name for entry in tmp_path.iterdir()] == [path.name]


def test_permissions_stay(plant, tmp_path):
    path = tmp_path / "a.plant.json"
    save(Plant(), path)
    mask = os.umask(0)
    os.umask(mask)
    assert stat.S_IMODE(path.stat().st_mode) == 0o666 & ~mask
    path.chmod(0o640)
    save(plant, path)
    assert stat.S_IMODE(path.stat().st_mode) == 0o640


def test_a_link_stays_a_link(plant, tmp_path):
    (tmp_path / "far").mkdir()
    real, link = tmp_path / "far" / "real.plant.json", tmp_path / "link.plant.json"
    save(Plant(), real)
    link.symlink_to(real)
    save(plant, link)
    assert link.is_symlink()
    assert read.load(real) == plant


def test_a_failure_leaves_the_old_file_and_nothing_else(plant, tmp_path, monkeypatch):
    path = tmp_path / "a.plant.json"
    save(Plant(title="old"), path)
    before = path.read_bytes()

    def full(handle):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(Refusal) as caught:
        save(plant, path)
    assert "the disk is full" in str(caught.value)
    assert path.read_bytes() == before
    assert [entry.name for entry in tmp_path.iterdir()] == [path.name]


@pytest.mark.parametrize("name", ["missing/a.plant.json", "folder.plant.json"])
def test_places_that_cannot_be_written(plant, tmp_path, name):
    (tmp_path / "folder.plant.json").mkdir()
    with pytest.raises(Refusal, match="cannot be written"):
        save(plant, tmp_path / name)


def test_a_plant_too_large_to_be_read_again_is_not_written(plant, tmp_path, monkeypatch):
    monkeypatch.setattr("core.files.save.LARGEST_FILE", 100)
    with pytest.raises(Refusal, match="at most 100 bytes"):
        save(plant, tmp_path / "a.plant.json")


def test_other_names_are_refused(plant, tmp_path):
    with pytest.raises(Refusal, match=r"ending in \.plant\.json"):
        save(plant, tmp_path / "notes.txt")


KILLED = """
import os, sys
from pathlib import Path
from core.files import save
os.replace = lambda *_: os.kill(os.getpid(), 9)
save.put(b"half", Path(sys.argv[1]))
"""


def test_what_a_killed_process_left_half_written_is_cleaned_and_nothing_else(tmp_path):
    target = tmp_path / "a.plant.json"
    subprocess.run([sys.executable, "-c", KILLED, str(target)], check=False)
    (left,) = tmp_path.iterdir()
    assert left.name.endswith(".part")
    other = tmp_path / ".b.plant.json-1.part"
    other.write_bytes(b"another's")
    put(b"new", target)
    assert {one.name for one in tmp_path.iterdir()} == {target.name, other.name}
    assert target.read_bytes() == b"new"
