"""Stats that follow what they feel: tanks held, pipes that hunt, priority, loops and idle calls said."""

from __future__ import annotations

import math
from typing import Any

import pytest

from tests.support.builders import CP, Board, Solved

WARM = 0.5e-3 * 1000.0 * CP  # [W/K] capacity rate of the charging flow


def charged(
    draw: float = 0.05e-3, boiler: float = 70.0, set_at: float = 55.0, ua: float = 4.0, **stat: Any
) -> Board:
    """A boiler charges a tank that a tap draws from; an aquastat in the tank runs pump and boiler."""
    board = Board()
    board.item("B-1", "boiler", capacity="200 kW", set_temperature=f"{boiler} degC")
    board.drive()
    taps = {"top": "1.5 m", "low": "0.2 m", "cold": "0.1 m", "back": "0.3 m"}
    board.item(
        "T-1", "tank", volume="300 L", tall="1.6 m", taps=taps, ua_loss=f"{ua} W/K", sensors={"mid": "0.8 m"}
    )
    board.item("CM-1", "cold_main", pressure="3 bar", temperature="10 degC")
    board.item("F-1", "fixture", flow="0.1 L/s", set_temperature="99 degC")
    props = {"set_temperature": f"{set_at} degC", "differential": "5 K", **stat}
    board.item("AQ-1", "aquastat", senses=["T-1", "mid"], **props)
    for key in ("P-1", "B-1"):
        board.items[key]["props"]["run_when"] = "AQ-1"
    board.items["P-1"]["props"]["integral_check"] = True
    board.chain("P-1", "S-1", "B-1", "T-1:low")
    board.chain("T-1:back", "P-1")
    board.chain("CM-1", "T-1:cold")
    board.chain("T-1:top", "F-1:hot")
    board.case("c", draws={"F-1": f"{draw} m3/s"})
    return board


def tank(solved: Solved) -> dict[str, Any]:
    assert solved.converged
    return solved.items["T-1"]


@pytest.mark.parametrize("draw", [0.0, 0.05e-3, 0.15e-3])
def test_a_tank_is_held_for_a_share_of_the_time(draw):
    solved = charged(draw).solve()
    lost = draw * 1000.0 * CP * (55.0 - 10.0) + 4.0 * (55.0 - 20.0)
    share = lost / (WARM * (70.0 - 55.0))
    assert share < 1.0
    assert tank(solved)["temperature_c"] == pytest.approx(55.0, abs=1e-6)
    assert tank(solved)["duty_share"] == pytest.approx(share, rel=1e-5)
    assert solved.items["AQ-1"]["duty_share"] == tank(solved)["duty_share"]
    assert solved.items["B-1"]["duty_w"] == pytest.approx(WARM * 15.0, rel=1e-6)  # shown is the on-state
    assert solved.raw.signals == {"AQ-1": True}
    assert solved.noted("AQ-1", f"cycles: on {100 * share:.0f} % of the time it holds T-1 at 55.0 °C")


def test_a_draw_too_great_leaves_the_tank_below_its_point():
    draw = 0.4e-3
    solved = charged(draw, boiler=58.0).solve()
    drawn = draw * 1000.0 * CP
    by_hand = (WARM * 58.0 + drawn * 10.0 + 4.0 * 20.0) / (WARM + drawn + 4.0)
    assert tank(solved)["temperature_c"] == pytest.approx(by_hand, abs=1e-5)
    assert tank(solved)["duty_share"] == 1.0
    assert solved.raw.signals == {"AQ-1": True}


def test_a_tank_that_its_element_keeps_warm_needs_no_call():
    board = charged(0.0)
    board.items["T-1"]["props"]["element"] = "200 W"
    solved = board.solve()
    assert solved.raw.signals == {"AQ-1": False}
    assert tank(solved)["temperature_c"] == pytest.approx(20.0 + 200.0 / 4.0)
    assert tank(solved)["duty_share"] == 0.0
    assert solved.items["P-1"]["running"] is False


