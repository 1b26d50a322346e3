"""Drawing with the mouse on a real window: what the hand does is what the document holds."""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise
from pathlib import Path

from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from app.document import empty_plant
from app.window.main_window import Window
from core.files.read import load
from core.plant.model import PortRef
from core.plant.validity import check
from core.solve import solve_case
from core.vocabulary import GROUPS
from tests.app.pencil import CTRL, NONE, SHIFT, Pencil, ring


def ends(pencil: Pencil) -> set[frozenset[PortRef]]:
    return {frozenset((pipe.start, pipe.end)) for pipe in pencil.window.document.plant.pipes.values()}


def test_a_ring_is_drawn_undone_redone_saved_and_read_again(pencil: Pencil, tmp_path: Path) -> None:
    document = pencil.window.document
    ring(pencil)
    plant = document.plant
    assert [item.kind for item in plant.items.values()] == ["boiler", "circulator", "floor_circuit"]
    assert ends(pencil) == {
        frozenset((PortRef("B-1", "out"), PortRef("P-1", "in"))),
        frozenset((PortRef("P-1", "out"), PortRef("FC-1", "in"))),
        frozenset((PortRef("FC-1", "out"), PortRef("B-1", "in"))),
    }
    assert not check(plant)
    while document.stack.canUndo():
        pencil.window.actions_["undo"].trigger()
    assert document.plant == empty_plant()
    assert not pencil.board.scene.symbols
    assert not pencil.board.scene.pipes
    while document.stack.canRedo():
        pencil.window.actions_["redo"].trigger()
    assert document.plant == plant
    file = tmp_path / "ring with a blank.plant.json"
    assert pencil.window.files.save_to(file)
    assert load(file) == plant
    assert document.clean


def test_pulling_onto_a_pipe_tees_into_it(pencil: Pencil) -> None:
    ring(pencil)
    pencil.place("expansion_tank", (620, 500))
    assert pencil.window.document.plant.items["ET-1"].at == (620, 500)
    line = pencil.board.scene.pipes["L-2"].picture.line
    on_pipe = ((line[0][0] + line[1][0]) / 2, line[0][1])
    pencil.drag(pencil.port("ET-1", "at"), on_pipe)
    plant = pencil.window.document.plant
    joint = plant.items["J-1"]
    assert joint.kind == "joint"
    assert joint.at == (600, 380)
    assert len(plant.pipes_at[PortRef("J-1", "at")]) == 3
    pencil.window.actions_["undo"].trigger()
    assert "J-1" not in pencil.window.document.plant.items
    assert len(pencil.window.document.plant.pipes) == 3


def test_a_pipe_pulled_onto_a_full_item_is_refused_in_words(pencil: Pencil) -> None:
    ring(pencil)
    pencil.place("radiator", (620, 560))
    before = pencil.window.document.plant
    for port in ("in", "out"):
        pencil.drag(pencil.port("RA-1", "in"), pencil.port("P-1", port))
        assert pencil.window.document.plant is before
        assert "P-1 has no free port: in has L-1, out has L-2" in pencil.window.bar.text
    pencil.drag(pencil.port("RA-1", "in"), (620, 560))
    assert pencil.window.document.plant is before


def test_a_pipe_may_lead_from_one_port_of_an_item_to_another(pencil: Pencil) -> None:
    pencil.place("radiator", (620, 560))
    pencil.drag(pencil.port("RA-1", "in"), pencil.port("RA-1", "out"))
    (pipe,) = pencil.window.document.plant.pipes.values()
    assert (pipe.start, pipe.end) == (PortRef("RA-1", "in"), PortRef("RA-1", "out"))


def test_a_symbol_dropped_on_a_pipe_goes_in_line_and_heals_when_deleted(pencil: Pencil) -> None:
    ring(pencil)
    before = pencil.window.document.plant
    line = pencil.board.scene.pipes["L-2"].picture.line
    on_pipe = ((line[0][0] + line[1][0]) / 2, line[0][1])
    pencil.place("check_valve", on_pipe)
    plant = pencil.window.document.plant
    (into,) = plant.pipes_at[PortRef("CV-1", "in")]
    (out_of,) = plant.pipes_at[PortRef("CV-1", "out")]
    assert plant.pipes[into].start == PortRef("P-1", "out")
    assert plant.pipes[out_of].end == PortRef("FC-1", "in")
    assert len(plant.pipes) == 4
    pencil.key(Qt.Key.Key_Delete)
    healed = pencil.window.document.plant
    assert healed.pipes.keys() == before.pipes.keys()
    assert healed.pipes["L-2"].length == before.pipes["L-2"].length


