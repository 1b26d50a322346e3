"""Lines of control drawn by mouse and by keys, seen on the board, and their menu."""

from collections.abc import Callable

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QMenu, QToolButton

from tests.app.pencil import CTRL, Pencil


@pytest.fixture
def drawn(pencil: Pencil) -> Pencil:
    pencil.place("switch", (400, 200))
    pencil.place("circulator", (600, 400))
    pencil.place("aquastat", (400, 600))
    pencil.window.document.select(())
    return pencil


def props(pencil: Pencil, item: str):
    return pencil.window.document.plant.items[item].props


def test_pulled_with_ctrl_from_a_switch_onto_a_circulator_it_runs_it(drawn: Pencil):
    drawn.drag((400, 200), (600, 400), CTRL)
    assert props(drawn, "P-1")["run_when"] == {"any": ["SW-1"]}
    assert drawn.window.document.stack.undoText() == "SW-1 runs P-1"
    kinds = {wire.kind: wire.net for wire in drawn.board.scene.picture.wires}
    assert (kinds["runs"].sources, kinds["runs"].targets) == (("SW-1",), ("P-1",))
    drawn.drag((400, 200), (600, 400), CTRL)
    assert props(drawn, "P-1")["run_when"] is False
    drawn.window.document.stack.undo()
    drawn.window.document.stack.undo()
    assert "run_when" not in props(drawn, "P-1")
    assert drawn.board.scene.picture.wires == ()


def test_without_ctrl_the_control_is_moved(drawn: Pencil):
    drawn.drag((400, 200), (500, 200))
    assert drawn.window.document.plant.items["SW-1"].at == (500, 200)
    assert "run_when" not in props(drawn, "P-1")


def test_a_menu_asks_where_it_may_mean_several_things(drawn: Pencil):
    drawn.drag((400, 600), (600, 400), CTRL)
    menu = next(w for w in QApplication.topLevelWidgets() if isinstance(w, QMenu) and w.isVisible())
    assert [a.text() for a in menu.actions()] == [
        *("AQ-1 senses P-1 at in", "AQ-1 senses P-1 at out"),
        *("AQ-1 runs P-1", "AQ-1 feeds P-1"),
    ]
    QTest.keyClick(menu, Qt.Key.Key_Down)
    QTest.keyClick(menu, Qt.Key.Key_Down)
    QTest.keyClick(menu, Qt.Key.Key_Return)
    assert props(drawn, "P-1")["run_when"] == {"any": ["AQ-1"]}
    assert "senses" not in props(drawn, "AQ-1")


def test_the_keyboard_draws_it_too(drawn: Pencil):
    drawn.window.document.select(["SW-1"])
    drawn.board.view.setFocus()
    drawn.key("p")
    drawn.key(Qt.Key.Key_Tab)
    drawn.key(Qt.Key.Key_Return)
    assert props(drawn, "P-1")["run_when"] == {"any": ["SW-1"]}


def test_escape_and_a_drop_on_nothing_change_nothing(drawn: Pencil):
    before = drawn.window.document.plant
    drawn.drag((400, 200), (800, 200), CTRL)
    drawn.window.document.select(["SW-1"])
    drawn.key("p")
    drawn.key(Qt.Key.Key_Tab)
    drawn.key(Qt.Key.Key_Escape)
    assert drawn.window.document.plant is before
    assert drawn.window.hand.gesture is None


def test_lines_can_be_hidden(drawn: Pencil):
    drawn.drag((400, 200), (600, 400), CTRL)
    drawn.window.actions_["controls_shown"].trigger()
    assert drawn.board.scene.picture.wires == ()
    drawn.window.actions_["controls_shown"].trigger()
    assert [wire.kind for wire in drawn.board.scene.picture.wires] == ["runs"]


def test_what_runs_a_pump_and_what_a_stat_senses_is_clicked_on_the_board(pencil: Pencil) -> None:
    pump, stat = pencil.place("circulator", (400, 300)), pencil.place("thermostat", (700, 300))
    tank = pencil.place("tank", (700, 600))
    window = pencil.window

    def ask(name: str, key: str) -> None:
        window.document.select([name])
        window.particulars.field(key)
        button = next(
            one
            for one in window.particulars.findChildren(QToolButton)
            if one.text() == "Click it on the board" and one.isVisible()
        )
        QTest.mouseClick(button, Qt.MouseButton.LeftButton)
        assert window.board.view.hasFocus()

    ask(pump, "run_when")
    pencil.click((700, 600))  # a tank runs nothing
    assert "run_when" not in window.document.plant.items[pump].props
    ask(pump, "run_when")
    pencil.click((700, 300))
    assert window.document.plant.items[pump].props["run_when"] == {"any": [stat]}
    assert window.particulars.subject == pump
    assert window.particulars.field("run_when").editor.text_now() == stat
    ask(stat, "senses")
    menus: list[tuple[list[str], Callable[[int], object]]] = []
    window.board.offer = lambda words, take, _at: menus.append((list(words), take))  # type: ignore[assignment]
    pencil.click((700, 600))
    (words, take), *_ = menus
    assert words[0] == f"{stat} senses {tank} at top"  # which of its taps is asked, not guessed
    take(0)
    assert window.document.plant.items[stat].props["senses"] == [tank, "top"]