@pytest.mark.parametrize(
    ("given", "on"), [(49.0, True), (50.5, True), (54.9, True), (55.1, False), (70.0, False)]
)
def test_a_tank_of_given_temperature_decides(given, on):
    board = charged()
    board.cases[0]["tanks"] = {"T-1": f"{given} degC"}
    solved = board.solve()
    assert solved.raw.signals == {"AQ-1": on}
    assert solved.items["AQ-1"]["temperature_c"] == pytest.approx(given)
    assert "duty_share" not in tank(solved)


@pytest.mark.parametrize(("top", "on"), [(80.0, False), (60.0, True)])
def test_a_sensor_between_given_taps_feels_what_lies_at_its_height(top, on):
    board = charged()
    board.cases[0]["tanks"] = {"T-1": {"top": f"{top} degC", "low": "40 degC"}}
    solved = board.solve()
    felt = 40.0 + (top - 40.0) * (0.8 - 0.2) / (1.5 - 0.2)
    assert solved.items["AQ-1"]["temperature_c"] == pytest.approx(felt)
    assert solved.raw.signals == {"AQ-1": on}


def test_the_case_has_the_last_word():
    solved = charged().solve()
    board = charged()
    board.cases[0]["signals"] = {"AQ-1": True}
    fixed = board.solve()
    assert tank(fixed)["temperature_c"] > 55.0 + 1.0  # not held: in balance with what is brought and drawn
    assert "duty_share" not in tank(fixed)
    assert tank(solved)["temperature_c"] == pytest.approx(55.0)


def test_without_power_it_is_off():
    board = charged(powered_by="OU-1")
    board.item("OU-1", "outlet")
    solved = board.solve()
    assert solved.raw.signals == {"AQ-1": False, "OU-1": False}
    assert solved.noted("AQ-1", "no power")


def test_a_stat_that_makes_on_rise_cools_its_tank():
    """The tank is warmed by its element; a pump takes its heat to a radiator while it is too warm."""
    board = Board()
    board.drive()
    board.items["P-1"]["props"] |= {"run_when": "AQ-1", "integral_check": True}
    board.item("RA-1", "radiator", ua="100 W/K", room_temperature="20 degC")
    taps = {"top": "1 m", "low": "0 m"}
    board.item("T-1", "tank", volume="100 L", tall="1 m", taps=taps, ua_loss="10 W/K", element="1000 W")
    board.item(
        "AQ-1",
        "aquastat",
        senses=["T-1", "top"],
        set_temperature="50 degC",
        makes_on="rise",
        differential="4 K",
    )
    board.chain("T-1:top", "P-1", "S-1", "RA-1", "T-1:low")
    solved = board.case("c").solve()
    given = 2000.0 * -math.expm1(-100.0 / 2000.0) * 30.0
    assert tank(solved)["temperature_c"] == pytest.approx(50.0, abs=1e-6)
    assert solved.items["RA-1"]["delivered_w"] == pytest.approx(given, rel=1e-6)
    assert tank(solved)["duty_share"] == pytest.approx((1000.0 - 300.0) / given, rel=1e-5)


def test_a_coil_holds_its_tank_for_a_share_of_the_time():
    board = Board()
    board.item("B-1", "boiler", capacity="90 kW", set_temperature="75 degC", run_when="AQ-1")
    board.drive()
    board.items["P-1"]["props"] |= {"run_when": "AQ-1", "integral_check": True}
    taps = {"top": "1 m", "low": "0 m"}
    coil = {"coil_ua": "500 W/K", "ua_loss": "30 W/K"}
    board.item("CT-1", "coil_tank", volume="200 L", tall="1 m", taps=taps, **coil)
    board.item("AQ-1", "aquastat", senses=["CT-1", "top"], set_temperature="55 degC", differential="5 K")
    board.chain("P-1", "S-1", "B-1", "CT-1:coil_in")
    board.chain("CT-1:coil_out", "P-1")
    solved = board.case("c").solve()
    given = WARM * -math.expm1(-500.0 / WARM) * 20.0
    assert solved.converged
    assert solved.items["CT-1"]["coil_duty_w"] == pytest.approx(given, rel=1e-6)
    assert solved.items["CT-1"]["temperature_c"] == pytest.approx(55.0, abs=1e-6)
    assert solved.items["CT-1"]["duty_share"] == pytest.approx(30.0 * 35.0 / given, rel=1e-5)
    assert solved.raw.signals == {"AQ-1": True}


