"""The window as a whole: opening, closing, names, cases, find, looks, and nothing slow before it shows."""

from __future__ import annotations

import subprocess
import sys
import threading
from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtGui import QColor
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QAbstractScrollArea, QApplication, QWidget
from pytestqt.qtbot import QtBot

import sample_plants
from app import actions
from app.background import Background
from app.document import Document, empty_plant
from app.pens import DARK, LIGHT
from app.settings import Settings
from app.window import panes, printing
from app.window.commands import Commands
from app.window.keys_page import key_rows
from app.window.live import LiveSolve
from app.window.main_window import Window
from core.files.read import load
from core.plant.model import Case, Plant
from core.solve import Note, Solution
from tests.app.pencil import CTRL, Pencil, field_widgets, name_file, still_water
from tests.support.edits import inserted

FILE = Path(sample_plants.__file__).parent / "potting_shed.plant.json"
ROOT = Path(__file__).parents[2]
SLOW = ("numpy", "scipy", "networkx", "pint", "core.solve")


def noted(plant: Plant, case: Case) -> Solution:
    """A solver with three notes at two places."""
    plain = still_water(plant, case)
    notes = (Note("P-1", "one"), Note("B-1", "two"), Note("P-1", "three"))
    return Solution(case.name, {}, True, 1, 0.0, plain.pipes, {}, notes)


def test_nothing_slow_is_imported_before_the_window_shows() -> None:
    script = f"""
import sys
from PySide6.QtWidgets import QApplication
application = QApplication([])
from app.settings import Settings
from app.window.main_window import Window
window = Window(Settings())
window._after_first_paint = lambda: None
window.show()
application.processEvents()
assert window.isVisible() and window._painted
print([name for name in {SLOW!r} if name in sys.modules])
window.background.stop()
"""
    done = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, cwd=ROOT, check=False, timeout=120
    )
    assert done.returncode == 0, done.stderr
    assert done.stdout.strip() == "[]"


def test_a_file_opens_after_the_window_and_is_solved(
    make_window: Callable[..., Window], qtbot: QtBot
) -> None:
    window = make_window(FILE)
    assert window.document.plant == load(FILE)
    assert window.document.file == FILE
    assert window.windowTitle() == "Potting shed[*] – Wetside"
    qtbot.waitUntil(lambda: "…" not in window.rail.words().values(), timeout=60000)
    assert list(window.rail.words()) == [case.name for case in window.document.plant.cases]
    assert window.rail.words()["All off"] == "no flow"
    assert window._solved.text().startswith("Solved")
    assert window.settings.get("recent") == [str(FILE.resolve())]


def test_started_with_a_file_that_cannot_be_read_the_window_is_whole(qtbot: QtBot, tmp_path: Path) -> None:
    (tmp_path / "cut.plant.json").write_text('{"items": [')
    window = Window(Settings(), tmp_path / "cut.plant.json")
    window.show()
    qtbot.waitUntil(lambda: bool(window.particulars.keys()), timeout=20000)
    assert "cut.plant.json" in window.bar.text
    window.close()


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (None, "no such file"),
        (b"\xff\xfe{", "plant.json"),
        (b'{"format": "wetside-plant", "version": 2, "items": [{"id": "P-1", "kind": "pump"}]}', "kind"),
    ],
)
def test_a_file_that_cannot_be_opened_costs_nothing(
    pencil: Pencil, qtbot: QtBot, tmp_path: Path, content: bytes | None, says: str
) -> None:
    window = pencil.window
    pencil.place("boiler", (500, 400))
    window.files.save_to(tmp_path / "mine.plant.json")
    plant = window.document.plant
    file = tmp_path / "other.plant.json"
    if content is not None:
        file.write_bytes(content)
    window.files.open(file)
    qtbot.waitUntil(lambda: not window.files.opening, timeout=20000)
    assert window.bar.isVisible()
    assert window.bar.text.startswith("Not opened.")
    assert says in window.bar.text.lower()
    assert "\n" not in window.bar.text
    assert "Traceback" not in window.bar.text
    assert window.document.plant == plant
    window.bar.buttons[-1].click()
    assert not window.bar.isVisible()