def test_a_check_valve_may_be_put_in_against_the_pipe(pencil: Pencil) -> None:
    ring(pencil)
    line = pencil.board.scene.pipes["L-2"].picture.line
    on_pipe = ((line[0][0] + line[1][0]) / 2, line[0][1])
    pencil.take("check_valve")
    pencil.move(on_pipe)
    pencil.key("m")
    pencil.click(on_pipe)
    plant = pencil.window.document.plant
    (into,) = plant.pipes_at[PortRef("CV-1", "in")]
    assert PortRef("FC-1", "in") in (plant.pipes[into].start, plant.pipes[into].end)
    assert plant.items["CV-1"].turn == 180
    assert not check(plant)


def test_a_drag_moves_by_grid_steps_and_the_pipes_follow(pencil: Pencil) -> None:
    ring(pencil)
    pencil.drag((500, 380), (523, 318))
    assert pencil.window.document.plant.items["P-1"].at == (520, 320)
    for name in ("L-1", "L-2"):
        pipe = pencil.window.document.plant.pipes[name]
        line = pencil.board.scene.pipes[name].picture.line
        assert line[0] == pencil.port(*pipe.start)
        assert line[-1] == pencil.port(*pipe.end)
        assert all(a[0] == b[0] or a[1] == b[1] for a, b in pairwise(line))
    pencil.window.actions_["undo"].trigger()
    assert pencil.window.document.plant.items["P-1"].at == (500, 380)


def test_escape_in_the_middle_of_a_drag_changes_nothing(pencil: Pencil) -> None:
    ring(pencil)
    plant, steps = pencil.window.document.plant, pencil.window.document.stack.count()
    pencil.move((500, 380))
    pencil.press((500, 380))
    pencil.move((560, 300))
    pencil.key(Qt.Key.Key_Escape)
    pencil.release((560, 300))
    assert pencil.window.document.plant == plant
    assert pencil.window.document.stack.count() == steps
    assert pencil.board.scene.symbols["P-1"].item.at == (500, 380)


def test_an_open_end_is_left_where_a_pull_ends_on_the_empty_board(pencil: Pencil) -> None:
    pencil.place("cold_main", (300, 400))
    pencil.drag(pencil.port("CM-1", "at"), (460, 400))
    plant = pencil.window.document.plant
    assert plant.items["J-1"].at == (460, 400)
    assert plant.pipes["L-1"].system == "potable"


def test_clicks_pin_bends_and_a_second_port_ends_the_pipe(pencil: Pencil) -> None:
    pencil.place("cold_main", (300, 400))
    pencil.place("shutoff", (700, 300))
    pencil.click(pencil.port("CM-1", "at"))
    pencil.click((420, 500))
    pencil.click(pencil.port("V-1", "a"))
    pipe = pencil.window.document.plant.pipes["L-1"]
    assert pipe.end == PortRef("V-1", "a")
    assert pipe.via == ((420, 500),)
    assert (420, 500) in pencil.board.scene.pipes["L-1"].picture.line


def test_selecting_by_click_band_and_toggle(pencil: Pencil) -> None:
    ring(pencil)
    document = pencil.window.document
    pencil.click((500, 380))
    assert document.selection == {"P-1"}
    pencil.click((300, 400), SHIFT)
    assert document.selection == {"P-1", "B-1"}
    pencil.click((300, 400), CTRL)
    assert document.selection == {"P-1"}
    pencil.drag((420, 300), (820, 460))
    assert {"P-1", "FC-1"} <= document.selection
    assert "B-1" not in document.selection
    pencil.click((950, 650))
    assert document.selection == frozenset()


def test_turn_and_mirror_keep_the_pipes_on_their_ports(pencil: Pencil) -> None:
    ring(pencil)
    pencil.click((500, 380))
    pencil.key("r")
    pencil.key("m")
    item = pencil.window.document.plant.items["P-1"]
    assert item.turn in (90, 270)
    assert item.flip
    line = pencil.board.scene.pipes["L-1"].picture.line
    assert line[-1] == pencil.port("P-1", "in")


def test_a_symbol_in_the_hand_turns_with_nothing_selected(pencil: Pencil) -> None:
    pencil.take("boiler")
    pencil.move((500, 400))
    pencil.key("r", "m")
    pencil.click((500, 400))
    item = pencil.window.document.plant.items["B-1"]
    assert (item.turn, item.flip) == (90, True)


def test_the_scene_mirrors_the_document_after_everything(pencil: Pencil) -> None:
    ring(pencil)
    pencil.click((740, 400))
    pencil.key(Qt.Key.Key_Delete)
    plant, scene = pencil.window.document.plant, pencil.board.scene
    assert set(scene.symbols) == set(plant.items)
    assert set(scene.pipes) == set(plant.pipes)
    for name, graphic in scene.symbols.items():
        assert graphic.item == plant.items[name]


