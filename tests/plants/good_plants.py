"""Plants in which an expert finds nothing to mend: faults are edits of them, one at a time.

`whole_house` has all there is: drinking water with storage, circulation and mixing valves, a boiler with a
heated floor, and snow-melt in glycol behind an exchanger. All of it is our own invention.
"""

from __future__ import annotations

from typing import Any

from tests.plants.edits import Data
from tests.support.builders import Board

LAGGED = {"thickness": "3/4 in", "conductivity": "0.036 W/m/K"}
VALVE = {"cv": 40, "size": "1 in", "open": True}
SMALL_VALVE = {"cv": 15, "size": "1/2 in", "open": True}
COPPER = {"material": "copper_l", "size": "1 in"}
HALF = {"material": "copper_l", "size": "1/2 in"}
THREE_QUARTER = {"material": "copper_l", "size": "3/4 in"}


def curve(head: float, run_out: float) -> list[list[str]]:
    """A circulator's curve that falls a little faster as the flow grows."""
    return [
        ["0 gpm", f"{head} ft_head"],
        [f"{0.5 * run_out} gpm", f"{0.75 * head} ft_head"],
        [f"{run_out} gpm", f"{0.1 * head} ft_head"],
    ]


def whole_house() -> Data:
    """Drinking water, boiler, heated floor and snow-melt, all complete."""
    board = Board({"kind": "water"}, outdoor_design="5 degF", cold_water="50 degF", indoor="68 degF")
    board.systems.clear()
    board.body("potable", {"kind": "water"}, "potable")
    board.body("heating", {"kind": "water"}, fill_pressure="15 psi")
    board.body("melt", {"kind": "propylene_glycol", "fraction": 0.4}, fill_pressure="20 psi")
    _controls(board)
    _cold_water(board)
    _hot_water(board)
    _boiler(board)
    _fill(board)
    _floor(board)
    _tank_charge(board)
    _melt(board)
    _cases(board)
    return {**board.data(), "title": "Whole house", "units": "us"}


def _pipes(
    board: Board, *stops: str, tube: dict[str, str] = COPPER, length: str = "2 ft", **keys: Any
) -> None:
    board.chain(*stops, tube=tube, length=length, insulation=LAGGED, **keys)


def _cold(board: Board, *stops: str, tube: dict[str, str] = THREE_QUARTER, length: str = "2 ft") -> None:
    board.chain(*stops, tube=tube, length=length)


def _tee(board: Board, joint: str, *ends: str) -> str:
    """A joint on the way with what hangs on it by a short stub."""
    board.item(joint, "joint")
    for end in ends:
        board.chain(joint, end, tube=THREE_QUARTER, length="3 in")
    return joint


def _valves(board: Board, *names: str, small: bool = False) -> None:
    for name in names:
        board.item(name, "shutoff", **(SMALL_VALVE if small else VALVE))


def _controls(board: Board) -> None:
    board.item("R-1", "room", loss="150 Btu/h/degF", gain="0 Btu/h", wanted="68 degF", mass="9 MJ/K")
    board.item(
        "TH-1",
        "thermostat",
        senses=["R-1"],
        set_temperature="68 degF",
        differential="2 delta_degF",
        call=True,
    )
    board.item(
        "AQ-1",
        "aquastat",
        senses=["CT-1", "mid"],
        set_temperature="140 degF",
        differential="8 delta_degF",
        call=True,
    )
    board.item("SW-1", "switch", call=True)
    board.item("SW-2", "switch", on=True)


def _cold_water(board: Board) -> None:
    """Main, strainer, reducer, then cold outlets, make-up and hot water."""
    board.system = "potable"
    board.item("CM-1", "cold_main", pressure="75 psi", temperature="50 degF")
    board.item("ST-1", "strainer", cv=20, size="1 in", potable_listed=True)
    board.item("PR-1", "pressure_reducer", set_pressure="50 psi")
    board.item("PG-1", "gauge")
    board.item("F-4", "fixture", flow="5 gpm", fixture_type="hose_bibb")
    board.item("VB-1", "vacuum_breaker")
    _valves(board, "V-1")
    _tee(board, "J-1", "PG-1")
    _tee(board, "J-2")
    _tee(board, "J-3", "VB-1")
    _tee(board, "J-4")
    _cold(board, "CM-1", "V-1", "ST-1", "PR-1", "J-1", "J-2")
    _cold(board, "J-2", "J-4", "J-3", "F-4:cold", tube=HALF)


