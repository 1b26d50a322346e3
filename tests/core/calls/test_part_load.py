"""A circuit as its load falls: flow and speed by hand, least speed, rooms, and stats that short-cycle."""

import pytest

from core.calls.part_load import part_load
from tests.support.builders import CP, Board, c, w
from tests.support.calling import plant_of


def circuit(**pump) -> Board:
    """Boiler at 60 degC, a load of 6 kW, a circulator that moves 0.5 L/s times its speed."""
    board = Board()
    board.drive()
    board.items["P-1"]["props"] |= {"control": "delta_t", "target": "10 K", **pump}
    board.item("B-1", "boiler", capacity=w(20e3), set_temperature=c(60.0), differential="8 K")
    board.item("LD-1", "load", load=w(6000.0))
    board.ring("B-1", "P-1", "S-1", "LD-1")
    board.case("Design", outdoor="-10 degC")
    return board


def test_flow_follows_the_load_down_to_the_least_speed():
    """10 K of 4 kJ/kg/K: 0.15 L/s at 6 kW, so speed 0.3; the least of 0.2 carries 4 kW at 10 K."""
    found = part_load(plant_of(circuit()), "P-1", shares=(1.0, 0.8, 0.5, 0.25, 0.0))
    full, most, half, quarter, none = found.points
    assert full.flow == pytest.approx(0.15e-3, rel=1e-3)
    assert full.speed == pytest.approx(0.3, rel=1e-3)
    assert (full.supply - 273.15, full.back - 273.15) == pytest.approx((60.0, 50.0), abs=0.02)
    assert most.flow == pytest.approx(0.8 * 0.15e-3, rel=1e-3)
    assert half.speed == pytest.approx(0.2)
    assert half.difference == pytest.approx(3000.0 / (0.1e-3 * 4e6), rel=1e-3)
    assert quarter.difference == pytest.approx(1500.0 / (0.1e-3 * 4e6), rel=1e-3)
    assert none.delivered == 0.0
    assert found.least_from == pytest.approx(4000.0 / 6000.0, abs=0.005)
    assert [point.outdoor - 273.15 for point in (full, half, none)] == pytest.approx([-10.0, 5.0, 20.0])


def test_a_narrow_band_on_the_circuit_short_cycles_with_its_figures():
    board = circuit(run_when="AQ-1")
    board.item("AQ-1", "aquastat", senses=["LD-1", "out"], set_temperature=c(50.0), differential="4 K")
    found = part_load(plant_of(board), "P-1", shares=(1.0, 0.5))
    cycles = {each.at: each for each in found.short_cycles}
    assert set(cycles) == {"AQ-1", "B-1"}
    assert cycles["AQ-1"].differential == 4.0
    assert cycles["AQ-1"].difference == pytest.approx(10.0, rel=1e-3)
    board.items["AQ-1"]["props"]["differential"] = "12 K"
    board.items["B-1"]["props"]["differential"] = "12 K"
    assert part_load(plant_of(board), "P-1", shares=(1.0,)).short_cycles == ()


def test_a_stat_that_feels_a_tank_does_not():
    board = Board()
    board.item("T-1", "tank", volume="0.3 m3", taps={"in": "1 m", "out": "0.1 m"})
    board.item("B-1", "boiler", capacity=w(8000.0), set_temperature=c(90.0), run_when="AQ-1")
    board.pump("P-1", 60e3, 1e-3, run_when="AQ-1")
    board.resistance("S-1", 0.5e-3, 30e3)
    board.item("AQ-1", "aquastat", senses=["T-1", "in"], set_temperature=c(60.0), differential="1 K")
    board.chain("B-1", "P-1", "S-1", "T-1:in>out", "B-1")
    board.case("x", tanks={"T-1": c(60.0)})
    found = part_load(plant_of(board), "P-1", shares=(1.0,))
    assert found.points[0].difference == pytest.approx(4.0, rel=0.01)
    assert found.short_cycles == ()


