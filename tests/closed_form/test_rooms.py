"""Rooms: solved without a stat, held with one; shares of time and temperatures as worked out by hand."""

from __future__ import annotations

import math
from typing import Any

import pytest
from scipy.optimize import brentq, root

from tests.support.builders import CP, Board, Solved

FLOW = 0.5e-3  # [m3/s]
RATE = FLOW * 1000.0 * CP  # [W/K]
OUT = -10.0


def part(ua: float, rate: float = RATE) -> float:
    """Heat per kelvin between inlet and room [W/K]."""
    return rate * -math.expm1(-ua / rate)


def heated(
    loss: float = 200.0,
    gain: float = 0.0,
    ua: float = 500.0,
    stat: float | None = None,
    capacity: float = 40e3,
    **thermostat: Any,
) -> Board:
    """A boiler at 60 degC, a pump that moves FLOW, a radiator in a room; the stat runs the pump."""
    board = Board(outdoor_design=f"{OUT} degC")
    board.item("B-1", "boiler", capacity=f"{capacity} W", set_temperature="60 degC")
    board.drive()
    board.item("RA-1", "radiator", ua=f"{ua} W/K", serves="R-1")
    board.item("R-1", "room", loss=f"{loss} W/K", wanted="20 degC", gain=f"{gain} W")
    board.ring("P-1", "S-1", "B-1", "RA-1")
    if stat is not None:
        props = {"set_temperature": f"{stat} degC", "differential": "1 K", **thermostat}
        board.item("TH-1", "thermostat", senses=["R-1"], **props)
        board.items["P-1"]["props"]["run_when"] = "TH-1"
    return board


def room(solved: Solved, key: str = "R-1") -> tuple[float, float]:
    """Temperature [degC] and duty share; what all its figures must keep is checked on the way."""
    assert solved.converged
    figures = solved.items[key]
    return figures["temperature_c"], figures["duty_share"]


@pytest.mark.parametrize(
    ("loss", "gain", "ua"), [(200, 0, 500), (50, 800, 900), (2000, 0, 5000), (10, 0, 5e4), (300, 2e3, 1)]
)
def test_without_a_stat_gain_and_heat_make_up_for_the_loss(loss, gain, ua):
    solved = heated(loss, gain, ua, capacity=1e6).solve()
    k = part(ua)
    by_hand = (k * 60.0 + loss * OUT + gain) / (k + loss)
    t, share = room(solved)
    assert t == pytest.approx(by_hand, abs=1e-6)
    assert share == 1.0
    figures = solved.items["R-1"]
    assert figures["heat_w"] == pytest.approx(k * (60.0 - by_hand), rel=1e-6)
    assert figures["heat_w"] == solved.items["RA-1"]["delivered_w"]
    assert figures["loss_w"] == pytest.approx(figures["heat_w"] + gain, rel=1e-6)
    assert figures["wanted_c"] == pytest.approx(20.0)


def test_outdoors_is_that_of_the_case():
    solved = heated().case("mild", outdoor="12 degC").solve()
    k = part(500.0)
    assert room(solved)[0] == pytest.approx((k * 60.0 + 200.0 * 12.0) / (k + 200.0), abs=1e-6)


def test_with_pumps_off_it_drifts_to_outdoors_and_its_gain():
    board = heated(gain=3000.0)
    board.items["P-1"]["props"]["run_when"] = False
    t, _ = room(board.solve())
    assert t == pytest.approx(OUT + 3000.0 / 200.0, abs=1e-9)


def test_a_source_at_its_capacity_gives_just_that():
    t, _ = room(heated(capacity=3000.0).solve())
    assert t == pytest.approx(OUT + 3000.0 / 200.0, abs=1e-5)