def test_every_symbol_of_the_shelf_can_be_pulled_off_it(pencil: Pencil) -> None:
    shelf = pencil.window.shelf
    assert all(shelf.list_of(group).dragEnabled() for group in ("found", "recently used", *GROUPS))


def test_a_drag_from_the_shelf_drops_where_it_is_let_go(pencil: Pencil) -> None:
    from PySide6.QtCore import QPointF
    from PySide6.QtGui import QDragEnterEvent, QDragMoveEvent, QDropEvent

    from app.panels.shelf import kind_mime

    data = kind_mime("radiator")
    viewport = pencil.board.view.viewport()
    at = pencil.board.view.mapFromScene(640, 480)
    arguments = (Qt.DropAction.CopyAction, data, Qt.MouseButton.LeftButton, NONE)
    QApplication.sendEvent(viewport, QDragEnterEvent(at, *arguments))
    QApplication.sendEvent(viewport, QDragMoveEvent(at, *arguments))
    QApplication.sendEvent(viewport, QDropEvent(QPointF(at), *arguments))
    assert pencil.window.document.plant.items["RA-1"].at == (640, 480)


def test_opening_another_plant_in_the_middle_of_a_gesture_lets_go(pencil: Pencil) -> None:
    ring(pencil)
    pencil.take("radiator")
    pencil.move((600, 600))
    assert pencil.window.hand.gesture is not None
    pencil.window.document.replace(empty_plant(), None)
    assert pencil.window.hand.gesture is None
    assert not pencil.board.scene.symbols


def test_right_click_selects_and_offers(pencil: Pencil) -> None:
    ring(pencil)
    at = pencil.board.view.mapFromScene(500, 380)
    QTest.mousePress(pencil.board.view.viewport(), Qt.MouseButton.RightButton, NONE, at)
    assert pencil.window.document.selection == {"P-1"}


def test_pan_zoom_and_fit_leave_the_document_alone(pencil: Pencil) -> None:
    ring(pencil)
    plant, view = pencil.window.document.plant, pencil.board.view
    before = view.mapToScene(100, 100)
    QTest.mousePress(view.viewport(), Qt.MouseButton.MiddleButton, NONE, view.mapFromScene(600, 600))
    pencil.move((640, 630))
    QTest.mouseRelease(view.viewport(), Qt.MouseButton.MiddleButton, NONE, view.mapFromScene(640, 630))
    assert view.mapToScene(100, 100) != before
    pencil.window.actions_["zoom_out"].trigger()
    assert view.zoom < 1.0
    pencil.key("f")
    seen = view.mapToScene(view.viewport().rect()).boundingRect()
    for graphic in pencil.board.scene.symbols.values():
        assert seen.contains(graphic.box.x0, graphic.box.y0)
    assert pencil.window.document.plant == plant


def test_a_drawn_plant_gives_the_figures_of_the_same_plant_read_from_a_file(
    make_window: Callable[..., Window], qtbot: QtBot, tmp_path: Path
) -> None:
    window = make_window()
    window.start.hide()
    window.board.view.set_zoom(1.0)
    window.board.view.centerOn(600, 400)
    pencil = Pencil(window)
    ring(pencil)
    pencil.place("expansion_tank", (600, 500))
    line = window.board.scene.pipes["L-2"].picture.line
    pencil.drag(pencil.port("ET-1", "at"), ((line[0][0] + line[1][0]) / 2, line[0][1]))
    # Before anything is typed: an answer with notes, never an error.
    qtbot.waitUntil(lambda: not window.live.waiting, timeout=60000)
    assert window.live.refusal() == ""
    values = {
        "B-1": {"capacity": "40 kBtu/h", "set_temperature": "120 degF"},
        "P-1": {"curve": "0 gpm, 18 ft_head\n8 gpm, 12 ft_head\n14 gpm, 2 ft_head"},
        "FC-1": {"output_per_degree": "300 Btu/h/degF", "load": "9 kBtu/h"},
        "ET-1": {"precharge": "12 psi"},
    }
    for name, fields in values.items():
        window.document.select([name])
        for key, text in fields.items():
            field = window.particulars.field(key)
            field.editor.put(text)
            field.commit()
            assert field.error == ""
    qtbot.waitUntil(lambda: not window.live.waiting, timeout=60000)
    shown = window.live.solution
    assert shown is not None
    assert shown.converged
    assert all(abs(shown.pipes[name].flow_m3_s) > 1e-4 for name in ("L-1", "L-3"))
    window.files.save_to(tmp_path / "ring.plant.json")
    plant = load(tmp_path / "ring.plant.json")
    read = solve_case(plant, plant.solve_cases[0])
    assert read.pipes == shown.pipes
    assert read.items == shown.items
    labels = window.board.scene.picture.labels
    assert any("gpm" in row.text for placed in labels.values() for row in placed.rows)
