"""Typing values as the trade says them: the field's unit, commas, and nothing refused is lost."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QPushButton

from app.panels.last_good import resting_words
from app.widgets.field import Field, Line
from core.forms.as_read import as_read, unit_of
from core.forms.pipe_rows import pipe_sections
from core.forms.rows import item_sections
from core.plant.changes import SetPlant
from core.plant.model import Plant
from core.vocabulary.guesses import Guess
from tests.app.pencil import Pencil, name_file, ring, type_words


def words_into(field: Field, text: str) -> None:
    """Type over the field, letter by letter, and leave it open."""
    field.editor.setFocus()
    QTest.keyClick(field.editor, "a", Qt.KeyboardModifier.ControlModifier)
    type_words(field.editor, text)


def typed(field: Field, text: str) -> None:
    words_into(field, text)
    QTest.keyClick(field.editor, Qt.Key.Key_Return)
    QApplication.processEvents()


def plant_of(pencil: Pencil) -> Plant:
    return pencil.window.document.plant


def prop_of(pencil: Pencil, name: str, key: str) -> object:
    return plant_of(pencil).items[name].props[key]


def test_a_bare_number_takes_the_unit_that_the_field_shows(pencil: Pencil) -> None:
    pencil.place("boiler", (500, 400))
    panel = pencil.window.particulars
    field = panel.field("set_temperature")
    words_into(field, "140")
    assert isinstance(field.editor, Line)
    assert field.editor.unit_shown() == "°F"
    assert field.remark == "= 140 °F"
    QTest.keyClick(field.editor, Qt.Key.Key_Return)
    assert prop_of(pencil, "B-1", "set_temperature") == "140 degF"
    assert field.editor.text_now() == "140 °F"
    assert field.editor.unit_shown() == ""
    typed(panel.field("capacity"), "64,000")
    assert prop_of(pencil, "B-1", "capacity") == "64000 Btu/h"
    typed(panel.field("capacity"), "19 kW")
    typed(panel.field("capacity"), "20,5")  # the unit of what stands there; a comma that parts decimals
    assert prop_of(pencil, "B-1", "capacity") == "20.5 kW"


def test_watts_stay_watts_in_american_plants(pencil: Pencil) -> None:
    pencil.place("circulator", (500, 400))
    typed(pencil.window.particulars.field("watts"), "80")
    assert prop_of(pencil, "P-1", "watts") == "80 W"
    typed(pencil.window.particulars.field("stopped_cv"), "1 200")
    assert prop_of(pencil, "P-1", "stopped_cv") == 1200


def test_a_comma_before_three_digits_is_asked_about_in_a_metric_plant(pencil: Pencil) -> None:
    pencil.window.document.do("Units", [SetPlant({"units": "si"})])
    pencil.place("boiler", (500, 400))
    field = pencil.window.particulars.field("capacity")
    typed(field, "1,200 kW")
    assert '"1200 kW" or "1.200 kW"' in field.error
    typed(field, "1,5")
    assert prop_of(pencil, "B-1", "capacity") == "1.5 kW"


def test_every_quantity_of_every_field_reads_a_bare_number_in_its_shown_unit(pencil: Pencil) -> None:
    ring(pencil)
    plant = plant_of(pencil)
    rows = [row for item in plant.items.values() for part in item_sections(plant, item) for row in part.rows]
    rows += [row for part in pipe_sections(plant, next(iter(plant.pipes.values()))) for row in part.rows]
    asked = [row for row in rows if row.dimensions and row.dimensions != ("number",) and unit_of(row, plant)]
    assert len(asked) > 10
    for row in asked:
        assert as_read(row, plant, "7") == as_read(row, plant, f"7 {unit_of(row, plant)}")
        assert as_read(row, plant, "7") != "7"


def test_a_guess_takes_the_unit_too(pencil: Pencil) -> None:
    ring(pencil)
    pipe = next(iter(plant_of(pencil).pipes))
    pencil.window.document.select([pipe])
    typed(pencil.window.particulars.field("length"), "~8 ± 30 %")
    assert plant_of(pencil).pipes[pipe].length == Guess("8 ft", 0.3)


def test_what_was_refused_waits_while_another_thing_is_selected(pencil: Pencil) -> None:
    pencil.place("boiler", (300, 400))
    pencil.place("circulator", (700, 400))
    window, panel = pencil.window, pencil.window.particulars
    window.document.select(["B-1"])
    typed(panel.field("set_temperature"), "20 psi")
    reason = panel.field("set_temperature").error
    assert "pressure" in reason
    window.document.select(["P-1"])
    QApplication.processEvents()
    buttons = [one for one in panel.findChildren(QPushButton) if one.isVisible() and "B-1" in one.text()]
    assert [one.text() for one in buttons] == ['Set temperature of B-1: "20 psi"']
    QTest.mouseClick(buttons[0], Qt.MouseButton.LeftButton)
    assert window.document.selection == {"B-1"}
    field = panel.field("set_temperature")
    assert (field.editor.text_now(), field.error) == ("20 psi", reason)
    assert field.isAncestorOf(window.focusWidget())
    typed(field, "140")
    window.document.select(["P-1"])
    assert panel.words_not_taken() == ""


def test_escape_gives_the_last_good_value_back_and_nothing_waits(pencil: Pencil) -> None:
    pencil.place("boiler", (300, 400))
    panel = pencil.window.particulars
    typed(panel.field("set_temperature"), "140")
    typed(panel.field("set_temperature"), "20 psi")
    pencil.window.document.select([])
    pencil.window.document.select(["B-1"])
    field = panel.field("set_temperature")
    field.editor.setFocus()
    QTest.keyClick(field.editor, Qt.Key.Key_Escape)
    assert (field.editor.text_now(), field.error, panel.words_not_taken()) == ("140 °F", "", "")


def test_saving_and_closing_tell_of_what_was_not_taken(pencil: Pencil, tmp_path: Path) -> None:
    pencil.place("boiler", (300, 400))
    window = pencil.window
    typed(window.particulars.field("set_temperature"), "20 psi")
    window.document.select([])
    window.actions_["save"].trigger()
    name_file(window, tmp_path / "a.plant.json")
    assert window.document.clean
    assert 'Set temperature of B-1: "20 psi"' in window.bar.text
    window.bar.buttons[-1].click()
    window.close()
    assert window.isVisible()
    assert [button.text() for button in window.bar.buttons][:2] == ["Go there", "Leave it out"]
    window.bar.buttons[0].click()
    assert window.document.selection == {"B-1"}
    assert window.particulars.field("set_temperature").editor.text_now() == "20 psi"


def test_a_drawn_pipe_is_a_guess_until_its_length_is_typed(pencil: Pencil) -> None:
    ring(pencil)
    lengths = {pipe.length for pipe in plant_of(pencil).pipes.values()}
    assert lengths == {Guess("6 ft", 0.5)}  # near or far on the drawing
    pipe = next(iter(plant_of(pencil).pipes))
    pencil.window.document.select([pipe])
    field = pencil.window.particulars.field("length")
    assert field.editor.text_now() == "~6 ft ± 50 %"
    typed(field, "9")
    assert plant_of(pencil).pipes[pipe].length == "9 ft"
    assert not isinstance(plant_of(pencil).pipes[pipe].length, Guess)


def test_the_guess_for_new_pipes_is_a_setting(pencil: Pencil) -> None:
    window = pencil.window
    window.actions_["new_length"].trigger()
    asked = window.board.asking
    assert asked.field.toPlainText() == "~6 ft ± 50 %"
    type_words(asked.field, "~10 ± 20 %")
    QTest.keyClick(asked.field, Qt.Key.Key_Return)
    ring(pencil)
    assert {pipe.length for pipe in plant_of(pencil).pipes.values()} == {Guess("10 ft", 0.2)}
    assert (window.settings.get("new_length"), window.settings.get("new_length_within")) == ("10 ft", 0.2)
    window.actions_["new_length"].trigger()
    type_words(asked.field, "20 psi")
    QTest.keyClick(asked.field, Qt.Key.Key_Return)
    assert "New pipes stay ~10 ft" in window.bar.text


def test_pipe_sizes_stand_beside_pipes_from_the_start(pencil: Pencil) -> None:
    assert pencil.window.actions_["show_tube"].isChecked()
    ring(pencil)
    pencil.window.board.show_solution(None)
    picture = pencil.board.scene.picture
    assert picture is not None
    said = [row.text for placed in picture.labels.values() for row in placed.rows]
    assert any("3/4 in" in text for text in said), said
    pencil.window.actions_["show_tube"].trigger()
    assert "tube" not in pencil.window.settings.get("quantities")


def test_a_room_s_loss_is_typed_as_heat_of_the_design_night(pencil: Pencil) -> None:
    pencil.place("room", (500, 400))
    window = pencil.window
    room = next(iter(plant_of(pencil).items))
    window.document.do("Site", [SetPlant({"site": {"outdoor_design": "-4 degF", "indoor": "68 degF"}})])
    field = window.particulars.field("loss")
    words_into(field, "18,000 Btu/h")
    assert field.remark == "= 250 Btu/h/°F"  # 18,000 over 72 degrees
    QTest.keyClick(field.editor, Qt.Key.Key_Return)
    assert prop_of(pencil, room, "loss") == "250 Btu/h/degF"
    assert field.remark == "= 18,000 Btu/h at -4 °F out, 68 °F in"
    typed(window.particulars.field("wanted"), "60")
    assert field.remark == "= 16,000 Btu/h at -4 °F out, 60 °F in"
    typed(field, "300")  # a bare number stays a loss
    assert prop_of(pencil, room, "loss") == "300 Btu/h/degF"
    typed(window.particulars.field("wanted"), "-10")
    typed(field, "9 kW")
    assert "warmer than the design night" in field.error


def test_what_rests_on_a_last_good_value_says_so(pencil: Pencil) -> None:
    ring(pencil)
    window = pencil.window
    pencil.place("room", (200, 200))
    window.document.select(["B-1"])
    typed(window.particulars.field("set_temperature"), "140")
    typed(window.particulars.field("set_temperature"), "20 psi")
    assert (
        "on the last good 140 °F for set temperature of B-1 (“20 psi” was not taken)"
        in window._solved_words()
    )
    detail = window.board.scene._detail(words=True)
    assert {"P-1", "FC-1", *plant_of(pencil).pipes} <= detail.resting
    assert "R-1" not in detail.resting
    words = resting_words(plant_of(pencil), "", window.particulars.waiting.all(), "P-1")
    assert words == "Rests on the last good 140 °F for set temperature of B-1 (“20 psi” was not taken)."
    typed(window.particulars.field("set_temperature"), "150")
    assert window.board.scene._detail(words=True).resting == frozenset()
    assert "last good" not in window._solved_words()