@pytest.mark.parametrize("signals", [{}, {"TH-1": True}])
def test_held_by_a_stat_for_a_share_of_the_time(signals):
    solved = heated(gain=500.0, stat=21.0).case("c", signals=signals).solve()
    on = part(500.0) * (60.0 - 21.0)
    need = 200.0 * (21.0 - OUT) - 500.0
    t, share = room(solved)
    assert t == pytest.approx(21.0, abs=1e-6)
    assert share == pytest.approx(need / on, rel=1e-6)
    assert solved.items["RA-1"]["delivered_w"] == pytest.approx(on, rel=1e-6)  # the on-state is shown
    assert solved.raw.signals == {"TH-1": True}
    assert solved.items["R-1"]["loss_w"] == pytest.approx(200.0 * (21.0 - OUT), rel=1e-6)
    assert not solved.noted("R-1")


def test_the_whole_file_without_cases_holds_too():
    assert room(heated(stat=21.0).solve())[0] == pytest.approx(21.0, abs=1e-6)


def test_a_room_that_gets_too_little_starves_and_says_what_would_cure_it():
    solved = heated(loss=400.0, ua=300.0, stat=22.0).case("c").solve()
    k = part(300.0)
    t, share = room(solved)
    assert t == pytest.approx((k * 60.0 + 400.0 * OUT) / (k + 400.0), abs=1e-6)
    assert share == 1.0
    supply = 22.0 + 400.0 * (22.0 - OUT) / k
    assert solved.noted("R-1", rf"22\.0 °C is wanted.*{supply:.1f} °C to RA-1")
    # and with that supply it is held all the time
    board = heated(loss=400.0, ua=300.0, stat=22.0)
    board.items["B-1"]["props"]["set_temperature"] = f"{supply + 1e-6} degC"
    cured = room(board.solve())
    assert cured == (pytest.approx(22.0, abs=1e-6), pytest.approx(1.0, abs=1e-6))


@pytest.mark.parametrize(("signals", "on"), [({}, False), ({"TH-1": True}, True)])
def test_a_gain_that_does_alone_leaves_the_stat_nothing_to_do(signals, on):
    solved = heated(gain=8000.0, stat=20.0).case("c", signals=signals).solve()
    assert room(solved) == (pytest.approx(OUT + 8000.0 / 200.0, abs=1e-6), 0.0)
    assert solved.raw.signals["TH-1"] is on
    assert solved.noted("R-1", "30.0 °C where 20.0 °C is wanted")


def test_kept_off_by_the_case_it_drifts():
    solved = heated(gain=2000.0, stat=20.0).case("c", signals={"TH-1": False}).solve()
    assert room(solved) == (pytest.approx(OUT + 10.0, abs=1e-6), 0.0)


def test_too_warm_a_room_names_the_supply_and_the_flow_that_would_do():
    solved = heated(400.0).case("c").solve()
    k, need = part(500.0), 400.0 * 30.0
    supply = 20.0 + need / k
    share = brentq(lambda x: part(500.0, x * RATE) * 40.0 - need, 1e-3, 1.0)
    assert solved.noted("R-1", rf"A supply of {supply:.1f} °C to RA-1 by outdoor reset")
    assert solved.noted("R-1", rf"{1000 * share * FLOW:.3f} L/s through it")
    board = heated(400.0)
    board.items["B-1"]["props"]["set_temperature"] = f"{supply} degC"
    assert room(board.solve())[0] == pytest.approx(20.0, abs=1e-5)


def test_a_room_of_unknown_loss_counts_as_held():
    board = heated()
    del board.items["R-1"]["props"]["loss"]
    solved = board.case("c").solve()
    assert room(solved) == (pytest.approx(20.0), 1.0)
    assert solved.items["RA-1"]["delivered_w"] == pytest.approx(part(500.0) * 40.0, rel=1e-6)
    assert solved.noted("R-1", "loss is not known")


