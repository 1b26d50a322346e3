"""Readings in the window: typed, taken from text, explained, what to turn next; each change one undo step."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from app.panels.readings import ReadingsPane
from app.window.main_window import Window

FILE = Path(__file__).parents[2] / "sample_plants" / "potting_shed.plant.json"
PATIENCE = 60_000
LEFT = Qt.MouseButton.LeftButton


@pytest.fixture
def window(make_window: Callable[..., Window]) -> Window:
    return make_window(FILE, size=(1300, 900))


@pytest.fixture
def pane(window: Window) -> ReadingsPane:
    found = window.open_pane("readings")
    assert isinstance(found, ReadingsPane)
    return found


def test_a_reading_is_typed_at_what_is_selected_and_undone(window: Window, pane: ReadingsPane, qtbot: QtBot):
    pane.port.go_to("PG-1")
    qtbot.waitUntil(lambda: pane.at.text() == "PG-1", timeout=PATIENCE)
    pane.what.setCurrentText("pressure")
    QTest.keyClicks(pane.value, "12.5 psi")
    QTest.keyClick(pane.value, Qt.Key.Key_Return)
    (reading,) = window.document.plant.readings
    assert (reading["at"], reading["what"], reading["value"]) == ("PG-1", "pressure", "12.5 psi")
    row = pane.list.topLevelItem(0)
    assert row is not None
    qtbot.waitUntil(lambda: "psi" in pane.list.topLevelItem(0).text(3), timeout=PATIENCE)  # type: ignore[union-attr]
    window.actions_["undo"].trigger()
    assert window.document.plant.readings == ()


def test_a_value_without_its_unit_is_refused_and_stays_in_its_field(window: Window, pane: ReadingsPane):
    pane.port.go_to("PG-1")
    pane.at.setText("PG-1")
    QTest.keyClicks(pane.value, "12.5")
    QTest.mouseClick(pane.add, LEFT)
    assert window.document.plant.readings == ()
    assert pane.value.text() == "12.5"


def test_readings_taken_from_text_are_explained(
    window: Window, pane: ReadingsPane, qtbot: QtBot, tmp_path: Path
):
    qtbot.waitUntil(lambda: pane._sight is not None and pane._sight.solution is not None, timeout=PATIENCE)
    case = window.document.plant.solve_cases[0].name
    solution = pane._sight.solution  # type: ignore[union-attr]
    pascal = solution.value("PG-1", "pressure_pa")  # type: ignore[union-attr]
    path = tmp_path / "read.csv"
    path.write_text(f"date,case,at,what,value\n2026-03-01,{case},PG-1,pressure,{pascal / 1e3:.3f} kPa\n")  # type: ignore[operator]
    pane.take_text(path)
    assert len(window.document.plant.readings) == 1
    QTest.mouseClick(pane.explain, LEFT)
    qtbot.waitUntil(lambda: "agree with the plant" in pane.words.toPlainText(), timeout=PATIENCE)


def test_the_next_turn_is_told(window: Window, pane: ReadingsPane, qtbot: QtBot):
    QTest.mouseClick(pane.turn, LEFT)
    qtbot.waitUntil(lambda: "Next: set the" in pane.words.toPlainText(), timeout=PATIENCE)
