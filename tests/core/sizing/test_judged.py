"""Faults found from outside, each a small plant with an answer by hand."""

from __future__ import annotations

import math
from typing import Any

import pytest

from core.files.read import from_data
from core.sizing.everything import size
from core.sizing.result import Sized
from core.sizing.table import rows
from core.working import Display
from tests.support.builders import CP, Board


def one(sized: list[Sized], at: str, what: str) -> Sized:
    return next(s for s in sized if (s.at, s.what) == (at, what))


def radiator_loop(**boiler: Any) -> Board:
    """A boiler set at 60 °C, water round a radiator of 300 W/K in a room of 20 °C."""
    board = Board()
    board.item("B", "boiler", set_temperature="60 degC", **boiler)
    board.item("P", "circulator", curve=[["0 L/s", "4 m_head"], ["0.8 L/s", "0 m_head"]])
    board.item("R", "radiator", ua="300 W/K", room_temperature="20 degC", load="9 kW")
    board.item("S", "shutoff", cv=4.0)
    board.ring("B", "P", "R", "S")
    return board


def test_heaters_are_counted_by_what_circuits_take_when_served_in_full() -> None:
    board = radiator_loop(capacity="6 kW", min_output="1 kW")
    plant = from_data(board.data())
    sized = size(plant)
    asked = one(sized, "B", "heaters").working
    flow = abs(board.solve().items["R"]["flow_m3_s"])
    rate = flow * 1000.0 * CP
    full = rate * -math.expm1(-300.0 / rate) * 40.0
    assert asked is not None
    heat = next(part for _, part in asked.walk() if part.words.startswith("heat asked"))
    assert heat.value == pytest.approx(full, rel=0.01)
    assert "need 2 of" in one(sized, "B", "heaters").words


def test_an_emitter_without_pipes_does_not_lose_the_rest() -> None:
    board = radiator_loop(capacity="20 kW")
    board.item("R9", "radiator", ua="300 W/K", load="2 kW")
    sized = size(from_data(board.data()))
    assert one(sized, "R9", "design_flow").missing
    assert one(sized, "R", "design_flow").value


def test_a_fluid_whose_swelling_is_not_known_wants_no_tank_below_nothing() -> None:
    board = radiator_loop(capacity="20 kW")
    answer = one(size(from_data(board.data())), "B", "expansion_tank")
    assert answer.value is None
    assert "expansion is not given" in answer.missing[0]


def test_a_return_behind_a_check_valve_feeds_no_outlet() -> None:
    board = Board(use="potable")
    board.item("CM", "cold_main", pressure="4 bar")
    taps = {"cold": "0.1 m", "hot": "1.2 m", "return": "0.5 m"}
    board.item("T", "tank", volume="150 L", tall="1.3 m", taps=taps)
    board.item("J", "joint")
    board.item("F", "fixture", flow="6 L/min")
    board.item("P", "circulator", curve=[["0 L/s", "2 m_head"], ["0.2 L/s", "0 m_head"]])
    board.item("CV", "check_valve", cv=3.0)
    board.chain("CM", "T:cold")
    supply = board.chain("T:hot", "J")
    board.chain("J", "F:hot")
    back = board.chain("J", "P", "CV", "T:return")
    board.case("rest", tanks={"T": "55 degC"})
    sized = size(from_data(board.data()))
    fed = {s.at for s in sized if s.what == "potable_branch"}
    assert set(supply) <= fed
    assert not set(back) & fed


@pytest.mark.parametrize(("units", "unit", "figure"), [("us", "lb/h", "68.2"), ("si", "kg/h", "31")])
def test_steam_is_no_time_but_a_mass_by_the_hour(units: Display, unit: str, figure: str) -> None:
    data = radiator_loop(capacity="20 kW").data()
    data["units"] = units
    sized = one(size(from_data(data)), "B", "relief_capacity")
    table = dict(zip(*rows(sized, units)[:2], strict=True))
    assert table[f"steam {unit}"] == figure  # 20 kW are 68.2 kBtu/h


def test_a_boiler_without_least_output_follows_any_call() -> None:
    sized = size(from_data(radiator_loop(capacity="40 kW").data()))
    for what in ("least_output", "buffer"):
        answer = one(sized, "B", what)
        assert "no props.min_output is given, which counts as 0" in answer.words
        assert not answer.missing
    assert one(sized, "B", "buffer").value == 0.0