def test_a_loss_estimated_from_the_envelope_is_solved_with():
    board = heated()
    del board.items["R-1"]["props"]["loss"]
    board.items["R-1"]["props"]["envelope"] = [
        {"name": "wall", "area": "60 m2", "u": "2 W/m2/K"},
        {"name": "window", "area": "20 m2", "u": "4 W/m2/K"},
    ]
    k = part(500.0)
    assert room(board.case("c").solve())[0] == pytest.approx((k * 60 + 200 * OUT) / (k + 200), abs=1e-6)


def test_an_emitters_own_room_temperature_wins():
    board = heated()
    board.items["RA-1"]["props"]["room_temperature"] = "15 degC"
    solved = board.case("c").solve()
    assert solved.items["RA-1"]["delivered_w"] == pytest.approx(part(500.0) * 45.0, rel=1e-6)
    assert room(solved)[0] == pytest.approx(OUT, abs=1e-6)


def test_a_fixed_load_heats_its_room():
    board = heated()
    del board.items["RA-1"]["props"]["ua"]
    board.items["RA-1"]["props"]["load"] = "4000 W"
    assert room(board.case("c").solve())[0] == pytest.approx(OUT + 20.0, abs=1e-6)


# several rooms, several emitters: a second method


def two_rooms(stat: bool) -> Board:
    """Two radiators in parallel and a floor in line, in two rooms; the boiler is at its capacity."""
    board = Board(outdoor_design=f"{OUT} degC")
    board.item("B-1", "boiler", capacity="9000 W", set_temperature="70 degC")
    board.drive()
    for name in ("A", "B"):
        board.item(name, "joint")
    board.item("RA-1", "radiator", ua="180 W/K", serves="R-1", drops=[["0.2 L/s", "4 kPa"]])
    board.item("RA-2", "radiator", ua="240 W/K", serves="R-2", drops=[["0.2 L/s", "9 kPa"]])
    board.item("FC-1", "floor_circuit", output_per_degree="150 W/K", serves="R-1")
    board.item("R-1", "room", loss="140 W/K", gain="300 W", wanted="20 degC")
    board.item("R-2", "room", loss="160 W/K", wanted="18 degC")
    board.chain("P-1", "S-1", "B-1", "A", "RA-1", "B")
    board.item("ZV-2", "zone_valve", run_when="TH-2" if stat else True)
    board.chain("A", "ZV-2", "RA-2", "B")
    board.chain("B", "FC-1", "P-1")
    if stat:
        board.item("TH-2", "thermostat", senses=["R-2"], set_temperature="14 degC")
    return board


@pytest.mark.parametrize("held", [False, True])
def test_coupled_rooms_against_hand_written_equations(held):
    solved = two_rooms(held).case("c").solve()
    if held:
        share = solved.items["R-2"]["duty_share"]
        assert share == pytest.approx(160.0 * (14.0 - OUT) / solved.items["R-2"]["heat_w"], rel=1e-6)
    rates = {key: solved.items[key]["flow_m3_s"] * 1000.0 * CP for key in ("RA-1", "RA-2", "FC-1")}
    k = {key: part(ua, rates[key]) for key, ua in (("RA-1", 180.0), ("RA-2", 240.0), ("FC-1", 150.0))}

    def residuals(x):
        supply, mixed, back, r1, r2 = x
        q1, q2, q3 = k["RA-1"] * (supply - r1), k["RA-2"] * (supply - r2), k["FC-1"] * (mixed - r1)
        return [
            rates["FC-1"] * (supply - back) - 9000.0,
            rates["RA-1"] * supply - q1 + rates["RA-2"] * supply - q2 - rates["FC-1"] * mixed,
            rates["FC-1"] * (mixed - back) - q3,
            140.0 * (r1 - OUT) - 300.0 - q1 - q3,
            r2 - 14.0 if held else 160.0 * (r2 - OUT) - q2,
        ]

    found = root(residuals, [50, 40, 30, 20, 20])
    assert max(abs(r) for r in residuals(found.x)) < 1e-6
    got = [
        solved.warm("L-3"),
        solved.warm("L-9"),
        solved.warm("L-10"),
        solved.items["R-1"]["temperature_c"],
        solved.items["R-2"]["temperature_c"],
    ]
    assert got == pytest.approx(found.x.tolist(), abs=2e-5)