@pytest.mark.parametrize("load", [3000.0, 12000.0, 30000.0])
def test_a_buffer_is_held_for_a_share_of_the_time(load):
    """The boiler's side stops and goes, the load's side always draws."""
    board = Board()
    board.item("B-1", "boiler", capacity="20 kW", set_temperature="70 degC", run_when="AQ-1")
    board.drive()
    board.items["P-1"]["props"] |= {"run_when": "AQ-1", "integral_check": True}
    board.drive("P-2", "S-2")
    board.item("LD-1", "load", load=f"{load} W")
    board.item("BT-1", "buffer", volume="200 L")
    board.item("AQ-1", "aquastat", senses=["BT-1", "b_out"], set_temperature="50 degC", differential="5 K")
    board.chain("P-1", "S-1", "B-1", "BT-1:a_in")
    board.chain("BT-1:a_out", "P-1")
    board.chain("BT-1:b_out", "P-2", "S-2", "LD-1", "BT-1:b_in")
    solved = board.case("c").solve()
    assert solved.converged
    assert solved.raw.signals == {"AQ-1": True}
    buffer = solved.items["BT-1"]
    if load < 20e3:
        assert buffer["duty_share"] == pytest.approx(load / 20e3, rel=1e-5)
        assert solved.items["B-1"]["duty_w"] == pytest.approx(20e3, rel=1e-6)
        assert buffer["upper_temperature_c"] == pytest.approx(50.0, abs=1e-6)
        assert buffer["lower_temperature_c"] == pytest.approx(50.0, abs=1e-6)
    else:
        assert buffer["duty_share"] == 1.0
        assert solved.items["LD-1"]["delivered_w"] == pytest.approx(20e3, rel=1e-6)


def test_a_tank_thermostat_used_only_as_a_switch():
    """It starts a pump elsewhere while the tank is warm; it does nothing to the tank."""
    board = charged(0.0, set_at=55.0)
    board.item("AQ-2", "aquastat", senses=["T-1", "mid"], set_temperature="40 degC", makes_on="rise")
    board.body("other")
    board.pump("P-2", 60e3, 1e-3, run_when="AQ-2")
    board.resistance("S-2", 0.5e-3, 30e3)
    board.ring("P-2", "S-2")
    solved = board.solve()
    assert solved.raw.signals["AQ-2"] is True
    assert solved.items["P-2"]["running"] is True
    board.items["AQ-2"]["props"]["set_temperature"] = "60 degC"
    assert board.solve().raw.signals["AQ-2"] is False


# stats over water


def looped(differential: float, **aquastat: Any) -> Board:
    """A pipe aquastat that makes its own boiler fire; the pump runs on its own."""
    board = Board()
    board.item("B-1", "boiler", capacity="40 kW", set_temperature="80 degC", run_when="AQ-1")
    board.drive()
    board.item("RA-1", "radiator", ua="500 W/K", room_temperature="20 degC")
    board.ring("P-1", "S-1", "B-1", "RA-1")
    props = {"set_temperature": "60 degC", "differential": f"{differential} K", **aquastat}
    board.item("AQ-1", "aquastat", senses=["B-1", "out"], **props)
    return board.case("c")


