"""Pipes pulled the way water goes: outlets first, inlets offered, circulators turned to what is known."""

from __future__ import annotations

from PySide6.QtCore import Qt

from core.plant.model import PortRef
from tests.app.pencil import Pencil


def test_p_and_return_join_an_outlet_to_the_nearest_inlet(pencil: Pencil) -> None:
    pencil.place("boiler", (300, 400))
    pencil.place("circulator", (500, 380))
    pencil.window.document.select(["B-1"])
    pencil.board.view.setFocus()
    pencil.key("p", Qt.Key.Key_Return)
    (pipe,) = pencil.window.document.plant.pipes.values()
    assert (pipe.start, pipe.end) == (PortRef("B-1", "out"), PortRef("P-1", "in"))


def test_a_pump_pulled_against_a_known_port_turns_round(pencil: Pencil) -> None:
    pencil.place("boiler", (300, 400))
    pencil.place("circulator", (500, 380))
    there = pencil.port("P-1", "out")
    pencil.drag(pencil.port("B-1", "out"), there)
    plant = pencil.window.document.plant
    (pipe,) = plant.pipes.values()
    assert (pipe.start, pipe.end) == (PortRef("B-1", "out"), PortRef("P-1", "in"))
    assert plant.items["P-1"].turn == 180
    assert pencil.port("P-1", "in") == there
    pencil.window.actions_["undo"].trigger()
    assert pencil.window.document.plant.items["P-1"].turn == 0