def test_a_radiator_of_exponent_finds_its_room():
    board = heated()
    rated = {"heat": "5 kW", "flow": "0.1 L/s", "supply": "75 degC", "room": "20 degC", "exponent": 1.3}
    board.items["RA-1"]["props"] |= {"rated": rated}
    del board.items["RA-1"]["props"]["ua"]
    solved = board.case("c").solve()
    t, _ = room(solved)
    t_in, t_out = solved.warm("L-3"), solved.warm_end("L-4")
    mean = (t_in - t_out) / math.log((t_in - t) / (t_out - t))
    at = 75.0 - 5000.0 / (0.1 * CP)
    rated_mean = (75.0 - at) / math.log((75.0 - 20.0) / (at - 20.0))
    assert solved.items["RA-1"]["delivered_w"] == pytest.approx(5000.0 * (mean / rated_mean) ** 1.3, rel=1e-5)
    assert t == pytest.approx(OUT + solved.items["RA-1"]["delivered_w"] / 200.0, abs=1e-6)


def test_a_stat_that_runs_nothing_holds_nothing():
    board = heated(stat=20.0)
    del board.items["P-1"]["props"]["run_when"]
    solved = board.case("c").solve()
    k = part(500.0)
    assert room(solved) == (pytest.approx((k * 60.0 + 200.0 * OUT) / (k + 200.0), abs=1e-6), 1.0)
    assert solved.raw.signals == {"TH-1": False}
    assert solved.noted("TH-1", "runs nothing")


@pytest.mark.parametrize("set_at", [20.0, 35.0, 50.0])
def test_heat_that_comes_anyway_counts_into_the_share(set_at):
    """A second radiator runs always; the stat adds a zone."""
    board = Board(outdoor_design=f"{OUT} degC")
    board.item("B-1", "boiler", capacity="90 kW", set_temperature="60 degC")
    board.pump("P-1", 60e3, 1e-3)
    for name in ("A", "B"):
        board.item(name, "joint")
    for name in ("RA-1", "RA-2"):
        board.item(name, "radiator", ua="200 W/K", serves="R-1", drops=[["0.25 L/s", "20 kPa"]])
    board.item("R-1", "room", loss="300 W/K", wanted="20 degC")
    board.item("TH-1", "thermostat", senses=["R-1"], set_temperature=f"{set_at} degC")
    board.item("ZV-1", "zone_valve", run_when="TH-1")
    board.chain("P-1", "B-1", "A", "RA-1", "B", "P-1")
    board.chain("A", "ZV-1", "RA-2", "B")
    found, off = board.case("c").solve(), board.case("off", signals={"TH-1": False}).solve("off")

    def heat(solved: Solved, key: str) -> float:
        return part(200.0, solved.items[key]["flow_m3_s"] * 1000.0 * CP) * (60.0 - set_at)

    need = 300.0 * (set_at - OUT)
    always = heat(off, "RA-1")
    both = heat(found, "RA-1") + heat(found, "RA-2")
    t, share = room(found)
    if always > need:
        assert (share, found.raw.signals["TH-1"]) == (1.0, False)
        assert t == pytest.approx(room(off)[0], abs=1e-6)
    elif both < need:
        assert share == 1.0
        assert t < set_at
    else:
        assert share == pytest.approx((need - always) / (both - always), rel=1e-5)
        assert t == pytest.approx(set_at, abs=1e-6)