def test_closing_with_unsaved_changes_asks_in_the_window(pencil: Pencil, tmp_path: Path) -> None:
    window = pencil.window
    pencil.place("boiler", (500, 400))
    assert window.isWindowModified()
    assert window.top.title.text().endswith("*")
    assert not window.close()
    assert window.isVisible()
    assert "not saved" in window.bar.text
    assert [button.text() for button in window.bar.buttons] == ["Save", "Discard changes", "Keep working"]
    window.bar.buttons[-1].click()
    assert window.isVisible()
    window.close()
    window.bar.buttons[1].click()
    assert not window.isVisible()


def test_save_from_the_question_saves_and_closes(pencil: Pencil, tmp_path: Path) -> None:
    window = pencil.window
    pencil.place("boiler", (500, 400))
    file = tmp_path / "höhe 1.plant.json"
    window.close()
    window.bar.buttons[0].click()
    assert window.isVisible(), "where to is not known yet"
    name_file(window, file)
    assert not window.isVisible()
    assert "B-1" in load(file).items


def test_a_save_that_fails_says_so_and_keeps_the_changes(pencil: Pencil, tmp_path: Path) -> None:
    window = pencil.window
    pencil.place("boiler", (500, 400))
    assert not window.files.save_to(tmp_path / "no such folder" / "a.plant.json")
    assert window.bar.text.startswith("Not saved.")
    assert not window.document.clean


def test_what_another_window_saved_meanwhile_is_not_written_over_unasked(
    pencil: Pencil, tmp_path: Path
) -> None:
    window = pencil.window
    pencil.place("boiler", (500, 400))
    file = tmp_path / "mine.plant.json"
    assert window.files.save_to(file)
    pencil.place("circulator", (700, 400))
    assert window.files.save(), "what this window wrote itself is no stranger's"
    theirs = FILE.read_bytes()
    file.write_bytes(theirs)
    pencil.place("radiator", (500, 600))
    assert not window.files.save()
    assert "mine.plant.json was written by another program or window" in window.bar.text
    assert file.read_bytes() == theirs
    assert not window.document.clean
    assert [button.text() for button in window.bar.buttons] == ["Save as…", "Write over it", "Keep working"]
    window.bar.buttons[1].click()
    assert "RA-1" in load(file).items
    assert window.document.clean
    (tmp_path / "other.plant.json").write_bytes(theirs)
    window.files.save_as()
    name_file(window, tmp_path / "other")
    assert "other.plant.json is there already" in window.bar.text
    assert (tmp_path / "other.plant.json").read_bytes() == theirs


def test_new_asks_first_and_then_gives_an_empty_board(pencil: Pencil) -> None:
    window = pencil.window
    pencil.place("boiler", (500, 400))
    window.actions_["new"].trigger()
    assert window.document.plant.items
    window.bar.buttons[1].click()
    assert not window.document.plant.items
    assert window.start.isVisible()
    assert window.document.clean


def test_every_widget_that_takes_the_keyboard_has_a_name(
    make_window: Callable[..., Window], qtbot: QtBot
) -> None:
    window = make_window(FILE, solve=noted)
    qtbot.waitUntil(lambda: window.notes.list.count() == 3, timeout=20000)
    window.bar.show_message("A question", [("Yes", lambda: None)])
    for chosen in ([], ["P-1"], [next(iter(window.document.plant.pipes))]):
        window.document.select(chosen)
        QApplication.processEvents()
        nameless = [widget for widget in field_widgets(window) if not named(widget)]
        assert nameless == []


def named(widget: QWidget) -> bool:
    """Its own name, or the text it shows. A scroll area's viewport stands for the area."""
    if widget.accessibleName() or getattr(widget, "text", lambda: "")():
        return True
    parent = widget.parent()
    return isinstance(parent, QAbstractScrollArea) and bool(parent.accessibleName())


def test_the_keyboard_can_reach_every_pane_and_tab_never_gets_stuck(pencil: Pencil) -> None:
    window = pencil.window
    pencil.place("boiler", (400, 400))
    pencil.place("circulator", (600, 400))
    window.document.select(())
    window.board.view.setFocus()
    pencil.key(Qt.Key.Key_Tab)
    assert window.document.selection == {"B-1"}
    pencil.key(Qt.Key.Key_Tab)
    assert window.document.selection == {"P-1"}
    pencil.key(Qt.Key.Key_Tab)
    assert window.document.selection == frozenset()
    assert not window.board.view.hasFocus()
    seen = set()
    for _ in range(8):
        window.actions_["next_pane"].trigger()
        seen.add(window.focusWidget())
    assert {window.shelf.search, window.board.view} <= seen
    assert len(seen) >= 4