def test_what_gives_more_than_is_wanted_is_called_for_its_share():
    board = circuit()
    board.items["LD-1"]["kind"] = "radiator"
    board.items["LD-1"]["props"] = {"ua": "200.0 W/K", "room_temperature": "20 degC", "load": w(6000.0)}
    full, half = part_load(plant_of(board), "P-1", shares=(1.0, 0.5)).points
    assert full.called == pytest.approx(6000.0 / full.delivered)
    assert half.called == pytest.approx(full.called / 2, rel=1e-6)
    assert half.supply == pytest.approx(full.supply, abs=0.01)


def test_a_circulator_held_by_nothing_has_no_least_speed():
    found = part_load(plant_of(circuit(control="fixed")), "P-1", shares=(1.0, 0.5))
    assert found.least_from is None
    assert found.points[1].flow == pytest.approx(0.5e-3, rel=1e-3)
    assert found.points[1].difference == pytest.approx(3000.0 / (0.5e-3 * 4e6), rel=1e-3)


def test_heat_is_followed_through_an_exchanger_to_the_rooms_behind():
    """P-1 serves plates alone; behind them are a coil, and plates with another coil behind those."""
    board = circuit()
    del board.items["LD-1"]
    board.pipes.clear()
    for name in ("HX-1", "HX-2"):
        board.item(name, "exchanger", ua="2000 W/K")
    board.ring("B-1", "P-1", "S-1", "HX-1:a_in>a_out")
    for k, stops in ((2, ("HX-1:b_in>b_out", "FN-2", "HX-2:a_in>a_out")), (3, ("HX-2:b_in>b_out", "FN-3"))):
        board.body(f"body_{k}")
        board.drive(f"P-{k}", f"S-{k}")
        board.item(f"FN-{k}", "fan_coil", ua="150 W/K", serves=f"R-{k}")
        board.item(f"R-{k}", "room", loss="100 W/K", wanted="20 degC")
        board.ring(f"P-{k}", f"S-{k}", *stops)
    found = part_load(plant_of(board), "P-1", shares=(1.0, 0.5))
    assert found.circuits == ("FN-2", "FN-3")
    for point in found.points:
        assert set(point.rooms) == {"R-2", "R-3"}
        lost = sum(100.0 * (t - point.outdoor) for t in point.rooms.values())
        assert point.delivered == pytest.approx(lost, rel=1e-4)
        assert point.delivered == pytest.approx(point.flow * 1000.0 * CP * point.difference, rel=1e-3)
    assert part_load(plant_of(board), "P-2", shares=(1.0,)).circuits == ("FN-2", "FN-3")
    assert part_load(plant_of(board), "P-3", shares=(1.0,)).circuits == ("FN-3",)


def test_weather_and_temperatures_are_told_in_degrees_celsius():
    found = part_load(plant_of(circuit()), "P-1", shares=(1.0, 0.5))
    full, half = (point.as_data() for point in found.points)
    assert (full["outdoor_c"], half["outdoor_c"]) == pytest.approx((-10.0, 5.0))
    assert (full["supply_c"], full["return_c"]) == pytest.approx((60.0, 50.0), abs=0.02)


def test_the_circulator_before_a_separator_sees_the_circuits_behind_it():
    board = Board()
    board.drive("P-1", "S-1")
    board.drive("P-2", "S-2")
    board.item("B-1", "boiler", capacity=w(20e3), set_temperature=c(60.0))
    board.item("SP-1", "separator")
    board.item("LD-1", "load", load=w(6000.0))
    board.ring("P-1", "S-1", "B-1", "SP-1:a_in>a_out")
    board.ring("P-2", "S-2", "LD-1", "SP-1:b_in>b_out")
    board.case("Design", outdoor="-10 degC")
    for pump in ("P-1", "P-2"):
        found = part_load(plant_of(board), pump, shares=(1.0, 0.5))
        assert found.circuits == ("LD-1",)
        assert [point.wanted for point in found.points] == pytest.approx([6000.0, 3000.0])
