"""The guided first plant: by keys alone, one undo step a step, left and taken up again."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from app.panels.guide import Editor, Guide
from core.first_plant import STEPS
from core.vocabulary import Trait
from tests.app.pencil import Pencil, type_words


def opened(pencil: Pencil) -> Guide:
    pencil.window.actions_["first_plant"].trigger()
    QApplication.processEvents()
    guide = pencil.window.commands._guide
    assert guide is not None
    assert guide.isVisible()
    return guide


def go_on(guide: Guide) -> None:
    """Return, in whatever field has the keyboard."""
    widget = guide.window().focusWidget()
    assert widget is not None
    assert guide.isAncestorOf(widget)
    QTest.keyClick(widget, Qt.Key.Key_Return)
    QApplication.processEvents()


def output_typed(guide: Guide, words: str) -> Editor:
    """The field of the source's output, with words typed over what stood in it."""
    output = guide.editors["output"]
    output.setFocus()
    output.selectAll()
    type_words(output, words)
    return output


def test_seven_times_return_draws_a_plant_one_undo_step_each(pencil: Pencil) -> None:
    guide, document = opened(pencil), pencil.window.document
    for step in STEPS[:-1]:
        assert guide.key == step.key
        count = document.stack.count()
        go_on(guide)
        assert document.stack.count() == count + 1, guide.told.text()
        assert step.made(document.plant)
        assert "Ctrl+Z" in guide.told.text()
    assert guide.key == "print"
    assert len(document.plant.with_trait(Trait.DRIVES)) == 3
    assert pencil.window.under.in_sight()[0].TITLE == "Size all"
    document.stack.undo()
    document.stack.undo()
    assert guide.steps["safety"].text() == "6  Safety parts"
    assert guide.steps["pumps"].text().endswith("✓")


def test_what_cannot_be_read_is_marked_and_stays(pencil: Pencil) -> None:
    guide = opened(pencil)
    output = output_typed(guide, "many")
    go_on(guide)
    assert guide.key == "source"
    assert "Its full output" in guide.told.text()
    assert output.property("wrong")
    assert output.hasFocus()
    assert output.text() == "many"
    assert not pencil.window.document.plant.items
    output.selectAll()
    type_words(output, "45,000")
    go_on(guide)
    (boiler,) = pencil.window.document.plant.items.values()
    assert boiler.props["capacity"] == "45000 Btu/h"


def test_it_may_be_left_and_goes_on_where_it_was(pencil: Pencil) -> None:
    guide = opened(pencil)
    go_on(guide)
    QTest.keyClick(guide, Qt.Key.Key_Escape)
    assert guide.isHidden()
    assert pencil.window.shelf.isVisible()
    assert pencil.board.view.hasFocus()
    assert opened(pencil) is guide
    assert guide.key == "rooms"
    QTest.mouseClick(guide.skip, Qt.MouseButton.LeftButton)
    assert guide.key == "drinking"


def test_what_is_typed_stays_when_the_guide_is_left_and_taken_up_again(pencil: Pencil) -> None:
    guide = opened(pencil)
    output = output_typed(guide, "77 kBtu/h")
    QTest.keyClick(output, Qt.Key.Key_Escape)
    assert guide.isHidden()
    assert opened(pencil).editors["output"].text() == "77 kBtu/h"