def test_drawing_by_keys_alone(pencil: Pencil) -> None:
    window, view = pencil.window, pencil.window.board.view
    view.setFocus()
    for words in ("boiler", "circ", "floor"):
        pencil.key("i")
        QTest.keyClicks(window.quick.field, words)
        QTest.keyClick(window.quick.field, Qt.Key.Key_Return)
        pencil.key(Qt.Key.Key_Return)
    plant = window.document.plant
    assert list(plant.items) == ["B-1", "P-1", "FC-1"]
    assert len({item.at for item in plant.items.values()}) == 3
    x, y = plant.items["FC-1"].at
    pencil.key(Qt.Key.Key_Right, Qt.Key.Key_Down, Qt.Key.Key_Down)
    assert window.document.plant.items["FC-1"].at == (x + 10, y + 20)
    assert window.document.stack.count() == 4
    window.document.select(["B-1"])
    pencil.key("p")
    pencil.key(Qt.Key.Key_Tab)
    pencil.key(Qt.Key.Key_Return)
    (pipe,) = window.document.plant.pipes.values()
    assert pipe.start.item == "B-1"
    assert pipe.end.item in ("P-1", "FC-1")
    pencil.key(Qt.Key.Key_Delete)
    assert not window.document.plant.pipes


def test_letters_typed_into_a_field_do_nothing_on_the_board(pencil: Pencil) -> None:
    window = pencil.window
    pencil.place("circulator", (600, 400))
    field = window.particulars.field("label")
    field.editor.setFocus()
    QTest.keyClicks(field.editor, "rmpif")
    assert window.document.plant.items["P-1"].turn == 0
    assert field.editor.text_now() == "rmpif"
    assert window.hand.gesture is None


@pytest.mark.qt_log_ignore("does not support raise", "does not support grabbing the keyboard")
def test_find_goes_to_a_tag(pencil: Pencil) -> None:
    window = pencil.window
    pencil.place("boiler", (400, 400))
    pencil.place("radiator", (800, 500))
    window.board.view.centerOn(-5000, -5000)
    window.actions_["find"].trigger()
    QTest.keyClicks(window.top.finder, "ra-1")
    QTest.keyClick(window.top.finder, Qt.Key.Key_Return)
    assert window.document.selection == {"RA-1"}
    assert window.board.shown_box().contains(800, 500)
    assert window.board.view.hasFocus()


def test_notes_have_the_same_numbers_in_list_and_on_the_board(
    make_window: Callable[..., Window], qtbot: QtBot
) -> None:
    window = make_window(FILE, solve=noted)
    qtbot.waitUntil(lambda: window.notes.list.count() == 3, timeout=20000)
    assert window.notes.texts() == [("P-1", "one"), ("B-1", "two"), ("P-1", "three")]
    markers = window.board.scene.picture.markers
    assert {name: placed.rows[0].text for name, placed in markers.items()} == {"P-1": "1", "B-1": "2"}
    rows = window.notes.list
    QTest.mouseClick(
        rows.viewport(), Qt.MouseButton.LeftButton, pos=rows.visualItemRect(rows.item(1)).center()
    )
    assert window.document.selection == {"B-1"}


def test_the_latest_edit_wins(qtbot: QtBot) -> None:
    """An answer to an older plant is never shown, however late it comes."""
    began, go = threading.Event(), threading.Event()
    asked: list[int] = []

    def slow(plant: Plant, case: Case) -> Solution:
        asked.append(len(plant.items))
        if len(plant.items) == 1:
            began.set()
            assert go.wait(20)
        return still_water(plant, case)

    background = Background()
    document = Document()
    live = LiveSolve(document, background, slow)
    seen: list[tuple[int, bool]] = []
    live.changed.connect(lambda: seen.append((document.revision, live.waiting)))
    for kind in ("boiler", "circulator", "radiator"):
        document.do(f"Insert {kind}", inserted(document.plant, kind, (0, 0)))
        if kind == "boiler":
            assert began.wait(20)
    with qtbot.waitSignal(background.idle, timeout=20000):
        go.set()
    assert asked == [1, 3]
    assert not live.waiting
    assert seen[-1] == (3, False)
    assert all(waiting for _, waiting in seen[:-1])
    background.stop()


