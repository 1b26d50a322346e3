"""The pages under the board: working, sizes, logbook; by mouse and key, and what they write."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QToolButton, QTreeWidget
from pytestqt.qtbot import QtBot

from app.panels.drafts import EntryDraft
from app.panels.logbook import LogbookPane
from app.panels.sizes import SizesPane
from app.panels.working import WorkingPane
from app.window.main_window import Window
from tests.app.pencil import still_water

FILE = Path(__file__).parents[2] / "sample_plants" / "potting_shed.plant.json"
PATIENCE = 30_000


@pytest.fixture
def window(make_window: Callable[..., Window], qtbot: QtBot) -> Window:
    window = make_window(FILE, size=(1300, 800))
    qtbot.waitUntil(
        lambda: len(window.live.solutions()) == len(window.document.plant.cases), timeout=PATIENCE
    )
    return window


def flowing(window: Window) -> str:
    """A pipe with flow and a tube in the case in sight."""
    solution = window.live.solution
    assert solution is not None
    pipes = window.document.plant.pipes
    return next(n for n, f in solution.pipes.items() if f.flow_m3_s > 1e-5 and not pipes[n].joined)


def test_a_click_on_a_figure_shows_how_it_came_about(window: Window, qtbot: QtBot) -> None:
    pipe = flowing(window)
    window.document.select([pipe])
    buttons = window.particulars.findChildren(QToolButton, "figure")
    button = next(b for b in buttons if b.accessibleName().startswith("pressure loss"))
    qtbot.mouseClick(button, Qt.MouseButton.LeftButton)
    pane = window.under.pane("working")
    assert isinstance(pane, WorkingPane)
    assert pane.isVisible()
    text = pane.text()
    assert f"pressure loss of {pipe}" in text
    assert "(f · L / d + K) · ρ · v" in text
    assert f"typed {window.document.plant.pipes[pipe].length}" in text


def test_the_working_follows_an_edit(window: Window, qtbot: QtBot) -> None:
    pipe = flowing(window)
    window.open_pane("working", (pipe, "drop_pa"))
    pane = window.under.pane("working")
    assert isinstance(pane, WorkingPane)
    before = pane.text()
    window.document.select([pipe])
    field = window.particulars.field("length").editor
    field.setFocus()
    field.selectAll()
    QTest.keyClicks(field, "33 ft")
    QTest.keyClick(field, Qt.Key.Key_Return)
    qtbot.waitUntil(lambda: "typed 33 ft" in pane.text() and pane.text() != before, timeout=PATIENCE)


def test_taking_a_size_changes_the_plant_and_its_reason_may_be_written_down(
    window: Window, qtbot: QtBot
) -> None:
    pipe = flowing(window)
    window.document.select([pipe])
    pane = window.open_pane("sizes")
    assert isinstance(pane, SizesPane)
    qtbot.waitUntil(lambda: [a.at for a in pane.answers() if a.what == "tube"] == [pipe], timeout=PATIENCE)
    tree = pane.options
    names = [tree.topLevelItem(i).text(0) for i in range(tree.topLevelItemCount())]
    drawn = window.document.plant.pipes[pipe].tube
    assert drawn is not None
    other = next(i for i, name in enumerate(names) if not name.startswith(f"{drawn['size']} "))
    tree.setFocus()
    tree.setCurrentItem(tree.topLevelItem(other))
    taken = tree.topLevelItem(other).text(0)
    steps = window.document.stack.count()
    button = next(b for b in pane.findChildren(type(pane._take)) if b.text() == "Use this size")
    qtbot.mouseClick(button, Qt.MouseButton.LeftButton)
    assert window.document.stack.count() == steps + 1
    tube = window.document.plant.pipes[pipe].tube
    assert tube is not None
    assert taken.startswith(f"{tube['size']} ")
    assert window.focusWidget() is window.board.view
    qtbot.mouseClick(pane._why, Qt.MouseButton.LeftButton)
    book = window.under.pane("logbook")
    assert isinstance(book, LogbookPane)
    assert book.isVisible()
    assert book.choice.text() == taken
    assert book.at.text() == pipe
    assert book.weighed.text()


def test_an_entry_is_written_by_keys_and_asks_when_figures_leave_it(window: Window, qtbot: QtBot) -> None:
    pipe = flowing(window)
    before = len(window.document.plant.logbook)
    book = window.open_pane("logbook", EntryDraft((pipe,), "as drawn"))
    assert isinstance(book, LogbookPane)
    QTest.keyClicks(book.because, "it passes the kennels and should be quiet")
    book.write()
    entry = window.document.plant.logbook[-1]
    assert len(window.document.plant.logbook) == before + 1
    assert entry["because"] == "it passes the kennels and should be quiet"
    assert any(f["path"] == f"pipes.{pipe}.velocity_m_s" for f in entry["figures"])
    window.document.select([pipe])
    tube = window.document.plant.pipes[pipe].tube
    assert tube is not None
    from core.plant import edits

    window.document.do("bore", edits.set_pipe(window.document.plant, pipe, tube={**tube, "size": "2 in"}))

    def again() -> bool:
        row = book.list.topLevelItem(0)
        return row is not None and row.toolTip(0) == "look again"

    qtbot.waitUntil(again, timeout=PATIENCE)
    window.document.stack.undo()
    window.document.stack.undo()
    assert len(window.document.plant.logbook) == before


def test_an_unknown_tag_is_said_and_nothing_is_written(window: Window) -> None:
    book = window.open_pane("logbook", EntryDraft(("Q-99",), "x"))
    assert isinstance(book, LogbookPane)
    book.write()
    assert "Q-99" in window.bar.text
    assert book.choice.text() == "x"
    assert window.document.clean


def test_panes_open_by_their_keys(window: Window) -> None:
    for key in ("sizes", "logbook", "working"):
        window.actions_[f"pane_{key}"].trigger()
        assert window.under.pane(key).isVisible()


def test_one_key_tells_why_a_pipe_has_its_size(window: Window, qtbot: QtBot) -> None:
    pipe = flowing(window)
    book = window.open_pane("logbook", EntryDraft((pipe,), "as drawn"))
    assert isinstance(book, LogbookPane)
    QTest.keyClicks(book.because, "quiet")
    book.write()
    window.document.select([pipe])
    window.board.view.setFocus()
    QTest.keyClick(window.board.view, Qt.Key.Key_W)
    card = window.board.card
    qtbot.waitUntil(lambda: "carries" in card.words and card.isVisible(), timeout=PATIENCE)
    assert "“quiet”" in card.text()


def test_pages_without_room_are_in_a_menu(make_window: Callable[..., Window]) -> None:
    window = make_window(size=(1000, 700))
    strip = window.under._strips[0]
    hidden = [key for key, tab in strip._buttons.items() if tab.isHidden()]
    assert hidden
    assert strip._more.isVisible()
    for tab in strip._buttons.values():
        assert tab.isHidden() or tab.width() >= tab.sizeHint().width() - 1
    menu = strip._more.menu()
    menu.aboutToShow.emit()
    assert [action.text() for action in menu.actions()] == [strip._buttons[key].text() for key in hidden]
    menu.actions()[-1].trigger()
    assert strip.key == hidden[-1]
    assert strip._buttons[strip.key].isVisible()
    window.resize(1900, 900)
    assert not any(tab.isHidden() for tab in strip._buttons.values())
    assert strip._more.isHidden()


@pytest.mark.parametrize("size", [(900, 600), (1100, 700)])
def test_in_a_small_window_a_page_opens_tall_enough_for_ten_rows_and_the_board_keeps_a_strip(
    make_window: Callable[..., Window], size: tuple[int, int]
) -> None:
    window = make_window(FILE, solve=still_water, size=size)
    for key in ("punch", "sizes", "size_all", "logbook", "no_flow", "joint", "compare"):
        window.frame.share_out()
        pane = window.open_pane(key)
        QApplication.processEvents()
        high = max(table.viewport().height() for table in pane.findChildren(QTreeWidget))
        assert high >= 10 * (pane.fontMetrics().height() + 6) - 8, key  # the last row may be cut a little
        assert window.board.height() >= 140, key
    assert window.size().toTuple() == size
