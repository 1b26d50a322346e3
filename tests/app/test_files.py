"""Plants on the disk as the window sees them: journal, locks, other writers, versions, several windows."""

from __future__ import annotations

import dataclasses
import json
import os
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import QEvent
from PySide6.QtWidgets import QApplication, QPushButton
from pytestqt.qtbot import QtBot

from app.pens import LIGHT
from app.settings import Settings
from app.widgets import theme
from app.window.main_window import Window
from app.window.windows import Windows
from core.files import journal, lock, migrate
from core.files.holder import myself
from core.files.places import stamp_of
from core.files.read import load
from core.plant import edits
from core.plant.changes import AddItem, SetPlant
from core.plant.model import Item
from tests.app.pencil import name_file, still_water
from tests.core.files.test_journal import orphaned
from tests.support.small_plant import small

SHED = Path(__file__).parents[2] / "sample_plants" / "potting_shed.plant.json"
Open = Callable[..., Window]


@pytest.fixture
def state(tmp_path: Path) -> Path:
    return tmp_path / "state"


@pytest.fixture
def file(tmp_path: Path) -> Path:
    place = tmp_path / "plants" / "shed.plant.json"
    place.parent.mkdir()
    shutil.copy(SHED, place)
    return place


@pytest.fixture
def windows(qapp: QApplication, state: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Windows]:
    theme.put_on(qapp, LIGHT)
    monkeypatch.setattr("app.window.samples.sample_files", list)
    made = Windows(Settings(None, state), still_water)
    yield made
    for window in made.all:
        window._leaving = True
        window.close()
    made.deleteLater()
    QApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)


@pytest.fixture
def show(windows: Windows, qtbot: QtBot) -> Open:
    """One more window, with a file if one is named, once it stands."""

    def open_one(file: Path | None = None) -> Window:
        window = windows.open(file)
        qtbot.waitExposed(window)
        qtbot.waitUntil(lambda: window._painted and window.document.file == file, timeout=20000)
        qtbot.waitUntil(lambda: not window.files.opening, timeout=20000)
        return window

    return open_one


def joint(window: Window, name: str = "J-77") -> None:
    window.document.do("Add a joint", [AddItem(Item(name, "joint", (900.0, 900.0)))])


def written(window: Window, qtbot: QtBot) -> Path:
    """The journal, once it holds everything."""
    qtbot.waitUntil(
        lambda: window.files.journal.place is not None and not window.files.journal.busy, timeout=5000
    )
    place = window.files.journal.place
    assert place is not None
    return place


def button(window: Window, words: str) -> QPushButton:
    return next(one for one in window.bar.buttons if one.text() == words)


def words(window: Window) -> list[str]:
    return [one.text() for one in window.bar.buttons]


# ---- journal ---------------------------------------------------------------------------


def test_changes_are_on_the_disk_at_once_and_gone_when_saved(show: Open, file: Path, qtbot: QtBot) -> None:
    window = show(file)
    assert sorted(file.parent.iterdir()) == [file.with_name(f".{file.name}.lock"), file]
    joint(window)
    place = written(window, qtbot)
    assert place == file.with_name(f".{file.name}.journal")
    copy = place.with_name("copy.journal")
    shutil.copy(place, copy)
    orphaned(copy)
    found = journal.recover(copy)
    assert found is not None
    assert found.plant == window.document.plant
    assert window.files.save()
    qtbot.waitUntil(lambda: not place.exists(), timeout=5000)


def test_undoing_all_leaves_no_journal_and_the_next_change_a_new_one(
    show: Open, file: Path, qtbot: QtBot
) -> None:
    window = show(file)
    joint(window)
    place = written(window, qtbot)
    window.document.stack.undo()
    qtbot.waitUntil(lambda: not place.exists(), timeout=5000)
    joint(window, "J-78")
    assert "J-78" in written(window, qtbot).read_text(encoding="utf-8")


def test_discarded_changes_leave_no_journal(show: Open, file: Path, qtbot: QtBot) -> None:
    window = show(file)
    joint(window)
    place = written(window, qtbot)
    window.close()
    button(window, "Discard changes").click()
    assert not place.exists()
    assert list(file.parent.iterdir()) == [file]


