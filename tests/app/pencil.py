"""A hand for tests: real mouse and key events on a window's board, and a solver that answers at once."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import QEvent, QPoint, Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QWidget

from app.board.board_widget import BoardWidget
from app.board.pointer import Place
from app.window.main_window import Window
from core.diagram.symbols import port_place
from core.figures import PipeFigures
from core.plant.model import Case, Plant
from core.solve import Solution
from core.vocabulary import KINDS

LEFT, RIGHT = Qt.MouseButton.LeftButton, Qt.MouseButton.RightButton
NONE, SHIFT, CTRL = (
    Qt.KeyboardModifier.NoModifier,
    Qt.KeyboardModifier.ShiftModifier,
    Qt.KeyboardModifier.ControlModifier,
)


class Pencil:
    """Real mouse and key events on a window's board, at places in board units."""

    def __init__(self, window: Window) -> None:
        self.window = window
        self.board: BoardWidget = window.board

    def _at(self, place: Place) -> QPoint:
        return self.board.view.mapFromScene(*place)

    def move(self, place: Place) -> None:
        QTest.mouseMove(self.board.view.viewport(), self._at(place))
        QApplication.processEvents()

    def press(self, place: Place, held: Qt.KeyboardModifier = NONE) -> None:
        QTest.mousePress(self.board.view.viewport(), LEFT, held, self._at(place))

    def release(self, place: Place, held: Qt.KeyboardModifier = NONE) -> None:
        QTest.mouseRelease(self.board.view.viewport(), LEFT, held, self._at(place))

    def click(self, place: Place, held: Qt.KeyboardModifier = NONE) -> None:
        self.move(place)
        QTest.mouseClick(self.board.view.viewport(), LEFT, held, self._at(place))

    def drag(self, start: Place, end: Place, held: Qt.KeyboardModifier = NONE) -> None:
        """Press, two moves, release: as a hand does it."""
        self.move(start)
        self.press(start, held)
        self.move(((start[0] + end[0]) / 2, (start[1] + end[1]) / 2))
        self.move(end)
        self.release(end, held)

    def take(self, kind: str) -> None:
        """A click on the shelf."""
        rows = self.window.shelf.list_of(KINDS[kind].group)
        row = next(rows.item(i) for i in range(rows.count()) if rows.item(i).data(256) == kind)
        QTest.mouseClick(rows.viewport(), LEFT, NONE, rows.visualItemRect(row).center())

    def place(self, kind: str, at: Place) -> str:
        """Take from the shelf, click on the board; gives the new tag."""
        before = set(self.window.document.plant.items)
        self.take(kind)
        self.click(at)
        items = self.window.document.plant.items
        (name,) = (fresh for fresh in set(items) - before if items[fresh].kind == kind)
        return name

    def key(self, *keys: Qt.Key | str, held: Qt.KeyboardModifier = NONE) -> None:
        for key in keys:
            QTest.keyClick(self.board.view, key, held)

    def port(self, item: str, port: str) -> Place:
        return port_place(self.window.document.plant.items[item], port)


def ring(pencil: Pencil) -> None:
    """A boiler, a circulator and a floor circuit, piped to a ring by pulling from port to port."""
    pencil.place("boiler", (300, 400))
    pencil.place("circulator", (500, 380))
    pencil.place("floor_circuit", (740, 400))
    pencil.drag(pencil.port("B-1", "out"), pencil.port("P-1", "in"))
    pencil.drag(pencil.port("P-1", "out"), pencil.port("FC-1", "in"))
    pencil.drag(pencil.port("FC-1", "out"), pencil.port("B-1", "in"))


def type_words(widget: QWidget, words: str) -> None:
    """A key event for each letter; `QTest.keyClicks` aborts at one that is not in ASCII."""
    for letter in words:
        if letter.isascii():
            QTest.keyClick(widget, letter)
        else:
            for what in (QEvent.Type.KeyPress, QEvent.Type.KeyRelease):
                QApplication.sendEvent(widget, QKeyEvent(what, 0, NONE, letter))


def name_file(window: Window, path: Path | str) -> None:
    """Type a path into the window's path bar, which has the keyboard, and press Return."""
    bar = window.files.asks.bar
    assert bar.asking
    assert window.focusWidget() is bar.field
    QTest.keyClick(bar.field, Qt.Key.Key_A, CTRL)
    type_words(bar.field, str(path))
    QTest.keyClick(bar.field, Qt.Key.Key_Return)


def still_water(plant: Plant, case: Case) -> Solution:
    """Stands in for the solver where a test is about drawing."""
    pipes = dict.fromkeys(plant.pipes, PipeFigures(0.0, 0.0, 0.0, 0.0, 20.0, 20.0, 0.0, 0.0))
    return Solution(case.name, {}, True, 1, 0.0, pipes, {}, ())


def field_widgets(window: QWidget) -> list[QWidget]:
    """Every visible widget that can hold the keyboard."""
    return [
        widget
        for widget in window.findChildren(QWidget)
        if widget.isVisible() and widget.focusPolicy() != Qt.FocusPolicy.NoFocus
    ]
