"""For whoever draws without a mouse or cannot see the board: names, roles, the way of Tab, focus."""

from __future__ import annotations

import gc
from collections.abc import Callable
from pathlib import Path

import pytest
import shiboken6
from PySide6.QtCore import QEvent, QPoint, Qt
from PySide6.QtGui import QAccessible, QFont, QImage
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QAbstractScrollArea, QApplication, QWidget
from pytestqt.qtbot import QtBot

import sample_plants
from app.board import accessible
from app.pens import DARK, LIGHT
from app.widgets import theme
from app.window import panes, tab_order
from app.window.main_window import Window
from core.plant import edits
from tests.app.pencil import Pencil, field_widgets, ring, still_water

FILE = Path(sample_plants.__file__).parent / "potting_shed.plant.json"
NAMELESS_ROLES = (QAccessible.Role.NoRole, QAccessible.Role.Window)


@pytest.fixture
def window(make_window: Callable[..., Window], qtbot: QtBot) -> Window:
    made = make_window(FILE, solve=still_water)
    qtbot.waitUntil(lambda: not made.live.waiting, timeout=20000)
    return made


def said(widget: QWidget) -> tuple[str, QAccessible.Role]:
    """Name and role, as a reader of screens hears them."""
    face = QAccessible.queryAccessibleInterface(widget)
    assert face is not None, widget
    return face.text(QAccessible.Text.Name), face.role()


def is_viewport(widget: QWidget) -> bool:
    return isinstance(widget.parent(), QAbstractScrollArea)


def each_scene(window: Window) -> list[tuple[str, Callable[[], object]]]:
    """Everything the window can show: what is selected, each pane, each small box."""
    plant = window.document.plant
    asking = window.board.asking
    return [
        ("sheet", lambda: window.document.select(())),
        ("item", lambda: window.document.select(["P-1"])),
        ("pipe", lambda: window.document.select([next(iter(plant.pipes))])),
        ("many", lambda: window.document.select(plant.items)),
        ("question", lambda: window.bar.show_message("A question", [("Yes", lambda: None)])),
        ("insert", window.commands.insert),
        ("words", lambda: asking.ask("A name", "", lambda _words: None)),
        *((f"pane {row.key}", lambda key=row.key: window.open_pane(key)) for row in panes.TABLE),
    ]  # type: ignore[list-item]


def test_every_widget_that_takes_the_keyboard_has_a_name_and_a_role(window: Window) -> None:
    seen: set[str] = set()
    for where, show in each_scene(window):
        show()
        QApplication.processEvents()
        for widget in field_widgets(window):
            by_tab = widget.focusPolicy().value & Qt.FocusPolicy.TabFocus.value
            if is_viewport(widget) or widget.focusProxy() is not None or not by_tab:
                continue
            name, role = said(widget)
            assert name, f"{where}: {type(widget).__name__} {widget.objectName()} has no name"
            assert role not in NAMELESS_ROLES, f"{where}: {name} has no role"
            seen.add(name)
    assert {
        "Board",
        "Search the shelf",
        "Find a tag, note, command or help",
        "A name",
        "Insert by name",
    } <= seen
    assert len(seen) > 40


def test_tab_goes_through_the_panes_as_they_stand(window: Window) -> None:
    window.document.select(["P-1"])
    QApplication.processEvents()
    named = {
        "top": window.top, "shelf": window.shelf, "rail": window.rail, "board": window.board,
        "under": window.under, "particulars": window.particulars,
    }  # fmt: skip

    def place() -> str:
        focus = window.focusWidget()
        return next((n for n, p in named.items() if focus is p or (focus and p.isAncestorOf(focus))), "other")

    window.document.select(())
    window.top.finder.setFocus()
    order: list[str] = []
    visited: set[QWidget | None] = set()
    for _ in range(200):
        order.append(place())
        visited.add(window.focusWidget())
        window.document.select(())  # Tab goes through the items first; here it is to leave the board
        if place() == "board":
            tab_order.step(window, _panes(window), forward=True)
        else:
            QTest.keyClick(window.focusWidget(), Qt.Key.Key_Tab)
        if window.focusWidget() is window.top.finder:
            break
    else:
        raise AssertionError("Tab never came round")
    runs = [here for here, before in zip(order, [None, *order], strict=False) if here != before]
    runs = [run for run in runs if run != "other"]
    assert runs == ["top", "shelf", "rail", "board", "under", "particulars"]
    stops = tab_order.stops(window, _panes(window))
    assert {one for one in stops if not is_viewport(one)} <= visited


def _panes(window: Window) -> list[QWidget]:
    return [
        window.top, window.shelf, window.bar, window.rail, window.quantities, window.board, window.under,
        window.particulars,
    ]  # fmt: skip


