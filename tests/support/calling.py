"""A plant of two zones with calls, outlets and hours, whose figures are worked out by hand."""

from __future__ import annotations

from typing import Any

from core.files.read import from_data
from core.plant.model import Plant
from tests.support.builders import Board, c, w

LOAD_1, LOAD_2 = 6000.0, 9000.0  # [W]


def two_zones(capacity: float = 20e3, **pump: Any) -> Board:
    """Boiler B-1, pumps P-1 and P-2, each with a load, called by TH-1 and TH-2 through outlets.

    P-1 hangs on OU-1, P-2 on AQ-9, which hangs on OU-2, which is switched by OU-1 (plugged into it).
    """
    board = Board()
    board.item(
        "B-1",
        "boiler",
        capacity=w(capacity),
        set_temperature=c(60.0),
        efficiency=0.9,
        run_when={"any": ["TH-1", "TH-2"]},
    )
    board.item("J-1", "joint")
    board.item("J-2", "joint")
    board.item("ET-1", "expansion_tank", precharge="100 kPa")
    board.pump(
        "P-1",
        60e3,
        1e-3,
        integral_check=True,
        run_when="TH-1",
        powered_by="OU-1",
        amps="1.5 A",
        watts="80 W",
        **pump,
    )
    board.pump(
        "P-2", 60e3, 1e-3, integral_check=True, run_when="TH-2", powered_by="AQ-9", watts="120 W", **pump
    )
    for number, load in ((1, LOAD_1), (2, LOAD_2)):
        board.resistance(f"S-{number}", 0.5e-3, 30e3)
        board.item(f"LD-{number}", "load", load=w(load))
        board.item(f"TH-{number}", "thermostat")
        board.chain("J-1", f"P-{number}", f"S-{number}", f"LD-{number}", "J-2")
    board.chain("J-2", "B-1", "J-1")
    board.chain("J-2", "ET-1")
    board.item("AQ-9", "aquastat", powered_by="OU-2")
    board.item("OU-1", "outlet", on=True, rating="15 A", volts="120 V")
    board.item("OU-2", "outlet", on=True, rating="2 A", volts="120 V", switched_by="OU-1")
    board.case("Design", signals={"AQ-9": True, "TH-1": True, "TH-2": True}, hours_per_year=1000)
    board.case("Mild", signals={"AQ-9": True, "TH-1": True, "TH-2": False}, hours_per_year=3000)
    return board


def plant_of(board: Board) -> Plant:
    """The board's plant, read as a file is."""
    return from_data(board.data())
