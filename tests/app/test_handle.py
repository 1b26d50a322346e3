"""The handle beside a pipe's middle: a click puts something in, a drag bends."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from app.board.graphics import handle_spot
from core.diagram.geometry import length, segments
from core.plant.model import PortRef
from tests.app.pencil import Pencil, ring, type_words


def handle(pencil: Pencil, pipe: str) -> tuple[float, float]:
    spot = handle_spot(pencil.board.line(pipe))
    assert spot is not None
    return spot


def over(pencil: Pencil, pipe: str) -> None:
    """The pointer on a pipe, so that its handle shows."""
    (ax, ay), (bx, by) = max(segments(pencil.board.line(pipe)), key=length)
    pencil.move(((ax + bx) / 2, (ay + by) / 2))


def test_a_click_on_a_hovered_pipes_handle_asks_what_to_put_in(pencil: Pencil) -> None:
    ring(pencil)
    pencil.key(Qt.Key.Key_Escape)
    over(pencil, "L-3")
    pencil.click(handle(pencil, "L-3"))
    quick = pencil.window.quick
    assert quick.isVisible()
    type_words(quick.field, "check")
    QTest.keyClick(quick.field, Qt.Key.Key_Return)
    QApplication.processEvents()
    pencil.key(Qt.Key.Key_Return)
    plant = pencil.window.document.plant
    assert plant.items["CV-1"].kind == "check_valve"
    assert all(plant.pipes_at[PortRef("CV-1", port)] for port in plant.items["CV-1"].ports)
    assert "L-3" in (*plant.pipes_at[PortRef("CV-1", "in")], *plant.pipes_at[PortRef("CV-1", "out")])


def test_a_drag_of_the_handle_bends_the_pipe(pencil: Pencil) -> None:
    ring(pencil)
    pencil.key(Qt.Key.Key_Escape)
    over(pencil, "L-3")
    x, y = handle(pencil, "L-3")
    pencil.drag((x, y), (x, y + 60.0))
    assert pencil.window.document.plant.pipes["L-3"].via
    assert not pencil.window.quick.isVisible()


def test_without_the_pipe_under_the_pointer_there_is_no_handle(pencil: Pencil) -> None:
    ring(pencil)
    pencil.key(Qt.Key.Key_Escape)
    spot = handle(pencil, "L-3")
    pencil.move((100.0, 100.0))
    assert pencil.board.scene.handle_at(spot) == ""