def test_other_units_show_at_once_and_are_no_change(make_window: Callable[..., Window], qtbot: QtBot) -> None:
    window = make_window(FILE)
    qtbot.waitUntil(lambda: not window.live.waiting, timeout=60000)

    def words() -> str:
        return " ".join(r.text for p in window.board.scene.picture.labels.values() for r in p.rows)

    assert "gpm" in words()
    window.actions_["si"].trigger()
    assert "gpm" not in words()
    assert "L/s" in words()
    assert window.document.clean
    assert not window.document.stack.canUndo()
    assert not window.isWindowModified()
    window.actions_["us"].trigger()
    assert "gpm" in words()
    window.actions_["show_flow"].trigger()
    assert "gpm" not in words()
    assert "°F" in words()


def test_light_and_dark_change_every_surface(make_window: Callable[..., Window]) -> None:
    window = make_window(FILE, solve=still_water)
    for look, palette in (("dark", DARK), ("light", LIGHT)):
        window.actions_[f"look_{look}"].trigger()
        QApplication.processEvents()
        picture = window.grab().toImage()
        board = window.board.view.viewport().mapTo(window, QPoint(3, 3))
        assert QColor(picture.pixel(board)) == palette.board
        beside = window.particulars.mapTo(window, QPoint(2, window.particulars.height() - 3))
        assert QColor(picture.pixel(beside)) == palette.panel
        assert window.settings.get("look") == look


def test_the_start_page_offers_samples_and_an_empty_board(
    make_window: Callable[..., Window], qtbot: QtBot
) -> None:
    window = make_window(solve=still_water)
    window.start.offer([FILE])
    assert window.start.isVisible()
    buttons = window.start.buttons()
    assert [button.text() for button in buttons.values()] == ["Empty board", "Potting shed"]
    buttons[str(FILE)].click()
    qtbot.waitUntil(lambda: bool(window.document.plant.items), timeout=20000)
    assert not window.start.isVisible()
    assert window.document.file is None, "a starting point must not be saved over"


def test_print_from_the_window(make_window: Callable[..., Window], qtbot: QtBot, tmp_path: Path) -> None:
    window = make_window(FILE)
    qtbot.waitUntil(lambda: not window.live.waiting, timeout=60000)
    printing.to_file(window, tmp_path / "sheet.pdf")
    assert (tmp_path / "sheet.pdf").read_bytes().startswith(b"%PDF")
    printing.to_file(window, tmp_path / "sheet.docx")
    assert window.bar.text.startswith("Not printed.")


def test_printing_says_that_a_drawing_is_cut_and_which_sheet_holds_it(
    make_window: Callable[..., Window], tmp_path: Path
) -> None:
    window = make_window(FILE.with_name("kennel_clinic.plant.json"), solve=still_water)
    printing.to_file(window, tmp_path / "sheet.pdf")
    assert "Cut over 4 sheets" in window._hint.text()
    assert "One ARCH C sheet holds it" in window._hint.text()


def test_the_overview_paints_far_out(make_window: Callable[..., Window]) -> None:
    window = make_window(FILE, solve=still_water)
    window.board.view.set_zoom(0.2)
    window.document.select(["P-1"])
    QApplication.processEvents()
    picture = window.board.view.viewport().grab().toImage()
    colours = {
        picture.pixel(x, y) for x in range(0, picture.width(), 2) for y in range(0, picture.height(), 2)
    }
    assert len(colours) > 10


def test_what_is_still_being_typed_is_saved_and_not_lost_at_closing(pencil: Pencil, tmp_path: Path) -> None:
    window, file = pencil.window, tmp_path / "mine.plant.json"
    pencil.place("fill_valve", (500, 400))
    assert window.files.save_to(file)
    editor = window.particulars.field("set_pressure").editor
    editor.setFocus()
    QTest.keyClicks(editor, "14 psi")
    QTest.keyClick(editor, Qt.Key.Key_S, CTRL)
    assert load(file).items["FV-1"].props["set_pressure"] == "14 psi"
    assert window.document.clean
    editor = window.particulars.field("set_pressure").editor
    editor.setFocus()
    editor.selectAll()
    QTest.keyClicks(editor, "16 psi")
    assert not window.close()
    assert window.document.plant.items["FV-1"].props["set_pressure"] == "16 psi"