def left_work(file: Path | None, state: Path) -> Path:
    """A journal that a killed program left."""
    plant = load(file) if file is not None else load(SHED)
    stamp = stamp_of(file) if file is not None else None
    writer = journal.Writer(file, stamp, plant, state)
    writer.note(edits_done := apply_joint(plant))
    writer.close()
    assert edits_done != plant
    assert writer.place is not None
    orphaned(writer.place)
    return writer.place


def apply_joint(plant):
    from core.plant.changes import apply

    return apply(plant, [AddItem(Item("J-77", "joint", (900.0, 900.0)))])


def test_left_work_is_offered_with_its_file_and_recovered(
    show: Open, file: Path, state: Path, qtbot: QtBot
) -> None:
    place = left_work(file, state)
    window = show(file)
    assert "shed.plant.json: 1 change up to" in window.bar.text
    assert words(window) == ["Recover", "Discard", "Leave"]
    assert not window.bar.isAncestorOf(window.focusWidget()), "who types must not press it by a blank"
    button(window, "Recover").click()
    assert "J-77" in window.document.plant.items
    assert not window.document.clean
    assert window.document.file == file
    qtbot.waitUntil(
        lambda: window.files.journal.place == file.with_name(f".{file.name}-2.journal"), timeout=5000
    )
    qtbot.waitUntil(lambda: not place.exists(), timeout=5000)
    assert window.files.save()
    assert "J-77" in load(file).items


def test_left_work_that_is_left_stays_and_is_thrown_away_when_asked(
    show: Open, file: Path, state: Path
) -> None:
    place = left_work(file, state)
    window = show(file)
    button(window, "Leave").click()
    assert window.bar.text == ""
    assert place.exists()
    window.close()
    window = show(file)
    button(window, "Discard").click()
    assert not place.exists()
    assert "J-77" not in window.document.plant.items


def test_what_was_typed_and_not_taken_is_in_the_journal_and_recovered(
    show: Open, file: Path, qtbot: QtBot
) -> None:
    window = show(file)
    window.show()
    panel = window.particulars
    panel.begin()
    boiler = next(item.id for item in window.document.plant.items.values() if item.kind == "boiler")
    window.document.select([boiler])
    field = panel.field("set_temperature")
    field.editor.setFocus()
    field.editor.put("20 psi")
    field.commit()
    assert field.error
    assert window.document.clean
    place = written(window, qtbot)
    copy = place.with_name("copy.journal")
    shutil.copy(place, copy)
    window.close()
    button(window, "Leave it out").click()
    assert not place.exists()
    shutil.move(copy, place)
    orphaned(place)
    window = show(file)
    window.show()
    assert "1 typed text not taken" in window.bar.text
    button(window, "Recover").click()
    assert window.document.clean
    window.document.select([boiler])
    field = window.particulars.field("set_temperature")
    assert (field.editor.text_now(), bool(field.error)) == ("20 psi", True)
    again = written(window, qtbot)
    assert "20 psi" in again.read_text(encoding="utf-8")
    field.editor.put("140")
    field.commit()
    assert window.files.save()
    qtbot.waitUntil(lambda: not again.exists(), timeout=5000)


def test_work_recovered_over_a_file_written_since_is_not_saved_unasked(
    show: Open, file: Path, state: Path
) -> None:
    left_work(file, state)
    theirs = file.read_bytes() + b"\n"
    file.write_bytes(theirs)
    window = show(file)
    assert "has been written since" in window.bar.text
    button(window, "Recover").click()
    assert not window.files.save()
    assert "was written by another program" in window.bar.text
    assert file.read_bytes() == theirs


def test_a_plant_never_saved_is_offered_at_the_next_start(
    windows: Windows, state: Path, file: Path, qtbot: QtBot
) -> None:
    untitled = left_work(None, state)
    left_work(file, state)
    windows._settings.set("recent", [str(file)])
    window = windows.open(then=windows.offer_left_work)
    qtbot.waitUntil(lambda: "Recover" in words(window), timeout=20000)
    asked = []
    for _ in range(2):
        asked.append(window.bar.text)
        button(window, "Recover" if "never saved" in window.bar.text else "Leave").click()
    assert sum("A plant that was never saved" in text for text in asked) == 1
    assert sum("shed.plant.json" in text for text in asked) == 1
    assert "J-77" in window.document.plant.items
    assert window.document.file is None
    assert not window.document.clean
    qtbot.waitUntil(lambda: not untitled.exists(), timeout=5000)