def test_a_pipe_stat_over_flowing_water_cycles_about_the_middle_of_its_band():
    """On 80 degC, past 60; off 20 degC, below 55: on average 57.5 degC, by the radiator's own law."""
    solved = looped(5.0).solve()
    assert solved.converged
    assert solved.raw.signals == {"AQ-1": True}
    rate = solved.flow("L-1") * 1000.0 * CP
    fall = (57.5 - 20.0) * -math.expm1(-500.0 / rate)
    full = min(40e3, rate * (80.0 - (57.5 - fall)))
    for key in ("AQ-1", "B-1"):
        assert solved.items[key]["duty_share"] == pytest.approx(rate * fall / full, rel=2e-3)
    assert solved.items["B-1"]["duty_w"] == pytest.approx(rate * fall, rel=2e-3)
    assert solved.warm_end("L-3") == pytest.approx(57.5, abs=1e-3)
    assert solved.noted("AQ-1", "differential of 5.0 K is less than the")


def test_a_pipe_stat_that_runs_no_source_has_no_steady_state_and_says_between_which_it_swings():
    """The boiler runs on its own; the stat stops the only pump, whose water then cools to the room's."""
    board = Board()
    board.item("B-1", "boiler", capacity="40 kW", set_temperature="80 degC")
    board.drive()
    board.items["P-1"]["props"] |= {"run_when": "AQ-1", "integral_check": True}
    board.item("RA-1", "radiator", ua="500 W/K", room_temperature="20 degC")
    board.item("T-1", "tank", taps={"a": "1 m", "b": "0 m"}, ua_loss="50 W/K")
    board.drive("P-2", "S-2")
    board.chain("P-1", "S-1", "B-1", "RA-1", "P-1")
    board.item("AQ-1", "aquastat", senses=["RA-1", "in"], set_temperature="60 degC", differential="5 K")
    solved = board.case("c").solve()
    assert not solved.converged
    assert solved.noted("AQ-1", "no steady state: on, it senses 80.0 °C")


def test_a_pipe_stat_inside_its_band_is_on_and_beyond_it_off():
    calm = looped(5.0)
    calm.items["B-1"]["props"]["set_temperature"] = "58 degC"
    assert calm.solve().raw.signals == {"AQ-1": True}
    warm = looped(5.0)
    warm.items["RA-1"]["props"] |= {"room_temperature": "61 degC"}
    assert warm.solve().raw.signals == {"AQ-1": False}


def test_off_and_at_rest_inside_its_band_it_stays_off():
    board = looped(5.0)
    board.items["RA-1"]["props"]["room_temperature"] = "57 degC"
    solved = board.solve()
    assert solved.raw.signals == {"AQ-1": False}
    assert not solved.noted("AQ-1", "short-cycles")


def test_priority_the_tank_first():
    """Two zones off one boiler: the heating zone waits while the tank calls."""
    board = Board()
    board.item("B-1", "boiler", capacity="40 kW", set_temperature="75 degC")
    board.drive()
    for name in ("A", "B"):
        board.item(name, "joint")
    board.item("ZV-1", "zone_valve", run_when="AQ-1")
    board.item("ZV-2", "zone_valve", run_when={"all": ["TH-1", {"not": "AQ-1"}]})
    board.item("RA-1", "radiator", ua="300 W/K", room_temperature="20 degC")
    board.item("T-1", "tank", volume="200 L", tall="1 m", taps={"low": "0 m", "top": "1 m"})
    board.item("AQ-1", "aquastat", senses=["T-1", "top"], set_temperature="55 degC", differential="5 K")
    board.item("TH-1", "thermostat")
    board.chain("P-1", "S-1", "B-1", "A", "ZV-1", "T-1:low")
    board.chain("T-1:top", "B")
    board.chain("A", "ZV-2", "RA-1", "B", "P-1")
    for name, t in (("cold", 45.0), ("warm", 58.0)):
        board.case(name, signals={"TH-1": True}, tanks={"T-1": f"{t} degC"})
    cold, warm = board.solve("cold"), board.solve("warm")
    assert (cold.items["ZV-1"]["flow_m3_s"] > 1e-4, cold.items["RA-1"]["delivered_w"]) == (True, 0.0)
    assert cold.noted("TH-1", "calls, but ZV-2 rests: it waits for AQ-1 to be off")
    assert warm.items["ZV-1"]["flow_m3_s"] == 0.0
    assert warm.items["RA-1"]["delivered_w"] > 1e3
    assert not warm.noted("TH-1")


