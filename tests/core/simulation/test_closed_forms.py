"""Runs against answers on paper: exponentials, the period of a stat, tanks in layers, exchangers."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest

from core.files.read import from_data
from core.simulation.engine import Simulation
from core.simulation.runs import chosen_run
from core.simulation.summary import summary_of
from core.simulation.trace import Trace
from tests.support.builders import RHO, Board
from tests.support.in_time import simulated

CP = 4000.0  # [J/kg/K]
RATE = 2000.0  # [W/K] of a ring that `drive` drives


def closed_tank(board: Board, ident: str, litres: float, nodes: int, **more: str) -> None:
    taps = {"hot": "1 m", "cold": "0 m"}
    board.item(ident, "tank", volume=f"{litres} L", nodes=nodes, tall="1 m", taps=taps, **more)


def test_a_room_without_heat_cools_by_the_exact_exponential() -> None:
    board = Board()
    board.item("R-1", "room", loss="200 W/K", mass="4 MJ/K", wanted="20 degC", gain="400 W")
    board.case(outdoor="-5 degC")
    got = simulated(board, 7.0, start={"R-1": "21 degC"})
    rest = -5 + 400 / 200
    assert got.states("R-1")[0] == pytest.approx(
        rest + (21 - rest) * math.exp(-7 * 3600 * 200 / 4e6), abs=1e-6
    )
    assert got.closes()


def test_a_slab_without_flow_cools_to_its_room_by_the_exact_exponential() -> None:
    """Without flow its mass loses through 0.7 of the resistance: time constant mass 0.7 / UA."""
    board = Board()
    board.drive()
    board.items["P-1"]["props"]["run_when"] = False
    board.item("B-1", "boiler", capacity="20 kW", set_temperature="40 degC")
    more = {"output_per_degree": "100 W/K", "mass": "2 MJ/K", "room_temperature": "20 degC"}
    board.item("FC-1", "floor_circuit", **more)
    board.ring("P-1", "S-1", "B-1", "FC-1")
    board.case()
    sim = simulated(board, 0.001).sim
    part = sim.layout.masses["FC-1"]
    sim.x[part.at] = 273.15 + 30.0
    sim.time, sim.end = 0.0, 2 * 3600.0
    sim.simulate()
    want = 20.0 + 10.0 * math.exp(-2 * 3600 * 100 / 0.7 / 2e6)
    assert sim.x[part.first] - 273.15 == pytest.approx(want, abs=1e-6)


def test_a_slab_warms_a_room_to_what_solve_says() -> None:
    board = Board()
    board.drive()
    board.item("B-1", "boiler", capacity="20 kW", set_temperature="40 degC")
    board.item("R-1", "room", loss="100 W/K", mass="1 MJ/K", wanted="20 degC")
    board.item("FC-1", "floor_circuit", output_per_degree="150 W/K", mass="2 MJ/K", serves="R-1")
    board.ring("P-1", "S-1", "B-1", "FC-1")
    board.case(outdoor="-10 degC")
    steady = board.solve()
    got = simulated(board, 150.0)
    assert got.states("R-1")[0] == pytest.approx(steady.items["R-1"]["temperature_c"], abs=0.05)
    assert got.now("emit", "FC-1") == pytest.approx(steady.items["FC-1"]["delivered_w"], rel=0.005)
    assert got.closes()


def heated_tank(load: float, power: float, nodes: int = 1, litres: float = 200.0) -> Board:
    """A tank between a boiler of fixed output, which its aquastat runs, and a load that never stops."""
    board = Board()
    board.drive("P-1", "S-1")
    board.item("B-1", "boiler", capacity=f"{power} W", set_temperature="95 degC", run_when="AQ-1")
    board.items["P-1"]["props"]["run_when"] = "AQ-1"
    board.pump("P-2", 60e3, 1e-3)
    board.resistance("S-2", 0.5e-3, 30e3)
    board.item("LD-1", "load", load=f"{load} W")
    board.item("BT-1", "buffer", volume=f"{litres} L")
    senses = ["BT-1", "a_in"]
    more = {"set_temperature": "60 degC", "differential": "8 K"}
    board.item("AQ-1", "aquastat", senses=senses, **more)
    board.ring("P-1", "S-1", "B-1", "BT-1:a_in>a_out")
    board.ring("P-2", "S-2", "LD-1", "BT-1:b_in>b_out")
    return board


def test_a_stat_cycles_by_the_closed_formula() -> None:
    """On for C band / (P - Q), off for C band / Q."""
    load, power, stored = 4000.0, 10000.0, 200.0 * CP  # 1 kg/L
    got = simulated(heated_tank(load, power).case(), 24.0)
    on, off = stored * 8 / (power - load), stored * 8 / load
    run = got.items["P-1"]
    assert run["shortest_run_s"] == pytest.approx(on, rel=1e-3)
    first = (60 - 60) * stored  # it starts at its set temperature: off at once, and then cools
    assert run["starts"] == int((24 * 3600 - first - off) // (on + off)) + 1
    assert got.tanks["BT-1"]["min_c"] == pytest.approx(52.0, abs=0.02)
    assert got.tanks["BT-1"]["max_c"] == pytest.approx(60.0, abs=0.02)
    assert got.tanks["BT-1"]["recovery_s"] == pytest.approx(on, rel=1e-3)
    assert got.closes()


def drawn_tank(nodes: int) -> Board:
    """A main, a tank of 100 L that stands at 60 degC, and a tap that draws its hot water."""
    board = Board(use="potable")
    board.item("CM-1", "cold_main", pressure="300 kPa", temperature="10 degC")
    closed_tank(board, "T-1", 100.0, nodes)
    board.item("F-1", "fixture")
    board.pipe("CM-1:at", "T-1:cold")
    board.pipe("T-1:hot", "F-1:hot")
    return board


@pytest.mark.parametrize("nodes", [1, 5, 20])
def test_a_drawn_tank_cools_as_tanks_in_series(nodes: int) -> None:
    """Cold comes in at the lowest layer: T_top = T_c + (T_0 - T_c) e^-a sum a^k/k!, a = n V_drawn / V."""
    board = drawn_tank(nodes).case(draws={"F-1": "0.05 L/s"}, start={"T-1": "60 degC"}, lasts="1 h")
    seconds = 1500.0
    got = simulated(board, seconds / 3600.0)
    a = nodes * 0.05 * seconds / 100.0
    kept = sum(math.exp(-a + k * math.log(a) - math.lgamma(k + 1)) for k in range(nodes))
    assert got.states("T-1")[-1] == pytest.approx(10 + 50 * kept, abs=0.02)
    assert got.closes()


def test_the_rows_of_a_run_tell_a_layered_tank_by_its_mean() -> None:
    """Not by its taps: 75 of 100 L at 60 degC are gone, 10 degC has come in below."""
    board = drawn_tank(20).case(draws={"F-1": "0.05 L/s"}, start={"T-1": "60 degC"}, lasts="1 h")
    data = board.data()
    data["runs"] = [{"name": "run", "hours": 1500 / 3600}]
    sim = Simulation(chosen_run(from_data(data)))
    trace = Trace(sim)
    sim.observer.trace = trace.see
    sim.simulate()
    told = [float(row["T-1.temperature_c"]) for row in trace.rows]
    assert told[-1] == pytest.approx(float(sim.x[sim.layout.vessels["T-1"].at].mean()) - 273.15, abs=0.01)
    assert told[-1] == pytest.approx(22.7, abs=0.5)
    assert all(after <= before + 1e-9 for before, after in pairwise(told))


def test_two_tanks_level_through_an_exchanger() -> None:
    """Alike tanks of C with g between them: their difference falls by e^(-t / tau), tau = C / (2 g)."""
    board = Board()
    for n in (1, 2):
        board.body(f"body{n}")
        closed_tank(board, f"T-{n}", 100.0, 1)
        board.drive(f"P-{n}", f"S-{n}")
        if n == 1:
            board.item("HX-1", "exchanger", ua="500 W/K")
        ports = "a_in>a_out" if n == 1 else "b_in>b_out"
        board.ring(f"P-{n}", f"S-{n}", f"HX-1:{ports}", f"T-{n}:cold>hot")
    board.case(start={"T-1": "70 degC", "T-2": "30 degC"}, lasts="1 h")
    got = simulated(board, 0.5)
    units = 500 / RATE
    g = RATE * units / (1 + units)  # counter flow of equal capacity rates
    left = 40 * math.exp(-2 * g * 1800 / (100 * RHO * CP / 1000))
    assert got.states("T-1")[0] - got.states("T-2")[0] == pytest.approx(left, abs=0.01)
    assert got.closes()


def test_a_boiler_with_differential_cycles_in_its_own_water() -> None:
    """At min_output over a smaller load: on for C band / (P - Q), off for C band / Q, at one load."""
    board = Board()
    board.drive()
    more = {"capacity": "20 kW", "min_output": "8 kW", "differential": "10 K", "water_content": "20 L"}
    board.item("B-1", "boiler", set_temperature="70 degC", **more)
    board.item("LD-1", "load", load="2 kW")
    board.ring("P-1", "S-1", "B-1", "LD-1")
    board.case()
    got = simulated(board, 4.0)
    stored = 20.0 * CP
    on, off = stored * 10 / 6000, stored * 10 / 2000
    assert got.items["B-1"]["shortest_run_s"] == pytest.approx(on, rel=0.01)
    assert got.items["B-1"]["starts"] == pytest.approx(4 * 3600 / (on + off), abs=1.5)
    assert got.closes()


def test_a_boiler_with_differential_throttles_where_its_load_lets_it() -> None:
    board = Board()
    board.drive()
    more = {"capacity": "20 kW", "min_output": "4 kW", "differential": "10 K", "water_content": "20 L"}
    board.item("B-1", "boiler", set_temperature="70 degC", **more)
    board.item("LD-1", "load", load="9 kW")
    board.ring("P-1", "S-1", "B-1", "LD-1")
    board.case()
    got = simulated(board, 5.0)
    assert got.items["B-1"]["starts"] == 0
    assert got.sim.layout.boilers["B-1"].holding
    assert got.closes()


def test_an_outdoor_reset_holds_a_room_through_a_day_of_weather() -> None:
    """Worked example: what a room loses, L (20 - out), is what g (supply - 20) brings, at every hour.

    So the line 20 + L/g (20 - out) holds it at 20 degC without any stat, whatever its mass, and the day
    takes L times its degree hours: 150 W/K x 23 K x 24 h = 82.8 kWh. Between -10 and 4 degC the supply
    goes from 36.2 to 28.7 degC, and by what the weather may move before the line is read anew.
    """
    board = Board()
    board.drive()
    g = RATE * -math.expm1(-300 / RATE)
    line = [["-20 degC", f"{20 + 150 / g * 40!r} degC"], ["20 degC", "20 degC"]]
    board.item("B-1", "boiler", capacity="20 kW", set_temperature="60 degC")
    board.item("OR-1", "outdoor_reset", line=line, sets=["B-1"])
    board.item("R-1", "room", loss="150 W/K", mass="1 MJ/K", wanted="20 degC")
    board.item("RA-1", "radiator", ua="300 W/K", serves="R-1")
    board.ring("P-1", "S-1", "B-1", "RA-1")
    data = board.case(outdoor="-3 degC").data()
    data["runs"] = [{"name": "day", "hours": 24, "weather": {"low": "-10 degC", "high": "4 degC"}}]
    sim = Simulation(chosen_run(from_data(data)))
    trace = Trace(sim)
    sim.observer.trace = trace.see
    got = summary_of(sim.simulate())
    assert got["rooms"]["R-1"]["min_c"] == pytest.approx(20.0, abs=0.1)
    assert got["rooms"]["R-1"]["max_c"] == pytest.approx(20.0, abs=0.1)
    assert got["energy_kwh"]["heat"] == pytest.approx(150 * 23 * 24 / 1e3, rel=0.002)
    outdoor = [-3 + 7 * math.cos(math.tau * (row["time_s"] / 3600 - 15) / 24) for row in trace.rows]
    supply = [float(row["L-3.temperature_in_c"]) for row in trace.rows]
    for out, told in zip(outdoor, supply, strict=True):
        assert told == pytest.approx(20 + 150 / g * (20 - out), abs=150 / g * 0.5 + 0.02)
    assert max(supply) == pytest.approx(20 + 150 / g * 30, abs=0.2)


def test_a_tank_drawn_empty_tells_at_its_tap_what_an_exponential_says() -> None:
    """100 L mixed at 60 degC, 0.05 L/s out and 10 degC in: 10 + 50 e^(-t / 2000 s), for an hour.

    Below 45 degC from 713 s, below 25 from 2408 s; a tap that wants 45 degC lacks the integral from there on.
    """
    board = drawn_tank(1).case(draws={"F-1": "0.05 L/s"}, start={"T-1": "60 degC"}, lasts="1 h")
    board.items["F-1"]["props"]["set_temperature"] = "45 degC"
    got = simulated(board, 1.0)
    below, cold = 2000 * math.log(50 / 35), 2000 * math.log(50 / 15)
    last = 10 + 50 * math.exp(-3600 / 2000)
    assert got.tanks["T-1"]["growth_h"] == pytest.approx((cold - below) / 3600, rel=0.002)
    tap = got.taps["F-1"]
    assert tap["longest_wait_s"] == pytest.approx(0.0, abs=0.5)
    assert (tap["min_c"], tap["max_c"]) == pytest.approx((last, 60.0), abs=0.1)
    lacks = 35 * (3600 - below) - 2000 * (35 - (last - 10))  # the integral of 45 less what comes
    assert tap["short_k_min"] == pytest.approx(lacks / 60, rel=0.005)


def test_the_answers_of_two_boilers_and_a_cold_room_are_those_on_paper() -> None:
    """Two boilers in line bring 6 and 4 kW to a load of 10: alone they would carry 0.6 and all of it.

    A room that nothing heats is wanted 20 and cools from there by e^(-t / 4 h) towards 0 degC.
    """
    board = Board()
    board.drive()
    for key, most in (("B-1", 6), ("B-2", 12)):
        more = {"set_temperature": "60 degC", "efficiency": 0.8, "capacity": f"{most} kW"}
        board.item(key, "boiler", **more)
    board.item("LD-1", "load", load="10 kW")
    board.ring("P-1", "S-1", "B-1", "B-2", "LD-1")
    board.items["P-1"]["props"]["watts"] = "50 W"
    board.item("R-1", "room", loss="100 W/K", mass="1440 kJ/K", wanted="20 degC")
    got = simulated(board.case(outdoor="0 degC"), 6.0, prices={"fuel": 0.1, "electricity": 0.3})
    assert got.energy["heat"] == pytest.approx(60.0, rel=1e-3)
    assert got.energy["fuel"] == pytest.approx(75.0, rel=1e-3)
    assert got.energy["electricity"] == pytest.approx(0.3, rel=1e-6)
    assert got.all["cost"] == pytest.approx(7.5 + 0.09, rel=1e-3)
    assert got.items["B-1"]["alone_share"] == pytest.approx(0.6, abs=1e-3)
    assert got.items["B-2"]["alone_share"] == pytest.approx(1.0, abs=1e-3)
    fallen = 4.0 * math.log(20.0 / 19.7)  # [h] until it is 0.3 K below what is wanted
    assert got.rooms["R-1"]["longest_short_s"] == pytest.approx(3600 * (6 - fallen), abs=65.0)
    short = 20 * (6 - 4 * -math.expm1(-6 / 4))
    assert got.rooms["R-1"]["short_kh"] == pytest.approx(short, rel=0.002)
    deepest = next(m for m in got.all["moments"] if m["what"] == "room below wanted, K")
    assert deepest["value"] == pytest.approx(20 * -math.expm1(-6 / 4), abs=0.02)
    assert deepest["time_s"] == pytest.approx(6 * 3600.0)
    assert "nothing called" in deepest["because"]


def test_weather_is_a_wave_warmest_at_three() -> None:
    from core.simulation.weather import Weather

    wave = Weather(wave=(260.0, 280.0))
    assert wave.at(15 * 3600.0) == pytest.approx(280.0)
    assert wave.at(3 * 3600.0) == pytest.approx(260.0)
    assert wave.at(9 * 3600.0) == pytest.approx(270.0)


def tapped(length: float, **pipe: str) -> Board:
    """A hot tank, a pipe of 25 mm bore, and a tap that mixes nothing."""
    board = Board(use="potable")
    board.item("CM-1", "cold_main", pressure="300 kPa", temperature="10 degC")
    closed_tank(board, "T-1", 1000.0, 1)
    board.item("F-1", "fixture", set_temperature="45 degC")
    board.pipe("CM-1:at", "T-1:cold")
    board.pipe("T-1:hot", "F-1:hot", length=length, bore=0.025, **pipe)
    return board


OPEN = {
    "tap": {"points": [["00:00", "0 L/s"], ["00:10", "0.1 L/s"], ["00:14", "0 L/s"], ["01:14", "0.1 L/s"]]}
}


def test_a_tap_waits_until_the_plug_of_cold_water_is_out() -> None:
    """Plug flow: volume over flow."""
    board = tapped(20.0).case(start={"T-1": "60 degC"}, lasts="1 h")
    got = simulated(board, 0.23, profiles=OPEN, draws={"F-1": "tap"})
    wait = math.pi / 4 * 0.025**2 * 20.0 / 0.1e-3
    assert got.taps["F-1"]["longest_wait_s"] == pytest.approx(wait, abs=0.5)
    assert got.taps["F-1"]["min_c"] > 55.0
    assert got.closes()


def test_standing_water_cools_by_the_exact_exponential() -> None:
    """It lasts its heat over its loss, and keeps exp(-t / that) of its warmth."""
    board = tapped(20.0, insulation={"loss": "0.3 W/m/K"}).case(start={"T-1": "60 degC"}, lasts="1 h")
    got = simulated(board, 1.23, profiles=OPEN, draws={"F-1": "tap"})
    content = got.seen.pipes.pipes["L-2"]
    kg = math.pi / 4 * 0.025**2 * RHO
    assert content.lasting == pytest.approx(kg * CP / 0.3)
    before = content.mean
    content.stand(0.0)
    content.move(3600.0)
    assert content.mean == pytest.approx(20 + 273.15 + (before - 293.15) * math.exp(-3600 * 0.3 / kg / CP))


def test_a_tap_that_scalds_is_cautioned() -> None:
    board = tapped(2.0).case(start={"T-1": "60 degC"}, lasts="1 h")
    got = simulated(board, 0.23, profiles=OPEN, draws={"F-1": "tap"})
    assert any("F-1: up to 60 °C" in words for words in got.cautions)


def test_a_buffer_sized_for_ten_minutes_lets_its_source_run_for_ten_minutes() -> None:
    """V = t (P - Q) / (rho c dT), the usual sizing formula: 600 s, 12 kW over 2 kW, 10 K: 150 L."""
    board = Board()
    board.drive()
    board.items["P-1"]["props"]["run_when"] = "AQ-1"
    board.item("B-1", "boiler", capacity="12 kW", set_temperature="80 degC", run_when="AQ-1")
    volume = 600.0 * (12e3 - 2e3) / (RHO * CP * 10.0)
    board.item("BT-1", "buffer", volume=f"{volume!r} m3")
    senses = {"senses": ["BT-1", "a_in"], "set_temperature": "50 degC", "differential": "10 K"}
    board.item("AQ-1", "aquastat", **senses)
    board.pump("P-2", 60e3, 1e-3)
    board.resistance("S-2", 0.5e-3, 60e3)
    board.item("LD-1", "load", load="2 kW")
    board.ring("P-1", "S-1", "B-1", "BT-1:a_in>a_out")
    board.ring("P-2", "S-2", "LD-1", "BT-1:b_in>b_out")
    got = simulated(board.case(), 12.0)
    assert got.items["B-1"]["shortest_run_s"] == pytest.approx(600.0, rel=0.002)
    assert got.items["B-1"]["starts"] == 12 * 3600 // 3600
