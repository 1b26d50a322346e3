"""The one table of the pages: sorted by value, narrowed by letters, copied, its first column in place."""

from __future__ import annotations

import csv
from collections.abc import Iterator

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QWidget
from pytestqt.qtbot import QtBot

from app.widgets.table import CSV_MIME, Table, TableRow
from tests.app.pencil import CTRL, type_words

ROWS = (("P-10", "9.5 gpm", "a, b"), ("P-2", "~12 gpm", 'says "on"'), ("V-1", "", ""), ("P-1", "-3 gpm", "x"))


@pytest.fixture
def table(qtbot: QtBot) -> Iterator[Table]:
    page = QWidget()
    page.resize(300, 200)
    made = Table("Things", ("At", "Flow", "Note"), (80, 200, 300), page)
    made.resize(300, 200)
    made.addTopLevelItems([TableRow(list(row)) for row in ROWS])
    qtbot.addWidget(page)
    with qtbot.waitExposed(page):
        page.show()
    QApplication.processEvents()
    yield made
    page.close()


def tags(table: Table) -> list[str]:
    return [row.text(0) for row in table.every() if not row.isHidden()]


def click_head(table: Table, column: int) -> None:
    at = QPoint(table.header().sectionViewportPosition(column) + 20, 8)
    QTest.mouseClick(table.header().viewport(), Qt.MouseButton.LeftButton, pos=at)


def test_a_click_on_a_head_sorts_by_value_and_the_third_gives_the_first_order_back(table: Table) -> None:
    click_head(table, 1)
    assert tags(table) == ["P-1", "P-10", "P-2", "V-1"]
    click_head(table, 1)
    assert tags(table)[::-1] == ["P-1", "P-10", "P-2", "V-1"]
    table.clear()
    table.addTopLevelItems([TableRow(list(row)) for row in ROWS])
    QApplication.processEvents()
    assert tags(table)[::-1] == ["P-1", "P-10", "P-2", "V-1"], "what is filled in anew is sorted as before"
    click_head(table, 1)
    assert tags(table) == ["P-10", "P-2", "V-1", "P-1"]
    click_head(table, 0)
    assert tags(table) == ["P-1", "P-2", "P-10", "V-1"]


def test_letters_narrow_it_and_escape_shows_all(table: Table) -> None:
    hidden = table.topLevelItem(3)
    assert hidden is not None
    hidden.setHidden(True)
    table.setFocus()
    QTest.keyClick(table, Qt.Key.Key_P)
    assert table.narrow.hasFocus()
    assert tags(table) == ["P-10", "P-2"]
    type_words(table.narrow, "-2")
    assert tags(table) == ["P-2"]
    QTest.keyClick(table.narrow, Qt.Key.Key_Escape)
    assert tags(table) == ["P-10", "P-2", "V-1"], "what the page itself hides stays hidden"
    assert table.hasFocus()


def test_it_is_copied_as_tabs_and_as_csv_at_once(table: Table) -> None:
    table.setFocus()
    QTest.keyClick(table, Qt.Key.Key_C, CTRL)
    data = QGuiApplication.clipboard().mimeData()
    assert data.text().splitlines()[:2] == ["At\tFlow\tNote", "P-10\t9.5 gpm\ta, b"]
    read = list(csv.reader(bytes(data.data(CSV_MIME).data()).decode().splitlines()))
    assert read == [["At", "Flow", "Note"], *map(list, ROWS)]
    row = table.topLevelItem(1)
    assert row is not None
    row.setSelected(True)
    QTest.keyClick(table, Qt.Key.Key_C, CTRL)
    assert QGuiApplication.clipboard().mimeData().text().splitlines()[1:] == ['P-2\t~12 gpm\tsays "on"']


def test_the_first_column_stays_while_the_others_go_by(table: Table) -> None:
    before = table.viewport().grab().toImage().copy(0, 0, 70, 60)
    bar = table.horizontalScrollBar()
    bar.setValue(bar.maximum())
    QApplication.processEvents()
    assert bar.value() > 100
    place = table.visualRect(table.model().index(1, 0)).center()
    assert place.x() < 80
    QTest.mouseClick(table.viewport(), Qt.MouseButton.LeftButton, pos=place)
    current = table.currentItem()
    assert current is not None
    assert current.text(0) == "P-2"
    table.clearSelection()
    table.setCurrentItem(None)  # type: ignore[arg-type]
    QApplication.processEvents()
    after = table.viewport().grab().toImage().copy(0, 0, 70, 60)
    words = [image.copy(0, 0, 60, 60).convertToFormat(before.format()) for image in (before, after)]
    dark = [
        sum(image.pixelColor(x, y).lightness() < 128 for x in range(60) for y in range(60)) for image in words
    ]
    assert dark[0] > 50
    assert abs(dark[1] - dark[0]) < 0.3 * dark[0], "the same words stand there"
