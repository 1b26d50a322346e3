"""What is started to be timed, each in its own process: a plain Qt window, ours, ours with a file."""

from __future__ import annotations

import os
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from app.window.main_window import Window


def done(begin: float, *marks: float) -> None:
    """Say wall time since the process began its work, its processor time, and other moments; end at once."""
    print(time.perf_counter() - begin, time.process_time(), *(mark - begin for mark in marks), flush=True)
    os._exit(0)


def plain_window() -> None:
    """The least that a window with our widgets takes: menus, lists, fields, splitters, a graphics view."""
    begin = time.perf_counter()
    from PySide6.QtCore import Qt
    from PySide6.QtGui import QAction, QFont, QFontDatabase, QKeySequence, QPainter
    from PySide6.QtWidgets import (
        QApplication,
        QCheckBox,
        QComboBox,
        QFormLayout,
        QFrame,
        QGraphicsScene,
        QGraphicsView,
        QGridLayout,
        QHBoxLayout,
        QLabel,
        QLineEdit,
        QListWidget,
        QMainWindow,
        QMenuBar,
        QScrollArea,
        QSplitter,
        QToolButton,
        QVBoxLayout,
        QWidget,
    )

    app = QApplication([])
    app.setStyle("Fusion")
    for font in sorted((Path(__file__).parents[2] / "icons" / "fonts").glob("*.ttf")):
        QFontDatabase.addApplicationFontFromData(font.read_bytes())
    app.setFont(QFont("DejaVu Sans"))
    app.setStyleSheet("QPushButton {padding: 3px} QLabel#soft {color: #555} QToolButton {border: none}")
    window = QMainWindow()
    bar = QMenuBar(window)
    for number in range(7):
        menu = bar.addMenu(f"Menu {number}")
        for entry in range(12):
            action = QAction(f"Action {entry}", window)
            action.setShortcuts([QKeySequence(f"Ctrl+Alt+F{entry + 1}")] if not number else [])
            menu.addAction(action)
    whole = QWidget(window)
    rows = QVBoxLayout(whole)
    top = QHBoxLayout()
    for widget in (bar, QLabel("Title"), QLineEdit(), QToolButton(), QToolButton()):
        top.addWidget(widget)
    rows.addLayout(top)
    shelf = QScrollArea()
    groups = QVBoxLayout(inside := QWidget())
    for number in range(7):
        groups.addWidget(QLabel(f"Group {number}"))
        groups.addWidget(names := QListWidget())
        for entry in range(7):
            names.addItem(f"Symbol {entry}")
    shelf.setWidget(inside)
    column = QVBoxLayout(middle := QWidget())
    choices = QHBoxLayout()
    for number in range(4):
        choices.addWidget(QCheckBox(f"Quantity {number}"))
    column.addLayout(choices)
    column.addWidget(QFrame())
    view = QGraphicsView(scene := QGraphicsScene())
    view.setRenderHint(QPainter.RenderHint.Antialiasing)
    starting = QGridLayout(QWidget(view))
    for number in range(4):
        starting.addWidget(QToolButton(), number // 2, number % 2)
    down = QSplitter(Qt.Orientation.Vertical)
    down.addWidget(view)
    down.addWidget(QListWidget())
    column.addWidget(down)
    fields = QFormLayout(sheet := QWidget())
    for number in range(12):
        fields.addRow(QLabel(f"Field {number}"), QLineEdit())
    fields.addRow(QComboBox())
    particulars = QScrollArea()
    particulars.setWidget(sheet)
    across = QSplitter(Qt.Orientation.Horizontal)
    for widget in (shelf, middle, particulars):
        across.addWidget(widget)
    rows.addWidget(across)
    window.setCentralWidget(whole)
    window.statusBar().addWidget(QLabel("Ready"))
    window.resize(1400, 900)
    window.show()
    app.processEvents()
    assert scene is not None
    done(begin)


def our_window(file: str | None) -> None:
    """Ours, painted; with a file, until its lines, tags and figures stand there."""
    begin = time.perf_counter()
    from app.preflight import load_qt

    load_qt()  # as the command does
    from PySide6.QtWidgets import QApplication

    app = QApplication([])
    from app.pens import register_fonts
    from app.settings import Settings
    from app.window.main_window import Window

    register_fonts()
    window = Window(Settings(), Path(file) if file else None)
    window.resize(1400, 900)
    window.show()
    app.processEvents()
    if not file:
        done(begin)  # at once: what comes after the first paint is no part of the start
    lines = painted(window, lambda: bool(window.document.plant.items))
    painted(window, lambda: bool(window.document.plant.items) and annotated(window))
    done(begin, lines)


def annotated(window: Window) -> bool:
    """Whether the board shows the figures of the plant as it is."""
    scene = window.board.scene
    return not window.live.waiting and scene.solution is window.live.solution and scene.up_to_date


def painted(window: Window, stands: Callable[[], bool]) -> float:
    """Wait until the board is painted with something standing on it; when that was.

    In a loop that sleeps, as the program's own: one that spins keeps work in the background from its turn.
    """
    from PySide6.QtCore import QEvent, QEventLoop, QObject, QTimer

    class Look(QObject):
        def eventFilter(self, watched: QObject, event: QEvent) -> bool:
            if event.type() == QEvent.Type.Paint and stands():
                QTimer.singleShot(0, loop.quit)  # after the painting
            return False

    loop, look = QEventLoop(), Look()
    window.board.view.viewport().installEventFilter(look)
    loop.exec()
    window.board.view.viewport().removeEventFilter(look)
    return time.perf_counter()


__all__ = ["our_window", "plain_window"]
if __name__ == "__main__":
    sys.exit("python -m tests.benchmarks window")
