"""Runs against plants worked out apart, a sentence of the contract's 'In time' each."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

from core.commands import simulate
from core.errors import Refusal
from core.files.read import from_data
from core.simulation.engine import Simulation
from core.simulation.runs import chosen_run
from core.simulation.summary import summary_of
from core.simulation.sweep import Sweep, read_varied
from core.simulation.weather import Weather, read_weather
from tests.support.builders import RHO, Board, solve_data
from tests.support.in_time import Ran, simulated

CP = 4000.0  # [J/kg/K]
RATE = 0.5e-3 * RHO * CP  # [W/K] of a ring that `drive` drives


def under(board: Board, folder: Path, rows: str, hours: float, **run: object) -> Ran:
    """A run under the weather of a file."""
    (folder / "w.csv").write_text(rows)
    data = board.data()
    data["runs"] = [{"name": "run", "hours": hours, "weather": {"file": "w.csv"}, **run}]
    ran = Ran.__new__(Ran)
    ran.plant = from_data(data)
    ran.sim = Simulation(chosen_run(ran.plant, folder=folder))
    ran.seen = ran.sim.simulate()
    ran.all = summary_of(ran.seen)
    ran.items, ran.rooms, ran.energy = ran.all["items"], ran.all["rooms"], ran.all["energy_kwh"]
    ran.cautions = ran.all["cautions"]
    return ran


WARMING = "time,outdoor_c\n2026-01-05T00:00,-10\n2026-01-06T00:00,10\n"


def room_heated_by(source: str, loss: float, ua: float, **props: object) -> Board:
    board = Board()
    board.drive()
    board.item(source, {"B": "boiler", "H": "heat_pump"}[source[0]], **props)
    board.item("R-1", "room", loss=f"{loss} W/K", mass="1 MJ/K", wanted="20 degC")
    board.item("RA-1", "radiator", ua=f"{ua} W/K", serves="R-1")
    board.ring("P-1", "S-1", source, "RA-1")
    return board.case(outdoor="0 degC")


def warming(heat: object, loss: float) -> tuple[float, float]:
    """Room at the end [degC] and heat [kWh] of a day from -10 to 10 degC, by an ODE solver of scipy."""
    from scipy.integrate import solve_ivp

    def rates(t: float, y: np.ndarray) -> list[float]:
        outdoor = -10.0 + 20.0 * t / 86400.0
        given = heat(outdoor, y[0])  # type: ignore[operator]
        return [(given - loss * (y[0] - outdoor)) / 1e6, given / 3.6e6]

    end = solve_ivp(rates, (0.0, 86400.0), [10.0, 0.0], rtol=1e-6, atol=1e-6, max_step=600.0).y[:, -1]
    return float(end[0]), float(end[1])


def test_an_outdoor_reset_follows_weather_between_rows_a_day_apart(tmp_path: Path) -> None:
    """The line gives 20 degC less outdoors plus 20: straight in the weather."""
    board = room_heated_by("B-1", 300.0, 300.0, capacity="50 kW", set_temperature="60 degC")
    board.item("OR-1", "outdoor_reset", line=[["-20 degC", "60 degC"], ["20 degC", "20 degC"]], sets=["B-1"])
    share = -np.expm1(-300.0 / RATE)
    end, heat = warming(lambda out, room: max(0.0, RATE * share * (40.0 - out - room)), 300.0)
    got = under(board, tmp_path, WARMING, 24.0, start={"R-1": "10 degC"})
    assert got.states("R-1")[0] == pytest.approx(end, abs=0.05)
    assert got.energy["heat"] == pytest.approx(heat, rel=0.002)
    assert got.closes()


def test_a_heat_pump_follows_weather_between_rows_a_day_apart(tmp_path: Path) -> None:
    """Its table gives 7 kW at 0 degC outdoors and 200 W more a degree, whatever its outlet."""
    table = [
        [f"{out} degC", f"{sup} degC", f"{7 + 0.2 * out} kW", "2 kW"] for out in (-15, 15) for sup in (20, 70)
    ]
    board = room_heated_by("H-1", 400.0, 500.0, table=table, set_temperature="70 degC")
    end, heat = warming(lambda out, room: 7000.0 + 200.0 * out, 400.0)
    got = under(board, tmp_path, WARMING, 24.0, start={"R-1": "10 degC"})
    assert got.states("R-1")[0] == pytest.approx(end, abs=0.05)
    assert got.energy["heat"] == pytest.approx(heat, rel=0.002)
    assert got.energy["electricity"] == pytest.approx(48.0, rel=0.01)


def test_weather_that_rests_between_bands_is_taken_as_it_is() -> None:
    """Supply 40 less outdoors."""
    board = room_heated_by("B-1", 300.0, 300.0, capacity="50 kW", set_temperature="60 degC")
    board.item("OR-1", "outdoor_reset", line=[["-20 degC", "60 degC"], ["20 degC", "20 degC"]], sets=["B-1"])
    board.cases[0]["outdoor"] = "-5.2 degC"
    steady = board.solve()
    assert simulated(board, 40.0).states("R-1")[0] == pytest.approx(
        steady.items["R-1"]["temperature_c"], abs=0.02
    )


@pytest.mark.parametrize(("band", "power"), [("5 K", 12.0), ("8 K", 20.0), ("10 K", 6.0), ("", 12.0)])
def test_a_stat_over_flowing_water_keeps_the_mean_heat_that_solve_says(band: str, power: float) -> None:
    """Its water swings about the middle of the band: within 1 % of heat (the contract), whatever its bulb."""
    board = Board()
    board.drive()
    board.item("B-1", "boiler", capacity=f"{power} kW", set_temperature="80 degC", run_when="AQ-1")
    board.item("RA-1", "radiator", ua="150 W/K")
    more = {"differential": band} if band else {}
    board.item("AQ-1", "aquastat", senses=["RA-1", "out"], set_temperature="40 degC", **more)
    board.ring("P-1", "S-1", "B-1", "RA-1")
    board.case()
    want = board.solve().items["RA-1"]["delivered_w"]
    got = simulated(board, 0.75)
    assert got.energy["heat"] / 0.75 * 1e3 == pytest.approx(want, rel=0.01)
    assert any("AQ-1" in words and "starts more often" in words for words in got.cautions)


def test_a_stat_over_flowing_water_stays_on_where_its_water_never_comes_to_its_point() -> None:
    """On at 34 to 40 degC, and the water stands at 38: inside the band, past its middle."""
    board = Board()
    board.drive()
    board.item("B-1", "boiler", capacity="3 kW", set_temperature="80 degC", run_when="AQ-1")
    board.item("RA-1", "radiator", room_temperature="20 degC", ua="165 W/K")
    board.item("AQ-1", "aquastat", senses=["RA-1", "in"], set_temperature="40 degC", differential="6 K")
    board.ring("P-1", "S-1", "B-1", "RA-1")
    board.case()
    got = simulated(board, 0.5)
    assert 37.0 < got.sim.x[0] - 273.15 < 40.0
    assert got.items["B-1"] | {"coldest_return_c": 0} == got.items["B-1"] | {
        "coldest_return_c": 0,
        "starts": 0,
    }


SNOW = "time,outdoor_c,snow_mm_h\n2026-01-06T00:00,-5,0\n2026-01-06T01:00,-5,2\n2026-01-06T03:00,-5,0\n"


def surface(**props: str) -> Board:
    board = Board()
    board.drive()
    board.item("B-1", "boiler", capacity="100 kW", set_temperature="40 degC", efficiency=0.9)
    board.item("MC-1", "melt_circuit", **props)
    board.ring("P-1", "S-1", "B-1", "MC-1")
    return board.case(outdoor="-5 degC")


@pytest.mark.parametrize("mass", ["6 MJ/K", "0 MJ/K"])
def test_a_warm_surface_melts_no_more_snow_than_falls(mass: str, tmp_path: Path) -> None:
    """3 mm on 20 m2 are 60 kg, at 334 kJ/kg and 4.19 kJ/kg/K from -5 degC: 5.92 kWh, however rows change."""
    board = surface(area="20 m2", output_per_degree="500 W/K", mass=mass)
    got = under(board, tmp_path, SNOW, 6.0)
    assert got.all["melt"]["MC-1"]["melt_kwh"] == pytest.approx(60 * (334 + 4.19 * 5) / 3600, rel=0.01)
    assert got.closes()


@pytest.mark.parametrize(
    ("props", "lacks"),
    [({"output_per_degree": "500 W/K", "mass": "6 MJ/K"}, "area is not set"), ({"load": "5 kW"}, "left out")],
)
def test_snow_that_is_not_counted_is_said(props: dict[str, str], lacks: str, tmp_path: Path) -> None:
    got = under(surface(**props), tmp_path, SNOW, 0.5)
    assert any("MC-1" in words and "snow" in words and lacks in words for words in got.cautions)


def test_snowfall_between_rows_adds_up_however_often_it_is_asked() -> None:
    weather = Weather((0.0, 7200.0), (268.0, 268.0), (2.0, 0.0))
    total, t = 0.0, 0.0
    while t < 7200.0:
        end = weather.next(t)
        total, t = total + weather.snowing(t) * (end - t), end
    assert total == pytest.approx(7200.0)
    assert weather.next(7000.0) == 7200.0


def test_a_lock_out_does_not_count_from_time_0() -> None:
    """What runs at time 0 has had no start: off at 0:10, on again at 0:20, then locked until 2:20."""
    board = Board()
    board.drive()
    board.items["P-1"]["props"] |= {"run_when": "TM-1", "lock_out": "2 h"}
    board.item("RA-1", "radiator", ua="100 W/K")
    board.item("TM-1", "timer", on=[["00:00", "00:10"], ["00:20", "00:30"], ["02:00", "02:40"]])
    board.ring("P-1", "S-1", "RA-1")
    got = simulated(board.case(), 3.0)
    assert [t / 60.0 for t in got.seen.items["P-1"].starts] == [20.0, 140.0]


def test_a_plant_with_nothing_in_it_is_refused() -> None:
    with pytest.raises(Refusal, match="items: found nothing"):
        chosen_run(from_data(Board().data()))


def test_a_plant_in_which_nothing_happens_says_so() -> None:
    board = Board()
    board.item("J-1", "joint")
    assert any("nothing to see" in words for words in simulated(board.case(), 1.0).cautions)


def test_a_profile_of_powers_at_a_tap_is_refused_in_plain_words() -> None:
    board = Board(use="potable")
    board.item("F-1", "fixture")
    with pytest.raises(Refusal, match="expected a profile of flows, not of powers"):
        simulated(board.case(), 1.0, profiles={"d": {"points": [["00:00", "1 kW"]]}}, draws={"F-1": "d"})


def test_a_fault_of_a_weather_file_names_that_file(tmp_path: Path) -> None:
    board = Board()
    board.item("R-1", "room", loss="200 W/K")
    data = board.data()
    data["runs"] = [{"name": "run", "weather": {"file": "w.csv"}}]
    (tmp_path / "w.csv").write_text("time,outdoor_c\nnoon,3\n")
    (tmp_path / "p.plant.json").write_text(json.dumps(data))
    with pytest.raises(Refusal, match=r"^w.csv: line 2"):
        simulate.run([str(tmp_path / "p.plant.json")])


@pytest.mark.parametrize(
    ("rows", "place"),
    [
        ("time,outdoor_c\n2026-01-02T00:00Z,1\n2026-01-02T03:00,2\n", "line 3"),
        ("time,outdoor_c\n\n2026-01-02T01:00+00:00,1\n\n2026-01-02T02:00+02:00,2\n", "line 5"),
        ("time,outdoor_c,wind_m_s\n2026-01-02T00:00,1,-3\n", "line 2: found wind_m_s"),
    ],
)
def test_weather_whose_times_do_not_rise_is_refused_at_its_line(
    rows: str, place: str, tmp_path: Path
) -> None:
    (tmp_path / "w.csv").write_text(rows)
    with pytest.raises(Refusal, match=place):
        read_weather(tmp_path / "w.csv", "w.csv")


def test_a_sweep_takes_each_setting_and_value_once_and_needs_a_place_to_keep(tmp_path: Path) -> None:
    board = Board()
    board.item("R-1", "room", loss="200 W/K", mass="4 MJ/K")
    plant = from_data(board.case().data())
    loss = read_varied(plant, "R-1.loss=100 W/K,200 W/K")
    with pytest.raises(Refusal, match="each setting once"):
        Sweep(plant, [loss, read_varied(plant, "R-1.loss=300 W/K")])
    with pytest.raises(Refusal, match="each value once"):
        Sweep(plant, [read_varied(plant, "R-1.loss=100 W/K,100 W/K")])
    with pytest.raises(Refusal, match="a file that can be written"):
        Sweep(plant, [loss], keep=tmp_path / "none" / "runs").go()


def test_a_separator_mixes_in_its_two_halves() -> None:
    """Flows of 0.5 and 0.39 L/s; against an ODE solver of scipy."""
    from scipy.integrate import solve_ivp

    board = Board()
    board.drive()
    board.item("B-1", "boiler", capacity="4 kW", set_temperature="90 degC")
    board.item("SP-1", "separator", volume="50 L")
    board.pump("P-2", 60e3, 1e-3)
    board.resistance("S-2", 0.5e-3, 60e3)
    board.item("LD-1", "load", load="2 kW")
    board.ring("P-1", "S-1", "B-1", "SP-1:a_in>a_out")
    board.ring("P-2", "S-2", "LD-1", "SP-1:b_in>b_out")
    steady = board.case().solve()
    one, two = (steady.flow(pipe) * RHO * CP for pipe in ("L-1", "L-5"))

    def rates(t: float, y: np.ndarray) -> list[float]:
        low, top = y
        taken = max(0.0, min(2000.0, two * (top - 20.0)))
        return [
            (two * (top - low) - taken + (one - two) * (top - low)) / (25e-3 * RHO * CP),
            (one * (low - top) + 4000.0) / (25e-3 * RHO * CP),
        ]

    end = solve_ivp(rates, (0.0, 1800.0), [20.0, 20.0], rtol=1e-8, atol=1e-8).y[:, -1]
    assert simulated(board, 0.5).states("SP-1") == pytest.approx(list(end), abs=0.02)


def reset_buffer() -> Board:
    """A buffer that an aquastat holds at a temperature set by the weather, under a load of 2 kW."""
    board = Board()
    board.drive()
    board.item("B-1", "boiler", capacity="20 kW", set_temperature="80 degC", run_when="AQ-1")
    board.items["P-1"]["props"]["run_when"] = "AQ-1"
    board.item("BT-1", "buffer", volume="200 L")
    senses = {"senses": ["BT-1", "a_in"], "differential": "5 K"}
    board.item("AQ-1", "aquastat", set_temperature="60 degC", **senses)
    board.item("OR-1", "outdoor_reset", line=[["-20 degC", "50 degC"], ["20 degC", "30 degC"]], sets=["AQ-1"])
    board.pump("P-2", 60e3, 1e-3)
    board.resistance("S-2", 0.5e-3, 30e3)
    board.item("LD-1", "load", load="2 kW")
    board.ring("P-1", "S-1", "B-1", "BT-1:a_in>a_out")
    board.ring("P-2", "S-2", "LD-1", "BT-1:b_in>b_out")
    return board.case(outdoor="0 degC")


def test_an_outdoor_reset_sets_an_aquastat_in_solve_and_in_time(tmp_path: Path) -> None:
    """The line gives 40 degC at 0 degC, and between -20 and 20 degC half a degree less for each warmer."""
    board = reset_buffer()
    assert board.solve().items["BT-1"]["upper_temperature_c"] == pytest.approx(40.0, abs=0.01)
    got = simulated(board, 3.0)
    assert got.tanks["BT-1"]["min_c"] == pytest.approx(35.0, abs=0.02)
    assert got.tanks["BT-1"]["max_c"] == pytest.approx(40.0, abs=0.02)
    rows = "time,outdoor_c\n2026-01-05T00:00,-20\n2026-01-05T12:00,20\n"
    colder = under(board, tmp_path, rows, 12.0)
    assert 25.0 - 0.2 < colder.states("BT-1")[0] < 30.0
    assert colder.all["tanks"]["BT-1"]["max_c"] == pytest.approx(50.0, abs=0.1)


def test_slow_masses_do_not_pull_flowing_water_off_the_middle_of_its_band() -> None:
    """With the stat off the floors bring the water slowly down to its point; `solve` has it in the middle.

    Its loops hold 15 L each, which go round for minutes: rooms swing with every cycle of 15 min.
    """
    folder = Path(__file__).parents[2] / "invariants" / "gone_wrong"
    data = json.loads((folder / "aquastat-held-loop.plant.json").read_text("utf-8"))
    for item in data["items"]:
        if item["id"] in ("RA", "RB", "FA", "FB"):
            item["props"]["mass"] = "400 kJ/K"
    steady = solve_data(data, "on, mild").items
    room = steady["RA"]["temperature_c"]
    start = dict.fromkeys(("RA", "RB"), f"{room} degC")
    data["runs"] = [{"name": "run", "case": "on, mild", "hours": 8.0, "start": start}]
    before = Ran(data).energy["heat"]
    data["runs"][0]["hours"] = 16.0
    got = Ran(data)
    assert (got.energy["heat"] - before) / 8e-3 == pytest.approx(steady["B"]["duty_w"], rel=0.02)
    assert got.states("RA")[0] == pytest.approx(room, abs=0.5)


def test_an_outlet_that_a_timer_switches_follows_it_in_a_file_without_cases() -> None:
    board = Board()
    board.drive()
    board.items["P-1"]["props"]["powered_by"] = "OU-1"
    board.item("OU-1", "outlet", switched_by="TM-1")
    board.item("TM-1", "timer", on=[["01:00", "02:00"]])
    board.item("RA-1", "radiator", ua="10 W/K")
    board.ring("P-1", "S-1", "RA-1")
    assert simulated(board, 3.0).items["P-1"]["on_h"] == pytest.approx(1.0)


def test_a_sweep_does_not_vary_what_the_case_or_the_weather_sets() -> None:
    """Else all its runs would be alike, with other values written beside them."""
    board = reset_buffer()
    board.cases[0]["set"] = {"LD-1": {"load": "3 kW"}}
    plant = from_data(board.data())
    with pytest.raises(Refusal, match="does not set itself"):
        Sweep(plant, [read_varied(plant, "LD-1.load=1 kW,2 kW")])
    with pytest.raises(Refusal, match="OR-1 does not set by the weather"):
        Sweep(plant, [read_varied(plant, "AQ-1.set_temperature=40 degC,50 degC")])
    Sweep(plant, [read_varied(plant, "AQ-1.differential=4 K,5 K")])


def test_a_sweep_varies_a_pipe() -> None:
    """Plug flow: 10 and 20 m of 20 mm bore at 0.1 L/s."""
    board = Board(use="potable")
    board.item("CM-1", "cold_main", pressure="300 kPa", temperature="10 degC")
    taps = {"hot": "1 m", "cold": "0 m"}
    board.item("T-1", "tank", volume="300 L", nodes=1, tall="1 m", taps=taps)
    board.item("F-1", "fixture", set_temperature="45 degC")
    board.pipe("CM-1:at", "T-1:cold")
    board.pipe("T-1:hot", "F-1:hot", "L-9", length=10.0, bore=0.02)
    data = board.case(draws={"F-1": "0.1 L/s"}).data()
    data["runs"] = [{"name": "run", "hours": 0.05, "start": {"T-1": "60 degC"}}]
    plant = from_data(data)
    with pytest.raises(Refusal, match="of a pipe one of"):
        read_varied(plant, "L-9.bore=10 mm")
    with pytest.raises(Refusal, match="length"):
        read_varied(plant, "L-9.length=10 gpm")
    got = Sweep(plant, [read_varied(plant, "L-9.length=10 m,20 m")]).go()
    waits = [row["summary"]["fixtures"]["F-1"]["longest_wait_s"] for row in got["runs"]]
    assert waits == pytest.approx([31.4, 62.8], abs=0.5)
    assert [row["values"] for row in got["runs"]] == [["10 m"], ["20 m"]]


def test_a_slab_warms_up_as_one_cut_in_forty() -> None:
    """Water gives through 0.4 of the resistance along the circuit, its slab through 0.6 (scipy)."""
    from scipy.integrate import solve_ivp

    board = Board()
    board.drive()
    board.item("B-1", "boiler", capacity="40 kW", set_temperature="40 degC")
    board.item("R-1", "room", loss="150 W/K", mass="2 MJ/K", wanted="18 degC")
    more = {"output_per_degree": "600 W/K", "mass": "3 MJ/K", "mass_at": 0.4}
    board.item("FC-1", "floor_circuit", serves="R-1", **more)
    board.ring("P-1", "S-1", "B-1", "FC-1")
    got = simulated(board.case(outdoor="-5 degC"), 3.0, start={"R-1": "18 degC"})
    parts = 40
    share = -np.expm1(-600.0 / 0.4 / RATE / parts)

    def rates(t: float, y: np.ndarray) -> np.ndarray:
        slope, water = np.zeros(parts + 1), 40.0
        for k in range(parts):
            given = RATE * share * (water - y[k])
            water -= given / RATE
            out = 600.0 / 0.6 / parts * (y[k] - y[parts])
            slope[k] = (given - out) / (3e6 / parts)
            slope[parts] += out / 2e6
        slope[parts] -= 150.0 * (y[parts] + 5.0) / 2e6
        return slope

    end = solve_ivp(rates, (0.0, 10800.0), [18.0] * (parts + 1), rtol=1e-7, atol=1e-7).y[:, -1]
    assert got.states("R-1")[0] == pytest.approx(end[parts], abs=0.02)
    assert np.mean(got.states("FC-1")) == pytest.approx(end[:parts].mean(), abs=0.02)


def test_a_tank_is_charged_from_the_top_as_tanks_in_series() -> None:
    """Four layers of 100 L, 0.5 L/s at 60 degC, a quarter of the loss each."""
    from scipy.integrate import solve_ivp

    board = Board(use="potable")
    board.drive()
    board.item("B-1", "boiler", capacity="200 kW", set_temperature="60 degC")
    taps = {"up": "2 m", "down": "0 m"}
    board.item("T-1", "tank", volume="400 L", nodes=4, tall="2 m", taps=taps, ua_loss="8 W/K")
    board.chain("P-1", "S-1", "B-1")
    board.pipe("B-1:out", "T-1:up")
    board.pipe("T-1:down", "P-1:in")
    got = simulated(board.case(), 0.3, start={"T-1": "20 degC"})

    def rates(t: float, y: np.ndarray) -> list[float]:
        above = [*y[1:], 60.0]
        return [(RATE * (above[k] - y[k]) - 2.0 * (y[k] - 20.0)) / 4e5 for k in range(4)]

    end = solve_ivp(rates, (0.0, 1080.0), [20.0] * 4, rtol=1e-8).y[:, -1]
    assert got.states("T-1") == pytest.approx(list(end), abs=0.01)
    assert got.closes()


def test_a_boiler_with_differential_gives_all_it_has_while_a_buffer_takes_it() -> None:
    """20 kW at no more than 70 degC into a buffer under a load of 5 kW: lit for a quarter of the time."""
    board = Board()
    board.drive()
    board.items["P-1"]["props"]["run_when"] = "AQ-1"
    more = {"capacity": "20 kW", "min_output": "8 kW", "differential": "10 K", "water_content": "15 L"}
    board.item("B-1", "boiler", set_temperature="75 degC", run_when="AQ-1", **more)
    board.item("BT-1", "buffer", volume="300 L")
    senses = {"senses": ["BT-1", "a_in"], "set_temperature": "60 degC", "differential": "8 K"}
    board.item("AQ-1", "aquastat", **senses)
    board.pump("P-2", 60e3, 1e-3)
    board.resistance("S-2", 0.5e-3, 30e3)
    board.item("LD-1", "load", load="5 kW")
    board.ring("P-1", "S-1", "B-1", "BT-1:a_in>a_out")
    board.ring("P-2", "S-2", "LD-1", "BT-1:b_in>b_out")
    got = simulated(board.case(), 24.0)
    assert got.items["B-1"]["on_h"] == pytest.approx(6.0, rel=0.03)


def test_a_circulator_that_holds_a_difference_comes_to_rest_where_solve_has_it() -> None:
    """Nothing happens there: not within its band, but at its target (0.02 K of the room)."""
    board = Board()
    board.pump("P-1", 60e3, 1e-3, control="delta_t", target="10 K")
    board.resistance("S-1", 0.5e-3, 30e3)
    board.item("B-1", "boiler", capacity="20 kW", set_temperature="60 degC")
    board.item("R-1", "room", loss="150 W/K", mass="1 MJ/K", wanted="20 degC")
    board.item("RA-1", "radiator", ua="250 W/K", serves="R-1")
    board.ring("P-1", "S-1", "B-1", "RA-1")
    board.case(outdoor="-5 degC")
    want = board.solve().items["R-1"]["temperature_c"]
    assert simulated(board, 24.0).states("R-1")[0] == pytest.approx(want, abs=0.02)


def test_a_room_of_unknown_loss_and_a_floor_without_conductance_are_said_to_be_left_out() -> None:
    board = Board()
    board.drive()
    board.item("B-1", "boiler", capacity="20 kW", set_temperature="40 degC")
    board.item("R-1", "room", gain="1 kW")
    board.item("FC-1", "floor_circuit", load="3 kW", serves="R-1")
    board.ring("P-1", "S-1", "B-1", "FC-1")
    said = simulated(board.case(), 0.1).cautions
    assert any(words.startswith("R-1: its loss is not known") for words in said)
    assert any(words.startswith("FC-1: its mass is left out") for words in said)
