"""The call sheet's page: rows, what a click shows, and who runs what changed by mouse, keys and words."""

from collections.abc import Callable

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from app.panels.call_sheet import CallSheetPane
from app.window.main_window import Window
from core.plant.wiring import toggled
from tests.support.calling import plant_of, two_zones


@pytest.fixture
def pane(make_window: Callable[..., Window], qtbot: QtBot) -> CallSheetPane:
    window = make_window(plant=plant_of(two_zones()))
    made = window.open_pane("calls")
    assert isinstance(made, CallSheetPane)
    made.window_ = window
    settle(made, qtbot)
    return made


def settle(pane: CallSheetPane, qtbot: QtBot) -> None:
    qtbot.waitUntil(lambda: not pane.waiting and pane._energy is not None, timeout=30000)
    qtbot.waitUntil(lambda: not pane._due.isActive(), timeout=5000)


def click(table, row: int, column: int) -> None:
    place = table.visualRect(table.table.index(row, column)).center()
    QTest.mouseClick(
        table.viewport(), Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier, QPoint(place)
    )


def test_rows_show_calls_figures_and_the_worst(pane: CallSheetPane):
    rows = pane.table.texts()
    assert [row[:2] for row in rows] == [["-", "-"], ["●", "-"], ["-", "●"], ["●", "●"]]
    assert rows[3][2:6] == ["15.0", "15.0", "·", "15.0"]
    assert pane.table.cell_at(3, 2).heavy
    assert "most heat" in rows[3][6]
    assert rows[1][7:10] == ["●", "●", "-"]  # B-1, P-1, P-2


def test_a_click_shows_the_combination_on_the_board_and_changes_nothing(pane: CallSheetPane, qtbot: QtBot):
    window = pane.window_
    before = window.document.plant
    click(pane.table, 2, 0)
    qtbot.waitUntil(lambda: window.live.case == "TH-2" and not window.live.waiting, timeout=20000)
    assert window.live.solution.items["LD-2"].delivered_w == pytest.approx(9000.0, rel=1e-6)
    assert not window.live.solution.items["P-1"].running
    assert window.document.plant is before
    assert [row[0] for row in pane.one.texts()] == ["LD-2", "B-1", "P-2"]
    QTest.keyClick(pane.table, Qt.Key.Key_Down)
    QTest.keyClick(pane.table, Qt.Key.Key_Return)
    assert window.live.case == "TH-1 + TH-2"


def test_a_click_lets_a_signal_run_something_and_undo_takes_it_back(pane: CallSheetPane, qtbot: QtBot):
    document = pane.window_.document
    pane.open_page(1)
    rows = [row[0] for row in pane.runs.table.texts()]
    at = rows.index("P-2")
    heads = [head.text for head in pane.runs.table.table.heads]
    click(pane.runs.table, at, heads.index("TH-1"))
    assert document.plant.items["P-2"].props["run_when"] == {"any": ["TH-2", "TH-1"]}
    settle(pane, qtbot)
    assert pane.table.texts()[1][7:10] == ["●", "●", "●"]
    assert pane.table.texts()[1][2] == "15.0"
    assert document.stack.undoText() == "Let TH-1 run P-2"
    document.stack.undo()
    assert document.plant.items["P-2"].props["run_when"] == "TH-2"


def test_the_keyboard_does_the_same(pane: CallSheetPane):
    document = pane.window_.document
    pane.open_page(1)
    table = pane.runs.table
    heads = [head.text for head in table.table.heads]
    table.setFocus()
    table.setCurrentIndex(table.table.index([row[0] for row in table.texts()].index("P-1"), 1))
    while heads[table.currentIndex().column()] != "TH-1":
        QTest.keyClick(table, Qt.Key.Key_Right)
    QTest.keyClick(table, Qt.Key.Key_Space)
    assert document.plant.items["P-1"].props["run_when"] is False


def test_more_than_any_of_is_changed_in_words(pane: CallSheetPane, qtbot: QtBot):
    window = pane.window_
    pane.open_page(1)
    table, words = pane.runs.table, pane.runs.words
    at = [row[0] for row in table.texts()].index("P-1")
    click(table, at, len(table.table.heads) - 1)
    assert words.text() == "TH-1"
    words.clear()
    QTest.keyClicks(words, "TH-1 and not TH-2")
    QTest.keyClick(words, Qt.Key.Key_Return)
    value = {"all": ["TH-1", {"not": "TH-2"}]}
    assert window.document.plant.items["P-1"].props["run_when"] == value
    assert table.texts()[at][-1] == "TH-1 and not TH-2"
    heads = [head.text for head in table.table.heads]
    assert table.texts()[at][heads.index("TH-2")] == "○"
    click(table, at, heads.index("TH-2"))
    assert window.document.plant.items["P-1"].props["run_when"] == value
    words.setText("TH-1 and")
    QTest.keyClick(words, Qt.Key.Key_Return)
    assert "signal names joined by or, and, not" in window.bar.text
    words.setText("TH-99")
    QTest.keyClick(words, Qt.Key.Key_Return)
    assert window.document.plant.items["P-1"].props["run_when"] == value


def test_outlets_and_the_year_stand_beside(pane: CallSheetPane):
    pane.open_page(3)
    assert pane.outlets.texts()[0] == ["OU-1", "2.5 A", "12.0 A", "within", "TH-1 + TH-2"]
    assert "licensed electrician" in pane._caution.text()
    pane.open_page(4)
    assert pane.year.texts()[0][:2] == ["heat of B-1", "33,000"]
    click(pane.year, 0, 1)
    assert pane.window_.under.pane("working")._shown.value == pytest.approx(33000 * 3.6e6, rel=1e-5)


def test_a_case_of_the_plant_becomes_the_ground_of_the_sheet(pane: CallSheetPane, qtbot: QtBot):
    window = pane.window_
    window.live.choose("Mild")
    assert pane._base == "Mild"
    settle(pane, qtbot)
    click(pane.table, 1, 0)
    assert (pane._base, window.live.case) == ("Mild", "TH-1")


@pytest.mark.parametrize(
    ("raw", "after"),
    [
        (None, {"any": ["S"]}),
        (False, {"any": ["S"]}),
        ("S", False),
        ("T", {"any": ["T", "S"]}),
        ({"any": ["S", "T"]}, {"any": ["T"]}),
    ],
)
def test_what_a_click_makes_of_an_expression(raw, after):
    assert toggled(raw, "S") == (True, after)


def test_a_click_leaves_composed_expressions_alone():
    assert toggled({"not": "S"}, "S") == (False, {"not": "S"})