def _hot_water(board: Board) -> None:
    """Storage at 140 degF behind a check, a master valve, circulation, and a valve at the shower."""
    board.item(
        "CT-1",
        "coil_tank",
        volume="60 gal",
        tall="5 ft",
        taps={"hot": "4.9 ft", "cold": "4 in", "top": "5 ft", "bottom": "0 ft"},
        sensors={"mid": "2.5 ft"},
        ua_loss="3 Btu/h/degF",
        coil_ua="1500 Btu/h/degF",
        coil_drops=[["6 gpm", "2 psi"]],
        coil_heights={"coil_in": "3 ft", "coil_out": "1 ft"},
        max_pressure="150 psi",
        max_temperature="210 degF",
        potable_listed=True,
    )
    board.item("CV-1", "check_valve", cv=12, size="3/4 in", opens_at="0.3 psi")
    board.item(
        "ET-1", "expansion_tank", volume="4.4 gal", acceptance="3.2 gal", precharge="50 psi", potable=True
    )
    board.item(
        "RV-1",
        "relief_valve",
        set_pressure="150 psi",
        set_temperature="210 degF",
        capacity="200 kBtu/h",
        inlet_size="3/4 in",
        discharge="full size, falling to 4 in above the floor drain, air gap",
        senses_tank_top=True,
    )
    board.item("MV-1", "mixing_valve", cv=4, set_temperature="126 degF", checks=True, duty="master")
    board.item("MV-2", "mixing_valve", cv=2, set_temperature="105 degF", checks=True, duty="point_of_use")
    board.item("F-1", "fixture", flow="2 gpm", set_temperature="105 degF", fixture_type="shower")
    board.item("F-2", "fixture", flow="1.5 gpm", set_temperature="105 degF", fixture_type="kitchen_sink")
    board.item("P-5", "circulator", curve=curve(6, 3), body="bronze", run_when="SW-2", shaft="horizontal")
    board.item("CV-5", "check_valve", cv=6, size="1/2 in", opens_at="0.3 psi")
    for name, kind in (("TG-1", "thermometer"), ("D-1", "drain"), ("D-3", "drain")):
        board.item(name, kind)
    _valves(board, "V-2", "V-3", "V-4")
    _valves(board, "V-5", "V-6", small=True)
    for name, *ends in (("J-5", "ET-1"), ("J-6",), ("J-7", "TG-1"), ("J-8",), ("J-9",), ("J-10",), ("J-40",)):
        _tee(board, name, *ends)
    _cold(board, "J-2", "V-2", "CV-1", "J-5", "J-6", "CT-1:cold")
    _cold(board, "J-6", "V-4", "MV-1:cold")
    _cold(board, "CT-1:top", "RV-1", length="1 in")
    _cold(board, "CT-1:bottom", "D-1", length="3 in")
    warm = {"tube": THREE_QUARTER, "length": "4 ft"}
    _pipes(board, "CT-1:hot", "V-3", "MV-1:hot", **warm)
    _pipes(board, "MV-1:mixed", "J-7", "J-8", "J-9", "J-10", **warm)
    _pipes(board, "J-9", "MV-2:hot", "F-1:hot", tube=HALF, length="3 ft")
    board.pipes[-1].update({"from": ["MV-2", "mixed"]})
    _pipes(board, "J-10", "F-2:hot", tube=HALF, length="3 ft")
    _pipes(board, "J-10", "V-5", "P-5", "CV-5", "V-6", "J-6", tube=HALF, length="6 ft")
    _cold(board, "J-4", "J-40", "F-2:cold", tube=HALF, length="4 ft")
    _cold(board, "J-40", "MV-2:cold", tube=HALF, length="3 ft")
    _cold(board, "J-8", "D-3", tube=HALF, length="3 in")