def test_two_stages_share_one_room():
    """The first stat alone cannot: the second holds the room at its own point, the first stays on."""
    board = Board(outdoor_design=f"{OUT} degC")
    board.item("B-1", "boiler", capacity="90 kW", set_temperature="60 degC")
    board.pump("P-1", 60e3, 1e-3)
    for name in ("A", "B"):
        board.item(name, "joint")
    board.chain("P-1", "B-1", "A")
    board.chain("B", "P-1")
    for k, set_at in ((1, 22.0), (2, 19.0)):
        board.item(f"TH-{k}", "thermostat", senses=["R-1"], set_temperature=f"{set_at} degC")
        board.item(f"ZV-{k}", "zone_valve", run_when=f"TH-{k}")
        board.item(f"RA-{k}", "radiator", ua="150 W/K", serves="R-1", drops=[["0.25 L/s", "20 kPa"]])
        board.chain("A", f"ZV-{k}", f"RA-{k}", "B")
    board.item("R-1", "room", loss="230 W/K", wanted="20 degC")
    first = board.case("first", signals={"TH-2": False}).case("both").solve("first")
    alone, _ = room(first)
    assert alone < 19.0
    solved = board.solve("both")
    assert room(solved)[0] == pytest.approx(19.0, abs=1e-6)
    assert solved.raw.signals == {"TH-1": True, "TH-2": True}
    k1 = part(150.0, first.items["RA-1"]["flow_m3_s"] * 1000.0 * CP)
    both = sum(part(150.0, solved.items[f"RA-{k}"]["flow_m3_s"] * 1000.0 * CP) for k in (1, 2))
    need = 230.0 * 29.0
    by_hand = (need - k1 * 41.0) / (both * 41.0 - k1 * 41.0)
    assert room(solved)[1] == pytest.approx(by_hand, rel=1e-5)


# rooms on a circuit that another room's stat runs


@pytest.mark.parametrize("outdoor", [-15.0, 0.0, 12.0])
def test_a_room_beside_the_one_with_the_stat_gets_its_share_of_the_time(outdoor):
    """One pump, two radiators in line; the stat is in the first room."""
    board = heated(stat=20.0)
    board.pipes.pop()
    board.item("RA-2", "radiator", ua="300 W/K", serves="R-2")
    board.item("R-2", "room", loss="120 W/K", wanted="20 degC")
    board.chain("RA-1", "RA-2", "P-1")
    solved = board.case("c", outdoor=f"{outdoor} degC").solve()
    k1, k2 = part(500.0), part(300.0)
    share = 200.0 * (20.0 - outdoor) / (k1 * 40.0)
    between = 60.0 - k1 * 40.0 / RATE
    by_hand = (share * k2 * between + 120.0 * outdoor) / (share * k2 + 120.0)
    assert room(solved) == (pytest.approx(20.0, abs=1e-6), pytest.approx(share, rel=1e-6))
    assert room(solved, "R-2") == (pytest.approx(by_hand, abs=1e-5), pytest.approx(share, rel=1e-5))
    figures = solved.items["R-2"]
    assert figures["heat_w"] == pytest.approx(k2 * (between - by_hand), rel=1e-6)
    assert figures["loss_w"] == pytest.approx(share * figures["heat_w"], rel=1e-5)


@pytest.mark.parametrize("signals", [{}, {"TH-1": True, "TH-2": True}])
def test_either_of_two_stats_runs_the_pump_of_both_rooms(signals):
    """The room that needs longest runs the pump; the other gets more than it needs."""
    board = heated(stat=20.0)
    board.pipes.pop()
    board.item("RA-2", "radiator", ua="300 W/K", serves="R-2")
    board.item("R-2", "room", loss="300 W/K", wanted="20 degC")
    board.item("TH-2", "thermostat", senses=["R-2"], set_temperature="20 degC", differential="1 K")
    board.items["P-1"]["props"]["run_when"] = {"any": ["TH-1", "TH-2"]}
    board.chain("RA-1", "RA-2", "P-1")
    solved = board.case("c", outdoor="0 degC", signals=signals).solve()
    t1, share1 = room(solved)
    t2, share2 = room(solved, "R-2")
    k1, k2 = part(500.0), part(300.0)
    between = 60.0 - k1 * (60.0 - t1) / RATE
    assert t2 == pytest.approx(20.0, abs=1e-6)
    assert share2 == pytest.approx(300.0 * 20.0 / (k2 * (between - 20.0)), rel=1e-5)
    assert t1 == pytest.approx(share2 * k1 * 60.0 / (share2 * k1 + 200.0), abs=1e-4)
    assert t1 > 21.0
    assert share1 == pytest.approx(share2, rel=1e-5)
    assert solved.raw.signals == {"TH-1": bool(signals), "TH-2": True}


