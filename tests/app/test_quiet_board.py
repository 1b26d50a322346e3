"""The board stays where it is: bars lie over it, panels come and go beside it, cases change."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QDragEnterEvent, QDragMoveEvent, QDropEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLineEdit, QToolButton, QWidget
from pytestqt.qtbot import QtBot

import sample_plants
from app.panels.shelf import kind_mime
from app.window.main_window import Window
from tests.app.pencil import CTRL, LEFT, NONE, type_words

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


def test_a_symbol_dropped_on_the_start_page_makes_a_new_plant_with_it_there(
    make_window: Callable[..., Window],
) -> None:
    window = make_window()
    view = window.board.view
    middle = view.viewport().rect().center()
    before = view.mapToScene(middle), view.zoom
    under: QWidget | None = window.childAt(view.viewport().mapTo(window, middle))
    assert under is not None
    assert window.start.isAncestorOf(under)
    while under is not None and not under.acceptDrops():  # as Qt looks for whoever takes it
        under = under.parentWidget()
    data, at = kind_mime("boiler"), view.viewport().mapTo(under, middle)
    for event in (QDragEnterEvent, QDragMoveEvent, QDropEvent):
        point = QPointF(at) if event is QDropEvent else at
        QApplication.sendEvent(under, event(point, Qt.DropAction.CopyAction, data, LEFT, NONE))
    (boiler,) = window.document.plant.items.values()
    assert (QPointF(*boiler.at) - before[0]).manhattanLength() <= 20.0, "on the grid, where it was dropped"
    assert window.start.isHidden()
    assert (view.mapToScene(middle), view.zoom) == before
    assert window.focusWidget() is view


def test_keys_go_to_the_board_after_opening_saving_and_choosing_units(
    make_window: Callable[..., Window], tmp_path: Path, qtbot: QtBot
) -> None:
    window, file = make_window(), tmp_path / "a.plant.json"
    file.write_bytes(SHED.read_bytes())

    def insert_works() -> bool:
        QTest.keyClick(window.focusWidget(), "i")
        QApplication.processEvents()
        there = window.quick.isVisible()
        QTest.keyClick(window.focusWidget(), Qt.Key.Key_Escape)
        return there

    QTest.keyClick(window.focusWidget(), Qt.Key.Key_O, CTRL)
    field = window.files.asks.bar.field
    type_words(field, str(file))
    QApplication.processEvents()
    popup = field.completer().popup()
    assert popup.isVisible(), "the list of names, which has the keys while it is open"
    QTest.keyClick(popup, Qt.Key.Key_Return)
    qtbot.waitUntil(lambda: window.document.file == file, timeout=20_000)
    assert insert_works()
    window.document.select(["B-1"])
    field = next(one for one in window.particulars.findChildren(QLineEdit) if one.isVisible())
    QTest.mouseClick(field, LEFT)
    assert window.focusWidget() is field
    QTest.keyClick(field, Qt.Key.Key_S, CTRL)
    assert insert_works()
    for units in ("si", "us"):
        buttons = window.findChildren(QToolButton)
        button = next(one for one in buttons if one.defaultAction() is window.actions_[units])
        QTest.mouseClick(button, LEFT)
        assert window.document.plant.units == units
        assert insert_works()
    QTest.mouseClick(window.rail.button(window.live.names()[1]), LEFT)
    assert insert_works()
