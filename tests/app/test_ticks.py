"""Signals in the particulars: ticks, their text, and text that ticks cannot say; by real clicks and keys."""

from collections.abc import Callable

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest

from app.widgets.ticks import Ticks
from app.window.main_window import Window
from tests.support.calling import plant_of, two_zones


@pytest.fixture
def window(make_window: Callable[..., Window]) -> Window:
    made = make_window(plant=plant_of(two_zones()))
    made.document.select(["P-1"])
    return made


def field(window: Window, key: str = "run_when"):
    return next(field for row, field in window.particulars._rows if row.key == key)


def tick(window: Window, name: str) -> None:
    box = field(window).editor.boxes[name]
    window.particulars._scroll.ensureWidgetVisible(box)
    QTest.mouseClick(
        box, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier, QPoint(8, box.height() // 2)
    )


def run_when(window: Window):
    return window.document.plant.items["P-1"].props.get("run_when")


def test_ticks_show_and_change_what_runs_it(window: Window):
    editor = field(window).editor
    assert isinstance(editor, Ticks)
    assert list(editor.boxes) == ["TH-1", "TH-2", "AQ-9", "OU-1", "OU-2"]
    assert editor.boxes["TH-1"].checkState() == Qt.CheckState.Checked
    tick(window, "TH-2")
    assert run_when(window) == {"any": ["TH-1", "TH-2"]}
    assert field(window).editor.text_now() == "TH-1 or TH-2"
    tick(window, "TH-2")
    assert run_when(window) == {"any": ["TH-1", {"not": "TH-2"}]}
    assert field(window).editor.boxes["TH-2"].text() == "not TH-2"
    tick(window, "TH-2")
    assert run_when(window) == "TH-1"
    window.document.stack.undo()
    assert run_when(window) == {"any": ["TH-1", {"not": "TH-2"}]}
    assert field(window).editor.boxes["TH-2"].checkState() == Qt.CheckState.PartiallyChecked


def test_all_of_instead_of_any_of(window: Window):
    tick(window, "AQ-9")
    word = field(window).editor.word
    word.setFocus()
    QTest.keyClick(word, Qt.Key.Key_Down)
    assert run_when(window) == {"all": ["TH-1", "AQ-9"]}


def test_text_that_ticks_cannot_say_stays_text(window: Window):
    line = field(window).editor.line
    line.setText("TH-1 or (TH-2 and not AQ-9)")
    QTest.keyClick(line, Qt.Key.Key_Return)
    assert run_when(window) == {"any": ["TH-1", {"all": ["TH-2", {"not": "AQ-9"}]}]}
    editor = field(window).editor
    assert not any(box.isEnabled() for box in editor.boxes.values())
    editor.line.setText("TH-2 and")
    QTest.keyClick(editor.line, Qt.Key.Key_Return)
    assert "or, and, not" in field(window).error
    editor.line.setText("")
    QTest.keyClick(editor.line, Qt.Key.Key_Return)
    assert run_when(window) is None
    assert all(box.isEnabled() for box in field(window).editor.boxes.values())


def test_a_tick_answers_to_the_keyboard(window: Window):
    box = field(window).editor.boxes["OU-1"]
    box.setFocus()
    QTest.keyClick(box, Qt.Key.Key_Space)
    assert run_when(window) == {"any": ["TH-1", "OU-1"]}