def test_a_loss_of_nothing_is_known_and_no_heat_is_lost():
    """Heated without a stat the room comes to the water; with one, it never calls."""
    t, _ = room(heated(loss=0.0).solve())
    assert t == pytest.approx(60.0, abs=1e-4)
    held = heated(loss=0.0, stat=20.0).solve()
    t, share = room(held)
    assert (t, share) == (pytest.approx(20.0, abs=1e-6), pytest.approx(0.0, abs=1e-6))
    assert held.items["R-1"]["loss_w"] == pytest.approx(0.0, abs=1e-3)
    for solved in (held, heated(loss=0.0).solve()):
        assert not solved.noted("R-1", "not known")
    gaining = heated(loss=0.0, gain=100.0).solve()
    assert gaining.converged
    assert gaining.noted("R-1", "loses none")


@pytest.mark.parametrize("switched", [["P-1"], ["B-1"], ["P-1", "B-1"]])
def test_a_stat_kept_on_over_a_room_that_needs_no_heat_has_no_share_whatever_it_runs(switched):
    """At 25 degC outdoors it is warm enough by itself; a case that keeps its stat on changes nothing."""
    board = heated(stat=20.0)
    del board.items["P-1"]["props"]["run_when"]
    for key in switched:
        board.items[key]["props"]["run_when"] = "TH-1"
    board.case("kept on", outdoor="25 degC", signals={"TH-1": True})
    t, share = room(board.solve())
    assert t == pytest.approx(25.0, abs=1e-6)
    assert share == 0.0


@pytest.mark.parametrize("capacity", [1500.0, 3000.0])
def test_a_plain_floor_in_a_cold_room_whose_temperature_is_solved_settles(capacity):
    """Too little heat even with f = 0: the plain floor gives nothing, two radiators share what there is."""
    board = Board(outdoor_design="-15 degC")
    board.item("B-1", "boiler", capacity=f"{capacity} W", set_temperature="60 degC")
    board.pump("P-1", 50e3, 1e-3)
    for joint in ("J-1", "J-2"):
        board.item(joint, "joint")
    board.chain("J-2", "P-1", "B-1", "J-1")
    for key, loss in (("R-0", 90), ("R-1", 75)):
        board.item(key, "room", loss=f"{loss} W/K", wanted="20 degC")
    board.item("E-1", "floor_circuit", load="2300 W", serves="R-0")
    board.item("E-2", "radiator", ua="120 W/K", serves="R-1")
    board.item("E-3", "radiator", ua="50 W/K", serves="R-0")
    for key in ("E-1", "E-2", "E-3"):
        board.chain("J-1", board.resistance(f"S{key}", 2e-4, 10e3), key, "J-2")
    solved = board.solve()
    rate = solved.items["E-2"]["flow_m3_s"] * 1000.0 * CP
    ways = {"R-0": (90.0, part(50.0, rate)), "R-1": (75.0, part(120.0, rate))}
    through = {key: loss * ua / (loss + ua) for key, (loss, ua) in ways.items()}
    assert solved.converged
    assert solved.items["E-1"]["delivered_w"] == pytest.approx(0.0, abs=1e-3)
    for key, (loss, _) in ways.items():
        heat = capacity * through[key] / sum(through.values())
        assert solved.items[key]["temperature_c"] == pytest.approx(-15.0 + heat / loss, abs=1e-3)
