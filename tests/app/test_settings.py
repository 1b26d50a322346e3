"""Preferences: defaults not stored, unknown keys kept, spoiled files harmless."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from app.settings import TABLE, Settings


def test_defaults_hold_and_are_not_stored(tmp_path: Path) -> None:
    file = tmp_path / "wetside" / "settings.json"
    settings = Settings(file)
    for setting in TABLE:
        assert settings.get(setting.name) == setting.default
        assert setting.meaning
    settings.set("look", "dark")
    assert json.loads(file.read_text()) == {"look": "dark"}
    settings.set("look", "system")
    assert json.loads(file.read_text()) == {}


def test_what_a_newer_program_wrote_is_kept(tmp_path: Path) -> None:
    file = tmp_path / "settings.json"
    file.write_text('{"sound": "bell", "look": "sepia"}')
    settings = Settings(file)
    assert settings.get("look") == "system"
    settings.set("notes_shown", False)
    assert json.loads(file.read_text()) == {"sound": "bell", "look": "sepia", "notes_shown": False}


@pytest.mark.parametrize("content", ["", "[1]", "{", "\x00"])
def test_a_spoiled_file_counts_as_none(tmp_path: Path, content: str) -> None:
    file = tmp_path / "settings.json"
    file.write_text(content)
    assert Settings(file).get("look") == "system"


def test_lists_are_kept_newest_first(tmp_path: Path) -> None:
    settings = Settings()
    for word in ("a", "b", "c", "a"):
        settings.put_first("recent", word, 2)
    assert settings.get("recent") == ["a", "c"]


def test_a_wrong_value_is_refused() -> None:
    with pytest.raises(ValueError, match="look"):
        Settings().set("look", "sepia")