def test_recovery_beside_other_work_opens_a_window_of_its_own(
    windows: Windows, show: Open, state: Path, file: Path, qtbot: QtBot
) -> None:
    left_work(None, state)
    first = show(file)
    joint(first, "J-55")
    windows.offer_left_work(first)
    qtbot.waitUntil(lambda: "Recover" in words(first), timeout=20000)
    button(first, "Recover").click()
    qtbot.waitUntil(
        lambda: len(windows.all) == 2 and bool(windows.all[1].document.plant.items), timeout=20000
    )
    assert "J-77" in windows.all[1].document.plant.items
    assert "J-55" in first.document.plant.items


# ---- who has the file -------------------------------------------------------------------


def test_a_file_open_elsewhere_is_shown_to_read(show: Open, file: Path, state: Path, tmp_path: Path) -> None:
    far = dataclasses.replace(myself(), host="boiler-house", user="anna", pid=4711)
    theirs = file.with_name(f".{file.name}.lock")
    theirs.write_text(json.dumps(far.data()), encoding="utf-8")
    window = show(file)
    assert "open by anna on boiler-house (process 4711) since" in window.bar.text
    assert window.document.plant.items
    assert not window.board.commit("Add", [AddItem(Item("J-77", "joint", (0.0, 0.0)))])
    assert "open to read" in window.bar.text
    assert not window.files.save()
    assert file.read_bytes() == SHED.read_bytes()
    mine = tmp_path / "mine.plant.json"
    assert window.files.save_to(mine)
    assert window.board.commit("Add", [AddItem(Item("J-77", "joint", (900.0, 900.0)))])
    assert window.files.save()
    assert "J-77" in load(mine).items
    assert file.read_bytes() == SHED.read_bytes()
    assert json.loads(theirs.read_text(encoding="utf-8")) == far.data()


def test_a_lock_of_another_machine_can_be_taken_over(
    show: Open, file: Path, state: Path, qtbot: QtBot
) -> None:
    far = dataclasses.replace(myself(), host="boiler-house", pid=4711)
    file.with_name(f".{file.name}.lock").write_text(json.dumps(far.data()), encoding="utf-8")
    window = show(file)
    button(window, "Take it over").click()
    qtbot.waitUntil(lambda: not window.document.sealed and not window.files.opening, timeout=20000)
    joint(window)
    assert window.files.save()


def test_try_again_opens_to_write_once_the_other_is_gone(
    show: Open, file: Path, state: Path, qtbot: QtBot
) -> None:
    held = lock.take(file, state)
    assert isinstance(held, lock.Lock)
    window = show(file)
    assert "in another window of this program" in window.bar.text
    held.release()
    button(window, "Try again").click()
    qtbot.waitUntil(lambda: not window.document.sealed and not window.files.opening, timeout=20000)


def test_a_file_that_a_window_has_is_shown_there(
    windows: Windows, show: Open, file: Path, qtbot: QtBot
) -> None:
    first, second = show(file), show()
    second.files.open(file)
    assert not second.files.opening
    assert second.document.file is None
    qtbot.waitUntil(lambda: "is open here" in first._hint.text(), timeout=5000)
    assert first.files.save(), "its own lock is no stranger's"


def test_a_file_somebody_has_is_not_written_over_by_save_as(show: Open, file: Path, state: Path) -> None:
    held = lock.take(file, state)
    assert isinstance(held, lock.Lock)
    window = show()
    joint(window)
    window.actions_["save_as"].trigger()
    name_file(window, file)
    assert "there already" in window.bar.text
    button(window, "Write over it").click()
    assert "it is open in another window" in window.bar.text
    assert file.read_bytes() == SHED.read_bytes()


# ---- other writers ------------------------------------------------------------------------


