"""Editing particulars: units as typed, errors beside the field, nothing lost."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QToolButton

from app.widgets.field import Field
from core import units
from core.forms.rows import item_sections
from core.plant.changes import SetPlant
from core.plant.model import Item, Plant
from core.vocabulary import KINDS, spellings
from core.vocabulary.document import SITE
from core.vocabulary.guesses import Guess
from tests.app.pencil import Pencil


def typed(field: Field, text: str) -> None:
    """Type over the field and press Return."""
    field.editor.setFocus()
    QTest.keyClick(field.editor, "a", Qt.KeyboardModifier.ControlModifier)
    QTest.keyClicks(field.editor, text)
    QTest.keyClick(field.editor, Qt.Key.Key_Return)
    QApplication.processEvents()


def plant_of(pencil: Pencil) -> Plant:
    return pencil.window.document.plant


def test_a_quantity_is_kept_as_typed_and_shown_in_the_other_units(pencil: Pencil) -> None:
    pencil.place("circulator", (500, 400))
    field = pencil.window.particulars.field("face_to_face")
    typed(field, "6 1/2 in")
    assert plant_of(pencil).items["P-1"].props["face_to_face"] == "6 1/2 in"
    assert field.editor.text_now() == "6 1/2 in"
    assert field.remark == "= 165.1 mm"
    assert field.error == ""


def test_a_wrong_unit_stays_in_the_field_with_the_reason_below(pencil: Pencil) -> None:
    pencil.place("boiler", (500, 400))
    window = pencil.window
    field = window.particulars.field("set_temperature")
    typed(field, "140 degF")
    steps = window.document.stack.count()
    typed(field, "20 psi")
    assert field.editor.text_now() == "20 psi"
    assert "pressure" in field.error
    assert "Kept for now: 140 °F" in field.error
    assert field._error.isVisible()
    assert plant_of(pencil).items["B-1"].props["set_temperature"] == "140 degF"
    assert window.document.stack.count() == steps
    # Another edit elsewhere does not wipe what was typed.
    typed(window.particulars.field("label"), "Shed boiler")
    assert field.editor.text_now() == "20 psi"
    assert field.error
    typed(field, "150 degF")
    assert field.error == ""
    assert plant_of(pencil).items["B-1"].props["set_temperature"] == "150 degF"


def test_escape_gives_the_stored_text_back(pencil: Pencil) -> None:
    pencil.place("boiler", (500, 400))
    field = pencil.window.particulars.field("capacity")
    typed(field, "40 MBtu/h")
    assert field.error
    QTest.keyClick(field.editor, Qt.Key.Key_Escape)
    assert field.editor.text_now() == ""
    assert field.error == ""


def test_a_tag_may_be_renamed_but_not_to_one_that_is_taken(pencil: Pencil) -> None:
    pencil.place("boiler", (400, 400))
    pencil.place("circulator", (600, 400))
    field = pencil.window.particulars.field("id")
    typed(field, "B-1")
    assert field.error
    assert field.editor.text_now() == "B-1"
    typed(field, "Pump")
    assert "Pump" in plant_of(pencil).items
    assert pencil.window.document.selection == {"Pump"}


def test_a_choice_and_a_flag_are_stored_as_the_file_wants_them(pencil: Pencil) -> None:
    pencil.place("circulator", (500, 400))
    control, target = (pencil.window.particulars.field(key) for key in ("control", "target"))
    control.editor.setFocus()
    QTest.keyClick(control.editor, Qt.Key.Key_Down)
    assert "delta_t holds" in control.error
    typed(target, "20 delta_degF")
    props = plant_of(pencil).items["P-1"].props
    assert (props["control"], props["target"]) == ("delta_t", "20 delta_degF")
    assert control.error == ""
    # Two that only fit together: each waits for the other.
    control.editor.put("delta_p_constant")
    control.commit()
    assert control.error
    typed(target, "9 ft_head")
    props = plant_of(pencil).items["P-1"].props
    assert (props["control"], props["target"]) == ("delta_p_constant", "9 ft_head")
    assert control.error == target.error == ""
    check = pencil.window.particulars.field("integral_check")
    check.editor.put("yes")
    check.commit()
    assert plant_of(pencil).items["P-1"].props["integral_check"] is True


def test_what_the_review_asks_for_opens_on_a_click(pencil: Pencil) -> None:
    pencil.place("boiler", (500, 400))
    panel = pencil.window.particulars
    shown = panel.keys()
    assert "low_water_cutoff" not in shown
    button = next(b for b in panel.findChildren(QToolButton) if b.text() == "Asked by the review")
    button.click()
    field = panel.field("low_water_cutoff")
    assert field.isVisible()
    field.editor.put("unknown")
    field.commit()
    assert plant_of(pencil).items["B-1"].props["low_water_cutoff"] == "unknown"


@pytest.mark.qt_log_ignore("propagateSizeHints", "does not support raise", "grabbing the keyboard")
def test_a_pipe_takes_tube_length_and_fittings(pencil: Pencil) -> None:
    pencil.place("cold_main", (300, 400))
    pencil.place("shutoff", (600, 400))
    pencil.drag(pencil.port("CM-1", "at"), pencil.port("V-1", "a"))
    panel = pencil.window.particulars
    assert panel.subject == "L-1"
    typed(panel.field("tube"), "pex 1/2 in")
    typed(panel.field("length"), "12 ft")
    assert panel.field("length").remark == "= 3.66 m"
    pipe = plant_of(pencil).pipes["L-1"]
    assert pipe.tube == {"material": "pex", "size": "1/2 in"}
    assert pipe.length == "12 ft"
    typed(panel.field("tube"), "3/4 copper L")
    assert plant_of(pencil).pipes["L-1"].tube == {"material": "copper_l", "size": "3/4 in"}
    typed(panel.field("tube"), "1/2 pex")
    typed(panel.field("tube"), "lead 1/2 in")
    assert "lead" in panel.field("tube").error
    assert plant_of(pencil).pipes["L-1"].tube == {"material": "pex", "size": "1/2 in"}
    typed(panel.field("tube"), "3/4 in")
    assert plant_of(pencil).pipes["L-1"].tube == {"material": "pex", "size": "3/4 in"}
    typed(panel.field("tube"), "7/9 in")
    assert panel.field("tube").error


def test_the_sheet_holds_site_systems_and_cases(pencil: Pencil) -> None:
    window = pencil.window
    panel = window.particulars
    typed(panel.field("title"), "Wash house")
    typed(panel.field("outdoor_design"), "5 degF")
    assert plant_of(pencil).title == "Wash house"
    assert window.windowTitle().startswith("Wash house")
    assert window.isWindowModified()
    pencil.place("boiler", (500, 400))
    window.document.select(())
    window.actions_["add_case"].trigger()
    assert [case.name for case in plant_of(pencil).cases] == ["Case"]
    typed(panel.field("case.name"), "Design night")
    assert window.live.case == "Design night"
    assert window.rail.current == "Design night"
    typed(panel.field("case.outdoor"), "5 psi")
    assert panel.field("case.outdoor").error
    fluid = panel.field("system.heating.fluid")
    fluid.editor.put("propylene_glycol")
    fluid.commit()
    assert plant_of(pencil).systems["heating"].fluid["fraction"] == 0.3
    typed(panel.field("system.heating.fraction"), "0.9")
    assert panel.field("system.heating.fraction").error


def test_a_field_takes_what_the_window_itself_prints(pencil: Pencil) -> None:
    pencil.place("boiler", (500, 400))
    field = pencil.window.particulars.field("set_temperature")
    typed(field, "110 °F")
    assert plant_of(pencil).items["B-1"].props["set_temperature"] == "110 degF"
    assert field.editor.text_now() == "110 °F"
    assert not field.error
    typed(pencil.window.particulars.field("capacity"), "1,200 Btu/h")
    assert plant_of(pencil).items["B-1"].props["capacity"] == "1200 Btu/h"


def test_defaults_and_ranges_stand_in_the_plants_own_units(pencil: Pencil) -> None:
    panel = pencil.window.particulars
    for name, prop in SITE.items():
        if (default := prop.default) is None:
            continue
        dimension = prop.dimension
        shown = spellings.quantity(panel.field(name).editor.placeholderText(), dimension)
        assert units.parse(shown, dimension) == pytest.approx(units.parse(default, dimension))
        assert shown.endswith(("degF", "ft"))
    pencil.place("boiler", (500, 400))
    assert "From -76 °F to 482 °F" in panel.field("set_temperature").editor.toolTip()
    pencil.window.actions_["si"].trigger()
    assert "From -60 °C to 250 °C" in panel.field("set_temperature").editor.toolTip()


def test_a_relief_valve_shows_its_set_pressure_at_once(pencil: Pencil) -> None:
    pencil.place("relief_valve", (500, 400))
    assert pencil.window.particulars.field("set_pressure").isVisible()


def test_shares_are_taken_in_percent(pencil: Pencil) -> None:
    pencil.place("circulator", (500, 400))
    typed(pencil.window.particulars.field("speed"), "80 %")
    assert plant_of(pencil).items["P-1"].props["speed"] == 0.8
    pencil.window.document.select(())
    fluid = pencil.window.particulars.field("system.heating.fluid")
    fluid.editor.put("propylene_glycol")
    fluid.commit()
    typed(pencil.window.particulars.field("system.heating.fraction"), "35 %")
    assert plant_of(pencil).systems["heating"].fluid["fraction"] == 0.35


def test_a_tag_in_use_says_by_what(pencil: Pencil) -> None:
    pencil.place("boiler", (400, 400))
    pencil.place("circulator", (600, 400))
    field = pencil.window.particulars.field("id")
    typed(field, "B-1")
    zone = pencil.board.scene.zone_of("B-1")
    assert f"B-1 is in use: boiler at {zone}" in field.error


def test_escape_leads_back_to_the_board(pencil: Pencil) -> None:
    pencil.place("circulator", (600, 400))
    for key in ("label", "curve", "control"):
        editor = pencil.window.particulars.field(key).editor
        editor.setFocus()
        QTest.keyClick(editor, Qt.Key.Key_Escape)
        assert pencil.board.view.hasFocus()


def test_a_remark_gives_way_to_what_was_typed(pencil: Pencil) -> None:
    pencil.place("exchanger", (600, 400))
    field = pencil.window.particulars.field("ua")
    typed(field, "20 W/K")
    assert field._remark.isVisible()
    typed(field, "123456.789 Btu/h/degF")
    assert not field._remark.isVisible()
    assert "W/K" in field.editor.toolTip()


def test_escape_after_return_leaves_the_new_value(pencil: Pencil) -> None:
    pencil.place("boiler", (400, 400))
    window = pencil.window
    editor = window.particulars.field("capacity").editor
    editor.setFocus()
    QTest.keyClicks(editor, "40 kBtu/h")
    QTest.keyClick(editor, Qt.Key.Key_Return)
    QTest.keyClick(editor, Qt.Key.Key_Escape)
    assert window.document.plant.items["B-1"].props["capacity"] == "40 kBtu/h"
    assert window.board.view.hasFocus()


def test_every_figure_s_tooltip_tells_range_and_typical_value() -> None:
    for kind in KINDS.values():
        plant = Plant(items={"X-1": Item("X-1", kind.name, (0.0, 0.0))})
        for section in item_sections(plant, plant.items["X-1"]):
            for row in section.rows:
                prop = kind.properties.get(row.key)
                if prop is None or prop.type not in ("quantity", "number", "integer"):
                    continue
                assert "From " in row.hint, f"{kind.name} {row.key}: {row.hint}"
                assert "Typical: " in row.hint or "Usually " in row.hint, f"{kind.name} {row.key}: {row.hint}"
                if row.key == "height":
                    assert " ft" in row.hint
                    assert "degC" not in row.hint


def test_the_keyboard_stays_in_its_field_when_a_name_makes_the_form_anew(pencil: Pencil) -> None:
    window = pencil.window
    pencil.place("boiler", (500, 400))
    typed(window.particulars.field("id"), "Furnace-7")
    assert list(plant_of(pencil).items) == ["Furnace-7"]
    assert QApplication.focusWidget() is window.particulars.field("id").editor
    QTest.keyClick(window.particulars.field("id").editor, Qt.Key.Key_Tab)
    assert QApplication.focusWidget() is window.particulars.field("label").editor
    window.document.select(())
    typed(window.particulars.field("system.heating.name"), "floor")
    assert QApplication.focusWidget() is window.particulars.field("system.floor.name").editor


def test_a_system_gets_another_name_and_a_body_of_water_another_system(pencil: Pencil) -> None:
    pencil.place("exchanger", (500, 400))
    pencil.place("circulator", (700, 380))
    pencil.drag(pencil.port("HX-1", "b_out"), pencil.port("P-1", "in"))
    pencil.drag(pencil.port("P-1", "out"), (800, 500))
    pencil.drag(pencil.port("HX-1", "a_out"), (300, 500))
    document, panel = pencil.window.document, pencil.window.particulars
    document.select(["L-1"])
    choice = panel.field("system").editor
    choice.setFocus()
    QTest.keyClick(choice, Qt.Key.Key_End)
    (fresh,) = document.plant.systems.keys() - {"heating", "potable"}
    assert [document.plant.pipes[name].system for name in ("L-1", "L-2", "L-3")] == [fresh, fresh, "heating"]
    document.select(())
    typed(panel.field(f"system.{fresh}.name"), "potable")
    assert "no other system" in panel.field(f"system.{fresh}.name").error
    typed(panel.field(f"system.{fresh}.name"), "melt")
    assert list(document.plant.systems) == ["heating", "potable", "melt"]
    assert document.plant.pipes["L-2"].system == "melt"
    for _ in range(2):
        document.stack.undo()
    assert list(document.plant.systems) == ["heating", "potable"]
    assert {pipe.system for pipe in document.plant.pipes.values()} == {"heating"}


def put(field: Field, text: str) -> None:
    """Put a text of any characters and lines into a field, and leave it."""
    field.editor.put(text)
    field.commit()
    QApplication.processEvents()


def with_cases(pencil: Pencil) -> Any:
    pencil.place("boiler", (500, 400))
    pencil.place("circulator", (700, 400))
    pencil.drag(pencil.port("B-1", "out"), pencil.port("P-1", "in"))
    pencil.place("room", (900, 300))
    pencil.window.document.select(())
    pencil.window.actions_["add_case"].trigger()
    return pencil.window.particulars


def test_a_case_says_what_is_otherwise_in_it(pencil: Pencil) -> None:
    panel = with_cases(pencil)
    field = panel.field("case.set")
    put(field, "P-1 speed: 0.5\nL-1 length: 12 ft\nB-1 Set temperature: 150 °F")
    assert not field.error
    case = plant_of(pencil).cases[0]
    assert case.set == {
        "P-1": {"speed": 0.5},
        "L-1": {"length": "12 ft"},
        "B-1": {"set_temperature": "150 degF"},
    }
    assert field.editor.text_now().splitlines()[2] == "B-1 set temperature: 150 °F"
    put(field, "P-1 sped: 0.5")
    assert "speed" in field.error
    put(field, "P-1 speed: 9")
    assert "Out of range" in field.error
    put(field, "P-9 speed: 0.5")
    assert "P-1" in field.error
    assert plant_of(pencil).cases[0].set == case.set
    put(panel.field("case.out"), "B-1, L-1")
    assert plant_of(pencil).cases[0].set["B-1"] == {"set_temperature": "150 degF", "out_of_service": True}
    assert plant_of(pencil).cases[0].set["L-1"] == {"length": "12 ft", "out_of_service": True}
    put(field, "P-1 speed: 0.5")
    assert plant_of(pencil).cases[0].set == {
        "B-1": {"out_of_service": True},
        "P-1": {"speed": 0.5},
        "L-1": {"out_of_service": True},
    }
    put(panel.field("case.out"), "")
    assert plant_of(pencil).cases[0].set == {"P-1": {"speed": 0.5}}
    offered = field.editor.rows[-1][0]
    assert all(offered.findText(words) >= 0 for words in ("P-1 speed", "B-1 set temperature", "L-1 length"))
    put(field, "B-1 set temperature: 120")
    assert plant_of(pencil).cases[0].set == {"B-1": {"set_temperature": "120 degF"}}, "a bare number"


def test_a_case_says_how_long_it_lasts_and_where_rooms_start(pencil: Pencil) -> None:
    panel = with_cases(pencil)
    put(panel.field("case.start"), "R-1: 60 °F")
    assert "lasts" in panel.field("case.start").error
    put(panel.field("case.lasts"), "90 min")
    put(panel.field("case.start"), "R-1: 60 °F")
    case = plant_of(pencil).cases[0]
    assert (case.lasts, case.start) == ("90 min", {"R-1": "60 degF"})
    put(panel.field("case.start"), "B-1: 60 °F")
    assert "room, tank or buffer" in panel.field("case.start").error
    put(panel.field("case.name"), "Cold start")
    assert plant_of(pencil).cases[0] == replace(case, name="Cold start"), "other fields keep it"


def test_editing_one_line_of_a_case_keeps_guesses_and_tables_of_the_others(pencil: Pencil) -> None:
    panel = with_cases(pencil)
    curve = [["0 gpm", "12 ft_head"], ["8 gpm", "2 ft_head"]]
    length = Guess("9 ft", 0.3)
    document = pencil.window.document
    case = replace(document.plant.cases[0], set={"P-1": {"curve": curve}, "L-1": {"length": length}})
    document.do("a case", [SetPlant({"cases": (case,)})])
    field = panel.field("case.set")
    assert "~9 ft ± 30 %" in field.editor.text_now()
    put(field, field.editor.text_now() + "\nB-1 set temperature: 150 °F")
    assert not field.error
    fresh = plant_of(pencil).cases[0].set
    assert fresh["P-1"]["curve"] == curve
    assert fresh["L-1"]["length"] == length


def test_a_guess_can_be_typed_with_how_far_off_it_may_be(pencil: Pencil) -> None:
    panel = with_cases(pencil)
    pencil.window.document.select(("L-1",))
    put(panel.field("length"), "~6 ft ± 30 %")
    assert plant_of(pencil).pipes["L-1"].length == Guess("6 ft", 0.3)
    assert panel.field("length").editor.text_now() == "~6 ft ± 30 %"
    put(panel.field("length"), "~6 ft")
    assert "how far off" in panel.field("length").error
    put(panel.field("length"), "6 ft")
    assert plant_of(pencil).pipes["L-1"].length == "6 ft"
    pencil.window.document.select(("B-1",))
    put(panel.field("set_temperature"), "~120 °F ± 5 K")
    assert plant_of(pencil).items["B-1"].props["set_temperature"] == Guess("120 degF", "5 K")
