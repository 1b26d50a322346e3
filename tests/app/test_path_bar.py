"""Files are named in the window, by keys alone; what is wrong stands beside what was typed."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QFileDialog
from pytestqt.qtbot import QtBot

from core.files.read import load
from tests.app.pencil import CTRL, Pencil, name_file, type_words

SHED = Path(__file__).parents[2] / "sample_plants" / "potting_shed.plant.json"
TAB, RETURN, ESCAPE, DOWN = Qt.Key.Key_Tab, Qt.Key.Key_Return, Qt.Key.Key_Escape, Qt.Key.Key_Down


def press(*keys: Qt.Key) -> None:
    for key in keys:
        focus = QApplication.focusWidget()
        assert focus is not None
        QTest.keyClick(focus, key)


def write(words: str) -> None:
    focus = QApplication.focusWidget()
    assert focus is not None
    type_words(focus, words)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    place = tmp_path / "Häuser und Höfe"
    (place / "old").mkdir(parents=True)
    shutil.copy(SHED, place / "shed.plant.json")
    shutil.copy(SHED, place / "shop.plant.json")
    (place / "notes.txt").write_text("no plant", encoding="utf-8")
    return place


def test_a_plant_is_opened_by_typing_and_completing_its_path(
    pencil: Pencil, folder: Path, qtbot: QtBot
) -> None:
    window = pencil.window
    bar = window.files.asks.bar
    pencil.board.view.setFocus()
    pencil.key("o", held=CTRL)
    QTest.keyClick(bar.field, "a", CTRL)
    write(f"{folder}/s")
    press(TAB)
    assert bar.field.text() == f"{folder}/sh", "as far as both files agree"
    assert bar._names.stringList() == [f"{folder}/shed.plant.json", f"{folder}/shop.plant.json"]
    press(RETURN)
    assert bar.error.text() == f"⊠ There is no file sh in {folder}."
    assert bar.field.property("wrong")
    write("o")
    assert not bar.error.text()
    press(TAB)
    assert bar.field.text() == f"{folder}/shop.plant.json"
    press(RETURN)
    qtbot.waitUntil(lambda: window.document.file == folder / "shop.plant.json", timeout=20000)
    assert bar.isHidden()


def test_a_plant_is_saved_by_keys_and_what_is_wrong_is_said_at_the_path(pencil: Pencil, folder: Path) -> None:
    window = pencil.window
    bar = window.files.asks.bar
    pencil.place("boiler", (500, 400))
    pencil.board.view.setFocus()
    pencil.key("s", held=CTRL)
    name_file(window, folder / "nowhere" / "shed")
    assert bar.error.text() == f"⊠ There is no folder {folder / 'nowhere'}."
    name_file(window, folder)
    assert "Type a name too" in bar.error.text()
    assert bar.field.text() == f"{folder}/"
    name_file(window, folder / "shed")
    assert "shed.plant.json is there already" in window.bar.text
    assert load(folder / "shed.plant.json").title
    pencil.key("s", held=CTRL)
    name_file(window, folder / "mine")
    assert window.document.clean
    assert window.focusWidget() is pencil.board.view
    assert "B-1" in load(folder / "mine.plant.json").items
    pencil.key("s", held=CTRL | Qt.KeyboardModifier.ShiftModifier)
    assert bar.field.selectedText() == "mine", "typing gives another name in the same folder"
    write("other")
    press(RETURN)
    assert (folder / "other.plant.json").is_file()


def test_escape_and_the_desktops_own_dialog(
    pencil: Pencil, folder: Path, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch
) -> None:
    window = pencil.window
    bar = window.files.asks.bar
    pencil.board.view.setFocus()
    pencil.key("o", held=CTRL)
    press(ESCAPE)
    assert bar.isHidden()
    assert window.focusWidget() is pencil.board.view
    pencil.place("boiler", (500, 400))
    window.close()
    window.bar.buttons[0].click()
    press(ESCAPE)
    assert window.isVisible(), "no file was named: the window stays"
    file = folder / "shed.plant.json"
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_words: (str(file), ""))
    pencil.key("s", held=CTRL)
    bar.browse.click()
    assert "B-1" in load(file).items, "the dialog has asked already"
    assert window.document.file == file


def test_the_sheet_is_printed_by_keys(pencil: Pencil, folder: Path) -> None:
    window = pencil.window
    pencil.place("boiler", (500, 400))
    pencil.key("p", held=CTRL)
    name_file(window, folder / "sheet.svg")
    assert (folder / "sheet.svg").read_text(encoding="utf-8").startswith("<?xml")
    assert "Printed sheet.svg" in window._hint.text()
    pencil.key("p", held=CTRL)
    name_file(window, folder / "sheet.svg")
    assert "sheet.svg is there already" in window.bar.text
    pencil.key("p", held=CTRL)
    name_file(window, folder / "more")
    assert (folder / "more.pdf").is_file()


def test_tab_leaves_the_field_where_there_is_nothing_to_complete(pencil: Pencil, tmp_path: Path) -> None:
    bar = pencil.window.files.asks.bar
    pencil.key("o", held=CTRL)
    QTest.keyClick(bar.field, "a", CTRL)
    write(f"{tmp_path}/no such")
    press(TAB)
    assert pencil.window.focusWidget() is bar.go
    press(ESCAPE)
    assert bar.isHidden()
