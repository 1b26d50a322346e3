"""Remarks in the window: taken from text, pinned on the drawing, answered into the logbook."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from app.panels.remarks import RemarksPane
from app.window.main_window import Window

FILE = Path(__file__).parents[2] / "sample_plants" / "potting_shed.plant.json"
LEFT = Qt.MouseButton.LeftButton
TEXT = 'at,text,by\nP-1,"Why so large, and why here?",a neighbor\n,Looks well,a neighbor\n'


@pytest.fixture
def window(make_window: Callable[..., Window]) -> Window:
    return make_window(FILE, size=(1300, 900))


@pytest.fixture
def pane(window: Window, tmp_path: Path) -> RemarksPane:
    found = window.open_pane("remarks")
    assert isinstance(found, RemarksPane)
    text = tmp_path / "remarks.csv"
    text.write_text(TEXT)
    found.take_text(text)
    found.take_text(text)
    return found


def pins(window: Window) -> list[tuple[str, str]]:
    return [(mark.at, mark.number) for mark in window.board.overlay.marks if mark.severity == "remark"]


def test_remarks_are_taken_once_and_pinned_by_number(window: Window, pane: RemarksPane, qtbot: QtBot):
    assert [one["id"] for one in window.document.plant.remarks] == ["Q-1", "Q-2"]
    qtbot.waitUntil(lambda: pins(window) == [("P-1", "1")], timeout=30_000)


def test_an_answer_goes_into_the_logbook_and_takes_the_pin_away(
    window: Window, pane: RemarksPane, qtbot: QtBot
):
    pane.about("P-1")
    before = len(window.document.plant.logbook)
    QTest.mouseClick(pane.answer, LEFT)
    assert len(window.document.plant.logbook) == before
    QTest.keyClicks(pane.reply, "It is the smallest that serves.")
    QTest.mouseClick(pane.answer, LEFT)
    plant = window.document.plant
    assert plant.remarks[0]["answer"] == "It is the smallest that serves."
    assert plant.logbook[-1]["because"] == "It is the smallest that serves."
    assert plant.logbook[-1]["at"] == ["P-1"]
    qtbot.waitUntil(lambda: pins(window) == [], timeout=30_000)
    window.actions_["undo"].trigger()
    assert "answer" not in window.document.plant.remarks[0]
    assert len(window.document.plant.logbook) == before