@pytest.mark.parametrize("palette", [LIGHT, DARK], ids=["light", "dark"])
def test_the_keyboard_shows_where_it_is(window: Window, qapp: QApplication, palette: object) -> None:
    theme.put_on(qapp, palette)  # type: ignore[arg-type]
    window.document.select(["P-1"])
    QApplication.processEvents()
    hidden = []
    for widget in tab_order.stops(window, _panes(window)):
        if widget is window.board.view:
            continue
        window.board.view.setFocus(Qt.FocusReason.OtherFocusReason)
        without = _picture(window, widget)
        widget.setFocus(Qt.FocusReason.TabFocusReason)
        QApplication.processEvents()
        if _picture(window, widget) == without:
            hidden.append(said(widget)[0] or type(widget).__name__)
    theme.put_on(qapp, LIGHT)
    assert hidden == []


def _picture(window: Window, widget: QWidget) -> QImage:
    return widget.grab().toImage()


def test_the_board_tells_what_is_selected_and_what_a_key_would_do(pencil: Pencil) -> None:
    ring(pencil)
    pencil.key(Qt.Key.Key_Escape, Qt.Key.Key_Tab)
    face = QAccessible.queryAccessibleInterface(pencil.board.view)
    assert face.text(QAccessible.Text.Name) == "Board"
    assert "B-1, boiler, selected" in face.text(QAccessible.Text.Description)


def test_sizes_follow_the_system_font(make_window: Callable[..., Window], qapp: QApplication) -> None:
    usual = qapp.font()
    small = make_window(FILE, solve=still_water)
    wide = small.particulars.width(), small.top.finder.width(), small.shelf.width()
    large = QFont(usual)
    large.setPointSizeF(usual.pointSizeF() * 1.5)
    qapp.setFont(large)
    try:
        big = make_window(FILE, solve=still_water, size=(2000, 1200))
        assert big.particulars.width() > 1.25 * wide[0]
        assert big.top.finder.width() > 1.25 * wide[1]
        assert big.shelf.width() > 1.25 * wide[2]
        big.document.select(["P-1"])
        QApplication.processEvents()
        editor = big.particulars.field("label").editor
        inside = editor.mapTo(big.particulars, QPoint(editor.width(), 0)).x()
        assert inside <= big.particulars.width(), "fields stay within their panel"
        assert editor.height() > small.particulars.fontMetrics().height() * 1.25
    finally:
        qapp.setFont(usual)
        QApplication.sendPostedEvents(None, QEvent.Type.ApplicationFontChange)


def test_tab_leaves_every_widget_to_qt(window: Window) -> None:
    """Widgets met on the way of Tab once belonged to Python afterwards, and went with its next collection."""
    window.top.finder.setFocus()
    for step in range(30):
        QTest.keyClick(window.focusWidget(), Qt.Key.Key_Tab)
        window.board.view.hand = None
        if step % 10 == 9:
            gc.collect()  # a second or more, once thousands of tests have left their objects
    assert all(shiboken6.isValid(kinds) for _, kinds in window.shelf._groups.values())
    assert shiboken6.isValid(window.particulars._scroll.widget())
    assert window.shelf.list_of("pumps and valves").count() > 5


def test_the_board_has_its_items_and_pipes_as_children(
    make_window: Callable[..., Window], qtbot: QtBot
) -> None:
    accessible.install()
    window = make_window(FILE, solve=still_water)
    qtbot.waitUntil(lambda: not window.live.waiting, timeout=20000)
    board = window.board
    face = QAccessible.queryAccessibleInterface(board.view)
    assert isinstance(face, accessible.BoardFace)
    over = face.childCount() - len(face.names())
    children = {face.child(over + k).name: face.child(over + k) for k in range(len(face.names()))}
    plant = window.document.plant
    joints = {item.id for item in plant.items.values() if item.kind == "joint"}
    assert children.keys() == (plant.items.keys() | plant.pipes.keys()) - joints
    boiler = children["B-1"]
    assert boiler.text(QAccessible.Text.Name).startswith("boiler B-1, ")
    assert children["L-2"].text(QAccessible.Text.Name) == "pipe L-2, no flow"
    there = board.view.viewport().mapToGlobal(board.view.mapFromScene(*plant.items["B-1"].at))
    assert boiler.rect().contains(there)
    assert face.childAt(there.x(), there.y()) is boiler
    assert face.indexOfChild(boiler) == over + face.names().index("B-1")
    assert boiler.parent() is face
    assert not boiler.state().selected
    window.document.select(["B-1"])
    assert boiler.state().selected
    window.document.do("gone", edits.delete(plant, ["B-1"]))
    assert not boiler.isValid()
    assert face.indexOfChild(boiler) == -1
    for thing in children.values():
        QAccessible.uniqueId(thing)  # as whoever listens does: Qt holds them by a number from now on
