"""Finding: a plumber's words on the shelf, and one box for commands, tags, notes and help."""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from app import actions
from app.widgets.quick import QuickBox
from app.window.everything import Everything
from core.vocabulary import KINDS
from core.vocabulary.trade_words import SHORT, TRADE_WORDS, named_by
from tests.app.pencil import CTRL, Pencil, ring, type_words


@pytest.mark.parametrize(
    ("words", "first"),
    [
        ("pump", "circulator"),
        ("ball valve", "shutoff"),
        ("tankless", "heater"),
        ("on-demand", "heater"),
        ("instant heater", "heater"),
        ("plate", "exchanger"),
        ("shower", "fixture"),
        ("baseboard", "radiator"),
        ("tee", "joint"),
        ("zone", "zone_valve"),
        ("indirect", "coil_tank"),
        ("mixer", "mixing_valve"),
        ("hose bib", "drain"),
        ("mod con", "boiler"),
        ("sillcock", "fixture"),
        ("angle stop", "shutoff"),
        ("circuit setter", "balance_valve"),
        ("air scoop", "air_separator"),
        ("boiler drain", "drain"),
        ("relay", "switch"),
        ("Boiler", "boiler"),
        ("buffer", "buffer"),
    ],
)
def test_a_plumbers_word_finds_the_symbol(words: str, first: str) -> None:
    assert named_by(words)[0][0] == first


def test_every_word_of_the_trade_finds_its_kind_and_short_forms_are_spelled_out() -> None:
    assert TRADE_WORDS.keys() <= KINDS.keys()
    for kind, words in TRADE_WORDS.items():
        for word in words:
            assert kind in dict(named_by(word)), (word, kind)
    for name, kind in ((n, k) for n, meanings in SHORT.items() for k in meanings):
        assert kind in KINDS, name
    assert named_by("PRV") == [
        ("pressure_reducer", "pressure-reducing valve"),
        ("relief_valve", "pressure-relief valve"),
    ]
    assert {"aquastat", "thermostat", "outdoor_reset", "thermometer"} <= dict(named_by("sensor")).keys()
    assert named_by("zzz") == []


def test_the_find_box_finds_tags_notes_commands_and_help(pencil: Pencil) -> None:
    ring(pencil)
    window = pencil.window
    finder = window.top.finder
    said: list[str] = []
    finder.found.connect(said.append)
    for typed, value in (
        ("p-1", "go P-1"),
        ("second circ", "do second_circulator"),
        ("rely figure", "help "),
    ):
        pencil.key("f", held=CTRL)
        assert finder.hasFocus()
        type_words(finder, typed)
        assert finder._model.rowCount()
        QTest.keyClick(finder, Qt.Key.Key_Return)
        QApplication.processEvents()
        assert said[-1].startswith(value)
    page = window.commands._counts
    assert page is not None
    page.close()


def rows_of(box: QuickBox) -> list[str]:
    return [box.rows.item(at).text() for at in range(box.rows.count())]


def test_insert_takes_a_pump_and_says_when_nothing_fits(pencil: Pencil) -> None:
    window = pencil.window
    pencil.board.view.setFocus()
    pencil.key("i")
    box = window.quick
    type_words(box.field, "prv")
    assert rows_of(box) == [
        "pressure reducer · pressure-reducing valve",
        "relief valve · pressure-relief valve",
    ]
    box.field.clear()
    type_words(box.field, "zzz")
    assert rows_of(box) == []
    assert box._nothing.isVisible()
    assert box._nothing.text().startswith("Nothing on the shelf fits.")
    box.field.clear()
    type_words(box.field, "elbow")
    assert box._nothing.text().startswith("Elbow is a fitting: select its pipe")
    box.field.clear()
    type_words(box.field, "pump")
    QTest.keyClick(box.field, Qt.Key.Key_Return)
    pencil.click((500, 400))
    assert [item.kind for item in window.document.plant.items.values()] == ["circulator"]


def asked(pencil: Pencil) -> Everything:
    pencil.key(Qt.Key.Key_F3)
    QApplication.processEvents()
    box = pencil.window.commands._palette
    assert box is not None
    return box


def test_one_key_lists_every_command_with_its_keys(pencil: Pencil) -> None:
    box = asked(pencil).box
    shown = rows_of(box)
    assert len(shown) == len(actions.TABLE) - 1
    assert "Plant: Save  ·  Ctrl+S" in shown
    assert any(row.startswith("Edit: Turn  ·  R  ·  select something") for row in shown)
    type_words(box.field, "si units")
    QTest.keyClick(box.field, Qt.Key.Key_Return)
    assert pencil.window.document.plant.units == "si"
    assert pencil.board.view.hasFocus()


def test_the_box_finds_tags_notes_and_help(pencil: Pencil) -> None:
    ring(pencil)
    window = pencil.window
    window.document.select(["P-1"])
    field = window.particulars.field("label")
    field.editor.setFocus()
    type_words(field.editor, "Kitchen loop")
    QTest.keyClick(field.editor, Qt.Key.Key_Return)
    window.document.select([])
    pencil.board.view.setFocus()
    box = asked(pencil).box
    type_words(box.field, "kitchen")
    assert rows_of(box) == ["P-1  circulator, Kitchen loop"]
    QTest.keyClick(box.field, Qt.Key.Key_Return)
    assert window.document.selection == {"P-1"}
    box = asked(pencil).box
    type_words(box.field, "b-1")
    assert rows_of(box)[0].startswith("B-1  boiler")
    box.field.clear()
    type_words(box.field, "rely figure")
    QTest.keyClick(box.field, Qt.Key.Key_Return)
    page = window.commands._counts
    assert page is not None
    assert page.isVisible()
    page.close()


def test_a_command_that_cannot_be_done_now_says_why(pencil: Pencil) -> None:
    said: list[str] = []
    pencil.board.said.connect(said.append)
    box = asked(pencil).box
    type_words(box.field, "mirror")
    QTest.keyClick(box.field, Qt.Key.Key_Return)
    assert said[-1] == "Not now: select something first"
