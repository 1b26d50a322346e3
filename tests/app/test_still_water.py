"""The dead-water page: labels on the board for the case in sight, the table, and what goes with the page."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from app.panels.still_water import StillWaterPane
from app.window.main_window import Window
from core.solve import solve_case
from core.water.no_flow import NO_FLOW

FILE = Path(__file__).parents[2] / "sample_plants" / "potting_shed.plant.json"


@pytest.fixture
def window(make_window: Callable[..., Window], qtbot: QtBot) -> Window:
    window = make_window(FILE, solve=solve_case, size=(1300, 900))
    qtbot.waitUntil(lambda: window.live.all_answered, timeout=30_000)
    return window


def page(window: Window, qtbot: QtBot) -> StillWaterPane:
    pane = window.open_pane("no_flow")
    assert isinstance(pane, StillWaterPane)
    qtbot.waitUntil(lambda: pane.list.topLevelItemCount() > 0, timeout=30_000)
    return pane


def still_pipes(window: Window) -> set[str]:
    solution = window.live.solution
    assert solution is not None
    return {name for name, one in solution.pipes.items() if abs(one.flow_m3_s) < NO_FLOW}


def test_the_board_labels_what_stands_in_the_case_in_sight(window: Window, qtbot: QtBot) -> None:
    page(window, qtbot)
    seen = window.board.overlay.still
    assert set(seen) == still_pipes(window)
    assert "never flows" in seen.values()
    last = window.live.names()[-1]
    window.live.choose(last)
    qtbot.waitUntil(lambda: set(window.board.overlay.still) == still_pipes(window), timeout=30_000)
    assert len(window.board.overlay.still) > len(seen)


def test_labels_go_with_the_page(window: Window, qtbot: QtBot) -> None:
    page(window, qtbot)
    window.open_pane("notes")
    assert not window.board.overlay.still
    page(window, qtbot)
    assert window.board.overlay.still


def test_a_row_names_volume_and_where_to_flush_and_frames_its_pipe(window: Window, qtbot: QtBot) -> None:
    pane = page(window, qtbot)
    row = next(
        line
        for k in range(pane.list.topLevelItemCount())
        if (line := pane.list.topLevelItem(k)) is not None and line.text(4) != "–"
    )
    assert row.text(1) == "never flows"
    assert row.text(3).endswith("gal")
    QTest.mouseClick(
        pane.list.viewport(), Qt.MouseButton.LeftButton, pos=pane.list.visualItemRect(row).center()
    )
    assert window.document.selection == {row.text(0)}
    assert "scald" in pane.caution.text()
