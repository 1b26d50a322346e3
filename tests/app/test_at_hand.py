"""What is at hand: menus that hold what fits the thing, names on the shelf, assemblies as drawings."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from PySide6.QtCore import QPoint
from PySide6.QtGui import QContextMenuEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QMenu
from pytestqt.qtbot import QtBot

from app.panels.shelf import ASSEMBLIES, shelf_icon
from app.window.main_window import Window
from tests.app.pencil import LEFT, Pencil

pytestmark = pytest.mark.qt_log_ignore("propagateSizeHints", "does not support raise", "grabbing")


def menu_of(pencil: Pencil, name: str) -> QMenu:
    """The menu that the right button opens at what is selected."""
    pencil.window.document.select([name])
    port = pencil.window.board.view.viewport()
    at = QPoint(20, 20)
    asked = QContextMenuEvent(QContextMenuEvent.Reason.Keyboard, at, port.mapToGlobal(at))
    QApplication.sendEvent(pencil.window.board.view, asked)
    menu = QApplication.activePopupWidget()
    assert isinstance(menu, QMenu)
    return menu


def offered(pencil: Pencil, name: str) -> set[str]:
    menu = menu_of(pencil, name)
    words = {action.text().replace("&", "").rstrip("…") for action in menu.actions()}
    menu.close()
    return words


def test_the_menu_at_a_thing_holds_what_fits_it(pencil: Pencil) -> None:
    pump, joint = pencil.place("circulator", (300, 400)), pencil.place("joint", (600, 200))
    stat = pencil.place("thermostat", (700, 500))
    pencil.drag(pencil.port(pump, "out"), pencil.port(joint, "at"))
    (pipe,) = pencil.window.document.plant.pipes
    of_item = {"Turn round in its line", "Shut it off"}
    asks = {"Size it", "Why this size", "A second circulator", "Who robs it"} | of_item
    assert asks <= offered(pencil, pump)
    assert offered(pencil, pipe) & asks == asks - of_item
    assert not offered(pencil, joint) & asks
    assert not offered(pencil, stat) & asks
    assert "Pull a pipe" in offered(pencil, joint)
    assert "Pull a pipe" not in offered(pencil, stat) | offered(pencil, pipe)


def test_who_robs_it_and_size_it_open_their_pages_at_the_thing(pencil: Pencil) -> None:
    pump = pencil.place("circulator", (300, 400))
    window = pencil.window
    for words, key in (("Who robs it", "questions"), ("Size it", "sizes")):
        menu = menu_of(pencil, pump)
        action = next(one for one in menu.actions() if one.text().replace("&", "") == words)
        QTest.mouseClick(menu, LEFT, pos=menu.actionGeometry(action).center())
        assert window.under.pane(key).isVisible()
    pane = window.under.pane("questions")
    assert pane.at.text() == pump  # type: ignore[attr-defined]
    assert pane.question.currentText() == "Who robs whom?"  # type: ignore[attr-defined]
    assert pane._asked is not None, "asked at once"  # type: ignore[attr-defined]


def test_the_pointer_over_a_symbol_names_it_in_the_status_line(pencil: Pencil) -> None:
    window = pencil.window
    rows = window.shelf.list_of("pumps and valves")
    for number in (1, 3):
        QTest.mouseMove(rows.viewport(), rows.visualItemRect(rows.item(number)).center())
        QApplication.processEvents()
        said = window._hint.text()
        assert said == rows.item(number).toolTip()
    assert said.startswith("shut-off valve: ")


def test_assemblies_are_drawn_on_the_shelf(make_window: Callable[..., Window], qtbot: QtBot) -> None:
    window = make_window()
    window.show()
    rows = window.shelf.list_of(ASSEMBLIES)
    qtbot.waitUntil(lambda: rows.count() > 1 and len(window.shelf._drawings) == rows.count(), timeout=20000)
    size = rows.iconSize()
    pictures = [rows.item(number).icon().pixmap(size).toImage() for number in range(rows.count())]
    assert len({bytes(one.constBits()) for one in pictures}) == len(pictures)
    assert shelf_icon("assembly x", window.look).pixmap(size).toImage() not in pictures