def test_a_change_on_the_disk_is_told_and_reloaded(show: Open, file: Path, qtbot: QtBot) -> None:
    window = show(file)
    os.utime(file)
    window.files.disk.look()
    assert window.bar.text == "", "the same content again is no change"
    data = json.loads(SHED.read_text(encoding="utf-8"))
    file.write_text(json.dumps({**data, "title": "Theirs"}), encoding="utf-8")
    window.files.disk.look()
    assert "was written by another program at" in window.bar.text
    assert words(window) == ["Reload", "Keep mine", "Decide later"]
    button(window, "Reload").click()
    qtbot.waitUntil(lambda: window.document.plant.title == "Theirs", timeout=20000)
    window.files.disk.look()
    assert window.bar.text == ""


def test_keep_mine_lets_the_next_save_write_over(show: Open, file: Path) -> None:
    window = show(file)
    joint(window)
    file.write_bytes(file.read_bytes() + b"\n")
    window.files.disk.look()
    assert "Reloading loses the changes made here" in window.bar.text
    button(window, "Keep mine").click()
    assert not window.document.clean
    assert window.files.save()
    assert "J-77" in load(file).items


def test_a_file_that_is_gone_is_told_and_can_be_saved_again(show: Open, file: Path) -> None:
    window = show(file)
    file.unlink()
    window.files.disk.look()
    assert "is gone from its folder" in window.bar.text
    assert not window.document.clean
    assert window.files.save()
    assert load(file) == load(SHED)


# ---- versions --------------------------------------------------------------------------


def test_a_newer_file_is_open_to_read_and_saved_under_another_name_only(
    show: Open, file: Path, tmp_path: Path
) -> None:
    data = {**small(), "version": 3, "weather": {"mild": True}}
    file.write_text(json.dumps(data), encoding="utf-8")
    before = file.read_bytes()
    window = show(file)
    assert "newer program (version 3)" in window.bar.text
    assert "weather" in window.bar.text
    assert not window.board.commit("Add", [SetPlant({"title": "Mine"})])
    assert not window.files.save()
    assert not window.files.save_to(file, over=stamp_of(file))
    mine = tmp_path / "mine.plant.json"
    assert window.files.save_to(mine)
    assert "1 of its parts is not in it" in window.bar.text
    assert window.board.commit("Title", [SetPlant({"title": "Mine"})])
    assert window.files.save()
    assert load(mine).title == "Mine"
    assert file.read_bytes() == before


def test_the_first_save_of_an_older_file_keeps_the_old_one(
    show: Open, file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(migrate.STEPS, 0, lambda data: (data, ["Lengths are read as before."]))
    old = json.dumps({**small(), "version": 0})
    file.write_text(old, encoding="utf-8")
    window = show(file)
    kept = file.with_name("shed.plant.json.v0.bak")
    assert "is of an older version (0). Lengths are read as before." in window.bar.text
    assert kept.name in window.bar.text
    assert not kept.exists()
    button(window, "Close").click()
    joint(window)
    assert window.files.save()
    assert f"kept as {kept.name}" in window.bar.text
    assert kept.read_text(encoding="utf-8") == old
    assert load(file).version == 2
    joint(window, "J-78")
    assert window.files.save()
    assert [path.name for path in file.parent.glob("*.bak")] == [kept.name]


# ---- copies, names, words --------------------------------------------------------------------


def test_a_copy_leaves_the_plant_with_its_own_file(show: Open, file: Path, tmp_path: Path) -> None:
    window = show(file)
    joint(window)
    copy = tmp_path / "copy.plant.json"
    assert window.files.copy_to(copy)
    assert "J-77" in load(copy).items
    assert window.document.file == file
    assert not window.document.clean
    assert not window.files.copy_to(file)
    assert "own file" in window.bar.text
    assert not window.files.copy_to(copy)
    assert "copy.plant.json is there already" in window.bar.text


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (
            b"%PDF-1.7 ...",
            "shed.plant.json: found a PDF; expected UTF-8 JSON, a plant file. This is not a plant file",
        ),
        (b"hello", "This is not a plant file"),
    ],
)
def test_what_is_no_plant_is_said_so(show: Open, file: Path, content: bytes, said: str, qtbot: QtBot) -> None:
    window = show()
    file.write_bytes(content)
    window.files.open(file)
    qtbot.waitUntil(lambda: not window.files.opening, timeout=20000)
    assert said in window.bar.text
    assert str(file.parent) not in window.bar.text


