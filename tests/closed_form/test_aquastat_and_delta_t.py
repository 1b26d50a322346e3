"""An aquastat and a delta-T circulator on one loop, with an exchanger that charges a tank from it.

The answers are by hand: the aquastat lets its boiler cycle about the middle of its band, the circulator holds
its difference by the heat that then moves, and the tank's own aquastat holds it for a share of the time.
"""

from __future__ import annotations

import math

import pytest
from scipy.optimize import brentq

from core.calls.energy import yearly_energy
from core.files.read import from_data
from core.thermal.exchanger import effectiveness
from tests.support.builders import CP, RHO, Board, Solved

CAPACITY, SET_AT = 40e3, 80.0
ROOM, UA = 20.0, 500.0
TANK, TANK_UA, COLD = 50.0, 4.0, 10.0
HX, CHARGING = 900.0, 0.5e-3 * RHO * CP  # [W/K]
MOST, LEAST = 0.5e-3 * RHO * CP, 0.2  # [W/K] at full speed; least speed
HOURS = {"design": 1000, "mild": 3000}


def loop(set_at: float = 60.0, differential: float = 6.0, target: float = 10.0, ua: float = UA) -> Board:
    """A boiler that its loop's aquastat fires, a delta-T circulator about it, one radiator."""
    board = Board()
    board.item("B-1", "boiler", capacity=f"{CAPACITY} W", set_temperature=f"{SET_AT} degC", run_when="AQ-1")
    board.drive()
    board.items["P-1"]["props"] |= {
        "control": "delta_t",
        "target": f"{target} K",
        "senses": [["B-1", "out"], ["B-1", "in"]],
        "min_speed": LEAST,
        "watts": "60 W",
    }
    band = {"set_temperature": f"{set_at} degC", "differential": f"{differential} K"}
    board.item("AQ-1", "aquastat", senses=["B-1", "out"], **band)
    board.item("RA-1", "radiator", ua=f"{ua} W/K", room_temperature=f"{ROOM} degC")
    return board


def alone(**more: float) -> Board:
    board = loop(**more)
    board.ring("P-1", "S-1", "B-1", "RA-1")
    return board


def charging(draw: float, **more: float) -> Board:
    """Held at 14 K; beside the radiator an exchanger whose far side charges a tank by its own circulator.

    The branches are alike, so each has half of the loop's water at any speed.
    """
    board = loop(target=14.0, **more)
    board.item("HX-1", "exchanger", ua=f"{HX} W/K")
    board.item("J-1", "joint")
    board.item("J-2", "joint")
    board.chain("J-2", "P-1", "S-1", "B-1", "J-1")
    board.chain("J-1", board.resistance("S-2", 0.25e-3, 0.1), "RA-1", "J-2")
    board.chain("J-1", board.resistance("S-3", 0.25e-3, 0.1), "HX-1:a_in>a_out", "J-2")
    board.body("water", use="potable")
    taps = {"top": "1.5 m", "low": "0.2 m", "cold": "0.1 m", "back": "0.3 m"}
    board.item(
        "T-1",
        "tank",
        volume="300 L",
        tall="1.6 m",
        taps=taps,
        ua_loss=f"{TANK_UA} W/K",
        sensors={"mid": "1 m"},
    )
    board.item("AQ-2", "aquastat", senses=["T-1", "mid"], set_temperature=f"{TANK} degC", differential="5 K")
    board.drive("P-2", "S-4")
    board.items["P-2"]["props"] |= {"run_when": "AQ-2", "integral_check": True, "watts": "40 W"}
    board.chain("P-2", "S-4", "HX-1:b_in>b_out", "T-1:low")
    board.chain("T-1:back", "P-2")
    board.item("CM-1", "cold_main", pressure="3 bar", temperature=f"{COLD} degC")
    board.item("F-1", "fixture", flow="0.1 L/s", set_temperature="99 degC")
    board.chain("CM-1", "T-1:cold")
    board.chain("T-1:top", "F-1:hot")
    for name, hours in HOURS.items():
        board.case(name, draws={"F-1": f"{draw} m3/s"}, hours_per_year=hours)
    return board


def fall(rate: float, warm: float, ua: float = UA) -> float:
    """What a radiator takes out of its water, [K]."""
    return (warm - ROOM) * -math.expm1(-ua / rate)


def passed(rate: float, warm: float) -> float:
    """Heat that the exchanger passes to the water that comes from the tank, [W]."""
    low = min(rate, CHARGING)
    return low * effectiveness(HX / low, low / max(rate, CHARGING), "counter") * (warm - TANK)


@pytest.mark.parametrize(("set_at", "differential"), [(60.0, 6.0), (45.0, 4.0)])
def test_a_loop_held_by_its_aquastat_gives_its_circulator_the_difference(set_at, differential):
    """NTU = -ln(1 - 10 / (middle - 20)), rate = UA / NTU, share = heat over what the boiler could give."""
    solved = alone(set_at=set_at, differential=differential).case().solve()
    assert solved.converged, solved.notes
    middle = set_at - differential / 2
    rate = UA / -math.log1p(-10.0 / (middle - ROOM))
    assert rate < MOST
    heat = 10.0 * rate
    assert solved.flow("L-1") * RHO * CP == pytest.approx(rate, rel=1e-4)
    assert solved.items["P-1"]["speed"] == pytest.approx(rate / MOST, rel=1e-4)
    assert solved.items["B-1"]["temperature_c"] == pytest.approx(middle, abs=1e-3)
    assert solved.items["RA-1"]["delivered_w"] == pytest.approx(heat, rel=1e-4)
    full = min(CAPACITY, rate * (SET_AT - middle + 10.0))
    for key in ("AQ-1", "B-1"):
        assert solved.items[key]["duty_share"] == pytest.approx(heat / full, rel=1e-3)


