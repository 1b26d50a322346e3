"""More plants in which nothing is to mend, each for a part of the review: close tees, two tanks."""

from __future__ import annotations

from typing import Any

from tests.plants.edits import Data
from tests.plants.good_plants import COPPER, HALF, LAGGED, THREE_QUARTER, VALVE, curve
from tests.support.builders import Board

RADIATOR = {
    "rated": {"heat": "20 kBtu/h", "flow": "2 gpm", "supply": "160 degF", "room": "68 degF", "exponent": 1.3},
    "room_temperature": "68 degF",
    "load": "15 kBtu/h",
    "drops": [["2 gpm", "1 psi"]],
}


def _board() -> Board:
    board = Board({"kind": "water"}, outdoor_design="5 degF", cold_water="50 degF", indoor="68 degF")
    board.systems.clear()
    return board


def _data(board: Board, title: str) -> Data:
    return {**board.data(), "title": title, "units": "us"}


def _line(board: Board, *stops: str, **keys: Any) -> None:
    board.chain(*stops, **{"tube": COPPER, "length": "2 ft", "insulation": LAGGED, **keys})


def _valves(board: Board, *names: str) -> None:
    for name in names:
        board.item(name, "shutoff", **VALVE)


def _tee(board: Board, joint: str, *ends: str) -> None:
    board.item(joint, "joint")
    for end in ends:
        board.chain(joint, end, tube=THREE_QUARTER, length="3 in")


def _boiler(board: Board, call: Any) -> None:
    board.item(
        "B-1",
        "boiler",
        capacity="60 kBtu/h",
        min_output="6 kBtu/h",
        set_temperature="160 degF",
        differential="10 delta_degF",
        water_content="2 gal",
        condensing=True,
        efficiency=0.9,
        drops=[["6 gpm", "2 psi"]],
        run_when=call,
        max_pressure="50 psi",
        high_limit="200 degF",
        low_water_cutoff=True,
        flow_switch=True,
    )
    board.item(
        "RV-1",
        "relief_valve",
        set_pressure="30 psi",
        capacity="200 kBtu/h",
        inlet_size="3/4 in",
        discharge="full size, falling to the floor drain, air gap",
    )
    board.item("ET-1", "expansion_tank", volume="4.4 gal", acceptance="2.5 gal", precharge="15 psi")
    board.item("AS-1", "air_separator", cv=40, size="1 in")
    board.item("DS-1", "dirt_separator", cv=40, size="1 in")
    board.item("PS-1", "purge_set", cv=30, open=True)
    for name, kind in (("PG-1", "gauge"), ("TG-1", "thermometer"), ("TG-2", "thermometer"), ("D-1", "drain")):
        board.item(name, kind)


def _pump(board: Board, name: str, call: Any, head: float = 12, run_out: float = 12, **more: Any) -> None:
    props = {"body": "cast_iron", "shaft": "horizontal", "run_when": call, **more}
    board.item(name, "circulator", curve=curve(head, run_out), **props)


def close_tees() -> Data:
    """A boiler loop with two circuits on close tees, radiators upstairs and fan coils, each with its call."""
    board = _board()
    board.body("heating", {"kind": "water"}, fill_pressure="15 psi")
    both = {"any": ["TH-1", "TH-2"]}
    for name in ("TH-1", "TH-2"):
        board.item(name, "thermostat", set_temperature="68 degF", differential="2 delta_degF", call=True)
    _boiler(board, both)
    _pump(board, "P-1", both, 14, 16)
    _valves(board, "V-1", "V-2", "V-3", "V-4", "V-5", "V-6")
    for name, *ends in (
        ("J-1", "RV-1", "TG-1"),
        ("J-2", "ET-1", "PG-1"),
        ("J-3", "D-1"),
        ("J-4", "TG-2"),
        ("A-1",),
        ("A-2",),
        ("C-1",),
        ("C-2",),
    ):
        _tee(board, name, *ends)
    _line(board, "B-1", "J-1", "V-1", "AS-1", "J-2")
    _line(board, "J-2", "P-1", straight="2 ft")
    _line(board, "P-1", "V-2", "A-1", length="3 ft")
    _line(board, "A-1", "A-2", length="3 in")
    _line(board, "A-2", "C-1", length="4 ft")
    _line(board, "C-1", "C-2", length="3 in")
    _line(board, "C-2", "J-4", "DS-1", "PS-1", "J-3", "B-1", length="3 ft")
    _circuit(board, ("A-1", "A-2"), ("P-2", "CV-1", "CV-2"), ("V-3", "V-4"), "RA-1", "TH-1", "10 ft")
    _circuit(board, ("C-1", "C-2"), ("P-3", "CV-3", "CV-4"), ("V-5", "V-6"), "RA-2", "TH-2", "0 ft")
    board.case("Design night", outdoor="5 degF", signals={"TH-1": True, "TH-2": True})
    board.case("One zone", outdoor="40 degF", signals={"TH-1": True, "TH-2": False})
    board.case("Off", outdoor="70 degF", signals={"TH-1": False, "TH-2": False})
    return _data(board, "Close tees")


