"""Values edited on the board: double click, type, Tab to the next; and typing that figures do not disturb."""

from __future__ import annotations

from itertools import pairwise

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLineEdit

from app.board.pointer import Place
from app.window.in_place import InPlace
from core.plant.model import Plant
from core.vocabulary.guesses import Guess
from tests.app.pencil import LEFT, NONE, Pencil, ring, type_words


def double(pencil: Pencil, place: Place) -> None:
    viewport, at = pencil.board.view.viewport(), pencil.board.view.mapFromScene(*place)
    QTest.mouseClick(viewport, LEFT, NONE, at)
    QTest.mouseDClick(viewport, LEFT, NONE, at)
    QApplication.processEvents()


def box_of(pencil: Pencil) -> InPlace:
    box = pencil.window.commands._in_place
    assert box is not None
    return box


def words(box: InPlace, text: str, key: Qt.Key) -> None:
    assert box.isVisible()
    assert box.field is not None
    assert box.field.editor.hasFocus()
    type_words(box.field.editor, text)
    QTest.keyClick(box.field.editor, key)
    QApplication.processEvents()


def name_of(box: InPlace) -> str:
    assert box.field is not None
    return box.field.name


def plant_of(pencil: Pencil) -> Plant:
    return pencil.window.document.plant


def middle_of(pencil: Pencil, pipe: str) -> Place:
    line = pencil.board.line(pipe)
    first, second = max(pairwise(line), key=lambda ends: _long(*ends))
    return (first[0] + second[0]) / 2, (first[1] + second[1]) / 2


def _long(first: Place, second: Place) -> float:
    return abs(first[0] - second[0]) + abs(first[1] - second[1])


def test_lengths_are_typed_pipe_after_pipe(pencil: Pencil) -> None:
    ring(pencil)
    double(pencil, middle_of(pencil, "L-1"))
    box = box_of(pencil)
    assert name_of(box) == "Length of L-1"
    words(box, "8", Qt.Key.Key_Tab)
    assert name_of(box) == "Length of L-2"
    words(box, "1 ft 6 in", Qt.Key.Key_Tab)
    words(box, "12", Qt.Key.Key_Return)
    lengths = [plant_of(pencil).pipes[name].length for name in ("L-1", "L-2", "L-3")]
    assert lengths == ["8 ft", "18 in", "12 ft"]
    assert not any(isinstance(length, Guess) for length in lengths)
    assert box.isHidden()
    assert pencil.board.view.hasFocus()
    for _ in range(3):
        pencil.window.document.stack.undo()
    assert plant_of(pencil).pipes["L-1"].length == Guess("6 ft", 0.5)


def test_down_goes_to_the_size_and_the_tag(pencil: Pencil) -> None:
    ring(pencil)
    double(pencil, middle_of(pencil, "L-1"))
    box = box_of(pencil)
    words(box, "", Qt.Key.Key_Down)
    assert name_of(box) == "Tube of L-1"
    words(box, "1 in", Qt.Key.Key_Down)
    tube = plant_of(pencil).pipes["L-1"].tube
    assert tube is not None
    assert tube["size"] == "1 in"
    words(box, "Supply", Qt.Key.Key_Return)
    assert "Supply" in plant_of(pencil).pipes
    assert pencil.window.document.selection == {"Supply"}


def test_a_set_temperature_is_typed_on_the_boiler(pencil: Pencil) -> None:
    ring(pencil)
    double(pencil, plant_of(pencil).items["B-1"].at)
    words(box_of(pencil), "140", Qt.Key.Key_Return)
    assert plant_of(pencil).items["B-1"].props["set_temperature"] == "140 degF"


def test_a_double_click_on_written_words_edits_what_they_say(pencil: Pencil) -> None:
    ring(pencil)
    picture = pencil.board.scene.picture
    assert picture is not None
    box = picture.tags["P-1"].box
    double(pencil, (box.centre[0], picture.tags["P-1"].rows[0].y - 3))
    assert name_of(box_of(pencil)) == "Tag of P-1"
    words(box_of(pencil), "Floor", Qt.Key.Key_Return)
    assert "Floor" in plant_of(pencil).items


def test_what_is_refused_on_the_board_stays_and_is_not_lost(pencil: Pencil) -> None:
    ring(pencil)
    double(pencil, middle_of(pencil, "L-1"))
    box = box_of(pencil)
    words(box, "20 psi", Qt.Key.Key_Tab)
    assert name_of(box) == "Length of L-1"
    assert box.field is not None
    assert "pressure" in box.field.error
    pencil.click((600, 300))
    assert box.isHidden()
    assert 'Length of L-1: "20 psi"' in pencil.window.particulars.words_not_taken()
    double(pencil, middle_of(pencil, "L-1"))
    words(box, "", Qt.Key.Key_Escape)
    assert plant_of(pencil).pipes["L-1"].length == Guess("6 ft", 0.5)


@pytest.mark.parametrize("key", ["set_temperature", "curve"])
def test_figures_that_come_do_not_wipe_what_is_being_typed(pencil: Pencil, key: str) -> None:
    name = pencil.place("boiler" if key == "set_temperature" else "circulator", (500, 400))
    pencil.window.document.select([name])
    field = pencil.window.particulars.field(key)
    field.editor.setFocus()
    line = pencil.window.focusWidget()
    assert isinstance(line, QLineEdit)
    type_words(line, "14")
    pencil.window.particulars.refresh()
    assert line.text() == "14"
    type_words(line, "0")
    assert line.text() == "140"
    field.editor.put(field.stored)


def test_a_digit_begins_the_value_of_what_is_selected_and_never_its_tag(pencil: Pencil) -> None:
    ring(pencil)
    pencil.window.document.select(["B-1"])
    pencil.key("1")
    box = box_of(pencil)
    assert name_of(box) == "Set temperature of B-1"
    words(box, "50", Qt.Key.Key_Escape)
    assert plant_of(pencil).items["B-1"].props.get("set_temperature") is None, "Escape takes nothing"
    pencil.key("1")
    words(box, "50", Qt.Key.Key_Return)
    assert plant_of(pencil).items["B-1"].props["set_temperature"] == "150 degF"
    QTest.keyClick(box.field.editor, Qt.Key.Key_Escape)
    joint = pencil.place("joint", (300, 600))
    pencil.window.document.select([joint])
    pencil.key("7")
    assert box.isHidden()
    assert joint in plant_of(pencil).items
