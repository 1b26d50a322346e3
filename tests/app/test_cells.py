"""Values of several parts: rows of cells, by keyboard and mouse, each commit one step of undo."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QToolButton

from app.panels.cells import Cells
from app.widgets.field import Field
from core.forms.tables import rows_of, table_of, text_of
from core.plant.changes import SetPlant
from core.vocabulary import KINDS
from tests.app.pencil import CTRL, LEFT, Pencil, type_words

TAB, RETURN = Qt.Key.Key_Tab, Qt.Key.Key_Return


def cells_of(pencil: Pencil, key: str) -> tuple[Field, Cells]:
    field = pencil.window.particulars.field(key)
    assert isinstance(field.editor, Cells)
    return field, field.editor


def keys(*said: str | Qt.Key) -> None:
    """To whatever has the keyboard, as a hand types it."""
    for each in said:
        widget = QApplication.focusWidget()
        assert widget is not None
        if isinstance(each, Qt.Key):
            QTest.keyClick(widget, each)
        else:
            type_words(widget, each)
    QApplication.processEvents()


def prop(pencil: Pencil, name: str, key: str) -> object:
    return pencil.window.document.plant.items[name].props.get(key)


def test_a_curve_is_typed_cell_by_cell_with_the_units_of_its_columns(pencil: Pencil) -> None:
    pencil.place("circulator", (500, 400))
    steps = pencil.window.document.stack.count()
    field, cells = cells_of(pencil, "curve")
    cells.setFocus()
    keys("0", TAB, "19", RETURN)
    assert "2 points" in field.error or "two" in field.error  # one point is no curve yet, and nothing is lost
    keys("8", TAB, "15,5", RETURN)
    assert prop(pencil, "P-1", "curve") == [["0 gpm", "19 ft_head"], ["8 gpm", "15.5 ft_head"]]
    assert field.error == ""
    assert pencil.window.document.stack.count() == steps + 1
    assert len(cells.rows) == 3
    assert QApplication.focusWidget() is cells.rows[2][0]
    keys("16 gpm", TAB, "20", TAB)
    assert "Point 3, head" in field.error
    assert cells.rows[2][1].property("wrong")
    assert not cells.rows[1][1].property("wrong")
    assert len(prop(pencil, "P-1", "curve")) == 2  # type: ignore[arg-type]
    cells.rows[2][1].setFocus()
    QTest.keyClick(cells.rows[2][1], Qt.Key.Key_A, CTRL)
    keys("6", RETURN)
    assert prop(pencil, "P-1", "curve")[2] == ["16 gpm", "6 ft_head"]  # type: ignore[index]
    pencil.window.document.stack.undo()
    assert [cell.text_now() for cell in cells.rows[1]] == ["8 gpm", "15.5 ft"]
    assert [cell.text_now() for cell in cells.rows[2]] == ["", ""]


def test_a_row_goes_by_its_sign_and_by_key(pencil: Pencil) -> None:
    pencil.place("floor_circuit", (500, 400))
    _, cells = cells_of(pencil, "loops")
    cells.setFocus()
    keys("2", TAB, "250", RETURN, TAB, "240 ft", RETURN)
    assert prop(pencil, "FC-1", "loops") == [[2, "250 ft"], "240 ft"]
    signs = [one for one in cells.findChildren(QToolButton) if one.isVisible()]
    assert len(signs) == 2
    QTest.mouseClick(signs[0], LEFT)
    assert prop(pencil, "FC-1", "loops") == ["240 ft"]
    cells.rows[0][1].setFocus()
    QTest.keyClick(cells.rows[0][1], Qt.Key.Key_Delete, CTRL)
    assert prop(pencil, "FC-1", "loops") is None
    pencil.window.document.stack.undo()
    assert prop(pencil, "FC-1", "loops") == ["240 ft"]


def test_parts_of_a_rated_point_have_names_units_and_examples(pencil: Pencil) -> None:
    pencil.place("radiator", (500, 400))
    field, cells = cells_of(pencil, "rated")
    cells.setFocus()
    keys("9,000", TAB, "2", TAB, "160")
    assert field.error == ""  # nothing is said while the rest is still to come
    keys(TAB, "68", RETURN)
    assert field.error == ""
    assert prop(pencil, "RA-1", "rated") == {
        "heat": "9000 Btu/h", "flow": "2 gpm", "supply": "160 degF", "room": "68 degF",
    }  # fmt: skip
    cells.rows[0][0].setFocus()
    QTest.keyClick(cells.rows[0][0], Qt.Key.Key_A, CTRL)
    keys("9 psi", TAB)
    assert field.error.startswith("Heat:")
    assert cells.rows[0][0].property("wrong")


def test_what_a_cell_refused_waits_with_its_row_whole(pencil: Pencil) -> None:
    pencil.window.document.do("Units", [SetPlant({"units": "si"})])
    pencil.place("circulator", (500, 400))
    pencil.place("boiler", (800, 400))
    window = pencil.window
    window.document.select(["P-1"])
    field, cells = cells_of(pencil, "curve")
    cells.setFocus()
    keys("0 L/s", TAB, "6 m", RETURN, "1,200 L/h", TAB, "2 m", RETURN)
    assert '"1200 L/h" or "1.200 L/h"' in field.error
    window.document.select(["B-1"])
    window.document.select(["P-1"])
    field, cells = cells_of(pencil, "curve")
    assert [[cell.text_now() for cell in row] for row in cells.rows[:2]] == [
        ["0 L/s", "6 m"],
        ["1,200 L/h", "2 m"],
    ]
    assert '"1200 L/h" or "1.200 L/h"' in field.error
    assert cells.rows[1][0].property("wrong")


def test_a_piece_of_a_spreadsheet_fills_rows(pencil: Pencil) -> None:
    pencil.place("circulator", (500, 400))
    _, cells = cells_of(pencil, "curve")
    cells.setFocus()
    QApplication.clipboard().setText("0\t19\n8\t15\n16\t6\n")
    QTest.keyClick(cells.rows[0][0], Qt.Key.Key_V, CTRL)
    assert prop(pencil, "P-1", "curve") == [
        ["0 gpm", "19 ft_head"],
        ["8 gpm", "15 ft_head"],
        ["16 gpm", "6 ft_head"],
    ]


def test_rows_are_read_back_from_their_text_as_they_were() -> None:
    found = 0
    for kind in KINDS.values():
        for one in kind.properties.values():
            table = table_of(one, kind.ports, "us")
            if table is None or table.names:
                continue
            found += 1
            wide = len(table.columns)
            for rows in ([["1"] * wide], [["1,2", *["b: c"] * (wide - 1)]], [["", *["x"] * (wide - 1)]]):
                assert rows_of(table, text_of(table, rows)) == rows, (kind.name, one.name)
    assert found > 8
