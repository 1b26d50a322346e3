"""Copying, laying down, arranging, staging, texts and assemblies: by real events on a real window."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QPushButton

from app.assemblies import WORD, Assemblies
from app.document import empty_plant
from app.panels.shelf import LAST_USED
from app.settings import Settings
from app.window.main_window import Window
from core.files.clip import from_text
from core.files.read import load
from core.plant import texts
from core.plant.model import PortRef
from core.plant.validity import check
from tests.app.pencil import CTRL, NONE, SHIFT, Pencil, ring, still_water


def all_back(pencil: Pencil) -> None:
    """Undo to the empty plant and redo: the same plant again."""
    document = pencil.window.document
    plant = document.plant
    while document.stack.canUndo():
        document.stack.undo()
    assert document.plant == empty_plant()
    assert not pencil.board.scene.symbols
    assert not pencil.board.scene.texts
    while document.stack.canRedo():
        document.stack.redo()
    assert document.plant == plant


def test_copy_and_paste_lay_down_a_second_ring_with_fresh_tags(pencil: Pencil) -> None:
    ring(pencil)
    pencil.window.document.select(["B-1", "P-1", "FC-1"])
    pencil.key("c", held=CTRL)
    assert set(from_text(QApplication.clipboard().text()).plant.pipes) == {"L-1", "L-2", "L-3"}
    pencil.key("v", held=CTRL)
    pencil.click((520, 640))
    plant = pencil.window.document.plant
    assert set(plant.items) == {"B-1", "P-1", "FC-1", "B-2", "P-2", "FC-2"}
    assert {pipe.start.item for pipe in plant.pipes.values()} == set(plant.items)
    assert pencil.window.document.selection == {"B-2", "P-2", "FC-2", "L-4", "L-5", "L-6"}
    pairs = [(plant.items[f"{tag}-1"].at, plant.items[f"{tag}-2"].at) for tag in ("B", "P", "FC")]
    off = [(new[0] - old[0], new[1] - old[1]) for old, new in pairs]
    assert len(set(off)) == 1
    assert not check(plant)
    all_back(pencil)


def test_cut_and_paste_into_another_window(make_window: Callable[..., Window], pencil: Pencil) -> None:
    ring(pencil)
    pencil.window.document.select(["P-1", "B-1"])
    pencil.key("x", held=CTRL)
    assert set(pencil.window.document.plant.items) == {"FC-1"}
    other = make_window(solve=still_water)
    other.start.hide()
    other.actions_["paste"].trigger()
    assert other.hand.gesture is not None
    QTest.keyClick(other.board.view, Qt.Key.Key_Return)
    assert set(other.document.plant.items) == {"P-1", "B-1"}
    assert set(other.document.plant.pipes) == {"L-1"}
    assert other.document.stack.count() == 1


def test_a_duplicate_is_turned_and_mirrored_in_the_hand(pencil: Pencil) -> None:
    ring(pencil)
    pencil.window.document.select(["P-1", "FC-1"])
    pencil.key("d", held=CTRL)
    pencil.key("r", "m", Qt.Key.Key_Right, Qt.Key.Key_Return)
    plant = pencil.window.document.plant
    assert plant.items["P-2"].turn == 270
    assert plant.items["P-2"].flip
    assert plant.items["P-2"].at[0] == plant.items["FC-2"].at[0] - 20 or plant.items["P-2"].turn == 270
    assert not check(plant)
    pencil.key("d", held=CTRL)
    pencil.key(Qt.Key.Key_Escape)
    assert pencil.window.document.plant is plant


def test_pasting_what_is_nothing_says_so(pencil: Pencil) -> None:
    QApplication.clipboard().setText("hello")
    pencil.key("v", held=CTRL)
    assert pencil.window.document.plant == empty_plant()
    assert "Nothing to paste" in pencil.window.bar.text


def test_connected_system_and_kind_are_selected(pencil: Pencil) -> None:
    ring(pencil)
    pencil.place("shutoff", (300, 620))
    pencil.place("shutoff", (420, 620))
    document = pencil.window.document
    document.select(["P-1"])
    pencil.window.actions_["select_connected"].trigger()
    assert document.selection == {"B-1", "P-1", "FC-1", "L-1", "L-2", "L-3"}
    document.select(["V-1"])
    pencil.window.actions_["select_kind"].trigger()
    assert document.selection == {"V-1", "V-2"}
    document.select(["L-2"])
    pencil.window.actions_["select_system"].trigger()
    assert document.selection == {"B-1", "P-1", "FC-1", "L-1", "L-2", "L-3"}


def test_groups_are_aligned_spread_and_turned_in_one_step(pencil: Pencil) -> None:
    for x, y in ((300, 400), (430, 440), (620, 460)):
        pencil.place("shutoff", (x, y))
    document = pencil.window.document
    document.select(document.plant.items)
    pencil.window.actions_["align_middle"].trigger()
    assert {item.at[1] for item in document.plant.items.values()} == {430}
    pencil.window.actions_["spread_across"].trigger()
    assert [item.at[0] for item in document.plant.items.values()] == [300, 460, 620]
    steps = document.stack.count()
    pencil.key("r")
    assert {item.at[0] for item in document.plant.items.values()} == {460}
    assert [item.at[1] for item in document.plant.items.values()] == [270, 430, 590]
    assert document.stack.count() == steps + 1
    all_back(pencil)


def test_stages_are_set_for_many_and_stand_in_letters(pencil: Pencil) -> None:
    ring(pencil)
    document, scene = pencil.window.document, pencil.board.scene
    assert not any("‹" in row.text for tag in scene.picture.tags.values() for row in tag.rows)
    document.select(["B-1", "P-1", "L-1"])
    pencil.window.actions_["stage_bought"].trigger()
    assert document.stack.undoText().startswith("Stage of 3 things")
    assert {document.plant.items["B-1"].stage, document.plant.pipes["L-1"].stage} == {"bought"}
    scene.relabel()
    tags = {name: tag.rows[0].text for name, tag in scene.picture.tags.items()}
    assert tags == {"B-1": "B-1 ‹B›", "P-1": "P-1 ‹B›", "FC-1": "FC-1 ‹D›"}
    letters = {name: [mark.text for mark in pipe.letters] for name, pipe in scene.picture.pipes.items()}
    assert "‹B›" in letters["L-1"]
    assert "‹D›" in letters["L-2"]
    pencil.window.actions_["stages_shown"].trigger()
    assert not any("‹" in row.text for tag in scene.picture.tags.values() for row in tag.rows)
    all_back(pencil)


def test_a_text_is_written_with_a_leader_moved_rewritten_and_deleted(pencil: Pencil) -> None:
    ring(pencil)
    document, scene = pencil.window.document, pencil.board.scene
    pencil.key(Qt.Key.Key_Escape, "t")
    pencil.drag((500, 380), (560, 260))
    asking = pencil.board.asking
    assert asking.isVisible()
    QTest.keyClicks(asking.field, "Left beside it")
    QTest.keyClick(asking.field, Qt.Key.Key_Return, SHIFT)
    QTest.keyClicks(asking.field, "room for one more")
    QTest.keyClick(asking.field, Qt.Key.Key_Return)
    assert document.plant.texts == (
        {"at": [560.0, 260.0], "text": "Left beside it\nroom for one more", "lead_to": "P-1"},
    )
    assert document.selection == {"text 0"}
    scene.relabel()
    placed = scene.texts["text 0"].placed
    assert [row.text for row in placed.rows] == ["Left beside it", "room for one more"]
    assert placed.leader is not None
    x, y = placed.box.centre
    pencil.drag((x, y), (x + 100, y + 20))
    assert document.plant.texts[0]["at"] == [660.0, 280.0]
    pencil.key(Qt.Key.Key_Up)
    assert document.plant.texts[0]["at"] == [660.0, 270.0]
    pencil.key(Qt.Key.Key_Return)
    asking.field.setPlainText("Gone soon")
    QTest.keyClick(asking.field, Qt.Key.Key_Return)
    assert document.plant.texts[0]["text"] == "Gone soon"
    pencil.key("p", Qt.Key.Key_Tab, Qt.Key.Key_Tab, Qt.Key.Key_Return)
    assert document.plant.texts[0]["lead_to"] in document.plant.items
    pencil.key(Qt.Key.Key_Delete)
    assert document.plant.texts == ()
    assert not scene.texts
    all_back(pencil)


def test_texts_are_copied_and_kept_in_the_file(pencil: Pencil, tmp_path: Path) -> None:
    pencil.place("boiler", (400, 400))
    pencil.key("t", Qt.Key.Key_Return)
    QTest.keyClicks(pencil.board.asking.field, "old one")
    QTest.keyClick(pencil.board.asking.field, Qt.Key.Key_Return)
    document = pencil.window.document
    assert document.plant.texts[0]["lead_to"] == "B-1"
    pencil.key("a", held=CTRL)
    document.select([*document.plant.items, "text 0"])
    pencil.key("d", held=CTRL)
    pencil.key(Qt.Key.Key_Return)
    assert [text["lead_to"] for text in document.plant.texts] == ["B-1", "B-2"]
    assert pencil.window.files.save_to(tmp_path / "two.plant.json")
    assert load(tmp_path / "two.plant.json").texts == document.plant.texts


def test_ours_and_own_assemblies_stand_on_the_shelf_and_are_laid_down(pencil: Pencil, tmp_path: Path) -> None:
    window = pencil.window
    window.assemblies = Assemblies(tmp_path)
    window.commands.show_assemblies()
    rows = window.shelf.list_of("assemblies")
    ours = [rows.item(i).data(256) for i in range(rows.count())]
    assert {f"{WORD}zone", f"{WORD}fill_set", f"{WORD}pump_pair", f"{WORD}mixing_station"} <= set(ours)
    ring(pencil)
    window.document.select(["P-1", "B-1"])
    window.actions_["keep_assembly"].trigger()
    window.board.asking.field.setPlainText("Boiler & pump, mine")
    QTest.keyClick(window.board.asking.field, Qt.Key.Key_Return)
    (file,) = (tmp_path / "assemblies").glob("*.plant.json")
    assert load(file).title == "Boiler & pump, mine"
    assert rows.item(0).text() == "Boiler & pump, mine"
    QTest.mouseClick(
        rows.viewport(), Qt.MouseButton.LeftButton, NONE, rows.visualItemRect(rows.item(0)).center()
    )
    pencil.click((560, 660))
    plant = window.document.plant
    assert {"P-2", "B-2"} <= plant.items.keys()
    assert plant.pipes["L-4"].start == PortRef("B-2", "out")
    (tmp_path / "assemblies" / "spoiled.plant.json").write_text("{", encoding="utf-8")
    window.assemblies.read()
    window.commands.show_assemblies()
    assert "spoiled" in window.bar.text
    assert rows.item(0).text() == "Boiler & pump, mine"
    window.commands.drop_assembly(rows.item(0).data(256))
    window.bar.buttons[0].click()
    assert not file.exists()
    all_back(pencil)


@pytest.mark.parametrize(
    "key", ["zone", "zone_valve", "fill_set", "expansion_set", "mixing_station", "pump_pair"]
)
def test_an_assembly_put_on_a_pipe_goes_into_it(pencil: Pencil, key: str) -> None:
    document = pencil.window.document
    first = pencil.place("shutoff", (200, 500))
    second = pencil.place("shutoff", (1000, 500))
    pencil.drag(pencil.port(first, "b"), pencil.port(second, "a"))
    before = document.plant
    assert pencil.window.commands.lay_assembly(f"{WORD}{key}")
    middle = pencil.window.assemblies.get(f"{WORD}{key}").part.middle
    pencil.move((600, 500))
    pencil.click((600, 500 + middle[1]))
    plant = document.plant
    (out_of,) = plant.pipes_at[PortRef(first, "b")]
    (into,) = plant.pipes_at[PortRef(second, "a")]
    fresh = plant.items.keys() - before.items.keys()
    assert {plant.pipes[out_of].end.item, plant.pipes[into].start.item} <= fresh
    assert out_of != into
    assert not check(plant)
    assert len(document.plant.systems) == 2, "the plant's own systems are taken"
    all_back(pencil)


def test_taking_from_the_shelf_moves_nothing_on_it(pencil: Pencil) -> None:
    shelf = pencil.window.shelf
    places = {name: kinds.pos().y() for name, (_, kinds) in shelf._groups.items() if kinds.isVisible()}
    for kind in ("boiler", "circulator", "tank", "shutoff", "joint", "gauge", "drain"):
        pencil.take(kind)
        pencil.key(Qt.Key.Key_Escape)
        QApplication.processEvents()
        now = {name: kinds.pos().y() for name, (_, kinds) in shelf._groups.items() if kinds.isVisible()}
        assert now == places
    assert shelf.list_of("recently used").count() == LAST_USED


def test_assemblies_need_a_folder_to_be_kept(pencil: Pencil) -> None:
    assert Settings().folder is None
    ring(pencil)
    pencil.window.document.select(["P-1"])
    pencil.window.actions_["keep_assembly"].trigger()
    QTest.keyClicks(pencil.board.asking.field, "mine")
    QTest.keyClick(pencil.board.asking.field, Qt.Key.Key_Return)
    assert "Not kept" in pencil.window.bar.text


def test_many_are_edited_at_once_in_the_particulars(pencil: Pencil) -> None:
    for x in (300, 420, 540):
        pencil.place("shutoff", (x, 400))
    pencil.place("service_valve", (660, 400))
    pencil.place("circulator", (800, 400))
    document, panel = pencil.window.document, pencil.window.particulars
    document.select(["V-1", "V-2"])
    panel.field("cv").editor.put("15")
    panel.field("cv").commit()
    assert {document.plant.items[name].props.get("cv") for name in ("V-1", "V-2")} == {15}
    document.select(["V-1", "V-2", "V-3"])
    assert panel._head._title.text() == "3 selected"
    assert panel._head._remark.text() == "3 shut-off valves"
    field = panel.field("cv")
    assert field.editor.text_now() == "(several)"
    assert panel.field("open").editor.currentText() == "Yes (default)"
    steps = document.stack.count()
    field.editor.setFocus()
    field.editor.selectAll()
    QTest.keyClicks(field.editor, "12")
    QTest.keyClick(field.editor, Qt.Key.Key_Return)
    assert [document.plant.items[name].props["cv"] for name in ("V-1", "V-2", "V-3")] == [12, 12, 12]
    assert document.stack.count() == steps + 1
    assert document.stack.undoText() == "Change flow coefficient cv of 3 things"
    field.editor.put("twelve")
    field.commit()
    assert field.error
    assert document.stack.count() == steps + 1
    document.stack.undo()
    assert panel.field("cv").editor.text_now() == "(several)"
    document.select([name for name in document.plant.items if name != "P-1"])
    assert {"cv", "open", "height"} <= set(panel.keys())
    document.select(document.plant.items)
    shared = panel.keys()
    assert "open" not in shared
    assert "height" in shared
    document.stack.redo()
    all_back(pencil)


def test_pipes_and_items_together_share_their_stage(pencil: Pencil) -> None:
    ring(pencil)
    document, panel = pencil.window.document, pencil.window.particulars
    document.select(["L-1", "L-2", "L-3"])
    panel.field("tube").editor.put("pex 3/4 in")
    panel.field("tube").commit()
    assert {pipe.tube["material"] for pipe in document.plant.pipes.values()} == {"pex"}
    panel.field("insulation.thickness").editor.put("1/2 in")
    panel.field("insulation.thickness").commit()
    assert all(pipe.insulation == {"thickness": "1/2 in"} for pipe in document.plant.pipes.values())
    document.select(["L-1", "P-1"])
    assert set(panel.keys()) <= {"label", "note", "stage"}
    all_back(pencil)


def test_a_text_is_edited_in_the_particulars(pencil: Pencil) -> None:
    pencil.place("boiler", (400, 400))
    pencil.key("t", Qt.Key.Key_Return)
    QTest.keyClicks(pencil.board.asking.field, "one")
    QTest.keyClick(pencil.board.asking.field, Qt.Key.Key_Return)
    document, panel = pencil.window.document, pencil.window.particulars
    assert panel.keys() == ["text", "lead_to"]
    panel.field("lead_to").editor.put("B-9")
    panel.field("lead_to").commit()
    assert "the tag of an item or pipe" in panel.field("lead_to").error
    panel.field("lead_to").editor.put("100, 200")
    panel.field("lead_to").commit()
    assert document.plant.texts[0]["lead_to"] == [100, 200]
    panel.field("text").editor.put("")
    panel.field("text").commit()
    assert document.plant.texts == ()


def test_a_text_over_a_pipe_hides_nothing_from_the_hand(pencil: Pencil) -> None:
    ring(pencil)
    document = pencil.window.document
    hit = pencil.board.scene.middle_of("L-3")
    assert hit is not None
    x, y = hit.place
    document.do("Write", texts.add(document.plant, (x - 20, y - 5), "a text over the pipe"))
    pencil.place("radiator", (x, y + 140))
    pencil.drag(pencil.port("RA-1", "in"), (x, y))
    assert len(document.plant.pipes_at[PortRef("J-1", "at")]) == 3
    all_back(pencil)


def test_an_assembly_is_inserted_by_name(pencil: Pencil) -> None:
    window = pencil.window
    pencil.key("i")
    QTest.keyClicks(window.quick.field, "pump pair")
    QTest.keyClick(window.quick.field, Qt.Key.Key_Return)
    pencil.key(Qt.Key.Key_Return)
    kinds = [item.kind for item in window.document.plant.items.values()]
    assert kinds.count("circulator") == 2
    assert window.document.stack.undoText() == "Lay down Pump pair"


def test_an_empty_board_offers_the_user_s_assemblies(
    make_window: Callable[..., Window], tmp_path: Path
) -> None:
    window = make_window(solve=still_water)
    window.assemblies = Assemblies(tmp_path)
    window.assemblies.read()
    zone = window.assemblies.get(f"{WORD}zone")
    assert zone is not None
    window.assemblies.keep(zone.part, "My zone")
    window.commands.show_assemblies()
    QApplication.processEvents()
    (button,) = [one for one in window.start.findChildren(QPushButton) if one.text() == "My zone"]
    QTest.mouseClick(button, Qt.MouseButton.LeftButton)
    assert window.start.isHidden()
    QTest.keyClick(window.board.view, Qt.Key.Key_Return)
    assert {item.kind for item in window.document.plant.items.values()} >= {"circulator", "check_valve"}
    assert window.document.file is None
