"""Questions in the window: asked of what is selected, answered beside it and on the board."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QTreeWidgetItem
from pytestqt.qtbot import QtBot

from app.board.beside import NOTHING
from app.gestures.preview import Preview
from app.panels.compare import CHANGED as WAS_CHANGED
from app.panels.compare import ComparePane
from app.panels.questions import CHANGED, QuestionsPane, Topic
from app.window.main_window import Window
from core.plant.changes import ReplaceItem
from core.plant.edits import set_props

FILE = Path(__file__).parents[2] / "sample_plants" / "potting_shed.plant.json"
PATIENCE = 60_000
LEFT = Qt.MouseButton.LeftButton


@pytest.fixture
def small_boiler(tmp_path: Path) -> Path:
    """The potting shed with a boiler that is too small."""
    data = json.loads(FILE.read_text(encoding="utf-8"))
    boiler = next(item for item in data["items"] if item["id"] == "B-1")
    boiler["props"]["capacity"] = "6 kBtu/h"
    boiler["props"].pop("min_output", None)
    path = tmp_path / "shed.plant.json"
    path.write_text(json.dumps(data), encoding="utf-8")
    return path


def asked(window: Window, key: str, at: str, qtbot: QtBot) -> QuestionsPane:
    pane = window.open_pane("questions", Topic(key, at))
    assert isinstance(pane, QuestionsPane)
    qtbot.waitUntil(lambda: pane._answer is not None, timeout=PATIENCE)
    return pane


def line(pane: QuestionsPane, words: str) -> QTreeWidgetItem:
    rows = [pane.table.topLevelItem(k) for k in range(pane.table.topLevelItemCount())]
    return next(row for row in rows if row is not None and words in row.text(0))


def clicked(pane: QuestionsPane, row: QTreeWidgetItem, column: int = 0) -> None:
    QApplication.processEvents()  # the page is laid out with its answer
    pane.table.setCurrentItem(row)
    pane.table.scrollToItem(row)
    spot = pane.table.visualRect(pane.table.indexFromItem(row, column)).center()
    QTest.mouseClick(pane.table.viewport(), LEFT, pos=spot)


def test_what_is_left_is_told_and_a_line_frames_its_place(make_window: Callable[..., Window], qtbot: QtBot):
    pane = asked(make_window(FILE, size=(1300, 900)), "spare", "B-1", qtbot)
    clicked(pane, line(pane, "B-1"))
    assert "B-1" in pane.port.document.selection
    assert "B-1 has" in pane.words.toPlainText()
    assert "licensed trades" in pane.words.toPlainText()
    assert not pane.insert.isEnabled()


def test_who_robs_whom_lights_the_path_and_says_what_is_lost(
    make_window: Callable[..., Window], qtbot: QtBot
):
    window = make_window(FILE, size=(1300, 900))
    pane = asked(window, "why", "FC-1", qtbot)
    night = line(pane, "Design night")
    row = night.child(0)
    assert row is not None
    column = next(k for k in range(1, pane.table.columnCount()) if row.text(k).startswith("\N{MINUS SIGN}"))
    clicked(pane, row, column)
    shown = window.board.beside.shown
    assert {"FC-1", "P-1"} <= shown.lit
    assert set(shown.words) == {"FC-1"}
    assert pane.words.toPlainText().startswith("FC-1 loses")
    assert window.document.selection == {"FC-1"}
    window.open_pane("notes")
    assert window.board.beside.shown == NOTHING


def test_a_cure_is_shown_on_the_board_left_and_put_in_as_one_step(
    make_window: Callable[..., Window], small_boiler: Path, qtbot: QtBot
):
    window = make_window(small_boiler, size=(1300, 900))
    pane = asked(window, "cures", "FC-1", qtbot)
    before = window.document.plant
    clicked(pane, line(pane, "another boiler"))
    assert isinstance(window.hand.gesture, Preview)
    assert window.board.scene.plant.items.keys() > before.items.keys()
    assert window.document.plant is before
    beside = window.board.beside
    qtbot.waitUntil(lambda: "FC-1" in beside.shown.words, timeout=PATIENCE)
    (added,) = (key for key in window.board.scene.plant.items if key.startswith("B-") and key != "B-1")
    assert added in beside.shown.changed
    QTest.keyClick(window.board.view, Qt.Key.Key_Escape)
    assert window.hand.gesture is None
    assert beside.shown == NOTHING
    assert window.board.scene.plant is before
    clicked(pane, line(pane, "B-1 of 9"))
    QTest.mouseClick(pane.insert, LEFT)
    after = window.document.plant
    assert after.items["B-1"].si["capacity"] > before.items["B-1"].si["capacity"]
    assert len(after.logbook) == len(before.logbook) + 1
    assert "→" in after.logbook[-1]["because"]
    assert window.hand.gesture is None
    window.actions_["undo"].trigger()
    assert window.document.plant.items["B-1"] == before.items["B-1"]
    assert window.document.plant.logbook == before.logbook


def test_an_answer_goes_when_the_plant_changes(make_window: Callable[..., Window], qtbot: QtBot):
    window = make_window(FILE, size=(1300, 900))
    pane = asked(window, "failures", "B-1", qtbot)
    boiler = window.document.plant.items["B-1"]
    assert pane.port.commit("Label", [ReplaceItem(replace(boiler, label="other"))])
    qtbot.waitUntil(lambda: pane.words.toPlainText() == CHANGED, timeout=PATIENCE)
    assert pane.table.topLevelItemCount() == 0


def test_now_beside_a_moment_of_the_history_and_another_file(
    make_window: Callable[..., Window], small_boiler: Path, qtbot: QtBot
):
    bare = small_boiler.with_name("bare.plant.json")  # with a logbook its last entry would be the moment
    bare.write_text(json.dumps({**json.loads(FILE.read_text("utf-8")), "logbook": []}), encoding="utf-8")
    window = make_window(bare, size=(1300, 900))
    pane = window.open_pane("compare")
    assert isinstance(pane, ComparePane)
    plant = window.document.plant
    assert pane.port.commit("Balance", set_props(plant, "BV-1", {"setting": 0.2}))
    assert pane.port.commit("Label", [ReplaceItem(replace(plant.items["V-1"], label="main"))])
    beside = window.board.beside

    def rows(changed: bool) -> list[str]:
        return [row.text(0) for row in pane.table.every() if (row.text(4) == WAS_CHANGED) == changed]

    qtbot.waitUntil(lambda: sorted(rows(True)) == ["BV-1", "V-1"], timeout=PATIENCE)
    assert pane.moment.currentText().startswith("as opened")
    assert "FC-1" in rows(False)
    assert {"BV-1", "V-1"} == beside.shown.changed
    assert "FC-1" in beside.shown.words
    assert window.document.steps == ["Balance", "Label"]
    assert window.document.plant_after(0).items["BV-1"] == plant.items["BV-1"]
    latest = pane.moment.findText("before “Label”")
    pane.moment.setCurrentIndex(latest)
    pane.moment.activated.emit(latest)
    qtbot.waitUntil(lambda: rows(True) == ["V-1"], timeout=PATIENCE)
    assert rows(False) == []
    pane.read(small_boiler)
    qtbot.waitUntil(lambda: "B-1" in rows(True), timeout=PATIENCE)
