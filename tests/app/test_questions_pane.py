"""Questions in the window: asked of what is selected, answered beside it, a cure inserted and undone."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from app.panels.questions import CHANGED, QUESTIONS, QuestionsPane
from app.window.main_window import Window
from core.plant.changes import ReplaceItem

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


def opened(window: Window) -> QuestionsPane:
    pane = window.open_pane("questions")
    assert isinstance(pane, QuestionsPane)
    return pane


def asked(pane: QuestionsPane, words: str, at: str, qtbot: QtBot) -> None:
    pane.about(at)
    pane.question.setCurrentIndex([text for text, _ in QUESTIONS].index(words))
    QTest.mouseClick(pane.ask, LEFT)
    qtbot.waitUntil(lambda: pane._answer is not None, timeout=PATIENCE)


def test_what_is_left_is_told_and_a_line_frames_its_place(make_window: Callable[..., Window], qtbot: QtBot):
    window = make_window(FILE, size=(1300, 900))
    pane = opened(window)
    asked(pane, "What is left for one more?", "B-1", qtbot)
    row = pane.list.item(0)
    assert row is not None
    assert "B-1 has" in row.text()
    assert "licensed trades" in pane.words.toPlainText()
    pane.list.itemClicked.emit(row)
    assert "B-1" in window.document.selection
    assert not pane.insert.isEnabled()


def test_a_cure_is_inserted_with_its_entry_in_one_step_and_undone(
    make_window: Callable[..., Window], small_boiler: Path, qtbot: QtBot
):
    window = make_window(small_boiler, size=(1300, 900))
    pane = opened(window)
    asked(pane, "What would cure it?", "FC-1", qtbot)
    before = window.document.plant
    row = next(k for k in range(pane.list.count()) if "B-1 of" in pane.list.item(k).text())
    pane.list.setCurrentRow(row)
    assert pane.insert.isEnabled()
    QTest.mouseClick(pane.insert, LEFT)
    after = window.document.plant
    assert after.items["B-1"].si["capacity"] > before.items["B-1"].si["capacity"]
    assert len(after.logbook) == len(before.logbook) + 1
    window.actions_["undo"].trigger()
    assert window.document.plant.items["B-1"] == before.items["B-1"]
    assert window.document.plant.logbook == before.logbook


def test_an_answer_goes_when_the_plant_changes(make_window: Callable[..., Window], qtbot: QtBot):
    window = make_window(FILE, size=(1300, 900))
    pane = opened(window)
    asked(pane, "What if it fails?", "", qtbot)
    boiler = window.document.plant.items["B-1"]
    assert pane.port.commit("Label", [ReplaceItem(replace(boiler, label="other"))])
    qtbot.waitUntil(lambda: pane.words.toPlainText() == CHANGED, timeout=PATIENCE)
    assert pane.list.count() == 0