def by_turns(loss: float, ua_loss: float = 60.0, beside: bool = False) -> Board:
    """As above, but the tank is left to its stat, and the zone heats a room of its own."""
    board = Board(outdoor_design="-10 degC")
    board.item("B-1", "boiler", capacity="90 kW", set_temperature="75 degC")
    board.drive()
    for name in ("A", "B"):
        board.item(name, "joint")
    board.item("ZV-1", "zone_valve", run_when="AQ-1")
    board.item("ZV-2", "zone_valve", run_when={"all": ["TH-1", {"not": "AQ-1"}]})
    board.item("RA-1", "radiator", ua="300 W/K", serves="R-1")
    taps = {"low": "0 m", "top": "1 m"}
    board.item("T-1", "tank", volume="200 L", tall="1 m", taps=taps, ua_loss=f"{ua_loss} W/K")
    board.item("R-1", "room", loss=f"{loss} W/K", wanted="20 degC")
    board.item("AQ-1", "aquastat", senses=["T-1", "top"], set_temperature="55 degC", differential="5 K")
    board.item("TH-1", "thermostat", senses=["R-1"], set_temperature="20 degC", differential="1 K")
    board.chain("P-1", "S-1", "B-1", "A", "ZV-1", "T-1:low")
    board.chain("T-1:top", "B")
    last = "RA-1"
    if beside:
        last = board.item("RA-2", "radiator", ua="100 W/K", serves="R-2")
        board.item("R-2", "room", loss="50 W/K", wanted="20 degC")
    board.chain("A", "ZV-2", "RA-1", *([last] if beside else []), "B", "P-1")
    return board.case("c")


@pytest.mark.parametrize("loss", [100.0, 250.0, 700.0])
def test_a_room_gets_its_heat_while_the_tank_that_comes_first_needs_none(loss):
    """60 W/K of loss make the tank call for 7 % of the time; the room has the rest."""
    solved = by_turns(loss).solve()
    tank_share = 60.0 * 35.0 / (WARM * 20.0)
    k = WARM * -math.expm1(-300.0 / WARM)
    held = loss * 30.0 / (k * 55.0)
    assert tank(solved)["duty_share"] == pytest.approx(tank_share, rel=1e-5)
    room = solved.items["R-1"]
    if held <= 1.0 - tank_share:
        assert room["temperature_c"] == pytest.approx(20.0, abs=1e-6)
        assert room["duty_share"] == pytest.approx(held, rel=1e-5)
    else:
        left = 1.0 - tank_share
        by_hand = (left * k * 75.0 - loss * 10.0) / (left * k + loss)
        assert by_hand < 20.0
        assert room["temperature_c"] == pytest.approx(by_hand, abs=1e-4)
        assert room["duty_share"] == pytest.approx(left, rel=1e-5)
    assert room["duty_share"] * room["heat_w"] == pytest.approx(room["loss_w"], rel=1e-5)
    assert solved.items["RA-1"]["delivered_w"] == 0.0  # shown is the tank being heated
    assert solved.noted("R-1", "is heated while AQ-1 is off")


def test_a_room_beside_it_on_the_same_circuit_has_the_same_turns():
    solved = by_turns(100.0, beside=True).solve()
    first, second = solved.items["R-1"], solved.items["R-2"]
    k1, k2 = (WARM * -math.expm1(-ua / WARM) for ua in (300.0, 100.0))
    between = 75.0 - k1 * 55.0 / WARM
    share = 100.0 * 30.0 / (k1 * 55.0)
    assert first["duty_share"] == pytest.approx(share, rel=1e-5)
    by_hand = (share * k2 * between - 50.0 * 10.0) / (share * k2 + 50.0)
    assert second["temperature_c"] == pytest.approx(by_hand, abs=1e-4)
    assert second["duty_share"] * second["heat_w"] == pytest.approx(second["loss_w"], rel=1e-5)


