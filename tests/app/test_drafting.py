"""What a draughtsman would stumble over: lines left behind, jogs, lost selections, copies that forget."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from core.diagram import symbols
from core.plant.changes import SetPlant
from core.plant.model import Case, PortRef
from core.plant.validity import check
from tests.app.pencil import CTRL, Pencil, ring, type_words


def test_no_guide_stays_on_the_board_once_a_thing_is_laid_down(pencil: Pencil) -> None:
    pencil.place("shutoff", (300, 300))
    hand = pencil.board.scene.hand
    pencil.take("shutoff")
    pencil.move((420, 302))
    assert hand._guides
    pencil.click((420, 302))
    assert not hand._guides
    pencil.drag((420, 300), (460, 303))
    assert pencil.window.document.plant.items["V-2"].at == (460, 300)
    assert not hand._guides


def test_a_pulled_pipe_is_selected_and_not_a_part_of_the_one_it_tees_into(pencil: Pencil) -> None:
    ring(pencil)
    for number in range(1, 4):
        name = pencil.place("expansion_tank", (380 + 80 * number, 560))
        pencil.drag(pencil.port(name, "at"), (380 + 80 * number, pencil.board.scene.line("L-3")[1][1]))
        (pulled,) = pencil.window.document.selection
        assert PortRef(name, "at") in (
            pencil.window.document.plant.pipes[pulled].start,
            pencil.window.document.plant.pipes[pulled].end,
        )


def test_a_tee_pulled_a_little_aside_comes_to_lie_straight(pencil: Pencil) -> None:
    ring(pencil)
    line = pencil.board.scene.line("L-2")
    name = pencil.place("relief_valve", (600, 280))
    pencil.drag(pencil.port(name, "at"), (611, line[0][1] + 3))
    plant = pencil.window.document.plant
    assert plant.items["J-1"].at == (600, line[0][1])
    (pipe,) = plant.pipes_at[PortRef(name, "at")]
    assert len(pencil.board.scene.line(pipe)) == 2
    other = pencil.place("relief_valve", (600, 200))
    pencil.drag(pencil.port(other, "at"), (640, line[0][1]))
    assert pencil.window.document.plant.items["J-2"].at == (640, line[0][1]), "meant to lie there"


def test_a_duplicate_fixture_draws_in_every_case_what_its_original_draws(pencil: Pencil) -> None:
    pencil.place("fixture", (400, 400))
    pencil.place("switch", (500, 400))
    document = pencil.window.document
    cases = (Case("Morning", draws={"F-1": "2 gpm"}, signals={"SW-1": True}), Case("Night"))
    document.do("Two cases", [SetPlant({"cases": cases})])
    document.select(["F-1", "SW-1"])
    pencil.key("d", held=CTRL)
    pencil.key(Qt.Key.Key_Down, Qt.Key.Key_Return)
    morning, night = document.plant.cases
    assert morning.draws == {"F-1": "2 gpm", "F-2": "2 gpm"}
    assert morning.signals == {"SW-1": True, "SW-2": True}
    assert night == replace(cases[1])
    document.stack.undo()
    assert document.plant.cases == cases


def test_a_run_too_short_for_a_symbol_makes_room_for_it(pencil: Pencil) -> None:
    ring(pencil)
    document, scene = pencil.window.document, pencil.board.scene
    for kind in ("check_valve", "shutoff", "shutoff", "strainer", "balance_valve"):
        pencil.place(kind, scene.middle_of("L-1").place)  # type: ignore[union-attr]
    plant = document.plant
    row = sorted((item.at[0], name) for name, item in plant.items.items() if item.at[1] == 380)
    assert [name for _, name in row][-1] == "P-1"
    assert len(row) == 6
    for (left, _), (right, _) in pairwise(row):
        assert right - left >= 50, "of each pipe something is left to see"
    assert plant.items["FC-1"].at[1] == 400
    ends = {name: {pipe.start.item, pipe.end.item} for name, pipe in plant.pipes.items()}
    assert all(len(scene.line(name)) == 2 for name in ends if "FC-1" not in ends[name])
    assert not check(plant)
    for _ in range(5):
        document.stack.undo()
    assert document.plant.items["P-1"].at == (500, 380)


def test_a_loose_valve_dragged_onto_an_upright_pipe_turns_and_goes_into_it(pencil: Pencil) -> None:
    ring(pencil)
    document, scene = pencil.window.document, pencil.board.scene
    pencil.drag((740, 400), (740, 560))
    line = scene.line("L-3")
    x, y0, y1 = next((a[0], a[1], b[1]) for a, b in pairwise(line) if a[0] == b[0] and abs(a[1] - b[1]) > 60)
    name = pencil.place("shutoff", (500, 600))
    pencil.drag((500, 600), (x + 2, (y0 + y1) / 2))
    valve = document.plant.items[name]
    assert valve.turn in (90, 270)
    assert valve.at[0] == x
    assert all(PortRef(name, port) in document.plant.pipes_at for port in ("a", "b"))
    assert not check(document.plant)


def test_by_keys_a_loose_valve_is_moved_onto_a_pipe_and_joined(pencil: Pencil) -> None:
    ring(pencil)
    document = pencil.window.document
    name = pencil.place("shutoff", (600, 300))
    before = document.plant
    pencil.key("j")
    assert document.plant is before
    pencil.key(*[Qt.Key.Key_Down] * 8)
    assert document.plant.items[name].at == (600, 380)
    assert f"{name} only lies on a pipe. J joins it" in pencil.window._hint.text()
    assert not document.plant.pipes_at.get(PortRef(name, "a"))
    pencil.key("j")
    assert all(PortRef(name, port) in document.plant.pipes_at for port in ("a", "b"))


def test_any_run_and_any_corner_is_bent_by_keys(pencil: Pencil) -> None:
    ring(pencil)
    document, scene = pencil.window.document, pencil.board.scene
    document.select(["L-3"])
    before = scene.line("L-3")
    steps = document.stack.count()
    pencil.key("b")
    assert "L-3, a run" in pencil.window._hint.text()
    pencil.key(Qt.Key.Key_Tab, Qt.Key.Key_Tab)
    assert "L-3, a corner" in pencil.window._hint.text()
    pencil.key(Qt.Key.Key_Down, Qt.Key.Key_Down, Qt.Key.Key_Left)
    assert document.plant.pipes["L-3"].via == (), "only tried so far"
    pencil.key(Qt.Key.Key_Return)
    assert pencil.window.hand.gesture is None
    (bend,) = document.plant.pipes["L-3"].via
    assert bend == (before[1][0] - 10, before[1][1] + 20)
    assert bend in scene.line("L-3")
    assert document.stack.count() == steps + 1
    pencil.key("b")
    for _ in scene.line("L-3") * 2:
        pencil.key(Qt.Key.Key_Delete, Qt.Key.Key_Tab)
    pencil.key(Qt.Key.Key_Escape)
    assert document.plant.pipes["L-3"].via == ()
    assert document.stack.count() == steps + 2
    pencil.key("b", Qt.Key.Key_Down, Qt.Key.Key_Escape)
    assert document.plant.pipes["L-3"].via == ()
    assert scene.line("L-3") == before


def test_arrow_keys_lead_a_pulled_pipe_along_another_step_by_step(pencil: Pencil) -> None:
    ring(pencil)
    line = pencil.board.scene.line("L-2")
    name = pencil.place("relief_valve", (600, 280))
    pencil.window.document.select([name])
    pencil.key("p")
    steps = round((line[0][1] - pencil.port(name, "at")[1]) / 10)
    pencil.key(*[Qt.Key.Key_Down] * steps, Qt.Key.Key_Right, Qt.Key.Key_Right, Qt.Key.Key_Return)
    assert pencil.window.document.plant.items["J-1"].at == (620, line[0][1])


def test_symbols_inserted_by_key_come_to_stand_in_line_with_the_one_selected(pencil: Pencil) -> None:
    pencil.place("boiler", (300, 400))
    for word in ("circ", "check", "shut"):
        pencil.key("i")
        type_words(QApplication.focusWidget(), word)  # type: ignore[arg-type]
        QTest.keyClick(QApplication.focusWidget(), Qt.Key.Key_Return)
        pencil.key(Qt.Key.Key_Return)
    plant = pencil.window.document.plant
    assert list(plant.items) == ["B-1", "P-1", "CV-1", "V-1"]
    height = pencil.port("B-1", "out")[1]
    assert [plant.items[name].at[1] for name in ("P-1", "CV-1", "V-1")] == [height] * 3
    assert not plant.pipes


def test_a_pipe_that_makes_two_systems_one_water_says_so(pencil: Pencil) -> None:
    ring(pencil)
    pencil.place("cold_main", (300, 560))
    pencil.place("shutoff", (420, 560))
    pencil.drag(pencil.port("CM-1", "at"), pencil.port("V-1", "a"))
    plant = pencil.window.document.plant
    assert {plant.pipes[name].system for name in ("L-1", "L-4")} == {"heating", "potable"}
    start, on = pencil.port("V-1", "b"), pencil.board.scene.middle_of("L-3")
    assert on is not None
    pencil.move(start)
    pencil.press(start)
    pencil.move(on.place)
    assert "potable and heating would be one water" in pencil.window._hint.text()
    pencil.release(on.place)
    assert "backflow preventer" in pencil.window.bar.text
    assert len(pencil.window.document.plant.pipes) == 6, "told, not forbidden"


def test_a_duplicate_first_lies_where_nothing_else_does(pencil: Pencil) -> None:
    pencil.place("shutoff", (400, 300))
    pencil.place("boiler", (400, 380))
    document = pencil.window.document
    document.select(["V-1"])
    pencil.key("d", held=CTRL)
    pencil.key(Qt.Key.Key_Return)
    boxes = {name: symbols.box(item) for name, item in document.plant.items.items()}
    assert boxes["V-2"].centre[1] == 300
    assert not any(boxes["V-2"].overlaps(boxes[name]) for name in ("V-1", "B-1"))