def balanced(head: str) -> Sized:
    """A valve wide open before one of two loads side by side; the circulator's head at rest."""
    board = Board(fluid={"kind": "water"})
    board.item("P", "circulator", curve=[["0 L/s", head], ["1.5 L/s", "0 m_head"]])
    board.item("B", "boiler", set_temperature="60 degC", capacity="40 kW", drops=[["0.3 L/s", "10 kPa"]])
    board.item("J", "joint")
    board.item("K", "joint")
    board.item("BV", "balance_valve", cv=6.0)
    board.item("L1", "load", load="10.56 kW", drops=[["0.3 L/s", "10 kPa"]])
    board.item("L2", "load", load="13.31 kW", drops=[["0.5 L/s", "25 kPa"]])
    board.chain("K", "P", "B", "J", "BV", "L1", "K")
    board.chain("J", "L2", "K")
    return one(size(from_data(board.data())), "BV", "balance")


def test_a_branch_is_not_short_of_the_very_flow_it_has() -> None:
    """Cold water before the boiler takes less room: by one flow all round 0.2 % of the head seem to lack."""
    served = balanced("8 m_head")
    assert "short" not in served.words
    assert served.value == 1.0


def test_a_branch_is_short_where_the_circulator_is_too_weak() -> None:
    assert "short" in balanced("0.2 m_head").words


def test_heat_pumps_are_counted_at_the_supply_that_serves_in_full() -> None:
    """A starved heat pump gives more at its cool supply than at the supply asked of it."""
    board = Board()
    table = [["-10 degC", "35 degC", "6 kW", "2 kW"], ["-10 degC", "55 degC", "5 kW", "2.5 kW"]]
    board.item("HP", "heat_pump", set_temperature="60 degC", table=table)
    board.item("P", "circulator", curve=[["0 L/s", "4 m_head"], ["0.8 L/s", "0 m_head"]])
    board.item("R", "radiator", ua="300 W/K", room_temperature="20 degC")
    board.item("S", "shutoff", cv=4.0)
    board.ring("HP", "P", "R", "S")
    answer = one(size(from_data(board.data())), "HP", "heaters")
    assert "of 5.00 kW" in answer.words
    assert answer.value == 3.0


def coil_behind_plates(ua: str, **design: Any) -> Board:
    """60 °C from a boiler, plates, a coil of 600 W/K that wants 8 kW at 20 °C; both waters at a set flow."""
    board = Board()
    board.item("B", "boiler", set_temperature="60 degC", capacity="100 kW")
    board.item("HX", "exchanger", ua=ua)
    for name, limit in (("1", "0.3 L/s"), ("2", "0.4 L/s")):
        board.item(f"P{name}", "circulator", curve=[["0 L/s", "20 m_head"], ["2 L/s", "0 m_head"]])
        board.item(f"S{name}", "balance_valve", cv=50.0, set_flow=limit)
    board.ring("B", "P1", "S1", "HX:a_in>a_out")
    board.body("b")
    board.item("F", "fan_coil", ua="600 W/K", room_temperature="20 degC", load="8 kW")
    board.ring("P2", "S2", "HX:b_in>b_out", "F")
    return board


def least_by_hand(supply: float, wanted: float = 0.995 * 8000.0) -> float:
    """UA whose plates just give the coil what it wants: outlets by the heats, then the log mean."""
    hot, cold = 0.3e-3 * 1000.0 * CP, 0.4e-3 * 1000.0 * CP
    warm = 20.0 + wanted / (cold * -math.expm1(-600.0 / cold))
    ends = supply - warm, supply - wanted / hot - (warm - wanted / cold)
    return wanted / ((ends[0] - ends[1]) / math.log(ends[0] / ends[1]))


@pytest.mark.parametrize("drawn", ["150 W/K", "1500 W/K", "60000 W/K"])
def test_the_least_ua_serves_in_every_case_not_only_where_most_is_wanted(drawn: str) -> None:
    board = coil_behind_plates(drawn)
    for name, outdoor in (("design", "-10 degC"), ("mild", "5 degC")):
        board.case(name, outdoor=outdoor)
    flat = one(size(from_data(board.data()), ["HX"]), "HX", "exchanger")
    assert flat.value == pytest.approx(least_by_hand(60.0), rel=0.015)

    board.item("OR", "outdoor_reset", line=[["-10 degC", "60 degC"], ["5 degC", "50 degC"]], sets="B")
    mild = one(size(from_data(board.data()), ["HX"]), "HX", "exchanger")
    assert least_by_hand(50.0) > 1.5 * least_by_hand(60.0)
    assert mild.value == pytest.approx(least_by_hand(50.0), rel=0.015)
    assert mild.case == "mild"