# what is said about calls and wiring


def wired(*controls: tuple[str, str, dict[str, Any]], **pump: Any) -> Board:
    board = Board()
    board.drive()
    board.items["P-1"]["props"].update(pump)
    board.ring("P-1", "S-1")
    for name, kind, props in controls:
        board.item(name, kind, **props)
    return board.case("c")


@pytest.mark.parametrize(
    ("controls", "pump", "at", "words"),
    [
        ([("OU-1", "outlet", {"switched_by": "OU-2"}), ("OU-2", "outlet", {"switched_by": "OU-1"})],
         {"powered_by": "OU-1"}, "OU-2", "depends on itself, by way of OU-1"),
        ([("OU-1", "outlet", {"switched_by": {"not": "OU-1"}})], {"powered_by": "OU-1"}, "OU-1",
         "on nothing but itself"),
        ([("SW-1", "switch", {})], {}, "SW-1", "runs nothing"),
        ([("OU-1", "outlet", {})], {}, "OU-1", "feeds nothing"),
        ([("SW-1", "switch", {})], {"run_when": {"all": ["SW-1", {"not": "SW-1"}]}}, "P-1", "can never run"),
        ([("TH-1", "thermostat", {})], {"run_when": "TH-1"}, "TH-1", "feels nothing.*Taken as off"),
        ([("AQ-1", "aquastat", {"senses": ["S-1", "in"]})], {"run_when": "AQ-1"}, "AQ-1",
         "has no set temperature"),
        ([("SW-1", "switch", {"on": True}), ("SW-2", "switch", {})], {"run_when": {"all": ["SW-1", "SW-2"]}},
         "SW-1", "calls, but P-1 rests: it waits for SW-2 to be on"),
    ],
)  # fmt: skip
def test_notes_at_the_place(controls, pump, at, words):
    solved = wired(*controls, **pump).solve()
    assert solved.converged
    assert solved.noted(at, words)


def test_sound_wiring_says_nothing():
    solved = wired(
        ("TH-1", "thermostat", {"senses": ["R-1"]}),
        ("R-1", "room", {"loss": "100 W/K"}),
        ("OU-1", "outlet", {"switched_by": "TH-1"}),
        powered_by="OU-1",
    ).solve()
    assert not [at for at, _ in solved.notes if at in ("TH-1", "OU-1")]


# outdoor reset


@pytest.mark.parametrize(
    ("outdoor", "supply"),
    [(-20.0, 60.0), (-10.0, 60.0), (0.0, 50.0), (5.0, 42.5), (10.0, 35.0), (30.0, 35.0)],
)
def test_outdoor_reset_is_straight_between_its_points_and_flat_beyond(outdoor, supply):
    board = Board()
    board.item("B-1", "boiler", capacity="40 kW", set_temperature="80 degC")
    board.drive()
    board.item("RA-1", "radiator", ua="500 W/K", room_temperature="20 degC")
    board.ring("P-1", "S-1", "B-1", "RA-1")
    line = [["-10 degC", "60 degC"], ["0 degC", "50 degC"], ["10 degC", "35 degC"]]
    board.item("OR-1", "outdoor_reset", line=line, sets="B-1")
    solved = board.case("c", outdoor=f"{outdoor} degC").solve()
    assert solved.items["B-1"]["temperature_c"] == pytest.approx(supply)
    assert solved.items["OR-1"]["supply_c"] == pytest.approx(supply)
    without = Board(outdoor_design="5 degC")
    without.items, without.pipes = board.items, board.pipes
    assert without.solve().items["B-1"]["temperature_c"] == pytest.approx(42.5)  # the site's design weather