def _circuit(
    board: Board,
    tees: tuple[str, str],
    moving: tuple[str, str, str],
    valves: tuple[str, str],
    radiator: str,
    call: str,
    height: str,
) -> None:
    pump, check, back = moving
    _pump(board, pump, call, 8, 8)
    for name in (check, back):
        board.item(name, "check_valve", cv=20, size="1 in", opens_at="0.4 psi")
    board.item(radiator, "radiator", height=height, **RADIATOR)
    purge = board.item(f"PS-{radiator}", "purge_set", cv=30, open=True)
    tee = {"tube": THREE_QUARTER}
    _line(board, tees[0], valves[0], pump, check, valves[1], radiator, length="3 ft", **tee)
    _line(board, radiator, purge, back, tees[1], length="3 ft", **tee)


def two_tanks() -> Data:
    """Two electric tanks side by side on like pipes, feeding taps behind a mixing valve."""
    board = _board()
    board.body("potable", {"kind": "water"}, "potable")
    board.item("CM-1", "cold_main", pressure="60 psi", temperature="50 degF")
    board.item("ST-1", "strainer", cv=20, size="1 in")
    board.item("CV-1", "check_valve", cv=20, size="1 in", opens_at="0.3 psi")
    board.item("ET-1", "expansion_tank", volume="8 gal", acceptance="6 gal", precharge="60 psi", potable=True)
    board.item("MV-1", "mixing_valve", cv=6, set_temperature="120 degF", checks=True, duty="master")
    board.item("MV-2", "mixing_valve", cv=3, set_temperature="105 degF", checks=True, duty="point_of_use")
    board.item("F-1", "fixture", flow="3 gpm", set_temperature="105 degF", fixture_type="shower")
    board.item("TG-1", "thermometer")
    _valves(board, "V-1", "V-2", "V-3", "V-4", "V-5")
    for n in (1, 2):
        board.item(
            f"T-{n}",
            "tank",
            volume="50 gal",
            tall="4 ft",
            taps={"hot": "3.9 ft", "cold": "4 in", "top": "4 ft", "bottom": "0 ft"},
            element="4.5 kW",
            ua_loss="3 Btu/h/degF",
            max_pressure="150 psi",
            max_temperature="210 degF",
            high_limit="170 degF",
            potable_listed=True,
        )
        board.item(
            f"RV-{n}",
            "relief_valve",
            set_pressure="150 psi",
            set_temperature="210 degF",
            capacity="100 kBtu/h",
            inlet_size="3/4 in",
            discharge="full size to the floor drain, air gap",
            senses_tank_top=True,
        )
        board.item(f"D-{n}", "drain")
        board.chain(f"T-{n}:top", f"RV-{n}", tube=THREE_QUARTER, length="1 in")
        board.chain(f"T-{n}:bottom", f"D-{n}", tube=THREE_QUARTER, length="3 in")
    _tee(board, "J-1", "ET-1")
    for name in ("J-2", "J-3", "J-4"):
        _tee(board, name)
    _tee(board, "J-5", "TG-1")
    for one in (
        ("CM-1", "V-1"),
        ("V-1", "ST-1"),
        ("ST-1", "CV-1"),
        ("CV-1", "J-1"),
        ("J-1", "J-2"),
        ("J-2", "J-3"),
    ):
        board.chain(*one, tube=COPPER, length="2 ft")
    for n in (1, 2):
        board.chain("J-3", f"V-{n + 1}", f"T-{n}:cold", tube=COPPER, length="3 ft")
        _line(board, f"T-{n}:hot", f"V-{n + 3}", "J-4", length="3 ft")
    _line(board, "J-4", "MV-1:hot")
    board.chain("J-2", "MV-1:cold", tube=THREE_QUARTER, length="3 ft")
    _line(board, "MV-1:mixed", "J-5", "MV-2:hot", tube=HALF, length="3 ft")
    _tee(board, "J-6")
    board.chain("MV-2:mixed", "F-1:hot", tube=HALF, length="3 ft")
    board.chain("J-6", "MV-2:cold", tube=HALF, length="3 ft")
    board.chain("J-1", "J-6", tube=HALF, length="4 ft")
    board.case(
        "Shower", outdoor="30 degF", draws={"F-1": "3 gpm"}, tanks={"T-1": "140 degF", "T-2": "140 degF"}
    )
    return _data(board, "Two tanks")
