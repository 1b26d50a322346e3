"""Windows for tests: in memory only, and nothing of them left behind."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import QEvent, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from app.pens import LIGHT
from app.settings import Settings
from app.widgets import theme
from app.window.live import Solve
from app.window.main_window import Window
from core.plant.model import Plant
from tests.app.pencil import Pencil, still_water


@pytest.fixture(autouse=True)
def nothing_left_behind(qapp: QApplication) -> Iterator[None]:
    """No thread, no top-level widget, no clipboard content outlives its test."""
    before = set(threading.enumerate())
    yield
    QApplication.clipboard().clear()
    QApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)
    QApplication.processEvents()
    threads = [t.name for t in threading.enumerate() if t not in before and t.name.startswith("wetside")]
    assert not threads, f"threads left behind: {threads}"
    widgets = [w for w in QApplication.topLevelWidgets() if isinstance(w, Window) and w.isVisible()]
    assert not widgets, f"windows left behind: {widgets}"


@pytest.fixture
def make_window(
    qtbot: QtBot, qapp: QApplication, monkeypatch: pytest.MonkeyPatch
) -> Iterator[Callable[..., Window]]:
    """Open a window, shown and settled; closed without asking when the test ends."""
    made: list[Window] = []
    theme.put_on(qapp, LIGHT)
    monkeypatch.setattr("app.window.samples.sample_files", list)

    def make(
        file: Path | None = None,
        solve: Solve | None = None,
        plant: Plant | None = None,
        size: tuple[int, int] = (1400, 900),
    ) -> Window:
        window = Window(Settings(), file, solve)
        made.append(window)
        window.resize(*size)
        with qtbot.waitExposed(window):
            window.show()
        window.activateWindow()
        qtbot.waitUntil(lambda: window._painted and window.document.file == file, timeout=20000)
        QApplication.processEvents()
        QTest.keyClick(window, Qt.Key.Key_F35)  # a key held in the test before counts as held for ever
        if plant is not None:
            window.document.replace(plant, None)
        return window

    yield make
    for window in made:
        window._leaving = True
        window.close()
        window.deleteLater()


@pytest.fixture
def pencil(make_window: Callable[..., Window]) -> Pencil:
    """An empty board at full size, with a solver that answers at once."""
    window = make_window(solve=still_water)
    window.document.stack.clear()
    window.start.hide()
    window.board.view.set_zoom(1.0)
    window.board.view.centerOn(600, 400)
    return Pencil(window)