def test_outdoor_reset_sets_mixing_valves_and_stats():
    board = Board()
    board.item("B-1", "boiler", capacity="40 kW", set_temperature="80 degC")
    board.drive()
    board.item("RA-1", "radiator", ua="500 W/K", room_temperature="20 degC")
    board.item("MV-1", "mixing_valve", set_temperature="70 degC")
    for name in ("A", "B"):
        board.item(name, "joint")
    board.pump("P-2", 60e3, 1e-3)
    board.chain("B-1", "A", "MV-1:hot")
    board.chain("MV-1:mixed", "P-1", "S-1", "RA-1", "B", "MV-1:cold")
    board.chain("B", "P-2", "B-1")
    board.item("OR-1", "outdoor_reset", line=[["-10 degC", "60 degC"], ["10 degC", "40 degC"]], sets=["MV-1"])
    solved = board.case("c", outdoor="0 degC").solve()
    assert solved.items["MV-1"]["temperature_c"] == pytest.approx(50.0, abs=0.01)


@pytest.mark.parametrize(
    ("more", "at", "words"),
    [
        ({"OR-2": {"line": [["0 degC", "50 degC"]], "sets": "B-1"}}, "OR-2", "OR-1 sets B-1 already"),
        ({"OR-2": {"line": [["0 degC", "50 degC"]], "sets": "P-1"}}, "OR-2", "cannot set P-1: a circulator"),
        ({"OR-2": {"line": [["0 degC", "50 degC"]]}}, "OR-2", "sets nothing"),
        ({"OR-2": {"sets": "B-1"}}, "OR-2", "no line"),
    ],
)
def test_outdoor_reset_says_what_it_cannot(more, at, words):
    board = Board()
    board.item("B-1", "boiler", capacity="40 kW", set_temperature="80 degC")
    board.drive()
    board.ring("P-1", "S-1", "B-1")
    board.item("OR-1", "outdoor_reset", line=[["0 degC", "50 degC"], ["10 degC", "40 degC"]], sets="B-1")
    for name, props in more.items():
        board.item(name, "outdoor_reset", **props)
    solved = board.case("c", outdoor="0 degC").solve()
    assert solved.noted(at, words)
    assert not solved.noted("OR-1")
    assert solved.items["OR-1"]["supply_c"] == pytest.approx(50.0)


@pytest.mark.parametrize(
    ("way", "capacities"), [("one", (20e3,)), ("series", (3e3, 9e3)), ("side", (9e3, 4e3))]
)
def test_a_stat_over_water_that_a_plain_load_cools_is_on_for_the_share_that_feeds_the_load(way, capacities):
    """Any water carries the load; mid-band is where the stat keeps it: 56 degC, at load over capacity."""
    board = Board()
    board.pump("P-1", 50e3, 1e-3)
    for joint in ("J-1", "J-2", "J-3"):
        board.item(joint, "joint")
    boilers = [f"B-{k}" for k in range(len(capacities))]
    for key, most in zip(boilers, capacities, strict=True):
        board.item(key, "boiler", capacity=f"{most} W", set_temperature="80 degC", run_when="AQ-1")
    if way == "side":
        for key in boilers:
            board.chain("J-1", board.resistance(f"S-{key}", 3e-4, 5e3), key, "J-2")
    else:
        board.chain("J-1", *boilers, "J-2")
    board.item("LD-1", "load", load="4 kW")
    board.pipe("J-2:at", "LD-1:in", "SUP")
    board.chain("LD-1", board.resistance("S-1", 3e-4, 10e3), "J-3", "P-1", "J-1")
    board.item("AQ-1", "aquastat", senses=["SUP"], set_temperature="58 degC", differential="4 K")
    solved = board.case("c").solve()
    assert solved.converged
    assert solved.warm("SUP") == pytest.approx(56.0, abs=1e-3)
    for key, most in zip(boilers, capacities, strict=True):
        share = 4e3 / sum(capacities)
        assert solved.items[key]["duty_w"] == pytest.approx(share * most, abs=0.1)
        assert solved.items[key]["duty_share"] == pytest.approx(share, abs=1e-5)


