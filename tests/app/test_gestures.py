"""What a drop joins, what a pull begins, how a line is laid aside and a pump turned round; by real events."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

from PySide6.QtCore import Qt
from pytestqt.qtbot import QtBot

from app.board.pointer import Place
from core.diagram.routes import route
from core.files.read import load
from core.plant.changes import SetPlant
from core.plant.model import PortRef
from tests.app.pencil import CTRL, NONE, SHIFT, Pencil, ring


def pipes_of(pencil: Pencil, item: str) -> dict[str, str]:
    """Port to the item at the other end of its pipe."""
    ends = [(pipe.start, pipe.end) for pipe in pencil.window.document.plant.pipes.values()]
    both = [*ends, *((end, start) for start, end in ends)]
    return {here.port: there.item for here, there in both if here.item == item}


def longest_level_run(pencil: Pencil) -> tuple[str, tuple[Place, Place]]:
    return max(
        (
            (name, run)
            for name, line in pencil.board.scene.lines.items()
            for run in pairwise(line)
            if run[0][1] == run[1][1]
        ),
        key=lambda entry: abs(entry[1][1][0] - entry[1][0][0]),
    )


def test_a_port_set_down_on_a_joint_is_joined_to_it(pencil: Pencil) -> None:
    pencil.place("joint", (400, 500))
    pencil.place("floor_circuit", (700, 300))
    x, y = pencil.port("FC-1", "in")
    pencil.drag((700, 300), (700 + 400 - x, 300 + 500 - y))
    (pipe,) = pencil.window.document.plant.pipes.values()
    assert {pipe.start, pipe.end} == {PortRef("J-1", "at"), PortRef("FC-1", "in")}
    assert pipe.joined == "flanged"
    assert pencil.port("FC-1", "in") == pencil.port("J-1", "at")
    assert "FC-1 joined to J-1" in pencil.window._hint.text()
    pencil.window.actions_["undo"].trigger()
    assert not pencil.window.document.plant.pipes
    assert pencil.window.document.plant.items["FC-1"].at == (700, 300)


def test_an_arrow_key_over_a_port_joins_nothing_but_says_so(pencil: Pencil) -> None:
    pencil.place("floor_circuit", (600, 400))
    x, y = pencil.port("FC-1", "in")
    pencil.place("joint", (x - 10, y + 40))
    pencil.key(Qt.Key.Key_Right, Qt.Key.Key_Up, Qt.Key.Key_Up, Qt.Key.Key_Up, Qt.Key.Key_Up)
    assert pencil.port("J-1", "at") == (x, y)
    assert not pencil.window.document.plant.pipes
    assert pencil.window._hint.text().startswith("Not joined: J-1 only lies on FC-1 in")


def test_a_gauge_set_on_a_pipe_stands_on_it(pencil: Pencil) -> None:
    ring(pencil)
    _, ((ax, y), (bx, _)) = longest_level_run(pencil)
    middle = round((ax + bx) / 20) * 10
    gauge = pencil.place("gauge", (middle, y - 20))
    assert pencil.port(gauge, "at") == (middle, y)
    assert pipes_of(pencil, gauge) == {"at": "J-1"}
    assert len(pencil.window.document.plant.pipes_at[PortRef("J-1", "at")]) == 3
    assert pencil.window.document.stack.undoText() == f"Insert {gauge}"


def test_a_loose_valve_dragged_along_a_pipe_goes_into_it(pencil: Pencil) -> None:
    ring(pencil)
    name, ((ax, y), (bx, _)) = longest_level_run(pencil)
    pencil.place("shutoff", (600, 640))
    pencil.drag((600, 640), (round((ax + bx) / 20) * 10, y))
    plant = pencil.window.document.plant
    assert set(pipes_of(pencil, "V-1")) == {"a", "b"}
    assert not [item for item in plant.items.values() if item.kind == "joint"], "in line, not beside it"
    for pipe in plant.pipes.values():
        assert len(pencil.board.scene.line(pipe.id)) <= 4
    pencil.window.actions_["undo"].trigger()
    assert pencil.window.document.plant.items["V-1"].at == (600, 640)
    assert name in pencil.window.document.plant.pipes


def test_a_run_of_a_pipe_is_dragged_aside_and_finds_back(pencil: Pencil) -> None:
    ring(pencil)
    before = dict(pencil.board.scene.lines)
    name, (a, b) = longest_level_run(pencil)
    middle = ((a[0] + b[0]) / 2, a[1])
    pencil.drag(middle, (middle[0] + 7, middle[1] + 60))
    assert len(pencil.window.document.plant.pipes[name].via) == 2
    line = pencil.board.scene.line(name)
    assert any(p[1] == q[1] == a[1] + 60 for p, q in pairwise(line))
    assert all(p[0] == q[0] or p[1] == q[1] for p, q in pairwise(line))
    assert (line[0], line[-1]) == (before[name][0], before[name][-1])
    # Once more, from where it lies now: still two bends, not four.
    pencil.drag((middle[0], middle[1] + 60), (middle[0], middle[1] + 90))
    assert len(pencil.window.document.plant.pipes[name].via) == 2
    assert any(p[1] == q[1] == a[1] + 90 for p, q in pairwise(pencil.board.scene.line(name)))
    pencil.key("l")
    assert pencil.board.scene.lines == before


def test_escape_lets_a_run_fall_back(pencil: Pencil) -> None:
    ring(pencil)
    plant, before = pencil.window.document.plant, dict(pencil.board.scene.lines)
    name, (a, b) = longest_level_run(pencil)
    pencil.move(((a[0] + b[0]) / 2, a[1]))
    pencil.press(((a[0] + b[0]) / 2, a[1]))
    pencil.move((a[0], a[1] + 50))
    assert pencil.board.scene.pipes[name].picture.line != before[name]
    pencil.key(Qt.Key.Key_Escape)
    assert pencil.window.document.plant is plant
    assert pencil.board.scene.pipes[name].picture.line == before[name]


def test_an_open_end_is_pulled_on_and_ctrl_click_only_selects(pencil: Pencil) -> None:
    pencil.place("cold_main", (300, 400))
    pencil.drag(pencil.port("CM-1", "at"), (460, 400))
    assert pencil.board.scene.picture.open_ends["J-1"] == ((460, 400),)
    pencil.drag((460, 400), (460, 520))
    assert pencil.window.document.plant.items["J-1"].at == (460, 400)
    assert pipes_of(pencil, "J-2") == {"at": "J-1"}
    assert "J-1" not in pencil.board.scene.picture.open_ends
    pencil.window.document.select(["CM-1"])
    pencil.click((460, 400), CTRL)
    assert pencil.window.document.selection == {"CM-1", "J-1"}
    assert pencil.window.hand.gesture is None
    pencil.drag((460, 400), (600, 400), CTRL)
    assert len(pencil.window.document.plant.pipes) == 3


def test_a_pump_turns_round_in_its_line(pencil: Pencil) -> None:
    ring(pencil)
    pencil.click((500, 380))
    pump, ends = pencil.window.document.plant.items["P-1"], pipes_of(pencil, "P-1")
    lines = dict(pencil.board.scene.lines)
    for key, held in (("m", NONE), ("r", SHIFT)):
        pencil.key(key, held=held)
        assert pencil.window.document.plant.items["P-1"] != pump
        assert pipes_of(pencil, "P-1") == {"in": ends["out"], "out": ends["in"]}
        assert pencil.board.scene.lines == lines
        pencil.window.actions_["undo"].trigger()
        assert pencil.window.document.plant.items["P-1"] == pump


def test_the_hint_names_the_port_that_is_aimed_at(pencil: Pencil) -> None:
    pencil.place("boiler", (400, 400))
    pencil.place("circulator", (600, 400))
    pencil.window.document.select(["B-1"])
    pencil.key("p", Qt.Key.Key_Tab)
    assert " to P-1 " in pencil.window._hint.text()
    assert " to P-1 " in pencil.board.view.accessibleDescription()


def test_a_first_pipe_at_a_boiler_is_of_the_closed_system(pencil: Pencil) -> None:
    systems = pencil.window.document.plant.systems
    turned = {name: systems[name] for name in reversed(systems)}
    assert next(iter(turned)) == "potable"
    pencil.window.document.do("Turn the systems", [SetPlant({"systems": turned})])
    pencil.place("boiler", (400, 400))
    pencil.place("radiator", (700, 400))
    pencil.drag(pencil.port("B-1", "out"), pencil.port("RA-1", "in"))
    (pipe,) = pencil.window.document.plant.pipes.values()
    assert pipe.system == "heating"


def test_lines_are_the_same_on_screen_on_paper_and_after_opening_again(
    pencil: Pencil, qtbot: QtBot, tmp_path: Path
) -> None:
    ring(pencil)
    scene = pencil.board.scene
    for start, end in (((500, 380), (560, 520)), ((740, 400), (420, 300)), ((560, 520), (470, 360))):
        pencil.drag(start, end)
        qtbot.waitUntil(lambda: scene.up_to_date, timeout=5000)
        plant = pencil.window.document.plant
        assert scene.lines == route(plant)
        assert {name: graphic.picture.line for name, graphic in scene.pipes.items()} == scene.lines
    assert pencil.window.files.save_to(tmp_path / "a.plant.json")
    assert route(load(tmp_path / "a.plant.json")) == scene.lines


def test_words_stay_where_they_were_until_new_ones_come(pencil: Pencil, qtbot: QtBot) -> None:
    ring(pencil)
    scene = pencil.board.scene
    qtbot.waitUntil(lambda: scene.figures_stand and "B-1" in scene.picture.tags, timeout=5000)
    tags = dict(scene.picture.tags)
    pencil.window.document.select(["P-1"])
    pencil.key(Qt.Key.Key_Up)
    assert scene.picture.tags["B-1"] == tags["B-1"]
    assert "P-1" not in scene.picture.tags
    qtbot.waitUntil(lambda: "P-1" in scene.picture.tags, timeout=5000)
    assert scene.picture.tags["P-1"].box.y0 < tags["P-1"].box.y0


def test_a_corner_of_a_pipe_is_dragged_and_pinned(pencil: Pencil) -> None:
    ring(pencil)
    document, scene = pencil.window.document, pencil.board.scene
    line = scene.line("L-3")
    corner = line[1]
    pencil.drag(corner, (corner[0] + 30, corner[1] + 60))
    to = (corner[0] + 30, corner[1] + 60)
    assert document.plant.pipes["L-3"].via == (to,)
    assert to in scene.line("L-3")
    pencil.drag(to, (to[0] + 20, to[1] - 20))
    assert document.plant.pipes["L-3"].via == ((to[0] + 20, to[1] - 20),), "moved, not added"
    pencil.window.actions_["undo"].trigger()
    pencil.window.actions_["undo"].trigger()
    assert scene.line("L-3") == line
