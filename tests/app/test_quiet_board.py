"""The board stays where it is: bars lie over it, panels come and go beside it, cases change."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtCore import QPoint
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

import sample_plants
from app.window.main_window import Window

SHED = Path(sample_plants.__file__).parent / "potting_shed.plant.json"


@pytest.fixture
def shed(make_window: Callable[..., Window], qtbot: QtBot) -> Window:
    window = make_window(SHED)
    qtbot.waitUntil(lambda: not window.live.waiting and bool(window.live.solutions()), timeout=60_000)
    qtbot.waitUntil(lambda: window.board.scene.up_to_date and not window.board._fresh, timeout=20_000)
    window.repaint()
    QApplication.processEvents()
    return window


def seen(window: Window) -> tuple[float, int, int]:
    """Zoom, and where in the window a place of the board lies."""
    window.repaint()
    QApplication.processEvents()
    view = window.board.view
    at = view.viewport().mapTo(window, view.mapFromScene(700.0, 400.0))
    return view.zoom, at.x(), at.y()


@pytest.mark.parametrize("name", ["shelf_shown", "particulars_shown", "notes_shown"])
def test_a_panel_that_goes_leaves_the_drawing_under_the_eye(shed: Window, name: str) -> None:
    before = seen(shed)
    for _ in range(2):
        shed.actions_[name].trigger()
        assert seen(shed) == before


def test_pages_messages_and_cases_leave_the_drawing_under_the_eye(shed: Window) -> None:
    before = seen(shed)
    shed.bar.show_message("Something to read.")
    assert seen(shed) == before
    bar, board = shed.bar, shed.board
    assert bar.mapTo(shed, QPoint(0, 0)) == board.mapTo(shed, QPoint(0, 0)), "it lies over the board"
    assert bar.width() == board.width()
    assert shed.childAt(bar.mapTo(shed, bar.rect().center())) in (bar, *bar.children())
    bar.dismiss()
    shed.open_pane("sizes")
    assert seen(shed) == before
    for name in [case.name for case in shed.document.plant.solve_cases]:
        shed.rail.button(name).click()
        assert seen(shed) == before
