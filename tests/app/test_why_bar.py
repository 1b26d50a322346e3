"""Why this size: one line first, and a bar of the limits with the neighbours on it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from app.window.main_window import Window

FILE = Path(__file__).parents[2] / "sample_plants" / "potting_shed.plant.json"
PATIENCE = 60_000


def test_why_leads_with_one_line_and_a_bar_of_the_limits(make_window: Callable[..., Window], qtbot: QtBot):
    window = make_window(FILE, size=(1300, 900))
    qtbot.waitUntil(lambda: not window.live.waiting, timeout=PATIENCE)
    window.document.select(["L-2"])
    window.board.view.setFocus()
    QTest.keyClick(window.board.view, Qt.Key.Key_W)
    card = window.board.card
    qtbot.waitUntil(lambda: bool(card.bars), timeout=PATIENCE)
    assert card.rows == (("", "1/2 in Type L copper keeps its limits"),)
    assert [bar.title for bar in card.bars] == ["velocity", "loss"]
    assert [mark.name for mark in card.bars[0].marks if mark.chosen] == ["1/2 in Type L copper"]
    assert {mark.name for mark in card.bars[0].marks} >= {"3/8 in Type L copper"}
    window.document.select(["B-1"])
    QTest.keyClick(window.board.view, Qt.Key.Key_W)
    qtbot.waitUntil(lambda: card.title == "B-1", timeout=PATIENCE)
    assert card.bars == ()
