"""Pages under the board: ten rows high, and pulled out as windows."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QToolButton
from pytestqt.qtbot import QtBot

from app.panels.sizes import SizesPane
from app.window.main_window import Window

SHED = Path(__file__).parents[2] / "sample_plants" / "potting_shed.plant.json"
CTRL_ALT = Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.AltModifier
PATIENCE = 60_000


def test_a_page_opens_with_room_for_ten_rows(make_window: Callable[..., Window], qtbot: QtBot) -> None:
    window = make_window(SHED, size=(1600, 1000))
    pane = window.open_pane("sizes")
    assert isinstance(pane, SizesPane)
    qtbot.waitUntil(lambda: pane.list.topLevelItemCount() > 10, timeout=PATIENCE)
    tenth = pane.list.topLevelItem(9)
    assert tenth is not None
    assert pane.list.visualItemRect(tenth).bottom() <= pane.list.viewport().height()


def test_a_page_is_pulled_out_follows_the_plant_and_comes_back(
    make_window: Callable[..., Window], qtbot: QtBot
) -> None:
    window = make_window(SHED)
    pane = window.open_pane("sizes")
    assert isinstance(pane, SizesPane)
    QTest.keyClick(window, Qt.Key.Key_0, CTRL_ALT)
    QApplication.processEvents()
    assert pane.window() is not window
    assert pane.isVisible()
    assert "Sizes" in pane.window().windowTitle()
    window.open_pane("notes")
    window.document.select(["B-1"])
    qtbot.waitUntil(lambda: {one.at for one in pane.answers()} == {"B-1"}, timeout=PATIENCE)
    QTest.keyClick(pane.window(), Qt.Key.Key_Escape)
    QApplication.processEvents()
    assert pane.window() is window
    assert window.open_pane("sizes") is pane
    assert pane.isVisible()


def test_a_window_that_closes_takes_its_pulled_out_pages_along(make_window: Callable[..., Window]) -> None:
    window = make_window(SHED)
    pane = window.open_pane("punch")
    buttons = [one for one in window.under.findChildren(QToolButton) if one.isVisible()]
    button = next(one for one in buttons if one.accessibleName() == "Page in its own window")
    QTest.mouseClick(button, Qt.MouseButton.LeftButton)
    assert pane.window() is not window
    window._leaving = True
    window.close()
    QApplication.processEvents()
    assert not pane.isVisible()