def _boiler(board: Board) -> None:
    """Boiler with its own relief, air separator, tank at the pumps' suction, header and return."""
    board.system = "heating"
    board.item(
        "B-1",
        "boiler",
        capacity="110 kBtu/h",
        min_output="10 kBtu/h",
        set_temperature="165 degF",
        differential="12 delta_degF",
        water_content="2 gal",
        condensing=True,
        condensate="through a neutralizer to the floor drain",
        efficiency=0.93,
        drops=[["8 gpm", "2 psi"]],
        run_when={"any": ["TH-1", "AQ-1", "SW-1"]},
        max_pressure="50 psi",
        max_temperature="210 degF",
        high_limit="200 degF",
        low_water_cutoff=True,
        flow_switch=True,
        ferrous=False,
    )
    board.item(
        "RV-2",
        "relief_valve",
        set_pressure="30 psi",
        capacity="300 kBtu/h",
        inlet_size="3/4 in",
        discharge="full size, falling to the floor drain, air gap",
    )
    board.item("AS-1", "air_separator", cv=40, size="1 in")
    board.item("AV-1", "air_vent")
    board.item("ET-2", "expansion_tank", volume="4.4 gal", acceptance="2.5 gal", precharge="15 psi")
    board.item("DS-1", "dirt_separator", cv=40, size="1 in")
    board.item("PS-1", "purge_set", cv=30, open=True)
    for name, kind in (("PG-2", "gauge"), ("TG-2", "thermometer"), ("TG-3", "thermometer"), ("D-2", "drain")):
        board.item(name, kind)
    _valves(board, "V-10", "V-11")
    for name, *ends in (
        ("J-11", "RV-2"),
        ("J-12", "TG-2"),
        ("J-13",),
        ("J-14", "PG-2"),
        ("J-15",),
        ("J-16",),
        ("J-17", "TG-3"),
        ("J-18", "D-2"),
        ("J-19", "AV-1"),
        ("J-20",),
    ):
        _tee(board, name, *ends)
    board.chain("J-13", "ET-2", tube=THREE_QUARTER, length="6 in")
    _pipes(
        board, "B-1", "J-11", "J-12", "V-10", "AS-1", "J-19", "J-13", "J-14", "J-15", "J-16", length="1 ft"
    )
    _pipes(board, "J-20", "J-17", "DS-1", "PS-1", "V-11", "J-18", "B-1", length="2 ft")


def _fill(board: Board) -> None:
    """Make-up to the expansion tank's tee: stop, preventer of reduced pressure, fill valve, check, stop."""
    board.system = "potable"
    board.item("BP-1", "backflow_preventer", drops=[["2 gpm", "5 psi"]], **{"class": "reduced_pressure"})
    board.item("FV-1", "fill_valve", set_pressure="15 psi")
    board.item("CV-2", "check_valve", cv=6, size="1/2 in")
    _valves(board, "V-12", "V-13", small=True)
    _cold(board, "J-1", "V-12", "BP-1", tube=HALF)
    board.system = "heating"
    _cold(board, "BP-1", "FV-1", "CV-2", "V-13", "J-13", tube=HALF)


def _zone(
    board: Board, pump: str, check: str, valves: tuple[str, str], size: tuple[float, float], call: Any
) -> None:
    board.item(
        pump,
        "circulator",
        curve=curve(*size),
        body="cast_iron",
        shaft="horizontal",
        run_when=call,
        watts="60 W",
    )
    board.item(check, "check_valve", cv=20, size="1 in", opens_at="0.3 psi")
    _valves(board, *valves)


def _floor(board: Board) -> None:
    """Slab at 100 degF behind a three-way valve, its pump stopped by a limit on the supply."""
    board.system = "heating"
    _zone(board, "P-1", "CV-3", ("V-14", "V-15"), (18, 12), {"all": ["TH-1", {"not": "AQ-2"}]})
    board.item("TV-1", "three_way_valve", cv=8, target="100 degF")
    board.item("TG-4", "thermometer")
    board.item(
        "FC-1",
        "floor_circuit",
        area="600 ft2",
        construction="slab",
        tube={"material": "pex", "size": "1/2 in"},
        loops=[[4, "220 ft"]],
        spacing="9 in",
        output_per_degree="420 Btu/h/degF",
        serves="R-1",
        oxygen_barrier=True,
    )
    board.item("PS-2", "purge_set", cv=30, open=True)
    _tee(board, "J-21", "TG-4")
    _tee(board, "J-22")
    _pipes(board, "J-15", "TV-1:a")
    pump_side = ["TV-1:ab", "V-14", "P-1", "V-15", "CV-3", "J-21", "FC-1", "PS-2", "J-22"]
    _pipes(board, *pump_side)
    _pipes(board, "J-22", "TV-1:b", length="1 ft")
    _pipes(board, "J-22", "J-20")
    sensed = next(p["id"] for p in board.pipes if p["from"] == ["CV-3", "out"])
    board.item(
        "AQ-2",
        "aquastat",
        senses=[sensed],
        set_temperature="120 degF",
        differential="10 delta_degF",
        makes_on="rise",
    )


