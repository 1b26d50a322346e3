"""The board by keys alone: going along the drawing, aiming pipes, bending them; trials mind the rest."""

from __future__ import annotations

from itertools import pairwise

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication

from app.board import trial
from core.diagram.routes import route
from core.plant.changes import RemovePipe, apply
from core.plant.model import PortRef
from tests.app.pencil import CTRL, NONE, SHIFT, Pencil, ring
from tests.core.diagram.legible import cramped, joins_falsely, overlaps, strewn

LEFT, RIGHT, UP, DOWN = Qt.Key.Key_Left, Qt.Key.Key_Right, Qt.Key.Key_Up, Qt.Key.Key_Down


def test_ctrl_arrows_go_along_the_pipes(pencil: Pencil) -> None:
    ring(pencil)
    document = pencil.window.document
    document.select(["P-1"])
    seen = []
    for key in (RIGHT, RIGHT, LEFT, LEFT, LEFT, LEFT):
        pencil.key(key, held=CTRL)
        seen += document.selection
    assert seen == ["L-2", "FC-1", "L-2", "P-1", "L-1", "B-1"]
    pencil.key(RIGHT, RIGHT, held=CTRL | SHIFT)
    assert document.selection == {"B-1", "L-3", "FC-1"}, "out of its first port, what was selected stays so"


def test_a_pipe_in_hand_jumps_to_ports_and_pipes_that_way(pencil: Pencil) -> None:
    ring(pencil)
    pencil.place("radiator", (620, 620))
    document = pencil.window.document
    document.select(["RA-1"])
    pencil.key("p")
    pencil.key(UP, held=CTRL)
    assert "tees into L-3" in pencil.window._hint.text()
    pencil.key(Qt.Key.Key_Return)
    joint = document.plant.items["J-1"]
    assert len(document.plant.pipes_at[PortRef("J-1", "at")]) == 3
    assert joint.at[0] % 10 == 0 == joint.at[1] % 10
    document.select(["RA-1"])
    pencil.key("p")
    pencil.key(UP, held=CTRL)
    pencil.key(UP, held=CTRL)
    assert " to " in pencil.window._hint.text() or "tees into" in pencil.window._hint.text()
    pencil.key(Qt.Key.Key_Escape)


def test_arrow_keys_bend_a_pipe_and_one_undo_straightens_it(pencil: Pencil) -> None:
    ring(pencil)
    document, scene = pencil.window.document, pencil.board.scene
    document.select(["L-3"])
    before = scene.line("L-3")
    level = max(
        (run for run in pairwise(before) if run[0][1] == run[1][1]), key=lambda r: abs(r[1][0] - r[0][0])
    )
    steps = document.stack.count()
    pencil.key(DOWN, DOWN, DOWN)
    assert any(a[1] == b[1] == level[0][1] + 30 for a, b in pairwise(scene.line("L-3")))
    assert document.plant.pipes["L-3"].via
    assert document.stack.count() == steps + 1
    document.stack.undo()
    assert scene.line("L-3") == before


def test_hand_made_bends_stay_when_an_item_moves(pencil: Pencil) -> None:
    ring(pencil)
    document, scene = pencil.window.document, pencil.board.scene
    document.select(["L-3"])
    pencil.key(DOWN, DOWN, DOWN, DOWN)
    via = document.plant.pipes["L-3"].via
    pencil.drag((740, 400), (780, 350))
    assert document.plant.pipes["L-3"].via == via
    assert set(via) <= set(scene.line("L-3")) | {
        point for a, b in pairwise(scene.line("L-3")) for point in via if _between(a, b, point)
    }
    pencil.key("a", held=CTRL)
    pencil.key(RIGHT, RIGHT)
    assert document.plant.pipes["L-3"].via == tuple((x + 20, y) for x, y in via)


def _between(a: tuple[float, float], b: tuple[float, float], at: tuple[float, float]) -> bool:
    return min(a[0], b[0]) <= at[0] <= max(a[0], b[0]) and min(a[1], b[1]) <= at[1] <= max(a[1], b[1])


@pytest.mark.parametrize("seed", range(6))
def test_a_pipe_that_is_only_tried_lies_on_no_other(seed: int) -> None:
    plant = strewn(seed)
    for name in list(plant.pipes)[::3]:
        without = apply(plant, [RemovePipe(name)])
        lines = trial.lines(plant, without, route(without))
        wrong = {pair for pair in (*overlaps(lines), *joins_falsely(lines)) if name in pair}
        assert not wrong or cramped(plant, plant.pipes[name])


def test_every_key_of_the_board_is_in_the_list_of_keys(pencil: Pencil) -> None:
    pencil.window.actions_["shortcuts"].trigger()
    page = pencil.window.commands._keys
    assert page is not None
    QApplication.processEvents()
    from app.window.keys_page import key_rows

    words = " ".join(f"{keys} {what}" for keys, what in key_rows())
    for key in ("Ctrl+Arrow", "Tab", "Return", "Esc", "Ctrl+V", "Alt and drag"):
        assert key in words, key
    page.close()
    assert Qt.KeyboardModifier.NoModifier == NONE