@pytest.mark.parametrize(
    ("runs", "rising", "first", "second", "middle", "shares"),
    [
        ({"any": ["AQ-1", "AQ-2"]}, False, 55, 50, 53, (0.4, None)),
        ({"any": ["AQ-1", "AQ-2"]}, False, 50, 55, 53, (None, 0.4)),
        ({"all": ["AQ-1", "AQ-2"]}, False, 55, 50, 48, (None, 0.4)),
        ({"any": ["AQ-1", {"not": "AQ-2"}]}, True, 50, 55, 57, (None, 0.6)),
        ({"all": ["AQ-1", {"not": "AQ-2"}]}, True, 55, 50, 52, (None, 0.6)),
    ],
)
def test_of_two_stats_over_one_water_that_cycles_whose_turn_it_is(
    runs, rising, first, second, middle, shares
):
    """Whichever is named first; one that stops the boiler is on for the rest of the time."""
    board = Board()
    board.item("B-1", "boiler", capacity="10 kW", set_temperature="70 degC", run_when=runs)
    board.drive()
    board.item("LD-1", "load", load="4 kW")
    board.ring("P-1", "S-1", "B-1", "LD-1")
    more = {"differential": "4 K", "senses": ["B-1", "out"]}
    board.item("AQ-1", "aquastat", set_temperature=f"{first} degC", **more)
    makes = {"makes_on": "rise"} if rising else {}
    board.item("AQ-2", "aquastat", set_temperature=f"{second} degC", **more, **makes)
    solved = board.case("c").solve()
    assert solved.converged
    assert solved.items["B-1"]["temperature_c"] == pytest.approx(middle, abs=1e-3)
    assert solved.items["B-1"]["duty_share"] == pytest.approx(0.4, abs=1e-5)
    for key, share in zip(("AQ-1", "AQ-2"), shares, strict=True):
        assert solved.items[key].get("duty_share") == (share and pytest.approx(share, abs=1e-5))


def test_a_stat_over_water_that_is_out_of_service_is_off_and_the_case_settles():
    board = looped(5.0)
    board.cases[0]["set"] = {"AQ-1": {"out_of_service": True}}
    solved = board.solve()
    assert solved.converged
    assert solved.items["B-1"]["running"] is False
    assert solved.items["RA-1"]["delivered_w"] == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize("way", ["series", "side"])
@pytest.mark.parametrize("first", [1, 2])
@pytest.mark.parametrize(("load", "middle"), [(6e3, 58.0), (12e3, 53.0), (18e3, 53.0)])
def test_of_two_boilers_in_stages_the_first_runs_before_the_second_cycles(way, first, load, middle):
    """Stats of 60 and 55 degC, 4 K apart, over one supply; boilers of 10 kW: whichever is named first."""
    board = Board()
    board.pump("P-1", 50e3, 1.5e-3)
    for joint in ("J-1", "J-2", "J-3"):
        board.item(joint, "joint")
    for k in (first, 3 - first):
        board.item(f"B-{k}", "boiler", capacity="10 kW", set_temperature="80 degC", run_when=f"AQ-{k}")
        props = {"set_temperature": f"{65 - 5 * k} degC", "differential": "4 K"}
        board.item(f"AQ-{k}", "aquastat", senses=["SUP"], **props)
    if way == "series":
        board.chain("J-1", "B-1", "B-2", "J-2")
    else:
        for k in (1, 2):
            board.chain("J-1", board.resistance(f"S-{k}", 4e-4, 10e3), f"B-{k}", "J-2")
    board.item("LD-1", "load", load=f"{load} W")
    board.pipe("J-2:at", "LD-1:in", "SUP")
    board.chain("LD-1", board.resistance("S-3", 5e-4, 10e3), "J-3", "P-1", "J-1")
    solved = board.case("c").solve()
    assert solved.converged
    assert solved.warm("SUP") == pytest.approx(middle, abs=1e-2)
    assert solved.items["B-1"]["duty_w"] == pytest.approx(min(load, 10e3), abs=1.0)
    assert solved.items["B-2"]["duty_w"] == pytest.approx(max(0.0, load - 10e3), abs=1.0)
