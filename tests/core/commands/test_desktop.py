"""The desktop entry and the file type: written, well formed, taken away again."""

from __future__ import annotations

import configparser
import xml.etree.ElementTree as ET
from pathlib import Path

import pytest

from core.commands import desktop, main
from core.errors import PlainRefusal


def test_the_entry_and_the_file_type_are_written_and_removed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(desktop.sys, "platform", "linux")
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    monkeypatch.setattr(
        desktop.shutil, "which", lambda name: "/opt/my tools/wetside" if name == "wetside" else None
    )
    assert main(["desktop"]) == 0
    read = configparser.ConfigParser(interpolation=None)
    read.read(tmp_path / desktop.ENTRY, encoding="utf-8")
    entry = read["Desktop Entry"]
    assert entry["Exec"] == '"/opt/my tools/wetside" %f'
    assert entry["MimeType"] == f"{desktop.MIME};"
    (kind,) = ET.parse(tmp_path / desktop.TYPES).getroot()
    assert kind.attrib["type"] == desktop.MIME
    assert {child.attrib.get("pattern") for child in kind} == {None, "*.plant.json"}
    assert main(["desktop", "--remove"]) == 0
    assert not (tmp_path / desktop.ENTRY).exists()
    assert not (tmp_path / desktop.TYPES).exists()
    assert capsys.readouterr().out.count("removed") == 2


def test_elsewhere_it_says_what_to_do_instead(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(desktop.sys, "platform", "win32")
    with pytest.raises(PlainRefusal, match="Linux desktops"):
        desktop.run([])


def test_a_folder_that_cannot_be_written_is_one_line(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "file").write_text("", encoding="utf-8")
    monkeypatch.setattr(desktop.sys, "platform", "linux")
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "file"))
    with pytest.raises(PlainRefusal, match="cannot be written"):
        desktop.run([])