@pytest.mark.parametrize(("target", "speed"), [(30.0, LEAST), (5.0, 1.0)])
def test_a_difference_out_of_reach_in_a_held_loop_leaves_the_circulator_at_its_limit(target, speed):
    """With the little UA even the least speed cools too little; with the great one full speed too much."""
    ua = 60.0 if speed < 1.0 else 900.0
    solved = alone(target=target, ua=ua).case().solve()
    assert solved.converged, solved.notes
    rate = speed * MOST
    assert solved.items["P-1"]["speed"] == pytest.approx(speed)
    assert solved.items["RA-1"]["delivered_w"] == pytest.approx(rate * fall(rate, 57.0, ua), rel=1e-4)
    assert solved.items["B-1"]["temperature_c"] == pytest.approx(57.0, abs=1e-3)
    assert solved.noted("P-1", "least speed" if speed < 1.0 else "full speed")


@pytest.mark.parametrize(
    ("draw", "set_at", "differential"), [(0.03e-3, 64.0, 6.0), (0.005e-3, 56.0, 4.0)], ids=["design", "mild"]
)
def test_a_shared_exchanger_charges_a_tank_from_a_held_loop(draw, set_at, differential):
    solved = charging(draw, set_at=set_at, differential=differential).solve()
    warm = set_at - differential / 2
    rate = by_hand(warm)
    check(solved, rate, warm, draw)


def by_hand(warm: float) -> float:
    """The loop's capacity rate at which both branches together cool their water by 14 K, [W/K]."""

    def off(rate: float) -> float:
        half = rate / 2
        return half * fall(half, warm) + passed(half, warm) - 14.0 * rate

    return float(brentq(off, LEAST * MOST, MOST))


def check(solved: Solved, rate: float, warm: float, draw: float) -> None:
    assert solved.converged, solved.notes
    assert solved.flow("L-1") * RHO * CP == pytest.approx(rate, rel=1e-3)
    assert solved.items["B-1"]["temperature_c"] == pytest.approx(warm, abs=1e-3)
    charge = passed(rate / 2, warm)
    assert solved.items["HX-1"]["duty_w"] == pytest.approx(charge, rel=1e-3)
    heat = charge + rate / 2 * fall(rate / 2, warm)
    assert solved.items["B-1"]["duty_w"] == pytest.approx(heat, rel=1e-3)
    assert solved.items["AQ-1"]["duty_share"] == pytest.approx(
        heat / min(CAPACITY, rate * (SET_AT - warm) + heat), rel=1e-3
    )
    assert solved.items["T-1"]["temperature_c"] == pytest.approx(TANK, abs=1e-4)
    lost = draw * RHO * CP * (TANK - COLD) + TANK_UA * (TANK - ROOM)
    assert solved.items["AQ-2"]["duty_share"] == pytest.approx(lost / charge, rel=1e-3)


def test_a_year_weighs_what_cycling_aquastats_run_by_their_share():
    """A circulator run by the loop's aquastat runs for its share, the tank's for the tank's."""
    board = charging(0.03e-3, set_at=64.0)
    board.items["P-1"]["props"]["run_when"] = {"any": ["AQ-1", "AQ-3"]}
    board.item("AQ-3", "aquastat", senses=["B-1", "in"], set_temperature="20 degC", differential="1 K")
    solved = board.solve()
    assert solved.converged, solved.notes
    energy = yearly_energy(from_data(board.data()))
    seconds = sum(HOURS.values()) * 3600.0
    loop_share, tank_share = (solved.items[key]["duty_share"] for key in ("AQ-1", "AQ-2"))
    assert 0.0 < loop_share < 1.0
    assert 0.0 < tank_share < 1.0
    speed = solved.items["P-1"]["speed"]
    assert energy.electricity["P-1"].value == pytest.approx(60.0 * speed**3 * loop_share * seconds, rel=1e-6)
    assert energy.electricity["P-2"].value == pytest.approx(40.0 * tank_share * seconds, rel=1e-6)


def test_a_year_gives_a_held_tank_what_is_drawn_of_it_and_what_it_loses():
    draw = 0.03e-3
    board = charging(draw, set_at=64.0)
    energy = yearly_energy(from_data(board.data()))
    seconds = sum(HOURS.values()) * 3600.0
    kept = sum(case.taken["stores"]["T-1"] for case in energy.cases)
    assert kept == pytest.approx(TANK_UA * (TANK - ROOM) * seconds, rel=1e-6)
    radiators = sum(case.taken["circuits"]["RA-1"] for case in energy.cases)
    drawn = draw * RHO * CP * (TANK - COLD) * seconds
    assert energy.heat["B-1"].value == pytest.approx(radiators + drawn + kept, rel=1e-6)