def test_a_wrong_value_is_named_with_its_tag(show: Open, file: Path, qtbot: QtBot) -> None:
    data = small()
    data["items"][1]["props"]["speed"] = "fast"
    file.write_text(json.dumps(data), encoding="utf-8")
    window = show()
    window.files.open(file)
    qtbot.waitUntil(lambda: not window.files.opening, timeout=20000)
    assert "items[1].props.speed (P-1)" in window.bar.text


def test_a_folder_that_is_not_there_is_said_plainly(show: Open, tmp_path: Path) -> None:
    window = show()
    joint(window)
    assert not window.files.save_to(tmp_path / "none" / "x.plant.json")
    assert "x.plant.json: it cannot be written there: there is no folder" in window.bar.text


def test_recent_files_that_are_gone_are_shown_so(
    windows: Windows, show: Open, file: Path, tmp_path: Path
) -> None:
    windows._settings.set("recent", [str(file), str(tmp_path / "gone.plant.json")])
    window = show()
    window.commands.fill_recent()
    recent = [action for action in window.top.menus["Plant"].actions() if action.property("recent")]
    assert [(one.text(), one.isEnabled()) for one in recent] == [
        ("&1  shed.plant.json", True),
        ("&2  gone.plant.json (not there)", False),
        ("", True),
    ]
    assert window.top.menus["Plant"].actions()[0] is recent[0], "first in the menu"


# ---- several windows --------------------------------------------------------------------------


def test_windows_have_their_own_plant_undo_and_menus(windows: Windows, show: Open, file: Path) -> None:
    first, second = show(file), show()
    joint(second, "J-99")
    assert "J-99" not in first.document.plant.items
    assert not first.actions_["undo"].isEnabled()
    second.actions_["undo"].trigger()
    assert not second.document.plant.items
    first.document.do("Delete", edits.delete(first.document.plant, list(first.document.plant.items)[:1]))
    assert first.actions_["undo"].isEnabled()
    assert not second.actions_["undo"].isEnabled()
    first.actions_["undo"].trigger()
    second.close()
    assert windows.all == [first]
    assert first.isVisible()
    joint(first)


def test_new_window_and_open_beside_are_actions(
    windows: Windows, show: Open, file: Path, qtbot: QtBot
) -> None:
    first = show()
    joint(first)
    first.actions_["new_window"].trigger()
    assert len(windows.all) == 2
    first.activateWindow()
    first.actions_["open_beside"].trigger()
    name_file(first, file)
    qtbot.waitUntil(lambda: len(windows.all) == 3 and windows.all[2].document.file == file, timeout=20000)
    assert "J-77" in first.document.plant.items
    first.actions_["open_beside"].trigger()
    name_file(first, file)
    assert len(windows.all) == 3, "the window that has it is shown"


def test_quit_asks_in_each_window_with_changes_and_any_may_stay(
    windows: Windows, show: Open, qtbot: QtBot
) -> None:
    clean, one, two = show(), show(), show()
    joint(one)
    joint(two)
    clean.actions_["quit"].trigger()
    assert windows.all == [one, two]
    assert "not saved" in one.bar.text
    assert two.bar.text == "", "one question at a time"
    button(one, "Discard changes").click()
    qtbot.waitUntil(lambda: "not saved" in two.bar.text, timeout=5000)
    button(two, "Keep working").click()
    assert windows.all == [two]
    joint(two, "J-2")
    third = show()
    two.document.stack.undo()
    two._leaving = True
    two.close()
    QApplication.processEvents()
    assert windows.all == [third], "nobody is quitting any more"


def test_light_and_dark_are_chosen_for_all_windows(show: Open) -> None:
    first, second = show(), show()
    first.actions_["look_dark"].trigger()
    assert second.look is first.look
    assert second.actions_["look_dark"].isChecked()
    first.actions_["look_light"].trigger()
