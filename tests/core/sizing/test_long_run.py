"""A circuit of many pipes in line."""

from __future__ import annotations

from core.files.read import from_data
from core.sizing.context import Context
from core.sizing.demand.paths import critical_path
from tests.support.builders import Board


def test_sizing_ended_in_recursion_error_past_1400_pipes() -> None:
    board = Board({"kind": "water"})
    board.item("P-1", "circulator", curve=[["0 m3/h", "8 m_head"], ["6 m3/h", "1 m_head"]])
    board.item("B-1", "boiler", capacity="20 kW", set_temperature="65 degC")
    board.item("Q-1", "load", load="8 kW")
    joints = [board.item(f"J-{n}", "joint") for n in range(1500)]
    board.chain("P-1", "B-1", *joints, "Q-1", "P-1")
    path = critical_path(Context(from_data(board.case().data())), "P-1")
    assert path is not None
    assert len([name for name in path.ids if name.startswith("L-")]) == 1503  # every pipe of the one ring