def test_the_find_box_knows_kinds_and_says_when_there_is_nothing(pencil: Pencil) -> None:
    finder = pencil.window.top.finder
    pencil.place("circulator", (400, 400))
    label = pencil.window.particulars.field("label").editor
    label.setFocus()
    QTest.keyClicks(label, "Radiator pump")
    QTest.keyClick(label, Qt.Key.Key_Return)
    pencil.place("radiator", (600, 400))
    pencil.window.document.select(())
    finder.setText("Radiator")
    QTest.keyClick(finder, Qt.Key.Key_Return)
    assert pencil.window.document.selection == {"RA-1"}
    finder.setText("zz-9")
    QTest.keyClick(finder, Qt.Key.Key_Return)
    assert pencil.window._hint.text() == "No tag, note, command or help like zz-9"
    assert "Ctrl+F" in finder.toolTip()


def test_every_menu_opens_with_a_letter_of_its_own(make_window: Callable[..., Window]) -> None:
    titles = [action.text() for action in make_window().top.bar.actions()]
    letters = [title.partition("&")[2][:1].lower() for title in titles]
    assert all(letters)
    assert len(set(letters)) == len(letters)


def test_every_action_has_words_a_hint_and_a_method() -> None:
    ids = [spec.id for spec in actions.TABLE]
    assert len(ids) == len(set(ids))
    keys = [key for spec in actions.TABLE for key in spec.keys]
    assert len(keys) == len(set(keys))
    for spec in actions.TABLE:
        assert spec.words
        assert spec.hint
        assert spec.menu in actions.MENUS
        pane = spec.id.removeprefix("pane_")
        assert pane in {row.key for row in panes.TABLE} or callable(getattr(Commands, spec.id))
    assert ("P", "Pull a pipe: from a port of the selected item.") in key_rows()
    assert len(key_rows()) >= sum(bool(spec.keys) for spec in actions.TABLE)


def test_marks_of_selection_leave_all_texts_free(make_window: Callable[..., Window], qtbot: QtBot) -> None:
    window = make_window(FILE)
    qtbot.waitUntil(lambda: not window.live.waiting, timeout=60000)
    view, scene = window.board.view, window.board.scene
    view.set_zoom(1.0)
    scene.relabel()

    def texts() -> dict[str, object]:
        QApplication.processEvents()
        picture = view.viewport().grab().toImage()
        out: dict[str, object] = {}
        for placed in scene.picture.written:
            box = placed.box
            corner = view.mapFromScene(box.x0, box.y0)
            area = picture.copy(corner.x() + 1, corner.y() + 1, int(box.width) - 2, int(box.height) - 2)
            out[placed.key] = area
        return out

    window.document.select(())
    before = texts()
    for name, item in window.document.plant.items.items():
        if item.kind != "joint":
            window.document.select([name])
            assert [key for key, picture in texts().items() if picture != before[key]] == []


def test_no_note_is_cut_through(make_window: Callable[..., Window], qtbot: QtBot) -> None:
    def many(plant: Plant, case: Case) -> Solution:
        plain = still_water(plant, case)
        notes = tuple(Note("P-1", f"note {i} " + "word " * (3 * i)) for i in range(12))
        return Solution(case.name, {}, True, 1, 0.0, plain.pipes, {}, notes)

    window = make_window(FILE, solve=many, size=(1100, 700))
    rows = window.notes.list
    qtbot.waitUntil(lambda: rows.count() == 12, timeout=20000)
    for high in (84, 100, 117, 150, 260):
        window.frame.down.setSizes([700 - high, high])
        QApplication.processEvents()
        window.notes._fit_rows()
        seen = [rows.visualItemRect(rows.item(i)) for i in range(rows.count())]
        low = rows.viewport().height()
        # Letters begin four pixels below the top of their row.
        assert all(rect.bottom() <= low or rect.top() >= low - 4 for rect in seen), f"at {high}"
        assert any(rect.bottom() <= low for rect in seen)


@pytest.mark.parametrize("size", [(1600, 1000), (1100, 700)])
def test_the_particulars_are_never_wider_than_their_panel(
    make_window: Callable[..., Window], qtbot: QtBot, size: tuple[int, int]
) -> None:
    window = make_window(FILE, solve=still_water, size=size)
    window.document.replace(empty_plant(), None)
    chosen: list[list[str]] = [[]]
    for kind in ("circulator", "tank", "exchanger", "relief_valve", "floor_circuit"):
        changes = inserted(window.document.plant, kind, (300, 300))
        window.document.do(f"Insert {kind}", changes)
    chosen += [[name] for name in window.document.plant.items]
    for names in chosen:
        window.document.select(names)
        QApplication.processEvents()
        scroll = window.particulars._scroll
        assert scroll.widget().width() <= scroll.viewport().width(), names