def _tank_charge(board: Board) -> None:
    board.system = "heating"
    _zone(board, "P-2", "CV-4", ("V-16", "V-17"), (14, 14), "AQ-1")
    _pipes(board, "J-16", "V-16", "P-2", "CV-4", "V-17", "CT-1:coil_in")
    _pipes(board, "CT-1:coil_out", "J-20")


def _melt(board: Board) -> None:
    """Glycol behind an exchanger; both pumps run on the one switch, so that neither side stands."""
    board.system = "heating"
    _zone(board, "P-3", "CV-6", ("V-18", "V-19"), (14, 14), "SW-1")
    board.item("ST-2", "strainer", cv=30, size="1 in")
    board.item(
        "HX-1",
        "exchanger",
        ua="3000 Btu/h/degF",
        double_wall=False,
        max_pressure="150 psi",
        water_content="0.4 gal",
        a_drops=[["6 gpm", "2 psi"]],
        b_drops=[["8 gpm", "3 psi"]],
    )
    for name in ("SV-1", "SV-2", "SV-3", "SV-4"):
        board.item(name, "service_valve", **VALVE)
    _pipes(board, "J-16", "V-18", "P-3", "CV-6", "V-19", "ST-2", "SV-1", "HX-1:a_in")
    _pipes(board, "HX-1:a_out", "SV-2", "J-20")
    board.system = "melt"
    board.item(
        "P-4", "circulator", curve=curve(24, 18), body="cast_iron", shaft="horizontal", run_when="SW-1"
    )
    board.item("AS-2", "air_separator", cv=40, size="1 in")
    board.item("ET-3", "expansion_tank", volume="4.4 gal", acceptance="2.5 gal", precharge="20 psi")
    board.item(
        "RV-3",
        "relief_valve",
        set_pressure="50 psi",
        capacity="200 kBtu/h",
        inlet_size="3/4 in",
        discharge="full size into a glycol can, open end in sight",
    )
    board.item("PS-3", "purge_set", cv=30, open=True)
    for name, kind in (("PG-3", "gauge"), ("TG-5", "thermometer"), ("AV-2", "air_vent")):
        board.item(name, kind)
    _valves(board, "V-20", "V-21")
    board.item(
        "MC-1",
        "melt_circuit",
        area="200 ft2",
        tube={"material": "pex", "size": "3/4 in"},
        loops=[[4, "150 ft"]],
        spacing="9 in",
        output_per_degree="300 Btu/h/degF",
        room_temperature="33 degF",
        load="20 kBtu/h",
        oxygen_barrier=True,
    )
    for name, *ends in (("J-30", "RV-3", "TG-5"), ("J-31", "ET-3", "AV-2"), ("J-32", "PG-3")):
        _tee(board, name, *ends)
    _pipes(
        board,
        "HX-1:b_out",
        "J-30",
        "SV-3",
        "AS-2",
        "J-31",
        "J-32",
        "V-20",
        "P-4",
        "V-21",
        "MC-1",
        "PS-3",
        "SV-4",
        "HX-1:b_in",
    )


def _cases(board: Board) -> None:
    board.case(
        "Design night",
        outdoor="5 degF",
        signals={"TH-1": True, "AQ-1": False, "SW-1": False, "SW-2": True, "AQ-2": False},
        tanks={"CT-1": "141 degF"},
        season="winter",
        hours_per_year=500,
    )
    board.case(
        "Snowfall",
        outdoor="25 degF",
        signals={"TH-1": True, "AQ-1": False, "SW-1": True, "SW-2": True, "AQ-2": False},
        tanks={"CT-1": "141 degF"},
        season="winter",
        hours_per_year=100,
    )
    board.case(
        "Morning",
        outdoor="40 degF",
        signals={"TH-1": False, "AQ-1": True, "SW-1": False, "SW-2": True, "AQ-2": False},
        draws={"F-1": "2 gpm", "F-2": "1 gpm", "F-4": "0 gpm"},
        tanks={"CT-1": "140 degF"},
        season="summer",
        hours_per_year=1000,
    )
    board.case(
        "Watering",
        outdoor="80 degF",
        signals={"TH-1": False, "AQ-1": False, "SW-1": False, "SW-2": True, "AQ-2": False},
        draws={"F-4": "4 gpm"},
        tanks={"CT-1": "140 degF"},
        season="summer",
        hours_per_year=200,
    )