def test_water_that_is_never_warm_enough_is_cured_by_no_size() -> None:
    board = coil_behind_plates("1500 W/K")
    board.items["B"]["props"]["set_temperature"] = "32 degC"
    found = one(size(from_data(board.data()), ["HX"]), "HX", "exchanger")
    assert "no larger one cures it" in found.words


def hot_return(head: str) -> Board:
    """A tank at 60 °C, 20 m of tube to a fixture and 20 m back, 0.3 W/m/K, round 20 °C; nothing drawn."""
    board = Board(use="potable")
    board.item("CM", "cold_main", pressure="3 bar")
    board.item("T", "tank", volume="200 L", taps={"cold": "0.1 m", "hot": "1 m", "return": "0.8 m"})
    board.item("J", "joint")
    board.item("F", "fixture", flow="0.1 L/s")
    board.item("P", "circulator", curve=[["0 L/s", head], ["1 L/s", "0 m_head"]], integral_check=True)
    tube = {"material": "copper_l", "size": "1/2 in"}
    for start, end, ident, length in (
        ("CM:at", "T:cold", "L-c", 1.0), ("T:hot", "J:at", "L-s", 20.0), ("J:at", "F:hot", "L-f", 0.0),
        ("J:at", "P:in", "L-p", 0.0), ("P:out", "T:return", "L-r", 20.0),
    ):  # fmt: skip
        board.pipe(start, end, ident, length=length, tube=tube, insulation={"loss": "0.3 W/m/K"})
    return board.case("quiet", tanks={"T": "60 degC"})


def test_a_return_is_sized_for_its_need_whatever_pump_is_drawn() -> None:
    weak = one(size(from_data(hot_return("0.2 m_head").data()), ["L-r", "P"]), "L-r", "tube")
    found = size(from_data(hot_return("20 m_head").data()), ["L-r", "P"])
    strong = one(found, "L-r", "tube")
    drop = one(found, "P", "recirculation").working
    assert drop is not None
    kelvin = float(drop.inputs[3].value)
    need = 0.3 * 40.0 * (60.0 - kelvin / 2.0 - 20.0) / (1000.0 * CP * kelvin)
    assert one(found, "P", "design_flow").value == pytest.approx(need, rel=1e-3)
    assert strong.chosen == weak.chosen == "1/2 in Type L copper"
    assert "The pump drawn moves" in strong.words
    assert "wears the tube away" in strong.words
    assert "wears" not in weak.words


def test_a_water_heater_of_50_gal_swells_as_steam_tables_and_steel_say() -> None:
    """From 50 to 140 °F at 60 psi, relief at 150 psi: IAPWS volumes, steel 6.5e-6 a °F (ASHRAE), Boyle."""
    from iapws import IAPWS97

    board = Board({"kind": "water"}, use="potable", cold_water="50 degF")
    board.item("CM", "cold_main", pressure="60 psi")
    board.item("CV", "check_valve")
    board.item("T", "tank", volume="50 gal", taps={"cold": "1 ft", "hot": "4 ft"})
    board.item("ET", "expansion_tank", volume="2 gal", precharge="60 psi", potable=True)
    board.item("RV", "relief_valve", set_pressure="150 psi")
    for name in ("J", "J2"):
        board.item(name, "joint")
    board.chain("CM", "CV", "J")
    for ends in (("J:at", "T:cold"), ("J:at", "ET:at"), ("T:hot", "J2:at"), ("J2:at", "RV:at")):
        board.pipe(*ends)
    board.case("hot", tanks={"T": "140 degF"})
    cold, hot = (IAPWS97(T=t, P=0.5).v for t in (283.15, 333.15))
    taken = 50.0 * (hot / cold - 1.0 - 3.0 * 6.5e-6 * 90.0)
    least = taken / (1.0 - (60.0 + 14.696) / (0.9 * 150.0 + 14.696))
    found = one(size(from_data(board.data()), ["ET"]), "ET", "expansion_tank")
    assert float(found.value or 0.0) / 3.785411784e-3 == pytest.approx(least, rel=0.015)
